//! Whether a photo tells where it was taken, so that whoever lays it to a job is told that it does. JPEG
//! only, and of that only the way to the camera's position; nothing is changed.

use std::io::Read;
use std::path::Path;

/// Bytes that are looked at: the cameras' notes stand before the picture, in segments of at most 64 KiB
/// (ISO/IEC 10918-1, B.1.1.4); a few of them may stand before.
const LOOKED_AT: u64 = 512 * 1024;

/// The marker of the segment that holds the notes, and its first bytes (Exif 2.3, 4.5.4, from memory).
const APP1: u8 = 0xe1;
const EXIF: &[u8] = b"Exif\0\0";

/// Tag that leads to the notes on the position, and in those the tags of latitude and longitude (Exif 2.3,
/// 4.6.3 and 4.6.6, from memory).
const POSITION: u16 = 0x8825;
const LATITUDE: u16 = 2;
const LONGITUDE: u16 = 4;

/// Whether the file is a JPEG that holds a position; one that cannot be read tells none.
#[must_use]
pub fn told_by(file: &Path) -> bool {
    let mut bytes = Vec::new();
    let read =
        std::fs::File::open(file).and_then(|opened| opened.take(LOOKED_AT).read_to_end(&mut bytes));
    read.is_ok() && told(&bytes).is_some()
}

fn told(bytes: &[u8]) -> Option<()> {
    let mut rest = bytes.strip_prefix(b"\xff\xd8")?;
    loop {
        let [0xff, marker, high, low, ..] = *rest else {
            return None;
        };
        if matches!(marker, 0xd8..=0xda) {
            return None; // the picture itself begins
        }
        let length = usize::from(u16::from_be_bytes([high, low]));
        let segment = rest.get(4..2 + length)?;
        let notes = segment.strip_prefix(EXIF).filter(|_| marker == APP1);
        if let Some(found) = notes.and_then(position) {
            return Some(found);
        }
        rest = rest.get(2 + length..)?;
    }
}

/// Notes as TIFF has them (TIFF 6.0, section 2): the first directory leads to that of the position.
fn position(notes: &[u8]) -> Option<()> {
    let notes = Notes {
        little: match notes.get(..4)? {
            b"II*\0" => true,
            b"MM\0*" => false,
            _ => return None,
        },
        bytes: notes,
    };
    let first = notes.long(4)?;
    let inside = notes.entry(first, POSITION)?;
    let directory = notes.long(inside + 8)?;
    notes.entry(directory, LATITUDE)?;
    notes.entry(directory, LONGITUDE).map(|_| ())
}

struct Notes<'a> {
    little: bool,
    bytes: &'a [u8],
}

impl Notes<'_> {
    fn short(&self, at: usize) -> Option<u16> {
        let two = self.bytes.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if self.little {
            u16::from_le_bytes(two)
        } else {
            u16::from_be_bytes(two)
        })
    }

    fn long(&self, at: usize) -> Option<usize> {
        let four = self.bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
        let number = if self.little {
            u32::from_le_bytes(four)
        } else {
            u32::from_be_bytes(four)
        };
        usize::try_from(number).ok()
    }

    /// Where the entry of a tag stands in a directory: a count, then twelve bytes each, the tag first.
    fn entry(&self, directory: usize, tag: u16) -> Option<usize> {
        let count = usize::from(self.short(directory)?);
        let mut places = (0..count).map(|nth| directory + 2 + 12 * nth);
        places.find(|place| self.short(*place) == Some(tag))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A directory: its entries' tags, each with a number as its value.
    fn directory(little: bool, entries: &[(u16, u32)]) -> Vec<u8> {
        let short = |n: u16| {
            if little {
                n.to_le_bytes()
            } else {
                n.to_be_bytes()
            }
        };
        let long = |n: u32| {
            if little {
                n.to_le_bytes()
            } else {
                n.to_be_bytes()
            }
        };
        let mut bytes = short(entries.len() as u16).to_vec();
        for (tag, value) in entries {
            bytes.extend([short(*tag), short(4)].concat());
            bytes.extend([long(1), long(*value)].concat());
        }
        bytes.extend(long(0));
        bytes
    }

    /// A JPEG by hand: a comment, the camera's notes, the beginning of the picture.
    fn jpeg(little: bool, first: &[(u16, u32)], position: &[(u16, u32)]) -> Vec<u8> {
        let head: &[u8] = if little {
            b"Exif\0\0II*\0\x08\0\0\0"
        } else {
            b"Exif\0\0MM\0*\0\0\0\x08"
        };
        let (first, position) = (directory(little, first), directory(little, position));
        let notes = [head, &first, &position].concat();
        let length = (notes.len() as u16 + 2).to_be_bytes();
        let begin = b"\xff\xd8\xff\xfe\0\x06bay2\xff\xe1";
        [begin, &length[..], &notes, b"\xff\xda\0\x02"].concat()
    }

    /// Two entries in the first directory: it ends 8 + 2 + 24 + 4 bytes into the notes.
    const BEHIND: u32 = 38;

    #[test]
    fn a_position_is_found_in_either_order_of_bytes() {
        for little in [true, false] {
            let first = [(0x010f, 7), (POSITION, BEHIND)];
            let with = jpeg(
                little,
                &first,
                &[(1, 0), (LATITUDE, 0), (3, 0), (LONGITUDE, 0)],
            );
            assert!(told(&with).is_some());
            for cut in 0..with.len() - 8 {
                let _ = told(&with[..cut]); // no length of it is read beyond its end
            }
            assert!(told(&with[..with.len() - 30]).is_none());
        }
    }

    #[test]
    fn nothing_is_said_of_what_holds_none() {
        let first = [(0x010f, 7), (POSITION, BEHIND)];
        let version_only = jpeg(true, &first, &[(0, 0)]);
        let no_pointer = jpeg(true, &[(0x010f, 7), (0x0110, 7)], &[(LATITUDE, 0)]);
        let astray = jpeg(
            false,
            &[(0x010f, 7), (POSITION, u32::MAX)],
            &[(LATITUDE, 0)],
        );
        for bytes in [
            version_only,
            no_pointer,
            astray,
            b"\x89PNG\r\n\x1a\n".to_vec(),
            b"\xff\xd8\xff\xe1\0\0".to_vec(),
            Vec::new(),
        ] {
            assert!(told(&bytes).is_none(), "{bytes:?}");
        }
        assert!(!told_by(Path::new("there-is-no-such-file")));
    }
}
