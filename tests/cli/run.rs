//! A job begun, left, gone on with, sealed and signed.

use std::io::Write;

use evenfire::run::event::Event;

use crate::fixture::{ANSWERS, Bay, before, evenfire, from, json};

#[test]
fn a_job_from_its_first_question_to_its_signature() {
    let bay = Bay::new();
    let answers = bay.write("all.yaml", ANSWERS);
    let ran = bay.run(&["run", "look", "--answers", &answers]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(
        ran.out.contains("WARNING  The vehicle may move."),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("practice, job 0001"), "{}", ran.out);
    assert!(
        ran.out
            .contains("No fault found in what was tested: At 12.60 V it was seen so - all dry."),
        "{}",
        ran.out
    );
    let record = json(&bay.job("record.json"));
    let practice = serde_json::json!(["answers from a file", "practice keys"]);
    assert_eq!(record["practice"], practice);
    assert_eq!(record["simulated_clock"], true);
    assert_eq!(record["technician"], "jo");
    assert_eq!(record["procedures"][0]["revision"], 3);
    let own = std::fs::read(bay.job("procedures/look.yaml")).unwrap();
    assert_eq!(
        own,
        std::fs::read(bay.shop.join("procedures/look.yaml")).unwrap()
    );
    assert_eq!(bay.run(&["verify", "1"]).status, 4);
    // The way to sign that is printed is the way to sign.
    let told = ran
        .out
        .lines()
        .find(|line| line.contains("evenfire sign 0001"))
        .unwrap();
    let words: Vec<&str> = told.split_whitespace().skip(1).collect();
    assert_eq!(evenfire(&words).status, 0);
    assert!(bay.run(&["verify", "1"]).out.contains("signed by jo"));
}

#[test]
fn a_key_given_at_the_start_signs_at_the_end() {
    let bay = Bay::new();
    let answers = bay.write("all.yaml", ANSWERS);
    let key = bay.shop.join("keys/technician");
    let key = key.to_str().unwrap();
    let path = bay.shop.join("procedures/look.yaml");
    let run = [
        "run",
        path.to_str().unwrap(),
        "--answers",
        &answers,
        "--key",
        key,
    ];
    let ran = bay.run(&run);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(
        ran.out.ends_with("Job 0001 is signed by jo.\n"),
        "{}",
        ran.out
    );
    assert!(bay.job("technician.sig").exists());
    let again = bay.run(&run);
    assert_eq!(again.status, 0, "{}", again.err);
    assert!(
        bay.shop.join("jobs/0002/technician.sig").exists(),
        "a second job, not the first again"
    );
}

/// After a break what held may hold no more, so it is asked again before the step that needs it.
fn once_more_before_looking(answers: &str) -> String {
    answers.replacen(
        "  - {step: look",
        "  - {step: held, answer: yes}\n  - {step: look",
        1,
    )
}

/// Left at every question in turn, then gone on with: what was answered stays answered, what may have
/// changed since is asked once more, and the job comes to the same end.
#[test]
fn a_job_left_at_any_question_goes_on_from_there() {
    for step in ["held", "volts", "relay", "look", "back"] {
        let bay = Bay::new();
        let first = bay.write("first.yaml", &before(step));
        let left = bay.run(&["run", "look", "--answers", &first]);
        assert_eq!(left.status, 4, "{step}: {}", left.err);
        assert!(
            left.told()
                .contains(&format!("step {step:?} is asked next")),
            "{}",
            left.err
        );
        assert_eq!(bay.pauses(), ["answers ended"]);
        let relay_out = left
            .out
            .contains("fuel pump relay: Refit the fuel pump relay.");
        assert_eq!(
            relay_out,
            matches!(step, "look" | "back"),
            "{step}: {}",
            left.out
        );
        assert_eq!(bay.run(&["verify", "1"]).status, 4);
        // The way to go on that is printed is the way to go on.
        let on = left
            .err
            .lines()
            .find(|line| line.contains("evenfire resume"))
            .unwrap();
        let mut words: Vec<&str> = on.split_whitespace().skip(1).collect();
        let head = "procedure: look\nclock: 2026-03-02T09:00:00Z\nanswers:\n";
        let mut rest = from(step).to_owned();
        if ["volts", "relay", "look"].contains(&step) {
            rest = once_more_before_looking(&rest);
        }
        let rest = bay.write("rest.yaml", &format!("{head}{rest}"));
        words.extend(["--answers", &rest]);
        let on = evenfire(&words);
        assert_eq!(on.status, 0, "{step}: {}{}", on.out, on.err);
        let record = json(&bay.job("record.json"));
        assert_eq!(record["outcome"]["step"], "seen");
        assert_eq!(record["notes"][0]["text"], "clean");
        assert!(record["put_back"][0]["restored_at"].is_string());
        let over = evenfire(&words);
        assert!(
            over.status == 2 && over.err.contains("is sealed"),
            "{}",
            over.err
        );
    }
}

#[test]
fn a_journal_torn_by_a_crash_is_mended_and_gone_on_with() {
    let bay = Bay::new();
    let first = bay.write("first.yaml", &before("relay"));
    bay.run(&["run", "look", "--answers", &first]);
    let mut journal = std::fs::OpenOptions::new()
        .append(true)
        .open(bay.job("journal.jsonl"))
        .unwrap();
    journal.write_all(b"{\"n\":5,\"h\":\"12").unwrap();
    std::fs::write(bay.job("captures/.draft-x"), "cut off").unwrap();
    let rest = format!("procedure: look\nanswers:\n{}", from("relay"));
    let rest = once_more_before_looking(&rest);
    let rest = bay.write("rest.yaml", &rest);
    let on = bay.run(&["resume", "1", "--answers", &rest]);
    assert_eq!(on.status, 0, "{}", on.err);
    let torn = std::fs::read(bay.job("journal.torn-1")).unwrap();
    assert_eq!(torn, b"{\"n\":5,\"h\":\"12");
    assert!(
        bay.events()
            .iter()
            .any(|e| matches!(e.event, Event::Mended { bytes: 14, .. }))
    );
}

/// Sealed by its journal, but the program ended before the record was written.
#[test]
fn a_seal_that_was_cut_off_is_made_good() {
    let bay = Bay::new();
    let answers = bay.write("all.yaml", ANSWERS);
    bay.run(&["run", "look", "--answers", &answers]);
    let manifest = std::fs::read(bay.job("MANIFEST.sha256")).unwrap();
    let none = bay.write("none.yaml", "procedure: look\nanswers: []\n");
    for lost in [
        &["MANIFEST.sha256", "report.html"][..],
        &["MANIFEST.sha256", "report.html", "record.json"],
    ] {
        for name in lost {
            std::fs::remove_file(bay.job(name)).unwrap();
        }
        let on = bay.run(&["resume", "1", "--answers", &none]);
        assert_eq!(on.status, 0, "{lost:?}: {}", on.err);
        assert_eq!(std::fs::read(bay.job("MANIFEST.sha256")).unwrap(), manifest);
        assert!(bay.job("report.html").exists());
    }
}

#[test]
fn a_report_is_made_again_only_of_what_is_sound() {
    let bay = Bay::new();
    let answers = bay.write("all.yaml", ANSWERS);
    bay.run(&["run", "look", "--answers", &answers]);
    let report = std::fs::read(bay.job("report.html")).unwrap();
    std::fs::write(bay.job("report.html"), "changed").unwrap();
    let again = bay.run(&["report", "1"]);
    assert_eq!(again.status, 0, "{}", again.err);
    assert_eq!(std::fs::read(bay.job("report.html")).unwrap(), report);
    std::fs::write(bay.job("procedures/look.yaml"), "changed").unwrap();
    let refused = bay.run(&["report", "1"]);
    assert!(
        refused.status == 2 && refused.err.contains("not sound"),
        "{}",
        refused.err
    );
}
