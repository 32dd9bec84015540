//! Replies that are looked at before they are taken, and what is said where the work is left.

use super::driven::{List, cranking, drive_by, to_crank, typed};
use super::*;
use crate::procedure::model::{Next as Way, Question, RecordLine, StepIndex, TextForm};
use crate::run::asker::Reply;
use crate::run::drive::Ended;

/// The small job, with the vehicle named before its drive is asked about.
fn named_first() -> Library {
    let mut library = library();
    let outer = library.procedures.get_mut("look").unwrap();
    outer.steps[0].establishes.clear();
    outer.steps[0].fills = Some(RecordLine::Vehicle);
    outer.steps[0].question = Question::Note {
        ask: "Which vehicle?".to_owned(),
        form: TextForm::Text,
        next: Way::Always(StepIndex(1)),
    };
    outer.steps[1].establishes = sample::conditions(&["drive checked", "vehicle held"]);
    library
}

/// Whoever wrote that it is a hybrid and then says that it is none is asked once more, also after going back to
/// describe it otherwise; the second yes stands in the journal as such.
#[test]
fn a_yes_that_the_description_speaks_against_is_asked_once_more() {
    let library = named_first();
    let folder = tempfile::tempdir().unwrap();
    let mut list = List::of(&[
        typed("estate 1.4"),
        Reply::Yes,
        Reply::Back,
        Reply::Back,
        typed("Hybrid estate"),
        Reply::Yes,
        Reply::Note("looked up".to_owned()),
        Reply::Yes,
        Reply::Yes,
        Reply::Pause,
    ]);
    assert_eq!(drive_by(&library, folder.path(), &mut list), Ended::Paused);
    assert_eq!(
        list.asked[2..],
        [
            "cylinders",
            "hold",
            "drive",
            "hold",
            "hold",
            "hold",
            "hold",
            "cylinders"
        ]
    );
    assert_eq!(list.refused.len(), 2, "{:?}", list.refused);
    assert!(list.refused[0].starts_with("you described the vehicle as \"Hybrid estate\""));
    let lines = lines_of(folder.path());
    let noted = |line: &&journal::Line| matches!(&line.event.event, Event::Noted { text, step } if step == "hold" && text.contains("given twice"));
    assert_eq!(lines.iter().filter(noted).count(), 1);
    let mut no = List::of(&[typed("48 V estate"), Reply::No, Reply::Pause]);
    let folder = tempfile::tempdir().unwrap();
    drive_by(&library, folder.path(), &mut no);
    assert!(no.refused.is_empty());
}

fn lines_of(folder: &std::path::Path) -> Vec<journal::Line> {
    let bytes = std::fs::read(folder.join("journal.jsonl")).unwrap();
    journal::read(&bytes).unwrap().lines
}

/// Whoever stops at the very first question is asked once which vehicle it is; what cannot be one is asked again, and
/// nothing is taken for none.
#[test]
fn a_stop_before_the_vehicle_is_named_asks_for_it_once() {
    let library = named_first();
    let stop = || Reply::Stop("customer came back".to_owned());
    let vehicles = |said: &[&str]| {
        let folder = tempfile::tempdir().unwrap();
        let mut list = List::of(&[stop()]);
        list.vehicle = said.iter().map(|text| (*text).to_owned()).collect();
        assert_eq!(drive_by(&library, folder.path(), &mut list), Ended::Sealed);
        assert!(list.vehicle.is_empty());
        let lines = lines_of(folder.path());
        let said = lines.iter().filter_map(|line| match &line.event.event {
            Event::Answered {
                answer: Answer::Text { text },
                ..
            } => Some(text.clone()),
            _ => None,
        });
        said.collect::<Vec<_>>()
    };
    assert_eq!(vehicles(&["-", "EX 1234"]), ["EX 1234"]);
    assert_eq!(vehicles(&[]), [""; 0]);
    let folder = tempfile::tempdir().unwrap();
    let mut list = List::of(&[typed("estate 1.4"), stop()]);
    list.vehicle.push_back("never asked for".to_owned());
    drive_by(&library, folder.path(), &mut list);
    assert_eq!(list.vehicle.len(), 1);
}

/// Work that was left after a capture that could not be read was not "not carried out"; one that was taken once it was
/// corrected, and judged, says nothing more of that.
#[test]
fn work_that_is_left_after_a_refused_capture_says_so() {
    let library = cranking();
    let found = |files: &[&str]| {
        let folder = tempfile::tempdir().unwrap();
        let mut replies = to_crank();
        replies.extend(files.iter().map(|file| Reply::File((*file).to_owned())));
        replies.extend([Reply::Stop("no time".to_owned()), Reply::Yes]);
        let mut list = List::of(&replies);
        assert_eq!(drive_by(&library, folder.path(), &mut list), Ended::Sealed);
        list.found.unwrap()
    };
    assert_eq!(
        found(&["low unread"]),
        "No verdict: the one recording of the turning engine was refused (low: no such column); then the work was left"
    );
    let plain = OutcomeKind::NotDone.words();
    assert_eq!(found(&[]), plain);
    let once =
        "Not finished: 1 recording of the turning engine gave a result that no second one confirms";
    assert!(found(&["low unread", "low"]).starts_with(once));
}
