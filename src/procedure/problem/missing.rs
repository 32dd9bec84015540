//! Conditions that are missing: what mends each, and those of one step told as one problem, because an author mends
//! them together.

use std::collections::BTreeMap;

use super::Problem;
use super::meanings::hint;
use crate::procedure::model::Position;
use crate::procedure::work::FUEL_CUTS;

/// A step at which a condition is missing.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Missing {
    /// The outermost procedure, through whose calls it was found.
    pub root: String,
    /// The condition.
    pub condition: String,
    /// Steps on the shortest way to it; `usize::MAX` where none was looked for.
    pub distance: usize,
    /// The step's path from the outermost procedure.
    pub step: String,
    /// The step's own place, also where a shop's policy is what wants the condition.
    pub place: Position,
    /// What makes the step need it, in brackets; empty where the step says so itself.
    pub because: String,
    /// The shortest way to the step without it; empty where none was looked for.
    pub way: String,
    /// How it comes to hold.
    pub mend: Mend,
}

/// How a condition that is missing comes to hold.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mend {
    /// No step establishes it.
    Add,
    /// No step establishes it in a procedure that gives values, so that others may be meant to call it.
    AddOrTake,
    /// Some step establishes it, none on that way.
    Ask {
        /// The last step on the way that ends it, in words.
        ended: Option<String>,
    },
    /// No step establishes it, but one nearly of that name.
    Rename(String),
    /// No step establishes it, but the statement of one says it.
    Establish(String),
    /// `fuel off`, which no step establishes.
    CutFuel,
    /// `fuel off proved`, which no step establishes.
    Prove,
    /// Not looked for, because too much is missing.
    Later,
}

impl Mend {
    /// The remedy in words, for all conditions that are mended so.
    #[must_use]
    pub fn told(&self, conditions: &[&str]) -> String {
        let names = quoted(conditions);
        let (a_step, does, each) = match conditions {
            [_] => ("a `confirm` step", "does", "it"),
            _ => ("`confirm` steps", "do", "them"),
        };
        match self {
            Mend::Add => format!(
                "No step establishes {names}: add {a_step} that {does}.{}",
                hint(conditions)
            ),
            Mend::AddOrTake => format!(
                "{} Where this is only called, and every caller sees to it, have it take a value from its caller (`takes:`): \
                 then the callers are proved to.",
                Mend::Add.told(conditions)
            ),
            Mend::Ask { ended: None } => {
                let establish = if conditions.len() == 1 {
                    "establishes"
                } else {
                    "establish"
                };
                format!("On that way, ask {a_step} that {establish} {names}.")
            }
            Mend::Ask { ended: Some(step) } => format!(
                "Step {step} on that way ends {names}: behind it, have {each} confirmed again before this step."
            ),
            Mend::Rename(near) => format!(
                "No step establishes {names}. One has `{near}`; if that is what it means, write {names} there."
            ),
            Mend::Establish(step) => format!(
                "No step establishes {names}. Step `{step}` seems to say it: if it does, give that step the line \
                 `establishes: [{}]`.",
                conditions.join(", ")
            ),
            Mend::CutFuel => format!(
                "No step establishes {names}: add a `confirm` step that does, that `disables` what cuts it, one of: {}, \
                 and that `revokes` `fuel off proved`. Before every end a `confirm` step `restores` what was disabled and \
                 revokes `fuel off` and `fuel off proved`. `evenfire new procedure NAME --cranking` writes the whole chain.",
                FUEL_CUTS.join(", ")
            ),
            Mend::Prove => format!(
                "No step establishes {names}: behind the step that cuts the fuel, add a `confirm` step with \
                 `work: proving crank`, a hazard and `revokes: [key away]` that does. It needs what a crank needs, but \
                 the proof."
            ),
            Mend::Later => "Mend those above first, then check again.".to_owned(),
        }
    }
}

fn quoted(names: &[&str]) -> String {
    let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    names.join(", ")
}

/// Several conditions that are missing at one step as one problem. One alone stays as it is.
#[must_use]
pub(crate) fn together(problems: &[&Problem]) -> Option<Problem> {
    let first = *problems.first()?;
    let all: Vec<&Missing> = problems.iter().filter_map(|p| p.missing.as_ref()).collect();
    if all.len() < 2 {
        return Some(first.clone());
    }
    let names: Vec<&str> = all
        .iter()
        .map(|missing| missing.condition.as_str())
        .collect();
    let because = &all[0].because;
    let same = all.iter().all(|missing| missing.because == *because);
    let path = all[0].step.as_str();
    let (step, names) = (path.rsplit('/').next().unwrap_or(path), quoted(&names));
    let because = if same { because.as_str() } else { "" };
    let message =
        format!("step `{step}` needs {names}, which do not hold on every way to it{because}");
    let ways = by(&all, |missing| missing.way.clone());
    let ways = ways.into_iter().filter(|(way, _)| !way.is_empty());
    let why: Vec<String> = ways
        .map(|(way, names)| {
            let names = if names.len() == all.len() {
                "any of them".to_owned()
            } else {
                quoted(&names)
            };
            format!("The shortest way to it without {names}: {way}")
        })
        .collect();
    let mends = by(&all, |missing| missing.mend.clone());
    let mends: Vec<String> = mends.iter().map(|(mend, names)| mend.told(names)).collect();
    Some(Problem {
        message,
        why: why.join("\n        "),
        remedy: mends.join("\n        "),
        ..first.clone()
    })
}

/// The conditions by what they have in common.
fn by<'a, K: Ord>(all: &[&'a Missing], key: impl Fn(&Missing) -> K) -> BTreeMap<K, Vec<&'a str>> {
    let mut groups: BTreeMap<K, Vec<&str>> = BTreeMap::new();
    for missing in all {
        groups
            .entry(key(missing))
            .or_default()
            .push(&missing.condition);
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::read_library;

    /// A crank with nothing before it: the crank is told once, with the whole chain that the fuel cut asks for.
    #[test]
    fn what_is_missing_at_one_step_is_one_problem() {
        let text = "procedure: a\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n  crank:\n    phase: p\n    warning: w\n    \
                    do: Crank.\n    work: crank\n    revokes: [key away]\n    confirm: Cranked.\n    then: end\n    \
                    if-not: end\n  end:\n    outcome: not-done\n    finding: f\n";
        let source = |_: &str| Some(("a.yaml".to_owned(), text.to_owned()));
        let found = read_library("a", &source).unwrap_err();
        assert_eq!(found.len(), 7);
        let one = together(&found.iter().collect::<Vec<_>>()).unwrap();
        assert!(
            one.message
                .starts_with("step `crank` needs `battery area safe`, `belts clear`, ")
        );
        assert_eq!(one.why, "The shortest way to it without any of them: crank");
        let lines: Vec<&str> = one.remedy.lines().map(str::trim).collect();
        assert_eq!(
            lines[0],
            "No step establishes `battery area safe`, `belts clear`, `bystanders clear`, `drive checked`, \
             `vehicle held`: add `confirm` steps that do."
        );
        for told in [
            "`disables` what cuts it",
            "`restores`",
            "revokes `fuel off` and `fuel off proved`",
        ] {
            assert!(lines[1].contains(told), "{told}");
        }
        assert!(lines[2].contains("`work: proving crank`"));
        assert_eq!(lines.len(), 3);
    }
}
