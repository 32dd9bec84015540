//! A person at a terminal: one screen, one thing to do.

mod hearing;
mod prompting;

use std::time::Duration;

use dialoguer::console::Key;
use hearing::Heard;

use crate::ask::at_work::Patience;
use crate::ask::columns;
use crate::ask::keys::{Keys, no_answer};
use crate::ask::layout::{Layout, ShowResult};
use crate::ask::paging::{self, COMMAND, Read};
use crate::ask::resting;
use crate::ask::watching::{self, Waited, Watching};
use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::keeper::{Columns, Headings};
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, Screen};
use crate::run::starter::{RestDue, Rested};

/// A clock: UTC, RFC 3339.
pub type Clock = Box<dyn FnMut() -> String>;

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
    /// When the question was shown, on the clock of the keys.
    drawn: Duration,
    /// When an answer came that was too early to have read it.
    early: Option<Duration>,
    /// The last thing that was said against a reply, while nothing else was said after it.
    complained: Option<String>,
    /// The word whose first letter answered the last question of yes or no.
    spelled: Option<&'static str>,
    /// Whether lines are typed one after the other: then somebody may type ahead.
    by_line: bool,
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
            drawn: Duration::ZERO,
            early: None,
            complained: None,
            spelled: None,
            by_line: false,
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
        self.say_read(text, Read::Question).map(drop)
    }

    /// The same; how it is waited for where it does not fit the terminal. Whether a command was begun meanwhile.
    fn say_read(&mut self, text: &str, read: Read) -> Result<bool, NoAnswer> {
        self.working = None;
        if !text.is_empty() {
            self.complained = None;
        }
        paging::show(&mut self.keys, text, read).map_err(no_answer)
    }

    /// Say what was asked for beside a question. Where the question would scroll off the terminal by that, it is shown
    /// again once that was read. Whether a command to it was begun meanwhile.
    fn say_beside(&mut self, text: &str, screen: &Screen) -> Result<bool, NoAnswer> {
        let keys = self.prompt(screen);
        let question = self.layout().screen(screen) + &keys;
        let rows = |text: &str| text.lines().count();
        let all = rows(&question) + rows(text) + rows(&keys);
        let fits = self.keys.rows().is_none_or(|most| all < most);
        let read = if fits { Read::Question } else { Read::Beside };
        let begun = self.say_read(text, read)?;
        if screen.must_be_read() {
            self.keys.discard();
        }
        self.say(if fits { &keys } else { &question })?;
        Ok(begun)
    }

    /// Say why a reply is not taken, and what follows it. Said again at once, it takes the place of what it said
    /// before, and the reply between the two with it.
    fn complain(&mut self, why: &str, keys: &str) -> Result<(), NoAnswer> {
        self.working = None;
        let text = format!("{why}{keys}");
        if self.complained.as_ref() == Some(&text) {
            self.keys.take_back().map_err(no_answer)?;
        } else {
            self.keys.mark();
        }
        self.complained = Some(text.clone());
        self.keys.show(&text).map_err(no_answer)
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
        let mut heard = match self.watched(screen)? {
            Some(heard) => heard,
            None => self.pressed_or_typed(screen)?,
        };
        loop {
            let layout = self.layout();
            let text = match heard {
                Heard::Reply(reply) => return Ok(Some(reply)),
                Heard::Nothing("") => return Ok(None),
                Heard::Nothing(why) => {
                    self.complain(&layout.sentence(why), "")?;
                    return Ok(None);
                }
                Heard::Explain => layout.explained(screen),
                Heard::SoFar => layout.so_far(screen),
            };
            if !self.say_beside(&text, screen)? {
                return Ok(None);
            }
            heard = self.commanded(screen)?;
        }
    }

    fn pressed_or_typed(&mut self, screen: &Screen) -> Result<Heard, NoAnswer> {
        if self.by_key(&screen.form) {
            let key = self.keys.key().map_err(no_answer)?;
            return self.of_key(key, screen);
        }
        let line = match &screen.form {
            Form::Capture(_) => self.keys.path("Answer"),
            _ => self.keys.line("Answer"),
        };
        let line = line.map_err(no_answer)?;
        self.of_line(line.trim(), screen)
    }

    /// What is heard where a command was begun while something was read beside the question.
    fn commanded(&mut self, screen: &Screen) -> Result<Heard, NoAnswer> {
        if self.by_key(&screen.form) {
            return self.of_key(Key::Char(COMMAND), screen);
        }
        self.keys.begun(COMMAND.to_string());
        self.pressed_or_typed(screen)
    }
}

impl<K: Keys> Asker for Terminal<K> {
    fn ask(&mut self, screen: &Screen, refused: Option<&Refusal>) -> Result<Reply, NoAnswer> {
        // where the same must be typed once more, an empty line would pass for that
        let twice = refused.filter(|why| why.is_asked_twice());
        let anew = twice.map(|_| Screen {
            was: None,
            ..screen.clone()
        });
        let screen = anew.as_ref().unwrap_or(screen);
        let by_line = !self.by_key(&screen.form);
        if let Some(why) = refused {
            let layout = self.layout();
            let text = layout.refusal(&why.to_string()) + &layout.was(screen);
            let keys = self.prompt(screen);
            self.complain(&text, &keys)?;
            if let Refusal::Described { .. } = why {
                // a key that is held down would answer what nobody has read
                self.keys.discard();
                self.drawn = self.keys.elapsed();
                self.early = None;
            }
        } else {
            let text = self.layout().screen(screen) + &self.prompt(screen);
            // a digit too many at the screen before would answer this one unread, or begin its line
            if screen.must_be_read() || !(by_line && self.by_line) {
                self.keys.discard();
            }
            self.say(&text)?;
            self.drawn = self.keys.elapsed();
            self.early = None;
        }
        self.by_line = by_line;
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
        let _ = self.say_read(&text, Read::Told)?;
        if let Told::Reading | Told::Computing(_) = told {
            self.by_line = false; // whoever types while nothing is asked answers nothing
            if self.keys.rewrites() {
                self.working = Some(Patience::begin("at work".to_owned()));
            }
        }
        Ok(())
    }

    fn columns(&mut self, headings: &Headings) -> Result<Option<Columns>, NoAnswer> {
        self.working = None;
        let layout = self.layout();
        columns::ask(&mut self.keys, layout, headings).map_err(no_answer)
    }

    fn vehicle(&mut self) -> Result<Option<String>, NoAnswer> {
        self.working = None;
        self.vehicle_line()
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
