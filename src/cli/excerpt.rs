//! Lines of a file that are shown under what is said of them, where they are wider than the terminal: broken between
//! words, with the mark under the piece that it points at.

/// A line's number and the stroke behind it.
fn parted(line: &str) -> Option<(&str, &str)> {
    let (number, words) = line.split_once(" | ")?;
    let digits = number.trim_start();
    let is_number = !digits.is_empty() && digits.chars().all(|c| c.is_ascii_digit());
    is_number.then_some((number, words))
}

/// Whether a line shows one of a file.
pub(super) fn is_one(line: &str) -> bool {
    parted(line).is_some()
}

/// Whether a line is the mark under one.
pub(super) fn is_mark(line: &str) -> bool {
    let mark = line.trim_start().strip_prefix("| ");
    mark.is_some_and(|mark| mark.trim() == "^")
}

/// A line of a file, and the mark under it, in lines of at most that width.
pub(super) fn broken(line: &str, mark: Option<&str>, width: usize) -> Vec<String> {
    let as_they_are = || [line].into_iter().chain(mark).map(str::to_owned).collect();
    let Some((number, words)) = parted(line).filter(|_| line.chars().count() > width) else {
        return as_they_are();
    };
    let lead = number.chars().count() + 3;
    let words: Vec<char> = words.chars().collect();
    let indentation = words.iter().take_while(|c| **c == ' ').count();
    if width < lead + 2 * indentation + 2 {
        return as_they_are();
    }
    let column = mark.and_then(|mark| mark.chars().count().checked_sub(lead + 1));
    let (mut shown, mut from) = (Vec::new(), 0);
    while from < words.len() {
        let before = if from == 0 { 0 } else { indentation };
        let to = end(&words, from, width - lead - before);
        let number = if from == 0 { number } else { "" };
        let piece: String = words[from..to].iter().collect();
        let blanks = " ".repeat(before);
        let (wide, piece) = (lead - 3, piece.trim_end());
        shown.push(format!("{number:>wide$} | {blanks}{piece}"));
        // a mark behind the last letter stands under the last piece
        let here = |column: &usize| from <= *column && (*column < to || to == words.len());
        if let Some(column) = column.filter(here) {
            let blanks = " ".repeat(before + column - from);
            shown.push(format!("{:>wide$} | {blanks}^", ""));
        }
        from = to;
    }
    shown
}

/// Where a piece ends that begins somewhere and has room for so many letters: behind the last blank, if there is one.
fn end(words: &[char], from: usize, room: usize) -> usize {
    let most = from + room.max(1);
    if most >= words.len() {
        return words.len();
    }
    let written = (from..=most).find(|at| words[*at] != ' ').unwrap_or(from);
    let blank = (written..=most).rev().find(|at| words[*at] == ' ');
    blank.map_or(most, |blank| blank + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_line_is_broken_between_words_with_the_mark_under_its_place() {
        let line = "    12 |     why: one two three four";
        let mark = "       |                    ^";
        assert!(is_one(line) && is_mark(mark) && !is_one(mark) && !is_mark(line));
        assert_eq!(broken(line, Some(mark), 36), [line, mark]);
        assert_eq!(
            broken(line, Some(mark), 26),
            [
                "    12 |     why: one two",
                "       |     three four",
                "       |       ^",
            ]
        );
        // a word that is wider than the room is broken where it must
        assert_eq!(
            broken("     1 | abcdefghijkl", None, 15),
            ["     1 | abcdef", "       | ghijkl"]
        );
        assert_eq!(broken("     1 | abc def", None, 12).len(), 2);
    }
}
