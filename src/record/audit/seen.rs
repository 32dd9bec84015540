//! Numbers that an audit has seen, and whether they are still here. A chain cannot tell whether jobs were
//! taken off its end; who remembers can. A number once seen is never forgotten, whatever else of a memory
//! is void: a loss is told by every audit until the folder is back, with the manifest that it had. Practice
//! is in no chain and deleted as people like: that it is gone is told to whoever looks at practice, and is no fault.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::gather::status_name;
use super::line::JobLine;
use super::looked::Looked;
use super::strays::NAMED;
use super::trust::{Memory, Trusted};
use crate::record::verify::{FindingKind, Status};
use crate::text::counted;

/// A job that an audit has seen and of which nothing else is believed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Seen {
    /// Number under which it lay.
    pub seen: String,
    /// SHA-256 of its first manifest, hex; none where it was not sealed.
    pub manifest: Option<String>,
    /// Day on which it was first missed, UTC, `YYYY-MM-DD`; none while it is here.
    pub missed: Option<String>,
    /// Whether it was practice.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub practice: bool,
    /// Amendments that it had.
    #[serde(default, skip_serializing_if = "is_none")]
    pub amendments: u32,
    /// The decision that stood: `accepted by kim, 2026-03-02T16:00:00Z`; none before a lead had decided.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub decided: Option<String>,
}

#[allow(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands over a reference"
)]
fn is_none(count: &u32) -> bool {
    *count == 0
}

/// What earlier audits had seen, against what is here.
#[derive(Debug, Default)]
pub(super) struct Losses {
    /// Jobs that are gone, or exchanged for another: the number, and a sentence.
    pub wrong: Vec<(String, String)>,
    /// Numbers of the practice jobs that are gone.
    pub practice: Vec<String>,
    /// What the next audit is to remember.
    pub seen: Vec<Seen>,
}

impl Seen {
    fn of(looked: &Looked) -> Seen {
        Seen {
            practice: !counts(looked),
            ..Seen::in_line(&looked.line)
        }
    }

    /// What a line tells; of a job that is not sound nothing is known that somebody signed.
    fn in_line(line: &JobLine) -> Seen {
        let sound = line.status != status_name(Status::Unsound);
        Seen {
            seen: line.job.clone(),
            manifest: line.manifest.clone(),
            amendments: if sound { line.amendments } else { 0 },
            decided: decided(line).filter(|_| sound),
            ..Seen::default()
        }
    }

    /// What was signed over the job when it was seen and is not there now.
    fn taken_away(&self, line: &JobLine) -> Option<String> {
        let day = self.missed.as_deref().unwrap_or("an unknown day");
        if line.amendments < self.amendments {
            let gone: Vec<String> = (line.amendments + 1..=self.amendments)
                .map(|number| number.to_string())
                .collect();
            let gone = gone.join(", ");
            return Some(format!(
                "an earlier audit saw amendment {gone}; that is gone; first missed on {day}"
            ));
        }
        let was = self.decided.as_ref()?;
        let still = line.amendments > self.amendments || decided(line).as_ref() == Some(was);
        (!still).then(|| {
            format!("an earlier audit saw it {was}; that decision is gone; first missed on {day}")
        })
    }

    fn told(&self, is_here: bool) -> String {
        let day = self.missed.as_deref().unwrap_or("an unknown day");
        if is_here {
            return format!(
                "another job lay here when the register was audited before (its manifest was {}), and that \
                 one is gone; first missed on {day}",
                self.manifest.as_deref().unwrap_or("not made yet")
            );
        }
        format!(
            "it was here when the register was audited before, and is gone; first missed on {day}; it is \
             missed until its folder is back"
        )
    }
}

