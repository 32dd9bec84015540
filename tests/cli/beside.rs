//! What belongs to a job beside its answers: files laid to it, a lead's word that a step need not be done,
//! the list of open jobs, and how the shop is found.

use std::process::{Command, Stdio};

use evenfire::run::event::Event;

use crate::fixture::{ANSWERS, Bay, before, json};

/// A shop whose leads may waive the look at the rail.
fn waiving() -> Bay {
    let bay = Bay::new();
    let policy = bay.shop.join("policy.yaml");
    let text = std::fs::read_to_string(&policy).unwrap();
    std::fs::write(&policy, format!("{text}\nwaivers:\n  look/look: lead\n")).unwrap();
    bay
}

fn answers(look: &str) -> String {
    let old = "  - {step: look, note: clean}\n  - {step: look, answer: all dry}\n";
    assert!(ANSWERS.contains(old));
    ANSWERS.replace(old, look)
}

/// By stock `ssh-keygen`, outside this program.
#[test]
fn a_waiver_is_signed_on_the_spot_as_ssh_keygen_verifies() {
    let bay = waiving();
    let look = "  - {step: look, waive: no rail on this engine, key: shop/keys/lead}\n";
    let file = bay.write("all.yaml", &answers(look));
    let ran = bay.run(&["run", "look", "--answers", &file]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let text = std::fs::read(bay.job("waivers/1.txt")).unwrap();
    let told = String::from_utf8(text.clone()).unwrap();
    assert!(
        told.contains("\nstep: look\nreason: no rail on this engine\nlead: kim\n"),
        "{told}"
    );
    let mut verify = Command::new("ssh-keygen")
        .args(["-Y", "verify", "-n", "lead@evenfire", "-I", "kim", "-f"])
        .arg(bay.shop.join("allowed_signers"))
        .arg("-s")
        .arg(bay.job("waivers/1.sig"))
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .spawn()
        .expect("ssh-keygen (OpenSSH) is needed for this test");
    std::io::Write::write_all(verify.stdin.as_mut().unwrap(), &text).unwrap();
    assert!(verify.wait().unwrap().success());
    let manifest = std::fs::read_to_string(bay.job("MANIFEST.sha256")).unwrap();
    assert!(manifest.contains("  waivers/1.txt\n") && manifest.contains("  waivers/1.sig\n"));
    let record = json(&bay.job("record.json"));
    let path = record["path"].as_array().unwrap();
    let waived = path.iter().find(|entry| entry["step"] == "look").unwrap();
    assert_eq!(waived["answered"], "waived by kim: no rail on this engine");
}

#[test]
fn a_waiver_that_does_not_count_is_refused_at_the_question() {
    for (step, key, says) in [
        ("look", "shop/keys/technician", "another person must waive"),
        ("look", "shop/keys/nobody", "nobody"),
        (
            "held",
            "shop/keys/lead",
            "cannot be waived: it establishes `vehicle held`",
        ),
        ("relay", "shop/keys/lead", "cannot be waived: it is work"),
    ] {
        let bay = waiving();
        let entry = format!("  - {{step: {step}, waive: no time, key: {key}}}\n");
        let file = bay.write(
            "all.yaml",
            &(before(step).replace("answers: []", "answers:") + &entry),
        );
        let ran = bay.run(&["run", "look", "--answers", &file]);
        assert_eq!(ran.status, 4, "{}", ran.out);
        assert!(ran.told().contains(says), "{step}: {}", ran.err);
        assert!(!bay.job("waivers").join("1.sig").exists());
    }
}

#[test]
fn a_file_is_laid_to_the_job_untouched() {
    let bay = Bay::new();
    std::fs::write(
        bay.folder.path().join("Rail No 1.JPG"),
        b"\xff\xd8 a picture",
    )
    .unwrap();
    let entry = "  - {step: look, attach: Rail No 1.JPG}\n  - {step: look, answer: all dry}\n";
    let file = bay.write("all.yaml", &answers(entry));
    let ran = bay.run(&["run", "look", "--answers", &file]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let copy = std::fs::read(bay.job("attachments/1.jpg")).unwrap();
    assert_eq!(copy, b"\xff\xd8 a picture");
    let laid = bay
        .events()
        .into_iter()
        .find_map(|stamped| match stamped.event {
            Event::Attached { step, attachment } => Some((step, attachment)),
            _ => None,
        });
    let (step, attachment) = laid.unwrap();
    assert_eq!((step.as_str(), attachment.bytes), ("look", 12));
    assert_eq!(attachment.original, "Rail No 1.JPG");
    let manifest = std::fs::read_to_string(bay.job("MANIFEST.sha256")).unwrap();
    assert!(manifest.contains(&format!("{}  attachments/1.jpg", attachment.sha256)));
    let missing = bay.write("no.yaml", &answers("  - {step: look, attach: none.jpg}\n"));
    let ran = bay.run(&["run", "look", "--answers", &missing]);
    assert!(ran.told().contains("no such file"), "{}", ran.err);
}

#[test]
fn open_jobs_are_listed_with_where_they_stand_and_what_is_out() {
    let bay = Bay::new();
    assert!(
        bay.run(&["jobs"])
            .out
            .contains("No job of Quiet Lane Motors is open.")
    );
    let file = bay.write("some.yaml", &before("look"));
    assert_eq!(bay.run(&["run", "look", "--answers", &file]).status, 4);
    let jobs = bay.run(&["jobs"]);
    assert_eq!(jobs.status, 0, "{}", jobs.err);
    for wanted in [
        "Job 0001  A look with the relay out",
        "Asked next (make safe, step 4): What do you see at the rail?",
        "answers ended",
        "Begun 2026-03-0",
        "fuel pump relay: Refit the fuel pump relay.",
    ] {
        assert!(jobs.out.contains(wanted), "{wanted}\n{}", jobs.out);
    }
    assert!(
        !jobs.out.contains("T0") && !jobs.out.contains("Cut off"),
        "{}",
        jobs.out
    );
    std::fs::create_dir_all(bay.shop.join("jobs/0002")).unwrap();
    let jobs = bay.run(&["jobs"]);
    assert!(
        jobs.out.contains("Job 0002: cut off before its first line"),
        "{}",
        jobs.out
    );
}

/// The vehicle tells one open job from another; `resume` without a number takes the only one.
#[test]
fn open_jobs_name_their_vehicle_and_the_only_one_is_gone_on_with() {
    let bay = Bay::new();
    let none = bay.run(&["resume"]);
    assert!(none.status == 2 && none.told().contains("no job of Quiet Lane Motors is open"));
    let look = include_str!("look.yaml");
    let asked = "  vehicle:\n    phase: intake\n    ask: What vehicle is it?\n    note: text\n    fills: vehicle\n    then: held\n";
    let look = look.replacen("steps:\n", &format!("steps:\n{asked}"), 1);
    bay.write("shop/procedures/look.yaml", &look);
    let answered = |step: &str, vehicle: &str| {
        let vehicle = format!("answers:\n  - {{step: vehicle, answer: \"{vehicle}\"}}\n");
        let all = ANSWERS.replacen("answers:\n", &vehicle, 1);
        let end = all.find(&format!("  - {{step: {step},")).unwrap();
        bay.write("some.yaml", &all[..end])
    };
    let long = "A blue van with a tall roof that is lent out on Mondays and Thursdays, long wheels";
    let file = answered("look", long);
    let begun = bay.run(&["run", "look", "--answers", &file]);
    assert_eq!(begun.status, 4, "{}", begun.err);
    let jobs = bay.run(&["jobs"]).out;
    assert!(jobs.contains("Vehicle: A blue van with"), "{jobs}");
    assert!(
        jobs.lines().all(|line| line.chars().count() <= 80),
        "{jobs}"
    );
    let rest = bay.write("rest.yaml", "procedure: look\nanswers: []\n");
    let only = bay.run(&["resume", "--answers", &rest]);
    assert!(
        only.status == 4 && only.told().contains("evenfire resume 0001"),
        "{}",
        only.err
    );
    let file = answered("volts", "Red");
    assert_eq!(bay.run(&["run", "look", "--answers", &file]).status, 4);
    let several = bay.run(&["resume", "--answers", &rest]);
    assert_eq!(several.status, 2);
    for wanted in [
        "2 jobs are open",
        "evenfire resume 0001",
        "0002 Red: A look",
    ] {
        assert!(several.told().contains(wanted), "{wanted}: {}", several.err);
    }
}

/// A job keeps to the procedure that it was begun with; who goes on with it, or looks which are open, learns that the
/// shop has changed it.
#[test]
fn a_job_of_an_earlier_revision_says_so() {
    let bay = Bay::new();
    let end = ANSWERS.find("  - {step: look,").unwrap();
    let file = bay.write("some.yaml", &ANSWERS[..end]);
    assert_eq!(bay.run(&["run", "look", "--answers", &file]).status, 4);
    let rest = bay.write("rest.yaml", "procedure: look\nanswers: []\n");
    let go_on = || bay.run(&["resume", "1", "--answers", &rest]).out;
    assert!(!go_on().contains("was begun by"), "{}", go_on());
    let look = include_str!("look.yaml");
    assert!(look.contains("revision: 3\n"));
    let newer = look.replace("revision: 3\n", "revision: 4\n");
    bay.write("shop/procedures/look.yaml", &newer);
    let policy = std::fs::read_to_string(bay.shop.join("policy.yaml")).unwrap();
    bay.write(
        "shop/policy.yaml",
        &format!("{policy}revisions: {{look: 4}}\n"),
    );
    let wanted = "Job 0001 was begun by revision 3 of look; the shop has revision 4, and works by 4 at least.";
    for told in [go_on(), bay.run(&["jobs"]).out] {
        let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains(wanted), "{told}");
        assert!(told.contains("evenfire diff "), "{told}");
    }
}

#[test]
fn the_shop_is_found_upward_and_by_the_variable() {
    let bay = Bay::new();
    let jobs = |folder: &std::path::Path, variable: Option<&std::path::Path>| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_evenfire"));
        command
            .arg("jobs")
            .current_dir(folder)
            .env_remove("EVENFIRE_SHOP");
        if let Some(shop) = variable {
            command.env("EVENFIRE_SHOP", shop);
        }
        command.output().unwrap()
    };
    assert!(jobs(&bay.shop.join("jobs"), None).status.success());
    let outside = bay.folder.path();
    let lost = jobs(outside, None);
    assert_eq!(lost.status.code(), Some(2));
    let told = String::from_utf8(lost.stderr).unwrap();
    assert!(told.contains("--shop DIR or EVENFIRE_SHOP"), "{told}");
    let name = bay.shop.file_name().unwrap().to_string_lossy();
    assert!(told.contains(&format!("Just below here: {name}")), "{told}");
    assert!(jobs(outside, Some(&bay.shop)).status.success());
    assert_eq!(
        jobs(&bay.shop, Some(outside)).status.code(),
        Some(2),
        "the variable comes first"
    );
}

#[test]
fn the_shipped_procedures_come_along_and_are_sound_there() {
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shop");
    let shop = shop.to_str().unwrap();
    let made = crate::fixture::evenfire(&[
        "init",
        shop,
        "--name",
        "Quiet Lane Motors",
        "--technician",
        "jo",
        "--practice-keys",
        "--with-procedures",
    ]);
    assert_eq!(made.status, 0, "{}", made.err);
    let sheet = format!("{shop}/procedures/relative-compression.yaml");
    assert_eq!(crate::fixture::evenfire(&["check", &sheet]).status, 0);
    let asked = crate::fixture::evenfire(&["init"]);
    assert_eq!(asked.status, 2);
    assert!(
        asked.told().contains("no terminal to ask at"),
        "{}",
        asked.err
    );
}
