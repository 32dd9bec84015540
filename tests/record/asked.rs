//! What no option gave is asked for at a terminal; without one, the option is named.

use std::process::Command;

use rexpect::session::{PtySession, spawn_command};

use crate::bundle::Bundle;
use crate::commands::{WORDS, evenfire, key_file, ran, text, verify};

/// Longest that an answer may take, milliseconds: slow machines build at the same time.
const PATIENCE: u64 = 20_000;

fn at_terminal(bundle: &Bundle, arguments: &[&str]) -> PtySession {
    let mut command = Command::new(env!("CARGO_BIN_EXE_evenfire"));
    command
        .args(arguments)
        .arg("--shop")
        .arg(bundle.shop.root());
    command.env("TERM", "xterm").env("NO_COLOR", "1");
    for name in ["SSH_ASKPASS", "SSH_ASKPASS_REQUIRE", "SSH_AUTH_SOCK"] {
        command.env_remove(name);
    }
    spawn_command(command, Some(PATIENCE)).unwrap()
}

/// Wait for a prompt, then answer it.
fn answer(person: &mut PtySession, prompt: &str, line: &str) {
    person.exp_string(prompt).unwrap();
    person.send_line(line).unwrap();
}

#[test]
fn a_lead_returns_and_a_technician_corrects_by_their_answers_alone() {
    let bundle = Bundle::signed();
    let technician = key_file(&bundle, "technician", &bundle.technician);
    let lead = key_file(&bundle, "lead", &bundle.lead);
    let mut person = at_terminal(&bundle, &["countersign"]);
    person.exp_string("0001  awaits a decision").unwrap();
    answer(&mut person, "Enter: none", "7");
    answer(&mut person, "Awaiting a decision: 0001.", "1");
    answer(
        &mut person,
        "The lead's private key, as a path",
        text(&lead),
    );
    person.exp_string("Vehicle").unwrap();
    person
        .exp_string("2 return: the job must be corrected")
        .unwrap();
    answer(&mut person, "Number", "9");
    answer(&mut person, "Type one of the numbers 1 to 3.", "return");
    answer(&mut person, "Reason why it is returned", "");
    answer(
        &mut person,
        "This can't be left out",
        "No source for the order.",
    );
    answer(&mut person, "Passphrase for", WORDS);
    person.exp_string("Job 0001 is returned by").unwrap();
    person.exp_eof().unwrap();
    let (status, told) = verify(&bundle);
    assert!(
        status == 4 && told.contains("No source for the order."),
        "{told}"
    );

    let mut person = at_terminal(&bundle, &["amend"]);
    person
        .exp_string("0001  was returned: \"No source for the order.\"")
        .unwrap();
    person.exp_string("Vehicle").unwrap();
    person.exp_string("Returned").unwrap();
    answer(&mut person, "What it corrects or completes", "");
    person.exp_string("  odometer: 81402 km").unwrap();
    answer(&mut person, "What it corrects or completes", "?");
    person.exp_string("  vehicle: grey van").unwrap();
    answer(&mut person, "What it corrects or completes", "odo");
    person.exp_string("did you mean").unwrap();
    answer(&mut person, "Take it as written?", "n");
    answer(&mut person, "What it corrects or completes", "odometer");
    person.exp_string("Now odometer: ").unwrap();
    answer(&mut person, "What is to be read in its place", "81 204 km");
    answer(&mut person, "Why", "Two digits were exchanged.");
    person
        .exp_string("odometer: 81 204 km in place of")
        .unwrap();
    answer(&mut person, "Sign this?", "");
    person.exp_string("Type y or n.").unwrap();
    answer(&mut person, "Sign this?", "y");
    answer(
        &mut person,
        "The technician's private key",
        text(&technician),
    );
    answer(&mut person, "Passphrase for", WORDS);
    person
        .exp_string("Amendment 1 of job 0001 is signed by")
        .unwrap();
    person.exp_string("Next a lead decides about it").unwrap();
    person.exp_eof().unwrap();
    let added = bundle.text("amendments/1/amendment.json");
    for said in ["odometer", "81 204 km", "Two digits were exchanged."] {
        assert!(added.contains(said), "{added}");
    }
}

#[test]
fn whoever_would_rather_not_decide_signs_nothing() {
    let bundle = Bundle::signed();
    let lead = key_file(&bundle, "lead", &bundle.lead);
    let mut person = at_terminal(&bundle, &["countersign", "1", "--key", text(&lead)]);
    answer(&mut person, "Number", "3");
    person.exp_string("Nothing was decided.").unwrap();
    person.exp_eof().unwrap();
    let mut person = at_terminal(&bundle, &["countersign"]);
    answer(&mut person, "Enter: none", "");
    person.exp_eof().unwrap();
    assert!(!bundle.path("decision.json").exists());
}

