//! The person's keys and lines, from a real terminal.

use std::io::{self, BufRead, IsTerminal, Write};
use std::time::{Duration, Instant};

use dialoguer::console::{Key, Term, measure_text_width};

use super::paths::Paths;
#[cfg(unix)]
use super::unechoed;
use crate::run::asker::NoAnswer;

/// What a terminal gives. Small, so that a test can play the person.
pub trait Keys {
    /// One key.
    ///
    /// # Errors
    /// `Interrupted` where the person wants to end the program.
    fn key(&mut self) -> io::Result<Key>;

    /// One line.
    ///
    /// # Errors
    /// As [`Keys::key`]; `UnexpectedEof` where the input has ended.
    fn line(&mut self, prompt: &str) -> io::Result<String>;

    /// A line that holds a path; the Tab key completes it where the terminal can.
    ///
    /// # Errors
    /// As [`Keys::line`].
    fn path(&mut self, prompt: &str) -> io::Result<String> {
        self.line(prompt)
    }

    /// Throw away what was typed before now.
    fn discard(&mut self);

    /// Show a text.
    ///
    /// # Errors
    /// Where the terminal is gone.
    fn show(&mut self, text: &str) -> io::Result<()>;

    /// Let a second pass; what was typed in it, unseen, as soon as something was that is heeded.
    ///
    /// # Errors
    /// As [`Keys::line`].
    fn second(&mut self, heeds: fn(&str) -> bool) -> io::Result<Option<String>>;

    /// Whether another key comes within that time; whatever does is thrown away.
    ///
    /// # Errors
    /// As [`Keys::key`].
    fn more(&mut self, _within: Duration) -> io::Result<bool> {
        Ok(false)
    }

    /// The next line begins with that: it was typed already.
    fn begun(&mut self, text: String);

    /// Time since some moment of the beginning.
    fn elapsed(&self) -> Duration;

    /// What is shown and typed from here on may be taken back.
    fn mark(&mut self) {}

    /// Take back what was shown and typed since the mark, where the terminal can.
    ///
    /// # Errors
    /// As [`Keys::show`].
    fn take_back(&mut self) -> io::Result<()> {
        Ok(())
    }

    /// Whether a line may be written over.
    fn rewrites(&self) -> bool {
        false
    }

    /// Columns of the terminal.
    fn columns(&self) -> usize;

    /// Rows of the terminal; none where texts are read as they come, in whatever length.
    fn rows(&self) -> Option<usize> {
        None
    }
}

/// The terminal that the process was started in.
#[derive(Debug)]
pub struct TerminalKeys {
    term: Term,
    dumb: bool,
    begun: String,
    started: Instant,
    /// Shown since the mark.
    shown: String,
}

impl TerminalKeys {
    /// The process's terminal; none where nobody is there to type. With `dumb` nothing but plain text is
    /// written, and the output need be no terminal.
    #[must_use]
    pub fn of_process(dumb: bool) -> Option<Self> {
        let asked = io::stdin().is_terminal() && (dumb || io::stdout().is_terminal());
        asked.then(|| TerminalKeys {
            term: Term::stdout(),
            dumb,
            begun: String::new(),
            started: Instant::now(),
            shown: String::new(),
        })
    }
}

impl TerminalKeys {
    /// A line that is edited. It is drawn anew once it is done: the prompt itself clears one row only, however
    /// many the line took.
    fn typed(&mut self, prompt: &str, completes: bool) -> io::Result<String> {
        let asked = format!("{prompt}: ");
        let paths = Paths::after(&asked, &self.term);
        let mut input = dialoguer::Input::<String>::new()
            .with_prompt(prompt)
            .with_initial_text(std::mem::take(&mut self.begun))
            .allow_empty(true)
            .report(false);
        if completes {
            input = input.completion_with(&paths);
        }
        let line = input.interact_text_on(&self.term);
        let line = line.map_err(|dialoguer::Error::IO(error)| error)?;
        self.term.move_cursor_up(paths.rows_above(&line))?;
        self.term.clear_to_end_of_screen()?;
        self.show(&format!("{asked}{line}\n"))?;
        Ok(line)
    }
}

/// What one look for keys lasts.
const SECOND: Duration = Duration::from_secs(1);

