//! Scenarios of a small procedure: what is usual, what is stated, what is denied, what is missed.

use super::coverage::Coverage;
use super::goal::Goal;
use super::{Bench, Rehearsed, reach, read, rehearse};
use crate::capture::Capture;
use crate::capture::setup::Setup;
use crate::procedure::model::Library;
use crate::procedure::{read_library, way_told, ways};

const SOUND: &str = include_str!("../procedure/check/tests/sound.yaml");

fn library() -> Library {
    let source = |_: &str| Some(("sound.yaml".to_owned(), SOUND.to_owned()));
    read_library("sound", &source).unwrap()
}

fn no_file(_: &str, path: &str) -> Result<(Capture, Setup), String> {
    Err(format!("{path}: no such file"))
}

fn rehearsed(text: &str) -> Rehearsed {
    let scenario = read("s.yaml", &format!("procedure: sound\n{text}")).unwrap();
    rehearse(&library(), &scenario, &Bench::new(85.0, &no_file))
}

fn problems(text: &str) -> Vec<String> {
    let rehearsed = rehearsed(text);
    let told = rehearsed
        .problems()
        .map(|p| format!("{}:{}: {}", p.position.line, p.position.column, p.message));
    told.collect()
}

const LOW: &str = "computed:\n  judge: {verdict: low, pattern: one}\nanswers:\n  - {step: rest-reading, answer: 12.5 V}\nexpect: {outcome: found, way: [prove, judge, back-found]}\n";

#[test]
fn what_is_usual_need_not_be_written() {
    let rehearsed = rehearsed(LOW);
    assert_eq!(rehearsed.problems().count(), 0);
    let asked = [
        "drive",
        "held",
        "rest-reading",
        "cut-fuel",
        "prove",
        "crank",
        "back-found",
    ];
    assert_eq!(rehearsed.played.asked, asked);
}

/// What is said beside an answer is taken, and the step asked again.
#[test]
fn a_crank_without_a_capture_is_said_beside_the_capture() {
    let beside = "answer: 12.5 V}\n  - {step: crank, note: loud}\n  - {step: crank, cranked: the scope was not armed}\n";
    assert_eq!(problems(&LOW.replace("answer: 12.5 V}\n", beside)), [""; 0]);
}

/// A visit for each of a list; the last for all after it.
#[test]
fn results_are_stated_visit_by_visit() {
    let text = "computed:\n  judge: [{verdict: inconclusive}, {verdict: low}]\nexpect: {outcome: found, way: [crank, judge, crank, judge]}\n";
    assert_eq!(problems(text), [""; 0]);
    let text = "computed:\n  judge: {verdict: inconclusive}\nexpect: {outcome: turned-away}\n";
    assert_eq!(problems(text), [""; 0]);
}

/// A scenario that simulates a capture, in the small procedure with lines for the engine, which it does not ask for.
fn with_capture(weak: &str, more: &str) -> Rehearsed {
    let text = format!(
        "procedure: sound\nengine: {{firing-order: 1-3-4-2, fuel: petrol}}\ncaptures:\n  crank: {{signal: battery-voltage, \
         weak: {{{weak}}}, seed: 1}}\nexpect: {{outcome: found}}\n{more}"
    );
    let intake = "  drive:\n    phase: make safe\n    ask: Cylinders\n    measure: {unit: count, resolution: 1, possible: \"[1..12]\"}\n    fills: cylinders\n    then: order\n  order:\n    note: firing order\n    ask: Order\n    fills: firing order\n    then: no-high-voltage\n  no-high-voltage:\n";
    let sheet = SOUND.replace("  drive:\n    phase: make safe\n", intake);
    let source = |_: &str| Some(("sound.yaml".to_owned(), sheet.clone()));
    let library = read_library("sound", &source).unwrap();
    let scenario = read("s.yaml", &text).unwrap();
    rehearse(&library, &scenario, &Bench::new(85.0, &no_file))
}

