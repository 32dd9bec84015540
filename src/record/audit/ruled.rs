//! A job held against the shop's policy of today. The policy may be younger than the job: what is
//! missing is worth knowing, not wrong.

use crate::record::bundle::model::Record;
use crate::record::shop::policy::Policy;
use crate::run::event::Opening;

/// What today's policy asks for and the job does not show, each in a few words.
pub(super) fn missing(record: &Record, opening: Option<&Opening>, policy: &Policy) -> Vec<String> {
    let mut missing = Vec::new();
    let limit = policy.limits.low_percent.percent();
    // where nothing was measured, nothing was decided by a limit
    let is_decided = record
        .deciding()
        .is_some_and(|capture| capture.analysis.is_some());
    if is_decided && record.low_percent.to_bits() != limit.to_bits() {
        let own = record.low_percent;
        missing.push(format!("decided by a limit of {own} %, today {limit} %"));
    }
    for file in &record.procedures {
        let least = policy.rules.revisions.get(&file.name);
        if let Some(least) = least.filter(|least| least.revision > file.revision) {
            let (name, own, asked) = (&file.name, file.revision, least.revision);
            missing.push(format!("{name} revision {own}, today {asked}"));
        }
    }
    missing.extend(steps(record, policy));
    missing.extend(needs(opening, policy));
    missing
}

/// Steps that the policy wants before an outcome.
fn steps(record: &Record, policy: &Policy) -> Vec<String> {
    let concerns =
        |outcome: &str| outcome == record.outcome.step || outcome == record.outcome.kind.name();
    let rules = policy.rules.steps_before.iter();
    let rules = rules.filter(|rule| rule.procedure == record.procedure && concerns(&rule.outcome));
    let done = |step: &str| {
        let mut path = record.path.iter();
        path.any(|entry| !entry.superseded && entry.step == step)
    };
    rules
        .flat_map(|rule| &rule.steps)
        .filter(|step| !done(&step.name))
        .map(|step| format!("no step {} before {}", step.name, record.outcome.step))
        .collect()
}

/// Further conditions that the job was begun without.
fn needs(opening: Option<&Opening>, policy: &Policy) -> Vec<String> {
    let Some(opening) = opening else {
        return Vec::new();
    };
    let mut missing = Vec::new();
    for (work, conditions) in &policy.rules.needs {
        let begun_with = opening.needs.get(work);
        for condition in conditions {
            if !begun_with.is_some_and(|own| own.contains(condition)) {
                missing.push(format!("{} without needing {}", work.name(), condition.0));
            }
        }
    }
    missing
}
