//! What `evenfire --help` shows: the commands by whom they serve.

use std::fmt::Write;

use clap::Command;

use crate::text::beside;

/// Columns of the list.
const COLUMNS: usize = 79;

/// Columns that names take.
const NAMES: usize = 15;

/// Every command, in the order in which somebody new meets them.
const GROUPS: [(&str, &[&str]); 5] = [
    ("To try and to learn", &["demo", "practise", "simulate"]),
    (
        "At the vehicle",
        &["run", "resume", "jobs", "advise", "analyse"],
    ),
    (
        "Records",
        &["sign", "countersign", "amend", "verify", "audit", "report"],
    ),
    (
        "Shop and procedures",
        &["init", "new", "check", "rehearse", "map", "diff", "schema"],
    ),
    ("Besides", &["accuracy", "completions", "manual", "help"]),
];

/// The program with its commands in groups.
pub(super) fn grouped(program: Command) -> Command {
    let header = *program.get_styles().get_header();
    let literal = *program.get_styles().get_literal();
    let mut list = String::new();
    for (title, names) in GROUPS {
        // writing to a String does not fail
        let _ = writeln!(list, "{header}{title}:{header:#}");
        for name in names {
            let about = about(&program, name);
            let about = beside(&about, COLUMNS, NAMES);
            let gap = " ".repeat(NAMES.saturating_sub(2 + name.len()));
            let _ = writeln!(list, "  {literal}{name}{literal:#}{gap}{about}");
        }
        list.push('\n');
    }
    let template = format!(
        "{{about-with-newline}}\n{{usage-heading}} {{usage}}\n\n{list}{header}Options:{header:#}\n{{options}}\n"
    );
    program.help_template(template)
}

fn about(program: &Command, name: &str) -> String {
    let command = program.find_subcommand(name);
    let about = command.and_then(|command| command.get_about());
    about.map_or_else(|| "Say more of a command".to_owned(), ToString::to_string)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use clap::CommandFactory;

    use super::*;
    use crate::cli::Arguments;

    #[test]
    fn every_command_stands_in_one_group() {
        let program = Arguments::command();
        let there: BTreeSet<&str> = program.get_subcommands().map(Command::get_name).collect();
        let told: Vec<&str> = GROUPS
            .iter()
            .flat_map(|(_, names)| *names)
            .copied()
            .collect();
        let told_of: BTreeSet<&str> = told
            .iter()
            .copied()
            .filter(|name| *name != "help")
            .collect();
        assert_eq!(told_of, there);
        assert_eq!(told.len(), there.len() + 1);
    }
}
