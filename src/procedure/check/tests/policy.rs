//! What a shop's policy demands beyond what is compiled in, read as a policy file is.

use super::{SOUND, problems_by, shipped};
use crate::procedure::rules::Rules;
use crate::record::shop::policy::Policy;

fn rules(text: &str) -> Rules {
    let text = format!("shop: A\n{text}\n");
    Policy::read("policy.yaml", &text).unwrap().rules
}

fn found(policy: &str) -> Vec<String> {
    problems_by(&rules(policy), &[("sound", SOUND)])
}

#[test]
fn further_needs_are_proved_like_those_compiled_in() {
    assert_eq!(
        found("needs: {crank: [belts clear, fuel off proved]}"),
        [""; 0]
    );
    assert_eq!(
        found("needs: {crank: [eyes protected]}"),
        [
            "2:17: step `crank` needs `eyes protected`, which does not hold on every way to it (the shop's policy wants that for its work)"
        ]
    );
}

/// A slip in the policy is told there and once, however many steps do that work.
#[test]
fn a_misspelt_need_is_mended_in_the_policy() {
    let rules = rules("needs: {none: [drive cheked]}");
    let source = |_: &str| Some(("sound.yaml".to_owned(), SOUND.to_owned()));
    let found = crate::procedure::read_library_by(&rules, "sound", &source).unwrap_err();
    assert_eq!(found.len(), 1, "{found:#?}");
    let place = (found[0].position.file.as_str(), found[0].position.line);
    assert_eq!(place, ("policy.yaml", 2));
    assert_eq!(
        found[0].message,
        "the shop's policy wants `drive cheked`, which no step establishes"
    );
    let remedy = "Correct it in policy.yaml, line 2: did you mean `drive checked`?";
    assert!(found[0].remedy.starts_with(remedy), "{}", found[0].remedy);
}

/// Where several steps lack what the policy wants, each is told, with its own place beside the policy's.
#[test]
fn a_need_of_the_policy_is_told_where_it_is_written() {
    let rules = rules("needs: {proving crank: [eyes protected], crank: [eyes protected]}");
    let source = |_: &str| Some(("sound.yaml".to_owned(), SOUND.to_owned()));
    let found = crate::procedure::read_library_by(&rules, "sound", &source).unwrap_err();
    let places: Vec<String> = found
        .iter()
        .map(|problem| {
            let missing = problem.missing.as_ref().unwrap();
            let own = &missing.place;
            format!(
                "{}:{} for {} at {}:{}",
                problem.position.file, problem.position.line, missing.step, own.file, own.line
            )
        })
        .collect();
    assert_eq!(places.len(), 2, "{places:?}");
    assert!(
        places[0].starts_with("policy.yaml:2 for prove at sound.yaml:"),
        "{places:?}"
    );
    assert!(
        places[1].starts_with("policy.yaml:2 for crank at sound.yaml:"),
        "{places:?}"
    );
}

/// What the policy adds is looked after in the run too: it stands among the step's own needs.
#[test]
fn further_needs_reach_the_run() {
    let source = |_: &str| Some(("sound.yaml".to_owned(), SOUND.to_owned()));
    let rules = rules("needs: {crank: [belts clear]}");
    let library = crate::procedure::read_library_by(&rules, "sound", &source).unwrap();
    let crank = library.procedures["sound"]
        .steps
        .iter()
        .find(|step| step.id == "crank");
    let needs: Vec<&str> = crank.unwrap().needs.iter().map(|c| c.0.as_str()).collect();
    assert_eq!(needs, ["belts clear"]);
}

#[test]
fn steps_stand_on_every_path_to_an_outcome() {
    assert_eq!(
        found("steps_before: {sound/found: [prove, crank]}"),
        [""; 0]
    );
    assert_eq!(found("steps_before: {sound/fault-found: [prove]}"), [""; 0]);
    assert_eq!(
        found("steps_before: {sound/not-done: [held]}"),
        [
            "82:3: the outcome `turned-away` can be reached without `held`, which the shop's policy wants before it"
        ]
    );
    assert_eq!(
        found("steps_before: {sound/not-done: [hold]}"),
        ["2:33: `sound` has no step `hold`"]
    );
    assert_eq!(
        found("steps_before: {sound/fault-foun: [held]}"),
        ["2:16: `sound` has no outcome `fault-foun`"]
    );
    // a rule about a procedure that is not checked here is no problem of this one
    assert_eq!(found("steps_before: {other/not-done: [held]}"), [""; 0]);
}

/// A rule about a procedure that is called is proved within that one.
#[test]
fn steps_stand_before_the_outcomes_of_called_procedures_too() {
    let caller = SOUND.replace(
        "  found:\n    outcome: fault-found\n",
        "  found:\n    call: inner\n    then: end\n  end:\n    outcome: fault-found\n",
    );
    let inner = "procedure: inner\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n  look:\n    phase: p\n    confirm: Looked.\n    then: done\n    if-not: done\n  done:\n    outcome: nothing-found\n    finding: f\n";
    let files = [("sound", caller.as_str()), ("inner", inner)];
    assert_eq!(problems_by(&Rules::default(), &files), [""; 0]);
    assert_eq!(
        problems_by(&rules("steps_before: {inner/done: [look]}"), &files),
        [
            "11:3: the outcome `done` can be reached without `look`, which the shop's policy wants before it"
        ]
    );
}

