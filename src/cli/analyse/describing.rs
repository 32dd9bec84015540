//! `evenfire analyse --describe`: how a capture is understood, shown before anything is made of it.

use std::io::Write;
use std::process::ExitCode;

use comfy_table::presets::NOTHING;
use comfy_table::{ContentArrangement, Table};

use crate::capture::describe::{Description, describe};
use crate::capture::propose::Proposal;
use crate::capture::understood::{Column, Understood, short};
use crate::cli::Failure;
use crate::cli::analyse::AnalyseArguments;
use crate::cli::captures::{self, SETUP};
use crate::cli::format::Format;
use crate::text::steers;

pub(super) fn run(arguments: &AnalyseArguments) -> Result<ExitCode, Failure> {
    let file = captures::open(&arguments.capture)?;
    let named = arguments.setup.as_deref();
    let has_setup = named.is_some() || captures::beside(&arguments.capture, SETUP).exists();
    let setup = has_setup
        .then(|| -> Result<_, Failure> { Ok(arguments.by()?.setup(&arguments.capture)?) })
        .transpose()?;
    let shown = arguments.capture.display().to_string();
    let description = describe(file, &shown, setup.as_ref())?;
    let mut out = std::io::stdout().lock();
    match arguments.format {
        Format::Json => writeln!(out, "{}", serde_json::to_string_pretty(&description)?)?,
        Format::Text => write!(out, "{}", text(&description, setup.is_some()))?,
    }
    Ok(ExitCode::SUCCESS)
}

fn text(description: &Description, has_setup: bool) -> String {
    let understood = &description.understood;
    let mut lines = account(understood, Some(&description.proposals));
    lines.push(String::new());
    for proposal in &description.proposals {
        lines.push(format!("Column {}: {}.", proposal.column, proposal.because));
    }
    lines.extend(notes(understood));
    if !has_setup {
        lines.push(String::new());
        lines.extend(proposed_setup(description));
    }
    lines.iter().map(|line| printable(line) + "\n").collect()
}

/// What was understood, as it stands before a result.
pub(super) fn before_use(understood: &Understood) -> String {
    let mut lines = account(understood, None);
    lines.extend(notes(understood));
    lines.push(String::new());
    lines.iter().map(|line| printable(line) + "\n").collect()
}

/// The file, its time and its columns; with proposals, what each column looks like.
fn account(understood: &Understood, proposals: Option<&[Proposal]>) -> Vec<String> {
    let mut lines = vec![understood.table(), understood.time_line(), String::new()];
    let mut header = vec!["", "Column", "Unit", "From", "To", "Beyond", "Channel"];
    header.extend(proposals.map(|_| "Looks like"));
    let mut table = Table::new();
    table
        .load_style(NOTHING)
        .set_content_arrangement(ContentArrangement::Disabled)
        .set_header(header);
    for (at, column) in understood.columns.iter().enumerate() {
        let mut cells = row(column);
        cells.extend(proposals.map(|all| {
            let looks = all.get(at).and_then(|proposal| proposal.channel.clone());
            looks.unwrap_or_else(|| "none of them".to_owned())
        }));
        table.add_row(cells);
    }
    let table = table.to_string();
    lines.extend(table.lines().map(|line| line.trim_end().to_owned()));
    lines
}

fn notes(understood: &Understood) -> Vec<String> {
    let notes = understood.remarks.iter();
    let notes = notes.map(|remark| format!("Note: {remark}."));
    let space = (!understood.remarks.is_empty()).then(String::new);
    space.into_iter().chain(notes).collect()
}

/// A heading must not act on the terminal.
fn printable(line: &str) -> String {
    line.chars()
        .map(|c| {
            if steers(c) {
                char::REPLACEMENT_CHARACTER
            } else {
                c
            }
        })
        .collect()
}

fn row(column: &Column) -> Vec<String> {
    let number = |value: Option<f64>| value.map(short).unwrap_or_default();
    let beyond = match column.over_range {
        0 => String::new(),
        count => count.to_string(),
    };
    vec![
        column.number.to_string(),
        column.heading.clone(),
        column.unit.clone().unwrap_or_default(),
        number(column.least),
        number(column.greatest),
        beyond,
        column.channels.join(", "),
    ]
}

/// What a set-up would say of the channels, to be checked and completed by a person.
fn proposed_setup(description: &Description) -> Vec<String> {
    let mut lines = vec![
        "A set-up may say this; check it, and put the engine before it:".to_owned(),
        String::new(),
        "channels:".to_owned(),
    ];
    let mut seen: Vec<&str> = Vec::new();
    for proposal in &description.proposals {
        let Some(channel) = proposal.channel.as_deref().filter(|c| !seen.contains(c)) else {
            continue;
        };
        seen.push(channel);
        lines.push(format!("  {channel}:"));
        lines.push(format!("    column: {:?}", proposal.heading));
        lines.extend(proposal.keys.iter().map(|key| format!("    {key}")));
    }
    if seen.is_empty() {
        return vec![
            "No column looks like a channel that relative compression can be read from.".to_owned(),
        ];
    }
    lines
}
