//! What is wrong with a row, where it stands, and how to mend it.

use super::Taking;
use crate::capture::layout::lines::letters;
use crate::capture::{ReadError, shown};

const SEGMENTS: &str = "Choose one in the set-up, as in table: {segment: 1}; or table: {segment: all} where \
                        time goes on from one to the next.";

impl Taking<'_, '_> {
    pub(super) fn headings_again(&self) -> ReadError {
        let message = "the headings stand here again: the file holds several segments";
        self.error(0, message.to_owned(), SEGMENTS)
    }

    pub(super) fn falls(&self, before: f64, at: f64) -> ReadError {
        let time = self.task.cut.time.unwrap_or(0);
        let column = self.task.cut.wanted[time] as u64 + 1;
        let message = format!("time goes from {before} to {at}; it must rise from row to row");
        let remedy = if at == before {
            "Export the capture again with more decimals of time; or, if rows come at a steady rate, give it \
             in the set-up: time: {rate_hz: 1000}"
        } else {
            "Export the capture again as one piece, in the order in which it was recorded; if it holds \
             several segments, choose one in the set-up: table: {segment: 1}"
        };
        self.error(column, message, remedy)
    }

    pub(super) fn bad_cell(&self, slot: usize, found: Option<&[u8]>) -> ReadError {
        let cut = &self.task.cut;
        let is_time = cut.time == Some(slot);
        let text = found.map(letters);
        let stands = match text.as_deref() {
            None => "the row ends before it".to_owned(),
            Some("") => "nothing stands there".to_owned(),
            Some(text) => format!("{} stands there", shown::cell(text)),
        };
        let wanted = if is_time && cut.clock {
            "a time of day, as in 14:03:07.250"
        } else {
            "a number"
        };
        let heading = shown::cell(&self.task.headings[slot]);
        let message = format!("column {heading} must hold {wanted}; {stands}");
        let text = text.unwrap_or_default();
        let other = if cut.point == b'.' { ',' } else { '.' };
        let remedy = if text.contains(other)
            && text
                .chars()
                .all(|c| c.is_ascii_digit() || "+-.,".contains(c))
        {
            "Mend or cut that row; or, if that is the decimal sign, say so in the set-up: table: {decimal: \
             comma} or table: {decimal: point}"
        } else if is_time && text.contains(':') {
            "Export time in seconds, or as hours, minutes and seconds, as in 14:03:07.250"
        } else {
            "Mend or cut that row, or export the capture again."
        };
        self.error(cut.wanted[slot] as u64 + 1, message, remedy)
    }

    pub(super) fn too_many(&self) -> ReadError {
        let message = "the capture goes on for more than an hour".to_owned();
        let remedy = "Cut it to the cranking, or export that part only.";
        self.error(0, message, remedy)
    }

    pub(super) fn error(&self, column: u64, message: String, remedy: &str) -> ReadError {
        ReadError::new(self.task.file, self.line, column, message, remedy)
    }
}
