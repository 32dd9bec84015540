//! `evenfire manual`: a page of the manual for the program and for each command, from the command line's
//! own definitions.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, CommandFactory};

use super::{Arguments, Failure, say};

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
    let mut program = Arguments::command();
    program.build();
    fs_err::create_dir_all(&arguments.into)?;
    let mut written = 1;
    write(&program, "evenfire", &arguments.into)?;
    let commands = program
        .get_subcommands()
        .filter(|c| !c.is_hide_set() && c.get_name() != "help");
    for command in commands {
        let name = format!("evenfire-{}", command.get_name());
        write(command, &name, &arguments.into)?;
        written += 1;
    }
    say(&format!(
        "{written} pages in {}\n",
        arguments.into.display()
    ));
    Ok(ExitCode::SUCCESS)
}

fn write(command: &clap::Command, name: &str, into: &Path) -> Result<(), Failure> {
    let mut page = Vec::new();
    clap_mangen::Man::new(command.clone()).render(&mut page)?;
    Ok(fs_err::write(into.join(format!("{name}.1")), page)?)
}
