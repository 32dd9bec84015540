//! Numbers that an audit has seen, and whether they are still here. A chain cannot tell whether jobs were
//! taken off its end; who remembers can. A number once seen is never forgotten, whatever else of a memory
//! is void: a loss is told by every audit until the folder is back, with the manifest that it had. Practice
//! is in no chain and deleted as people like: that it is gone is told to whoever looks at practice, and is no fault.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::Looked;
use super::gather::status_name;
use super::line::JobLine;
use super::trust::{Memory, Trusted};
use crate::record::verify::{FindingKind, Status};

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
            seen: looked.line.job.clone(),
            manifest: looked.line.manifest.clone(),
            missed: None,
            practice: !counts(looked),
        }
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
        if same {
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

/// A folder in which nothing was begun, as a full disk leaves it, may be deleted.
pub(super) fn is_blank(line: &JobLine) -> bool {
    line.manifest.is_none()
        && line.opened.is_none()
        && line.findings == FindingKind::NotSealed.name()
}

/// Practice is deleted as people like; but a bundle that is not sound cannot be believed to be practice.
fn counts(looked: &Looked) -> bool {
    !looked.practice || looked.line.status == status_name(Status::Unsound)
}

impl Trusted {
    /// The same, as far as numbers go.
    pub(super) fn seen(&self) -> Seen {
        Seen {
            seen: self.line.job.clone(),
            manifest: self.line.manifest.clone(),
            missed: None,
            practice: self.practice,
        }
    }
}
