use super::*;
use crate::run::tests::{TO_CRANK, Trial};
use crate::run::{Input, Refusal};

fn end(trial: &Trial) -> JournalEnd {
    JournalEnd {
        lines: trial.state.events().len() as u64,
        head: "f".repeat(64),
    }
}

fn sealed(trial: &mut Trial) -> Record {
    trial.put(Input::Proceed).unwrap();
    trial.put(Input::Proceed).unwrap();
    assemble(&trial.library, &trial.state, &end(trial)).unwrap()
}

#[test]
fn a_record_tells_the_path_superseded_answers_included() -> Result<(), Refusal> {
    let mut trial = Trial::after(&TO_CRANK);
    trial.say("even");
    trial.put(Input::Back)?;
    trial.say("yes"); // the open step had revoked "fuel off"
    trial.say("low").say("5.52bar").say("44").say("1.016");
    trial.put(Input::Note("air at the exhaust".to_owned()))?;
    trial.say("yes");
    let record = sealed(&mut trial);
    let first = &record.captures[0];
    assert!(first.superseded && !record.captures[1].superseded);
    let lowest = |at: usize| {
        record.captures[at]
            .analysis
            .clone()
            .unwrap()
            .verdict
            .cylinders
    };
    assert_eq!((lowest(0), lowest(1)), (vec![], vec![3]));
    assert_eq!(record.computed.len(), 1);
    assert_eq!(record.computed[0].facts["loss"], "45.0 %");
    let answered = |step: &str| {
        let entries = record.path.iter().filter(|entry| entry.step == step);
        entries
            .map(|entry| entry.answered.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(answered("test/supply"), ["80 psi (typed: 5.52bar)"]);
    assert_eq!(answered("test/leaks"), ["It loses 45.0 %."]);
    assert_eq!(answered("crank").len(), 2);
    assert!(record.path.is_sorted_by_key(|entry| entry.line));
    assert_eq!(record.lines["firing order"], "1-3-4-2");
    assert_eq!(record.lines["cylinders"], "Four");
    assert_eq!(record.notes[0].text, "air at the exhaust");
    assert!(
        record
            .put_back
            .iter()
            .all(|entry| entry.restored_at.is_some())
    );
    assert_eq!(record.outcome.step, "done");
    assert!(record.decision_rule.contains("95 % interval"));
    assert_eq!(
        record.cautions.len(),
        4,
        "compared, named, leak-down, maker"
    );
    assert_eq!(record.journal_lines, trial.state.events().len() as u64);
    Ok(())
}

/// Going back behind an answer and on again asks it no second time, and the path does not pretend that it did.
#[test]
fn a_carried_answer_tells_when_it_was_given() -> Result<(), Refusal> {
    let mut trial = Trial::after(&TO_CRANK);
    for _ in 0..3 {
        trial.put(Input::Back)?;
    }
    trial.say("4");
    trial.put(Input::Stop("no time".to_owned()))?;
    trial.say("yes");
    let record = sealed(&mut trial);
    let given = |step: &str| {
        let entries = record.path.iter().filter(|entry| entry.step == step);
        let told = entries.map(|entry| (entry.superseded, entry.carried_from.as_deref()));
        told.collect::<Vec<_>>()
    };
    let first = record.path.iter().find(|entry| entry.step == "order");
    let order = first.map(|entry| entry.at.as_str());
    assert_eq!(given("order"), [(true, None), (false, order)]);
    assert_eq!(given("cylinders"), [(true, None), (false, None)]);
    Ok(())
}

#[test]
fn what_is_put_back_after_a_stop_stands_in_the_path() -> Result<(), Refusal> {
    let mut trial = Trial::after(&TO_CRANK);
    trial.put(Input::Stop("no time".to_owned()))?;
    trial.say("yes");
    let record = sealed(&mut trial);
    let last = record.path.last().unwrap();
    assert_eq!(last.step, "put-back/fuel relay");
    assert_eq!(last.action.as_deref(), Some("Refit the fuel relay."));
    assert!(record.outcome.finding.contains("no time"));
    assert_eq!(record.decision_rule, "", "nothing was analysed");
    assert_eq!(record.cautions.len(), 1, "{:?}", record.cautions);
    assert!(record.cautions[0].starts_with("The vehicle maker's procedure"));
    Ok(())
}

/// Not what the procedure would have asked later: only what it did ask.
#[test]
fn a_line_that_was_asked_for_and_not_told_is_named() -> Result<(), Refusal> {
    let mut trial = Trial::after(&TO_CRANK[..2]);
    trial.put(Input::Stop("no time".to_owned()))?;
    let record = sealed(&mut trial);
    assert_eq!(record.untold, ["cylinders"]);
    let mut trial = Trial::after(&TO_CRANK);
    trial.put(Input::Stop("no time".to_owned()))?;
    trial.say("yes");
    assert_eq!(sealed(&mut trial).untold, Vec::<String>::new());
    Ok(())
}

#[test]
fn an_open_job_has_no_record() {
    let mut trial = Trial::after(&["yes", "no"]);
    let open = assemble(&trial.library, &trial.state, &end(&trial));
    assert_eq!(open.unwrap_err(), AssembleError::NotConcluded);
    trial.put(Input::Proceed).unwrap();
    let unsealed = assemble(&trial.library, &trial.state, &end(&trial));
    assert_eq!(unsealed.unwrap_err(), AssembleError::NotSealed);
}
