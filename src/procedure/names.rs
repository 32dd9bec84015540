//! What names may look like.

/// Longest name, letters.
const LONGEST: usize = 60;

/// Names of procedures, steps and choices: lower-case words joined by single hyphens. A procedure's
/// name is its file's stem too, so nothing that could lead to another folder may pass.
#[must_use]
pub fn is_kebab(name: &str) -> bool {
    name.len() <= LONGEST
        && name.split('-').all(|word| {
            !word.is_empty()
                && word
                    .chars()
                    .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit())
        })
        && name.starts_with(|c: char| c.is_ascii_lowercase())
}

/// Names of conditions and of things that are disabled: lower-case words with single spaces between.
#[must_use]
pub fn is_words(name: &str) -> bool {
    name.len() <= LONGEST
        && name.split(' ').all(|word| {
            word.starts_with(|c: char| c.is_lowercase() || c.is_ascii_digit())
                && word
                    .chars()
                    .all(|c| c.is_lowercase() || c.is_ascii_digit() || matches!(c, '-' | '\''))
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_never_a_way_to_another_folder() {
        for good in ["leak-down", "a", "judge-2"] {
            assert!(is_kebab(good), "{good}");
        }
        for bad in [
            "", "../x", "a/b", "a.b", "A", "a--b", "-a", "a-", "2nd", "a b", "ä",
        ] {
            assert!(!is_kebab(bad), "{bad}");
        }
        assert!(is_words("fuel off proved") && is_words("driver's door"));
        assert!(
            !is_words("fuel  off")
                && !is_words("Fuel off")
                && !is_words(" fuel")
                && !is_words("-fuel off")
        );
    }
}
