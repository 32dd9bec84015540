//! The trainer's workbench as a person runs it: nothing is ever written over, and every command says by its
//! status what came of it.

use crate::fixture::{Bay, evenfire};

pub const SCENARIO: &str = "procedure: look\nanswers:\n  - {step: volts, answer: 12.6}\nexpect: {outcome: seen, way: [relay, back]}\n";

pub fn sheet(bay: &Bay) -> String {
    bay.shop
        .join("procedures/look.yaml")
        .to_str()
        .unwrap()
        .to_owned()
}

pub fn with_scenario(text: &str) -> Bay {
    let bay = Bay::new();
    std::fs::create_dir_all(bay.shop.join("procedures/scenarios/look")).unwrap();
    bay.write("shop/procedures/scenarios/look/plain.yaml", text);
    bay
}

#[test]
fn a_new_procedure_passes_the_check_and_is_never_written_over() {
    let bay = Bay::new();
    let into = bay.folder.path().to_str().unwrap();
    let made = evenfire(&["new", "procedure", "first-look", "--into", into]);
    assert_eq!(made.status, 0, "{}", made.err);
    let (file, next) = made.out.trim().split_once('\n').unwrap();
    let command = next.rsplit(": evenfire ").next().unwrap();
    let checked = evenfire(&command.split(' ').collect::<Vec<_>>());
    assert_eq!(checked.status, 0, "{next}: {}", checked.out);
    // it is gone through without a vehicle, and says in the record which one it was
    let draft = evenfire(&["rehearse", file, "--reach", "good"]);
    assert_eq!(draft.status, 0, "{}", draft.err);
    let scenarios = bay.folder.path().join("scenarios/first-look");
    std::fs::create_dir_all(&scenarios).unwrap();
    std::fs::write(scenarios.join("good.yaml"), &draft.out).unwrap();
    let rehearsed = evenfire(&["rehearse", file]);
    assert_eq!(rehearsed.status, 0, "{}", rehearsed.out);
    let shop_file = bay.shop.join("procedures/first-look.yaml");
    std::fs::copy(file, shop_file).unwrap();
    let answers = bay.write(
        "first.yaml",
        "procedure: first-look\nanswers:\n  - {step: drive, answer: yes}\n  - {step: vehicle, answer: Invented 1.6}\n  \
         - {step: vehicle-identity, answer: AB 12}\n  - {step: key-away, answer: yes}\n  - {step: take-cover, answer: yes}\n  - {step: posts-safe, answer: yes}\n  \
         - {step: rest-reading, answer: \"12.60\"}\n  - {step: put-back-good, answer: yes}\n",
    );
    let run = bay.run(&["run", "first-look", "--answers", &answers]);
    assert_eq!(run.status, 0, "{}\n{}", run.out, run.err);
    let record = std::fs::read_to_string(bay.shop.join("jobs/0001/record.json")).unwrap();
    let record: serde_json::Value = serde_json::from_str(&record).unwrap();
    assert!(
        record["lines"]["vehicle"]
            .to_string()
            .contains("Invented 1.6"),
        "{record}"
    );
    let again = evenfire(&["new", "procedure", "first-look", "--into", into]);
    assert_eq!(again.status, 2);
    assert!(again.told().contains("exists already"), "{}", again.err);
    // `y`, `off` and `inf` are no texts to every reader of YAML
    for name in ["../first", "First", "a b", "", "y", "off", "inf"] {
        assert_eq!(
            evenfire(&["new", "procedure", name, "--into", into]).status,
            2,
            "{name}"
        );
    }
}

/// What is no file, or one that nothing would find, is told with what to type.
#[test]
fn a_folder_and_another_ending_are_told_as_that() {
    let bay = Bay::new();
    let folder = bay.folder.path();
    let into = folder.to_str().unwrap();
    evenfire(&["new", "procedure", "look-at", "--into", into]);
    let told = evenfire(&["check", into]);
    assert_eq!(told.status, 1);
    let files =
        format!("this is a folder, not a file\n  mend: Name the files in it: {into}/*.yaml");
    assert!(told.out.contains(&files), "{}", told.out);
    let missing = evenfire(&["check", &format!("{into}/look-at.yml")]);
    let meant = format!("Did you mean {into}/look-at.yaml?");
    assert!(missing.out.contains(&meant), "{}", missing.out);
    std::fs::copy(folder.join("look-at.yaml"), folder.join("look-at.yml")).unwrap();
    let other = evenfire(&["check", &format!("{into}/look-at.yml")]);
    assert_eq!(other.status, 1);
    assert!(other.out.contains("name ends in .yml"), "{}", other.out);
    assert!(
        other.out.contains("Call the file look-at.yaml."),
        "{}",
        other.out
    );
}

