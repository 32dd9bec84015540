//! The last line of a map that was written into a file: which command made it, of what, and the hash of all that, so
//! that a file may be made anew as long as nobody else has had a hand in it and it is the same map.

use crate::record::digest;

/// How the forms write what is not shown: its beginning and its end.
const COMMENTS: [(&str, &str); 3] = [("<!-- ", " -->"), ("// ", ""), ("%% ", "")];

/// What is marked so was made by this program.
const MADE: &str = "made by evenfire map: ";

/// What a map is: its form, and the procedure's name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Of<'a> {
    pub(super) form: &'a str,
    pub(super) procedure: &'a str,
}

impl Of<'_> {
    /// As it stands in the last line, and in sentences.
    pub(super) fn words(&self) -> String {
        format!("{} of {}", self.form, self.procedure)
    }
}

/// The form of a map that is a page; a work sheet is one as well.
pub(super) const PAGE: &str = "page";
pub(super) const SHEET: &str = "work sheet";
pub(super) const DOT: &str = "dot text";
pub(super) const MERMAID: &str = "mermaid text";

/// A map with its last line.
pub(super) fn marked(text: &str, of: Of<'_>) -> String {
    let (begin, end) = match of.form {
        DOT => COMMENTS[1],
        MERMAID => COMMENTS[2],
        _ => COMMENTS[0],
    };
    let line = if text.ends_with('\n') { "" } else { "\n" };
    let made = format!("{text}{line}{begin}{MADE}{}, sha256 ", of.words());
    let hash = digest::of_bytes(made.as_bytes());
    format!("{made}{hash}{end}\n")
}

/// Which map a file is; none where it is none that was made so, or has been changed since.
pub(super) fn as_made(bytes: &[u8]) -> Option<Of<'_>> {
    let text = std::str::from_utf8(bytes).ok()?;
    let last = text.trim_end_matches('\n').rfind('\n')? + 1;
    let line = COMMENTS
        .iter()
        .find_map(|(begin, _)| text[last..].strip_prefix(begin))?;
    let (what, _) = line.strip_prefix(MADE)?.split_once(", sha256 ")?;
    let (form, procedure) = what.split_once(" of ")?;
    let of = Of { form, procedure };
    (marked(&text[..last], of) == text).then_some(of)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_as_it_was_made_is_known() {
        for form in [PAGE, SHEET, DOT, MERMAID] {
            let of = Of {
                form,
                procedure: "first-look",
            };
            for text in ["<p>a</p>\n<p>b</p>", "a\n"] {
                let made = marked(text, of);
                assert_eq!(as_made(made.as_bytes()), Some(of), "{made}");
                for other in [
                    made.replacen('a', "b", 1),
                    made.replace("first-look", "other-look"),
                    format!("{made}\n"),
                    text.to_owned(),
                ] {
                    assert_eq!(as_made(other.as_bytes()), None, "{other}");
                }
            }
        }
        assert_eq!(as_made(&[0xff, b'\n', b'a']), None);
    }
}
