//! One slip that two places show: told once, where it was made, with a mend that no other contradicts.

use super::{SOUND, broken};
use crate::procedure::{Problem, read_library};

/// Problems of files by their names, the outermost first.
fn found(files: &[(&str, &str)]) -> Vec<Problem> {
    let source = |name: &str| {
        let found = files.iter().find(|(known, _)| *known == name);
        found.map(|(name, text)| (format!("{name}.yaml"), (*text).to_owned()))
    };
    read_library(files[0].0, &source).err().unwrap_or_default()
}

/// Place, message and remedy of each.
fn told(files: &[(&str, &str)]) -> Vec<(String, String, String)> {
    let told = found(files).into_iter().map(|p| {
        let at = &p.position;
        let place = format!("{}:{}:{}", at.file, at.line, at.column);
        (place, p.message, p.remedy)
    });
    told.collect()
}

/// The one problem of the sound procedure with one piece of text replaced.
fn only(from: &str, to: &str) -> (String, String, String) {
    let mut told = told(&[("sound", &broken(from, to))]);
    assert_eq!(told.len(), 1, "{to}: {told:#?}");
    told.remove(0)
}

/// What is taken off under a wrong name is put back under the right one.
#[test]
fn a_fuel_cut_misspelt_where_it_is_taken_off_is_told_there() {
    for name in ["fuel relay", "relay", "relay of the pump"] {
        let (place, message, remedy) = only(
            "disables: {fuel pump relay:",
            &format!("disables: {{{name}:"),
        );
        assert_eq!(place, "sound.yaml:33:16");
        assert_eq!(
            message,
            format!("`{name}` is no thing that is known to cut the fuel")
        );
        assert_eq!(
            remedy,
            "Did you mean `fuel pump relay`? That is what step `back-found` puts back."
        );
    }
    // one way of several that cut the fuel
    let several = SOUND.replace(
        "    disables: {fuel pump relay: Refit the fuel pump relay.}\n",
        "    disables: {fuel relay: Refit the fuel pump relay.}\n",
    );
    let valve = "  gas:\n    confirm: The valve is shut.\n    disables: {gas valve: Open it.}\n    then: cut-fuel\n    if-not: \
                 back-not-done\n  cut-fuel:\n";
    let several = several
        .replace("go: cut-fuel", "go: gas")
        .replace("  cut-fuel:\n", valve)
        .replace("restores: [", "restores: [gas valve, ");
    let told_of = told(&[("sound", &several)]);
    assert_eq!(told_of.len(), 1, "{told_of:#?}");
    assert!(told_of[0].2.starts_with("Did you mean `fuel pump relay`?"));
    // one that is put back under its own name is its own thing
    let own = SOUND.replace("fuel pump relay", "horn relay");
    let own = told(&[("sound", &own)]);
    assert!(
        own[0]
            .1
            .starts_with("step `cut-fuel` says `fuel off` where nothing"),
        "{own:#?}"
    );
}

/// A clamp that is put on, read and taken off, by steps of which three are the same but for where they lead.
const CLAMPED: &str = "procedure: clamped\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n  clamp-on:\n    phase: measure\n    \
                       do: Clamp on.\n    work: none\n    disables: {clamp: Take the clamp off.}\n    \
                       confirm: It is on.\n    then: read\n    if-not: clamp-off\n  read:\n    ask: Current\n    \
                       measure: {unit: A, resolution: 1, possible: \"[0..900]\"}\n    then:\n      \
                       - {when: \"< 100\", go: clamp-off-low}\n      - {when: \">= 100\", go: clamp-off-high}\n  clamp-off:\n    \
                       phase: put back\n    do: Clamp off.\n    work: none\n    restores: [clamp]\n    \
                       confirm: It is off.\n    then: not-done\n    if-not: again\n  \
                       clamp-off-low: {same-as: clamp-off, then: low}\n  clamp-off-high: {same-as: clamp-off, then: high}\n  not-done:\n    \
                       outcome: not-done\n    finding: f\n  low:\n    outcome: fault-found\n    finding: f\n  high:\n    \
                       outcome: nothing-found\n    finding: f\n";

/// A family of steps that put back: without what it restores it is told once, and not as a loop that wants a bound.
#[test]
fn a_family_that_restores_nothing_is_one_problem() {
    assert_eq!(told(&[("clamped", CLAMPED)]), []);
    let no_restores = CLAMPED.replace("    restores: [clamp]\n", "");
    let nothing = no_restores.replace("    disables: {clamp: Take the clamp off.}\n", "");
    let closing = nothing.replace("phase: put back", "phase: close");
    let message = "step `clamp-off` asks until the answer is yes, and restores nothing";
    let lacks = told(&[("clamped", &no_restores)]);
    assert_eq!(
        (lacks.len(), lacks[0].1.as_str()),
        (1, message),
        "{lacks:#?}"
    );
    assert!(
        lacks[0]
            .2
            .starts_with("If it puts that back, write `restores: [clamp]` in it.")
    );
    for text in [&nothing, &closing] {
        let told = told(&[("clamped", text)]);
        assert_eq!(told.len(), 1, "{told:#?}");
        let (place, found, remedy) = &told[0];
        assert_eq!(
            (place.as_str(), found.as_str()),
            ("clamped.yaml:25:13", message)
        );
        assert!(
            remedy.contains("under `restores`, and under `disables`"),
            "{remedy}"
        );
        assert!(
            remedy.ends_with(
                "That line holds for `clamp-off-high`, `clamp-off-low` too (`same-as`)."
            ),
            "{remedy}"
        );
    }
}

