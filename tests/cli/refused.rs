//! What is wrong is said, with its place and how to mend it, and nothing is begun or lost by it.

use crate::fixture::{ANSWERS, Bay, before};

/// Arguments of `run`, the content of the answers file, and what must be said.
type Way<'w> = (&'w [&'w str], &'w str, &'w [&'w str]);

#[test]
fn nothing_is_begun_where_something_is_wrong() {
    let bay = Bay::new();
    let file = bay.write("answers.yaml", "");
    let broken = bay.write(
        "look.yaml",
        &include_str!("look.yaml").replace("go: relay", "go: rely"),
    );
    let other = "procedure: other\nanswers: []\n";
    let ways: [Way; 10] = [
        (&["look"], ANSWERS, &["no terminal", "--answers FILE"]),
        (
            &["lok", "--answers", &file],
            ANSWERS,
            &["lok.yaml: no such procedure", "the shop has look"],
        ),
        (
            &["./look.yaml", "--answers", &file],
            ANSWERS,
            &["./look.yaml: no such file"],
        ),
        (
            &["look", "--answers", "none.yaml"],
            ANSWERS,
            &["none.yaml", "No such file"],
        ),
        (
            &["look", "--answers", &file],
            other,
            &["answers for other", "runs look"],
        ),
        (
            &["look", "--answers", &file],
            "procedure: [\n",
            &["answers.yaml:1:12: `[` is not closed"],
        ),
        (
            &["look", "--answers", &file],
            "procedure: look\n",
            &["answers.yaml:1:1: the file has no `answers`"],
        ),
        (
            &["look", "--answers", &file, "--technician", "kim"],
            ANSWERS,
            &["kim does not sign", "jo"],
        ),
        (
            &["look", "--answers", &file, "--key", "none.key"],
            ANSWERS,
            &["none.key"],
        ),
        (
            &[&broken, "--answers", &file],
            ANSWERS,
            &["look.yaml:22:13:", "rely", "not run"],
        ),
    ];
    for (arguments, answers, said) in ways {
        bay.write("answers.yaml", answers);
        let mut run = vec!["run"];
        run.extend(arguments);
        let ran = bay.run(&run);
        assert_eq!(ran.status, 2, "{arguments:?}: {}", ran.out);
        for words in said {
            assert!(ran.err.contains(words), "{arguments:?}: {}", ran.err);
        }
        assert!(!bay.job("").exists(), "{arguments:?}");
    }
}

/// Wrong answers leave the job open at the question; those before them are kept.
#[test]
fn a_wrong_answer_stops_at_its_line() {
    for (right, wrong, said) in [
        (
            "answer: 12.6",
            "answer: 123",
            "answers.yaml:5:5: step \"volts\": 123.00 V is impossible",
        ),
        ("answer: 12.6", "answer: twelve", "is no number"),
        (
            "answer: 12.6",
            "answer: 3 bar",
            "answers.yaml:5:5: step \"volts\": bar cannot stand where V",
        ),
        (
            "volts, answer",
            "relay, answer",
            "the answer is for step \"relay\", but step \"volts\" is asked",
        ),
        (
            "relay, answer: yes",
            "relay, answer: perhaps",
            "answers.yaml:6:5: step \"relay\" is answered yes or no",
        ),
    ] {
        let bay = Bay::new();
        let answers = bay.write("answers.yaml", &ANSWERS.replace(right, wrong));
        let ran = bay.run(&["run", "look", "--answers", &answers]);
        assert_eq!(ran.status, 4, "{wrong}: {}", ran.out);
        assert!(ran.told().contains(said), "{wrong}: {}", ran.err);
        assert_eq!(bay.pauses(), ["answers do not fit"]);
    }
}

#[test]
fn a_job_is_not_gone_on_with_where_that_cannot_be() {
    let bay = Bay::new();
    let first = bay.write("first.yaml", &before("relay"));
    bay.run(&["run", "look", "--answers", &first]);
    let refused = |arguments: &[&str], said: &str| {
        let ran = bay.run(arguments);
        assert!(
            ran.status == 2 && ran.err.contains(said),
            "{arguments:?}: {}",
            ran.err
        );
    };
    refused(&["resume", "7"], "no job 7");
    refused(&["resume", "1"], "--answers FILE");
    refused(&["resume", "1", "--answers", "none.yaml"], "none.yaml");
    refused(&["sign", "1", "--key", "none"], "none");
    refused(&["report", "1"], "not sealed");
    let held = std::fs::File::open(bay.job("journal.jsonl")).unwrap();
    held.lock().unwrap();
    refused(
        &["resume", "1", "--answers", &first],
        "another run of the program",
    );
    drop(held);
    let journal = std::fs::read_to_string(bay.job("journal.jsonl")).unwrap();
    std::fs::write(bay.job("procedures/look.yaml"), "changed").unwrap();
    refused(
        &["resume", "1", "--answers", &first],
        "changed since the job was begun",
    );
    std::fs::write(bay.job("journal.jsonl"), journal.replace("12.6", "12.7")).unwrap();
    refused(
        &["resume", "1", "--answers", &first],
        "journal.jsonl line 3",
    );
    let unchanged = std::fs::read_to_string(bay.job("journal.jsonl")).unwrap();
    assert_eq!(
        unchanged,
        journal.replace("12.6", "12.7"),
        "nothing is repaired"
    );
    std::fs::write(bay.job("journal.jsonl"), "").unwrap();
    refused(&["resume", "1", "--answers", &first], "never began");
}

/// Help is in plain words and names what each argument is.
#[test]
fn every_command_explains_itself() {
    for (command, words) in [
        (
            "run",
            [
                "--answers <FILE>",
                "--technician <IDENTITY>",
                "--key <FILE>",
                "job is sealed",
            ],
        ),
        (
            "resume",
            [
                "--answers <FILE>",
                "--shop <DIR>",
                "asked again",
                "left open",
            ],
        ),
        (
            "demo",
            ["--into <DIR>", "./demo-shop", "practice", "invented"],
        ),
        ("report", ["--shop <DIR>", "report.html", "<JOB>", "again"]),
    ] {
        let help = crate::fixture::evenfire(&[command, "--help"]);
        assert_eq!(help.status, 0);
        for word in words {
            assert!(help.out.contains(word), "{command}: {word}: {}", help.out);
        }
    }
}
