//! The person's keys and lines, from a real terminal.

use std::io::{self, BufRead, IsTerminal, Write};

use dialoguer::console::{Key, Term};

use super::paths::Paths;

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

    /// Let a second pass; whether the person pressed Enter in it.
    ///
    /// # Errors
    /// As [`Keys::key`].
    fn second(&mut self) -> io::Result<bool>;

    /// Whether a line may be written over.
    fn rewrites(&self) -> bool {
        false
    }

    /// Columns of the terminal.
    fn columns(&self) -> usize;
}

/// The terminal that the process was started in.
#[derive(Debug)]
pub struct TerminalKeys {
    term: Term,
    dumb: bool,
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
        })
    }
}

impl TerminalKeys {
    fn typed(&self, input: dialoguer::Input<'_, String>, prompt: &str) -> io::Result<String> {
        input
            .with_prompt(prompt)
            .allow_empty(true)
            .interact_text_on(&self.term)
            .map_err(|dialoguer::Error::IO(error)| error)
    }
}

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
            return self.typed(dialoguer::Input::new(), prompt);
        }
        self.show(&format!("{prompt}: "))?;
        let mut line = String::new();
        if io::stdin().lock().read_line(&mut line)? == 0 {
            return Err(io::Error::from(io::ErrorKind::UnexpectedEof));
        }
        Ok(line)
    }

    fn path(&mut self, prompt: &str) -> io::Result<String> {
        if self.dumb {
            return self.line(prompt);
        }
        self.typed(
            dialoguer::Input::new().completion_with(&Paths),
            &format!("{prompt} (Tab completes)"),
        )
    }

    fn discard(&mut self) {
        // Where the system cannot do it there is nothing to be thrown away either.
        #[cfg(unix)]
        let _ = rustix::termios::tcflush(io::stdin(), rustix::termios::QueueSelector::IFlush);
    }

    fn show(&mut self, text: &str) -> io::Result<()> {
        self.term.write_all(text.as_bytes())?;
        self.term.flush()
    }

    fn second(&mut self) -> io::Result<bool> {
        #[cfg(unix)]
        {
            use rustix::event::{PollFd, PollFlags, Timespec, poll};
            let stdin = io::stdin();
            let mut waiting = [PollFd::new(&stdin, PollFlags::IN)];
            let second = Timespec {
                tv_sec: 1,
                tv_nsec: 0,
            };
            let pressed = poll(&mut waiting, Some(&second))? > 0;
            if pressed {
                self.discard();
            }
            Ok(pressed)
        }
        #[cfg(not(unix))]
        {
            std::thread::sleep(std::time::Duration::from_secs(1));
            Ok(false)
        }
    }

    fn rewrites(&self) -> bool {
        !self.dumb
    }

    fn columns(&self) -> usize {
        usize::from(self.term.size().1)
    }
}