/// What Ctrl-Z gives while keys are read one by one.
const SUSPEND: char = '\u{1a}';

/// Step back for the shell, as Ctrl-Z does where lines are read; goes on when the shell wants it.
fn suspend() {
    #[cfg(unix)]
    let _ = rustix::process::kill_process(rustix::process::getpid(), rustix::process::Signal::TSTP);
}

impl Keys for TerminalKeys {
    fn key(&mut self) -> io::Result<Key> {
        let key = self.term.read_key_raw()?;
        if key == Key::Char(SUSPEND) {
            suspend();
            return Ok(Key::Unknown);
        }
        match key {
            Key::CtrlC => Err(io::Error::from(io::ErrorKind::Interrupted)),
            Key::Char('\u{4}') => Err(io::Error::from(io::ErrorKind::UnexpectedEof)),
            key => Ok(key),
        }
    }

    fn line(&mut self, prompt: &str) -> io::Result<String> {
        if !self.dumb {
            return self.typed(prompt, false);
        }
        let mut line = std::mem::take(&mut self.begun);
        self.show(&format!("{prompt}: {line}"))?;
        #[cfg(unix)]
        unechoed::await_line()?;
        if io::stdin().lock().read_line(&mut line)? == 0 {
            return Err(io::Error::from(io::ErrorKind::UnexpectedEof));
        }
        Ok(line)
    }

    fn path(&mut self, prompt: &str) -> io::Result<String> {
        if self.dumb {
            return self.line(prompt);
        }
        self.typed(&format!("{prompt} (Tab completes)"), true)
    }

    fn discard(&mut self) {
        // Where the system cannot do it there is nothing to be thrown away either.
        #[cfg(unix)]
        let _ = rustix::termios::tcflush(io::stdin(), rustix::termios::QueueSelector::IFlush);
    }

    fn show(&mut self, text: &str) -> io::Result<()> {
        self.shown.push_str(text);
        self.term.write_all(text.as_bytes())?;
        self.term.flush()
    }

    fn second(&mut self, heeds: fn(&str) -> bool) -> io::Result<Option<String>> {
        #[cfg(unix)]
        return unechoed::typed_within(SECOND, heeds, suspend);
        #[cfg(not(unix))]
        {
            let _ = heeds;
            std::thread::sleep(SECOND);
            Ok(None)
        }
    }

    fn more(&mut self, within: Duration) -> io::Result<bool> {
        #[cfg(unix)]
        {
            let more = unechoed::typed_within(within, |_| true, suspend)?.is_some();
            if more {
                self.discard();
            }
            Ok(more)
        }
        #[cfg(not(unix))]
        {
            let _ = within;
            Ok(false)
        }
    }

    fn begun(&mut self, text: String) {
        self.begun = text;
    }

    fn elapsed(&self) -> Duration {
        self.started.elapsed()
    }

    fn mark(&mut self) {
        self.shown.clear();
    }

    fn take_back(&mut self) -> io::Result<()> {
        let (rows, columns) = self.term.size();
        let columns = usize::from(columns).max(1);
        let taken = |line: &str| measure_text_width(line).max(1).div_ceil(columns);
        let shown: usize = self.shown.lines().map(taken).sum();
        // what has scrolled away stays, and so does what a reader of the screen has read out
        if !self.dumb && shown < usize::from(rows) {
            self.term.move_cursor_up(shown)?;
            self.term.clear_to_end_of_screen()?;
        }
        self.shown.clear();
        Ok(())
    }

    fn rewrites(&self) -> bool {
        !self.dumb
    }

    fn columns(&self) -> usize {
        usize::from(self.term.size().1)
    }

    fn rows(&self) -> Option<usize> {
        (!self.dumb).then(|| usize::from(self.term.size().0))
    }
}

/// Why keys gave none.
pub(super) fn no_answer(error: io::Error) -> NoAnswer {
    match error.kind() {
        io::ErrorKind::Interrupted => NoAnswer::Interrupted,
        io::ErrorKind::UnexpectedEof => NoAnswer::Cancelled,
        io::ErrorKind::NotConnected => NoAnswer::NoTerminal,
        _ => NoAnswer::Broken(error.to_string()),
    }
}
