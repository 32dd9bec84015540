//! Waiting for a capture that the scope's software saves, where a folder is watched.

use std::io;

use crate::ask::keys::Keys;

/// A place where captures appear. Looking at it is the business of who hands it in.
pub trait Watching {
    /// A capture is asked for: what is there now is not meant.
    fn begin(&mut self);

    /// The path of the next one, once it is complete; asked about once a second.
    fn look(&mut self) -> Option<String>;

    /// The place, as shown.
    fn shown(&self) -> String;
}

/// Wait for the next capture; none where the person presses Enter to type something instead.
pub(super) fn wait(keys: &mut impl Keys, place: &mut dyn Watching) -> io::Result<Option<String>> {
    keys.show(&format!(
        "  Waiting for the next capture in {}. Enter: type a path or :key instead.\n",
        place.shown()
    ))?;
    loop {
        if keys.second()? {
            return Ok(None);
        }
        if let Some(path) = place.look() {
            keys.show(&format!("  → {path}\n"))?;
            return Ok(Some(path));
        }
    }
}
