//! A shop's policy beside its procedures: what it demands is proved, and what is wrong with it is told.

use crate::fixture::{Bay, edit_roster, evenfire};
use crate::workbench::sheet;

#[test]
fn a_policy_is_proved_with_the_procedures() {
    let bay = Bay::new();
    let policy = bay.shop.join("policy.yaml");
    let text = std::fs::read_to_string(&policy).unwrap();
    assert_eq!(bay.run(&["check", &sheet(&bay)]).status, 0);
    std::fs::write(&policy, format!("{text}revisions: {{look: 9}}\n")).unwrap();
    let checked = bay.run(&["check", &sheet(&bay), "--format", "json"]);
    assert_eq!(checked.status, 1);
    let told: serde_json::Value = serde_json::from_str(&checked.out).unwrap();
    let message = told["problems"][0]["message"].as_str().unwrap();
    assert!(
        message.contains("the shop works by revision 9 or later"),
        "{message}"
    );
    // what fails the policy is not run either
    let run = bay.run(&["run", "look", "--answers", "nowhere.yaml"]);
    assert_eq!(run.status, 2);
    assert!(
        run.told()
            .contains("A procedure that is not sound is not run"),
        "{}",
        run.err
    );
    // and a policy that cannot be read is told with its place
    std::fs::write(&policy, format!("{text}nedes: {{}}\n")).unwrap();
    let checked = bay.run(&["check", &sheet(&bay)]);
    assert_eq!(checked.status, 1);
    assert!(
        checked.out.contains("unknown key `nedes`"),
        "{}",
        checked.out
    );
    assert!(
        checked.out.contains("Did you mean `needs`?"),
        "{}",
        checked.out
    );
}

/// A shop's procedure by its name, and all of them where none is named; what was not judged by its policy says so.
#[test]
fn a_shop_s_own_procedures_are_checked_by_name() {
    let bay = Bay::new();
    let file = sheet(&bay);
    for named in [&["check", "look"][..], &["check"]] {
        let checked = bay.run(named);
        assert_eq!(checked.status, 0, "{}", checked.told());
        assert!(checked.out.starts_with("Judged by the policy of"));
        assert!(
            checked.out.contains(&format!("{file}: sound")),
            "{}",
            checked.out
        );
    }
    let missing = bay.run(&["check", "lok"]);
    assert_eq!(missing.status, 1);
    assert!(missing.out.contains("lok:1:1: there is no such file"));
    assert!(!missing.out.contains("os error"), "{}", missing.out);
    let beside = bay.run(&["check", &file.replace("look", "lok")]);
    let meant = format!("Did you mean {file}?");
    assert!(beside.out.contains(&meant), "{}", beside.out);
    let policy = bay.shop.join("policy.yaml");
    let text = std::fs::read_to_string(&policy).unwrap();
    std::fs::write(&policy, format!("{text}nedes: {{}}\n")).unwrap();
    let checked = bay.run(&["check", "look"]);
    let told = "; judged by the shop's policy only as far as that is right";
    assert!(
        checked.out.replace('\n', " ").contains(told),
        "{}",
        checked.out
    );
    let outside = evenfire(&["check", &file]);
    assert!(
        outside.out.contains("without a shop's policy"),
        "{}",
        outside.out
    );
}

