//! Two jobs side by side, from the terminal.

use std::process::Command;

use crate::shop::{Drawn, Register};

/// Why the two might not be of one engine is told where the page is asked for, and not only in it.
#[test]
fn doubts_about_two_jobs_are_told_at_the_terminal() {
    let folder = tempfile::tempdir().unwrap();
    let mut register = Register::new(&folder.path().join("shop"), 200);
    register.add(5);
    let page = folder.path().join("page.html");
    let beside = |job: &str, earlier: &str| {
        let out = Command::new(env!("CARGO_BIN_EXE_evenfire"))
            .args(["report", job, "--compare", earlier, "--into"])
            .arg(&page)
            .arg("--shop")
            .arg(register.shop.root())
            .output()
            .unwrap();
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        let (out, told) = (text(&out.stdout), text(&out.stderr));
        assert_eq!(out, format!("{}\n", page.display()), "{told}");
        let page = std::fs::read_to_string(&page).unwrap();
        for doubt in told.lines() {
            assert!(page.contains(doubt), "{doubt}");
        }
        told
    };
    let vehicle = "The two jobs give different entries for vehicle identity: make sure that both are of one engine.\n";
    let two = "The two jobs are of two vehicles, so nothing is told of what changed.\n";
    assert_eq!(beside("3", "2"), format!("{vehicle}{two}"));
    let order = vehicle.replace("vehicle identity", "firing order");
    let verdict = "Job 0004 came to no verdict; what is shown of it is its last recording's own.\n";
    assert_eq!(beside("5", "4"), format!("{vehicle}{order}{verdict}{two}"));
}

/// Each of the two is sound by itself; that the job before the second one is gone is told before it is accepted.
#[test]
fn a_gap_before_a_job_is_told_to_the_lead_who_decides_about_it() {
    let folder = tempfile::tempdir().unwrap();
    let mut register = Register::new(&folder.path().join("shop"), 200);
    register.add(14);
    let key = folder.path().join("lead");
    register.lead_key(&key);
    let waiting = (2..=14).filter(|n| Drawn(*n).awaits_decision() && !Drawn(*n).is_practice());
    let waiting: Vec<u64> = waiting.take(2).collect();
    let job = |number: u64| register.shop.jobs().join(format!("{number:04}"));
    let previous = (1..waiting[1]).rev().find(|n| !Drawn(*n).is_practice());
    std::fs::remove_dir_all(job(previous.unwrap())).unwrap();
    for (number, gap) in [(waiting[0], false), (waiting[1], true)] {
        let out = Command::new(env!("CARGO_BIN_EXE_evenfire"))
            .args([
                "countersign",
                &number.to_string(),
                "--accept",
                "--yes",
                "--key",
            ])
            .arg(&key)
            .arg("--shop")
            .arg(register.shop.root())
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&out.stdout).into_owned();
        let fault = String::from_utf8_lossy(&out.stderr);
        assert!(out.status.success(), "{told}\n{fault}");
        assert_eq!(
            told.contains("so the chain has a gap"),
            gap,
            "{number}: {told}"
        );
    }
}
