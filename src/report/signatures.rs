//! Who signed a record, as the report shows it. Whether a signature is good is decided in `record`;
//! here is only what is printed.

use crate::record::bundle::amendment::{about, naming};
pub use crate::record::bundle::attachments::{Attachment, Picture};
pub use crate::record::bundle::decision::Ruling;
use crate::record::bundle::model::Record;
pub use crate::record::bundle::signed::Signature;

/// All signatures of a job.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Signatures {
    /// The technician's; none before the job is signed.
    pub technician: Option<Signature>,
    /// The lead's; none in a shop of one person, or before the lead has looked.
    pub countersign: Option<Countersignature>,
    /// Steps that the lead waived, in order.
    pub waivers: Vec<Waiver>,
    /// What was added after signing, in order.
    pub amendments: Vec<Amendment>,
    /// What was handed over beside the captures: signed with the job or an amendment.
    pub attachments: Vec<Attachment>,
}

impl Signatures {
    /// The decision that counts for the whole job: that about what was added last.
    #[must_use]
    pub fn decision(&self) -> Option<&Countersignature> {
        match self.amendments.last() {
            Some(last) => last.countersign.as_ref(),
            None => self.countersign.as_ref(),
        }
    }

    /// Whether an amendment says that it corrects a line of the record: by the line's name, or by the step that
    /// filled it.
    #[must_use]
    pub fn corrects(&self, record: &Record, name: &str) -> bool {
        let mut texts = self.amendments.iter().map(|one| &one.corrects);
        texts.any(|text| about::lines(record, text).iter().any(|line| line == name))
    }

    /// That the cylinders in the result are named by what amendments correct; nothing where they correct none of it.
    #[must_use]
    pub fn outdated(&self, record: &Record) -> Option<String> {
        let texts = self.amendments.iter().map(|one| one.corrects.as_str());
        naming::outdated(record, &texts.collect::<Vec<&str>>())
    }
}

/// The lead's signature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Countersignature {
    /// Who, when, with which key.
    pub signature: Signature,
    /// What was decided.
    pub ruling: Ruling,
    /// Why, where that was said.
    pub reason: Option<String>,
}

/// A step that need not be done, on the lead's word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waiver {
    /// Its number: `waivers/N.txt`.
    pub number: u32,
    /// The step.
    pub step: String,
    /// Why.
    pub reason: String,
    /// Who, when, with which key.
    pub signature: Signature,
}

/// Something added after signing; it replaces nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Amendment {
    /// Its number: `amendments/N`.
    pub number: u32,
    /// What it corrects or completes.
    pub corrects: String,
    /// What it says: what it corrects, what is to be read instead, and why.
    pub says: String,
    /// Who, when, with which key.
    pub signature: Signature,
    /// The lead's, where there is one.
    pub countersign: Option<Countersignature>,
}