/// Waivers that nobody could sign are no fault, and whoever relies on them shall know it.
#[test]
fn waivers_without_a_lead_are_remarked() {
    let bay = Bay::new();
    let policy = bay.shop.join("policy.yaml");
    let text = std::fs::read_to_string(&policy).unwrap();
    std::fs::write(&policy, format!("{text}waivers: {{look/look: lead}}\n")).unwrap();
    let told = || {
        let checked = bay.run(&["check", "look"]);
        assert_eq!(checked.status, 0, "{}", checked.out);
        checked.out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let remark = format!(
        "policy.yaml:{}: a lead waives what stands under `waivers`, and nobody can sign as lead now",
        text.lines().count() + 1
    );
    assert!(!told().contains(&remark));
    edit_roster(&bay, |text| {
        text.replace(
            "lead@evenfire\"",
            "lead@evenfire\",valid-before=\"20260101Z\"",
        )
    });
    assert!(told().contains(&remark), "{}", told());
    edit_roster(&bay, |text| {
        let others = |line: &&str| !line.starts_with("kim ");
        text.split_inclusive('\n').filter(others).collect()
    });
    assert!(told().contains(&remark), "{}", told());
}

/// What is wrong with a policy is told with what it demands of the procedures, not one after the other.
#[test]
fn all_slips_of_a_policy_are_told_at_once() {
    let bay = Bay::new();
    let policy = bay.shop.join("policy.yaml");
    let text = std::fs::read_to_string(&policy).unwrap();
    let slips = "nedes: {}\nrevisions: {look: 9}\nwaivers: {look/hold: somebody, lok/held: lead}\n";
    std::fs::write(&policy, format!("{text}{slips}")).unwrap();
    let checked = bay.run(&["check", "look"]);
    assert_eq!(checked.status, 1);
    for told in [
        "unknown key `nedes`",
        "the shop works by revision 9 or later",
        "`look` has no step `hold` to be waived",
        "`somebody` is no lead in the roster",
        "the shop has no procedure `lok`",
        "5 problems.",
    ] {
        assert!(checked.out.contains(told), "{told}: {}", checked.out);
    }
}

/// What may be waived is told as a run decides it, on the map and on paper too.
#[test]
fn waivers_are_listed() {
    let bay = Bay::new();
    let file = sheet(&bay);
    let listed = bay.run(&["check", "--waivers", &file]);
    assert_eq!(listed.status, 0, "{}", listed.out);
    assert!(
        listed.out.contains("May be waived: none."),
        "{}",
        listed.out
    );
    let all = bay.run(&["check", "--waivers", "--format", "json", &file]);
    let all: serde_json::Value = serde_json::from_str(&all.out).unwrap();
    let steps = all["waivers"].as_array().unwrap();
    let unruled = steps
        .iter()
        .find(|step| step["why_not"] == "the shop's policy names nobody who may");
    let step = unruled.unwrap()["step"].as_str().unwrap();
    let needed = steps.iter().any(|step| {
        let why = step["why_not"].as_str().unwrap();
        why.starts_with("it establishes") && step["by"].is_null()
    });
    assert!(needed, "{all}");
    let policy = bay.shop.join("policy.yaml");
    let text = std::fs::read_to_string(&policy).unwrap();
    let ruled = format!("{text}waivers: {{{step}: lead}}\n");
    std::fs::write(&policy, ruled).unwrap();
    let listed = bay.run(&["check", "--waivers", &file]);
    let told = format!("May be waived: {step} by any lead.");
    assert!(listed.out.contains(&told), "{}", listed.out);
    let map = bay.run(&["map", &file]);
    assert!(map.out.contains("may be waived by any lead"), "{}", map.out);
    let paper = bay.run(&["map", "--print", &file]);
    assert!(
        paper.out.contains("May be waived by any lead"),
        "{}",
        paper.out
    );
    assert!(
        paper.out.contains("limits below are those of"),
        "{}",
        paper.out
    );
}

/// What belongs under another key and stands at the margin, and what stands under none.
#[test]
fn limits_and_needs_out_of_their_place_are_told_as_that() {
    let bay = Bay::new();
    let policy = bay.shop.join("policy.yaml");
    for (text, told) in [
        (
            "shop: A\nlimits:\nlow_percent: 80\n",
            "`low_percent` belongs under `limits`",
        ),
        (
            "shop: A\n  crank: [eyes protected]\n",
            "a line such as `needs:` is missing above `crank`",
        ),
        (
            "shop: A\nneeds:\n  crank: [eyes protected\n",
            "`[` is not closed",
        ),
    ] {
        std::fs::write(&policy, text).unwrap();
        let checked = bay.run(&["check", "look"]);
        assert_eq!(checked.status, 1, "{}", checked.told());
        assert!(checked.out.contains(told), "{}", checked.out);
    }
}