/// The chain of a crank is gone through without a vehicle, and its capture judged.
#[test]
fn a_new_cranking_chain_is_sound_and_can_be_gone_through() {
    let bay = Bay::new();
    let into = bay.folder.path().to_str().unwrap();
    let made = evenfire(&["new", "procedure", "chain", "--cranking", "--into", into]);
    assert_eq!(made.status, 0, "{}", made.err);
    let file = made.out.lines().next().unwrap();
    assert_eq!(evenfire(&["check", file]).status, 0);
    let scenarios = bay.folder.path().join("scenarios/chain");
    std::fs::create_dir_all(&scenarios).unwrap();
    let scenario = "procedure: chain\nabout: One is weak\nengine: {firing-order: 1-3-4-2, fuel: petrol}\n\
                    captures:\n  crank: {signal: starter-current, weak: {3: 60}, seed: 1}\nexpect:\n  outcome: low\n  \
                    way: [prove, clear-again, judge]\n";
    std::fs::write(scenarios.join("weak.yaml"), scenario).unwrap();
    let rehearsed = evenfire(&["rehearse", file]);
    assert_eq!(rehearsed.status, 0, "{}", rehearsed.out);
}

/// The chain of a running engine is sound without a remark, and three readings with every no reach all of it.
#[test]
fn a_new_running_chain_is_sound_and_gone_through_completely() {
    let bay = Bay::new();
    let into = bay.folder.path().to_str().unwrap();
    let made = evenfire(&["new", "procedure", "chain", "--running", "--into", into]);
    assert_eq!(made.status, 0, "{}", made.err);
    let file = made.out.lines().next().unwrap();
    let checked = evenfire(&["check", file]);
    assert_eq!(checked.status, 0, "{}", checked.out);
    assert!(!checked.out.contains("remark"), "{}", checked.out);
    let scenarios = bay.folder.path().join("scenarios/chain");
    std::fs::create_dir_all(&scenarios).unwrap();
    for (outcome, idle, snap) in [
        ("usual", 75, 120),
        ("fault", 70, 85),
        ("no-verdict", 20, 120),
    ] {
        let scenario = format!(
            "procedure: chain\nabout: {outcome}\nanswers:\n  - {{step: cranking-reading, answer: 150 psi}}\n  - {{step: \
             idle-reading, answer: {idle} psi}}\n  - {{step: snap-reading, answer: {snap} psi}}\nexpect:\n  outcome: \
             {outcome}\n  way: [prove, coils-off, prove-again, others-on, run-idle]\ndeny-each: [not-done]\n"
        );
        std::fs::write(scenarios.join(format!("{outcome}.yaml")), scenario).unwrap();
    }
    let rehearsed = evenfire(&["rehearse", "--complete", file]);
    assert_eq!(rehearsed.status, 0, "{}", rehearsed.out);
    let both = [
        "new",
        "procedure",
        "both",
        "--running",
        "--cranking",
        "--into",
        into,
    ];
    assert_eq!(evenfire(&both).status, 2);
}

#[test]
fn the_schema_is_json() {
    let schema: serde_json::Value = serde_json::from_str(&evenfire(&["schema"]).out).unwrap();
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
}

/// A condition that nothing needs is worth a look, and no problem; the shipped sheets have none.
#[test]
fn a_condition_that_nothing_needs_is_remarked() {
    let bay = Bay::new();
    let file = sheet(&bay);
    let text = std::fs::read_to_string(&file).unwrap();
    let line = text.lines().find(|line| line.contains("establishes: ["));
    let more = line.unwrap().replace('[', "[fan guard on, ");
    std::fs::write(&file, text.replacen(line.unwrap(), &more, 1)).unwrap();
    let checked = bay.run(&["check", &file]);
    assert_eq!(checked.status, 0, "{}", checked.out);
    assert!(
        checked
            .out
            .contains("establishes `fan guard on`, which nothing needs"),
        "{}",
        checked.out
    );
    assert!(checked.out.ends_with("2 remarks.\n"), "{}", checked.out);
    for entry in std::fs::read_dir("procedures").unwrap() {
        let sheet = entry.unwrap().path();
        if sheet.extension().is_some_and(|ending| ending == "yaml") {
            let checked = evenfire(&["check", sheet.to_str().unwrap()]);
            assert!(!checked.out.contains("remark"), "{}", checked.out);
        }
    }
}

