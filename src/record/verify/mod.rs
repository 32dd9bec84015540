//! Whether a job's folder is what was signed, and by whom it should. Bytes are taken as they lie on
//! disk; every bundle is a stranger's until all of it has been looked at. Who may sign is the shop's
//! roster's word, never the bundle's.

mod amendments;
mod contents;
mod finding;
pub(super) mod journal;
mod signatures;
mod waivers;

pub use self::finding::{Finding, FindingKind, Severity, Status};
pub(super) use self::signatures::{Over, countersign_text};
use crate::record::bundle::inventory::{self, Inventory};
use crate::record::bundle::manifest::{Manifest, shown};
use crate::record::bundle::model::Record;
use crate::record::bundle::signed::{self, Signed};
use crate::record::digest;
use crate::record::error::RecordError;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::roster::Roster;
use crate::run::journal::line::Line;

/// Longest report that is read, bytes.
const LONGEST_REPORT: u64 = 64 * 1024 * 1024;

/// Renders the report that belongs to a record and its signatures.
pub type RenderReport<'a> = &'a dyn Fn(&Record, &Signed) -> String;

/// What a bundle is held against.
#[derive(Clone, Copy)]
pub struct Against<'a> {
    /// Who may sign.
    pub roster: &'a Roster,
    /// The number under which the bundle lies in its shop; none where it lies elsewhere.
    pub number: Option<&'a str>,
    /// How a report is made.
    pub report: RenderReport<'a>,
}

/// A bundle while it is looked at.
struct Bundle<'a> {
    job: &'a JobFolder,
    inventory: Inventory,
    findings: Vec<Finding>,
}

/// What a bundle was found to hold; what is missing has a finding.
#[derive(Default)]
struct Contents {
    /// Bytes of the manifest.
    manifest: Vec<u8>,
    record: Option<Record>,
}

/// Verify a job's folder: everything that is found, in the order in which it was looked at.
///
/// # Errors
/// Where the folder itself cannot be read.
pub fn verify(job: &JobFolder, against: &Against<'_>) -> Result<Vec<Finding>, RecordError> {
    Ok(examine(job, against)?.findings)
}

/// What a verification found, and the record and manifest that it read on the way: who needs both
/// reads every file once.
#[derive(Debug, Default)]
pub(super) struct Examined {
    pub findings: Vec<Finding>,
    /// Bytes of the manifest; empty where there is none.
    pub manifest: Vec<u8>,
    pub record: Option<Record>,
}

/// Verify, and keep what was read.
pub(super) fn examine(job: &JobFolder, against: &Against<'_>) -> Result<Examined, RecordError> {
    let mut bundle = Bundle::open(job)?;
    let contents = contents::check(&mut bundle, against).unwrap_or_default();
    if let Some(record) = &contents.record {
        waivers::check(&mut bundle, against.roster, record);
        signatures::check(&mut bundle, against.roster, record, &contents.manifest);
        if !bundle.is_broken() {
            report(&mut bundle, against.report, record);
        }
    }
    Ok(Examined {
        findings: bundle.findings,
        manifest: contents.manifest,
        record: contents.record,
    })
}

/// The record and the manifest's bytes of a sealed job whose files are what its manifest lists; what
/// is to be signed is looked at first.
pub(super) fn sound_contents(
    job: &JobFolder,
    against: &Against<'_>,
) -> Result<(Record, Vec<u8>), RecordError> {
    let mut bundle = Bundle::open(job)?;
    let contents = contents::check(&mut bundle, against).unwrap_or_default();
    if let Some(record) = &contents.record {
        waivers::check(&mut bundle, against.roster, record);
    }
    let worst = bundle
        .findings
        .iter()
        .max_by_key(|found| found.kind.severity());
    match (contents.record, worst) {
        (Some(record), found) if found.is_none_or(|f| f.kind.severity() < Severity::Open) => {
            Ok((record, contents.manifest))
        }
        (_, found) => Err(hindered(job, found)),
    }
}

/// Record, layer on top and what is signed so far of a job that holds and that its technician has signed:
/// looked at before anything is signed over it.
pub(super) fn sound_layers(
    job: &JobFolder,
    against: &Against<'_>,
) -> Result<(Record, Over), RecordError> {
    let mut bundle = Bundle::open(job)?;
    let contents = contents::check(&mut bundle, against).unwrap_or_default();
    let over = contents.record.as_ref().map(|record| {
        waivers::check(&mut bundle, against.roster, record);
        signatures::check(&mut bundle, against.roster, record, &contents.manifest)
    });
    let hinders = |found: &&Finding| {
        let kind = found.kind;
        let unsigned = [
            FindingKind::NotSealed,
            FindingKind::NotSigned,
            FindingKind::ExerciseUnsigned,
        ];
        kind.severity() == Severity::Broken || unsigned.contains(&kind)
    };
    match (contents.record, over, bundle.findings.iter().find(hinders)) {
        (Some(record), Some(over), None) => Ok((record, over)),
        (_, _, found) => Err(hindered(job, found)),
    }
}

