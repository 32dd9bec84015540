//! Files and names that a trainer's commands are given: what cannot be used as it lies there is named, with what mends it.

use std::path::PathBuf;

use crate::fixture::{ANSWERS, Bay, evenfire};
use crate::workbench::{SCENARIO, sheet, with_scenario};

/// The shipped procedures in a folder of their own.
fn shipped(bay: &Bay) -> PathBuf {
    let all = bay.folder.path().join("sheets");
    std::fs::create_dir(&all).unwrap();
    for entry in std::fs::read_dir("procedures").unwrap() {
        let from = entry.unwrap().path();
        if from.extension().is_some_and(|ending| ending == "yaml") {
            std::fs::copy(&from, all.join(from.file_name().unwrap())).unwrap();
        }
    }
    all
}

/// A procedure that is neither sound nor wrong itself says what it waits for.
#[test]
fn what_waits_for_a_called_procedure_is_named() {
    let bay = Bay::new();
    let all = shipped(&bay);
    let file = |name: &str| all.join(name).to_str().unwrap().to_owned();
    let intake = std::fs::read_to_string(file("intake.yaml")).unwrap();
    let slip = intake.replacen("purpose:", "purpos:", 1);
    std::fs::write(file("intake.yaml"), slip).unwrap();
    let (caller, other) = (file("relative-compression.yaml"), file("leak-down.yaml"));
    let told = evenfire(&["check", &file("intake.yaml"), &caller, &other]);
    assert_eq!(told.status, 1);
    let said = told.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let waits = format!("{caller}: not judged until intake.yaml is mended");
    assert!(said.contains(&waits), "{said}");
    assert_eq!(said.matches("not judged").count(), 1, "{said}");
}

/// A call names a procedure; the file's ending is no part of its name.
#[test]
fn a_call_with_a_files_ending_is_mended_by_the_name() {
    let bay = Bay::new();
    let all = shipped(&bay);
    let file = all.join("relative-compression.yaml");
    let text = std::fs::read_to_string(&file).unwrap();
    for ending in [".yaml", ".yml"] {
        let slip = text.replacen("call: intake\n", &format!("call: intake{ending}\n"), 1);
        assert_ne!(slip, text);
        std::fs::write(&file, slip).unwrap();
        let told = evenfire(&["check", file.to_str().unwrap()]);
        assert_eq!(told.status, 1);
        assert!(told.out.contains("Write `intake`:"), "{}", told.out);
    }
}

/// Two folders are not compared, and what is typed instead is.
#[test]
fn folders_are_not_compared() {
    let bay = Bay::new();
    let all = shipped(&bay);
    let shop = bay.shop.join("procedures");
    let (old, new) = (shop.to_str().unwrap(), all.to_str().unwrap());
    let refused = evenfire(&["diff", old, new]);
    assert_eq!(refused.status, 2);
    let told = refused.told();
    let typed = format!("evenfire diff {old}/NAME.yaml {new}/NAME.yaml");
    assert!(told.contains(&typed), "{told}");
    assert!(!told.contains("*.yaml"), "{told}");
    let file = format!("{old}/look.yaml");
    let one = evenfire(&["diff", &file, new]).told();
    assert!(
        one.contains(&format!("evenfire diff {file} {new}/NAME.yaml")),
        "{one}"
    );
}

/// A scenario that is not looked for is not silently left out.
#[test]
fn a_scenario_with_another_ending_is_named() {
    let bay = with_scenario(SCENARIO);
    bay.write("shop/procedures/scenarios/look/other.yml", SCENARIO);
    let told = evenfire(&["rehearse", &sheet(&bay)]);
    assert_eq!(told.status, 1, "{}", told.out);
    assert!(
        told.out
            .contains("other.yml:1:1: the file's name ends in .yml"),
        "{}",
        told.out
    );
    assert!(
        told.out.contains("Call the file other.yaml."),
        "{}",
        told.out
    );
    assert!(told.out.contains("ok    look/plain"), "{}", told.out);
}

/// A shipped procedure that the shop has weakened is remarked, and held against the one that comes with the program.
#[test]
fn what_a_shop_took_out_of_a_shipped_procedure_is_remarked() {
    let bay = Bay::new();
    let all = shipped(&bay);
    let file = all.join("leak-down.yaml");
    let path = file.to_str().unwrap();
    let same = evenfire(&["diff", path]);
    assert_eq!(same.status, 0, "{}", same.out);
    let quiet = evenfire(&["check", path]);
    assert!(
        !quiet.out.contains("comes with the program"),
        "{}",
        quiet.out
    );

    let text = std::fs::read_to_string(&file).unwrap();
    let weaker = text.replacen("    danger: ", "    caution: ", 1);
    assert_ne!(weaker, text);
    std::fs::write(&file, &weaker).unwrap();
    let told = evenfire(&["check", path]);
    assert_eq!(told.status, 0, "{}", told.out);
    let remark = "which comes with the program, may take a protection away";
    assert!(told.out.contains(remark), "{}", told.out);
    let listed = evenfire(&["diff", path]);
    assert_eq!(listed.status, 1);
    assert!(listed.out.contains("! hazard"), "{}", listed.out);
    let unknown = evenfire(&["diff", &sheet(&bay)]);
    assert_eq!(unknown.status, 2);
    assert!(
        unknown
            .told()
            .contains("no procedure of that name comes with the program"),
        "{}",
        unknown.err
    );
}

/// A job's number stands for its own copy, held against what the shop has now.
#[test]
fn a_jobs_own_copy_is_held_against_the_shops() {
    let bay = Bay::new();
    let run = |arguments: &[&str]| bay.run_in("", arguments);
    let answers = bay.write("done.yaml", ANSWERS);
    assert_eq!(bay.run(&["run", "look", "--answers", &answers]).status, 0);
    let same = run(&["diff", "1"]);
    assert_eq!(same.status, 0, "{} {}", same.out, same.err);
    let sheet = bay.shop.join("procedures/look.yaml");
    let was = std::fs::read_to_string(&sheet).unwrap();
    std::fs::write(&sheet, was.replace("revision: 3", "revision: 4")).unwrap();
    for typed in [&["diff", "1"][..], &["diff", "0001", "look"]] {
        let changed = run(typed);
        assert_eq!(changed.status, 1, "{}", changed.err);
        assert!(
            changed.out.contains("revision 3 becomes 4"),
            "{}",
            changed.out
        );
    }
    std::fs::write(&sheet, was).unwrap();
    let other = run(&["diff", "1", "nothing"]);
    assert!(
        other.told().contains("job 1 was not done by nothing"),
        "{}",
        other.err
    );
}