/// One mistake that many steps suffer from is one problem to a person; programs and `--every-step` get all.
#[test]
fn a_missing_condition_is_told_once() {
    let bay = Bay::new();
    let all = bay.folder.path().join("sheets");
    std::fs::create_dir(&all).unwrap();
    for entry in std::fs::read_dir("procedures").unwrap() {
        let from = entry.unwrap().path();
        if from.extension().is_some_and(|ending| ending == "yaml") {
            let text = std::fs::read_to_string(&from).unwrap();
            let spoilt = text.replace("    establishes: [vehicle held]\n", "");
            std::fs::write(all.join(from.file_name().unwrap()), spoilt).unwrap();
        }
    }
    let file = all.join("relative-compression.yaml");
    let file = file.to_str().unwrap();
    let told = evenfire(&["check", file]);
    assert_eq!(told.status, 1);
    assert!(told.out.ends_with("\n1 problem.\n"), "{}", told.out);
    assert!(
        told.out.contains("step `prove` needs `vehicle held`"),
        "{}",
        told.out
    );
    let every = evenfire(&["check", "--every-step", file]);
    let json = evenfire(&["check", "--format", "json", file]);
    let json: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    let problems = json["problems"].as_array().unwrap();
    assert!(problems.len() > 5, "{}", json);
    for problem in problems {
        assert_eq!(problem["missing"]["condition"], "vehicle held");
        let step = problem["message"].as_str().unwrap();
        assert!(every.out.contains(step), "{step}");
    }
    let others = format!("also: {} other steps need it", problems.len() - 1);
    assert!(told.out.contains(&others), "{}", told.out);
}

#[test]
fn maps_in_every_form_and_never_over_a_file() {
    let bay = with_scenario(SCENARIO);
    let file = sheet(&bay);
    for (arguments, begins) in [
        (vec![], "<!DOCTYPE html>"),
        (vec!["--rehearsed"], "<!DOCTYPE html>"),
        (vec!["--print"], "<!DOCTYPE html>"),
        (vec!["--format", "dot"], "digraph \"look\" {"),
        (vec!["--format", "mermaid"], "flowchart TD"),
    ] {
        let mut all = vec!["map", file.as_str()];
        all.extend(arguments);
        let map = evenfire(&all);
        assert_eq!(map.status, 0, "{}", map.err);
        assert!(map.out.starts_with(begins), "{}", map.out);
    }
    let before = std::fs::read(&file).unwrap();
    let over = evenfire(&["map", &file, "--into", &file]);
    assert_eq!(over.status, 2);
    assert!(over.told().contains("exists already"), "{}", over.err);
    assert_eq!(std::fs::read(&file).unwrap(), before);
}

/// A map is made anew in its file as often as one likes, until somebody else has had a hand in that file.
#[test]
fn a_map_is_made_anew_in_its_own_file() {
    let bay = Bay::new();
    let file = sheet(&bay);
    for form in [
        &["--print"][..],
        &["--format", "dot"],
        &["--format", "mermaid"],
        &[],
    ] {
        let into = bay.folder.path().join(format!("map{}", form.concat()));
        let into = into.to_str().unwrap();
        let map = || evenfire(&[&["map", &file, "--into", into][..], form].concat());
        assert_eq!(map().status, 0, "{form:?}");
        let first = std::fs::read_to_string(into).unwrap();
        let other =
            std::fs::read_to_string(&file)
                .unwrap()
                .replacen("title: ", "title: Another ", 1);
        std::fs::write(&file, other).unwrap();
        assert_eq!(map().status, 0, "{form:?}");
        let second = std::fs::read_to_string(into).unwrap();
        assert_ne!(first, second, "{form:?}");
        std::fs::write(into, second.replacen("look", "lock", 1)).unwrap();
        let refused = map();
        assert_eq!(refused.status, 2, "{form:?}");
        assert!(
            refused.told().contains("no map as this command made it"),
            "{}",
            refused.err
        );
    }
}

