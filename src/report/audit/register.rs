//! The register's audit as a person reads it at a terminal.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use super::found::{layouts, refused, verdicts};
use super::standing::{revoked, statuses};
use crate::record::audit::figures::{Figures, Tally, Waived};
use crate::record::audit::{Audit, status_name, vehicle_key};
use crate::record::verify::Status;
use crate::text::{clean, counted};

/// Most entries of one list that are printed; the exports hold them all.
pub(super) const MOST: usize = 20;

/// What a period means.
const PERIOD: &str = "The figures are of that period, by the day on which a job was sealed or, if it is not, begun. \
     What is lost or unsound is told whenever it was.\n";

/// How the audit was made, for its first lines.
#[derive(Debug, Clone, Copy, Default)]
pub struct Told<'a> {
    /// Name of the shop.
    pub shop: &'a str,
    /// Whether nothing was to be believed.
    pub full: bool,
    /// Why an earlier audit's memory was of no use.
    pub void: Option<&'a str>,
}

/// The whole text.
#[must_use]
pub fn text(audit: &Audit, told: Told<'_>) -> String {
    let mut out = String::new();
    head(&mut out, audit, told);
    out += &wrongs(audit);
    let figures = &audit.figures;
    revoked(&mut out, audit);
    open(&mut out, figures);
    jobs(
        &mut out,
        "Report missing or another than the files give; write it again with `evenfire report JOB`",
        &figures.report_stale,
    );
    jobs(
        &mut out,
        "Returned by the lead and standing so",
        &figures.returned,
    );
    section(&mut out, "Corrected after signing", &corrected(audit));
    waivers(&mut out, figures);
    tally(
        &mut out,
        "Waivers by who allowed them",
        &figures.waivers_by_person,
    );
    jobs(
        &mut out,
        "Decided about by the lead who waived in them; where there is another lead, that is theirs",
        &figures.decided_own_waivers,
    );
    section(
        &mut out,
        "Conditions lapsed when a job was taken up again",
        &often_first_in(&figures.lapsed_conditions, &figures.lapsed_conditions_jobs),
    );
    refused(&mut out, figures);
    visits(&mut out, audit);
    layouts(&mut out, figures);
    verdicts(&mut out, figures);
    section(
        &mut out,
        "Worked by another policy than today's",
        &with_jobs(&figures.against_policy_jobs),
    );
    section(&mut out, "Remarks", &audit.remarks);
    let _ = writeln!(out, "\n{}: {}", clean(told.shop), sum(audit));
    out
}

/// What accepted amendments say is to be read instead, a line for each job that its signatures still hold.
fn corrected(audit: &Audit) -> Vec<String> {
    let lines = audit
        .lines
        .iter()
        .filter(|line| !line.corrected.is_empty() && line.status != status_name(Status::Unsound));
    lines
        .map(|line| format!("{}  {}", line.job, line.corrected))
        .collect()
}

fn head(out: &mut String, audit: &Audit, told: Told<'_>) {
    let figures = &audit.figures;
    let (looked_at, left_out) = match audit.practice {
        false => ("job", "practice job"),
        true => ("PRACTICE job", "job"),
    };
    let (since, until) = (figures.since.as_ref(), figures.until.as_ref());
    let day = |word, day: &String| format!(" {word} {day}");
    let mut period = since.map_or_else(String::new, |own| day("since", own));
    period += &until.map_or_else(String::new, |own| day("until", own));
    let mut outside = since.map_or_else(String::new, |_| format!("{} earlier, ", figures.earlier));
    outside += &until.map_or_else(String::new, |_| format!("{} later, ", figures.later));
    if !period.is_empty() {
        period += " (UTC)";
        outside = format!("{} and ", outside.trim_end_matches(", "));
    }
    let _ = writeln!(
        out,
        "{}: {}{period}; {outside}{} left out.",
        clean(told.shop),
        counted(figures.jobs, looked_at),
        counted(figures.left_out, left_out)
    );
    if !period.is_empty() {
        out.push_str(PERIOD);
    }
    let memory = match (told.full, told.void) {
        (true, _) => "Every job was read; nothing was believed.".to_owned(),
        (false, Some(why)) => format!("Every job was read: {why}."),
        (false, None) if audit.believed == 0 => "Every job was read.".to_owned(),
        (false, None) => format!(
            "{} read; {} NOT read again: the names, lengths and times of their files are as when \
             they were last verified, and roster, revoked keys, policy and program have not changed. \
             Whoever can write to the shop's folder could forge that; --full reads everything.",
            counted(audit.read, "job"),
            audit.believed
        ),
    };
    let _ = writeln!(out, "{memory}");
    let statuses = statuses(audit);
    if !statuses.is_empty() {
        let _ = writeln!(out, "Status: {}.", statuses.join(", "));
    }
    let again = audit.done_again.keys();
    let aside: BTreeSet<&String> = figures.unsound.iter().chain(again).collect();
    if !aside.is_empty() {
        let are = if aside.len() == 1 { "is" } else { "are" };
        let jobs = counted(aside.len() as u64, "job");
        let aside: Vec<String> = aside.into_iter().cloned().collect();
        let _ = writeln!(
            out,
            "{jobs} not sound or done again {are} counted nowhere below ({}).",
            named(&aside)
        );
    }
}

