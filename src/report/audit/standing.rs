//! Where the jobs of a register stand: what the open ones wait for, and what a revoked key signed.

use std::collections::BTreeSet;
use std::fmt::Write;

use super::register::{MOST, jobs};
use crate::record::audit::figures::Figures;
use crate::record::audit::line::JobLine;
use crate::record::audit::{Audit, not_sound, status_name};
use crate::record::shop::queue::after_revocation;
use crate::record::verify::Status;
use crate::text::clean;

/// How many jobs have each status, the sound ones first; those that are open by what they wait for. What the last
/// line calls not sound is counted as that and as nothing else, missing jobs among it.
pub(super) fn statuses(audit: &Audit) -> Vec<String> {
    let wrong = audit.not_sound();
    let of = |status| {
        let lines = audit.lines.iter();
        let own = lines.filter(|line| line.status == status_name(status));
        let own = own.filter(|line| line.done_again_by.is_none());
        own.filter(|line| !wrong.contains(&line.job)).count()
    };
    let told = |count: usize, words: &str| (count > 0).then(|| format!("{count} {words}"));
    let mut all: Vec<String> = told(of(Status::Sound), "sound").into_iter().collect();
    all.extend(waits(&audit.figures, &wrong));
    all.extend(told(of(Status::ReportStale), "with another report or none"));
    all.extend(told(audit.done_again.len(), "done again"));
    all.extend(told(wrong.len(), "NOT SOUND"));
    all
}

fn waits(figures: &Figures, wrong: &BTreeSet<&String>) -> Vec<String> {
    let count = |jobs: &[String]| jobs.iter().filter(|job| !wrong.contains(job)).count();
    let decisions = count(&figures.open_countersignatures);
    let awaits = match decisions {
        1 => "awaits a decision",
        _ => "await a decision",
    };
    let waits = [
        (decisions, awaits),
        (count(&figures.not_signed), "not signed"),
        (count(&figures.not_sealed), "not sealed"),
        (count(&figures.returned), "returned"),
    ];
    let some = waits.into_iter().filter(|(count, _)| *count > 0);
    some.map(|(count, words)| format!("{count} {words}"))
        .collect()
}

/// What a revoked key signed, what answers for it, and what can be done about the rest.
pub(super) fn revoked(out: &mut String, audit: &Audit) {
    let revoked = &audit.figures.signed_with_revoked_key;
    jobs(out, "Signed with a revoked key", revoked);
    let again = |(old, new): (&String, &String)| format!("{} by {}", clean(old), clean(new));
    let again: Vec<String> = audit.done_again.iter().map(again).collect();
    jobs(
        out,
        "Done again and accepted, so not held against the register",
        &again,
    );
    let rest = revoked
        .iter()
        .filter(|job| !audit.done_again.contains_key(*job));
    let rest: Vec<&String> = rest.collect();
    let Some(first) = rest.first() else {
        return;
    };
    let _ = writeln!(out, "  {}", after_revocation(&clean(first)));
    let claims =
        |old: &String, line: &JobLine| JobLine::words(&line.instead_of).any(|job| job == old);
    let lines = audit.lines.iter();
    let claimed = lines.filter_map(|line| Some((rest.iter().find(|old| claims(old, line))?, line)));
    for (old, line) in claimed.take(MOST) {
        let mut never = audit.not_counted.iter();
        let never = never.find(|one| one.new == line.job && one.old == **old);
        let _ = writeln!(
            out,
            "  {new} says that it was done instead of {old}. {}.",
            match never.map(|never| never.why).or_else(|| not_sound(line)) {
                Some(why) => format!("That does not count: {why}"),
                None => "It answers for it once it is sound and accepted".to_owned(),
            },
            new = clean(&line.job),
            old = clean(old),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::audit::NotCounted;
    use crate::record::audit::figures::Asked;

    #[test]
    fn an_open_job_says_what_it_waits_for() {
        let line = |job: &str, status: &str, findings: &str| JobLine {
            job: job.to_owned(),
            status: status.to_owned(),
            findings: findings.to_owned(),
            ..JobLine::default()
        };
        let lines = [
            line("0001", "sound", ""),
            line("0002", "open", "not_countersigned"),
            line("0003", "open", "not_countersigned waived"),
            line("0004", "open", "not_signed not_countersigned"),
            line("0005", "open", "not_sealed"),
            line("0006", "open", "amended returned"),
            line("0007", "report_stale", "report_missing"),
        ];
        let mut audit = Audit {
            figures: Figures::of(lines.iter(), Asked::default()),
            lines: lines.map(Into::into).to_vec(),
            ..Audit::default()
        };
        assert_eq!(
            statuses(&audit),
            [
                "1 sound",
                "2 await a decision",
                "1 not signed",
                "1 not sealed",
                "1 returned",
                "1 with another report or none",
            ]
        );

        // a job whose decision is gone, one that is missing, and one that was done again
        for job in ["0002", "0010"] {
            audit.wrong.push((job.to_owned(), "gone".to_owned()));
        }
        audit.figures.unsound = vec!["0009".to_owned()];
        audit.done_again = [("0009".to_owned(), "0001".to_owned())].into();
        let told = statuses(&audit);
        assert_eq!(told[1], "1 awaits a decision");
        assert_eq!(
            told[5..],
            [
                "1 with another report or none",
                "1 done again",
                "2 NOT SOUND"
            ]
            .map(str::to_owned)[..]
        );
    }

    #[test]
    fn what_was_done_again_is_told_before_and_after_it_is_accepted() {
        let new = JobLine {
            job: "0009".to_owned(),
            instead_of: "0004".to_owned(),
            ..JobLine::default()
        };
        let mut audit = Audit {
            lines: vec![new.into()],
            ..Audit::default()
        };
        audit.figures.signed_with_revoked_key = vec!["0004".to_owned(), "0005".to_owned()];
        let told = |audit: &Audit| {
            let mut said = String::new();
            revoked(&mut said, audit);
            said
        };
        let said = told(&audit);
        assert!(said.contains("`instead of job 0004`"), "{said}");
        assert!(
            said.contains("0009 says that it was done instead of 0004"),
            "{said}"
        );
        assert!(said.contains("once it is sound and accepted."), "{said}");
        audit.not_counted = vec![NotCounted {
            new: "0009".to_owned(),
            old: "0004".to_owned(),
            why: "another vehicle",
        }];
        let said = told(&audit);
        assert!(
            said.contains("0004. That does not count: another vehicle.")
                && !said.contains("once it"),
            "{said}"
        );
        audit.done_again = [("0004".to_owned(), "0009".to_owned())].into();
        let said = told(&audit);
        assert!(said.contains("register: 1\n  0004 by 0009"), "{said}");
        assert!(said.contains("`instead of job 0005`"), "{said}");
        assert!(!said.contains("says that it was done"), "{said}");
        audit.figures.signed_with_revoked_key.pop();
        let said = told(&audit);
        assert!(said.ends_with("0004 by 0009\n"), "{said}");
    }
}
