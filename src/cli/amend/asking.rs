//! What an amendment says: given by options, asked for at a terminal, and told once more before it is signed.

use super::AmendArguments;
use crate::cli::person::Person;
use crate::cli::{Failure, fitted, say};
use crate::record::bundle::amendment::about::{self, Named, WHOLE_JOB};
use crate::record::bundle::amendment::{Adding, Attached, naming, stands_in_place};
use crate::record::bundle::manifest::shown;
use crate::record::bundle::model::Record;
use crate::record::folder::JobFolder;
use crate::text::clean;

/// What each option says, in the words of its prompt.
const TEXTS: [(&str, &str); 3] = [
    (
        "--corrects",
        "What it corrects or completes (a step, a line of the record, a file, or job: all of it)",
    ),
    ("--adds", "What is to be read in its place or beside it"),
    ("--reason", "Why"),
];

/// The texts that were given, in the order of [`TEXTS`].
fn given(arguments: &AmendArguments) -> [Option<&String>; 3] {
    [&arguments.corrects, &arguments.adds, &arguments.reason].map(Option::as_ref)
}

/// Where nobody can be asked, everything must have been given.
pub(super) fn complete(arguments: &AmendArguments) -> Result<(), Failure> {
    let mut missing = String::new();
    if arguments.job.is_none() {
        missing += "\n  JOB: the number of the job, or its folder";
    }
    for ((option, asked), given) in TEXTS.iter().zip(given(arguments)) {
        if given.is_none() {
            missing += &format!("\n  {option} TEXT: {}", asked.to_lowercase());
        }
    }
    if missing.is_empty() {
        return Ok(());
    }
    Err(format!("there is no terminal to ask at, so nothing was added; give also:{missing}").into())
}

/// Whether the person types anything of what is added, or was asked whether it is meant so.
pub(super) fn asks(arguments: &AmendArguments, (job, record): (&JobFolder, &Record)) -> bool {
    let is_exact = |text: &String| about::is_exact(record, job, text);
    arguments.job.is_none()
        || given(arguments).iter().any(Option::is_none)
        || !arguments.corrects.as_ref().is_some_and(is_exact)
}

/// What was given, and asked for the rest.
pub(super) fn adding(
    arguments: &AmendArguments,
    (job, record): (&JobFolder, &Record),
    mut person: Option<&mut Person>,
) -> Result<Adding, Failure> {
    let [corrects, adds, reason] = given(arguments);
    let [_, (_, asked_adds), (_, asked_why)] = TEXTS;
    let corrects = corrected(corrects, (job, record), person.as_deref_mut())?;
    if person.is_some() {
        say(&fitted(now(record, &about::named(record, job, &corrects))));
    }
    if let Some(told) = naming::outdated(record, &[&corrects]) {
        say(&fitted(format!("{}\n", clean(&told))));
    }
    let mut text = |given: Option<&String>, asked: &str| match (given, person.as_deref_mut()) {
        (Some(text), _) => Ok(text.clone()),
        (None, Some(person)) => person.text(asked),
        (None, None) => Err(Failure::from(format!("this must be given: {asked}"))),
    };
    let adds = loop {
        let said = text(adds, asked_adds)?;
        match stands_in_place(job, record, (&corrects, &said)) {
            Ok(()) => break said,
            Err(wrong) if adds.is_some() => return Err(wrong.into()),
            Err(wrong) => say(&fitted(format!("{wrong}\n"))),
        }
    };
    let named = |from: &std::path::PathBuf| {
        let name = from.file_name().unwrap_or_default();
        Attached {
            from: from.clone(),
            name: name.to_string_lossy().into_owned(),
        }
    };
    Ok(Adding {
        adds,
        reason: text(reason, asked_why)?,
        corrects,
        attached: arguments.attached.iter().map(named).collect(),
    })
}

/// What is corrected: something that is there, or what the person says all the same.
fn corrected(
    given: Option<&String>,
    (job, record): (&JobFolder, &Record),
    person: Option<&mut Person>,
) -> Result<String, Failure> {
    let is_there = |text: &str| about::is_exact(record, job, text);
    let Some(person) = person else {
        let text = given.cloned().unwrap_or_default();
        if is_there(&text) {
            return Ok(text);
        }
        let told = format!(
            "{} Name what is there; what is about nothing single is about the {WHOLE_JOB}: --corrects {WHOLE_JOB}",
            unknown(record, &text)
        );
        return Err(told.into());
    };
    let mut given = given.cloned();
    loop {
        let text = match given.take() {
            Some(text) => text,
            None => match person.line(&format!("{}; ? lists the lines", TEXTS[0].1))? {
                Some(text) if text != "?" => text,
                _ => {
                    say(&fitted(lines(record)));
                    continue;
                }
            },
        };
        if is_there(&text) {
            return Ok(text);
        }
        say(&fitted(format!("{}\n", unknown(record, &text))));
        if person.agrees("Take it as written?")? {
            return Ok(text);
        }
    }
}

/// The lines of the record with what they say, and those that say nothing.
fn lines(record: &Record) -> String {
    let told = record
        .lines
        .iter()
        .map(|(name, value)| (name, value.as_str()));
    let untold = record.untold.iter().map(|name| (name, "nothing"));
    let all = told.chain(untold);
    all.map(|(name, value)| format!("  {}: {}\n", clean(name), clean(value)))
        .collect()
}

/// That the record has nothing of that name, and what was probably meant.
fn unknown(record: &Record, text: &str) -> String {
    if text.trim().eq_ignore_ascii_case("outcome") {
        return format!(
            "An outcome is no line of the record; what is to be read instead of it corrects `{WHOLE_JOB}`."
        );
    }
    let meant = about::meant(record, text).map(|(name, value)| {
        let value = value.map_or_else(String::new, |value| format!(" ({})", clean(value)));
        format!("; did you mean `{}`{value}?", clean(name))
    });
    let meant = meant.unwrap_or_else(|| ".".to_owned());
    format!("The record has no {}{meant}", shown(text))
}

/// What the record says now of all that is corrected.
fn now(record: &Record, named: &[Named]) -> String {
    let told = named.iter().filter_map(|one| {
        let (Named::Line(name) | Named::Step(name)) = one else {
            return None;
        };
        let value = about::value(record, one).unwrap_or("nothing");
        Some(format!("Now {}: {}\n", clean(name), clean(value)))
    });
    told.collect()
}

/// What would be signed, in one sentence.
pub(super) fn summary(job: &JobFolder, record: &Record, adding: &Adding) -> String {
    let named = about::named(record, job, &adding.corrects);
    let was = match named.as_slice() {
        [one] => about::value(record, one),
        _ => None,
    };
    let was = was.map_or_else(String::new, |was| format!(" in place of {}", clean(was)));
    let because = clean(adding.reason.trim_end_matches('.'));
    let [corrects, adds] = [&adding.corrects, &adding.adds].map(|text| clean(text));
    let files = adding.attached.len();
    let with = match files {
        0 => String::new(),
        _ => format!(" With {}.", crate::text::counted(files as u64, "file")),
    };
    format!("{corrects}: {adds}{was}, because: {because}.{with}\n")
}
