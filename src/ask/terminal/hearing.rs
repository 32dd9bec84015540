//! What a person's keys and lines say at a question.

use std::time::Duration;

use dialoguer::console::Key;

use super::Terminal;
use crate::ask::keys::{Keys, no_answer};
use crate::procedure::model::{Choice, OutcomeKind, TextForm};
use crate::run::asker::{NoAnswer, Reply};
use crate::run::screen::{Form, Screen};

/// How soon after a hazard is shown nobody can have read it. Our own choice: shorter than it takes to read any of
/// the shipped ones, longer than a keyboard waits before it repeats a key that is held down.
const READING: Duration = Duration::from_millis(1200);

/// Between two keys of a row that comes from one that is held down there is less than this. Our own choice.
const APART: Duration = Duration::from_millis(500);

/// How long somebody goes on typing a word whose first letter has answered already. Our own choice.
const WORD: Duration = Duration::from_millis(800);

const UNREAD: &str =
    "Not taken: that came sooner than the text above can be read. Read it, then answer again.";

/// Keys that come closer together than this were not pressed one by one. Our own choice.
const AT_ONCE: Duration = Duration::from_millis(30);

const MANY: &str = "Several keys came at once, so none of them is taken. One key answers here.";

const STOP_SURE: &str = "Stop this job for good? y stops it, any other key goes on.";

const STOP_PLAIN: &str = "Stop this job for good? y stops it (Enter: go on)";

const TURNED_AWAY_SURE: &str = "No seals this job as not done, for good. Is it so? y seals it, any other key goes back to the question.";

const TURNED_AWAY_PLAIN: &str =
    "No seals this job as not done, for good. Is it so? y seals it (Enter: back to the question)";

const NOT_STOPPED: &str = "Not stopped.";

const GOES_BACK: &str =
    "Nothing is left to stop: all goes back before the job ends. p pauses where that must wait.";

const NO_WAIVER: &str = "Nothing can be waived here; `evenfire check --waivers` lists the steps that may be, and by whom.";

const BACK_TO: &str =
    "b goes back one question; with the number of a step, as in :b 6, to that one.";

const TYPED_KEY: &str = "Key, as in b 6 for back to step 6 (Enter: none)";

const STOPS: &str = "Reason for stopping; that seals the job as not done (Enter: go on)";

const VEHICLE: &str = "Which vehicle is it? Registration, or make and model (Enter: not given)";

/// What a key or word came to.
pub(super) enum Heard {
    Reply(Reply),
    Explain,
    SoFar,
    Nothing(&'static str),
}

impl<K: Keys> Terminal<K> {
    pub(super) fn of_key(&mut self, key: Key, screen: &Screen) -> Result<Heard, NoAnswer> {
        if key == Key::Unknown {
            // back from the shell, perhaps: the question may have scrolled away
            let text = self.layout().screen(screen);
            self.say(&text)?;
            let keys = self.prompt(screen);
            self.say(&keys)?;
        }
        if self.is_rest_of_word(&key) {
            return Ok(Heard::Nothing(""));
        }
        // behind a colon a whole line may come at once: none of its words answers the question
        if matches!(key, Key::Char(letter) if letter != ':') && self.is_of_many(&key)? {
            return Ok(Heard::Nothing(MANY));
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
                return self.chosen(choice, screen);
            }
        } else {
            match letter.to_ascii_lowercase() {
                'y' => return self.spelled("yes", Reply::Yes, screen),
                'n' => return self.spelled("no", Reply::No, screen),
                _ => {}
            }
        }
        self.aside(letter, screen)
    }

    fn chosen(&mut self, choice: &Choice, screen: &Screen) -> Result<Heard, NoAnswer> {
        self.answered(&choice.label, Reply::Choice(choice.name.clone()), screen)
    }

    /// A yes or no by its first letter.
    fn spelled(
        &mut self,
        word: &'static str,
        reply: Reply,
        screen: &Screen,
    ) -> Result<Heard, NoAnswer> {
        let heard = self.answered(word, reply, screen)?;
        if let Heard::Reply(_) = heard {
            self.spelled = Some(word);
        }
        Ok(heard)
    }

    /// Whether a key is the rest of a word whose first letter has answered the question before: its s would stop
    /// the work.
    fn is_rest_of_word(&mut self, key: &Key) -> bool {
        let rest = self.spelled.map_or("", |word| &word[1..]);
        let fits = matches!(key, Key::Char(letter) if rest.contains(*letter));
        fits && self.keys.elapsed() < self.drawn + WORD
    }