/// One procedure's map never takes another's place, nor a work sheet a picture's, without a word.
#[test]
fn a_map_takes_no_other_maps_place() {
    let bay = Bay::new();
    let file = sheet(&bay);
    let text = std::fs::read_to_string(&file).unwrap();
    let text = text.replace("procedure: look", "procedure: other");
    let other = bay.write("shop/procedures/other.yaml", &text);
    let into = bay.folder.path().join("map.html");
    let into = into.to_str().unwrap();
    assert_eq!(evenfire(&["map", &file, "--into", into]).status, 0);
    let first = std::fs::read(into).unwrap();
    for (named, form, would) in [
        (&other, &[][..], "page of other"),
        (&file, &["--print"], "work sheet of look"),
        (&file, &["--format", "dot"], "dot text of look"),
    ] {
        let refused = evenfire(&[&["map", named.as_str(), "--into", into][..], form].concat());
        assert_eq!(refused.status, 2);
        let told = format!(
            "exists already, and is the page of look and would become the {would}; take another name"
        );
        assert!(refused.told().contains(&told), "{}", refused.err);
        assert_eq!(std::fs::read(into).unwrap(), first);
    }
}

#[test]
fn two_revisions_are_compared_under_any_file_name() {
    let bay = Bay::new();
    let file = sheet(&bay);
    let text = std::fs::read_to_string(&file).unwrap();
    let same = evenfire(&["diff", &file, &file]);
    assert_eq!((same.status, same.out.as_str()), (0, "Nothing changed.\n"));
    let line = text
        .lines()
        .find(|line| line.trim_start().starts_with("warning:"))
        .unwrap();
    let weaker = text.replacen(line, &line.replace("warning:", "caution:"), 1);
    let new = bay.write("look-of-tomorrow.yaml", &weaker);
    let changed = evenfire(&["diff", &file, &new]);
    assert_eq!(changed.status, 1, "{}", changed.err);
    assert!(changed.out.contains("! hazard"), "{}", changed.out);
    assert!(
        changed.out.contains("WARNING becomes CAUTION"),
        "{}",
        changed.out
    );
    assert!(changed.out.contains("still revision"), "{}", changed.out);
}

/// In a shop its procedures go by their names, a name with a slip in it is told with the one that was meant, and a new
/// file says where jobs would find it.
#[test]
fn in_a_shop_the_workbench_knows_its_procedures() {
    let bay = Bay::new();
    let run = |arguments: &[&str]| bay.run_in("", arguments);
    for folder in ["", "procedures", "jobs"] {
        let all = bay.run_in(folder, &["check"]);
        let told = format!("{} {}", all.out, all.err);
        assert!(told.contains("look.yaml: sound"), "{folder}: {told}");
    }
    let old = bay.write("old.yaml", include_str!("look.yaml"));
    let same = run(&["diff", &old, "look"]);
    assert_eq!(same.status, 0, "{}", same.err);
    for command in ["check", "rehearse", "map"] {
        let missing = run(&[command, "lok"]);
        let told = format!("{} {}", missing.out, missing.told());
        assert!(told.contains("Did you mean look?"), "{command}: {told}");
    }
    let made = run(&["new", "procedure", "fresh"]);
    let find = "The shop's jobs find it by its name once it lies in procedures.";
    assert!(made.out.contains(find), "{}", made.out);
    let there = run(&["new", "procedure", "fresh", "--into", "procedures"]);
    assert!(!there.out.contains("once it lies"), "{}", there.out);
    let namesake = run(&["new", "procedure", "look"]);
    assert_eq!(namesake.status, 2, "{}", namesake.out);
    let told = "the shop has a procedure \"look\", and its jobs find that one";
    assert!(namesake.told().contains(told), "{}", namesake.err);
    let nowhere = run(&["map", "look", "--into", "nodir/look.html"]);
    assert_eq!(nowhere.status, 2);
    let told = "nodir/look.html: there is no folder nodir; make it first";
    assert!(nowhere.told().contains(told), "{}", nowhere.err);
}

/// A file that is named by two paths is checked and counted once.
#[test]
fn a_file_named_twice_is_checked_once() {
    let bay = Bay::new();
    let file = sheet(&bay);
    let other = file.replace("procedures/", "procedures//");
    let checked = evenfire(&["check", &file, &other]);
    assert_eq!(checked.status, 0, "{}", checked.out);
    assert_eq!(checked.out.matches(": sound").count(), 1, "{}", checked.out);
}
