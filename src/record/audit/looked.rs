//! A job as the audit looks at it: by itself, before the chain and the other jobs are held against it.

use std::sync::Arc;

use super::flaw::Flaw;
use super::line::JobLine;
use super::{Auditing, RenderReportAll, from_journal, gather, trust};
use crate::record::bundle::manifest::shown;
use crate::record::bundle::model::Record;
use crate::record::folder::JobFolder;
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;
use crate::record::verify::{
    Against, Examined, Finding, FindingKind, RenderReport, Severity, Status, examine,
};

/// A job that was looked at.
pub(super) struct Looked {
    pub(super) practice: bool,
    pub(super) line: Arc<JobLine>,
    pub(super) wrong: Vec<String>,
    pub(super) believed: bool,
    pub(super) mark: Option<String>,
    pub(super) flaw: Flaw,
}

/// A job as an earlier audit left it, where nothing has changed since, or by what lies there now.
pub(super) fn look(shop: &Shop, job: &JobFolder, auditing: &Auditing<'_>) -> Looked {
    let mark = trust::mark(job.path(), auditing.now);
    if let Some(known) = auditing.memory.jobs.get(&job.number())
        && mark.as_deref() == Some(known.mark.as_str())
    {
        return Looked {
            practice: known.practice,
            line: Arc::clone(&known.line),
            wrong: Vec::new(),
            believed: true,
            mark,
            flaw: Flaw::None,
        };
    }
    Looked {
        mark,
        ..looked(shop, job, auditing.roster, auditing.report)
    }
}

/// A job by what lies there now.
pub(super) fn looked(
    shop: &Shop,
    job: &JobFolder,
    roster: &Roster,
    report: RenderReportAll<'_>,
) -> Looked {
    let number = job.number();
    let render: RenderReport<'_> = &|record, signed| report(record, signed);
    let against = Against {
        roster,
        number: Some(&number),
        report: render,
    };
    let examined = examined(job, &against);
    let practice = says_practice(job, &examined);
    let mut line = gather::line(job, &examined, (shop.policy(), roster));
    line.practice = practice;
    let broken = examined.findings.iter();
    let broken = broken.filter(|finding| finding.kind.severity() == Severity::Broken);
    let broken: Vec<&Finding> = broken.collect();
    let sentences = broken.iter().map(|finding| finding.sentence.clone());
    Looked {
        practice,
        line: Arc::new(line),
        flaw: Flaw::of(&broken),
        wrong: sentences.collect(),
        believed: false,
        mark: None,
    }
}

/// Whether a job says of itself that it is practice, in its record or, where that cannot be relied on, in
/// its journal. It is taken at its word, sound or not: an exercise is never counted as work. That hides no
/// real job: one that says so after it was signed is unsound and told as wrong, and where its signatures
/// are taken away with it, the job after it and the number with its manifest that is remembered tell.
fn says_practice(job: &JobFolder, examined: &Examined) -> bool {
    let record = examined.record.as_ref();
    if record.is_some_and(Record::is_practice) {
        return true;
    }
    let is_relied_on = record.is_some() && Status::of(&examined.findings) != Status::Unsound;
    !is_relied_on && !from_journal::practice(job).is_empty()
}

/// Verify a job of the register. One whose folder is a link, or cannot be read, is not sound; it must
/// not keep the others from being looked at.
fn examined(job: &JobFolder, against: &Against<'_>) -> Examined {
    let odd = |sentence: String| Examined {
        findings: vec![Finding::new(FindingKind::OddEntry, sentence)],
        ..Examined::default()
    };
    match std::fs::symlink_metadata(job.path()) {
        Ok(about) if about.is_dir() => {}
        _ => return odd("it is no folder of its own, but a link or a file".into()),
    }
    examine(job, against).unwrap_or_else(|fault| odd(shown(&fault.to_string())))
}
