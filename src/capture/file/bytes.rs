//! From a file's bytes to text in one encoding, or to a sound file: gzip by its magic number, byte-order
//! marks, UTF-16 made UTF-8. Bytes that are no UTF-8 are left alone: numbers look the same in every
//! one-byte encoding, and headings are decoded where they are read.

use std::io::{self, Cursor, Read};

use flate2::read::MultiGzDecoder;

use crate::capture::ReadError;

/// Bytes that tell what a file is.
const START: usize = 1024;

/// Bytes that are decoded from UTF-16 at a time.
const PIECE: usize = 1 << 16;

/// A stream of bytes.
pub type Stream<'a> = Box<dyn Read + Send + 'a>;

/// What a file turned out to be.
pub struct Opened<'a> {
    /// Whether gzip was undone.
    pub packed: bool,
    /// What is in it.
    pub form: Form<'a>,
}

/// Kinds of files that are read.
pub enum Form<'a> {
    /// Text, and how it was encoded.
    Text(Encoding, Stream<'a>),
    /// A sound file (RIFF WAVE).
    Wave(Stream<'a>),
}

/// How text is encoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, or one byte a letter; which of them the headings tell.
    Bytes,
    /// UTF-8, by its mark.
    Utf8Marked,
    /// UTF-16, least byte first.
    Utf16Le,
    /// UTF-16, greatest byte first.
    Utf16Be,
}

/// See what a file is.
///
/// # Errors
/// Where it cannot be read, or is something that holds no table.
pub fn open<'a>(input: impl Read + Send + 'a, file: &str) -> Result<Opened<'a>, ReadError> {
    let mut stream: Stream<'a> = Box::new(input);
    let mut start = beginning(&mut stream).map_err(|error| unreadable(file, &error, false))?;
    let packed = start.starts_with(&[0x1f, 0x8b]);
    if packed {
        stream = Box::new(MultiGzDecoder::new(Cursor::new(start).chain(stream)));
        start = beginning(&mut stream).map_err(|error| unreadable(file, &error, true))?;
    }
    if let Some((what, remedy)) = stranger(&start) {
        return Err(ReadError::new(file, 0, 0, what, remedy));
    }
    let (encoding, mark) = encoding(&start);
    let whole = |skip: usize, start: Vec<u8>, stream: Stream<'a>| -> Stream<'a> {
        let mut start = Cursor::new(start);
        start.set_position(skip as u64);
        Box::new(start.chain(stream))
    };
    let form = if start.starts_with(b"RIFF") && start.get(8..12) == Some(b"WAVE") {
        Form::Wave(whole(0, start, stream))
    } else {
        let stream = whole(mark, start, stream);
        let stream = match encoding {
            Encoding::Bytes | Encoding::Utf8Marked => stream,
            wide => Box::new(Narrowed::new(stream, wide == Encoding::Utf16Be)),
        };
        Form::Text(encoding, stream)
    };
    Ok(Opened { packed, form })
}

/// An error of reading itself.
#[must_use]
pub fn unreadable(file: &str, error: &io::Error, packed: bool) -> ReadError {
    if packed {
        let message = format!("the gzip file is damaged or ends early: {error}");
        let remedy = "Copy the file again from where it was saved, or save it without packing.";
        return ReadError::new(file, 0, 0, message, remedy);
    }
    let remedy = "Check that the file can be read.";
    ReadError::new(file, 0, 0, error.to_string(), remedy)
}

fn beginning(stream: &mut Stream<'_>) -> io::Result<Vec<u8>> {
    let mut start = Vec::with_capacity(START);
    stream.take(START as u64).read_to_end(&mut start)?;
    Ok(start)
}

/// Files that a person may hand over by mistake.
fn stranger(start: &[u8]) -> Option<(&'static str, &'static str)> {
    let as_table = "Open it in the program that made it, and save the table as CSV.";
    let known: [(&[u8], &str, &str); 6] = [
        (
            b"PK\x03\x04",
            "a packed folder or a spreadsheet, no text",
            as_table,
        ),
        (
            b"\xd0\xcf\x11\xe0",
            "a spreadsheet or document of an old kind, no text",
            as_table,
        ),
        (
            b"%PDF",
            "a PDF document, no table",
            "Export the capture itself as CSV.",
        ),
        (
            b"\x89PNG",
            "a picture, no table",
            "Export the capture itself as CSV.",
        ),
        (
            b"\xff\xd8\xff",
            "a picture, no table",
            "Export the capture itself as CSV.",
        ),
        (
            b"\x1f\x8b",
            "packed by gzip twice",
            "Unpack it once by hand.",
        ),
    ];
    known
        .into_iter()
        .find(|(magic, ..)| start.starts_with(magic))
        .map(|(_, what, remedy)| (what, remedy))
}