#[test]
fn a_simulated_capture_is_analysed() {
    let rehearsed = with_capture("3: 62", "");
    assert_eq!(rehearsed.played.problems, []);
    assert!(rehearsed.played.asked.contains(&"back-found".to_owned()));
}

/// A capture that cannot be of the engine, or that nothing looks at, is pointed at, each with what mends it.
#[test]
fn a_simulated_capture_that_comes_to_nothing_is_pointed_at() {
    let told = |rehearsed: Rehearsed| -> Vec<String> {
        let problems = rehearsed.problems();
        problems
            .map(|p| format!("{}: {} {} {}", p.position.line, p.message, p.why, p.remedy))
            .collect()
    };
    assert_eq!(
        told(with_capture("9: 62", "")),
        [
            "4: step `crank`: the engine has cylinders 1 to 4, and no cylinder 9  Correct `weak` here, or the engine."
        ]
    );
    let stated = "computed:\n  judge: {verdict: low, pattern: one}\n";
    assert_eq!(
        told(with_capture("3: 62", stated)),
        [
            "4: the capture of `crank` is simulated and never looked at `computed` states the result of `judge`, which \
             would have come of it. Take it out here, or `judge` out of `computed`."
        ]
    );
}

#[test]
fn every_statement_is_denied_and_what_comes_of_it_judged() {
    let denied = rehearsed(&format!("{LOW}deny-each: [not-done, fault-found]\n"));
    assert_eq!(denied.problems().count(), 0);
    let steps: Vec<String> = denied
        .denied
        .iter()
        .map(|(steps, _)| steps.join(" "))
        .collect();
    let wanted = [
        "drive",
        "held",
        "cut-fuel",
        "prove",
        "back-found",
        "cut-fuel back-not-done",
    ];
    assert_eq!(steps, wanted);
    // putting back that asks again comes to the end that the scenario expects
    let found = problems(&format!("{LOW}deny-each: [not-done]\n"));
    assert_eq!(found, [""; 0]);
    let found = problems(&format!("{LOW}deny-each: [no-verdict]\n"));
    assert_eq!(
        found,
        ["7:12: 5 denials came to `not-done`, not in `deny-each`"]
    );
    // where the scenario itself goes astray its denials are not judged
    let astray = LOW.replace("outcome: found", "outcome: turned-away");
    let found = problems(&format!("{astray}deny-each: [no-verdict]\n"));
    assert_eq!(found.len(), 1, "{found:?}");
}

/// A denial goes on from where the scenario stands at its statement; it comes to the same as that no written down and
/// everything played from the beginning.
#[test]
fn a_denial_is_the_scenario_with_that_no_written_down() {
    let whole = rehearsed(&format!("{LOW}deny-each: [not-done, fault-found]\n"));
    assert_eq!(whole.denied.len(), 6);
    for (steps, played) in &whole.denied {
        let mut answers = String::new();
        for (at, asked) in played.asked.iter().enumerate() {
            let first = !played.asked[..at].contains(asked);
            if asked == "rest-reading" {
                answers += "  - {step: rest-reading, answer: 12.5 V}\n";
            } else if first && steps.contains(asked) {
                answers += &format!("  - {{step: {asked}, answer: \"no\"}}\n");
            }
        }
        let from = LOW.find("  - {").unwrap();
        let to = LOW.find("expect:").unwrap();
        let slow = rehearsed(&LOW.replace(&LOW[from..to], &answers)).played;
        assert_eq!(slow.asked, played.asked, "{steps:?}");
        assert_eq!(slow.outcome, played.outcome, "{steps:?}");
        assert_eq!(slow.trail, played.trail, "{steps:?}");
    }
}

