//! A shop that is founded: by asking, left in the middle of it, and given its procedures later.

use std::path::Path;
use std::process::Command;

use rexpect::process::WaitStatus;
use rexpect::session::{PtySession, spawn_command};

use crate::fixture::{Bay, evenfire};

/// Longest that an answer may take, milliseconds: slow machines build at the same time.
const PATIENCE: u64 = 20_000;

/// `evenfire init` at a terminal of that kind, in a folder of its own.
fn init(folder: &Path, terminal: &str) -> PtySession {
    let mut command = Command::new(env!("CARGO_BIN_EXE_evenfire"));
    command
        .arg("init")
        .env("TERM", terminal)
        .current_dir(folder);
    spawn_command(command, Some(PATIENCE)).unwrap()
}

/// Each question and its answer, in order.
const ASKED: [(&str, &str); 7] = [
    ("Folder of the new shop", "our-shop"),
    ("Name of the shop", "Quiet Lane Motors"),
    ("Who does the work", "jo.tarrow"),
    ("Who accepts the work", "kim.osei"),
    ("jo.tarrow's own public key", ""),
    ("kim.osei's own public key", ""),
    ("Put the shipped procedures into it?", "y"),
];

/// Whoever leaves at a question has nothing to clear away.
#[test]
fn ctrl_c_at_any_question_makes_nothing_and_says_so() {
    for terminal in ["xterm", "dumb"] {
        for answered in 0..=ASKED.len() {
            let folder = tempfile::tempdir().unwrap();
            let mut person = init(folder.path(), terminal);
            for (asked, answer) in &ASKED[..answered] {
                person.exp_string(asked).unwrap();
                person.send_line(answer).unwrap();
            }
            let next = ASKED.get(answered);
            let next = next.map_or("Passphrase for jo.tarrow's new key", |(asked, _)| asked);
            person.exp_string(next).unwrap();
            person.exp_string(":").unwrap();
            person.send_control('c').unwrap();
            person.exp_string("\nNothing was made.\r\n").unwrap();
            let rest = person.exp_eof().unwrap();
            assert_eq!(rest, "", "{terminal}, {next}");
            let status = person.process().wait().unwrap();
            assert!(matches!(status, WaitStatus::Exited(_, 130)), "{status:?}");
            let left = std::fs::read_dir(folder.path()).unwrap().count();
            assert_eq!(left, 0, "{terminal}, {next}");
        }
    }
}

/// What cannot be is asked for again, before anybody types a passphrase for it.
#[test]
fn a_folder_or_a_name_that_cannot_be_is_asked_for_again() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("full")).unwrap();
    std::fs::write(folder.path().join("full/letter.txt"), "x").unwrap();
    let mut person = init(folder.path(), "xterm");
    for (asked, answer) in [
        ("Folder of the new shop", "full"),
        ("the folder is not empty", ""),
        ("This can't be left out", "our-shop"),
        ("Name of the shop", &"x".repeat(121)),
        ("at most 120 characters", "Quiet Lane Motors"),
        ("Who does the work", "jo.tarrow"),
    ] {
        person.exp_string(asked).unwrap();
        person.send_line(answer).unwrap();
    }
    person.exp_string("Who accepts the work").unwrap();
}

/// Two names of one person, as it may be: nobody could tell whether they accept their own work.
#[test]
fn check_tells_names_that_differ_in_capitals_only() {
    let bay = crate::fixture::Bay::new();
    let roster = bay.shop.join("allowed_signers");
    let check = || {
        let ran = bay.run(&["check"]);
        assert_eq!(ran.status, 0, "{}", ran.err);
        ran.out
    };
    assert!(!check().contains("differ in capitals"));
    let text = std::fs::read_to_string(&roster).unwrap();
    std::fs::write(&roster, text.replace("\nkim ", "\nJo ")).unwrap();
    let told = check();
    assert!(
        told.contains("Remark: Jo and jo differ in capitals only"),
        "{told}"
    );
}

