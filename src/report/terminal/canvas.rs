//! A field of dots written as characters: eight to a braille character, or one to an asterisk.

/// Dots of a braille cell (Unicode block U+2800), by row and column.
const BRAILLE: [[u32; 2]; 4] = [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]];

/// Dots, row 0 at the top.
#[derive(Debug)]
pub(super) struct Canvas {
    plain: bool,
    width: usize,
    height: usize,
    dots: Vec<bool>,
}

impl Canvas {
    /// For that many characters and lines.
    pub(super) fn new(characters: usize, lines: usize, plain: bool) -> Self {
        let (wide, high) = if plain { (1, 1) } else { (2, 4) };
        let (width, height) = (characters * wide, lines * high);
        Self {
            plain,
            width,
            height,
            dots: vec![false; width * height],
        }
    }

    /// Columns of dots.
    pub(super) fn width(&self) -> usize {
        self.width
    }

    /// Set the dots of a column between two shares of the height, 0 at the foot and 1 at the top.
    pub(super) fn stroke(&mut self, column: usize, from: f64, to: f64) {
        let top = self.height.saturating_sub(1);
        let row = |share: f64| top - (share.clamp(0.0, 1.0) * top as f64).round() as usize;
        for y in row(to)..=row(from) {
            if let Some(dot) = self.dots.get_mut(y * self.width + column) {
                *dot = true;
            }
        }
    }

    /// The lines from top to foot.
    pub(super) fn lines(&self) -> Vec<String> {
        let (wide, high) = if self.plain { (1, 1) } else { (2, 4) };
        (0..self.height / high)
            .map(|line| {
                (0..self.width / wide)
                    .map(|cell| self.character(cell, line))
                    .collect()
            })
            .collect()
    }

    fn character(&self, cell: usize, line: usize) -> char {
        let set = |x: usize, y: usize| self.dots[y * self.width + x];
        if self.plain {
            return if set(cell, line) { '*' } else { ' ' };
        }
        let mut code = 0x2800;
        for (y, row) in BRAILLE.iter().enumerate() {
            for (x, dot) in row.iter().enumerate() {
                if set(cell * 2 + x, line * 4 + y) {
                    code |= dot;
                }
            }
        }
        if code == 0x2800 {
            return ' ';
        }
        char::from_u32(code).unwrap_or('*')
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Unicode block "Braille Patterns": dots 1 to 8 are bits 0 to 7, dot 1 top left, dot 8 foot right.
    #[test]
    fn corners_are_the_dots_of_the_standard() {
        let mut canvas = Canvas::new(1, 1, false);
        canvas.stroke(0, 1.0, 1.0);
        assert_eq!(canvas.lines(), ["\u{2801}"]);
        canvas.stroke(1, 0.0, 0.0);
        assert_eq!(canvas.lines(), ["\u{2881}"]);
        canvas.stroke(0, 0.0, 1.0);
        canvas.stroke(1, 0.0, 1.0);
        assert_eq!(canvas.lines(), ["\u{28ff}"]);
    }

    #[test]
    fn plain_dots_are_asterisks() {
        let mut canvas = Canvas::new(2, 2, true);
        canvas.stroke(0, 0.0, 0.0);
        canvas.stroke(1, 0.0, 1.0);
        canvas.stroke(9, 0.0, 1.0);
        assert_eq!(canvas.lines(), [" *", "**"]);
    }
}
