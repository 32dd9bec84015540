//! Scenarios as a trainer rehearses them: gone through, written for a step or a way, and those of a called procedure.

use crate::fixture::{Bay, evenfire};
use crate::workbench::{SCENARIO, sheet, with_scenario};

#[test]
fn scenarios_are_gone_through_and_what_they_miss_is_listed() {
    let bay = with_scenario(SCENARIO);
    let rehearsed = evenfire(&["rehearse", &sheet(&bay)]);
    assert_eq!(rehearsed.status, 0, "{}", rehearsed.out);
    assert!(
        rehearsed.out.contains("ok    look/plain: seen"),
        "{}",
        rehearsed.out
    );
    assert!(
        rehearsed.out.contains("not reached: `held`: no →"),
        "{}",
        rehearsed.out
    );
    let complete = evenfire(&["rehearse", &sheet(&bay), "--complete", "--format", "json"]);
    assert_eq!(complete.status, 1);
    let told: serde_json::Value = serde_json::from_str(&complete.out).unwrap();
    assert_eq!(told["scenarios"][0]["as_expected"], true);
    assert!(
        !told["coverage"][0]["not_reached"]
            .as_array()
            .unwrap()
            .is_empty()
    );
    let bay = with_scenario(&SCENARIO.replace("outcome: seen", "outcome: sene"));
    let failed = evenfire(&["rehearse", &sheet(&bay)]);
    assert_eq!(failed.status, 1);
    assert!(
        failed.out.contains("Did you mean `seen`?"),
        "{}",
        failed.out
    );
}

/// A scenario that cannot be read is there all the same.
#[test]
fn a_scenario_with_an_error_is_told_as_such() {
    let bay = with_scenario(&SCENARIO.replace("expect:", "expects:"));
    let failed = evenfire(&["rehearse", &sheet(&bay)]);
    assert_eq!(failed.status, 1);
    assert!(
        failed.out.contains("unknown key `expects`"),
        "{}",
        failed.out
    );
    assert!(!failed.out.contains("no scenarios yet"), "{}", failed.out);
}

/// A way in the words in which it was told as not reached; the file is never written over.
#[test]
fn a_scenario_for_a_way_is_put_into_a_folder() {
    let bay = Bay::new();
    let into = bay.folder.path().join("drafts");
    let into = into.to_str().unwrap();
    let reach = [
        "rehearse",
        &sheet(&bay),
        "--reach",
        "`held`: no → `end`",
        "--into",
        into,
    ];
    let written = evenfire(&reach);
    assert_eq!(written.status, 0, "{}", written.err);
    let text = std::fs::read_to_string(written.out.trim()).unwrap();
    assert!(written.out.trim().ends_with("drafts/held-no.yaml"));
    assert!(text.contains("- {step: held, answer: \"no\"}"), "{text}");
    let again = evenfire(&reach);
    assert_eq!(again.status, 2);
    assert!(again.told().contains("exists already"), "{}", again.err);
}

#[test]
fn answers_that_lead_to_a_step_are_written() {
    let bay = Bay::new();
    let reached = evenfire(&["rehearse", &sheet(&bay), "--reach", "back"]);
    assert_eq!(reached.status, 0, "{}", reached.err);
    let bay = with_scenario(&reached.out);
    let rehearsed = evenfire(&["rehearse", &sheet(&bay)]);
    assert_eq!(rehearsed.status, 0, "{}\n{}", reached.out, rehearsed.out);
}

/// A draft that ends with a no says why, and where the usual answers lead on to.
#[test]
fn a_draft_says_why_it_ends_as_it_does() {
    let bay = Bay::new();
    let reached = evenfire(&["rehearse", &sheet(&bay), "--reach", "relay"]);
    let from = "  # From here on the shortest way to an end, which is often a no. ";
    let (before, after) = reached.out.split_once(from).unwrap();
    assert!(
        before.ends_with("- {step: volts, answer: \"12.60\"}\n"),
        "{before}"
    );
    let comment = "Without them the usual answers lead on\n  # to `seen`.\n  - {step: relay, answer: \"no\"}\n";
    assert!(after.starts_with(comment), "{after}");
    let back = evenfire(&["rehearse", &sheet(&bay), "--reach", "back"]);
    assert!(!back.out.contains('#'), "{}", back.out);
}

/// What the scenarios of a caller reach in the procedure that it calls counts for that one.
#[test]
fn a_called_procedure_is_rehearsed_by_its_callers() {
    let bay = Bay::new();
    let folder = bay.folder.path().join("sheets");
    std::fs::create_dir_all(folder.join("scenarios/outer")).unwrap();
    let step = "    do: Nothing at all.\n    work: none\n    confirm: Nothing was done.\n";
    let inner = format!(
        "procedure: inner\nrevision: 1\ntitle: Inner\npurpose: To be called.\nsteps:\n  first:\n    phase: look\n{step}    \
         then: done\n    if-not: undone\n  done: {{outcome: nothing-found, finding: Done.}}\n  undone: {{outcome: not-done, \
         finding: Undone.}}\n"
    );
    let outer = "procedure: outer\nrevision: 1\ntitle: Outer\npurpose: To call.\nsteps:\n  inner:\n    phase: look\n    \
                 call: inner\n    test: outcome\n    then:\n      - {when: done, go: end}\n      - {when: undone, go: \
                 left}\n  end: {outcome: nothing-found, finding: Done.}\n  left: {outcome: not-done, finding: Undone.}\n";
    let written = bay.write("sheets/inner.yaml", &inner);
    bay.write("sheets/outer.yaml", outer);
    let scenario = "procedure: outer\nanswers: []\nexpect: {outcome: end}\n";
    bay.write("sheets/scenarios/outer/plain.yaml", scenario);

    let map = evenfire(&["map", &written, "--rehearsed"]);
    assert_eq!(map.status, 0, "{}", map.err);
    let told = "Rehearsed: 2 of 3 steps, 1 of 2 ways, 1 of 2 ends";
    assert!(map.out.contains(told), "{}", map.out);
    // its own scenarios are added to those
    std::fs::create_dir_all(folder.join("scenarios/inner")).unwrap();
    let own =
        "procedure: inner\nanswers:\n  - {step: first, answer: no}\nexpect: {outcome: undone}\n";
    bay.write("sheets/scenarios/inner/no.yaml", own);
    let map = evenfire(&["map", &written, "--rehearsed"]);
    let told = "Rehearsed: 3 of 3 steps, 2 of 2 ways, 2 of 2 ends";
    assert!(map.out.contains(told), "{}", map.out);
    std::fs::remove_dir_all(folder.join("scenarios/inner")).unwrap();

    // rehearsed by itself, the way to its callers is told
    let alone = evenfire(&["rehearse", &written]);
    assert!(alone.out.contains("reached 0 of 3 steps"), "{}", alone.out);
    // what was not reached at all is one line
    assert_eq!(alone.out.matches("not reached").count(), 1, "{}", alone.out);
    let way = alone
        .out
        .lines()
        .find(|line| line.starts_with("  evenfire rehearse"));
    let way: Vec<&str> = way.unwrap().split_whitespace().skip(1).collect();
    let both = evenfire(&way);
    assert!(
        both.out.contains("inner: reached 2 of 3 steps"),
        "{}",
        both.out
    );
    assert!(
        !both.out.contains("no scenarios of its own"),
        "{}",
        both.out
    );
}
