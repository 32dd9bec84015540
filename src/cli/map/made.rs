//! The last line of a map that was written into a file: which command made it, and the hash of what stands before, so
//! that a file may be made anew as long as nobody else has had a hand in it.

use crate::record::digest;

/// How a form writes what is not shown: its beginning and its end.
pub(super) type Comment = (&'static str, &'static str);

/// What is marked so was made by this program.
const MADE: &str = "made by evenfire map, sha256 ";

/// A map with its last line.
pub(super) fn marked(text: &str, (begin, end): Comment) -> String {
    let line = if text.ends_with('\n') { "" } else { "\n" };
    let text = format!("{text}{line}");
    let hash = digest::of_bytes(text.as_bytes());
    format!("{text}{begin}{MADE}{hash}{end}\n")
}

/// Whether a file is a map that was made so and has not been changed since.
pub(super) fn is_as_made(bytes: &[u8], comment: Comment) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return false;
    };
    let last = text.trim_end_matches('\n').rfind('\n').map(|at| at + 1);
    last.is_some_and(|last| marked(&text[..last], comment) == text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_as_it_was_made_is_known() {
        let comment = ("<!-- ", " -->");
        for text in ["<p>a</p>\n<p>b</p>", "a\n"] {
            let made = marked(text, comment);
            assert!(is_as_made(made.as_bytes(), comment), "{made}");
            assert!(!is_as_made(made.as_bytes(), ("// ", "")));
            for other in [
                made.replacen('a', "b", 1),
                format!("{made}\n"),
                text.to_owned(),
            ] {
                assert!(!is_as_made(other.as_bytes(), comment), "{other}");
            }
        }
        assert!(!is_as_made(&[0xff, b'\n', b'a'], comment));
    }
}