/// Encoding, and length of the mark.
fn encoding(start: &[u8]) -> (Encoding, usize) {
    if start.starts_with(b"\xef\xbb\xbf") {
        return (Encoding::Utf8Marked, 3);
    }
    if start.starts_with(b"\xff\xfe") {
        return (Encoding::Utf16Le, 2);
    }
    if start.starts_with(b"\xfe\xff") {
        return (Encoding::Utf16Be, 2);
    }
    // text in Latin letters as UTF-16 has a zero in every second byte, other text has none at all
    let zeros = |from: usize| {
        start
            .iter()
            .skip(from)
            .step_by(2)
            .filter(|b| **b == 0)
            .count()
    };
    let (even, odd) = (zeros(0), zeros(1));
    let most = start.len() / 2 * 9 / 10;
    match (even, odd) {
        (0, odd) if odd > most && odd > 2 => (Encoding::Utf16Le, 0),
        (even, 0) if even > most && even > 2 => (Encoding::Utf16Be, 0),
        _ => (Encoding::Bytes, 0),
    }
}

/// UTF-16 read as UTF-8; halves of pairs that stand alone become the replacement character.
struct Narrowed<'a> {
    stream: Stream<'a>,
    great_first: bool,
    /// Bytes and units that belong to what comes next.
    odd: Option<u8>,
    half: Option<u16>,
    ready: Cursor<Vec<u8>>,
}

impl<'a> Narrowed<'a> {
    fn new(stream: Stream<'a>, great_first: bool) -> Self {
        Self {
            stream,
            great_first,
            odd: None,
            half: None,
            ready: Cursor::new(Vec::new()),
        }
    }

    /// Decode the next piece; false at the end.
    fn refill(&mut self) -> io::Result<bool> {
        let mut bytes = Vec::with_capacity(PIECE + 1);
        bytes.extend(self.odd.take());
        self.stream
            .by_ref()
            .take(PIECE as u64)
            .read_to_end(&mut bytes)?;
        let last = bytes.len() < PIECE;
        let pairs = bytes.chunks_exact(2);
        if !last {
            self.odd = pairs.remainder().first().copied();
        }
        let mut units: Vec<u16> = self.half.take().into_iter().collect();
        units.extend(pairs.map(|pair| {
            let pair = [pair[0], pair[1]];
            if self.great_first {
                u16::from_be_bytes(pair)
            } else {
                u16::from_le_bytes(pair)
            }
        }));
        if !last
            && units
                .last()
                .is_some_and(|unit| (0xd800..0xdc00).contains(unit))
        {
            self.half = units.pop();
        }
        let text: String = char::decode_utf16(units)
            .map(|letter| letter.unwrap_or(char::REPLACEMENT_CHARACTER))
            .collect();
        let more = !text.is_empty() || !last;
        self.ready = Cursor::new(text.into_bytes());
        Ok(more)
    }
}

impl Read for Narrowed<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if into.is_empty() {
            return Ok(0);
        }
        loop {
            let count = self.ready.read(into)?;
            if count > 0 || !self.refill()? {
                return Ok(count);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(bytes: &[u8]) -> (Encoding, String) {
        let opened = open(bytes, "c").unwrap();
        let Form::Text(encoding, mut stream) = opened.form else {
            panic!("no text");
        };
        let mut text = String::new();
        stream.read_to_string(&mut text).unwrap();
        (encoding, text)
    }

    fn wide(text: &str, great_first: bool) -> Vec<u8> {
        let bytes = |unit: u16| {
            if great_first {
                unit.to_be_bytes()
            } else {
                unit.to_le_bytes()
            }
        };
        text.encode_utf16().flat_map(bytes).collect()
    }

    #[test]
    fn marks_and_zeros_tell_the_encoding() {
        let plain = "time,volts\n0,µ\n";
        assert_eq!(text(plain.as_bytes()), (Encoding::Bytes, plain.to_owned()));
        let marked = format!("\u{feff}{plain}");
        assert_eq!(
            text(marked.as_bytes()),
            (Encoding::Utf8Marked, plain.to_owned())
        );
        for (great_first, expected) in [(false, Encoding::Utf16Le), (true, Encoding::Utf16Be)] {
            let found = text(&wide(&marked, great_first));
            assert_eq!(found, (expected, plain.to_owned()));
            let unmarked = "time,volts\n0,1\n";
            let found = text(&wide(unmarked, great_first));
            assert_eq!(found, (expected, unmarked.to_owned()));
        }
        assert_eq!(text(b""), (Encoding::Bytes, String::new()));
        assert_eq!(text(&[0; 64]).0, Encoding::Bytes);
    }

    /// Pieces end in the middle of pairs; nothing is lost there.
    #[test]
    fn long_wide_text_comes_whole() {
        let long: String = (0..60_000)
            .map(|at| if at % 3 == 0 { '🚗' } else { 'x' })
            .collect();
        let (_, found) = text(&wide(&format!("\u{feff}{long}"), false));
        assert!(found == long);
        // a byte that is half a unit at the end is dropped
        let mut odd = wide("\u{feff}ab", false);
        odd.push(7);
        assert_eq!(text(&odd).1, "ab");
    }

    #[test]
    fn what_holds_no_table_is_named() {
        for bytes in [b"PK\x03\x04....".as_slice(), b"%PDF-1.7", b"\x89PNG\r\n"] {
            let error = open(bytes, "c").err().unwrap();
            assert!(error.message.contains("no t"), "{error}");
        }
        let error = open([0x1f, 0x8b, 8, 0, 1].as_slice(), "c").err().unwrap();
        assert!(error.message.contains("gzip"), "{error}");
    }
}