/// What is wrong, a line each.
#[must_use]
pub fn wrongs(audit: &Audit) -> String {
    let mut out = String::new();
    for (job, sentence) in audit.wrong.iter().take(MOST) {
        let _ = writeln!(out, "WRONG   {}: {}", clean(job), clean(sentence));
    }
    if audit.wrong.len() > MOST {
        let more = audit.wrong.len() - MOST;
        let _ = writeln!(
            out,
            "WRONG   … and {more} more; --format json holds them all"
        );
    }
    out
}

fn open(out: &mut String, figures: &Figures) {
    jobs(out, "Not sealed yet", &figures.not_sealed);
    jobs(out, "Not signed by the technician", &figures.not_signed);
    jobs(
        out,
        "Await a lead's decision",
        &figures.open_countersignatures,
    );
    if figures.one_signature > 0 {
        let count = figures.one_signature;
        let _ = writeln!(
            out,
            "\nOne signature, nobody else could countersign: {count}"
        );
    }
}

pub(super) fn jobs(out: &mut String, heading: &str, jobs: &[String]) {
    if !jobs.is_empty() {
        let _ = writeln!(out, "\n{heading}: {}\n  {}", jobs.len(), named(jobs));
    }
}

pub(super) fn named(jobs: &[String]) -> String {
    let shown: Vec<&str> = jobs.iter().take(MOST).map(String::as_str).collect();
    let more = if jobs.len() > MOST { ", …" } else { "" };
    format!("{}{more}", shown.join(", "))
}

pub(super) fn section(out: &mut String, heading: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(out, "\n{heading}");
    for line in lines.iter().take(MOST) {
        let _ = writeln!(out, "  {}", clean(line));
    }
    if lines.len() > MOST {
        let _ = writeln!(out, "  … and {} more", lines.len() - MOST);
    }
}

pub(super) fn tally(out: &mut String, heading: &str, tally: &Tally) {
    section(out, heading, &often_first(tally));
}

fn often_first(tally: &Tally) -> Vec<String> {
    often_first_in(tally, &BTreeMap::new())
}

/// The most frequent first, names in order among equals, each with the jobs where they are known.
pub(super) fn often_first_in(tally: &Tally, jobs: &BTreeMap<String, Vec<String>>) -> Vec<String> {
    let mut counts: Vec<(&String, &u64)> = tally.iter().collect();
    counts.sort_by(|a, b| b.1.cmp(a.1).then(a.0.cmp(b.0)));
    let lines = counts.into_iter().map(|(name, count)| {
        let of = jobs.get(name).map(|jobs| format!(": {}", named(jobs)));
        format!("{count:>7}  {}{}", name, of.unwrap_or_default())
    });
    lines.collect()
}

/// By step, the most frequent first, with the jobs; where they are few, with who allowed each and why.
fn waivers(out: &mut String, figures: &Figures) {
    /// Most waivers of a step that are told one by one.
    const FEW: usize = 5;
    let mut steps: Vec<(&String, &Vec<Waived>)> = figures.waivers.iter().collect();
    steps.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then(a.0.cmp(b.0)));
    let mut lines = Vec::new();
    for (step, given) in steps {
        let jobs: Vec<String> = given.iter().map(|one| one.job.clone()).collect();
        lines.push(format!("{step}: {} ({})", given.len(), named(&jobs)));
        if given.len() <= FEW {
            let one = |one: &Waived| format!("  {}, {}: {}", one.job, one.person, one.reason);
            lines.extend(given.iter().map(one));
        }
    }
    section(out, "Waivers by step", &lines);
}

/// Each name with how many jobs and which, the most frequent first; names in order among equals.
fn with_jobs<'a>(by_name: impl IntoIterator<Item = (&'a String, &'a Vec<String>)>) -> Vec<String> {
    let mut entries: Vec<(&String, &Vec<String>)> = by_name.into_iter().collect();
    entries.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then(a.0.cmp(b.0)));
    let lines = entries.into_iter();
    lines
        .map(|(name, jobs)| format!("{:>7}  {name}: {}", jobs.len(), named(jobs)))
        .collect()
}

