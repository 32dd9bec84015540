//! Slips in what is handed over: to a called procedure, and to a computation.

use super::{SOUND, broken};
use crate::procedure::{Problem, read_library};

/// Problems of the sound procedure with a call of another in it.
fn found(caller: &str, callee: &str) -> Vec<Problem> {
    let source = |name: &str| {
        let text = if name == "sound" { caller } else { callee };
        Some((format!("{name}.yaml"), text.to_owned()))
    };
    read_library("sound", &source).err().unwrap_or_default()
}

const CALLEE: &str = "procedure: other\nrevision: 1\ntitle: t\npurpose: p\ntakes: [volts]\nsteps:\n  look:\n    phase: p\n    \
                      do: Look at {volts}.\n    work: none\n    confirm: Seen.\n    then: end\n    if-not: end\n  end:\n    \
                      outcome: not-done\n    finding: Seen at {volts}.\n";

/// The caller with the call between two steps of it.
fn calling() -> String {
    let call = "  other:\n    call: other\n    with: {volts: rest-reading}\n    then: cut-fuel\n  cut-fuel:\n";
    let text = SOUND.replace("go: cut-fuel", "go: other");
    text.replacen("  cut-fuel:\n", call, 1)
}

/// An input that the called procedure does not name is told once, with who hands it over.
#[test]
fn an_input_that_is_not_taken_is_told_once() {
    assert_eq!(found(&calling(), CALLEE), []);
    let found = found(&calling(), &CALLEE.replace("takes: [volts]\n", ""));
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(
        found[0].message,
        "`volts` is handed over by sound.yaml:31 but does not stand under `takes`"
    );
    assert_eq!(found[0].remedy, "Add it before `steps`: `takes: [volts]`.");
    assert_eq!(found[0].position.file, "other.yaml");
}

/// The name of an answer in place of the step that has it.
#[test]
fn an_answer_in_place_of_its_step_is_told_so() {
    let judge = "  judge:\n    compute: relative compression\n";
    let sized = format!(
        "  sized:\n    compute: rested battery\n    with: {{voltage: rest-reading, system: twelve-volts, kind: mat}}\n    \
         then: judge\n{judge}"
    );
    let text = broken(judge, &sized).replacen("then: judge", "then: sized", 1);
    let found = found(&text, "");
    assert_eq!(found.len(), 2, "{found:#?}");
    assert_eq!(
        found[0].message,
        "`system` wants a step whose `choose` has `twelve-volts` and `twenty-four-volts`; `twelve-volts` is one of its \
         answers"
    );
    assert!(found[0].remedy.contains("`system: step-id`"));
}

/// A value of the called procedure by the name that it has there, or by the call alone.
#[test]
fn a_value_of_a_call_is_named_through_its_step() {
    let callee = CALLEE.replace("takes: [volts]", "takes: [volts]\ngives: {drop: size}");
    let measure = "  size:\n    ask: Drop\n    measure: {unit: V, resolution: 0.1, possible: \"[0..5]\"}\n    then: end\n  end:\n";
    let callee = callee
        .replace("    then: end\n", "    then: size\n")
        .replacen("  end:\n", measure, 1);
    for (written, message, remedy) in [
        (
            "size",
            "`size` is neither a step nor an input",
            "`other` gives it: write `other.drop`.",
        ),
        (
            "drop",
            "`drop` is neither a step nor an input",
            "`other` gives it: write `other.drop`.",
        ),
        (
            "look",
            "`look` is neither a step nor an input",
            "It is a step of `other`, which does not hand it out: write `look: look` under its `gives`, and `other.look` here.",
        ),
        (
            "other",
            "step `other` has no value",
            "Name one that its call gives: `other.drop`, `other.outcome`.",
        ),
    ] {
        let caller = calling().replacen("at {rest-reading} V.", &format!("at {{{written}}} V."), 1);
        let found = found(&caller, &callee);
        assert_eq!(found.len(), 1, "{found:#?}");
        assert_eq!(
            (found[0].message.as_str(), found[0].remedy.as_str()),
            (message, remedy)
        );
    }
}
