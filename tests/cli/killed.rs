//! The real process, killed at random moments: nothing that was answered is lost, and the job goes on.

use std::fs::File;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use evenfire::run::event::Event;
use evenfire::run::journal::read;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::fixture::{ANSWERS, Bay, Ran};

/// Kills in the usual run of the tests; by hand a thousand, see `a_thousand_moments`.
const MOMENTS: u32 = 25;

/// Answers to whatever is asked, by step.
const BY_STEP: [(&str, &str); 5] = [
    ("held", "yes"),
    ("volts", "12.6"),
    ("relay", "yes"),
    ("look", "all dry"),
    ("back", "yes"),
];

fn begin(bay: &Bay, answers: &str, out: &Path) -> std::process::Child {
    Command::new(env!("CARGO_BIN_EXE_evenfire"))
        .args(["run", "look", "--answers", answers, "--shop"])
        .arg(&bay.shop)
        .stdin(Stdio::null())
        .stdout(File::create(out).unwrap())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// Answers and notes on the disk, those that a kill tore excepted; each brings a question onto the screen.
fn answered(job: &Path) -> usize {
    let Ok(bytes) = std::fs::read(job.join("journal.jsonl")) else {
        return 0;
    };
    let lines = read(&bytes).unwrap().lines;
    let is_answer = |event: &Event| matches!(event, Event::Answered { .. } | Event::Noted { .. });
    lines
        .iter()
        .filter(|line| is_answer(&line.event.event))
        .count()
}

/// Questions that were shown: each but the last was answered, and its answer on the disk, before.
fn shown(out: &Path) -> usize {
    let text = std::fs::read_to_string(out).unwrap();
    text.matches(" · step ").count()
}

/// Gone on with, one answer after the other, until it is sealed.
fn go_on(bay: &Bay, number: &str) -> Ran {
    let mut answers = "procedure: look\nanswers: []\n".to_owned();
    for _ in 0..12 {
        let file = bay.write("on.yaml", &answers);
        let ran = bay.run(&["resume", number, "--answers", &file]);
        let told = ran.told();
        let Some(asked) = told.split("step \"").nth(1).filter(|_| ran.status == 4) else {
            return ran;
        };
        let step = asked.split('"').next().unwrap();
        let (_, answer) = BY_STEP.iter().find(|(known, _)| *known == step).unwrap();
        answers = format!("procedure: look\nanswers:\n  - {{step: {step}, answer: {answer}}}\n");
    }
    panic!("job {number} never comes to its end");
}

fn kill_at_random(moments: u32, seed: u64) {
    let bay = Bay::new();
    // the test takes the job up in many short goes; what was made safe need not be asked again after each
    let policy = bay.shop.join("policy.yaml");
    let text = std::fs::read_to_string(&policy).unwrap();
    let text = text.replace("limits:\n", "limits:\n  pause_minutes: 60\n");
    std::fs::write(&policy, text).unwrap();
    let answers = bay.write("all.yaml", ANSWERS);
    let out = bay.folder.path().join("out.txt");
    let start = Instant::now();
    assert!(begin(&bay, &answers, &out).wait().unwrap().success());
    let whole = start.elapsed().as_micros() as u64;
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let (mut open, mut sealed) = (0, 0);
    for moment in 0..moments {
        let jobs = bay.shop.join("jobs");
        let before = std::fs::read_dir(&jobs).unwrap().count();
        let mut run = begin(&bay, &answers, &out);
        std::thread::sleep(Duration::from_micros(random.random_range(0..whole)));
        run.kill().unwrap(); // SIGKILL: nothing can be tidied up
        run.wait().unwrap();
        let folders = std::fs::read_dir(&jobs).unwrap().flatten();
        let newest = folders
            .map(|entry| entry.file_name().into_string().unwrap())
            .filter(|name| !name.starts_with('.'))
            .max()
            .unwrap();
        let job = jobs.join(&newest);
        if std::fs::read_dir(&jobs).unwrap().count() == before && shown(&out) == 0 {
            continue; // killed before the job began
        }
        let (questions, kept) = (shown(&out), answered(&job));
        let told = format!("moment {moment}, seed {seed}: {questions} shown, {kept} kept");
        assert!(kept + 1 >= questions, "{told}");
        if kept == 0 {
            continue;
        }
        let ran = go_on(&bay, &newest);
        if ran.status == 0 {
            open += 1;
        } else {
            assert!(ran.err.contains("is sealed"), "{told}: {}", ran.err);
            sealed += 1;
        }
        assert!(job.join("MANIFEST.sha256").exists(), "{told}");
    }
    assert!(
        open > 0,
        "no kill fell into a job at work; {sealed} were sealed"
    );
}

#[test]
fn a_process_killed_at_random_moments_loses_no_answer() {
    kill_at_random(MOMENTS, 20_260_302);
}

/// By hand: `cargo test --release --test cli a_thousand -- --ignored`.
#[test]
#[ignore = "takes minutes"]
fn a_thousand_moments() {
    kill_at_random(1000, 7);
}