/// What earlier audits had seen and is gone now, told; and what the next is to remember.
pub(super) fn missed(looked: &[Looked], memory: &Memory, today: &str) -> Losses {
    let here: BTreeMap<&str, &Looked> = looked
        .iter()
        .map(|looked| (looked.line.job.as_str(), looked))
        .collect();
    let mut seen: BTreeMap<String, Seen> = looked
        .iter()
        .filter(|looked| !is_blank(&looked.line))
        .map(|looked| (looked.line.job.clone(), Seen::of(looked)))
        .collect();
    let mut losses = Losses::default();
    for mut one in memory.seen() {
        let there = here.get(one.seen.as_str());
        if one.practice {
            if there.is_none() {
                losses.practice.push(one.seen.clone());
                seen.insert(one.seen.clone(), one);
            }
            continue;
        }
        let same = there
            .is_some_and(|looked| one.manifest.is_none() || looked.line.manifest == one.manifest);
        if let Some(looked) = there.filter(|_| same) {
            let line = &looked.line;
            one.missed.get_or_insert_with(|| today.to_owned());
            if line.status == status_name(Status::Unsound) {
                // what was signed over it is missed once the job is sound again
                if let Some(kept) = seen.get_mut(&one.seen) {
                    (kept.amendments, kept.decided) = (one.amendments, one.decided);
                }
            } else if let Some(told) = one.taken_away(line) {
                losses.wrong.push((one.seen.clone(), told));
                seen.insert(one.seen.clone(), one);
            }
            continue;
        }
        one.missed.get_or_insert_with(|| today.to_owned());
        let told = one.told(there.is_some());
        losses.wrong.push((one.seen.clone(), told));
        seen.insert(one.seen.clone(), one);
    }
    losses.seen = seen.into_values().collect();
    losses
}

/// Practice that earlier audits saw. It may be deleted, so this is worth knowing and not wrong.
pub(super) fn practice_gone(gone: &[String]) -> String {
    let more = if gone.len() > NAMED { ", …" } else { "" };
    let named = gone[..gone.len().min(NAMED)].join(", ");
    let jobs = counted(gone.len() as u64, "practice job");
    format!("{jobs} that earlier audits saw: gone now ({named}{more})")
}

/// The decision that stands, with who made it and when by their word.
fn decided(line: &JobLine) -> Option<String> {
    let (decision, lead) = line.decision.as_ref().zip(line.lead.as_ref())?;
    let at = line.decided.as_deref().unwrap_or_default();
    Some(format!("{decision} by {lead}, {at}"))
}

/// A folder in which nothing was begun, as a full disk leaves it, may be deleted.
pub(super) fn is_blank(line: &JobLine) -> bool {
    line.manifest.is_none()
        && line.opened.is_none()
        && line.findings == FindingKind::NotSealed.name()
}

/// Practice is deleted as people like; but a bundle that is not what was signed cannot be believed to be practice.
fn counts(looked: &Looked) -> bool {
    !looked.practice
        || (looked.line.status == status_name(Status::Unsound)
            && !looked.is_practice_of_refused_signer())
}

impl Trusted {
    /// The same, as far as numbers go.
    pub(super) fn seen(&self) -> Seen {
        Seen {
            practice: self.practice,
            ..Seen::in_line(&self.line)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_amendment_or_a_decision_that_is_gone_is_told() {
        let line = |amendments, decision: Option<&str>| JobLine {
            status: "open".to_owned(),
            amendments,
            decision: decision.map(str::to_owned),
            lead: decision.map(|_| "kim".to_owned()),
            decided: decision.map(|_| "2026-03-02T16:00:00Z".to_owned()),
            ..JobLine::default()
        };
        let told = |was: &JobLine, is: &JobLine| {
            let seen = Seen {
                missed: Some("2026-04-01".to_owned()),
                ..Seen::in_line(was)
            };
            seen.taken_away(is)
        };
        let accepted = line(2, Some("accepted"));
        assert_eq!(told(&accepted, &accepted), None);
        // what was added since waits for its own decision
        assert_eq!(told(&accepted, &line(3, None)), None);
        assert_eq!(told(&line(1, None), &line(1, Some("returned"))), None);
        assert_eq!(
            told(&accepted, &line(2, None)).unwrap(),
            "an earlier audit saw it accepted by kim, 2026-03-02T16:00:00Z; that decision is gone; first missed on \
             2026-04-01"
        );
        assert_eq!(
            told(&accepted, &line(0, Some("returned"))).unwrap(),
            "an earlier audit saw amendment 1, 2; that is gone; first missed on 2026-04-01"
        );
        let unsound = JobLine {
            status: status_name(Status::Unsound).to_owned(),
            ..accepted
        };
        assert_eq!(told(&unsound, &line(0, None)), None);
    }
}
