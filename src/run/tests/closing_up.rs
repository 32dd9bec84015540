//! The shipped sheet for relative compression, gone through as usual up to a step: what is said there of the key, of
//! tries that are used up, and of what goes back after a stop.

use super::*;
use crate::procedure::model::TextForm;
use crate::procedure::read_library;
use crate::run::compute::Computed;
use crate::run::event::Opening;
use crate::run::screen::{Screen, disabled};
use crate::run::state::State;

/// A job by the shipped sheet, before its first question.
fn shipped() -> Trial {
    let source = |name: &str| {
        let file = format!("{}/procedures/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(&file).ok()?;
        Some((file, text))
    };
    let opening = Opening {
        procedure: "relative-compression".to_owned(),
        ..opened().opening().unwrap().clone()
    };
    Trial {
        library: read_library("relative-compression", &source).unwrap(),
        state: State::fold(&[stamped(Event::Opened(opening))]),
    }
}

impl Trial {
    fn screen(&self) -> Screen {
        match self.next() {
            Next::Ask(screen) => *screen,
            other => panic!("nothing is asked: {other:?}"),
        }
    }

    /// Answer as usual until that step is due; every capture is one that cannot be judged.
    fn until(self, step: &str, choices: &[(&str, &str)]) -> Self {
        let unclear = |step: &str| step.ends_with("judge").then(unclear);
        self.until_by(step, choices, &unclear)
    }

    /// The same with what some steps are to compute.
    fn until_by(
        mut self,
        step: &str,
        choices: &[(&str, &str)],
        computed: &dyn Fn(&str) -> Option<Computed>,
    ) -> Self {
        while self.due() != step {
            let input = match self.next() {
                Next::Compute { step, request, .. } => {
                    let request = request.unwrap();
                    let usual = || request.compute(&mut Bench).unwrap();
                    Input::Computed(computed(&step).unwrap_or_else(usual))
                }
                Next::Ask(screen) => usual(&screen, choices),
                other => panic!("{step} was not come to: {other:?}"),
            };
            self.put(input).unwrap();
        }
        self
    }
}

fn unclear() -> Computed {
    of_facts(&[
        ("result", "unclear"),
        ("verdict", "inconclusive"),
        ("why", "It was too short."),
    ])
}

fn of_facts(facts: &[(&str, &str)]) -> Computed {
    let facts = facts
        .iter()
        .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()));
    Computed {
        facts: facts.collect(),
        ..Computed::default()
    }
}

fn usual(screen: &Screen, choices: &[(&str, &str)]) -> Input {
    let typed = |text: String| Input::Typed { text, before: None };
    match &screen.form {
        Form::Choose(offered) => {
            let wanted = choices.iter().find(|(step, _)| *step == screen.step);
            let first = offered[0].name.as_str();
            Input::Choose(wanted.map_or(first, |(_, choice)| *choice).to_owned())
        }
        Form::Number(form) => {
            let range = form.expected.as_ref().unwrap_or(&form.possible);
            typed(range.greatest.to_string())
        }
        Form::Text(TextForm::FiringOrder) => typed("1-2-3-4-5-6-7-8".to_owned()),
        Form::Text(TextForm::FiringIntervals) => typed("even".to_owned()),
        Form::Text(_) => typed("Cinder Hatch".to_owned()),
        Form::Capture(_) => Input::Capture(capture("low")),
        _ => Input::Confirm(true),
    }
}

/// What a stop has put back, each with its screen.
fn put_back(mut trial: Trial) -> Vec<(String, Screen)> {
    trial.put(Input::Stop("a phone call".to_owned())).unwrap();
    let mut all = Vec::new();
    while let Next::Ask(screen) = trial.next() {
        let item = screen.step.strip_prefix("put-back/").unwrap().to_owned();
        all.push((item, *screen));
        trial.put(Input::Confirm(true)).unwrap();
    }
    all
}

const POSTS: [(&str, &str); 1] = [("signal", "posts")];

