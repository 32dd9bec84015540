//! What `verify` can find, and what that means for the whole.

/// What a finding means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing; nothing is wrong.
    Remark,
    /// The report is not the one that these files give; the files themselves are sound.
    Report,
    /// Something is still to be done: seal, sign, countersign, correct.
    Open,
    /// The bundle is not what was signed, or was not signed by whom it should.
    Broken,
}

/// The outcome of a verification; the number is the program's exit status.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum Status {
    /// All holds; signed, and countersigned where the shop has somebody who could.
    Sound = 0,
    /// At least one finding is [`Severity::Broken`]. (2 is kept for commands that could not be done.)
    Unsound = 1,
    /// Sound, but the report is missing or is not the one that the files give.
    ReportStale = 3,
    /// Sound so far, but not sealed, not signed, not countersigned, or returned by the lead.
    Open = 4,
}

/// Everything that can be found: a closed list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FindingKind {
    /// The job has not ended.
    NotSealed,
    /// There is no manifest, but something that stands under one.
    ManifestMissing,
    /// A manifest is not of the one form.
    ManifestMalformed,
    /// A listed file is missing.
    FileMissing,
    /// A listed file is not the one that was listed.
    FileChanged,
    /// A file that nothing lists.
    FileUnlisted,
    /// The same, by its name a file manager's or an editor's.
    FileLeftBehind,
    /// A link, a device, a name that leads elsewhere, or too much of something.
    OddEntry,
    /// A file that a manifest must list and does not.
    NotListed,
    /// A file that cannot be read, or is far too long.
    Unreadable,
    /// The record is of a newer form than this program knows.
    RecordTooNew,
    /// The record says something else than the journal or the files beside it.
    RecordDisagrees,
    /// The bundle lies under another job's number.
    WrongPlace,
    /// The journal's chain does not hold, or it does not end as a sealed job's must.
    JournalBroken,
    /// The technician has not signed.
    NotSigned,
    /// The technician has not signed an exercise, which needs no signature.
    ExerciseUnsigned,
    /// A signature is not of the one form, or does not fit.
    SignatureBroken,
    /// The roster does not let the signer sign that.
    SignerRefused,
    /// It was signed with a key that is revoked.
    KeyRevoked,
    /// A practice key under a job that counts.
    PracticeKey,
    /// The lead has not signed.
    NotCountersigned,
    /// Nobody in the roster but the technician could countersign.
    OneSignature,
    /// The lead returned the job.
    Returned,
    /// Parts of a countersignature without the rest.
    CountersignIncomplete,
    /// The decision is not of the one form, or is another job's.
    DecisionUnreadable,
    /// Technician and lead are one person or have one key.
    SamePerson,
    /// Times that cannot follow each other, or are none.
    TimesDisagree,
    /// There is no report.
    ReportMissing,
    /// The report is not the one that the files give: changed, or made by another version.
    ReportDiffers,
    /// The job is practice.
    Practice,
    /// Something was added to the signed job.
    Amended,
    /// An amendment that is not whole, or one that is missing before another.
    AmendmentIncomplete,
    /// An amendment that is not of the one form, or belongs to something else.
    AmendmentUnreadable,
    /// A waiver's file that is not of the one form.
    WaiverUnreadable,
    /// Something among the waivers that is none.
    WaiverIncomplete,
    /// A waiver without its signature, or a signature without its waiver: it waives nothing.
    WaiverUnsigned,
    /// A waiver of another job, or of a moment that the journal does not know; or a step waived without one.
    WaiverDisagrees,
    /// A step that was waived as it should be.
    Waived,
    /// A waiver of a step that was done all the same.
    WaiverUnused,
}

