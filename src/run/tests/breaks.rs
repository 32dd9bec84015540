//! After a break: in which order what may have changed is made sure of again.

use super::driven::{List, drive_by, typed};
use super::*;
use crate::procedure::model::Question;
use crate::procedure::read_library;
use crate::procedure::scaffold::{Kind, sheet};
use crate::procedure::work::Work;
use crate::run::asker::{NoAnswer, Reply};
use crate::run::drive::Ended;

/// Eyes before hands go to the vehicle, in the list and in the questions.
#[test]
fn eyes_are_protected_before_anything_else_is_looked_at() {
    let mut trial = Trial::new();
    let steps = &mut trial.library.procedures.get_mut("look").unwrap().steps;
    steps[1].establishes = conditions(&["battery area safe"]);
    steps[4].establishes = conditions(&["eyes protected"]);
    steps[5].needs = conditions(&["battery area safe", "eyes protected"]);
    for procedure in trial.library.procedures.values_mut() {
        let taken = |step: &mut crate::procedure::model::Step<_>| {
            step.needs.retain(|need| need.0 != "vehicle held");
        };
        procedure.steps.iter_mut().for_each(taken);
    }
    for word in TO_CRANK {
        trial.say(word);
    }
    trial.put(resume()).unwrap();
    let last = trial.state.events().last().unwrap().event.clone();
    let lapsed = conditions(&["eyes protected", "battery area safe"]);
    assert_eq!(last, Event::Resumed { lapsed });
    assert_eq!(trial.due(), "fuel");
    trial.say("yes");
    assert_eq!(trial.due(), "hold");
    trial.say("yes");
    assert_eq!(trial.due(), "crank");
}

/// Whoever takes up a job with leads at the battery is asked for eyes and for the battery's air before a lead is touched.
#[test]
fn shipped_leads_need_eyes_and_air() {
    let source = |name: &str| {
        let file = format!("{}/procedures/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(&file).ok()?;
        Some((file, text))
    };
    let library = read_library("relative-compression", &source).unwrap();
    let needed = |procedure: &str, condition: &str| {
        let steps = library.procedures[procedure].steps.iter();
        let mut leads = steps.filter(|step| step.work.contains(&Work::ConnectLeads));
        leads.all(|step| step.needs.iter().any(|need| need.0 == condition))
    };
    for procedure in ["relative-compression", "cranking-circuit"] {
        assert!(needed(procedure, "battery area safe"), "{procedure}");
    }
    for procedure in [
        "relative-compression",
        "cranking-circuit",
        "cam-correlation",
    ] {
        assert!(needed(procedure, "eyes protected"), "{procedure}");
    }
}

/// Over a break the engine stands: it is started again before the reading that is still due, after everybody is clear.
#[test]
fn an_engine_that_idled_is_started_again() {
    let source =
        |name: &str| (name == "run").then(|| (name.to_owned(), sheet(Kind::Running, name)));
    let mut library = read_library("run", &source).unwrap();
    let run = library.procedures.remove("run").unwrap();
    let ahead = run
        .steps
        .iter()
        .take_while(|step| step.id != "snap-reading");
    let replies: Vec<Reply> = ahead
        .map(|step| match (&step.question, step.id.as_str()) {
            (Question::Confirm { .. }, _) => Reply::Yes,
            (_, "cylinder") => typed("2"),
            (_, "cranking-reading") => typed("150 psi"),
            (_, "idle-reading") => typed("75 psi"),
            _ => typed("Cinder Hatch"),
        })
        .collect();
    library.procedures.insert("look".to_owned(), run);
    let folder = tempfile::tempdir().unwrap();
    let mut begun = List::of(&replies);
    let left = Ended::Left(NoAnswer::Interrupted);
    assert_eq!(drive_by(&library, folder.path(), &mut begun), left);
    assert_eq!(begun.asked.last().unwrap(), "snap-reading");

    let mut again = List::of(&vec![Reply::Yes; replies.len()]);
    drive_by(&library, folder.path(), &mut again);
    let asked = again.asked.iter().take_while(|id| *id != "snap-reading");
    let asked: Vec<&str> = asked.map(String::as_str).collect();
    assert_eq!(asked[asked.len() - 2..], ["clear-to-run", "run-idle"]);
    assert_eq!(again.asked[asked.len()], "snap-reading");
}

/// A no to what is asked once more, on a way that was proved for the beginning of the job: the relay is out by now, and goes
/// back before remote start is on again.
#[test]
fn a_no_after_a_break_puts_back_all_that_is_off_by_then() {
    let source =
        |name: &str| (name == "look").then(|| (name.to_owned(), sheet(Kind::Cranking, name)));
    let library = read_library("look", &source).unwrap();
    let steps = &library.procedures["look"].steps;
    let ahead = steps.iter().take_while(|step| step.id != "prove");
    let replies: Vec<Reply> = ahead
        .map(|step| match (&step.question, step.id.as_str()) {
            (Question::Confirm { .. }, _) => Reply::Yes,
            (_, "cylinders") => typed("4"),
            (_, "firing-order") => typed("1 3 4 2"),
            _ => typed("Cinder Hatch"),
        })
        .collect();
    let folder = tempfile::tempdir().unwrap();
    let mut begun = List::of(&replies);
    drive_by(&library, folder.path(), &mut begun);
    assert_eq!(begun.asked.last().unwrap(), "prove");

    let mut replies = vec![Reply::Yes; 12];
    replies[0] = Reply::No;
    let mut again = List::of(&replies);
    drive_by(&library, folder.path(), &mut again);
    assert_eq!(
        again.asked,
        [
            "key-away",
            "put-back/engine off, key out",
            "put-back/fuel pump relay",
            "put-back/remote start and stop-start"
        ]
    );
}