/// What mends it is said of that expectation, and of a misspelt outcome which was meant.
#[test]
fn what_mends_a_scenario_is_said() {
    let remedy = |text: &str| {
        let rehearsed = rehearsed(text);
        let remedies: Vec<String> = rehearsed.problems().map(|p| p.remedy.clone()).collect();
        remedies.join("; ")
    };
    let wanted =
        |outcome: &str| remedy(&LOW.replace("outcome: found", &format!("outcome: {outcome}")));
    assert_eq!(
        wanted("turned-away"),
        "If `found` is right, write `outcome: found` here. Else change one of those answers or results."
    );
    assert_eq!(
        wanted("fuond"),
        "No outcome of `sound` is called `fuond`. Did you mean `found`?"
    );
    assert_eq!(
        remedy(&LOW.replace("step: rest-reading", "step: rest-readin")),
        "Did you mean `rest-reading`?"
    );
    assert_eq!(
        remedy(&LOW.replace("answer: 12.5 V", "answer: high")),
        "Correct this answer to `rest-reading`."
    );
}

#[test]
fn what_goes_otherwise_is_named_with_its_place() {
    assert_eq!(
        problems(&LOW.replace("outcome: found", "outcome: turned-away")),
        [
            "6:19: `expect` has the outcome `turned-away`, the way came to `found`; what led there: rest-reading 12.50 V → judge verdict low → back-found yes"
        ]
    );
    assert_eq!(
        problems(&LOW.replace("way: [prove", "way: [crank, prove")),
        [
            "6:39: `expect` has `prove` on the way here, where it was not met; what led past it: rest-reading 12.50 V → judge verdict low → back-found yes"
        ]
    );
    assert_eq!(
        problems(&LOW.replace("step: rest-reading", "step: rest-readin")),
        ["5:5: there is no step `rest-readin`"]
    );
    assert_eq!(
        problems(&LOW.replace(
            "step: rest-reading, answer: 12.5 V",
            "step: back-not-done, answer: no"
        )),
        [
            "5:5: the answer to `back-not-done` was never asked for, nor those after it, which must stand in the order of asking"
        ]
    );
    assert_eq!(
        problems(&LOW.replace("way: [prove", "way: [proove, prove")),
        ["6:32: there is no step `proove`"]
    );
    // outcome and way missed by one cause are told once, a step that is not there alone
    let both = LOW.replace(
        "outcome: found, way: [prove",
        "outcome: turned-away, way: [back-not-done",
    );
    assert_eq!(problems(&both).len(), 1);
    let misspelt = both
        .replace("judge:", "jugde:")
        .replace("step: rest", "step: ret");
    assert_eq!(
        problems(&format!("{misspelt}deny-each: [no-verdict]\n")),
        [
            "5:5: there is no step `ret-reading`",
            "3:3: there is no step `jugde`"
        ]
    );
    assert_eq!(
        problems(&LOW.replace("12.5 V", "25 V")),
        [
            "5:5: step `rest-reading`: 25.00 V is impossible here: from 0 to 20 can be; look at the reading again"
        ]
    );
    let misspelt = problems(&LOW.replace("verdict: low", "verdict: lo"));
    assert_eq!(
        misspelt,
        ["3:3: step `judge`: `verdict` is never `lo`; it is one of even, low, inconclusive"]
    );
    let nothing = rehearsed("expect: {outcome: found}\n").played.problems;
    assert!(
        nothing[0]
            .remedy
            .ends_with("or state the result: `computed: {judge: {…}}`."),
        "{nothing:?}"
    );
}

