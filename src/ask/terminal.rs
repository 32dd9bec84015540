//! A person at a terminal: one screen, one thing to do.

use std::io;

use dialoguer::console::Key;

use crate::ask::keys::Keys;
use crate::ask::layout::{Layout, ShowResult};
use crate::ask::resting;
use crate::ask::watching::{self, Watching};
use crate::procedure::model::{Choice, TextForm};
use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, Screen};
use crate::run::starter::{RestDue, Rested};

/// A clock: UTC, RFC 3339.
pub type Clock = Box<dyn FnMut() -> String>;

/// Keys that work at every question.
const ALWAYS: &str = "? why   b back   t note   p pause   s stop";

/// The same where a line is typed.
const ALWAYS_TYPED: &str = ":? why   :b back   :t note   :p pause   :s stop";

/// Most choices that are picked by a single digit.
const DIGITS: usize = 9;

/// Asks at a terminal.
pub struct Terminal<K> {
    keys: K,
    colour: bool,
    clock: Clock,
    show: ShowResult,
    watching: Option<Box<dyn Watching>>,
}

/// What a key or word came to.
enum Heard {
    Reply(Reply),
    Explain,
    Nothing(&'static str),
}

impl<K: Keys> Terminal<K> {
    /// Ask with these keys; `show` draws computed results.
    pub fn new(keys: K, colour: bool, clock: Clock, show: ShowResult) -> Self {
        Terminal {
            keys,
            colour,
            clock,
            show,
            watching: None,
        }
    }

    /// Take captures that appear there as well.
    #[must_use]
    pub fn watching(mut self, place: Option<Box<dyn Watching>>) -> Self {
        self.watching = place;
        self
    }

    /// The next capture of the watched place; none where there is none, or the person types instead.
    fn watched(&mut self, form: &Form) -> Result<Option<Reply>, NoAnswer> {
        let (Form::Capture(_), Some(place)) = (form, &mut self.watching) else {
            return Ok(None);
        };
        let path = watching::wait(&mut self.keys, place.as_mut()).map_err(no_answer)?;
        Ok(path.map(Reply::File))
    }

    fn layout(&self) -> Layout {
        Layout::new(self.keys.columns(), self.colour)
    }

    fn say(&mut self, text: &str) -> Result<(), NoAnswer> {
        self.keys.show(text).map_err(no_answer)
    }

    /// Answered by one key, or by a line?
    fn by_key(form: &Form) -> bool {
        match form {
            Form::Confirm | Form::PutBack | Form::Trouble => true,
            Form::Choose(choices) => choices.len() <= DIGITS,
            Form::Number(_) | Form::Text(_) | Form::Capture(_) => false,
        }
    }

    /// One attempt to hear a reply; none where the person is to be asked again.
    fn hear(&mut self, screen: &Screen) -> Result<Option<Reply>, NoAnswer> {
        if let Some(reply) = self.watched(&screen.form)? {
            return Ok(Some(reply));
        }
        let heard = if Self::by_key(&screen.form) {
            let key = self.keys.key().map_err(no_answer)?;
            self.of_key(key, screen)?
        } else {
            let line = self.keys.line("Answer").map_err(no_answer)?;
            self.of_line(line.trim(), screen)?
        };
        match heard {
            Heard::Reply(reply) => Ok(Some(reply)),
            Heard::Explain => {
                let text = self.layout().explained(screen);
                self.say(&text)?;
                self.prompt(screen)?;
                Ok(None)
            }
            Heard::Nothing("") => Ok(None),
            Heard::Nothing(why) => {
                let text = self.layout().sentence(why);
                self.say(&text)?;
                Ok(None)
            }
        }
    }

    fn of_key(&mut self, key: Key, screen: &Screen) -> Result<Heard, NoAnswer> {
        let Key::Char(letter) = key else {
            return Ok(Heard::Nothing(if key == Key::Enter {
                "Enter alone answers nothing here; press one of the keys above."
            } else {
                ""
            }));
        };
        if let Form::Choose(choices) = &screen.form {
            let digit = letter.to_digit(10).unwrap_or(0) as usize;
            if let Some(choice) = digit.checked_sub(1).and_then(|at| choices.get(at)) {
                return self.chosen(choice);
            }
        } else {
            let reply = match letter.to_ascii_lowercase() {
                'y' => Some(("yes", Reply::Yes)),
                'n' => Some(("no", Reply::No)),
                _ => None,
            };
            if let Some((word, reply)) = reply {
                self.say(&format!("  → {word}\n"))?;
                return Ok(Heard::Reply(reply));
            }
        }
        self.aside(letter)
    }

