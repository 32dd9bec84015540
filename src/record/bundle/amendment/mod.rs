//! Amendments: what is added to a signed job, never put in place of anything (ISO/IEC 17025 clause 7.5.2).
//! Each lies in `amendments/N/` with a manifest of its own. Its names are relative to the job's folder, and
//! the manifest before it is among them, so that `sha256sum -c amendments/N/MANIFEST.sha256`, run in the
//! job's folder, checks the link as well. Who may amend and when is `amend`'s matter.

pub mod about;
mod add;
pub mod naming;
mod text;

pub use self::add::{Adding, Attached, amend, amendable, may_amend, stands, stands_in_place};
pub use self::text::{Amendment, SCHEMA};
use crate::record::folder::{self, AMENDMENTS, ATTACHMENTS};

/// Longest `amendment.json` that is read, bytes; our own choice.
pub const LONGEST_FILE: u64 = 256 * 1024;

/// Most amendments of a job; our own choice, far more than a job can bear.
pub const MOST: u32 = 999;

/// Which part of a job's folder a signature stands over: the job itself, or one of its amendments.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Layer(u32);

impl Layer {
    /// The job as it was sealed.
    pub const JOB: Layer = Layer(0);

    /// An amendment, from 1.
    #[must_use]
    pub fn amendment(number: u32) -> Layer {
        Layer(number)
    }

    /// The amendment's number; 0 for the job itself.
    #[must_use]
    pub fn number(self) -> u32 {
        self.0
    }

    /// The layer on top of this one.
    #[must_use]
    pub fn next(self) -> Layer {
        Layer(self.0 + 1)
    }

    /// The layer under this one.
    #[must_use]
    pub fn before(self) -> Option<Layer> {
        self.0.checked_sub(1).map(Layer)
    }

    /// The layer's own name for a file such as [`folder::MANIFEST`], relative to the job.
    #[must_use]
    pub fn file(self, name: &str) -> String {
        match self.0 {
            0 => name.to_owned(),
            number => format!("{AMENDMENTS}/{number}/{name}"),
        }
    }

    /// As it stands in sentences.
    #[must_use]
    pub fn shown(self) -> String {
        match self.0 {
            0 => "the job".to_owned(),
            number => format!("amendment {number}"),
        }
    }

    /// The layer that a file of the bundle belongs to, and its name there; only one spelling counts.
    #[must_use]
    pub fn of(name: &str) -> Option<(Layer, &str)> {
        let Some(rest) = name
            .strip_prefix(AMENDMENTS)
            .and_then(|rest| rest.strip_prefix('/'))
        else {
            return Some((Layer::JOB, name));
        };
        let (number, own) = rest.split_once('/')?;
        let parsed: u32 = number.parse().ok()?;
        let sound = (1..=MOST).contains(&parsed) && parsed.to_string() == number;
        sound.then_some((Layer(parsed), own))
    }

    /// Whether one of the layer's own files is one that its manifest lists.
    #[must_use]
    pub fn lists(self, own: &str) -> bool {
        if self == Layer::JOB {
            return folder::is_listed(own);
        }
        let inside = own.split_once('/').map(|(folder, _)| folder);
        own == folder::AMENDMENT || inside == Some(ATTACHMENTS)
    }

    /// Whether one of the layer's own files is made after its manifest.
    #[must_use]
    pub fn is_unlisted(self, own: &str) -> bool {
        folder::UNLISTED.contains(&own) && (self == Layer::JOB || own != folder::REPORT)
    }

    /// What the manifest of the next layer lists of this one: everything that stands over it.
    pub const CARRIED: [&'static str; 5] = [
        folder::MANIFEST,
        folder::TECHNICIAN_SIGNATURE,
        folder::DECISION,
        folder::COUNTERSIGN,
        folder::COUNTERSIGNATURE,
    ];
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_spelling_per_layer() {
        assert_eq!(Layer::of("record.json"), Some((Layer::JOB, "record.json")));
        let second = Layer::amendment(2);
        assert_eq!(
            Layer::of(&second.file("technician.sig")),
            Some((second, "technician.sig"))
        );
        for stray in [
            "amendments/0/x",
            "amendments/01/x",
            "amendments/+1/x",
            "amendments/1",
            "amendments/1000/x",
        ] {
            assert_eq!(Layer::of(stray), None, "{stray}");
        }
        assert!(second.lists("amendment.json") && second.lists("attachments/a.jpeg"));
        assert!(!second.lists("record.json") && !second.is_unlisted("report.html"));
    }
}
