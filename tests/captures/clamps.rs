//! A current recorded as a clamp's millivolts comes out as the amperes that it was, by the shop's list.

use std::fmt::Write;
use std::path::Path;

use assert_cmd::Command;
use evenfire::cranking::answer::SignalKind;
use evenfire::simulate::draw::Wish;
use evenfire::simulate::practice::practice;
use serde_json::Value;

const LIST: &str = "clamps:\n  big: {millivolt_per_ampere: 1, range: 1500, zero_millivolt: 8, jaw: 40}\n  \
                    small: {millivolt_per_ampere: 10, range: 60, jaw: 12}\n";

fn analyse(folder: &Path, arguments: &[&str]) -> (i32, Value, String) {
    let output = Command::cargo_bin("evenfire")
        .unwrap()
        .args(["analyse", "c.csv", "--format", "json"])
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap();
    let out = serde_json::from_slice(&output.stdout).unwrap_or(Value::Null);
    let err = String::from_utf8(output.stderr).unwrap();
    (output.status.code().unwrap(), out, err)
}

/// The simulator's amperes as what the clamp `big` shows of them, in millivolts; the set-up's channel has
/// `more` keys.
fn put(folder: &Path, more: &str) -> Vec<f64> {
    let wish = Wish {
        source: Some(SignalKind::StarterCurrent),
        rate_hz: Some(1000.0),
        ..Wish::anything()
    };
    let made = practice(5, &wish).unwrap();
    let mut text = "time (s),probe (mV)\n".to_owned();
    let mut amperes = Vec::new();
    for line in made.csv().lines().skip(1) {
        let mut cells = line.split(',');
        let (time, ampere) = (cells.next().unwrap(), cells.next().unwrap());
        amperes.push(ampere.parse::<f64>().unwrap());
        writeln!(text, "{time},{}", amperes.last().unwrap() + 8.0).unwrap();
    }
    std::fs::write(folder.join("c.csv"), text).unwrap();
    let setup = format!(
        "engine: {{cylinders: 4, firing_order: [1, 3, 4, 2]}}\nchannels:\n  starter_current:\n    column: probe\n{more}"
    );
    std::fs::write(folder.join("c.setup.yaml"), setup).unwrap();
    amperes
}

#[test]
fn a_channel_is_scaled_by_the_clamp_that_is_named() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("clamps.yaml"), LIST).unwrap();
    let amperes = put(folder.path(), "    clamp: big\n");
    let greatest = amperes.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (status, by_setup, err) = analyse(folder.path(), &["--shop", "."]);
    assert_eq!((status, err.as_str()), (0, ""));
    let column = &by_setup["understood"]["columns"][0];
    assert!((column["greatest"].as_f64().unwrap() - greatest).abs() < 1e-6);
    let remark = "clamp \"big\" of the shop: 1 mV/A, up to 1500 A, 8 mV at no current taken off";
    assert_eq!(by_setup["understood"]["remarks"][0], remark);
    // the same by the command line, which decides also where the set-up says something else
    put(folder.path(), "    millivolt_per_ampere: 10\n");
    let (_, by_command, _) = analyse(folder.path(), &["--shop", ".", "--clamp", "big"]);
    assert_eq!(by_command, by_setup);
    // and the same as plain amperes, but for the account of how they were read
    put(folder.path(), "    unit: A\n    polarity: load_up\n");
    let (_, plain, _) = analyse(folder.path(), &[]);
    assert_eq!(plain["verdict"]["kind"], by_setup["verdict"]["kind"]);
}

#[test]
fn a_clamp_that_is_too_small_is_told() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("clamps.yaml"), LIST).unwrap();
    // 10 mV/A: a tenth of the amperes, and still more than 60 of them
    put(folder.path(), "    clamp: small\n    scale: 10\n");
    let (status, found, _) = analyse(folder.path(), &["--shop", "."]);
    assert_eq!(status, 0);
    let remarks = found["understood"]["remarks"].to_string();
    assert!(remarks.contains("the clamp measures up to 60"), "{remarks}");
    let failed: Vec<&Value> = found["quality"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|check| check["passed"] == false)
        .map(|check| &check["check"])
        .collect();
    assert!(failed.contains(&&Value::from("clipped")), "{failed:?}");
}

#[test]
fn an_unknown_clamp_is_refused_with_those_known() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("clamps.yaml"), LIST).unwrap();
    put(folder.path(), "    clamp: huge\n");
    let (status, out, err) = analyse(folder.path(), &["--shop", "."]);
    assert_eq!((status, out), (2, Value::Null));
    assert!(
        err.contains("c.setup.yaml:5:5: ") && err.contains("it has: big, small"),
        "{err}"
    );
    let (_, _, err) = analyse(folder.path(), &[]);
    assert!(err.contains("no shop's list of clamps is at hand"), "{err}");
    put(
        folder.path(),
        "    clamp: big\n    millivolt_per_ampere: 1\n",
    );
    let (_, _, err) = analyse(folder.path(), &["--shop", "."]);
    assert!(err.contains("say the same thing twice"), "{err}");
    let (status, _, err) = analyse(folder.path(), &["--shop", "nowhere"]);
    assert!(status == 2 && err.contains("nowhere/clamps.yaml"), "{err}");
}