    /// A yes, no or choice, once the question can have been read. A no that ends the job before its work is done is asked
    /// about once more: a slip would seal it.
    fn answered(&mut self, label: &str, reply: Reply, screen: &Screen) -> Result<Heard, NoAnswer> {
        if self.is_unread(screen) {
            return Ok(Heard::Nothing(UNREAD));
        }
        if turns_away(&reply, screen) && !self.is_sure(TURNED_AWAY_SURE, TURNED_AWAY_PLAIN)? {
            return Ok(Heard::Nothing("Not answered."));
        }
        let text = self.layout().sentence(&format!("→ {label}"));
        self.say(&text)?;
        Ok(Heard::Reply(reply))
    }

    /// Whether a hazard or the end of the job was shown so short a time ago that nobody has read it, or the key
    /// is one of a row that began then, as of a key that is held down.
    fn is_unread(&mut self, screen: &Screen) -> bool {
        let now = self.keys.elapsed();
        let read = now >= self.drawn + READING && self.early.is_none_or(|at| now >= at + APART);
        if !screen.must_be_read() || read {
            return false;
        }
        self.early = Some(now);
        true
    }

    pub(super) fn of_line(&mut self, line: &str, screen: &Screen) -> Result<Heard, NoAnswer> {
        if let Some(word) = line.strip_prefix(':') {
            return self.of_typed_key(word.trim(), screen);
        }
        if line == "?" {
            return self.aside('?', screen);
        }
        if let Some(number) = going_back(line)
            && !matches!(screen.form, Form::Text(TextForm::Text | TextForm::Optional))
        {
            return self.of_typed_key(number, screen);
        }
        let typed = matches!(
            screen.form,
            Form::Number(_) | Form::Capture(_) | Form::Text(TextForm::Text)
        );
        if typed && let Some(colon) = with_colon(line, screen) {
            return Ok(Heard::Nothing(colon));
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
                    Some(choice) => return self.chosen(choice, screen),
                    None if line.chars().count() == 1 && !line.starts_with(char::is_numeric) => {
                        let letter = line.chars().next().unwrap_or_default();
                        return self.aside(letter, screen);
                    }
                    None => Heard::Nothing("Type the number of a choice."),
                }
            }
            Form::Capture(_) if text.is_empty() && screen.hint.is_some() => {
                Heard::Nothing("Type the word that is asked for above.")
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

    /// A key that was typed after a colon; b takes the number of a step.
    fn of_typed_key(&mut self, word: &str, screen: &Screen) -> Result<Heard, NoAnswer> {
        let mut letters = word.chars();
        let (Some(letter), rest) = (letters.next(), letters.as_str().trim()) else {
            return Ok(Heard::Nothing(""));
        };
        if !letter.eq_ignore_ascii_case(&'b') || rest.is_empty() {
            return self.aside(letter, screen);
        }
        Ok(match rest.parse() {
            Ok(number) => Heard::Reply(Reply::BackTo(number)),
            Err(_) => Heard::Nothing(BACK_TO),
        })
    }

    /// Yes or no as a typed word or number.
    fn of_word(&mut self, line: &str, screen: &Screen) -> Result<Heard, NoAnswer> {
        match line.to_lowercase().as_str() {
            "1" | "y" | "yes" => self.answered("yes", Reply::Yes, screen),
            "2" | "n" | "no" => self.answered("no", Reply::No, screen),
            other => {
                let mut letters = other.chars();
                match (letters.next(), letters.next()) {
                    (Some(letter), None) => self.aside(letter, screen),
                    _ => Ok(Heard::Nothing("Type 1 for yes or 2 for no, then Enter.")),
                }
            }
        }
    }

    /// The keys that work at every question.
    fn aside(&mut self, letter: char, screen: &Screen) -> Result<Heard, NoAnswer> {
        Ok(match letter.to_ascii_lowercase() {
            '?' | 'w' => Heard::Explain,
            'b' => Heard::Reply(Reply::Back),
            ':' => {
                let line = self.keys.line(TYPED_KEY).map_err(no_answer)?;
                self.beside();
                return self.of_typed_key(line.trim().trim_start_matches(':').trim(), screen);
            }
            'p' => Heard::Reply(Reply::Pause),
            't' => match self.words("Note")? {
                Some(text) => Heard::Reply(Reply::Note(text)),
                None => Heard::Nothing("No note made."),
            },
            'r' => Heard::SoFar,
            'f' => match self.path("Path of the photo or file (Enter: none)")? {
                Some(path) => Heard::Reply(Reply::Attach(path)),
                None => Heard::Nothing("Nothing laid to the job."),
            },
            'n' if screen.same_crank => Heard::Reply(Reply::CrankAnew),
            'c' if screen.cranks() => {
                match self.words("Why did the crank give no capture (Enter: it did)")? {
                    Some(reason) => Heard::Reply(Reply::Cranked(reason)),
                    None => Heard::Nothing("Not counted as a crank."),
                }
            }
            'l' if screen.waiver.is_ok() => return self.waived(),
            's' if screen.closing => Heard::Nothing(GOES_BACK),
            's' => return self.stopped(),
            'l' => Heard::Nothing(NO_WAIVER),
            _ => Heard::Nothing("That key answers nothing here; press one of the keys above."),
        })
    }

    /// A stop with its reason, asked once more: the reason may have been meant for something else.
    fn stopped(&mut self) -> Result<Heard, NoAnswer> {
        let Some(reason) = self.words(STOPS)? else {
            return Ok(Heard::Nothing(NOT_STOPPED));
        };
        Ok(match self.is_sure(STOP_SURE, STOP_PLAIN)? {
            true => Heard::Reply(Reply::Stop(reason)),
            false => Heard::Nothing(NOT_STOPPED),
        })
    }

    /// Whether a person says y to what cannot be taken back, asked by key or by line.
    fn is_sure(&mut self, by_key: &str, by_line: &str) -> Result<bool, NoAnswer> {
        if self.plain {
            let said = self.words(by_line)?;
            return Ok(
                said.is_some_and(|word| ["y", "yes"].contains(&word.to_lowercase().as_str()))
            );
        }
        let text = self.layout().sentence(by_key);
        self.say(&text)?;
        Ok(matches!(
            self.keys.key().map_err(no_answer)?,
            Key::Char('y' | 'Y')
        ))
    }

    /// Whether a key is one of many that came at once, as of a line that was meant for another place. Of those that
    /// leave the question a slower row counts as well.
    fn is_of_many(&mut self, key: &Key) -> Result<bool, NoAnswer> {
        let within = match key {
            Key::Char('p' | 'P' | 's' | 'S') => APART,
            _ => AT_ONCE,
        };
        self.keys.more(within).map_err(no_answer)
    }

    fn waived(&mut self) -> Result<Heard, NoAnswer> {
        let Some(reason) =
            self.words("Reason why it need not be done (Enter: back to the question)")?
        else {
            return Ok(Heard::Nothing("Not waived."));
        };
        let prompt = "The lead's private key, as a path (Enter: the shop's)";
        let key = self.path(prompt)?.unwrap_or_default();
        Ok(Heard::Reply(Reply::Waive { reason, key }))
    }

    fn words(&mut self, prompt: &str) -> Result<Option<String>, NoAnswer> {
        let line = self.keys.line(prompt).map_err(no_answer)?;
        self.beside();
        Ok(said(line))
    }

    /// Which vehicle a job is about that is stopped before that was said.
    pub(super) fn vehicle_line(&mut self) -> Result<Option<String>, NoAnswer> {
        self.words(VEHICLE)
    }

    fn path(&mut self, prompt: &str) -> Result<Option<String>, NoAnswer> {
        let line = self.keys.path(prompt).map_err(no_answer)?;
        self.beside();
        Ok(said(line))
    }

    /// A line was typed beside the question: what was typed after it belongs to no key of the question.
    fn beside(&mut self) {
        self.complained = None;
        if !self.plain {
            self.keys.discard();
        }
    }
}

/// Whether a reply is a no that ends the job with its work not done.
fn turns_away(reply: &Reply, screen: &Screen) -> bool {
    let ends = screen.ends.iter().flat_map(|ends| &ends.answers);
    let mut ends = ends.filter(|(answer, _)| answer == "no");
    *reply == Reply::No && ends.any(|(_, kind)| *kind == OutcomeKind::NotDone)
}

/// What to type instead of a lone letter that is a key at other questions; none where it is none.
fn with_colon(line: &str, screen: &Screen) -> Option<&'static str> {
    Some(match line.to_ascii_lowercase().as_str() {
        "b" => "To go back, type :b.",
        "p" => "To pause, type :p.",
        "s" => "To stop the job, type :s.",
        "r" => "To read what was answered, type :r.",
        "t" => "For a note, type :t.",
        "f" => "To lay a file to the job, type :f.",
        "l" if screen.waiver.is_ok() => "For a waiver, type :l.",
        _ => return None,
    })
}

/// A line that is b and a number, as it is typed without the colon.
fn going_back(line: &str) -> Option<&str> {
    let (word, number) = line.split_once(' ')?;
    let is_number = number.trim().parse::<usize>().is_ok();
    (word.eq_ignore_ascii_case("b") && is_number).then_some(line)
}

/// What a line says; none where it says nothing.
fn said(line: String) -> Option<String> {
    let text = line.trim();
    // a key with its colon answers no such question: whoever types one wants to leave it
    (!text.is_empty() && !text.starts_with(':')).then(|| text.to_owned())
}
