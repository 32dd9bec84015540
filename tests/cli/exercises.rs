//! Exercises: gone on with, graded at their end.

use crate::fixture::{Bay, Ran};
use crate::pty::at_terminal;
use base64ct::Encoding;

/// An exercise whose captures carry a verdict and a reference.
const SEED: &str = "1";

/// A shop with the sheets that the main procedure takes.
fn school() -> Bay {
    let bay = Bay::new();
    let sources = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let sheets = [
        "relative-compression.yaml",
        "intake.yaml",
        "leak-down.yaml",
        "static-compression.yaml",
        "running-compression.yaml",
        "cranking-circuit.yaml",
        "cam-correlation.yaml",
    ];
    for name in sheets {
        let from = sources.join("procedures").join(name);
        std::fs::copy(from, bay.shop.join("procedures").join(name)).unwrap();
    }
    bay
}

/// An exercise that was left open goes on as one, by `resume` as well.
#[test]
fn an_open_exercise_goes_on_as_one() {
    let bay = school();
    let file = bay.write(
        "begun.yaml",
        "procedure: relative-compression\nanswers:\n  - {step: vehicle, answer: Invented 1.6}\n",
    );
    let begun = bay.run(&["practise", "relative-compression", "--answers", &file]);
    assert_eq!(begun.status, 4, "{}\n{}", begun.out, begun.err);
    for resume in [
        &["resume", "1", "--answers", &file][..],
        &["resume", "--answers", &file],
    ] {
        let on = bay.run(resume);
        assert_eq!(on.status, 4, "{}\n{}", on.out, on.err);
        assert!(on.out.contains("Job 0001 goes on"), "{}", on.out);
    }
    let listed = bay.run(&["jobs"]);
    assert!(
        listed
            .out
            .contains("An exercise; go on with: evenfire resume 0001 --shop "),
        "{}",
        listed.out
    );
    let on = bay.run(&["practise", "--answers", &file, "--resume"]);
    assert_eq!(on.status, 4, "{}\n{}", on.out, on.err);
    assert!(on.out.contains("Job 0001 goes on"), "{}", on.out);
}

/// What the trainer says of captures is refused where the procedure takes none, and a slip in it before all else.
#[test]
fn what_would_come_to_nothing_is_refused() {
    let bay = school();
    for option in [["--spoil", "clipped"], ["--signal", "battery-voltage"]] {
        let refused = bay.run(&[&["practise", "look"][..], &option].concat());
        assert_eq!(refused.status, 2, "{}", refused.out);
        let told = format!("{} is about a capture of the turning engine", option[0]);
        assert!(refused.err.contains(&told), "{}", refused.err);
    }
    let slip = bay.run(&["practise", "relative-compression", "--weak", "3:62"]);
    assert_eq!(slip.status, 2, "{}", slip.out);
    let told = "'3:62' for '--weak <CYLINDER=PERCENT>': write cylinder=percent, as in 3=62";
    assert!(slip.err.contains(told), "{}", slip.err);
    assert!(bay.run(&["jobs"]).out.contains("No job of"));
    // what the options come to is told before anybody tries
    let help = bay.run(&["practise", "--help"]).out;
    let help = help.split_whitespace().collect::<Vec<_>>().join(" ");
    for told in [
        "with a firing order petrol where not given, else drawn",
        "Of one that is sealed, truth and grade are told again, for the trainer",
    ] {
        assert!(help.contains(told), "{help}");
    }
}

/// The demo's answers up to the second result, for an engine of so many cylinders.
fn demo_answers(cylinders: &str, order: &str) -> String {
    let sources = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let demo = std::fs::read_to_string(sources.join("sample-captures/demo.answers.yaml")).unwrap();
    let cut = demo.find("  - {step: leads-off-one").unwrap();
    demo[..cut]
        .replace(
            "cylinders, answer: 8",
            &format!("cylinders, answer: {cylinders}"),
        )
        .replace("1-8-4-3-6-5-7-2", order)
        .replace("answer: v8-weak-cylinder-1.csv", "answer: capture")
        .replace("answer: v8-weak-cylinder-2.csv", "answer: capture")
}

