//! `decision.json`: what the lead decided about a signed job.

use serde::{Deserialize, Serialize};

use crate::record::bundle::versions;

/// Value of `schema`.
pub const SCHEMA: &str = "evenfire.decision/1";

/// Longest decision that is read, bytes.
pub const LONGEST_FILE: u64 = 64 * 1024;

/// Accepted or returned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ruling {
    /// The job stands as it is.
    Accepted,
    /// The job must be corrected; the reason says what.
    Returned,
}

/// The decision about one of several things that were added, by its place: the first that was made since. `own` is the
/// decision that was made right after one of them.
pub fn about<'a, T, D>(
    added: &'a [T],
    place: usize,
    own: impl Fn(&'a T) -> Option<D>,
) -> Option<D> {
    added.iter().skip(place).find_map(own)
}

/// The lead's decision.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Decision {
    /// [`SCHEMA`].
    pub schema: String,
    /// Job number.
    pub job: String,
    /// Accepted or returned.
    pub decision: Ruling,
    /// Why; always there where the job is returned.
    pub reason: Option<String>,
    /// Identity of the lead, as in the roster.
    pub name: String,
    /// When, UTC, RFC 3339: the lead's word.
    pub time: String,
}

impl Decision {
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
    pub fn parse(bytes: &[u8]) -> Result<Decision, String> {
        versions::known(bytes, SCHEMA)?;
        let decision: Decision = serde_json::from_slice(bytes).map_err(|f| f.to_string())?;
        decision.sound()
    }

    /// Refuse what the form alone cannot: another schema, a return without a reason.
    ///
    /// # Errors
    /// What is refused, in a sentence.
    pub fn sound(self) -> Result<Decision, String> {
        if self.schema != SCHEMA {
            return Err(format!("its schema is {:?}, not {SCHEMA:?}", self.schema));
        }
        let said = self
            .reason
            .as_deref()
            .is_some_and(|reason| !reason.trim().is_empty());
        if self.decision == Ruling::Returned && !said {
            return Err("a job is returned with a reason; none is given".into());
        }
        Ok(self)
    }
}
