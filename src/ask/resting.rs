//! The starter's rest as a countdown at the terminal. It can be cut short, with a reason, never unseen.

use std::io;

use crate::ask::keys::Keys;
use crate::ask::layout::Layout;
use crate::run::starter::{RestDue, Rested};
use crate::text::clean;

/// Seconds between two lines where a line cannot be written over.
const TOLD_EACH: u32 = 15;

/// Least words of a reason: one would be a key that was pressed.
const LEAST_WORDS: usize = 2;

/// Keys that are heeded: Enter, and those that go back.
const HEEDED: [char; 4] = ['\r', '\n', BACK[0], BACK[1]];
const BACK: [char; 2] = ['b', 'B'];

const REASON: &str = "Reason to crank now (Enter: go on resting)";

/// Count down.
pub(super) fn countdown(keys: &mut impl Keys, layout: Layout, due: &RestDue) -> io::Result<Rested> {
    keys.show(&format!("\n{}", layout.sentence(&due.told())))?;
    keys.show(&layout.sentence(
        "A hot starter burns out. Enter cuts the rest short and asks why; b goes back.",
    ))?;
    let mut left = due.lasts;
    while left > 0 {
        show_left(keys, left, left == due.lasts)?;
        let Some(typed) = keys.second(|typed| typed.contains(HEEDED))? else {
            left -= 1;
            continue;
        };
        if keys.rewrites() {
            keys.show("\n")?;
        }
        if typed.contains(BACK) {
            return Ok(Rested::Back);
        }
        let reason = keys.line(REASON)?;
        let reason = clean(&reason);
        if reason.split_whitespace().count() >= LEAST_WORDS {
            return Ok(Rested::Cut {
                left_s: left,
                reason: reason.trim().to_owned(),
            });
        }
        if !reason.trim().is_empty() {
            keys.show(&layout.sentence("Two words at least, for the record: the rest goes on."))?;
        }
    }
    let end = if keys.rewrites() { "\r" } else { "" };
    keys.show(&format!("{end}  The starter has rested.      \n"))?;
    Ok(Rested::Whole)
}

fn show_left(keys: &mut impl Keys, left: u32, first: bool) -> io::Result<()> {
    if keys.rewrites() {
        keys.show(&format!("\r  {left:>4} s of rest left "))
    } else if first || left.is_multiple_of(TOLD_EACH) {
        keys.show(&format!("  {left} s of rest left\n"))
    } else {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ask::tests::Person;
    use crate::engine::starter_duty::StarterDuty;

    fn due() -> RestDue {
        RestDue {
            seconds: 40,
            lasts: 40,
            turned: 10,
            made_of: vec!["10 s for a capture (5 s ago)".to_owned()],
            next: 10,
            cranks: 1,
            limit: StarterDuty::default(),
        }
    }

    fn counted(keys: &str, lines: &[&'static str]) -> (io::Result<Rested>, String) {
        let mut person = Person::new(keys, lines);
        let rested = countdown(&mut person, Layout::new(80, false), &due());
        let seen = person.seen.borrow().clone();
        (rested, seen)
    }

    #[test]
    fn a_rest_is_counted_to_its_end() {
        let (rested, seen) = counted("", &[]);
        assert_eq!(rested.unwrap(), Rested::Whole);
        for told in [
            "turned 10 s",
            "40 s of rest left",
            "30 s",
            "15 s",
            "has rested",
        ] {
            assert!(seen.contains(told), "{told}: {seen}");
        }
    }

    #[test]
    fn b_leaves_the_rest_for_the_question_before() {
        let (rested, seen) = counted("yb", &[]);
        assert_eq!(rested.unwrap(), Rested::Back);
        assert!(
            seen.contains("b goes back") && !seen.contains("has rested"),
            "{seen}"
        );
    }

    #[test]
    fn it_is_cut_short_with_a_reason_only() {
        let (rested, _) = counted("\n", &["  "]);
        assert_eq!(rested.unwrap(), Rested::Whole);
        let (rested, seen) = counted("\n", &["y"]);
        assert_eq!(rested.unwrap(), Rested::Whole);
        assert!(seen.contains("Two words at least"), "{seen}");
        // other keys are typed ahead, and say nothing
        let (rested, _) = counted("yp\n", &["the case is cold"]);
        let cut = Rested::Cut {
            left_s: 38,
            reason: "the case is cold".to_owned(),
        };
        assert_eq!(rested.unwrap(), cut);
    }
}
