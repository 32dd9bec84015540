//! Waiting for a capture that the scope's software saves, where a folder is watched.

use std::io;

use crate::ask::keys::Keys;
use crate::text::{clean, steers};

/// A place where captures appear. Looking at it is the business of who hands it in.
pub trait Watching {
    /// A capture is asked for: what is there now is not meant.
    fn begin(&mut self);

    /// The path of the next one, once it is complete; asked about once a second.
    fn look(&mut self) -> Option<String>;

    /// The place, as shown.
    fn shown(&self) -> String;
}

/// What came while a place was watched.
pub(super) enum Waited {
    /// The path of the next capture.
    Capture(String),
    /// Nothing: the person types instead.
    Typing,
    /// The person typed or pasted a whole line.
    Line(String),
}

/// Wait for the next capture, or for the person to type.
pub(super) fn wait(keys: &mut impl Keys, place: &mut dyn Watching) -> io::Result<Waited> {
    keys.show(&format!(
        "  Waiting for the next capture in {}. Or type a path or :key.\n",
        clean(&place.shown())
    ))?;
    loop {
        if let Some(typed) = keys.second(|_| true)? {
            return heard(keys, &typed);
        }
        if let Some(path) = place.look() {
            keys.show(&format!("  → {}\n", clean(&path)))?;
            return Ok(Waited::Capture(path));
        }
    }
}

fn heard(keys: &mut impl Keys, typed: &str) -> io::Result<Waited> {
    // an arrow key and its like say nothing
    let text = if typed.starts_with('\u{1b}') {
        ""
    } else {
        typed
    };
    if let Some((line, _)) = text.split_once(['\r', '\n'])
        && !line.trim().is_empty()
    {
        keys.show(&format!("  → {}\n", clean(line)))?;
        return Ok(Waited::Line(line.to_owned()));
    }
    keys.begun(text.chars().filter(|c| !steers(*c)).collect());
    Ok(Waited::Typing)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ask::tests::Person;

    #[test]
    fn what_is_typed_while_waiting_is_not_lost() {
        let came = |typed: &str| {
            let mut person = Person::new("", &[]);
            let came = heard(&mut person, typed).unwrap();
            let seen = person.seen.borrow().clone();
            (came, seen)
        };
        let (pasted, seen) = came("/scope/one.csv\r");
        assert!(matches!(pasted, Waited::Line(line) if line == "/scope/one.csv"));
        assert_eq!(seen, "  → /scope/one.csv\n");
        let (begun, seen) = came(":");
        assert!(matches!(begun, Waited::Typing));
        assert_eq!(seen, "[begun :]");
        for nothing in ["\r", "\u{1b}[A"] {
            assert_eq!(came(nothing).1, "[begun ]", "{nothing:?}");
        }
    }
}
