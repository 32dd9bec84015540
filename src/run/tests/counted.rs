//! The cranks that count for the starter: with and without a capture, taken, refused or left.

use super::driven::{List, cranking, drive_by, to_crank};
use super::*;
use crate::run::asker::{NoAnswer, Reply};
use crate::run::drive::Ended;

/// A crank counts for the starter whether or not a capture came of it, and after a break as well; the reason to
/// cut a rest short holds until the starter turns again.
#[test]
fn a_crank_without_a_capture_is_counted_for_the_rest() {
    let folder = tempfile::tempdir().unwrap();
    let library = cranking();
    let mut replies = to_crank();
    replies.extend([
        Reply::Cranked("scope was off".to_owned()),
        Reply::Note("on now".to_owned()),
        Reply::Yes,
        Reply::Cranked("not saved".to_owned()),
        Reply::Yes,
        Reply::Pause,
    ]);
    let mut list = List::of(&replies);
    assert_eq!(drive_by(&library, folder.path(), &mut list), Ended::Paused);
    let cranks: Vec<usize> = list.rests.iter().map(|due| due.cranks).collect();
    assert_eq!(cranks, [1, 2]);
    assert_eq!((list.rests[1].turned, list.rests[1].seconds), (20, 120));
    let bytes = std::fs::read(folder.path().join("journal.jsonl")).unwrap();
    let lines = journal::read(&bytes).unwrap().lines;
    let reasons: Vec<&str> = lines
        .iter()
        .filter_map(|line| match &line.event.event {
            Event::Cranked { step, reason, .. } => {
                assert_eq!(step, "crank");
                Some(reason.as_str())
            }
            _ => None,
        })
        .collect();
    assert_eq!(reasons, ["scope was off", "not saved"]);
    let mut list = List::of(&[Reply::Yes, Reply::Yes, Reply::Pause]);
    drive_by(&library, folder.path(), &mut list);
    assert_eq!(list.asked.last().unwrap(), "crank");
    assert_eq!(list.rests.len(), 1, "asked again after the break");
}

/// A capture is a crank, whether it is taken or not; the same one handed over again is the same crank. Another
/// one before the rest was over is told and written down.
#[test]
fn a_capture_that_is_not_taken_is_a_crank() {
    let library = cranking();
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| Reply::File(name.to_owned());
    let mut replies = to_crank();
    replies.extend([
        file("missing"),
        file("low unread"),
        file("low unread"),
        file("low"),
        Reply::Back,
        Reply::Pause,
    ]);
    let mut list = List::of(&replies);
    assert_eq!(drive_by(&library, folder.path(), &mut list), Ended::Paused);
    assert_eq!(list.counted.len(), 1, "{:?}", list.counted);
    let same = "This is the same recording that was refused at 2026-03-02T08:00:00Z; correct";
    assert!(!list.refused[1].contains("same recording"));
    assert!(list.refused[2].contains(same), "{:?}", list.refused);
    assert!(
        list.counted[0].contains("rests 120 s"),
        "{:?}",
        list.counted
    );
    assert!(list.rests.is_empty(), "the same capture waits for no rest");
    let anew = [Reply::CrankAnew, Reply::Yes, Reply::Yes];
    let mut list = List::of(&[&anew[..], &[file("even unread"), Reply::Pause]].concat());
    drive_by(&library, folder.path(), &mut list);
    let cranks: Vec<usize> = list.rests.iter().map(|due| due.cranks).collect();
    assert_eq!(cranks, [1], "one crank before the break");

    let folder = tempfile::tempdir().unwrap();
    let mut replies = to_crank();
    replies.extend([file("low unread"), file("even"), Reply::Yes]);
    let mut list = List::of(&replies);
    assert_eq!(drive_by(&library, folder.path(), &mut list), Ended::Sealed);
    assert!(
        list.counted[1].contains("rest not kept"),
        "{:?}",
        list.counted
    );
    let bytes = std::fs::read(folder.path().join("journal.jsonl")).unwrap();
    let lines = journal::read(&bytes).unwrap().lines;
    let noted = lines.iter().any(
        |line| matches!(&line.event.event, Event::Noted { text, .. } if *text == list.counted[1]),
    );
    assert!(noted);
}

/// A table that was handed over and left where its columns were asked for was recorded: the starter has turned for it, and
/// turns for no second one when it is handed over again.
#[test]
fn a_capture_that_was_left_at_its_columns_is_a_crank() {
    let library = cranking();
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| Reply::File(name.to_owned());
    let mut list = List::of(&[&to_crank()[..], &[file("low of columns")]].concat());
    let left = Ended::Left(NoAnswer::Interrupted);
    assert_eq!(drive_by(&library, folder.path(), &mut list), left);
    assert!(
        list.counted[0].contains("rests 120 s"),
        "{:?}",
        list.counted
    );
    let mut list = List::of(&[
        Reply::Yes,
        Reply::Yes,
        file("low"),
        Reply::Back,
        Reply::Pause,
    ]);
    drive_by(&library, folder.path(), &mut list);
    let cranks: Vec<usize> = list.rests.iter().map(|due| due.cranks).collect();
    assert_eq!(cranks, [1]);
    let bytes = std::fs::read(folder.path().join("journal.jsonl")).unwrap();
    let lines = journal::read(&bytes).unwrap().lines;
    let cranked = lines
        .iter()
        .filter(|line| matches!(&line.event.event, Event::Cranked { .. }));
    assert_eq!(cranked.count(), 1);
}
