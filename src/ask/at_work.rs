//! A sign that the program is at work, where something takes longer than a glance.

use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// What is done sooner than this shows no sign.
const UNNOTICED: Duration = Duration::from_millis(500);

/// From one picture of the sign to the next.
const STEP: Duration = Duration::from_millis(120);

/// Work that somebody waits for; dropped when it is done.
#[derive(Debug)]
pub(super) struct Patience {
    done: Option<Sender<()>>,
    sign: Option<JoinHandle<()>>,
}

impl Patience {
    /// The work begins.
    pub(super) fn begin(what: String) -> Self {
        let (done, over) = channel::<()>();
        let sign = std::thread::spawn(move || {
            let wait = |time| over.recv_timeout(time) == Err(RecvTimeoutError::Timeout);
            if !wait(UNNOTICED) {
                return;
            }
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stdout());
            if let Ok(style) = ProgressStyle::with_template("  {spinner} {msg}, {elapsed}") {
                bar.set_style(style);
            }
            bar.set_elapsed(UNNOTICED);
            bar.set_message(what);
            bar.tick();
            while wait(STEP) {
                bar.tick();
            }
            bar.finish_and_clear();
        });
        Patience {
            done: Some(done),
            sign: Some(sign),
        }
    }
}

impl Drop for Patience {
    fn drop(&mut self) {
        drop(self.done.take());
        if let Some(sign) = self.sign.take() {
            // a sign that broke off leaves nothing to be mended
            let _ = sign.join();
        }
    }
}
