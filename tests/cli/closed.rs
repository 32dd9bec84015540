//! Whoever reads the output has seen enough: `evenfire verify 1 | head -1`.

use std::process::{Command, Stdio};

use crate::fixture::{ANSWERS, Bay};

/// Every command ends as it would have, and complains of nothing.
#[test]
fn a_reader_who_goes_away_ends_no_command_in_a_panic() {
    let bay = Bay::new();
    let answers = bay.write("all.yaml", ANSWERS);
    assert_eq!(bay.run(&["run", "look", "--answers", &answers]).status, 0);
    let key = bay.shop.join("keys/technician");
    let key = key.to_str().unwrap();
    let lead = bay.shop.join("keys/lead");
    let lead = lead.to_str().unwrap();
    let fresh = bay.folder.path().join("fresh");
    let into = bay.folder.path().join("simulated");
    let practice = [
        "--practice-keys",
        "--name",
        "Mill Road",
        "--technician",
        "jo",
    ];
    let init = [&["init", fresh.to_str().unwrap()][..], &practice].concat();
    let simulate = ["simulate", "one", "--into", into.to_str().unwrap()];
    let texts = [
        "--corrects",
        "volts",
        "--adds",
        "12.5 V",
        "--reason",
        "misread",
    ];
    let amend = [&["amend", "1", "--key", key][..], &texts].concat();
    let commands: [(&[&str], bool, i32); 10] = [
        (&["verify", "1"], true, 4),
        (&["report", "1"], true, 0),
        (&["sign", "1", "--key", key], true, 0),
        (&amend, true, 0),
        (&["countersign", "1", "--key", lead, "--accept"], true, 0),
        (&["audit", "--practice"], true, 0),
        (&init, false, 0),
        (&simulate, false, 0),
        (
            &[
                "accuracy",
                "--engines",
                "1",
                "--spoiled",
                "0",
                "--common",
                "0",
            ],
            false,
            0,
        ),
        (&["schema"], false, 0),
    ];
    for (arguments, in_shop, status) in commands {
        let mut command = Command::new(env!("CARGO_BIN_EXE_evenfire"));
        command.args(arguments).stdin(Stdio::null());
        if in_shop {
            command.arg("--shop").arg(&bay.shop);
        }
        let mut child = command
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let out = child.wait_with_output().unwrap();
        let told = String::from_utf8_lossy(&out.stderr);
        assert!(!told.contains("panicked"), "{arguments:?}: {told}");
        assert_eq!(out.status.code(), Some(status), "{arguments:?}: {told}");
    }
}
