//! Answers from a file, on the same path as a person's. Every step is printed as it is answered, and
//! nothing is guessed: an answer to another step than the one asked stops with both names.

mod read;
pub mod schema;

pub(crate) use read::EntryFields;
pub use read::{Answers, Entry, Given, answers};

use std::io::Write;
use std::path::Path;

use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};

use crate::ask::layout::{Layout, ShowResult};
use crate::ask::terminal::Clock;
use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, Screen};
use crate::run::starter::{RestDue, Rested};

/// Answers from a file.
pub struct Script<W> {
    answers: Answers,
    next: usize,
    time: Time,
    out: W,
    layout: Layout,
    show: ShowResult,
}

enum Time {
    Simulated { now: DateTime<Utc>, step: TimeDelta },
    Real(Clock),
}

impl<W: Write> Script<W> {
    /// Answer from a file's answers, printing to `out`. `clock` is used where the file has none of its
    /// own; `after` is the time of the job's last event, where it has any: the simulated clock goes on
    /// from there, never back.
    pub fn new(
        answers: Answers,
        out: W,
        layout: Layout,
        clock: Clock,
        after: Option<&str>,
        show: ShowResult,
    ) -> Self {
        let step = TimeDelta::seconds(answers.seconds_per_answer);
        let after = after.and_then(|text| DateTime::parse_from_rfc3339(text).ok());
        let time = match answers.clock {
            Some(start) => Time::Simulated {
                now: after.map_or(start, |after| start.max(after.to_utc() + step)),
                step,
            },
            None => Time::Real(clock),
        };
        Script {
            answers,
            next: 0,
            time,
            out,
            layout,
            show,
        }
    }

    /// Entries that were not needed.
    #[must_use]
    pub fn left(&self) -> &[Entry] {
        &self.answers.entries[self.next..]
    }

    fn print(&mut self, text: &str) -> Result<(), NoAnswer> {
        let written = self.out.write_all(text.as_bytes());
        written
            .and_then(|()| self.out.flush())
            .map_err(|error| NoAnswer::Broken(error.to_string()))
    }

    fn at(&self, entry: &Entry) -> String {
        format!("{}:{}:{}", self.answers.file, entry.line, entry.column)
    }

    /// The answer before was not taken.
    fn refused(&mut self, screen: &Screen, refusal: &Refusal) -> Result<(), NoAnswer> {
        if refusal.is_asked_twice() {
            let text = self.layout.refusal(&refusal.to_string());
            return self.print(&text); // the entry that follows must give it once more
        }
        let place = match self.next.checked_sub(1) {
            Some(before) => self.at(&self.answers.entries[before]),
            None => self.answers.file.clone(),
        };
        let step = &screen.step;
        Err(NoAnswer::Script(format!(
            "{place}: step {step:?}: {refusal}"
        )))
    }

    /// The next entry, which must be for this step.
    fn entry(&self, screen: &Screen) -> Result<Entry, NoAnswer> {
        let Some(entry) = self.answers.entries.get(self.next) else {
            return Err(NoAnswer::Ended {
                file: self.answers.file.clone(),
                step: screen.step.clone(),
            });
        };
        if entry.step == screen.step {
            return Ok(entry.clone());
        }
        let why = match &screen.again_for {
            Some(condition) => format!(" (once more, for {condition:?})"),
            None => String::new(),
        };
        Err(NoAnswer::Script(format!(
            "{}: the answer is for step {:?}, but step {:?} is asked{why}; put an answer to it before this line",
            self.at(entry),
            entry.step,
            screen.step
        )))
    }

    fn reply(&self, entry: &Entry, form: &Form) -> Result<(String, Reply), NoAnswer> {
        let text = match &entry.given {
            Given::Cranked(reason) => {
                let shown = format!("cranked without a capture: {reason}");
                return Ok((shown, Reply::Cranked(reason.clone())));
            }
            Given::Note(text) => return Ok((format!("note: {text}"), Reply::Note(text.clone()))),
            Given::Stop(why) => return Ok((format!("stop: {why}"), Reply::Stop(why.clone()))),
            Given::Attach(path) => {
                return Ok((format!("file: {path}"), Reply::Attach(self.beside(path))));
            }
            Given::Waive(why) => {
                let key = entry.key.as_deref().map(|key| self.beside(key));
                let (reason, key) = (why.clone(), key.unwrap_or_default());
                return Ok((format!("waived: {why}"), Reply::Waive { reason, key }));
            }
            Given::Back => return Ok(("back".to_owned(), Reply::Back)),
            Given::Pause => return Ok(("pause".to_owned(), Reply::Pause)),
            Given::Answer(text) => text,
        };
        let reply = match form {
            Form::Confirm | Form::PutBack | Form::Trouble => match text.as_str() {
                "yes" | "y" | "true" => Reply::Yes,
                "no" | "n" | "false" => Reply::No,
                _ => {
                    let place = self.at(entry);
                    let why = format!(
                        "{place}: step {:?} is answered yes or no, not {text:?}",
                        entry.step
                    );
                    return Err(NoAnswer::Script(why));
                }
            },
            Form::Choose(choices) => {
                let choice = choices.iter().find(|choice| choice.name == *text);
                let label = choice.map_or(text, |choice| &choice.label);
                return Ok((label.clone(), Reply::Choice(text.clone())));
            }
            Form::Number(_) | Form::Text(_) => Reply::Typed(text.clone()),
            Form::Capture(_) => Reply::File(self.beside(text)),
        };
        Ok((text.clone(), reply))
    }

    /// A path as seen from the answers file.
    fn beside(&self, path: &str) -> String {
        let folder = Path::new(&self.answers.file).parent();
        let path = folder.map_or_else(|| Path::new(path).to_owned(), |folder| folder.join(path));
        path.to_string_lossy().into_owned()
    }
}

impl<W: Write> Asker for Script<W> {
    fn ask(&mut self, screen: &Screen, refused: Option<&Refusal>) -> Result<Reply, NoAnswer> {
        if let Some(refusal) = refused {
            self.refused(screen, refusal)?;
        } else {
            let text = self.layout.screen(screen);
            self.print(&text)?;
        }
        let entry = match self.entry(screen) {
            Ok(entry) => entry,
            Err(why) if screen.form == Form::Trouble => {
                let message = screen.action.clone().unwrap_or_default();
                return Err(NoAnswer::Script(format!("{message} ({why})")));
            }
            Err(why) => return Err(why),
        };
        let (shown, reply) = self.reply(&entry, &screen.form)?;
        self.next += 1;
        if let Time::Simulated { now, step } = &mut self.time {
            *now += *step;
        }
        let text = self.layout.sentence(&format!("→ {shown}"));
        self.print(&text)?;
        Ok(reply)
    }

    fn tell(&mut self, told: &Told<'_>) -> Result<(), NoAnswer> {
        let text = self.layout.told(told, &self.show);
        self.print(&text)
    }

    fn rest(&mut self, due: &RestDue) -> Result<Rested, NoAnswer> {
        if let Time::Simulated { now, .. } = &mut self.time {
            *now += TimeDelta::seconds(i64::from(due.seconds));
            let text = self.layout.sentence(&due.told());
            self.print(&text)?;
        }
        Ok(Rested::Whole)
    }

    fn now(&mut self) -> String {
        match &mut self.time {
            Time::Simulated { now, .. } => now.to_rfc3339_opts(SecondsFormat::Secs, true),
            Time::Real(clock) => clock(),
        }
    }
}

#[cfg(test)]
mod tests;
