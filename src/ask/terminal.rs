//! A person at a terminal: one screen, one thing to do.

use dialoguer::console::Key;

use crate::ask::at_work::Patience;
use crate::ask::columns;
use crate::ask::keys::{Keys, no_answer};
use crate::ask::layout::{GAP, Layout, ShowResult};
use crate::ask::resting;
use crate::ask::watching::{self, Waited, Watching};
use crate::procedure::model::{Choice, TextForm};
use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::keeper::{Columns, Headings};
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, Screen};
use crate::run::starter::{RestDue, Rested};

/// A clock: UTC, RFC 3339.
pub type Clock = Box<dyn FnMut() -> String>;

/// Keys that work at every question.
const ALWAYS: &str = "? why   b back   t note   f file   r record   p pause   s stop";

/// The same where a line is typed.
const ALWAYS_TYPED: &str = ":? why   :b back   :t note   :f file   :r record   :p pause   :s stop";

/// Joins those keys where the starter is turned for a capture.
const CRANKED: &str = "   :c cranked, no capture";

/// Joins the way to a waiver to those keys, where the shop's policy knows one.
const WAIVE: &str = "l lead waives";

/// Most choices that are picked by a single digit.
const DIGITS: usize = 9;

/// Asks at a terminal.
pub struct Terminal<K> {
    keys: K,
    colour: bool,
    plain: bool,
    clock: Clock,
    show: ShowResult,
    watching: Option<Box<dyn Watching>>,
    /// The step that a capture was asked for last: a note beside it does not begin the watch anew.
    watched_for: Option<String>,
    working: Option<Patience>,
}

/// What a key or word came to.
enum Heard {
    Reply(Reply),
    Explain,
    SoFar,
    Nothing(&'static str),
}

impl<K: Keys> Terminal<K> {
    /// Ask with these keys; `show` draws computed results.
    pub fn new(keys: K, colour: bool, clock: Clock, show: ShowResult) -> Self {
        Terminal {
            keys,
            colour,
            plain: false,
            clock,
            show,
            watching: None,
            watched_for: None,
            working: None,
        }
    }

    /// Ask by lines only: every answer is typed and ends with Enter, choices by their numbers. For screen
    /// readers, and where the output is no terminal.
    #[must_use]
    pub fn plain(mut self) -> Self {
        self.plain = true;
        self
    }

    /// Take captures that appear there as well.
    #[must_use]
    pub fn watching(mut self, place: Option<Box<dyn Watching>>) -> Self {
        self.watching = place;
        self
    }

    /// What came of watching a place for the capture; none where nothing is watched.
    fn watched(&mut self, screen: &Screen) -> Result<Option<Heard>, NoAnswer> {
        let (Form::Capture(_), Some(place)) = (&screen.form, &mut self.watching) else {
            return Ok(None);
        };
        let waited = watching::wait(&mut self.keys, place.as_mut()).map_err(no_answer)?;
        Ok(match waited {
            Waited::Capture(path) => Some(Heard::Reply(Reply::File(path))),
            Waited::Line(line) => Some(self.of_line(line.trim(), screen)?),
            Waited::Typing => None,
        })
    }

    fn layout(&self) -> Layout {
        Layout::new(self.keys.columns(), self.colour)
    }

    fn say(&mut self, text: &str) -> Result<(), NoAnswer> {
        self.working = None;
        self.keys.show(text).map_err(no_answer)
    }

    /// Answered by one key, or by a line?
    fn by_key(&self, form: &Form) -> bool {
        if self.plain {
            return false;
        }
        match form {
            Form::Confirm | Form::PutBack | Form::Trouble => true,
            Form::Choose(choices) => choices.len() <= DIGITS,
            Form::Number(_) | Form::Text(_) | Form::Capture(_) => false,
        }
    }

