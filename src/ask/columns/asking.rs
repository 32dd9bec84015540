//! One question of columns: asked until its answer can be read, explained by `?`, left by a colon.

use std::io;

use crate::ask::keys::Keys;
use crate::ask::layout::Layout;
use crate::run::keeper::Headings;

pub(super) struct Asked<'a, K> {
    pub(super) keys: &'a mut K,
    pub(super) layout: Layout,
    pub(super) headings: &'a Headings,
}

/// A question of several answers.
pub(super) struct Choice<'c> {
    pub(super) asked: &'c str,
    pub(super) help: &'c str,
    pub(super) labels: &'c [String],
    /// What Enter alone takes; none where nothing may be taken without a look.
    pub(super) usual: Option<usize>,
}

/// A question whose answer is typed.
pub(super) struct Typed<'t> {
    pub(super) asked: &'t str,
    pub(super) help: &'t str,
    /// What Enter alone stands for; none where it stands for nothing.
    pub(super) nothing: Option<&'t str>,
    /// What is said of an answer that cannot stand.
    pub(super) wanted: &'t str,
}

/// Why a typed text cannot be read, where that is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Unread(pub(super) Option<String>);

impl<K: Keys> Asked<'_, K> {
    /// One of these by its number; none where the questions are left.
    pub(super) fn choose(&mut self, choice: &Choice<'_>) -> io::Result<Option<usize>> {
        let numbered = (1..).zip(choice.labels);
        let lines: Vec<String> = numbered
            .map(|(at, label)| format!("{at:>2}  {label}"))
            .collect();
        self.say(&format!("{}\n{}", choice.asked, lines.join("\n")))?;
        let prompt = match choice.usual {
            Some(at) => format!("Number (Enter: {})", at + 1),
            None => "Number".to_owned(),
        };
        let wanted = format!("Type a number from 1 to {}.", choice.labels.len());
        let read = |text: &str| {
            let number = text.parse::<usize>().unwrap_or(0);
            let is_there = (1..=choice.labels.len()).contains(&number);
            is_there.then(|| number - 1).ok_or_else(|| wanted.clone())
        };
        self.answer(&prompt, choice.help, &|text| match text {
            "" => choice.usual.ok_or_else(|| wanted.clone()),
            text => read(text),
        })
    }

    /// A typed value; the inner none where nothing is typed and that is an answer; the outer where the questions
    /// are left. `read` says why a text cannot be read, where more is known than what is wanted.
    pub(super) fn typed<T>(
        &mut self,
        typed: &Typed<'_>,
        read: impl Fn(&str) -> Result<T, Unread>,
    ) -> io::Result<Option<Option<T>>> {
        self.say(typed.asked)?;
        let prompt = match typed.nothing {
            Some(nothing) => format!("Answer (Enter: {nothing})"),
            None => "Answer".to_owned(),
        };
        let wanted = || typed.wanted.to_owned();
        self.answer(&prompt, typed.help, &|text| match text {
            "" => typed.nothing.map(|_| None).ok_or_else(wanted),
            text => read(text).map(Some).map_err(|Unread(why)| match why {
                Some(why) => format!("{why} {}", typed.wanted),
                None => wanted(),
            }),
        })
    }

    /// Ask until an answer can be read; none where the questions are left.
    fn answer<T>(
        &mut self,
        prompt: &str,
        help: &str,
        read: &dyn Fn(&str) -> Result<T, String>,
    ) -> io::Result<Option<T>> {
        let mut complained = false;
        self.keys.mark();
        loop {
            let line = self.keys.line(prompt)?;
            let text = line.trim();
            if text == ":" {
                return Ok(None);
            }
            if text == "?" {
                self.say(help)?;
                complained = false;
                self.keys.mark();
                continue;
            }
            let wanted = match read(text) {
                Ok(value) => {
                    // once it is answered, what was wrong before is of no use
                    if complained && self.keys.rewrites() {
                        self.keys.take_back()?;
                        self.keys.show(&format!("{prompt}: {line}\n"))?;
                    }
                    return Ok(Some(value));
                }
                Err(wanted) => wanted,
            };
            // what is said of an answer takes the place of the answer, and of what was said before
            self.keys.take_back()?;
            complained = true;
            match text {
                "" => self.say(&format!("An answer is needed here. {wanted}"))?,
                text => self.say(&format!("{text:?} cannot stand here. {wanted}"))?,
            }
        }
    }

    pub(super) fn say(&mut self, text: &str) -> io::Result<()> {
        let text = self.layout.sentence(text);
        self.keys.show(&format!("\n{text}"))
    }
}
