//! One job told as its flat line: everything comes from the record, the journal and the decision that
//! were just verified. Who reads a broken bundle's line must look at its status first.

use std::collections::{BTreeMap, BTreeSet};

use super::line::{JobLine, SCHEMA};
use super::{again, followed, from_journal, list, ruled, waived};
use crate::cranking::answer::{Analysis, VerdictKind};
use crate::record::bundle::amendment::{Layer, about};
use crate::record::bundle::decision::{self, Decision, Ruling};
use crate::record::bundle::model::Record;
use crate::record::bundle::signed::{Signed, read_short};
use crate::record::digest;
use crate::record::folder::{self, JobFolder};
use crate::record::moment;
use crate::record::shop::policy::Policy;
use crate::record::shop::roster::Roster;
use crate::record::verify::{Examined, Status};

/// A job's line.
pub(super) fn line(
    job: &JobFolder,
    examined: &Examined,
    (policy, roster): (&Policy, &Roster),
) -> JobLine {
    let mut line = JobLine {
        schema: SCHEMA.to_owned(),
        job: job.number(),
        status: status_name(Status::of(&examined.findings)).to_owned(),
        findings: kinds(examined),
        ..JobLine::default()
    };
    let kept = from_journal::read(job);
    line.resumed = kept.resumed;
    line.lapsed = list::joined(&kept.lapsed);
    line.stopped = kept.stopped;
    let waived = waived::read(job);
    line.waivers = u32::try_from(waived.len()).unwrap_or(u32::MAX);
    let (waived, because): (Vec<_>, Vec<_>) = waived.into_iter().unzip();
    line.waived = waived.join(" ");
    line.waived_because = waived::joined(&because);
    line.amendments = waived::amendments(job);
    if !examined.manifest.is_empty() {
        line.manifest = Some(digest::of_bytes(&examined.manifest));
    }
    match &examined.record {
        Some(record) => {
            told(&mut line, record);
            captures(&mut line, record);
            line.instead_of = again::instead_of(record).join(" ");
            if let Ok(signed) = Signed::read(job, record) {
                let read = |line: &str| about::corrected_for_good(record, &signed, roster, line);
                line.corrected = corrections(record, read);
                let identity = about::identity(record, &signed, roster);
                line.vehicle_key = identity.and_then(|it| vehicle_key(&it));
            }
            followed::held_against(&mut line, record);
            let missing = ruled::missing(record, kept.opening.as_ref(), policy);
            line.against_policy = list::joined(&missing);
        }
        None => {
            if let Some(opening) = kept.opening {
                line.shop = Some(opening.shop);
                line.tool = Some(opening.tool);
                line.technician = Some(opening.technician);
                line.procedure = Some(opening.procedure);
                line.opened = kept.opened;
            }
        }
    }
    decided(&mut line, job);
    line
}

/// As the line has it.
pub(crate) fn status_name(status: Status) -> &'static str {
    match status {
        Status::Sound => "sound",
        Status::ReportStale => "report_stale",
        Status::Open => "open",
        Status::Unsound => "unsound",
    }
}

fn kinds(examined: &Examined) -> String {
    let mut kinds: Vec<&str> = Vec::new();
    for finding in &examined.findings {
        let name = finding.kind.name();
        if !kinds.contains(&name) {
            kinds.push(name);
        }
    }
    kinds.join(" ")
}

fn told(line: &mut JobLine, record: &Record) {
    let text = |name: &str| record.lines.get(name).cloned();
    let own = record.procedures.iter();
    let mut own = own.filter(|file| file.name == record.procedure);
    line.shop = Some(record.shop.clone());
    line.tool = Some(record.tool.clone());
    line.procedure = Some(record.procedure.clone());
    line.revision = own.next().map(|file| file.revision);
    line.technician = Some(record.technician.clone());
    line.opened = Some(record.opened.clone());
    line.sealed = Some(record.sealed.clone());
    line.minutes = moment::read(&record.opened)
        .zip(moment::read(&record.sealed))
        .map(|(from, to)| (to - from).num_minutes());
    line.vehicle = text("vehicle");
    line.vehicle_identity = text("vehicle identity");
    line.vehicle_key = line.vehicle_identity.as_deref().and_then(vehicle_key);
    line.odometer = text("odometer");
    line.fuel = text("fuel").map(|fuel| fuel.to_lowercase());
    line.cylinders = cylinders(&record.lines);
    line.firing_order = text("firing order");
    line.firing_intervals = text("firing intervals");
    line.outcome_step = Some(record.outcome.step.clone());
    line.outcome = Some(record.outcome.kind.name().to_owned());
    line.finding = Some(record.outcome.finding.clone());
    line.low_percent = Some(record.low_percent);
    line.previous.clone_from(&record.previous);
    line.practice = record.is_practice();
}

