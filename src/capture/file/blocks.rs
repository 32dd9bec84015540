//! A stream of text in blocks of whole lines, so that each can be read by itself and no more than a few are
//! ever held.

use std::io::{self, Read};

use super::bytes::Stream;

/// Bytes of a block: enough to be worth a thread's while, little beside what a file may hold.
pub const BLOCK: usize = 1 << 19;

/// Longest line. Longer ones are no rows of a table.
pub const MOST_LINE: usize = 1 << 24;

/// Bytes from which a table's layout is found, at least.
const HEAD: usize = 1 << 16;

/// Blocks of a stream.
pub struct Blocks<'a> {
    stream: Stream<'a>,
    rest: Vec<u8>,
    ended: bool,
    /// Lines end in carriage returns alone.
    returns: bool,
}

impl<'a> Blocks<'a> {
    /// Blocks of a stream; the first lines come with them, to be looked at before. They are not taken
    /// out: say with `skip` where rows begin.
    ///
    /// # Errors
    /// Where the stream cannot be read.
    pub fn new(stream: Stream<'a>) -> io::Result<Self> {
        let mut blocks = Self {
            stream,
            rest: Vec::new(),
            ended: false,
            returns: false,
        };
        let mut head = Vec::new();
        blocks
            .stream
            .by_ref()
            .take(HEAD as u64)
            .read_to_end(&mut head)?;
        blocks.ended = head.len() < HEAD;
        blocks.returns = memchr::memchr(b'\n', &head).is_none() && head.contains(&b'\r');
        blocks.take_in(head);
        // the headings may be longer than that
        while !blocks.ended && memchr::memchr(b'\n', &blocks.rest).is_none() {
            blocks.more()?;
            if blocks.rest.len() > MOST_LINE {
                break;
            }
        }
        Ok(blocks)
    }

    /// The first lines.
    #[must_use]
    pub fn head(&self) -> &[u8] {
        let end = match memchr::memrchr(b'\n', &self.rest) {
            Some(end) if !self.ended => end + 1,
            _ => self.rest.len(),
        };
        &self.rest[..end]
    }

    /// Pass over bytes of the head.
    pub fn skip(&mut self, bytes: usize) {
        self.rest.drain(..bytes.min(self.rest.len()));
    }

    /// The next block; none at the end. A block that does not end with a line end is the last, or holds the
    /// beginning of a line that is too long.
    ///
    /// # Errors
    /// Where the stream cannot be read.
    pub fn next_block(&mut self) -> io::Result<Option<Vec<u8>>> {
        loop {
            if let Some(end) = memchr::memrchr(b'\n', &self.rest)
                && (self.ended || self.rest.len() >= BLOCK)
            {
                let rest = self.rest.split_off(end + 1);
                return Ok(Some(std::mem::replace(&mut self.rest, rest)));
            }
            if self.ended || self.rest.len() > MOST_LINE {
                let last = std::mem::take(&mut self.rest);
                return Ok(Some(last).filter(|last| !last.is_empty()));
            }
            self.more()?;
        }
    }

    fn more(&mut self) -> io::Result<()> {
        let before = self.rest.len();
        self.rest.reserve_exact(BLOCK);
        self.stream
            .by_ref()
            .take(BLOCK as u64)
            .read_to_end(&mut self.rest)?;
        self.ended = self.rest.len() - before < BLOCK;
        if self.returns {
            mend_returns(&mut self.rest[before..]);
        }
        Ok(())
    }

    fn take_in(&mut self, mut piece: Vec<u8>) {
        if self.returns {
            mend_returns(&mut piece);
        }
        self.rest = piece;
    }

    /// What is left, as a stream that begins with `block`.
    pub fn remaining(self, block: Vec<u8>) -> impl Read + 'a {
        let returns = self.returns;
        let stream = self.stream;
        io::Cursor::new(block)
            .chain(io::Cursor::new(self.rest))
            .chain(Returned { stream, returns })
    }
}

fn mend_returns(piece: &mut [u8]) {
    for byte in piece {
        if *byte == b'\r' {
            *byte = b'\n';
        }
    }
}

/// The rest of a stream, its carriage returns mended where they end lines.
struct Returned<'a> {
    stream: Stream<'a>,
    returns: bool,
}

impl Read for Returned<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.stream.read(into)?;
        if self.returns {
            mend_returns(&mut into[..count]);
        }
        Ok(count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(text: &[u8]) -> (Vec<u8>, usize) {
        let mut blocks = Blocks::new(Box::new(text)).unwrap();
        let (mut whole, mut count) = (Vec::new(), 0);
        while let Some(block) = blocks.next_block().unwrap() {
            if count > 0 {
                assert!(whole.ends_with(b"\n"), "cut inside a line");
            }
            whole.extend(block);
            count += 1;
        }
        (whole, count)
    }

    #[test]
    fn blocks_end_with_lines_and_lose_nothing() {
        let long: Vec<u8> = (0..300_000)
            .flat_map(|row| format!("{row},1\n").into_bytes())
            .collect();
        let (whole, count) = all(&long);
        assert!(whole == long && count > 2, "{count} blocks");
        let (whole, _) = all(b"a\nb");
        assert_eq!(whole, b"a\nb");
        assert_eq!(all(b""), (Vec::new(), 0));
        assert_eq!(all(b"a\rb\r").0, b"a\nb\n");
        let one_line = vec![b'x'; 3 * BLOCK];
        assert_eq!(all(&one_line), (one_line.clone(), 1));
    }

    #[test]
    fn the_head_has_whole_lines() {
        let blocks = Blocks::new(Box::new(b"a,b\n1,2".as_slice())).unwrap();
        assert_eq!(blocks.head(), b"a,b\n1,2");
        let mut wide = b"a".repeat(200_000);
        wide.extend(b"\n1\n");
        wide.extend(b"2\n".repeat(1_000_000));
        let blocks = Blocks::new(Box::new(wide.as_slice())).unwrap();
        assert!(blocks.head().starts_with(&wide[..200_003]));
        assert!(blocks.head().ends_with(b"\n"));
    }
}
