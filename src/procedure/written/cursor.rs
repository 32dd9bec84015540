//! Looking up places of a text that are asked for nearly in their order.

/// A place in the text that only moves on: a long line is counted through once, not for every value in it.
pub(crate) struct Cursor<'a> {
    lines: Vec<&'a str>,
    line: usize,
    column: usize,
    /// Where the column begins in the line, in bytes.
    byte: usize,
}

impl<'a> Cursor<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        Self {
            lines: text.split('\n').collect(),
            line: 0,
            column: 0,
            byte: 0,
        }
    }

    /// What stands from a place on to the end of its line; lines count from one, columns from none.
    pub(crate) fn rest(&mut self, line: usize, column: usize) -> Option<&'a str> {
        let text = *self.lines.get(line.checked_sub(1)?)?;
        if line != self.line || column < self.column {
            (self.line, self.column, self.byte) = (line, 0, 0);
        }
        let after = text.get(self.byte..)?;
        let mut letters = after.char_indices().map(|(at, _)| at);
        let on = letters.nth(column - self.column).unwrap_or(after.len());
        (self.column, self.byte) = (column, self.byte + on);
        text.get(self.byte..)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Forwards, twice in one place, back again, beyond the line, on other lines; columns count letters.
    #[test]
    fn every_place_is_found_in_whatever_order() {
        let text = "über # a\n\nsecond";
        let mut cursor = Cursor::new(text);
        let asked = [
            (1, 1),
            (1, 4),
            (1, 4),
            (3, 2),
            (1, 0),
            (1, 99),
            (1, 8),
            (2, 0),
            (2, 5),
            (3, 6),
        ];
        for (line, column) in asked {
            let whole = text.split('\n').nth(line - 1).unwrap();
            let slow: String = whole.chars().skip(column).collect();
            assert_eq!(
                cursor.rest(line, column),
                Some(slow.as_str()),
                "{line}:{column}"
            );
        }
        assert_eq!(cursor.rest(0, 0), None);
        assert_eq!(cursor.rest(4, 0), None);
    }
}
