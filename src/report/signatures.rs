//! Who signed a record, as the report shows it. Whether a signature is good is decided in `record`;
//! here is only what is printed.

use crate::record::bundle::amendment::{about, naming};
pub use crate::record::bundle::attachments::{Attachment, Picture};
use crate::record::bundle::decision;
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

    /// How an amendment stands that says it corrects a line of the record, by the line's name or by the step that filled
    /// it; nothing where none does that was not returned. One that a lead accepted stands before one that waits.
    #[must_use]
    pub fn corrects(&self, record: &Record, name: &str) -> Option<Standing> {
        let numbered = self.amendments.iter().enumerate();
        let own = numbered.filter(|(_, one)| {
            let lines = about::lines(record, &one.corrects);
            lines.iter().any(|line| line == name)
        });
        let standing = own.map(|(at, _)| self.standing(at));
        standing.filter(|one| *one != Standing::Returned).min()
    }

    /// How the amendment at a place stands: by the first decision after it.
    #[must_use]
    pub fn standing(&self, at: usize) -> Standing {
        match self.decided(at).map(|decision| decision.ruling) {
            Some(Ruling::Accepted) => Standing::Accepted,
            Some(Ruling::Returned) => Standing::Returned,
            None => Standing::Open,
        }
    }

    /// The decision about the amendment at a place.
    #[must_use]
    pub fn decided(&self, at: usize) -> Option<&Countersignature> {
        decision::about(&self.amendments, at, |one| one.countersign.as_ref())
    }

    /// That the cylinders in the result are named by what amendments correct; nothing where they correct none of it.
    #[must_use]
    pub fn outdated(&self, record: &Record) -> Option<String> {
        let texts = self.amendments.iter().map(|one| one.corrects.as_str());
        naming::outdated(record, &texts.collect::<Vec<&str>>())
    }
}

/// How an amendment stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// A lead accepted it.
    Accepted,
    /// No lead has decided on it.
    Open,
    /// A lead returned it: it corrects nothing.
    Returned,
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
