//! Ctrl-C and the like. A question that is open gives way by itself; where the program is busy with
//! something else it ends here, with the terminal as it was found. Every answer is on disk already.

use std::io::Write;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use crate::cli::Failure;

/// How long an open question has to give way.
const GRACE: Duration = Duration::from_millis(500);

/// Exit status of a program that was interrupted, by convention of shells (128 + SIGINT).
pub(crate) const INTERRUPTED: u8 = 130;

/// The person ended the program at a question; the sentence says where that leaves them.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub(crate) struct Interrupted(pub(crate) String);

/// What is said, made when it is needed.
pub(crate) type Said = Arc<dyn Fn() -> String + Send + Sync>;

/// What is done where the program is ended from here; nothing while no run goes on.
static ENDING: Mutex<Option<Ending>> = Mutex::new(None);

/// A process has one handler, however many runs it makes.
static HANDLED: AtomicBool = AtomicBool::new(false);

#[derive(Clone)]
struct Ending {
    /// Said first, made when it is said: what is not as it was by then.
    before: Option<Said>,
    told: String,
    terminal: Saved,
}

/// Watches for interruptions until it is told that what they would break off is over. Whoever watched before
/// watches again then: within a run other questions come up.
pub(crate) struct Watch {
    before: Option<Ending>,
}

impl Watch {
    /// Begin to watch; `told` is said where the program is ended from here.
    pub(crate) fn begin(told: String) -> Result<Watch, Failure> {
        Watch::begin_with(None, told)
    }

    /// The same, with what is said before that.
    pub(crate) fn begin_with(first: Option<Said>, told: String) -> Result<Watch, Failure> {
        let terminal = Saved::take();
        let before = ending().replace(Ending {
            before: first,
            told,
            terminal,
        });
        if !HANDLED.swap(true, Ordering::SeqCst) {
            ctrlc::set_handler(|| {
                std::thread::sleep(GRACE);
                let ended = ending().take();
                if let Some(Ending {
                    before,
                    told,
                    terminal,
                }) = ended
                {
                    terminal.restore();
                    let before = before.map_or_else(String::new, |said| said());
                    // the terminal may be gone; that must not keep the program alive
                    let _ = writeln!(std::io::stderr(), "\n{before}{told}");
                    std::process::exit(INTERRUPTED.into());
                }
            })?;
        }
        Ok(Watch { before })
    }

    /// It is over: what is left to do is short and must not be cut off.
    pub(crate) fn over(self) {
        *ending() = self.before;
    }
}

fn ending() -> MutexGuard<'static, Option<Ending>> {
    ENDING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The terminal as it was found.
#[derive(Clone)]
struct Saved {
    #[cfg(unix)]
    modes: Option<rustix::termios::Termios>,
}

impl Saved {
    fn take() -> Saved {
        Saved {
            #[cfg(unix)]
            modes: rustix::termios::tcgetattr(std::io::stdin()).ok(),
        }
    }

    fn restore(&self) {
        #[cfg(unix)]
        if let Some(modes) = &self.modes {
            // Nothing else can be done about a terminal that is gone.
            let now = rustix::termios::OptionalActions::Now;
            let _ = rustix::termios::tcsetattr(std::io::stdin(), now, modes);
        }
        let term = dialoguer::console::Term::stdout();
        if term.is_term() {
            let _ = term.show_cursor();
        }
    }
}
