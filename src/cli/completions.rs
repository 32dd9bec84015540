//! `evenfire completions`: what a shell completes, from the command line's own definitions.

use std::process::ExitCode;

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use crate::cli::{Arguments, Failure, say};

/// Print the completions of a shell
///
/// For bash: evenfire completions bash > ~/.local/share/bash-completion/completions/evenfire
#[derive(Debug, Args)]
pub(crate) struct CompletionsArguments {
    /// The shell
    shell: Shell,
}

pub(crate) fn run(arguments: &CompletionsArguments) -> Result<ExitCode, Failure> {
    let mut script = Vec::new();
    let mut command = Arguments::command();
    clap_complete::generate(arguments.shell, &mut command, "evenfire", &mut script);
    say(&String::from_utf8(script)?);
    Ok(ExitCode::SUCCESS)
}
