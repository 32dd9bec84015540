//! Keys at a terminal: what is mistyped is asked for again, and never where it would be shown.

use std::path::PathBuf;

use evenfire::record::shop::roster::{Role, line};
use evenfire::record::signing::key;
use rexpect::session::PtySession;

use crate::fixture::Bay;
use crate::pty::{at_terminal, read_then};

const PASSPHRASE: &str = "four plain words here";
const MISTYPED: &str = "four plain wrods here";

/// A shop in which ann does the work and ben leads, with keys that count; ben's has no passphrase where that is
/// said. A lead may waive the look.
fn shop(bens: Option<&str>) -> (Bay, PathBuf) {
    let bay = Bay::new();
    let folder = bay.folder.path().join("own");
    std::fs::create_dir(&folder).unwrap();
    let mut roster = String::new();
    for (name, role, passphrase) in [
        ("ann", Role::Technician, Some(PASSPHRASE)),
        ("ben", Role::Lead, bens),
    ] {
        let made = key::make(name, false).unwrap();
        key::write_new(&made, &folder.join(name), passphrase).unwrap();
        roster += &line::text(name, role, made.public_key());
    }
    std::fs::write(bay.shop.join("allowed_signers"), roster).unwrap();
    let policy = bay.shop.join("policy.yaml");
    let text = std::fs::read_to_string(&policy).unwrap();
    std::fs::write(policy, text + "waivers: {look/look: lead}\n").unwrap();
    (bay, folder)
}

/// As far as the look.
fn to_the_look(person: &mut PtySession) {
    person.exp_string("y yes").unwrap();
    read_then(person, "y");
    person.exp_string("Answer").unwrap();
    person.send_line("12.6").unwrap();
    person.exp_string("The relay is out.").unwrap();
    person.exp_string("y yes").unwrap();
    read_then(person, "y");
    person.exp_string("What do you see at the rail?").unwrap();
    person.exp_string(":l").unwrap();
}

/// From the question that puts back to the seal.
fn to_the_seal(person: &mut PtySession) {
    person.exp_string("Everything is back.").unwrap();
    person.exp_string("y yes").unwrap();
    read_then(person, "y");
    person.exp_string("is sealed").unwrap();
    person.exp_eof().unwrap();
}

fn waive(person: &mut PtySession, key: &str) {
    person.send_line(":l").unwrap();
    person.exp_string("Reason why").unwrap();
    person.send_line("seen an hour ago").unwrap();
    person.exp_string("private key").unwrap();
    person.send_line(key).unwrap();
}

/// The worst that can happen to a passphrase is to be typed where an answer is awaited.
#[test]
fn a_mistyped_passphrase_of_a_waiver_is_asked_for_again() {
    let (bay, folder) = shop(Some(PASSPHRASE));
    let mut person = at_terminal(&bay, &["run", "look"]);
    to_the_look(&mut person);
    waive(&mut person, "maybe");
    person.exp_string("maybe: no such file").unwrap();
    person.exp_string("private key again").unwrap();
    // her own: refused without a passphrase, the reason kept
    person
        .send_line(folder.join("ann").to_str().unwrap())
        .unwrap();
    person.exp_string("another person must waive").unwrap();
    person.exp_string("private key again").unwrap();
    person
        .send_line(folder.join("ben").to_str().unwrap())
        .unwrap();
    for _ in 0..2 {
        person.exp_string("Passphrase for").unwrap();
        person.send_line(MISTYPED).unwrap();
        person.exp_string("not its passphrase").unwrap();
    }
    person.exp_string("Passphrase for").unwrap();
    person.send_line(PASSPHRASE).unwrap();
    to_the_seal(&mut person);
    let waiver = std::fs::read_to_string(bay.job("waivers/1.txt")).unwrap();
    assert!(waiver.contains("seen an hour ago"), "{waiver}");
    let journal = std::fs::read_to_string(bay.job("journal.jsonl")).unwrap();
    assert!(!journal.contains("four plain"), "{journal}");
    assert_eq!(std::fs::read_dir(bay.job("waivers")).unwrap().count(), 2);
}

/// Three wrong ones, or none, waive nothing, and the way back says what the next line is.
#[test]
fn a_waiver_is_left_after_three_wrong_passphrases() {
    let (bay, folder) = shop(Some(PASSPHRASE));
    let mut person = at_terminal(&bay, &["run", "look"]);
    to_the_look(&mut person);
    waive(&mut person, folder.join("ben").to_str().unwrap());
    for wrong in [
        "not its passphrase",
        "not its passphrase",
        "The waiver does not count",
    ] {
        person.exp_string("Passphrase for").unwrap();
        person.send_line(MISTYPED).unwrap();
        person.exp_string(wrong).unwrap();
    }
    person.exp_string("Answer").unwrap();
    person.send_line("all dry").unwrap();
    to_the_seal(&mut person);
    assert!(!bay.job("waivers/1.txt").exists());
}

#[test]
fn a_mistyped_key_or_passphrase_does_not_end_the_signing() {
    let (bay, folder) = shop(None);
    let mut person = at_terminal(&bay, &["run", "look"]);
    to_the_look(&mut person);
    waive(&mut person, folder.join("ben").to_str().unwrap());
    person.exp_string("signs as ben").unwrap();
    person.exp_string("y or n").unwrap();
    person.send_line("y").unwrap();
    to_the_seal(&mut person);

    let mut person = at_terminal(&bay, &["sign", "1"]);
    person.exp_string("private key").unwrap();
    person.send_line("maybe").unwrap();
    person.exp_string("maybe: no such file").unwrap();
    person.exp_string("private key").unwrap();
    person
        .send_line(folder.join("ann").to_str().unwrap())
        .unwrap();
    person.exp_string("Passphrase for").unwrap();
    person.send_line(MISTYPED).unwrap();
    person.exp_string("not its passphrase").unwrap();
    person.exp_string("Passphrase for").unwrap();
    person.send_line(PASSPHRASE).unwrap();
    person.exp_string("is signed by ann").unwrap();
    person.exp_eof().unwrap();

    // nothing but the file is needed to sign as ben, so whoever sits there is asked
    let own = folder.join("ben").to_str().unwrap().to_owned();
    let accept = ["countersign", "1", "--key", &own, "--accept"];
    let mut person = at_terminal(&bay, &accept);
    person.exp_string("ben waived").unwrap();
    person
        .exp_string("whoever has its file signs as ben")
        .unwrap();
    person.exp_string("y or n").unwrap();
    person.send_line("maybe").unwrap();
    person.exp_string("Type y or n").unwrap();
    person.exp_string("y or n").unwrap();
    person.send_line("n").unwrap();
    person.exp_string("nothing was signed").unwrap();
    person.exp_eof().unwrap();
    assert!(!bay.job("decision.json").exists());
    // a script, which nobody asks, says it itself
    let refused = bay.run(&accept);
    assert_eq!(refused.status, 2, "{}", refused.out);
    assert!(refused.told().contains("say --yes"), "{}", refused.err);
    assert!(!bay.job("decision.json").exists());
    let ran = bay.run(&[&accept[..], &["--yes"]].concat());
    assert_eq!(ran.status, 0, "{}", ran.err);
}
