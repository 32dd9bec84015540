//! A folder with captures, the program run on them, and practice captures to start from.

use std::path::PathBuf;

use assert_cmd::Command;
use evenfire::cranking::answer::{Analysis, Check, CheckName, SignalKind};
use evenfire::engine::{Engine, Fuel};
use evenfire::simulate::draw::{ReferenceWish, Wish};
use evenfire::simulate::drive::drive;
use evenfire::simulate::plan::Plan;
use evenfire::simulate::practice::{Practice, practice};
use evenfire::simulate::recording::record;
use serde_json::Value;

/// What a command came to.
pub struct Ran {
    pub status: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    /// The one object on standard output.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| {
            panic!("{error}\nstdout: {}\nstderr: {}", self.out, self.err);
        })
    }
}

/// A folder that goes away at the end.
pub struct Bench(tempfile::TempDir);

impl Bench {
    pub fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    pub fn put(&self, name: &str, bytes: impl AsRef<[u8]>) -> String {
        let path = self.path(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, bytes).unwrap();
        path.display().to_string()
    }

    /// Run the program inside the folder.
    pub fn run(&self, arguments: &[&str]) -> Ran {
        let output = Command::cargo_bin("evenfire")
            .unwrap()
            .args(arguments)
            .current_dir(self.0.path())
            .output()
            .unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        Ran {
            status: output
                .status
                .code()
                .expect("ended by itself, not by a signal"),
            out: text(output.stdout),
            err: text(output.stderr),
        }
    }
}

/// Inline four, even fire.
pub fn four() -> Engine {
    Engine::new(4, &[1, 3, 4, 2], None, Some(Fuel::Petrol)).unwrap()
}

/// Battery voltage of an inline four at 1000 samples a second; `losses` by place in the firing order.
pub fn wish(losses: &[(usize, f64)]) -> Wish {
    Wish {
        engine: Some(four()),
        source: Some(SignalKind::BatteryVoltage),
        ac_coupled: Some(false),
        losses: Some(losses.to_vec()),
        rate_hz: Some(1000.0),
        reference: Some(ReferenceWish::Cycle),
        ..Wish::anything()
    }
}

/// A practice capture whose plan was changed after drawing, driven and recorded again.
pub fn remade(seed: u64, wish: &Wish, change: impl FnOnce(&mut Plan)) -> Practice {
    let made = practice(seed, wish).unwrap();
    let mut plan = made.plan;
    change(&mut plan);
    let table = record(&plan, &drive(&plan));
    Practice {
        plan,
        table,
        truth: made.truth,
    }
}

/// The library's answer.
pub fn analysed(made: &Practice) -> Analysis {
    evenfire::cranking::analyse(&made.capture(), &made.setup()).analysis
}

/// Names of the checks that failed.
pub fn failed(quality: &[Check]) -> Vec<CheckName> {
    quality
        .iter()
        .filter(|check| !check.passed)
        .map(|check| check.check)
        .collect()
}