#[test]
fn a_broken_scenario_is_refused_with_places() {
    let told = |text: &str| -> Vec<String> {
        let found = read("s.yaml", text).unwrap_err();
        found
            .iter()
            .map(|p| format!("{}:{}: {}", p.position.line, p.position.column, p.message))
            .collect()
    };
    assert_eq!(
        told("procedure: a\n"),
        ["1:1: the scenario has no `expect`"]
    );
    assert_eq!(
        told("procedure: a\nexpect: {outcome: x}\nanswer: []\n"),
        ["3:1: the scenario has an unknown key `answer`"]
    );
    assert_eq!(
        told("procedure: a\nexpect: {outcome: x}\ncaptures: {c: {weak: {3: 5}}}\n"),
        ["3:26: `3: 5` is no weak cylinder"]
    );
    assert_eq!(
        told("procedure: a\nexpect: {outcome: x}\nanswers:\n  - {step: s}\n"),
        ["4:5: the answer to step `s` must hold one reply"]
    );
    assert_eq!(
        told("procedure: a\nexpect: {outcome: x}\nengine: {firing-order: 1-3-3-2}\n").len(),
        1
    );
}

#[test]
fn what_was_not_reached_is_listed() {
    let library = library();
    let mut coverage = Coverage::default();
    coverage.add(&rehearsed(LOW).played.trail);
    let reached = coverage.of(&library.procedures["sound"]);
    assert_eq!(reached.steps.to_string(), "9 of 11");
    assert_eq!(reached.outcomes.to_string(), "1 of 2");
    let missing: Vec<&str> = reached.missing.iter().map(|m| m.told.as_str()).collect();
    assert_eq!(
        missing,
        [
            "`drive`: no → `turned-away`",
            "`held`: no → `turned-away`",
            "`rest-reading`: < 12.20 → `turned-away`",
            "`cut-fuel`: no → `back-not-done`",
            "`prove`: no → `back-not-done`",
            "`crank`: visited as often as it may be → `back-not-done`",
            "`judge`: inconclusive → `crank`",
            "`judge`: otherwise → `back-not-done`",
            "`back-found`: no → `back-found`",
            "`back-not-done` was never come to",
            "`turned-away` was never come to",
        ]
    );
}

/// For every step of the procedure, and every way out of it, the answers that are found lead there when they are
/// played.
#[test]
fn answers_are_found_for_every_step_and_way() {
    let library = library();
    let bench = Bench::new(85.0, &no_file);
    for step in &library.procedures["sound"].steps {
        let ways = ways(step).into_iter();
        let ways = ways.map(|(way, _)| format!("{}: {}", step.id, way_told(&step.question, way)));
        for written in ways.chain([step.id.clone()]) {
            let goal = Goal::parse(&written);
            assert_eq!(goal.told(), written);
            let (goal, answers) = reach::answers_to(&library, "sound", &goal).unwrap();
            let text = answers.written("sound", &goal, "unknown", "");
            let scenario =
                read("s.yaml", &text).unwrap_or_else(|found| panic!("{text}\n{found:?}"));
            let played = rehearse(&library, &scenario, &bench).played;
            assert!(
                goal.met(&library, &played.trail) && played.outcome.is_some(),
                "{written}:\n{text}\n{:?}",
                played.problems
            );
        }
    }
    let answers = |goal: &str| {
        let goal = Goal::parse(goal);
        reach::answers_to(&library, "sound", &goal)
            .unwrap()
            .1
            .answers
    };
    // numbers that are tested are always written, well inside
    let reading = |value: &str| ("rest-reading".to_owned(), value.to_owned());
    assert_eq!(answers("cut-fuel")[0], reading("12.60"));
    assert_eq!(answers("rest-reading: < 12.20")[0], reading("11.85"));
    let refused =
        |goal: &str| reach::answers_to(&library, "sound", &Goal::parse(goal)).unwrap_err();
    assert!(refused("crunk").contains("Did you mean `crank`?"));
    let told = refused("rest-reading: high");
    assert!(told.ends_with("those are: < 12.20; >= 12.20"), "{told}");
    let names = ["crank", "rest-reading: < 12.20", "`held`: no → `end`"];
    let files = names.map(|name| Goal::parse(name).file_name());
    assert_eq!(
        files,
        [
            "crank.yaml",
            "rest-reading-below-12-20.yaml",
            "held-no.yaml"
        ]
    );
}
