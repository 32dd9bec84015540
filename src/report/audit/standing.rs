//! Where the jobs of a register stand: what the open ones wait for, and what a revoked key signed.

use std::fmt::Write;

use super::register::{MOST, jobs};
use crate::record::audit::figures::Figures;
use crate::record::audit::line::JobLine;
use crate::record::audit::{Audit, status_name};
use crate::record::shop::queue::after_revocation;
use crate::record::verify::Status;
use crate::text::clean;

/// How many jobs have each status, the sound ones first; those that are open by what they wait for.
pub(super) fn statuses(figures: &Figures) -> Vec<String> {
    let of = |status| figures.by_status.get(status_name(status));
    let told = |status, words: &str| of(status).map(|count| format!("{count} {words}"));
    let mut all: Vec<String> = told(Status::Sound, "sound").into_iter().collect();
    if of(Status::Open).is_some() {
        all.extend(waits(figures));
    }
    all.extend(told(Status::ReportStale, "with another report or none"));
    all.extend(told(Status::Unsound, "NOT SOUND"));
    all
}

fn waits(figures: &Figures) -> impl Iterator<Item = String> {
    let waits = [
        (
            match figures.open_countersignatures.len() {
                1 => "awaits a decision",
                _ => "await a decision",
            },
            &figures.open_countersignatures,
        ),
        ("not signed", &figures.not_signed),
        ("not sealed", &figures.not_sealed),
        ("returned", &figures.returned),
    ];
    let some = waits.into_iter().filter(|(_, jobs)| !jobs.is_empty());
    some.map(|(words, jobs)| format!("{} {words}", jobs.len()))
}

/// What a revoked key signed, what answers for it, and what can be done about the rest.
pub(super) fn revoked(out: &mut String, audit: &Audit) {
    let revoked = &audit.figures.signed_with_revoked_key;
    jobs(out, "Signed with a revoked key", revoked);
    let again = |(old, new): (&String, &String)| format!("{} by {}", clean(old), clean(new));
    let again: Vec<String> = audit.done_again.iter().map(again).collect();
    jobs(
        out,
        "Of these done again and accepted, so not held against the register",
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
        let _ = writeln!(
            out,
            "  {new} says that it was done instead of {old}. It answers for it once it is sound and accepted, if it \
             is a later job of the same vehicle.",
            new = clean(&line.job),
            old = clean(old),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
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
        let figures = Figures::of(lines.iter(), Asked::default());
        let told = statuses(&figures);
        assert_eq!(
            told,
            [
                "1 sound",
                "2 await a decision",
                "1 not signed",
                "1 not sealed",
                "1 returned",
                "1 with another report or none",
            ]
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
