//! Times as records write them: RFC 3339, in UTC, to the second.

use chrono::{DateTime, SecondsFormat, Utc};

/// A time's text.
pub(crate) fn text(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::Secs, true)
}

/// The time that a text gives; none where it gives none.
pub(crate) fn read(text: &str) -> Option<DateTime<Utc>> {
    let time = DateTime::parse_from_rfc3339(text).ok()?;
    Some(time.to_utc())
}