#[test]
fn a_stopped_job_is_closed_up_in_the_order_and_words_of_the_sheet() {
    let asked = put_back(shipped().until("crank", &POSTS));
    let items: Vec<&str> = asked.iter().map(|(item, _)| item.as_str()).collect();
    assert_eq!(
        items,
        [
            "engine off, key out",
            "test leads",
            "battery charger",
            "fuel pump relay",
            "fault memory",
            "remote start and stop-start",
            "wheel chocks"
        ]
    );
    let library = shipped().library;
    let steps = &library.procedures["relative-compression"].steps;
    for (at, step, own) in [
        (1, "leads-off-not-done", "Count the leads."),
        (3, "put-back-not-done", "Count your tools."),
        (6, "close-not-done", "Chocks away last."),
    ] {
        let (item, screen) = &asked[at];
        let step = steps.iter().find(|known| known.id == step).unwrap();
        assert_eq!(screen.hazards, step.hazards, "{item}");
        let action = screen.action.as_deref().unwrap();
        assert!(action.contains(own), "{item}: {action}");
    }
    let said_at = |at: usize| asked[at].1.action.as_deref().unwrap();
    let early = said_at(2);
    assert!(
        !early.contains("Count your tools"),
        "said with the last of them: {early}"
    );
    let bonnet = "Shut the bonnet. Only then switch remote start";
    assert!(said_at(5).contains(bonnet), "{}", said_at(5));
}

/// What a called sheet took off goes back before what its caller did.
#[test]
fn what_a_called_sheet_took_off_goes_back_first() {
    let way = [("signal", "posts"), ("offer-circuit", "now")];
    let asked = put_back(shipped().until("circuit-test/tug", &way));
    let items: Vec<&str> = asked.iter().map(|(item, _)| item.as_str()).collect();
    assert_eq!(items[..2], ["meter leads", "battery charger"]);
    assert!(
        asked[0]
            .1
            .action
            .as_deref()
            .unwrap()
            .contains("a phone call")
    );
}

#[test]
fn a_key_that_may_be_in_heads_what_is_not_as_it_was() {
    let first = |trial: &Trial| disabled(&trial.walk())[0].clone();
    let proof = shipped().until("prove", &[]);
    assert!(
        first(&proof).starts_with("key: Engine off"),
        "{}",
        first(&proof)
    );
    let cut = shipped().until("cut-relay", &[]);
    assert!(first(&cut).starts_with("remote start"), "{}", first(&cut));
}

#[test]
fn tries_that_are_used_up_are_named_with_what_their_captures_came_to() {
    let trial = shipped().until("leads-off-used-up", &POSTS);
    let action = trial.screen().action.unwrap();
    let told = "This came up 3 times, as often as the sheet lets it: \"The cause is mended, nothing moved under the \
                tug, and the line lies quiet.\"\nCapture 1: It was too short.\nCapture 2: ";
    assert!(action.starts_with(told), "{action}");
    assert_eq!(action.matches("It was too short.").count(), 4, "{action}");
    assert!(action.contains("The tries are used up"), "{action}");
}

/// The step in its place asks the same once more and says why: the count would be of what was asked, not of what went
/// wrong.
#[test]
fn tries_are_not_counted_where_what_stands_in_asks_the_same() {
    let mut trial = shipped();
    for _ in 0..3 {
        trial = trial.until("prove", &POSTS);
        trial.put(Input::Confirm(false)).unwrap();
        trial.put(Input::Confirm(true)).unwrap();
    }
    assert_eq!(trial.due(), "fired-too-often");
    let action = trial.screen().action.unwrap();
    assert!(
        action.starts_with("The engine fired in every proof"),
        "{action}"
    );
}

/// Each capture by itself says the same, so what the comparison found is all that tells them apart.
#[test]
fn what_a_second_capture_differs_in_is_said_where_it_is_to_be_mended() {
    let why = "Cylinder 3 reads 50 to 56 % in the first capture and 60 to 66 % in the second.";
    let differ = |step: &str| {
        let facts = [("agreement", "differ"), ("why", why)];
        step.starts_with("compare").then(|| of_facts(&facts))
    };
    let trial = shipped().until_by("unsettled", &POSTS, &differ);
    let action = trial.screen().action.unwrap();
    let told = format!("What differs: {why}\nThe second capture does not confirm");
    assert!(action.starts_with(&told), "{action}");
    let judged = trial.until_by("rest-again", &POSTS, &differ);
    let action = judged.screen().action.unwrap_or_default();
    assert!(!action.contains("What differs"), "{action}");
}

/// No key of its own answers for an engine that fires while a crank is recorded; the screen says what to do.
#[test]
fn an_engine_that_fires_is_spoken_of_where_a_crank_is_recorded() {
    let told = |step: &str| shipped().until(step, &POSTS).screen().hint;
    assert!(told("crank").unwrap().contains("Key out first."));
    assert!(
        !told("key-out")
            .unwrap_or_default()
            .contains("Key out first.")
    );
}

