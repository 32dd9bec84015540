//! A journal written by its form and not by the program, for the tests of the record and of the register.

use evenfire::record::digest;
use evenfire::run::event::{Event, Stamped};

/// The journal of events that happened at these times, and the hash of its last line.
pub fn text(events: &[(&str, Event)]) -> (String, String) {
    let (mut text, mut head) = (String::new(), "0".repeat(64));
    for ((at, event), n) in events.iter().zip(1..) {
        let stamped = Stamped {
            at: (*at).to_owned(),
            event: event.clone(),
        };
        let ev = serde_json::to_string(&stamped).unwrap();
        head = digest::of_bytes(format!("{head}\n{n}\n{ev}").as_bytes());
        text += &format!("{{\"n\":{n},\"h\":\"{head}\",\"ev\":{ev}}}\n");
    }
    (text, head)
}
