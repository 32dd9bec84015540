//! A shop with one small procedure in a temporary folder, and the program run in it.

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use evenfire::run::event::{Event, Stamped};
use evenfire::run::journal::line::read;

/// What a command came to.
pub struct Ran {
    pub status: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    pub fn of(output: std::process::Output) -> Ran {
        let text = |bytes| String::from_utf8(bytes).unwrap();
        Ran {
            status: output.status.code().unwrap(),
            out: text(output.stdout),
            err: text(output.stderr),
        }
    }

    /// What it said on standard error, without the line breaks that the terminal's width put in.
    pub fn told(&self) -> String {
        self.err.split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// Run the program, with nothing on its standard input.
pub fn evenfire(arguments: &[&str]) -> Ran {
    let output = Command::cargo_bin("evenfire")
        .unwrap()
        .args(arguments)
        .env_remove("NO_COLOR")
        .env("TERM", "xterm")
        .output()
        .unwrap();
    Ran::of(output)
}

/// A shop of two people with practice keys.
pub struct Bay {
    pub folder: tempfile::TempDir,
    pub shop: PathBuf,
}

/// Battery voltage, a removed relay, an outcome: something to make safe, to measure and to put back.
const LOOK: &str = include_str!("look.yaml");

/// Answers to all of it.
pub const ANSWERS: &str = "\
procedure: look
clock: 2026-03-02T08:00:00Z
answers:
  - {step: held, answer: yes}
  - {step: volts, answer: 12.6}
  - {step: relay, answer: yes}
  - {step: look, note: clean}
  - {step: look, answer: all dry}
  - {step: back, answer: yes}
";

impl Bay {
    pub fn new() -> Bay {
        let folder = tempfile::tempdir().unwrap();
        let shop = folder.path().join("shop");
        let bay = Bay { folder, shop };
        let founded = evenfire(&[
            "init",
            bay.shop.to_str().unwrap(),
            "--name",
            "Quiet Lane Motors",
            "--technician",
            "jo",
            "--lead",
            "kim",
            "--practice-keys",
        ]);
        assert_eq!(founded.status, 0, "{}", founded.err);
        bay.write("shop/procedures/look.yaml", LOOK);
        bay
    }

    /// Write a file under the temporary folder; its path.
    pub fn write(&self, name: &str, text: &str) -> String {
        let path = self.folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    }

    /// Run a command in the shop.
    pub fn run(&self, arguments: &[&str]) -> Ran {
        let mut all = arguments.to_vec();
        all.extend(["--shop", self.shop.to_str().unwrap()]);
        evenfire(&all)
    }

    /// Run a command with a folder of the shop as the working folder; "" is the shop's own.
    pub fn run_in(&self, folder: &str, arguments: &[&str]) -> Ran {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_evenfire"));
        command.args(arguments).current_dir(self.shop.join(folder));
        Ran::of(command.env_remove("EVENFIRE_SHOP").output().unwrap())
    }

    /// A file of the first job.
    pub fn job(&self, name: &str) -> PathBuf {
        self.shop.join("jobs/0001").join(name)
    }

    /// What happened in the first job.
    pub fn events(&self) -> Vec<Stamped> {
        let bytes = std::fs::read(self.job("journal.jsonl")).unwrap();
        let lines = read(&bytes).unwrap().lines;
        lines.into_iter().map(|line| line.event).collect()
    }

    /// Why the first job was left, each time.
    pub fn pauses(&self) -> Vec<String> {
        let events = self.events().into_iter();
        let reason = |stamped: Stamped| match stamped.event {
            Event::Paused { reason } => Some(reason),
            _ => None,
        };
        events.filter_map(reason).collect()
    }
}

/// Write the roster anew.
pub fn edit_roster(bay: &Bay, edit: impl Fn(String) -> String) {
    let file = bay.shop.join("allowed_signers");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(file, edit(text)).unwrap();
}

fn place(step: &str) -> usize {
    ANSWERS.find(&format!("  - {{step: {step},")).unwrap()
}

/// The entries from a step on.
pub fn from(step: &str) -> &'static str {
    &ANSWERS[place(step)..]
}

/// The answers as far as before a step.
pub fn before(step: &str) -> String {
    let at = place(step);
    match &ANSWERS[..at] {
        none if !none.contains("step") => none.replace("answers:", "answers: []"),
        some => some.to_owned(),
    }
}

/// A JSON file.
pub fn json(path: &Path) -> serde_json::Value {
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}
