//! After a break: in which order what may have changed is made sure of again.

use super::*;
use crate::procedure::read_library;
use crate::procedure::work::Work;

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
