//! `evenfire manual`: a page of the manual for the program and for each command, from the command line's
//! own definitions.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, CommandFactory};

use crate::cli::{Arguments, Failure, say};

/// Write the pages of the manual: evenfire.1 and one for each command
///
/// For yourself: evenfire manual ~/.local/share/man/man1, then man evenfire-run.
#[derive(Debug, Args)]
pub(crate) struct ManualArguments {
    /// Folder to put them in; it is made where it is missing
    #[arg(value_name = "DIR")]
    into: PathBuf,
}

pub(crate) fn run(arguments: &ManualArguments) -> Result<ExitCode, Failure> {
    let mut program = without_help(Arguments::command());
    program.build();
    fs_err::create_dir_all(&arguments.into)?;
    let written = write(&program, "evenfire", &arguments.into)?;
    say(&format!(
        "{written} pages in {}\n",
        arguments.into.display()
    ));
    Ok(ExitCode::SUCCESS)
}

/// A page of the manual is the help, so none tells of a command for it.
fn without_help(command: clap::Command) -> clap::Command {
    command
        .disable_help_subcommand(true)
        .mut_subcommands(without_help)
}

/// Write the pages of a command and of those below it, and count them.
fn write(command: &clap::Command, name: &str, into: &Path) -> Result<usize, Failure> {
    let mut page = Vec::new();
    clap_mangen::Man::new(command.clone())
        .source(format!("evenfire {}", env!("CARGO_PKG_VERSION")))
        .render(&mut page)?;
    let page = String::from_utf8(page)?.replace(".SH EXTRA\n", ".SH NOTES\n");
    fs_err::write(into.join(format!("{name}.1")), page)?;
    let mut written = 1;
    for below in command.get_subcommands().filter(|c| !c.is_hide_set()) {
        let name = format!("{name}-{}", below.get_name());
        written += write(below, &name, into)?;
    }
    Ok(written)
}