    /// One attempt to hear a reply; none where the person is to be asked again.
    fn hear(&mut self, screen: &Screen) -> Result<Option<Reply>, NoAnswer> {
        let heard = if let Some(heard) = self.watched(screen)? {
            heard
        } else if self.by_key(&screen.form) {
            let key = self.keys.key().map_err(no_answer)?;
            self.of_key(key, screen)?
        } else {
            let line = match &screen.form {
                Form::Capture(_) => self.keys.path("Answer"),
                _ => self.keys.line("Answer"),
            };
            let line = line.map_err(no_answer)?;
            self.of_line(line.trim(), screen)?
        };
        match heard {
            Heard::Reply(reply) => Ok(Some(reply)),
            aside @ (Heard::Explain | Heard::SoFar) => {
                let layout = self.layout();
                let text = match aside {
                    Heard::Explain => layout.explained(screen),
                    _ => layout.so_far(screen),
                };
                self.say(&text)?;
                if !screen.hazards.is_empty() {
                    self.keys.discard();
                }
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
        if key == Key::Unknown {
            // back from the shell, perhaps: the question may have scrolled away
            let text = self.layout().screen(screen);
            self.say(&text)?;
            self.prompt(screen)?;
        }
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
        self.aside(letter, screen)
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
                Some(letter) => self.aside(letter, screen),
                None => Ok(Heard::Nothing("")),
            };
        }
        if line == "?" {
            return self.aside('?', screen);
        }
        let kept = screen
            .was
            .as_ref()
            .filter(|was| was.keeps && line.is_empty());
        let text = kept.map_or(line, |was| was.text.as_str()).to_owned();
        Ok(match &screen.form {
            Form::Confirm | Form::PutBack | Form::Trouble => {
                return self.of_word(line, screen);
            }
            Form::Choose(choices) => {
                let number = line.parse::<usize>().ok();
                let by_number = number.and_then(|n| choices.get(n.wrapping_sub(1)));
                match by_number.or_else(|| choices.iter().find(|choice| choice.name == line)) {
                    Some(choice) => return self.chosen(choice),
                    None if line.chars().count() == 1 && !line.starts_with(char::is_numeric) => {
                        let letter = line.chars().next().unwrap_or_default();
                        return self.aside(letter, screen);
                    }
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

    /// Yes or no as a typed word or number.
    fn of_word(&mut self, line: &str, screen: &Screen) -> Result<Heard, NoAnswer> {
        let (word, reply) = match line.to_lowercase().as_str() {
            "1" | "y" | "yes" => ("yes", Reply::Yes),
            "2" | "n" | "no" => ("no", Reply::No),
            other => {
                let mut letters = other.chars();
                return match (letters.next(), letters.next()) {
                    (Some(letter), None) => self.aside(letter, screen),
                    _ => Ok(Heard::Nothing("Type 1 for yes or 2 for no, then Enter.")),
                };
            }
        };
        self.say(&format!("  → {word}\n"))?;
        Ok(Heard::Reply(reply))
    }

    /// The keys that work at every question.
    fn aside(&mut self, letter: char, screen: &Screen) -> Result<Heard, NoAnswer> {
        Ok(match letter.to_ascii_lowercase() {
            '?' | 'w' => Heard::Explain,
            'b' => Heard::Reply(Reply::Back),
            'p' => Heard::Reply(Reply::Pause),
            't' => match self.words("Note")? {
                Some(text) => Heard::Reply(Reply::Note(text)),
                None => Heard::Nothing("No note made."),
            },
            'r' => Heard::SoFar,
            'f' => match self.path("Path of the photo or file (nothing: none)")? {
                Some(path) => Heard::Reply(Reply::Attach(path)),
                None => Heard::Nothing("Nothing laid to the job."),
            },
            'c' if screen.cranks() => {
                match self.words("Why did the crank give no capture (nothing: it did)")? {
                    Some(reason) => Heard::Reply(Reply::Cranked(reason)),
                    None => Heard::Nothing("Not counted as a crank."),
                }
            }
            'l' if screen.waiver.is_ok() => return self.waived(),
            's' => match self.words("Reason for stopping (nothing: go on)")? {
                Some(text) => Heard::Reply(Reply::Stop(text)),
                None => Heard::Nothing("Not stopped."),
            },
            _ => Heard::Nothing("That key answers nothing here; press one of the keys above."),
        })
    }

    fn waived(&mut self) -> Result<Heard, NoAnswer> {
        let Some(reason) =
            self.words("Reason why it need not be done (nothing: back to the question)")?
        else {
            return Ok(Heard::Nothing("Not waived."));
        };
        let prompt = "The lead's private key, as a path (nothing: the shop's)";
        let key = self.path(prompt)?.unwrap_or_default();
        Ok(Heard::Reply(Reply::Waive { reason, key }))
    }

    fn words(&mut self, prompt: &str) -> Result<Option<String>, NoAnswer> {
        self.keys.line(prompt).map(said).map_err(no_answer)
    }

    fn path(&mut self, prompt: &str) -> Result<Option<String>, NoAnswer> {
        self.keys.path(prompt).map(said).map_err(no_answer)
    }

    fn prompt(&mut self, screen: &Screen) -> Result<(), NoAnswer> {
        let by_key = self.by_key(&screen.form);
        let (yes, no) = if by_key { ("y", "n") } else { ("1", "2") };
        let bare = matches!(
            screen.form,
            Form::Confirm | Form::PutBack | Form::Trouble | Form::Choose(_)
        );
        let mut keys = match &screen.form {
            Form::Confirm => format!("{yes} yes   {no} no   {ALWAYS}"),
            Form::PutBack => format!("{yes} yes   {no} not yet   {ALWAYS}"),
            Form::Trouble => format!("{yes} try again   b back   t note   p pause   s stop"),
            Form::Choose(choices) => format!("1–{} choose   {ALWAYS}", choices.len()),
            _ => ALWAYS_TYPED.to_owned(),
        };
        if screen.cranks() {
            keys += CRANKED;
        }
        if screen.waiver.is_ok() {
            keys += if bare { GAP } else { "   :" };
            keys += WAIVE;
        }
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
            // a digit too many at the screen before would answer this one unread
            if !screen.hazards.is_empty() || self.by_key(&screen.form) {
                self.keys.discard();
            }
            self.say(&text)?;
        }
        let anew = refused.map(|_| screen.anew());
        let screen = anew.as_ref().unwrap_or(screen);
        self.prompt(screen)?;
        let capture = matches!(screen.form, Form::Capture(_));
        let watched_for = capture.then(|| screen.step.clone());
        if let Some(place) = &mut self.watching
            && capture
            && self.watched_for != watched_for
        {
            place.begin();
        }
        self.watched_for = watched_for;
        loop {
            if let Some(reply) = self.hear(screen)? {
                return Ok(reply);
            }
        }
    }

    fn tell(&mut self, told: &Told<'_>) -> Result<(), NoAnswer> {
        let text = self.layout().told(told, &self.show);
        self.say(&text)?;
        if let (Told::Reading | Told::Computing(_), true) = (told, self.keys.rewrites()) {
            self.working = Some(Patience::begin("at work".to_owned()));
        }
        Ok(())
    }

    fn columns(&mut self, headings: &Headings) -> Result<Option<Columns>, NoAnswer> {
        self.working = None;
        let layout = self.layout();
        columns::ask(&mut self.keys, layout, headings).map_err(no_answer)
    }

    fn rest(&mut self, due: &RestDue) -> Result<Rested, NoAnswer> {
        self.working = None;
        let layout = self.layout();
        resting::countdown(&mut self.keys, layout, due).map_err(no_answer)
    }

    fn now(&mut self) -> String {
        (self.clock)()
    }
}

/// What a line says; none where it says nothing.
fn said(line: String) -> Option<String> {
    let text = line.trim();
    // a key with its colon answers no such question: whoever types one wants to leave it
    (!text.is_empty() && !text.starts_with(':')).then(|| text.to_owned())
}