fn of_four_cylinders(bay: &Bay, answers: &str) -> Ran {
    let file = bay.write("exercise.yaml", answers);
    let exercise = [
        "practise",
        "relative-compression",
        "--answers",
        &file,
        "--seed",
        SEED,
        "--firing-order",
        "1-3-4-2",
        "--weak",
        "3=60",
        "--signal",
        "battery-voltage",
    ];
    bay.run(&exercise)
}

/// There is no set-up beside the capture that could be corrected: the page of the exercise is right, the intake is not.
#[test]
fn an_engine_that_is_not_the_exercises_is_mended_at_the_intake() {
    let bay = school();
    let ran = of_four_cylinders(&bay, &demo_answers("6", "1-5-3-6-2-4"));
    let told = format!("{}{}", ran.out, ran.err);
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    let mend = "An exercise's engine is what its page says: go back (`b`) to the intake";
    assert!(told.contains(mend), "{told}");
    assert!(!told.contains("Correct the set-up"), "{told}");
}

/// The whole exercise with the shipped procedure: found where it is, truth and grade at the end only.
#[test]
fn an_exercise_is_graded_once_it_is_sealed() {
    let bay = school();
    let answers = demo_answers("4", "1-3-4-2")
        + "  - {step: leads-off-one, answer: yes}\n  - {step: offer-one, answer: later}\n  - {step: put-back-one, answer: yes}\n  - {step: close-one, answer: yes}\n";
    let ran = of_four_cylinders(&bay, &answers);
    assert_eq!(ran.status, 0, "{}\n{}", ran.out, ran.err);
    let (before, after) = ran.out.split_once("The truth").unwrap();
    assert!(
        before.contains("PRACTICE: the vehicle is simulated"),
        "{before}"
    );
    assert!(
        before.contains("is sealed") && !before.contains("Grade"),
        "{before}"
    );
    assert!(after.contains("cylinder 3  LOW"), "{after}");
    assert!(after.contains("Grade: right"), "{after}");
    assert!(after.contains("An exercise need not be signed."), "{after}");
    // what makes it weak stands below what was found of it
    let mut lines = after.lines().skip_while(|line| !line.contains("LOW"));
    let weak = lines.nth(1).unwrap();
    assert!(weak.contains("leaks") || weak.contains("charge"), "{weak}");
    // what lies in the job says nothing of the truth, and the seed is kept beside the jobs
    assert!(bay.shop.join("practice/0001.json").is_file());
    assert!(bay.shop.join("practice/0001/cylinder-3.txt").is_file());
    let vehicle = std::fs::read_to_string(bay.shop.join("practice/0001/vehicle.txt")).unwrap();
    assert!(!vehicle.contains("reading"), "{vehicle}");
    assert!(!bay.job("captures/1.truth.yaml").exists());
    let again = bay.run(&["practise", "--resume", "1"]);
    assert!(again.out.contains("Grade: right"), "{}", again.out);
    nothing_waits_for_a_signature(&bay);
    another_exercise_is_not_graded_in_its_place(&bay);
    let opening = &bay.events()[0];
    assert!(format!("{opening:?}").contains("relative-compression"));
}

