//! Whoever is at the terminal, asked for what no option gave. Without a terminal an error names the option.

pub(crate) mod passphrase;
pub(crate) mod signing_key;
pub(crate) mod technician;

use std::io::ErrorKind;
use std::path::PathBuf;

use crate::ask::keys::{Keys, TerminalKeys};
use crate::ask::layout::whole;
use crate::cli::one_job::answering;
use crate::cli::one_job::interrupt::{Interrupted, Watch};
use crate::cli::one_job::keeping::as_typed;
use crate::cli::{Failure, fitted, say};

/// A person to ask.
pub(crate) struct Person {
    keys: TerminalKeys,
    /// What was left undone where they end the program, as a clause.
    undone: &'static str,
}

/// A prompt's last line, to type beside, after the lines before it where it is broken between words.
fn last_line(prompt: &str) -> String {
    let broken = fitted(prompt.to_owned());
    match broken.rsplit_once('\n') {
        Some((before, last)) => {
            say(&format!("{before}\n"));
            last.trim_start().to_owned()
        }
        None => broken,
    }
}

impl Person {
    /// The person at the terminal, where there is one.
    pub(crate) fn there(undone: &'static str) -> Option<Person> {
        answering::keys().map(|keys| Person { keys, undone })
    }

    /// A line; none where nothing was typed.
    pub(crate) fn line(&mut self, prompt: &str) -> Result<Option<String>, Failure> {
        self.typed(prompt, TerminalKeys::line)
    }

    /// A text, asked for until there is one.
    pub(crate) fn text(&mut self, prompt: &str) -> Result<String, Failure> {
        self.needed(|person| person.line(prompt))
    }

    /// What cannot be left out, asked for until it is there.
    pub(crate) fn needed<T>(
        &mut self,
        ask: impl Fn(&mut Person) -> Result<Option<T>, Failure>,
    ) -> Result<T, Failure> {
        loop {
            match ask(self)? {
                Some(typed) => return Ok(typed),
                None => say("This can't be left out; Ctrl-C leaves everything as it was.\n"),
            }
        }
    }

    /// A path; none where nothing was typed.
    pub(crate) fn path(&mut self, prompt: &str) -> Result<Option<PathBuf>, Failure> {
        let typed = self.typed(prompt, TerminalKeys::path)?;
        Ok(typed.as_deref().map(as_typed))
    }

    /// One of several jobs by its number, with or without its zeros; none where nothing was typed. `those` says what
    /// they have in common.
    pub(crate) fn job(
        &mut self,
        prompt: &str,
        (those, jobs): (&str, &[&str]),
    ) -> Result<Option<String>, Failure> {
        let bare = |number: &str| number.trim_start_matches('0').to_owned();
        loop {
            let Some(typed) = self.line(&format!("{prompt} (Enter: none)"))? else {
                return Ok(None);
            };
            if let Some(job) = jobs.iter().find(|job| bare(job) == bare(&typed)) {
                return Ok(Some((*job).to_owned()));
            }
            say(&fitted(format!("{those}: {}.\n", jobs.join(", "))));
        }
    }

    /// A yes or a no, asked for until it is one: Enter alone throws nothing away.
    pub(crate) fn agrees(&mut self, question: &str) -> Result<bool, Failure> {
        loop {
            let typed = self
                .line(&format!("{question} y or n"))?
                .unwrap_or_default();
            match typed.to_lowercase().as_str() {
                "y" | "yes" => return Ok(true),
                "n" | "no" => return Ok(false),
                _ => say("Type y or n.\n"),
            }
        }
    }

    /// One of several, by its number, or by its name up to a colon: which.
    pub(crate) fn one_of(&mut self, question: &str, several: &[&str]) -> Result<usize, Failure> {
        let numbered = (1..).zip(several);
        let list: String = numbered
            .map(|(number, name)| format!("  {number} {name}\n"))
            .collect();
        say(&fitted(format!("{question}\n{list}")));
        loop {
            let typed = self.line("Number")?.unwrap_or_default();
            let mut those = (1..).zip(several);
            let is_meant = |(number, name): (usize, &&str)| {
                number.to_string() == typed || name.split(':').next() == Some(typed.as_str())
            };
            if let Some(at) = those.position(is_meant) {
                return Ok(at);
            }
            let last = several.len();
            say(&format!("Type one of the numbers 1 to {last}.\n"));
        }
    }

    /// What is typed at a prompt. Ctrl-C there ends the program and says where that leaves the person.
    fn typed(
        &mut self,
        prompt: &str,
        read: fn(&mut TerminalKeys, &str) -> std::io::Result<String>,
    ) -> Result<Option<String>, Failure> {
        let left = whole(self.undone);
        let watch = Watch::begin(left.clone())?;
        let line = read(&mut self.keys, &last_line(prompt));
        watch.over();
        let line = line.map_err(|error| -> Failure {
            match error.kind() {
                ErrorKind::Interrupted => Interrupted(left).into(),
                ErrorKind::UnexpectedEof => format!("{}: the input ended", self.undone).into(),
                _ => format!("{}: {error}", self.undone).into(),
            }
        })?;
        let text = line.trim();
        Ok((!text.is_empty()).then(|| text.to_owned()))
    }
}