/// `call/step` is a step of what the procedure that the rule is about calls, also where that is called itself.
#[test]
fn a_step_of_a_call_is_found_wherever_the_procedure_of_the_rule_is_called() {
    let caller = SOUND.replace(
        "  found:\n    outcome: fault-found\n",
        "  found:\n    call: middle\n    then: end\n  end:\n    outcome: fault-found\n",
    );
    let begin =
        |name: &str| format!("procedure: {name}\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n");
    let middle = begin("middle")
        + "  deep:\n    phase: p\n    call: inner\n    then: done\n  done:\n    outcome: nothing-found\n    finding: f\n";
    let inner = begin("inner")
        + "  look:\n    phase: p\n    confirm: Looked.\n    then: seen\n    if-not: seen\n  read:\n    confirm: Read.\n    then: seen\n    if-not: seen\n  seen:\n    outcome: nothing-found\n    finding: f\n";
    let inner = inner.replace(
        "then: seen\n    if-not: seen\n  read",
        "then: read\n    if-not: read\n  read",
    );
    let files = [
        ("sound", caller.as_str()),
        ("middle", &middle),
        ("inner", &inner),
    ];
    let inner_yes = inner.replace("    if-not: read\n", "    if-not: look\n");
    assert_eq!(problems_by(&Rules::default(), &files), [""; 0]);
    let rule = "steps_before: {middle/done: [deep, deep/look]}";
    assert_eq!(
        problems_by(&rules(rule), &files),
        [
            "10:3: the outcome `done` can be reached without `deep/look`, which the shop's policy wants before it"
        ]
    );
    let found = problems_by(&rules("steps_before: {middle/done: [deep/lok]}"), &files);
    assert!(
        found.len() == 1 && found[0].contains("`middle` has no step `deep/lok`"),
        "{found:?}"
    );
    let files = [
        ("sound", caller.as_str()),
        ("middle", &middle),
        ("inner", &inner_yes),
    ];
    let passed = problems_by(&rules(rule), &files);
    let missing = passed.iter().filter(|told| told.contains("deep/look"));
    assert_eq!(missing.count(), 0, "{passed:?}");
}

#[test]
fn what_protects_is_never_waived() {
    let waived = |step: &str| found(&format!("waivers: {{sound/{step}: lead}}"));
    for (step, why) in [
        ("drive", "it establishes `drive checked`, which work needs"),
        ("cut-fuel", "it establishes `fuel off`, which work needs"),
        ("back-found", "it puts back what was disabled"),
        ("rest-reading", "where the job goes on hangs on its answer"),
        ("judge", "where the job goes on hangs on its answer"),
    ] {
        let told = format!("2:11: step `{step}` of `sound` cannot be waived: {why}");
        assert_eq!(waived(step), [told]);
    }
    assert_eq!(
        waived("drve"),
        ["2:11: `sound` has no step `drve` to be waived"]
    );
    let asks = SOUND.replace(
        "  held:\n    warning",
        "  neat:\n    confirm: The bench is tidy.\n    then: held\n    if-not: turned-away\n  held:\n    warning",
    );
    let asks = asks.replace(
        "then: held\n    if-not: turned-away\n  neat",
        "then: neat\n    if-not: turned-away\n  neat",
    );
    let rules = rules("waivers: {sound/neat: lead}");
    assert_eq!(problems_by(&rules, &[("sound", &asks)]), [""; 0]);
    // damage to things can be weighed, hurt to people cannot
    for (hazard, told) in [
        ("notice", None),
        ("caution", Some("its hazard has to be read and answered")),
    ] {
        let hazard =
            format!("    {hazard}: Read the maker's page.\n    work: none\n    confirm: The bench");
        let read = asks.replace("    confirm: The bench", &hazard);
        let found = problems_by(&rules, &[("sound", &read)]);
        let told =
            told.map(|told| format!("2:11: step `neat` of `sound` cannot be waived: {told}"));
        assert_eq!(found, Vec::from_iter(told));
    }
}

/// That the maker's procedure was read is waived by nobody.
#[test]
fn the_makers_procedure_is_never_waived() {
    for name in ["relative-compression", "follow-up"] {
        let rules = rules(&format!("waivers: {{{name}/makers-procedure: lead}}"));
        let files: Vec<(&str, &str)> = shipped::SHEETS.to_vec();
        let (first, others): (Vec<_>, Vec<_>) =
            files.into_iter().partition(|(known, _)| *known == name);
        let found = problems_by(&rules, &[first, others].concat());
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(
            found[0].contains("step `makers-procedure` of `"),
            "{found:?}"
        );
    }
}

#[test]
fn old_revisions_are_refused() {
    assert_eq!(found("revisions: {sound: 1}"), [""; 0]);
    assert_eq!(
        found("revisions: {sound: 2}"),
        ["2:1: `sound` is revision 1; the shop works by revision 2 or later"]
    );
}

/// Nothing in a policy takes a need away: there is no word for it.
#[test]
fn a_policy_cannot_remove() {
    for text in [
        "needs: {crank: []}",
        "needs: {crank: [-fuel off]}",
        "needs: {crank: not(fuel off)}",
    ] {
        let read = Policy::read("policy.yaml", &format!("shop: A\n{text}\n"));
        let rules = read.map(|policy| policy.rules).unwrap_or_default();
        let spoilt = SOUND.replace("establishes: [fuel off proved]\n    then", "then");
        let still = problems_by(&rules, &[("sound", &spoilt)]);
        assert!(
            still[0].contains("needs `fuel off proved`"),
            "{text}: {still:?}"
        );
    }
}