impl FindingKind {
    /// Its name for other programs.
    #[must_use]
    pub fn name(self) -> &'static str {
        use FindingKind as Kind;
        match self {
            Kind::NotSealed => "not_sealed",
            Kind::ManifestMissing => "manifest_missing",
            Kind::ManifestMalformed => "manifest_malformed",
            Kind::FileMissing => "file_missing",
            Kind::FileChanged => "file_changed",
            Kind::FileUnlisted => "file_unlisted",
            Kind::FileLeftBehind => "file_left_behind",
            Kind::OddEntry => "odd_entry",
            Kind::NotListed => "not_listed",
            Kind::Unreadable => "unreadable",
            Kind::RecordTooNew => "record_too_new",
            Kind::RecordDisagrees => "record_disagrees",
            Kind::WrongPlace => "wrong_place",
            Kind::JournalBroken => "journal_broken",
            Kind::NotSigned => "not_signed",
            Kind::ExerciseUnsigned => "exercise_unsigned",
            Kind::SignatureBroken => "signature_broken",
            Kind::SignerRefused => "signer_refused",
            Kind::KeyRevoked => "key_revoked",
            Kind::PracticeKey => "practice_key",
            Kind::NotCountersigned => "not_countersigned",
            Kind::OneSignature => "one_signature",
            Kind::Returned => "returned",
            Kind::CountersignIncomplete => "countersign_incomplete",
            Kind::DecisionUnreadable => "decision_unreadable",
            Kind::SamePerson => "same_person",
            Kind::TimesDisagree => "times_disagree",
            Kind::ReportMissing => "report_missing",
            Kind::ReportDiffers => "report_differs",
            Kind::Practice => "practice",
            Kind::Amended => "amended",
            Kind::AmendmentIncomplete => "amendment_incomplete",
            Kind::AmendmentUnreadable => "amendment_unreadable",
            Kind::WaiverUnreadable => "waiver_unreadable",
            Kind::WaiverIncomplete => "waiver_incomplete",
            Kind::WaiverUnsigned => "waiver_unsigned",
            Kind::WaiverDisagrees => "waiver_disagrees",
            Kind::Waived => "waived",
            Kind::WaiverUnused => "waiver_unused",
        }
    }

    /// What it means.
    #[must_use]
    pub fn severity(self) -> Severity {
        use FindingKind as Kind;
        match self {
            Kind::OneSignature
            | Kind::Practice
            | Kind::ExerciseUnsigned
            | Kind::Amended
            | Kind::Waived
            | Kind::WaiverUnused
            | Kind::WaiverUnsigned => Severity::Remark,
            Kind::ReportMissing | Kind::ReportDiffers => Severity::Report,
            Kind::NotSealed | Kind::NotSigned | Kind::NotCountersigned | Kind::Returned => {
                Severity::Open
            }
            _ => Severity::Broken,
        }
    }
}

/// One finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What kind.
    pub kind: FindingKind,
    /// What was found, in a sentence; text from the bundle in it is made tame.
    pub sentence: String,
}

impl Finding {
    /// A finding.
    pub(in crate::record) fn new(kind: FindingKind, sentence: impl Into<String>) -> Finding {
        Finding {
            kind,
            sentence: tame(&sentence.into()),
        }
    }
}

/// A sentence as a terminal may get it. Texts from the bundle are shown tamely where they are put in; what
/// readers of other formats quote in their errors comes past here only.
fn tame(sentence: &str) -> String {
    let mut tame = String::with_capacity(sentence.len());
    for c in sentence.chars() {
        if crate::text::steers(c) {
            tame.extend(c.escape_unicode());
        } else {
            tame.push(c);
        }
    }
    tame
}

impl Status {
    /// What findings come to.
    #[must_use]
    pub fn of(findings: &[Finding]) -> Status {
        let worst = findings.iter().map(|finding| finding.kind.severity()).max();
        match worst {
            None | Some(Severity::Remark) => Status::Sound,
            Some(Severity::Report) => Status::ReportStale,
            Some(Severity::Open) => Status::Open,
            Some(Severity::Broken) => Status::Unsound,
        }
    }
}
