//! `amendment.json`: what an amendment says, written and read side by side.

use serde::{Deserialize, Serialize};

use crate::record::bundle::versions;

/// Value of `schema`.
pub const SCHEMA: &str = "evenfire.amendment/1";

/// What is added to a job, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Amendment {
    /// [`SCHEMA`].
    pub schema: String,
    /// Job number.
    pub job: String,
    /// Its own number, from 1.
    pub number: u32,
    /// What it corrects or completes: a step, a line of the record, a file.
    pub corrects: String,
    /// What is to be read in its place or beside it, as typed.
    pub adds: String,
    /// Why.
    pub reason: String,
    /// Identity of the technician who amends, as in the roster.
    pub name: String,
    /// When, UTC, RFC 3339: the technician's word.
    pub time: String,
    /// SHA-256 of the manifest before it, hex.
    pub previous: String,
}

impl Amendment {
    /// The bytes of the file.
    ///
    /// # Errors
    /// Where it cannot be written as JSON, which these fields always can.
    pub fn text(&self) -> serde_json::Result<String> {
        Ok(format!("{}\n", serde_json::to_string_pretty(self)?))
    }

    /// Read a file's bytes; the error is a sentence.
    ///
    /// # Errors
    /// Where it is of another form or version, or says too little, each in a sentence.
    pub fn parse(bytes: &[u8]) -> Result<Amendment, String> {
        versions::known(bytes, SCHEMA)?;
        let amendment: Amendment =
            serde_json::from_slice(bytes).map_err(|fault| fault.to_string())?;
        amendment.sound()
    }

    /// Refuse what the form alone cannot: another schema, an amendment that says nothing.
    ///
    /// # Errors
    /// What is refused, in a sentence.
    pub fn sound(self) -> Result<Amendment, String> {
        if self.schema != SCHEMA {
            return Err(format!("its schema is {:?}, not {SCHEMA:?}", self.schema));
        }
        for (text, what) in [
            (&self.corrects, "names what it corrects"),
            (&self.adds, "says what it adds"),
            (&self.reason, "gives a reason"),
        ] {
            if text.trim().is_empty() {
                return Err(format!("an amendment {what}; this one does not"));
            }
        }
        Ok(self)
    }
}
