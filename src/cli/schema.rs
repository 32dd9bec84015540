//! `evenfire schema`: the JSON Schemas of procedure and answers files, for editors, of the analysis's answer, and of
//! what lies in a job.

use std::process::ExitCode;

use clap::{Args, ValueEnum};

use crate::ask::script::schema as answers;
use crate::cli::{Failure, say};
use crate::procedure::schema::schema;
use crate::record::audit;
use crate::record::bundle::schema as forms;

/// Print a JSON Schema: of procedure and answers files, for editors, or of what other programs read
///
/// It completes and underlines while you write. Whether a procedure is safe only `evenfire check` says;
/// whether a job is what was signed only `evenfire verify`.
#[derive(Debug, Args)]
pub(crate) struct SchemaArguments {
    /// Of what
    #[arg(value_enum, default_value = "procedure")]
    of: Of,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Of {
    /// Procedure files
    Procedure,
    /// Answers files, for `run --answers`
    Answers,
    /// What `analyse --format json` answers
    Analysis,
    /// record.json
    Record,
    /// decision.json
    Decision,
    /// amendment.json
    Amendment,
    /// One line of journal.jsonl
    Journal,
    /// All of a job's folder, in words
    Format,
    /// The fields of the audit's lines, in words
    Audit,
}

pub(crate) fn run(arguments: &SchemaArguments) -> Result<ExitCode, Failure> {
    match arguments.of {
        Of::Procedure => say(&format!("{}\n", serde_json::to_string_pretty(&schema())?)),
        Of::Answers => say(&format!(
            "{}\n",
            serde_json::to_string_pretty(&answers::schema())?
        )),
        Of::Analysis => say(&format!(
            "{}\n",
            serde_json::to_string_pretty(&forms::analysis()?)?
        )),
        Of::Record => say(forms::RECORD),
        Of::Decision => say(forms::DECISION),
        Of::Amendment => say(forms::AMENDMENT),
        Of::Journal => say(forms::JOURNAL),
        Of::Format => say(forms::FORMAT),
        Of::Audit => say(audit::FIELDS),
    }
    Ok(ExitCode::SUCCESS)
}
