//! `evenfire schema`: the JSON Schema of procedure files, for editors.

use std::process::ExitCode;

use clap::Args;

use super::{Failure, say};
use crate::procedure::schema::schema;

/// Print the JSON Schema of procedure files, for editors
///
/// It completes and underlines while you write. Whether a file is safe only `evenfire check` says.
#[derive(Debug, Args)]
pub(crate) struct SchemaArguments {}

pub(crate) fn run(_: &SchemaArguments) -> Result<ExitCode, Failure> {
    say(&format!("{}\n", serde_json::to_string_pretty(&schema())?));
    Ok(ExitCode::SUCCESS)
}