/// Whoever writes another seed or fault into the file of an exercise gets no grade by it, and hears which file it is.
fn another_exercise_is_not_graded_in_its_place(bay: &Bay) {
    let kept = bay.shop.join("practice/0001.json");
    let was = std::fs::read_to_string(&kept).unwrap();
    let whole: serde_json::Value = serde_json::from_str(&was).unwrap();
    let hidden = base64ct::Base64::decode_vec(whole["hidden"].as_str().unwrap()).unwrap();
    // as an older version of the program kept it
    let of_weak: serde_json::Value = serde_json::from_slice(&hidden).unwrap();
    for (key, value) in [
        ("seed", serde_json::json!(2)),
        ("weak", serde_json::json!({"4": 60.0})),
        ("spoil", serde_json::json!("short")),
    ] {
        let mut changed = of_weak.clone();
        changed[key] = value;
        std::fs::write(&kept, changed.to_string()).unwrap();
        let forged = bay.run(&["practise", "--resume", "1"]);
        assert_eq!(forged.status, 2, "{key}: {}", forged.out);
        assert!(
            !forged.out.contains("Grade:") && !forged.out.contains("The truth"),
            "{key}: {}",
            forged.out
        );
        let told = forged.told();
        assert!(told.contains("practice/0001.json: not graded: "), "{told}");
        assert!(
            told.contains("captures in the job are not those that this exercise simulates"),
            "{told}"
        );
        assert!(told.contains("put it back as it was"), "{told}");
    }
    std::fs::write(&kept, was).unwrap();
    let again = bay.run(&["practise", "--resume", "1"]);
    assert!(again.out.contains("Grade: right"), "{}", again.out);
    let list = bay.run(&["practise", "--grades"]);
    assert_eq!(list.status, 0, "{}", list.err);
    let line = list.out.lines().next().unwrap();
    assert!(line.starts_with("0001  "), "{line}");
    assert!(line.contains("  relative-compression  "), "{line}");
    assert!(line.contains("right: the cylinders"), "{line}");
}

/// Everybody who asks goes by one rule.
fn nothing_waits_for_a_signature(bay: &Bay) {
    let verified = bay.run(&["verify", "1"]);
    assert_eq!(verified.status, 0, "{}", verified.out);
    assert!(
        verified.out.contains("an exercise need not be signed"),
        "{}",
        verified.out
    );
    let listed = bay.run(&["countersign"]);
    assert!(listed.out.contains("Nothing waits"), "{}", listed.out);
    let audited = bay.run(&["audit", "--practice", "--no-memory"]);
    assert_eq!(audited.status, 0, "{}", audited.out);
    assert!(audited.out.contains("Status: 1 sound."), "{}", audited.out);
    let page = std::fs::read_to_string(bay.job("report.html")).unwrap();
    assert!(!page.contains("Not countersigned"));
    assert!(page.contains("Nobody has signed this exercise, and nobody need."));
}

/// Of a procedure that looks at no cylinder neither truth nor grade is told, however it ended.
#[test]
fn what_no_truth_is_known_of_is_not_graded() {
    let bay = Bay::new();
    let text = evenfire::procedure::scaffold::sheet(
        evenfire::procedure::scaffold::Kind::Plain,
        "battery-look",
    );
    std::fs::write(bay.shop.join("procedures/battery-look.yaml"), text).unwrap();
    let begun = "procedure: battery-look\nanswers:\n  - {step: drive, answer: yes}\n  \
                 - {step: vehicle, answer: Invented 1.6}\n  - {step: vehicle-identity, answer: AB 12}\n";
    let away = format!("{begun}  - {{step: key-away, answer: no}}\n");
    let answers = bay.write("away.yaml", &away);
    let own = bay.write("own.txt", "Rested: 12.31 V.\n");
    let missing = [own.as_str(), ".gone"].concat();
    let practise = ["practise", "battery-look", "--answers", &answers, "--page"];
    let refused = bay.run(&[&practise[..], &[&missing]].concat());
    assert_eq!(refused.status, 2, "{}", refused.out);
    assert!(refused.told().contains("own.txt.gone"), "{}", refused.err);
    let ran = bay.run(&[&practise[..], &[&own]].concat());
    assert_eq!(ran.status, 0, "{}\n{}", ran.out, ran.err);
    assert!(ran.out.contains("practice/0001/vehicle.txt"), "{}", ran.out);
    assert!(ran.out.contains("practice/0001/trainer.txt"), "{}", ran.out);
    let laid = bay.shop.join("practice/0001/trainer.txt");
    assert_eq!(std::fs::read_to_string(laid).unwrap(), "Rested: 12.31 V.\n");
    let again = bay.run(&["practise", "--resume", "1"]);
    for out in [&ran.out, &again.out] {
        assert!(
            !out.contains("The truth") && !out.contains("Grade:"),
            "{out}"
        );
        assert!(
            out.contains("Outcome: The test was not carried out. Not graded: "),
            "{out}"
        );
    }
}

