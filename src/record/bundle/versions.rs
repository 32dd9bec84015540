//! Versions of the forms in a bundle: `evenfire.record/1` and its like. A newer one than this program knows
//! is refused in plain words before anything else of the file is looked at; older ones are read for ever.

use serde::Deserialize;

use crate::record::bundle::manifest::shown;

#[derive(Deserialize)]
struct SchemaOnly {
    schema: String,
}

/// Refuse bytes that say a schema other than the known one; what says none is for the reader of the form.
pub(in crate::record) fn known(bytes: &[u8], schema: &str) -> Result<(), String> {
    match serde_json::from_slice::<SchemaOnly>(bytes) {
        Ok(only) if only.schema != schema => Err(refusal(&only.schema, schema)),
        _ => Ok(()),
    }
}

/// Why a form is not read.
fn refusal(found: &str, known: &str) -> String {
    let (family, _) = known.split_once('/').unwrap_or((known, ""));
    let newer = found
        .strip_prefix(family)
        .and_then(|rest| rest.strip_prefix('/'));
    let is_version = newer.is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()));
    if is_version {
        format!(
            "it is of the form {}, this program knows {known}: use the version that made it, or a newer one",
            shown(found)
        )
    } else {
        format!("its schema is {}, not {known:?}", shown(found))
    }
}