/// Registration or chassis number as it is compared: people type it with and without spaces.
pub(crate) fn vehicle_key(identity: &str) -> Option<String> {
    let key: String = identity
        .chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_uppercase)
        .collect();
    (!key.is_empty()).then_some(key)
}

/// A choice's answer may be a word; then the firing order tells.
fn cylinders(lines: &BTreeMap<String, String>) -> Option<u32> {
    let typed = lines.get("cylinders").and_then(|text| text.parse().ok());
    typed.or_else(|| {
        let order = lines.get("firing order")?;
        u32::try_from(order.split('-').count()).ok()
    })
}

/// What is to be `read` in place of lines of the record, or of answers that fill none, by amendments that count.
fn corrections(record: &Record, read: impl Fn(&str) -> Option<String>) -> String {
    let steps: BTreeSet<&String> = record.path.iter().map(|entry| &entry.step).collect();
    let lines = record.lines.keys().chain(&record.untold);
    let lines = lines.chain(
        steps
            .into_iter()
            .filter(|step| !record.lines.contains_key(*step)),
    );
    let one = |line: &String| {
        let read = read(line)?;
        Some(format!("{line}={read}"))
    };
    list::joined(&lines.filter_map(one).collect::<Vec<_>>())
}

fn captures(line: &mut JobLine, record: &Record) {
    line.captures = u32::try_from(record.captures.len()).unwrap_or(u32::MAX);
    let analyses = record.captures.iter().filter_map(|c| c.analysis.as_ref());
    let mut because: Vec<&str> = Vec::new();
    for analysis in analyses.filter(|a| a.verdict.kind == VerdictKind::Inconclusive) {
        let failed = analysis.quality.iter().filter(|check| !check.passed);
        let before = because.len();
        because.extend(failed.map(|check| check.check.name()));
        if because.len() > before {
            line.captures_refused += 1;
        } else {
            line.captures_undecided += 1;
        }
    }
    line.refused_because = because.join(" ");
    if record.is_disagreed() {
        line.verdict = Some(VerdictKind::Inconclusive.name().to_owned());
    } else if let Some(analysis) = record.deciding().and_then(|c| c.analysis.as_ref()) {
        verdict(line, analysis);
    }
}

fn verdict(line: &mut JobLine, analysis: &Analysis) {
    line.verdict = Some(analysis.verdict.kind.name().to_owned());
    line.identified = analysis.identified.map(|how| how.name().to_owned());
    let low = match &analysis.verdict.positions {
        Some(positions) if !positions.is_empty() => positions,
        _ => &analysis.verdict.cylinders,
    };
    let low: Vec<String> = low.iter().map(ToString::to_string).collect();
    line.low = low.join(" ");
    let cylinders = analysis.cylinders.iter().flatten();
    let cylinders = cylinders.map(|row| {
        (
            row.cylinder,
            row.relative_compression_percent,
            row.low,
            row.high,
        )
    });
    let positions = analysis.positions.iter().flatten();
    let positions = positions.map(|row| {
        (
            row.position,
            row.relative_compression_percent,
            row.low,
            row.high,
        )
    });
    let lowest = cylinders
        .chain(positions)
        .min_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((number, percent, from, to)) = lowest {
        line.lowest = u32::try_from(number).ok();
        line.lowest_percent = Some(percent);
        line.lowest_from = Some(from);
        line.lowest_to = Some(to);
    }
}

/// What the lead decided first, and what stands: the decision about what was added last.
fn decided(line: &mut JobLine, job: &JobFolder) {
    let first = decision(job, Layer::JOB);
    line.first_decision = first.as_ref().map(|first| ruling(first).to_owned());
    let standing = match line.amendments {
        0 => first,
        last => decision(job, Layer::amendment(last)),
    };
    if let Some(decision) = standing {
        line.decision = Some(ruling(&decision).to_owned());
        line.decision_reason = decision.reason;
        line.lead = Some(decision.name);
        line.decided = Some(decision.time);
    }
}

fn decision(job: &JobFolder, layer: Layer) -> Option<Decision> {
    let file = job.file(&layer.file(folder::DECISION));
    let bytes = read_short(&file, decision::LONGEST_FILE).ok()?;
    Decision::parse(&bytes).ok()
}