    fn chosen(&mut self, choice: &Choice) -> Result<Heard, NoAnswer> {
        let text = self.layout().sentence(&format!("→ {}", choice.label));
        self.say(&text)?;
        Ok(Heard::Reply(Reply::Choice(choice.name.clone())))
    }

    fn of_line(&mut self, line: &str, screen: &Screen) -> Result<Heard, NoAnswer> {
        if let Some(word) = line.strip_prefix(':') {
            let mut letters = word.trim().chars();
            return match letters.next() {
                Some(letter) => self.aside(letter),
                None => Ok(Heard::Nothing("")),
            };
        }
        let text = line.to_owned();
        Ok(match &screen.form {
            Form::Choose(choices) => {
                let number = line.parse::<usize>().ok();
                let by_number = number.and_then(|n| choices.get(n.wrapping_sub(1)));
                match by_number.or_else(|| choices.iter().find(|choice| choice.name == line)) {
                    Some(choice) => return self.chosen(choice),
                    None => Heard::Nothing("Type the number of a choice."),
                }
            }
            Form::Capture(_) if text.is_empty() => {
                Heard::Nothing("Type the path of the capture file.")
            }
            Form::Capture(_) => Heard::Reply(Reply::File(text)),
            Form::Text(TextForm::Optional) if text.is_empty() && !screen.hazards.is_empty() => {
                // Enter alone would say that the hazard was read
                Heard::Nothing("Read the hazard above; type - where there is nothing to say.")
            }
            _ => Heard::Reply(Reply::Typed(text)),
        })
    }

    /// The keys that work at every question.
    fn aside(&mut self, letter: char) -> Result<Heard, NoAnswer> {
        Ok(match letter.to_ascii_lowercase() {
            '?' | 'w' => Heard::Explain,
            'b' => Heard::Reply(Reply::Back),
            'p' => Heard::Reply(Reply::Pause),
            't' => match self.words("Note")? {
                Some(text) => Heard::Reply(Reply::Note(text)),
                None => Heard::Nothing("No note made."),
            },
            's' => match self.words("Reason for stopping (nothing: go on)")? {
                Some(text) => Heard::Reply(Reply::Stop(text)),
                None => Heard::Nothing("Not stopped."),
            },
            _ => Heard::Nothing("That key answers nothing here; press one of the keys above."),
        })
    }

    fn words(&mut self, prompt: &str) -> Result<Option<String>, NoAnswer> {
        let line = self.keys.line(prompt).map_err(no_answer)?;
        let text = line.trim();
        Ok((!text.is_empty()).then(|| text.to_owned()))
    }

    fn prompt(&mut self, screen: &Screen) -> Result<(), NoAnswer> {
        let keys = match &screen.form {
            Form::Confirm => format!("y yes   n no   {ALWAYS}"),
            Form::PutBack => format!("y yes   {ALWAYS}"),
            Form::Trouble => "y try again   b back   t note   p pause   s stop".to_owned(),
            form @ Form::Choose(choices) if Self::by_key(form) => {
                format!("1–{} choose   {ALWAYS}", choices.len())
            }
            _ => ALWAYS_TYPED.to_owned(),
        };
        let text = format!("\n{}", self.layout().keys(&keys));
        self.say(&text)
    }
}

impl<K: Keys> Asker for Terminal<K> {
    fn ask(&mut self, screen: &Screen, refused: Option<&Refusal>) -> Result<Reply, NoAnswer> {
        if let Some(why) = refused {
            let text = self.layout().refusal(&why.to_string());
            self.say(&text)?;
        } else {
            let text = self.layout().screen(screen);
            if !screen.hazards.is_empty() {
                self.keys.discard();
            }
            self.say(&text)?;
        }
        self.prompt(screen)?;
        if let (Form::Capture(_), Some(place)) = (&screen.form, &mut self.watching) {
            place.begin();
        }
        loop {
            if let Some(reply) = self.hear(screen)? {
                return Ok(reply);
            }
        }
    }

    fn tell(&mut self, told: &Told<'_>) -> Result<(), NoAnswer> {
        let text = self.layout().told(told, &self.show);
        self.say(&text)
    }

    fn rest(&mut self, due: &RestDue) -> Result<Rested, NoAnswer> {
        let layout = self.layout();
        resting::countdown(&mut self.keys, layout, due).map_err(no_answer)
    }

    fn now(&mut self) -> String {
        (self.clock)()
    }
}

fn no_answer(error: io::Error) -> NoAnswer {
    match error.kind() {
        io::ErrorKind::Interrupted => NoAnswer::Interrupted,
        io::ErrorKind::UnexpectedEof => NoAnswer::Cancelled,
        io::ErrorKind::NotConnected => NoAnswer::NoTerminal,
        _ => NoAnswer::Broken(error.to_string()),
    }
}
