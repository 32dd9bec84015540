//! Texts made fit to show, whatever they are about: nothing in them steers a terminal.

/// Whether a character steers a terminal, turns the reading direction or cannot be seen, so that what is
/// shown would not be what is written: control characters (line ends and tabs among them), and of Unicode
/// the marks, embeddings, overrides and isolates of direction (Standard Annex 9, section 2), zero-width
/// characters, the soft hyphen, line and paragraph separators, interlinear marks and tags.
#[must_use]
pub fn steers(c: char) -> bool {
    c.is_control()
        || matches!(
            u32::from(c),
            0x00AD
                | 0x061C
                | 0x200B..=0x200F
                | 0x2028..=0x202E
                | 0x2060..=0x206F
                | 0xFEFF
                | 0xFFF9..=0xFFFB
                | 0xE0000..=0xE007F
        )
}

/// The text without what steers; line breaks and tabs become spaces.
#[must_use]
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\r' | '\t' => ' ',
            other => other,
        })
        .filter(|c| !steers(*c))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_steers_a_terminal_is_gone() {
        assert_eq!(clean("a\u{1b}[31mred\u{7}\u{9b}2J"), "a[31mred2J");
        assert_eq!(
            clean("one\ntwo\tthree\u{202e}four\u{200b}"),
            "one two threefour"
        );
        assert_eq!(clean("10 °C, 3 Ω, Zoë"), "10 °C, 3 Ω, Zoë");
    }

    /// All that steers, one by one in the order of their numbers: what neither is missing nor too much.
    #[test]
    fn the_whole_set_is_this() {
        let found: Vec<u32> = ('\0'..=char::MAX)
            .filter(|c| steers(*c))
            .map(u32::from)
            .collect();
        let meant = [
            0x00..=0x1F, // control characters
            0x7F..=0x9F,
            0xAD..=0xAD,       // soft hyphen
            0x61C..=0x61C,     // Arabic letter mark
            0x200B..=0x200D,   // zero-width space, non-joiner, joiner
            0x200E..=0x200F,   // left-to-right and right-to-left mark
            0x2028..=0x2029,   // line and paragraph separator
            0x202A..=0x202E,   // embeddings and overrides
            0x2060..=0x2065,   // word joiner, invisible operators
            0x2066..=0x2069,   // isolates
            0x206A..=0x206F,   // outdated format characters
            0xFEFF..=0xFEFF,   // zero-width no-break space
            0xFFF9..=0xFFFB,   // interlinear marks
            0xE0000..=0xE007F, // tags
        ];
        let meant: Vec<u32> = meant.into_iter().flatten().collect();
        assert_eq!(found, meant);
        for c in meant.into_iter().filter_map(char::from_u32) {
            let left = if matches!(c, '\n' | '\r' | '\t') {
                "a b"
            } else {
                "ab"
            };
            assert_eq!(clean(&format!("a{c}b")), left, "U+{:04X}", u32::from(c));
        }
    }
}