/// What asks again in the midst of the work is a loop as before.
#[test]
fn what_puts_nothing_back_wants_a_bound() {
    let (_, message, remedy) = only(
        "then: held\n    if-not: turned-away",
        "then: held\n    if-not: again",
    );
    assert_eq!(message, "a loop without an end: drive → drive");
    assert!(remedy.starts_with("Give one of these steps a bound"));
}

/// A procedure that judges a battery by what its caller hands over, and reads it twice.
const CALLED: &str = "procedure: called\nrevision: 1\ntitle: t\npurpose: p\ntakes: [volts, system, kind]\nsteps:\n  rest:\n    \
                      phase: p\n    compute: rested battery\n    with: {voltage: volts, system: system, kind: kind}\n    \
                      then: load\n  load:\n    ask: Temperature\n    \
                      measure: {unit: °C, resolution: 1, possible: \"[-40..60]\"}\n    then: under\n  under:\n    \
                      compute: cranking voltage\n    with: {voltage: volts, temperature: load, system: system}\n    \
                      then: end\n  end:\n    outcome: not-done\n    finding: f\n";
const CALLER: &str = "procedure: caller\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n  volts:\n    phase: p\n    ask: Voltage\n    \
                      measure: {unit: V, resolution: 0.01, possible: \"[0..32]\"}\n    then: kind\n  kind:\n    \
                      ask: Which battery?\n    choose: {flooded: Flooded, gel: Gel}\n    then: system\n  system:\n    \
                      ask: Which system?\n    choose: {twelve-volts: 12 V, twenty-four-volts: 24 V}\n    then: look\n  \
                      look:\n    call: called\n    with: {volts: volts, system: system, kind: kind}\n    then: end\n  end:\n    \
                      outcome: not-done\n    finding: f\n";

/// Values that are exchanged where they are handed over: told there, once for each, and not where they are read.
#[test]
fn values_that_a_caller_exchanges_are_told_at_the_caller() {
    assert_eq!(told(&[("caller", CALLER), ("called", CALLED)]), []);
    let exchanged = CALLER.replace("system: system, kind: kind", "system: kind, kind: system");
    let found = told(&[("caller", &exchanged), ("called", CALLED)]);
    let wanted = [
        (
            "caller.yaml:21:26",
            "`system` of `called` must be a choice among twelve-volts, twenty-four-volts; `kind` is a choice among \
             flooded, gel",
            "`system` is that, and is handed over as `kind`: the two may be mixed up. It is read at called.yaml:10.",
        ),
        (
            "caller.yaml:21:40",
            "`kind` of `called` must be a choice among flooded, enhanced-flooded, mat, gel, lithium; `system` is a \
             choice among twelve-volts, twenty-four-volts",
            "`kind` is that, and is handed over as `system`: the two may be mixed up. It is read at called.yaml:10.",
        ),
    ];
    let wanted = wanted
        .map(|(place, message, remedy)| (place.to_owned(), message.to_owned(), remedy.to_owned()));
    assert_eq!(found, wanted);
}

/// What fits where the called procedure reads it first, and not where it reads it again, is that one's own slip.
#[test]
fn an_input_that_is_read_as_two_things_is_told_where_it_is_read() {
    let mixed = CALLED.replace(
        "temperature: load, system: system",
        "temperature: load, system: kind",
    );
    let found = told(&[("caller", CALLER), ("called", &mixed)]);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].0, "called.yaml:18:47");
}