/// A shop without procedures is no dead end, and what the shop made of one of them stays.
#[test]
fn the_shipped_procedures_are_laid_into_a_shop_later() {
    let bay = Bay::new();
    std::fs::remove_file(bay.shop.join("procedures/look.yaml")).unwrap();
    let lay = format!("evenfire init {} --with-procedures", bay.shop.display());
    let told = |ran: &str| ran.split_whitespace().collect::<Vec<_>>().join(" ");
    let ran = bay.run(&["run", "relative-compression"]);
    assert!(
        ran.status == 2 && told(&ran.err).contains(&lay),
        "{}",
        ran.err
    );
    let own = bay.shop.join("procedures/intake.yaml");
    std::fs::write(&own, "ours").unwrap();
    let laid = evenfire(&["init", bay.shop.to_str().unwrap(), "--with-procedures"]);
    assert_eq!(laid.status, 0, "{}", laid.err);
    assert!(
        told(&laid.out).contains("intake.yaml is the shop's own and stays."),
        "{}",
        laid.out
    );
    assert!(
        told(&laid.out).contains("evenfire run relative-compression --shop"),
        "{}",
        laid.out
    );
    assert_eq!(std::fs::read_to_string(&own).unwrap(), "ours");
    std::fs::remove_file(&own).unwrap();
    let again = ["init", bay.shop.to_str().unwrap(), "--with-procedures"];
    assert_eq!(evenfire(&again).status, 0);
    let sheet = bay.shop.join("procedures/relative-compression.yaml");
    assert_eq!(bay.run(&["check", sheet.to_str().unwrap()]).status, 0);
    // a new shop is asked for as before
    let other = bay.folder.path().join("other");
    let founded = evenfire(&["init", other.to_str().unwrap(), "--with-procedures"]);
    assert!(
        founded.status == 2 && founded.err.contains("--technician"),
        "{}",
        founded.err
    );
}

/// Any other word than yes was a no, and left a shop without procedures.
#[test]
fn init_asks_again_what_is_neither_yes_nor_no() {
    let bay = Bay::new();
    let other = bay.folder.path().join("other");
    let mut command = Command::new(env!("CARGO_BIN_EXE_evenfire"));
    command.args([
        "init",
        "--technician",
        "jo",
        "--practice-keys",
        "--name",
        "Mill Road",
    ]);
    command.env("TERM", "xterm");
    let mut person = spawn_command(command, Some(PATIENCE)).unwrap();
    person.exp_string("Folder of the new shop").unwrap();
    person.send_line(other.to_str().unwrap()).unwrap();
    person.exp_string("Who accepts the work").unwrap();
    person.send_line("").unwrap();
    person.exp_string("shipped procedures").unwrap();
    person.send_line("nein").unwrap();
    person.exp_string("Type y or n").unwrap();
    person.exp_string("shipped procedures").unwrap();
    person.send_line("no").unwrap();
    person.exp_string("--with-procedures").unwrap();
    person.exp_eof().unwrap();
    assert!(!other.join("procedures/intake.yaml").exists());
}

/// Without a passphrase no key that counts is made, and whoever types none learns why.
#[test]
fn an_empty_passphrase_for_a_new_key_is_told() {
    let bay = Bay::new();
    let other = bay.folder.path().join("other");
    let mut command = Command::new(env!("CARGO_BIN_EXE_evenfire"));
    command.args(["init", other.to_str().unwrap(), "--technician", "jo"]);
    command.args(["--name", "Mill Road"]).env("TERM", "xterm");
    let mut person = spawn_command(command, Some(PATIENCE)).unwrap();
    for typed in ["", "four plain words"] {
        person.exp_string("12 characters or more").unwrap();
        person.send_line(typed).unwrap();
        if typed.is_empty() {
            person.exp_string("--practice-keys").unwrap();
        }
    }
    person.exp_string("The same again").unwrap();
    person.send_line("four plain words").unwrap();
    person.exp_string("Shop Mill Road is in").unwrap();
    person.exp_eof().unwrap();
}