/// Each vehicle as somebody typed it, where a line has it uncorrected.
fn visits(out: &mut String, audit: &Audit) {
    let figures = &audit.figures;
    let mut typed: BTreeMap<&String, &String> = BTreeMap::new();
    for line in &audit.lines {
        let (key, identity) = (&line.vehicle_key, &line.vehicle_identity);
        if let (Some(key), Some(identity)) = (key, identity)
            && figures.repeat_visits.contains_key(key)
            && vehicle_key(identity).as_ref() == Some(key)
        {
            typed.entry(key).or_insert(identity);
        }
    }
    let visits = figures.repeat_visits.iter();
    let named = visits.map(|(key, jobs)| (*typed.get(key).unwrap_or(&key), jobs));
    let lines = with_jobs(named);
    let heading = format!("Vehicles that came more than once: {}", lines.len());
    section(out, &heading, &lines);
}

/// The last line: a screen that scrolled shows it alone, so it names what is not sound.
fn sum(audit: &Audit) -> String {
    let said = match audit.status() {
        Status::Unsound => {
            let unsound: Vec<String> = audit
                .not_sound()
                .into_iter()
                .map(|job| clean(job))
                .collect();
            return format!("NOT SOUND: {}", named(&unsound));
        }
        Status::Sound
            if audit.figures.jobs == 0 && audit.figures.practice > 0 && !audit.practice =>
        {
            "no job that counts is here; `--practice` looks at practice"
        }
        Status::Sound if audit.practice => {
            "sound, as far as practice jobs are here; no chain tells whether one was taken away"
        }
        Status::Sound if audit.memory_lost => {
            "sound; whether jobs were taken off the chain's end, or decisions or amendments removed, cannot be told (see Remarks)"
        }
        Status::Sound => "sound; the chain is whole",
        Status::ReportStale => {
            "sound, but reports are missing or are not those that the files give"
        }
        Status::Open => "sound so far, but not all is finished",
    };
    if audit.done_again.is_empty() {
        return said.to_owned();
    }
    let again: Vec<String> = audit.done_again.keys().map(|job| clean(job)).collect();
    format!("{said}; done again: {}", named(&again))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_corrected_after_signing_is_listed() {
        let line = |status: &str, corrected: &str| crate::record::audit::line::JobLine {
            job: "0007".to_owned(),
            status: status.to_owned(),
            corrected: corrected.to_owned(),
            ..Default::default()
        };
        let told = |line| {
            let audit = Audit {
                lines: vec![std::sync::Arc::new(line)],
                ..Audit::default()
            };
            text(&audit, Told::default())
        };
        let said = told(line("sound", "firing order=1-2-4-3"));
        assert!(
            said.contains("\nCorrected after signing\n  0007  firing order=1-2-4-3\n"),
            "{said}"
        );
        for other in [line("unsound", "firing order=1-2-4-3"), line("sound", "")] {
            assert!(!told(other).contains("Corrected after signing"));
        }
    }

    #[test]
    fn the_last_line_names_what_was_done_again() {
        let audit = Audit {
            done_again: [("0004".to_owned(), "0009".to_owned())].into(),
            ..Audit::default()
        };
        let said = sum(&audit);
        assert!(said.starts_with("sound; the chain is whole"), "{said}");
        assert!(said.ends_with("; done again: 0004"), "{said}");
        let practice = 3;
        let of_practice = Figures {
            practice,
            ..Figures::default()
        };
        let only_practice = Audit {
            figures: of_practice,
            ..Audit::default()
        };
        let said = sum(&only_practice);
        assert!(said.starts_with("no job that counts is here"), "{said}");
    }

    #[test]
    fn few_waivers_are_told_one_by_one() {
        let given = |count: usize| {
            let one = |at: usize| Waived {
                job: format!("{at:04}"),
                person: "kim".to_owned(),
                reason: "the lamp\u{1b}[2J broke".to_owned(),
            };
            (1..=count).map(one).collect::<Vec<_>>()
        };
        let figures = Figures {
            waivers: [
                ("cool".to_owned(), given(2)),
                ("quiet".to_owned(), given(6)),
            ]
            .into(),
            ..Figures::default()
        };
        let mut said = String::new();
        waivers(&mut said, &figures);
        let lines: Vec<&str> = said.lines().skip(2).collect();
        assert_eq!(lines[0], "  quiet: 6 (0001, 0002, 0003, 0004, 0005, 0006)");
        assert_eq!(lines[1], "  cool: 2 (0001, 0002)");
        assert!(lines[2].starts_with("    0001, kim: the lamp"), "{said}");
        assert_eq!(lines.len(), 4);
        assert!(!said.contains('\u{1b}'));
    }
}