/// A called file of which a key cannot be read: its callers are not judged by what is missing for that.
#[test]
fn what_cannot_be_read_of_a_called_file_is_not_told_of_its_callers() {
    let called = CALLED
        .replace("takes:", "gives: {state: rest.state}\ntakes:")
        .replace(
            "  end:\n",
            "  good:\n    outcome: nothing-found\n    finding: f\n  end:\n",
        )
        .replace(
            "then: end",
            "then: [{when: holds, go: good}, {when: falls-short, go: end}]",
        )
        .replace("system: system}\n", "system: system}\n    test: judged\n");
    let caller = CALLER.replace(
        "then: end",
        "then: [{when: good, go: well}, {when: end, go: end}]",
    ) + "  well:\n    outcome: nothing-found\n    finding: It is {look.state}.\n";
    assert_eq!(told(&[("caller", &caller), ("called", &called)]), []);
    for (from, to, message) in [
        (
            "steps:",
            "stepps:",
            "the procedure has an unknown key `stepps`",
        ),
        ("gives:", "givs:", "the procedure has an unknown key `givs`"),
        ("takes:", "taks:", "the procedure has an unknown key `taks`"),
        ("    outcome: nothing-found", "    outcome: fine", "`fine`"),
    ] {
        let found = told(&[("caller", &caller), ("called", &called.replace(from, to))]);
        assert_eq!(found.len(), 1, "{to}: {found:#?}");
        assert!(found[0].0.starts_with("called.yaml:"), "{found:#?}");
        assert!(found[0].1.contains(message), "{found:#?}");
    }
}

/// The first step of a file as one of a list, the others without a dash.
#[test]
fn a_dash_before_the_first_step_is_told_there() {
    for step in ["  - drive:\n", "  - drive:\n  "] {
        let (place, message, remedy) = only("  drive:\n", step);
        assert_eq!(place, "sound.yaml:7:3");
        assert_eq!(message, "a dash stands before the step `drive`");
        assert!(remedy.contains("Take it away and write `drive:`") && remedy.contains("no list"));
    }
}

/// A colon in a later line of a text without quotes, where reading stops only lines further down.
#[test]
fn a_colon_in_a_line_that_goes_on_is_told_in_that_line() {
    for more in [
        "",
        "\n      wheels chocked.",
        "\n      wheels chocked,\n      charger off.",
    ] {
        let text = format!("confirm: Brake on,\n      transmission in park: neutral,{more}");
        let (place, message, remedy) = only("confirm: The vehicle cannot move.", &text);
        assert_eq!(
            (place.as_str(), message.as_str()),
            ("sound.yaml:18:27", "`: ` stands in a text without quotes")
        );
        assert_eq!(
            remedy,
            "A text with `: ` in it stands in quotes: write `confirm: \"Brake on,` and another \" where the text ends."
        );
    }
}

/// One word before the colon: a text all the same, where no key is meant by it.
#[test]
fn a_word_before_a_colon_is_no_key_that_stands_too_deep() {
    let of = |more: &str| {
        only(
            "    confirm: The vehicle cannot move.\n",
            &format!("    confirm: It moves\n      {more}\n"),
        )
    };
    let (place, message, _) = of("nothing: not even an inch.");
    assert_eq!(
        (place.as_str(), message.as_str()),
        ("sound.yaml:18:14", "`: ` stands in a text without quotes")
    );
    let (_, message, _) = of("restore: [fuel pump relay]");
    assert_eq!(
        message,
        "`restore` stands in by 6 blanks, the line above by 4"
    );
}

/// The second of two steps of one id is the one that others lead to by its own name.
#[test]
fn a_doubled_id_is_told_with_the_name_that_is_missing() {
    let text = SOUND
        .replace("    then: held\n", "    then: eyes\n")
        .replace("  held:\n", "  even:\n")
        .replace("  rest-reading:\n", "  drive:\n    confirm: Glasses on.\n    then: even\n    if-not: turned-away\n  rest-reading:\n");
    let told = told(&[("sound", &text)]);
    assert_eq!(told.len(), 1, "{told:#?}");
    assert_eq!(
        (told[0].0.as_str(), told[0].1.as_str()),
        (
            "sound.yaml:21:3",
            "`drive` stands twice; the first is in line 7"
        )
    );
    assert_eq!(
        told[0].2,
        "Keep one, or give the other its own name. One of the two `drive` may be meant as `eyes`, to which line 11 leads \
         and which no step is called."
    );
}

/// The way to a step that lacks something: of a call that lies between, only the call, where none of its steps has to
/// do with what is missing.
#[test]
fn a_way_shows_the_steps_of_a_call_only_where_they_matter() {
    let caller = CALLER.replace("then: end", "then: gauge").replace(
        "  end:\n",
        "  gauge:\n    needs: [lamp lit]\n    confirm: Read.\n    then: end\n    if-not: end\n  end:\n",
    );
    let way = |called: &str| {
        let found = found(&[("caller", &caller), ("called", called)]);
        let lacks = found
            .iter()
            .find(|p| p.message.contains("needs `lamp lit`"));
        lacks.unwrap().why.clone()
    };
    assert_eq!(
        way(CALLED),
        "The shortest way to it without: volts → kind → system → look → gauge"
    );
    let asked = CALLED.replace(
        "    then: end\n",
        "    then: lamp\n  lamp:\n    confirm: Lit.\n    establishes: [lamp lit]\n    then: end\n    if-not: end\n",
    );
    assert_eq!(
        way(&asked),
        "The shortest way to it without: volts → kind → system → look → look/rest → look/load → look/under → look/lamp \
         (no) → look/end → gauge"
    );
}
