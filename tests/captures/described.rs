//! `--describe`: what was understood is shown before use, with a proposal which column is which.

use assert_cmd::Command;
use evenfire::capture::describe::{Description, describe};
use evenfire::cranking::answer::SignalKind;
use evenfire::simulate::draw::Wish;
use evenfire::simulate::practice::practice;

use super::fixture::{by, gzip, read};

fn run(folder: &std::path::Path, arguments: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("evenfire")
        .unwrap()
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (
        output.status.code().unwrap(),
        text(output.stdout),
        text(output.stderr),
    )
}

fn wish(source: SignalKind, ac_coupled: bool) -> Wish {
    Wish {
        source: Some(source),
        ac_coupled: Some(ac_coupled),
        rate_hz: Some(1000.0),
        ..Wish::anything()
    }
}

/// The simulator's captures know what their columns are; the proposal has to find it, without being told
/// by the headings.
#[test]
fn columns_of_simulated_captures_are_told_apart() {
    let mut right = 0;
    let mut all = 0;
    for seed in 0..12 {
        for (source, ac_coupled, channel) in [
            (SignalKind::StarterCurrent, false, "starter_current"),
            (SignalKind::BatteryVoltage, false, "battery_voltage"),
            (SignalKind::BatteryVoltage, true, "battery_voltage"),
        ] {
            let made = practice(seed, &wish(source, ac_coupled)).unwrap();
            let text = made.csv();
            let (_, rows) = text.split_once('\n').unwrap();
            let unit = if source == SignalKind::StarterCurrent {
                "A"
            } else {
                "V"
            };
            let with_reference = made.table.reference.is_some();
            let heading = if with_reference { ",b" } else { "" };
            let text = format!("t (s),a ({unit}){heading}\n{rows}");
            let found = describe(text.as_bytes(), "c", None).unwrap();
            let looks = |at: usize| found.proposals[at].channel.as_deref();
            all += 1 + usize::from(with_reference);
            right += usize::from(looks(0) == Some(channel));
            right += usize::from(with_reference && looks(1) == Some("reference"));
        }
    }
    assert!(all > 50, "{all}");
    assert!(right * 100 >= all * 95, "{right} of {all}");
}

/// Teeth of whatever wheel, sampled or a row for each change of level.
#[test]
fn crank_sensors_of_simulated_captures_are_told_apart() {
    let (mut right, mut all) = (0, 0);
    for seed in 0..12 {
        let rate_hz = Some(20_000.0);
        let wish = Wish {
            rate_hz,
            ..wish(SignalKind::CrankSpeed, false)
        };
        let made = practice(seed, &wish).unwrap();
        let text = made.csv();
        let (_, rows) = text.split_once('\n').unwrap();
        let with_reference = made.table.reference.is_some();
        let heading = if with_reference { ",b" } else { "" };
        let found = describe(format!("t (s),a{heading}\n{rows}").as_bytes(), "c", None).unwrap();
        let looks = |at: usize| found.proposals[at].channel.as_deref();
        all += 1 + usize::from(with_reference);
        right += usize::from(looks(0) == Some("crank_speed"));
        right += usize::from(with_reference && looks(1) == Some("reference"));
    }
    assert!(right * 100 >= all * 95, "{right} of {all}");
}

#[test]
fn a_capture_is_described_without_a_set_up() {
    let folder = tempfile::tempdir().unwrap();
    let made = practice(3, &wish(SignalKind::BatteryVoltage, false)).unwrap();
    let semicolons = made.csv().replace(',', ";").replace('.', ",");
    std::fs::write(folder.path().join("c.csv.gz"), gzip(semicolons.as_bytes())).unwrap();
    let (status, out, err) = run(folder.path(), &["analyse", "--describe", "c.csv.gz"]);
    assert_eq!((status, err.as_str()), (0, ""));
    for word in [
        "packed by gzip",
        "separated by semicolon",
        "decimal comma",
        "battery_voltage:",
        "1000 a second",
    ] {
        assert!(out.contains(word), "{word}: {out}");
    }
    let (status, out, _) = run(
        folder.path(),
        &["analyse", "--describe", "c.csv.gz", "--format", "json"],
    );
    assert_eq!(status, 0);
    let description: Description = serde_json::from_str(&out).unwrap();
    assert_eq!(description.schema, "evenfire.capture/1");
    assert_eq!(description.understood.rows, made.table.time.len() as u64);
}

#[test]
fn a_set_up_that_contradicts_the_data_is_remarked() {
    let folder = tempfile::tempdir().unwrap();
    let made = practice(3, &wish(SignalKind::BatteryVoltage, false)).unwrap();
    let text = made.csv();
    std::fs::write(folder.path().join("c.csv"), &text).unwrap();
    let setup = "engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}\nchannels:\n  battery_voltage: {column: reference_V}\n";
    std::fs::write(folder.path().join("c.setup.yaml"), setup).unwrap();
    let (status, out, err) = run(folder.path(), &["analyse", "--describe", "c.csv"]);
    assert_eq!(status, 0, "{err}");
    assert!(
        out.contains("is battery_voltage in the set-up, and looks like reference"),
        "{out}"
    );
}

#[test]
fn what_cannot_be_described_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("c.csv"), "1,2\n3,4\n").unwrap();
    for (arguments, says) in [
        (["analyse", "--describe", "c.csv"], "holds numbers"),
        (["analyse", "--describe", "none.csv"], "none.csv: "),
        (["analyse", "--describe", "."], "name the file"),
    ] {
        let (status, out, err) = run(folder.path(), &arguments);
        assert_eq!((status, out.as_str()), (2, ""), "{err}");
        assert!(err.contains(says), "{err}");
    }
}

/// The answer of an analysis tells it too, for the record of whoever keeps it.
#[test]
fn an_analysis_says_how_its_capture_was_understood() {
    let folder = tempfile::tempdir().unwrap();
    let made = practice(3, &wish(SignalKind::BatteryVoltage, false)).unwrap();
    std::fs::write(folder.path().join("c.csv"), made.csv()).unwrap();
    let setup = evenfire::capture::setup::write(&made.setup());
    std::fs::write(folder.path().join("c.setup.yaml"), setup).unwrap();
    let (status, out, err) = run(folder.path(), &["analyse", "c.csv", "--format", "json"]);
    assert_eq!(status, 0, "{err}");
    let answer: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(answer["understood"]["delimiter"], "comma");
    assert_eq!(
        answer["understood"]["columns"][0]["channels"][0],
        "battery_voltage"
    );
    assert_eq!(answer["schema"], "evenfire.analysis/1");
}

/// Next line (U+0085), bell and escape in headings: an error shows them written out, in its remedy too.
#[test]
fn headings_cannot_steer_a_terminal_through_an_error() {
    let setup = by("");
    for text in [
        "volts,!/\u{85}\u{7}\u{1b}[2Jsec\n1,2\n2,3\n",
        "n\u{85}\u{7}umber,volts\n1,2\n2,3\n",
    ] {
        let error = read(text.as_bytes(), &setup).unwrap_err();
        let steers = |c: char| c.is_control() && c != '\n';
        assert!(!error.to_string().contains(steers), "{error:?}");
    }
    let error = read(b"volts,t (s)\n1,2\n2,3\n", &setup).unwrap_err();
    assert!(
        error.remedy.contains("time: {column: \"t (s)\"}"),
        "{error}"
    );
}
