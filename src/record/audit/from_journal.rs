//! What the journal alone keeps: how the job was opened, when it was taken up again and what had lapsed
//! by then. Only lines that can say so are read; their hashes were looked at by `verify`.

use memchr::memmem;

use crate::followup::limits::ShopLimits;
use crate::record::bundle::signed::read_short;
use crate::record::folder::{self, JobFolder};
use crate::record::moment;
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

/// Seconds by which a rest may end late, answers about it among them. Our own choice.
const SLACK_S: i64 = 60;

/// What was kept.
#[derive(Debug, Default)]
pub(super) struct Kept {
    pub opening: Option<Opening>,
    pub opened: Option<String>,
    /// How often somebody left it and it was taken up again; a rest of the starter is none of that.
    pub resumed: u32,
    pub lapsed: Vec<String>,
    pub stopped: Option<String>,
    /// When the starter began to rest.
    rests: Option<String>,
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
            Event::Paused { reason } => {
                self.rests = Some(stamped.at).filter(|_| reason == RESTS);
            }
            Event::Resumed { .. } if self.was_rest(&stamped.at) => self.rests = None,
            Event::Resumed { lapsed } => {
                self.rests = None;
                self.resumed += 1;
                self.lapsed.extend(lapsed.into_iter().map(|name| name.0));
            }
            Event::Stopped { reason } => self.stopped = Some(reason),
            _ => {}
        }
    }

    /// Whether what ends at that time was no more than the starter's rest: a program that was killed while it counted one
    /// down is taken up again by a person, later.
    fn was_rest(&self, until: &str) -> bool {
        let limits = self
            .opening
            .as_ref()
            .map_or_else(ShopLimits::default, |o| o.limits);
        let most = i64::from(limits.starter.rest_seconds) + SLACK_S;
        let from = self.rests.as_deref().and_then(moment::read);
        let lasted = from.zip(moment::read(until));
        lasted.is_some_and(|(from, until)| (until - from).num_seconds() <= most)
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
        // killed while the starter rested, and taken up again by a person
        let mut killed = Kept::default();
        let reason = RESTS.to_owned();
        let times = ["2026-03-02T08:00:00Z", "2026-03-02T09:00:00Z"];
        for (at, event) in times.into_iter().zip([
            Event::Paused { reason },
            Event::Resumed { lapsed: lapsed() },
        ]) {
            let at = at.to_owned();
            killed.take(Stamped { at, event });
        }
        assert_eq!(killed.resumed, 1);
        // killed: no pause stands before it
        let mut cut_off = Kept::default();
        cut_off.take(Stamped {
            at: "2026-03-02T08:00:00Z".to_owned(),
            event: Event::Resumed { lapsed: lapsed() },
        });
        assert_eq!(cut_off.resumed, 1);
    }
}
