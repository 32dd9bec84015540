//! A waiver: a lead's signed word that one step of a job need not be done. `waivers/N.txt` is text that a
//! person reads; `waivers/N.sig` beside it signs the text's bytes in the lead's namespace. Both are in the
//! manifest. Which steps may be waived, by whom and when it is asked is the policy's and the run's matter;
//! the journal's event `waived` names step and waiver (`"step"`, `"waiver":"waivers/N.txt"`).

mod give;
mod text;

pub use self::give::{Giving, give, given, may_give};
pub use self::text::{FIRST_LINE, Waiver};
use crate::record::folder::WAIVERS;

/// Longest waiver that is read, bytes; our own choice.
pub const LONGEST_FILE: u64 = 8 * 1024;

/// Name of a waiver's text in its job.
#[must_use]
pub fn text_file(number: u32) -> String {
    format!("{WAIVERS}/{number}.txt")
}

/// Name of a waiver's signature in its job.
#[must_use]
pub fn signature_file(number: u32) -> String {
    format!("{WAIVERS}/{number}.sig")
}

/// Number and ending that a name in `waivers/` stands for; only the one spelling counts.
pub(in crate::record) fn numbered(name: &str) -> Option<(u32, bool)> {
    let own = name.strip_prefix(WAIVERS)?.strip_prefix('/')?;
    let (number, is_text) = match (own.strip_suffix(".txt"), own.strip_suffix(".sig")) {
        (Some(number), _) => (number, true),
        (_, Some(number)) => (number, false),
        _ => return None,
    };
    let parsed: u32 = number.parse().ok()?;
    (parsed > 0 && parsed.to_string() == number).then_some((parsed, is_text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_spelling_per_name() {
        assert_eq!(numbered(&text_file(12)), Some((12, true)));
        assert_eq!(numbered(&signature_file(1)), Some((1, false)));
        for stray in [
            "waivers/0.txt",
            "waivers/01.txt",
            "waivers/+1.txt",
            "waivers/1.txt.sig",
            "waivers/1",
            "1.txt",
        ] {
            assert_eq!(numbered(stray), None, "{stray}");
        }
    }
}
