//! What was handed over with a job beside captures, as the signed lists name it, and which of it is a
//! picture that a page may hold: a PNG or JPEG by its first bytes, of a size that any browser bears. Files
//! come from strangers; nothing of a picture is decoded here.

use crate::record::bundle::amendment::Layer;
use crate::record::bundle::manifest::{self, Manifest};
use crate::record::bundle::signed::read_short;
use crate::record::digest;
use crate::record::error::RecordError;
use crate::record::folder::{self, ATTACHMENTS, JobFolder};

/// Longest picture that a page holds, bytes; our own choice, above what telephones mostly make.
pub const LONGEST_PICTURE: u64 = 6 * 1024 * 1024;

/// All pictures of a page together, bytes; our own choice, so that a page can still be sent by mail.
const LONGEST_TOGETHER: u64 = 18 * 1024 * 1024;

/// Most points of a picture; our own choice: few bytes can claim to be a picture that no memory holds.
const MOST_POINTS: u64 = 60_000_000;

/// First bytes of a PNG (ISO/IEC 15948:2004, 5.2), then length and name of the chunk that tells its size.
const PNG: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR";

/// First bytes of a JPEG: start of image, then a marker (ISO/IEC 10918-1, B.1.1).
const JPEG: &[u8] = b"\xff\xd8\xff";

/// One file, as the manifest of its layer lists it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// Relative to the job: `attachments/1.jpg`.
    pub file: String,
    /// SHA-256 of it, hex.
    pub sha256: String,
    /// Its length in bytes.
    pub bytes: u64,
    /// What to show of it; none where it is no picture, or one too large.
    pub picture: Option<Picture>,
}

/// A picture as it was handed over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Its media type.
    pub media: &'static str,
    /// The file.
    pub bytes: Vec<u8>,
}

/// The attachments of the job and of so many amendments, in the order of the lists.
pub(in crate::record) fn read(
    job: &JobFolder,
    amendments: u32,
) -> Result<Vec<Attachment>, RecordError> {
    let mut attachments = Vec::new();
    let mut left = LONGEST_TOGETHER;
    for number in 0..=amendments {
        let layer = Layer::amendment(number);
        let inside = layer.file(ATTACHMENTS);
        if std::fs::symlink_metadata(job.file(&inside)).is_err() {
            continue;
        }
        let Some(manifest) = listed(job, layer)? else {
            continue;
        };
        let own = |name: &str| name.strip_prefix(&inside)?.starts_with('/').then_some(());
        for line in manifest.lines().iter().filter(|l| own(&l.name).is_some()) {
            let bytes = fs_err::symlink_metadata(job.file(&line.name))?.len();
            let picture = (bytes <= LONGEST_PICTURE.min(left))
                .then(|| shown(job, line))
                .flatten();
            if picture.is_some() {
                left -= bytes;
            }
            attachments.push(Attachment {
                file: line.name.clone(),
                sha256: line.sha256.clone(),
                bytes,
                picture,
            });
        }
    }
    Ok(attachments)
}

/// The list of a layer; none before it is made.
fn listed(job: &JobFolder, layer: Layer) -> Result<Option<Manifest>, RecordError> {
    let file = job.file(&layer.file(folder::MANIFEST));
    if std::fs::symlink_metadata(&file).is_err() {
        return Ok(None);
    }
    let bytes = read_short(&file, manifest::LONGEST_FILE)?;
    let manifest = Manifest::parse(&bytes);
    manifest
        .map(Some)
        .map_err(|fault| RecordError::text(&file, (fault.line, 1), fault.what))
}

/// The picture behind a line, if the file is the listed one.
fn shown(job: &JobFolder, line: &manifest::Line) -> Option<Picture> {
    let bytes = read_short(&job.file(&line.name), LONGEST_PICTURE).ok()?;
    let picture = picture(bytes)?;
    (digest::of_bytes(&picture.bytes) == line.sha256).then_some(picture)
}

fn picture(bytes: Vec<u8>) -> Option<Picture> {
    let (media, (width, height)) = if bytes.starts_with(PNG) {
        ("image/png", png_size(&bytes)?)
    } else if bytes.starts_with(JPEG) {
        ("image/jpeg", jpeg_size(&bytes)?)
    } else {
        return None;
    };
    let points = u64::from(width) * u64::from(height);
    (1..=MOST_POINTS)
        .contains(&points)
        .then_some(Picture { media, bytes })
}

/// Width and height, by the first chunk (ISO/IEC 15948:2004, 11.2.2).
fn png_size(bytes: &[u8]) -> Option<(u32, u32)> {
    let number = |at: usize| {
        let four = bytes.get(at..at + 4)?.try_into().ok()?;
        Some(u32::from_be_bytes(four))
    };
    Some((number(PNG.len())?, number(PNG.len() + 4)?))
}

/// Width and height, by the frame's header (ISO/IEC 10918-1, B.2.2); what stands before it is passed over.
fn jpeg_size(bytes: &[u8]) -> Option<(u32, u32)> {
    let number = |at: usize| {
        let two = bytes.get(at..at + 2)?.try_into().ok()?;
        Some(u16::from_be_bytes(two))
    };
    let mut at = 2;
    loop {
        let [0xff, marker] = *bytes.get(at..at + 2)? else {
            return None;
        };
        match marker {
            0xff => at += 1, // a byte that fills up
            // frame headers; 0xc4, 0xc8 and 0xcc are tables and an extension
            0xc0..=0xc3 | 0xc5..=0xc7 | 0xc9..=0xcb | 0xcd..=0xcf => {
                let height = u32::from(number(at + 5)?);
                return Some((u32::from(number(at + 7)?), height));
            }
            // the data begin without a frame, or the picture ends
            0xd8..=0xda => return None,
            _ => at += 2 + usize::from(number(at + 2)?),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn png(width: u32, height: u32) -> Vec<u8> {
        [PNG, &width.to_be_bytes(), &height.to_be_bytes(), &[8, 2]].concat()
    }

    fn jpeg(width: u16, height: u16) -> Vec<u8> {
        let comment = b"\xff\xd8\xff\xfe\x00\x06gap!\xff";
        let frame = b"\xff\xc2\x00\x0b\x08";
        let size = [height.to_be_bytes(), width.to_be_bytes()].concat();
        [&comment[..], frame, &size].concat()
    }

    #[test]
    fn pictures_are_told_by_their_bytes() {
        assert_eq!(png_size(&png(4032, 3024)), Some((4032, 3024)));
        assert_eq!(jpeg_size(&jpeg(4032, 3024)), Some((4032, 3024)));
        assert_eq!(picture(png(40, 30)).unwrap().media, "image/png");
        assert_eq!(picture(jpeg(40, 30)).unwrap().media, "image/jpeg");
    }

    #[test]
    fn what_no_browser_should_be_handed_is_no_picture() {
        let svg = b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>";
        for bytes in [
            svg.to_vec(),
            b"GIF89a".to_vec(),
            png(60_001, 1000),
            png(0, 7),
            jpeg(65_000, 65_000),
            jpeg(40, 30)[..14].to_vec(),
            b"\xff\xd8\xff\xda\0\x04".to_vec(),
            b"\xff\xd8\xff\xe0\0\0".to_vec(),
            JPEG.to_vec(),
            PNG.to_vec(),
            Vec::new(),
        ] {
            assert_eq!(picture(bytes.clone()), None, "{bytes:?}");
        }
    }
}
