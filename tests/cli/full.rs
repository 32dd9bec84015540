//! A disk that is full, and a page that was changed: what is begun and cannot be ended leaves all as it was.

use std::process::Command;

use crate::fixture::{ANSWERS, Bay, Ran};

/// Run a command that can write no more than some KiB into a file, as on a full disk.
fn cramped(bay: &Bay, kib: u32, arguments: &[&str]) -> Ran {
    let script = format!("trap '' XFSZ; ulimit -f {kib}; exec \"$@\"");
    let output = Command::new("bash")
        .args(["-c", &script, "bash", env!("CARGO_BIN_EXE_evenfire")])
        .args(arguments)
        .arg("--shop")
        .arg(&bay.shop)
        .output()
        .unwrap();
    Ran::of(output)
}

/// What accepts the job, by the shop's own key.
fn accepting(bay: &Bay) -> [String; 5] {
    let key = bay.shop.join("keys/lead").to_str().unwrap().to_owned();
    ["countersign", "1", "--accept", "--key", &key].map(str::to_owned)
}

fn names(folder: &std::path::Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// A sealed job, signed where that is wanted.
fn sealed(signs: bool) -> Bay {
    let bay = Bay::new();
    let answers = bay.write("all.yaml", ANSWERS);
    assert_eq!(bay.run(&["run", "look", "--answers", &answers]).status, 0);
    if signs {
        let key = bay.shop.join("keys/technician");
        let signed = bay.run(&["sign", "1", "--key", key.to_str().unwrap()]);
        assert_eq!(signed.status, 0, "{}", signed.err);
    }
    bay
}

#[test]
fn a_job_that_cannot_be_begun_leaves_no_folder() {
    let bay = Bay::new();
    let answers = bay.write("all.yaml", ANSWERS);
    let begin = ["run", "look", "--answers", &answers];
    // without any byte the procedure cannot be copied, with some the journal's first line is cut off
    for kib in [0, 1] {
        let ran = cramped(&bay, kib, &begin);
        assert_eq!(ran.status, 2, "{kib}: {}{}", ran.out, ran.err);
        assert!(ran.told().contains("No job was begun"), "{}", ran.err);
        let left = names(&bay.shop.join("jobs"));
        let jobs = left.iter().filter(|name| !name.starts_with('.')).count();
        assert_eq!(jobs, 0, "{kib}: {left:?}");
    }
    assert_eq!(bay.run(&begin).status, 0);
    assert!(bay.job("record.json").exists());
}

#[test]
fn a_decision_that_cannot_be_written_leaves_the_job_as_it_was() {
    let bay = sealed(true);
    let before = names(&bay.job(""));
    let accept = accepting(&bay);
    let accept = accept.each_ref().map(String::as_str);
    let ran = cramped(&bay, 0, &accept);
    assert_eq!(ran.status, 2, "{}", ran.err);
    assert_eq!(names(&bay.job("")), before);
    assert_eq!(bay.run(&["verify", "1"]).status, 4);
    // what an older version left of a decision is told with its remedy
    std::fs::write(bay.job("decision.json"), "{}").unwrap();
    let told = bay.run(&["verify", "1"]);
    let words: Vec<&str> = told.out.split_whitespace().collect();
    let words = words.join(" ");
    assert!(
        told.status == 1
            && words.contains("keep decision.json outside of the job and countersign again"),
        "{words}"
    );
    std::fs::remove_file(bay.job("decision.json")).unwrap();
    // signed, but for its page: that is said
    let ran = cramped(&bay, 1, &accept);
    assert!(
        ran.status == 2 && ran.told().contains("signed stands"),
        "{}",
        ran.err
    );
    assert_eq!(bay.run(&["verify", "1"]).status, 3);
    assert_eq!(bay.run(&["report", "1"]).status, 0);
    assert_eq!(bay.run(&["verify", "1"]).status, 0);
}

#[test]
fn a_signature_that_cannot_be_written_leaves_the_job_as_it_was() {
    let bay = sealed(false);
    let before = names(&bay.job(""));
    let key = bay.shop.join("keys/technician");
    let key = key.to_str().unwrap();
    assert_eq!(cramped(&bay, 0, &["sign", "1", "--key", key]).status, 2);
    assert_eq!(names(&bay.job("")), before);
    assert_eq!(bay.run(&["sign", "1", "--key", key]).status, 0);
    let before = names(&bay.job(""));
    let texts = [
        "--corrects",
        "volts",
        "--adds",
        "12.5",
        "--reason",
        "misread",
    ];
    let amend = [&["amend", "1", "--key", key], &texts[..]].concat();
    assert_eq!(cramped(&bay, 0, &amend).status, 2);
    let sound = bay.run(&["verify", "1"]);
    assert_eq!(sound.status, 4, "{}", sound.out);
    assert!(
        names(&bay.job(""))
            .iter()
            .all(|name| before.contains(name) || name == "amendments")
    );
    assert_eq!(bay.run(&amend).status, 0);
}

#[test]
fn nobody_decides_by_a_page_that_is_not_the_jobs() {
    let bay = sealed(true);
    let page = std::fs::read_to_string(bay.job("report.html")).unwrap();
    let forged = page.replace("all dry", "all wet");
    assert_ne!(page, forged);
    std::fs::write(bay.job("report.html"), &forged).unwrap();
    let accept = accepting(&bay);
    let accept = accept.each_ref().map(String::as_str);
    let ran = bay.run(&accept);
    assert_eq!(ran.status, 2);
    assert!(ran.told().contains("evenfire report 0001"), "{}", ran.err);
    assert!(!bay.job("decision.json").exists());
    let made = bay.run(&["report", "1"]);
    assert!(
        made.status == 0 && made.told().contains("is kept as"),
        "{}",
        made.err
    );
    let kept = bay.shop.join("jobs/0001-other-report-1.html");
    assert_eq!(std::fs::read_to_string(kept).unwrap(), forged);
    assert_eq!(
        std::fs::read_to_string(bay.job("report.html")).unwrap(),
        page
    );
    let again = bay.run(&["report", "1"]);
    assert!(again.status == 0 && again.err.is_empty(), "{}", again.err);
    assert_eq!(bay.run(&accept).status, 0);
    let audit = bay.run(&["audit", "--practice"]);
    assert_eq!(audit.status, 0, "{}{}", audit.out, audit.err);
}
