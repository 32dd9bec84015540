//! What the journal alone keeps: how the job was opened, when it was taken up again and what had lapsed
//! by then. Only lines that can say so are read; their hashes were looked at by `verify`.

use memchr::memmem;

use crate::record::bundle::signed::read_short;
use crate::record::folder::{self, JobFolder};
use crate::run::drive::RESTS;
use crate::run::event::{Event, Opening, Stamped};
use crate::run::journal::line;
use crate::run::state::State;

/// What marks the events that are looked for, as a journal's line is written. Inside a text its quotes
/// would be escaped.
const MARKS: [&str; 4] = [
    "\"event\":\"opened\"",
    "\"event\":\"paused\"",
    "\"event\":\"resumed\"",
    "\"event\":\"stopped\"",
];

/// What was kept.
#[derive(Debug, Default)]
pub(super) struct Kept {
    pub opening: Option<Opening>,
    pub opened: Option<String>,
    /// How often somebody left it and it was taken up again; a rest of the starter is none of that.
    pub resumed: u32,
    pub lapsed: Vec<String>,
    pub stopped: Option<String>,
    /// Whether the starter rests.
    rests: bool,
}

#[derive(serde::Deserialize)]
struct Line {
    ev: Stamped,
}

/// Read it; what cannot be read was found by `verify` and is left out here.
pub(super) fn read(job: &JobFolder) -> Kept {
    let mut kept = Kept::default();
    let Ok(bytes) = read_short(&job.file(folder::JOURNAL), folder::LONGEST_TEXT) else {
        return kept;
    };
    for line in bytes.split(|byte| *byte == b'\n') {
        let marked = MARKS
            .iter()
            .any(|mark| memmem::find(line, mark.as_bytes()).is_some());
        if marked && let Ok(line) = serde_json::from_slice::<Line>(line) {
            kept.take(line.ev);
        }
    }
    kept
}

/// Why a job that is not sealed is practice; empty for one that counts, or whose journal cannot be read.
pub(super) fn practice(job: &JobFolder) -> Vec<String> {
    let bytes = read_short(&job.file(folder::JOURNAL), folder::LONGEST_TEXT);
    let reading = bytes.ok().and_then(|bytes| line::read(&bytes).ok());
    let events = reading.iter().flat_map(|reading| &reading.lines);
    State::fold(events.map(|line| &line.event)).practice()
}

impl Kept {
    fn take(&mut self, stamped: Stamped) {
        match stamped.event {
            Event::Opened(opening) => {
                self.opening = Some(opening);
                self.opened = Some(stamped.at);
            }
            Event::Paused { reason } => self.rests = reason == RESTS,
            Event::Resumed { .. } if self.rests => self.rests = false,
            Event::Resumed { lapsed } => {
                self.resumed += 1;
                self.lapsed.extend(lapsed.into_iter().map(|name| name.0));
            }
            Event::Stopped { reason } => self.stopped = Some(reason),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::work::Condition;

    /// A break that somebody took counts with what had lapsed; a rest of the starter is the program's own.
    #[test]
    fn a_rest_of_the_starter_is_no_taking_up_again() {
        let mut kept = Kept::default();
        let lapsed = || vec![Condition("belts clear".to_owned())];
        for reason in [RESTS, "asked", RESTS] {
            let reason = reason.to_owned();
            for event in [
                Event::Paused { reason },
                Event::Resumed { lapsed: lapsed() },
            ] {
                kept.take(Stamped {
                    at: "2026-03-02T08:00:00Z".to_owned(),
                    event,
                });
            }
        }
        assert_eq!(
            (kept.resumed, kept.lapsed),
            (1, vec!["belts clear".to_owned()])
        );
        // killed: no pause stands before it
        let mut cut_off = Kept::default();
        cut_off.take(Stamped {
            at: "2026-03-02T08:00:00Z".to_owned(),
            event: Event::Resumed { lapsed: lapsed() },
        });
        assert_eq!(cut_off.resumed, 1);
    }
}