/// Whoever reads what was turned away, or its audit, sees which vehicle it was.
#[test]
fn a_job_that_is_turned_away_at_once_names_its_vehicle() {
    for (last, outcome) in [("drive", "Turned away"), ("remote-start", "Remote start")] {
        let bay = school();
        let yes = match last {
            "remote-start" => "  - {step: drive, answer: yes}\n",
            _ => "",
        };
        let close = match last {
            "remote-start" => "  - {step: close-remote-start, answer: yes}\n",
            _ => "",
        };
        let answers = format!(
            "procedure: relative-compression\nanswers:\n  - {{step: vehicle, answer: Invented 1.6}}\n  \
             - {{step: vehicle-identity, answer: AB 12}}\n{yes}  - {{step: {last}, answer: no}}\n{close}"
        );
        let file = bay.write("turned.yaml", &answers);
        let ran = bay.run(&["run", "relative-compression", "--answers", &file]);
        assert_eq!(ran.status, 0, "{}\n{}", ran.out, ran.err);
        assert!(ran.out.contains(outcome), "{}", ran.out);
        let record = std::fs::read_to_string(bay.job("record.json")).unwrap();
        let record: serde_json::Value = serde_json::from_str(&record).unwrap();
        assert_eq!(record["lines"]["vehicle identity"], "AB 12");
        assert_eq!(record["lines"]["vehicle"], "Invented 1.6");
    }
}

/// Lines as in a job where they are wished for: at the beginning, and where the exercise is gone on with.
#[test]
fn plain_lines_are_kept_to_in_an_exercise() {
    let bay = Bay::new();
    for arguments in [
        &["practise", "look", "--plain"][..],
        &["resume", "1", "--plain"],
        &["practise", "--resume", "1", "--plain"],
    ] {
        let mut person = at_terminal(&bay, arguments);
        let before = person.exp_string("1 yes   2 no").unwrap();
        assert!(!before.contains('\u{1b}'), "{before:?}");
        person.exp_string("Answer: ").unwrap();
        person.send_line(":p").unwrap();
        person.exp_string("is paused").unwrap();
        person.exp_eof().unwrap();
    }
}

/// Whoever leaves an exercise before a verdict may do it again: the truth stays hidden.
#[test]
fn what_was_left_before_a_verdict_is_not_given_away() {
    let bay = school();
    let answers = "procedure: relative-compression\nanswers:\n  - {step: vehicle, answer: Invented 1.6}\n  \
                   - {step: vehicle-identity, answer: AB 12}\n  - {step: drive, answer: no}\n";
    let file = bay.write("away.yaml", answers);
    let weak = ["--weak", "3=62", "--firing-order", "1-3-4-2"];
    let ran = bay.run(
        &[
            &["practise", "relative-compression", "--answers", &file][..],
            &weak,
        ]
        .concat(),
    );
    assert_eq!(ran.status, 0, "{}\n{}", ran.out, ran.err);
    let told = ran.out.split("Job 0001").last().unwrap();
    assert!(told.contains("what is true stays hidden"), "{told}");
    assert!(!told.contains("LOW") && !told.contains("leaks"), "{told}");
    assert!(
        !told.contains("3=62") && told.contains("your trainer"),
        "{told}"
    );
    assert!(told.contains("Grade: open"), "{told}");
}
