//! SHA-256 of bytes and of files, in the lower-case hexadecimal that `sha256sum` writes.

use std::io::Read;
use std::path::Path;

use sha2::{Digest, Sha256};

/// Bytes read at a time; a matter of speed only.
const PIECE: usize = 64 * 1024;

/// SHA-256 of bytes.
#[must_use]
pub fn of_bytes(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// SHA-256 of a file, read piece by piece.
///
/// # Errors
/// Where it cannot be read.
pub fn of_file(path: &Path) -> std::io::Result<String> {
    let mut file = fs_err::File::open(path)?;
    let mut state = Sha256::new();
    let mut piece = vec![0; PIECE];
    loop {
        match file.read(&mut piece)? {
            0 => return Ok(hex(&state.finalize())),
            length => state.update(&piece[..length]),
        }
    }
}

/// Whether a text is a digest as written here.
#[must_use]
pub fn is_digest(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing to a string cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    // NIST's example for SHA-256 (FIPS 180-2, appendix B.1).
    const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

    #[test]
    fn published_example() {
        assert_eq!(of_bytes(b"abc"), ABC);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("f");
        fs_err::write(&path, "abc").unwrap();
        assert_eq!(of_file(&path).unwrap(), ABC);
        assert!(is_digest(ABC) && !is_digest(&ABC.to_uppercase()) && !is_digest(&ABC[1..]));
    }
}