fn ruling(decision: &Decision) -> &'static str {
    match decision.decision {
        Ruling::Accepted => "accepted",
        Ruling::Returned => "returned",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::bundle::amendment::{self, Amendment};
    use crate::record::bundle::signed::{Amended, Signature};
    use crate::record::example;

    #[test]
    fn one_vehicle_has_one_key_however_it_is_typed() {
        assert_eq!(vehicle_key("clw-demo 08").as_deref(), Some("CLWDEMO08"));
        assert_eq!(vehicle_key("CLW DEMO 08"), vehicle_key("clwdemo08"));
        assert_eq!(vehicle_key(" - "), None);
    }

    #[test]
    fn the_decision_that_stands_is_the_one_about_what_was_added_last() {
        let folder = tempfile::tempdir().unwrap();
        let job = JobFolder::at(folder.path().join("0001"));
        let decide = |layer: Layer, decision, name: &str| {
            let text = Decision {
                schema: decision::SCHEMA.into(),
                job: "0001".into(),
                decision,
                reason: Some("as seen".into()),
                name: name.into(),
                time: "2026-03-02T10:00:00Z".into(),
            };
            let file = job.file(&layer.file(folder::DECISION));
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(file, text.text().unwrap()).unwrap();
        };
        let told = |amendments| {
            let mut line = JobLine {
                amendments,
                ..JobLine::default()
            };
            decided(&mut line, &job);
            [line.first_decision, line.decision, line.lead].map(Option::unwrap_or_default)
        };
        assert_eq!(told(0), ["", "", ""]);
        decide(Layer::JOB, Ruling::Returned, "kim");
        assert_eq!(told(0), ["returned", "returned", "kim"]);
        assert_eq!(told(1), ["returned", "", ""]);
        decide(Layer::amendment(1), Ruling::Accepted, "lee");
        assert_eq!(told(1), ["returned", "accepted", "lee"]);
    }

    #[test]
    fn what_is_to_be_read_instead_comes_back_word_for_word() {
        let signature = Signature {
            identity: "jo".into(),
            time: "2026-03-02T10:00:00Z".into(),
            fingerprint: "SHA256:x".into(),
        };
        let accepted = Decision {
            schema: decision::SCHEMA.into(),
            job: "0001".into(),
            decision: Ruling::Accepted,
            reason: None,
            name: "kim".into(),
            time: "2026-03-02T11:00:00Z".into(),
        };
        let amended = |corrects: &str, adds: &str| Amended {
            amendment: Amendment {
                schema: amendment::SCHEMA.into(),
                job: "0001".into(),
                number: 1,
                corrects: corrects.into(),
                adds: adds.into(),
                reason: "Misread.".into(),
                name: "jo".into(),
                time: "2026-03-02T10:00:00Z".into(),
                previous: String::new(),
            },
            signature: signature.clone(),
            lead: Some((signature.clone(), accepted.clone())),
        };
        let odometer = "148 210 km; the dash says \"148,210\"";
        let signed = Signed {
            amendments: vec![
                amended("odometer", odometer),
                amended("vehicle identity", "EX 1235"),
            ],
            ..Signed::default()
        };
        let record = example::record();
        let told = corrections(&record, |line| about::corrected(&record, &signed, line));
        assert_eq!(
            list::parted(&told),
            [
                format!("odometer={odometer}"),
                "vehicle identity=EX 1235".to_owned()
            ]
        );
    }

    #[test]
    fn a_capture_that_is_only_uncertain_is_not_refused() {
        let refused = example::inconclusive_analysis();
        let mut uncertain = refused.clone();
        for check in &mut uncertain.quality {
            check.passed = true;
        }
        let mut record = example::record();
        record.captures = vec![
            example::capture(1, refused, false),
            example::capture(2, uncertain, false),
            example::capture(3, example::low_analysis(), false),
        ];
        let mut line = JobLine::default();
        captures(&mut line, &record);
        assert_eq!(line.captures, 3);
        assert_eq!(line.captures_refused, 1);
        assert_eq!(line.refused_because, "clipped");
        assert_eq!(line.captures_undecided, 1);
    }

    #[test]
    fn cylinders_are_counted_where_they_are_a_word() {
        let lines = |pairs: &[(&str, &str)]| {
            let pairs = pairs.iter();
            pairs
                .map(|(a, b)| ((*a).to_owned(), (*b).to_owned()))
                .collect::<BTreeMap<_, _>>()
        };
        assert_eq!(cylinders(&lines(&[("cylinders", "8")])), Some(8));
        let word = lines(&[("cylinders", "Four"), ("firing order", "1-3-4-2")]);
        assert_eq!(cylinders(&word), Some(4));
        assert_eq!(cylinders(&lines(&[])), None);
    }
}
