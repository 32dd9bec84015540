//! Who signed a record, as the report shows it. Whether a signature is good is decided in `record`;
//! here is only what is printed.

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
}

/// One signature. Its meaning is told by where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signature {
    /// Identity, as in the shop's roster.
    pub identity: String,
    /// When, by the signer's word (RFC 3339).
    pub time: String,
    /// Fingerprint of the key: `SHA256:…`.
    pub fingerprint: String,
}

/// What the lead decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ruling {
    /// The job stands.
    Accepted,
    /// The technician must correct it.
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
    /// What it says.
    pub reason: String,
    /// Who, when, with which key.
    pub signature: Signature,
    /// The lead's, where there is one.
    pub countersign: Option<Countersignature>,
}