/// Said before a no: the question that it leads to, or what it ends; and it does so.
#[test]
fn what_a_no_leads_to_is_said_before_it() {
    let after_no = |step: &str, choices: &[(&str, &str)]| {
        let mut trial = shipped().until(step, choices);
        let told = trial.screen().hint.unwrap_or_default();
        trial.put(Input::Confirm(false)).unwrap();
        (told, trial)
    };
    let alive = [("reference", "ignition"), ("signal", "posts")];
    for (step, choices) in [("prove", &POSTS[..]), ("ignition-alive", &alive)] {
        let (told, trial) = after_no(step, choices);
        let next = trial.screen().asked;
        assert_eq!(told, format!("After a no comes: {next:?}"), "{step}");
    }
    let (told, trial) = after_no("mend", &POSTS);
    let ends = "No ends this part; you are then led through putting back what was taken off.";
    assert!(told.starts_with(ends), "{told}");
    assert_eq!(trial.due(), "leads-off-no-verdict");
    let again = |trial: &Trial| {
        trial.screen().hint.as_deref() == Some("After a no this is asked once more.")
    };
    let mut trial = trial;
    assert!(again(&trial), "{:?}", trial.screen().hint);
    trial.put(Input::Confirm(false)).unwrap();
    assert_eq!(trial.due(), "leads-off-no-verdict");
}

/// What may be asked a few times only is not promised beyond that.
#[test]
fn a_no_promises_no_question_that_is_used_up() {
    let alive = [("reference", "ignition"), ("signal", "posts")];
    let mut trial = shipped().until("ignition-alive", &alive);
    for time in 1..=4 {
        let told = trial.screen().hint.unwrap();
        let ends = told.starts_with("No ends the test; you are then led through putting all back.");
        assert_eq!(ends, time == 4, "{time}: {told}");
        trial.put(Input::Confirm(false)).unwrap();
        if time < 4 {
            trial = trial.until("ignition-alive", &alive);
        }
    }
    assert_eq!(trial.due(), "put-back-not-done");
}

/// What was taken off on a way that was gone back from is put back before the sheet's own putting back switches on what
/// starts the engine.
#[test]
fn what_was_gone_back_from_goes_back_before_the_rest() {
    let remote = "    then: remote\n    if-not: turned-away\n  remote:\n    do: Remote start off.\n    work: none\n    \
                  disables: {remote start: Remote start on.}\n    confirm: It is off.\n    then: rest-reading\n    \
                  if-not: remote-on\n  remote-on:\n    do: Remote start on.\n    work: none\n    restores: [remote start]\n    \
                  confirm: It is on.\n    then: turned-away\n    if-not: again\n  rest-reading:";
    let text = include_str!("../../procedure/check/tests/sound.yaml")
        .replace(
            "    then: rest-reading\n    if-not: turned-away\n  rest-reading:",
            remote,
        )
        .replace(
            "\"< 12.20\"\n        go: turned-away",
            "\"< 12.20\"\n        go: remote-on",
        )
        .replace(
            "restores: [fuel pump relay]",
            "restores: [fuel pump relay, remote start]",
        );
    let source = |_: &str| Some(("sound.yaml".to_owned(), text.clone()));
    let opening = Opening {
        procedure: "sound".to_owned(),
        ..opened().opening().unwrap().clone()
    };
    let mut trial = Trial {
        library: read_library("sound", &source).unwrap(),
        state: State::fold(&[stamped(Event::Opened(opening))]),
    }
    .until("prove", &[]);
    while trial.due() != "rest-reading" {
        trial.put(Input::Back).unwrap();
    }
    let low = "11.90".to_owned();
    trial
        .put(Input::Typed {
            text: low,
            before: None,
        })
        .unwrap();
    let mut asked = Vec::new();
    while let Next::Ask(screen) = trial.next() {
        asked.push(screen.step.clone());
        trial.put(Input::Confirm(true)).unwrap();
    }
    let key = "put-back/engine off, key out";
    asked.retain(|step| step != key);
    assert_eq!(asked, ["put-back/fuel pump relay", "remote-on"]);
}

/// Where a result stands and nothing comes but putting back, a stop would throw it away and end nothing sooner.
#[test]
fn putting_back_is_not_stopped() {
    let mut trial = shipped().until(
        "put-back-not-done",
        &[("fuel-kind", "petrol"), ("fuel-way", "pedal")],
    );
    assert!(trial.screen().closing);
    let refused = trial.put(Input::Stop("teatime".to_owned()));
    assert_eq!(refused.unwrap_err(), Refusal::Closing);
    let open = shipped().until("prove", &POSTS);
    assert!(!open.screen().closing);
}