/// What keeps a job from being signed.
fn hindered(job: &JobFolder, found: Option<&Finding>) -> RecordError {
    let why = found.map_or_else(String::new, |found| found.sentence.clone());
    RecordError::refused(job.path(), why)
}

fn report(bundle: &mut Bundle<'_>, render: RenderReport<'_>, record: &Record) {
    if !bundle.has(folder::REPORT) {
        let told =
            "report.html is missing; it is derived from the other files and can be made again";
        return bundle.found(FindingKind::ReportMissing, told);
    }
    let Ok(signed) = Signed::read(bundle.job, record) else {
        return;
    };
    let Some(bytes) = bundle.read(folder::REPORT, LONGEST_REPORT) else {
        return;
    };
    if bytes != render(record, &signed).as_bytes() {
        let told = "report.html is not the one that the signed files give: it was changed, or made \
                    by another version of the program";
        bundle.found(FindingKind::ReportDiffers, told);
    }
}

impl<'a> Bundle<'a> {
    fn open(job: &'a JobFolder) -> Result<Bundle<'a>, RecordError> {
        Ok(Bundle {
            job,
            inventory: inventory::take(job.path())?,
            findings: Vec::new(),
        })
    }

    fn found(&mut self, kind: FindingKind, sentence: impl Into<String>) {
        self.findings.push(Finding::new(kind, sentence));
    }

    /// Whether there is a plain file of that name.
    fn has(&self, name: &str) -> bool {
        self.inventory.files.contains_key(name)
    }

    /// Names of the plain files in one of its folders.
    fn names_in(&self, folder: &str) -> Vec<String> {
        let inside = |name: &&String| {
            name.split_once('/')
                .is_some_and(|(first, _)| first == folder)
        };
        self.inventory
            .files
            .keys()
            .filter(inside)
            .cloned()
            .collect()
    }

    /// The journal's lines; none where it does not hold, which has a finding of its own.
    fn journal_lines(&self) -> Vec<Line> {
        let file = self.job.file(folder::JOURNAL);
        let bytes = signed::read_short(&file, folder::LONGEST_TEXT).unwrap_or_default();
        crate::run::journal::line::read(&bytes).map_or_else(|_| Vec::new(), |reading| reading.lines)
    }

    fn is_broken(&self) -> bool {
        Status::of(&self.findings) == Status::Unsound
    }

    /// Read a plain file; what hinders is found.
    fn read(&mut self, name: &str, longest: u64) -> Option<Vec<u8>> {
        match signed::read_short(&self.job.file(name), longest) {
            Ok(bytes) => Some(bytes),
            Err(fault) => {
                self.found(FindingKind::Unreadable, fault.to_string());
                None
            }
        }
    }

    /// Read and check a manifest.
    fn manifest(&mut self, name: &str, bytes: &[u8]) -> Option<Manifest> {
        match Manifest::parse(bytes) {
            Ok(manifest) => Some(manifest),
            Err(fault) => {
                self.found(FindingKind::ManifestMalformed, format!("{name}: {fault}"));
                None
            }
        }
    }

    /// Compare listed digests with those of the files.
    fn compare(&mut self, list: &str, manifest: &Manifest) {
        for line in manifest.lines() {
            self.compare_one((list, manifest), &line.name, &line.sha256);
        }
    }

    fn compare_one(&mut self, (list, manifest): (&str, &Manifest), name: &str, sha256: &str) {
        let name_shown = shown(name);
        match self.inventory.files.get(name) {
            None => {
                let told = format!("{name_shown} is listed in {list} and is not there");
                self.found(FindingKind::FileMissing, told);
            }
            Some(length) if *length > contents::LONGEST_LISTED => {
                let told = format!("{name_shown} is too long to be looked at ({length} bytes)");
                self.found(FindingKind::Unreadable, told);
            }
            Some(_) => match digest::of_file(&self.job.file(name)) {
                Ok(found) if found == sha256 => {}
                Ok(found) => {
                    let mut lines = manifest.lines().iter();
                    let other = lines.find(|line| line.sha256 == found);
                    let other = other.map_or_else(String::new, |other| {
                        format!("; what lies there is listed as {}", shown(&other.name))
                    });
                    let told = format!("{name_shown} is not the file that {list} lists{other}");
                    self.found(FindingKind::FileChanged, told);
                }
                Err(fault) => self.found(FindingKind::Unreadable, fault.to_string()),
            },
        }
    }
}
