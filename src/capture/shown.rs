//! Text of a file as an error shows it: quoted, so that a file that is no table cannot act on the
//! terminal, and no more than a person reads.

/// Names that an error lists, and characters of one cell that it shows.
const MOST_NAMES: usize = 12;
const MOST_CHARACTERS: usize = 60;

/// Names, quoted, the first few.
#[must_use]
pub fn list<'n>(names: impl ExactSizeIterator<Item = &'n str>) -> String {
    let count = names.len();
    let mut shown: Vec<String> = names.take(MOST_NAMES).map(cell).collect();
    if count > MOST_NAMES {
        shown.push(format!("and {} more", count - MOST_NAMES));
    }
    shown.join(", ")
}

/// One text, quoted and cut.
#[must_use]
pub fn cell(text: &str) -> String {
    if text.chars().nth(MOST_CHARACTERS).is_none() {
        return format!("{text:?}");
    }
    let start: String = text.chars().take(MOST_CHARACTERS).collect();
    format!("{start:?}…")
}
