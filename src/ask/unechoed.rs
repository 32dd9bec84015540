//! Listening for keys without showing them: while a rest is counted down or a folder is watched, what is typed
//! must not run into the line that is written over.

use std::io;
use std::time::{Duration, Instant};

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::termios::{LocalModes, OptionalActions, Termios, tcgetattr, tcsetattr};

/// Ctrl-C, Ctrl-D and Ctrl-Z, as they arrive where the terminal does not act on them itself.
const INTERRUPT: u8 = 3;
const END: u8 = 4;
const SUSPEND: u8 = 26;

/// Most bytes taken at once: a pasted path.
const AT_ONCE: usize = 4096;

/// What was typed within that time, as soon as something was that is heeded; none where nothing was.
///
/// # Errors
/// `Interrupted` and `UnexpectedEof` for Ctrl-C and Ctrl-D, and where the terminal is gone.
pub(super) fn typed_within(
    time: Duration,
    heeds: fn(&str) -> bool,
    suspend: fn(),
) -> io::Result<Option<String>> {
    let until = Instant::now() + time;
    loop {
        let quiet = Quiet::begin()?;
        let left = until.saturating_duration_since(Instant::now());
        let left = Timespec::try_from(left).map_err(io::Error::other)?;
        let stdin = io::stdin();
        if poll(&mut [PollFd::new(&stdin, PollFlags::IN)], Some(&left))? == 0 {
            return Ok(None);
        }
        let mut bytes = [0; AT_ONCE];
        // not by way of the standard library, which would keep what it read too much
        let count = rustix::io::read(&stdin, &mut bytes)?;
        drop(quiet);
        let bytes = &bytes[..count];
        if count == 0 || bytes.contains(&END) {
            return Err(io::Error::from(io::ErrorKind::UnexpectedEof));
        }
        if bytes.contains(&INTERRUPT) {
            return Err(io::Error::from(io::ErrorKind::Interrupted));
        }
        if bytes.contains(&SUSPEND) {
            suspend();
            continue;
        }
        let typed = String::from_utf8_lossy(bytes).into_owned();
        if heeds(&typed) {
            return Ok(Some(typed));
        }
    }
}

/// Wait for a line without taking it, so that Ctrl-C is an error here: reading lines goes on after it.
///
/// # Errors
/// `Interrupted` for Ctrl-C and the like.
pub(super) fn await_line() -> io::Result<()> {
    let stdin = io::stdin();
    poll(&mut [PollFd::new(&stdin, PollFlags::IN)], None)?;
    Ok(())
}

/// The terminal's modes until this is dropped: keys arrive one by one, unseen.
struct Quiet(Termios);

impl Quiet {
    fn begin() -> io::Result<Quiet> {
        let found = tcgetattr(io::stdin())?;
        let mut modes = found.clone();
        modes.local_modes -= LocalModes::ECHO | LocalModes::ICANON | LocalModes::ISIG;
        tcsetattr(io::stdin(), OptionalActions::Now, &modes)?;
        Ok(Quiet(found))
    }
}

impl Drop for Quiet {
    fn drop(&mut self) {
        // nothing else can be done about a terminal that is gone
        let _ = tcsetattr(io::stdin(), OptionalActions::Now, &self.0);
    }
}