/// Whoever leaves at the passphrase knows where they stand.
#[test]
fn an_interruption_at_the_passphrase_says_that_nothing_was_signed() {
    let bundle = Bundle::sealed();
    let key = key_file(&bundle, "technician", &bundle.technician);
    let mut person = at_terminal(&bundle, &["sign", "1", "--key", text(&key)]);
    person.exp_string("Passphrase for").unwrap();
    person.send_control('c').unwrap();
    person.exp_string("Nothing was signed.").unwrap();
    person.exp_eof().unwrap();
    assert!(!bundle.path("technician.sig").exists());
}

/// A record has no such thing: at a terminal that is asked about, elsewhere refused.
#[test]
fn what_the_record_does_not_have_is_not_corrected_unseen() {
    let bundle = Bundle::signed();
    let key = key_file(&bundle, "technician", &bundle.technician);
    let amend = |corrects: &str| {
        let told = ["--corrects", corrects, "--adds", "y", "--reason", "z"];
        crate::commands::act(&bundle, "amend", &key, &told, WORDS)
    };
    for (corrects, meant) in [
        ("odo", "did you mean `odometer` (81402 km)?"),
        ("captures/9.csv", "--corrects job"),
        ("gauge", "The record has no \"gauge\""),
        (
            "odometer nonsense",
            "The record has no \"odometer nonsense\"",
        ),
        ("job; evenfire amend", "The record has no"),
    ] {
        let (status, _, told) = amend(corrects);
        let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(status == 2 && told.contains(meant), "{corrects}: {told}");
    }
    assert!(!bundle.path("amendments").exists());
    for corrects in ["captures/1.csv", "job"] {
        let (status, _, told) = amend(corrects);
        assert_eq!(status, 0, "{told}");
    }
}

/// What was typed at a prompt is seen once more before it is signed, whatever else came from the command line.
#[test]
fn a_slip_after_a_name_is_asked_about_and_the_whole_is_told_before_it_is_signed() {
    let bundle = Bundle::signed();
    let key = key_file(&bundle, "technician", &bundle.technician);
    let given = [
        "amend",
        "1",
        "--key",
        text(&key),
        "--corrects",
        "odometer nonsense",
        "--adds",
        "81 204 km",
        "--reason",
        "misread",
    ];
    let mut person = at_terminal(&bundle, &given);
    person
        .exp_string("The record has no \"odometer nonsense\"")
        .unwrap();
    answer(&mut person, "Take it as written?", "n");
    answer(&mut person, "What it corrects or completes", "odometer");
    person
        .exp_string("odometer: 81 204 km in place of")
        .unwrap();
    answer(&mut person, "Sign this?", "n");
    person.exp_string("Nothing was signed.").unwrap();
    person.exp_eof().unwrap();
    assert!(!bundle.path("amendments").exists());
}

#[test]
fn without_a_terminal_the_error_names_what_to_give() {
    let bundle = Bundle::signed();
    let shop = text(bundle.shop.root());
    let cases: [(&[&str], &[&str]); 5] = [
        (
            &["amend"],
            &[
                "JOB",
                "--corrects TEXT",
                "--adds TEXT",
                "--reason TEXT",
                "no terminal",
            ],
        ),
        (
            &[
                "amend",
                "1",
                "--corrects",
                "job",
                "--adds",
                "y",
                "--reason",
                "z",
            ],
            &["--key FILE"],
        ),
        (&["countersign", "--accept"], &["which job", "0001  awaits"]),
        (
            &["countersign", "1"],
            &["--accept", "--return with --reason TEXT"],
        ),
        (&["countersign", "1", "--return"], &["--reason TEXT"]),
    ];
    for (arguments, told) in cases {
        let (status, out, failed) = ran(evenfire(arguments).args(["--shop", shop]).write_stdin(""));
        assert_eq!(status, 2, "{arguments:?}");
        for words in told {
            assert!(
                (out.clone() + &failed).contains(words),
                "{arguments:?}: {failed}"
            );
        }
    }
    let (status, out, _) = ran(evenfire(&["countersign", "--shop", shop]).write_stdin(""));
    assert!(
        status == 0 && out.contains("0001  awaits a decision"),
        "{out}"
    );
}
