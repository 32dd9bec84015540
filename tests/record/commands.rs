//! The commands as a person runs them: `init`, `sign`, `countersign`, `verify`, with their statuses.

use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use evenfire::record::folder;
use evenfire::record::signing::key;
use ssh_key::PrivateKey;

use crate::bundle::{Bundle, LEAD, SEALED, TECHNICIAN};

pub const WORDS: &str = "four words in order";

pub fn evenfire(arguments: &[&str]) -> Command {
    let mut command = Command::cargo_bin("evenfire").unwrap();
    command.args(arguments);
    for name in ["SSH_ASKPASS", "SSH_ASKPASS_REQUIRE"] {
        command.env_remove(name);
    }
    command
}

/// Status, standard output, standard error.
pub fn ran(command: &mut Command) -> (i32, String, String) {
    let output = command.output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (
        output.status.code().unwrap(),
        text(output.stdout),
        text(output.stderr),
    )
}

pub fn key_file(bundle: &Bundle, name: &str, key: &PrivateKey) -> PathBuf {
    let file = bundle.folder.path().join(name);
    key::write_new(key, &file, Some(WORDS)).unwrap();
    file
}

pub fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

pub fn verify(bundle: &Bundle) -> (i32, String) {
    let (status, told, _) = ran(&mut evenfire(&[
        "verify",
        "1",
        "--shop",
        text(bundle.shop.root()),
    ]));
    (status, told)
}

/// `evenfire COMMAND 0001 --shop … --key … --passphrase-fd 0 …`, the passphrase on standard input.
pub fn act(
    bundle: &Bundle,
    command: &str,
    key: &Path,
    more: &[&str],
    words: &str,
) -> (i32, String, String) {
    let shop = text(bundle.shop.root());
    let mut arguments = vec![
        command,
        "0001",
        "--shop",
        shop,
        "--key",
        text(key),
        "--passphrase-fd",
        "0",
    ];
    arguments.extend(more);
    ran(evenfire(&arguments).write_stdin(format!("{words}\n")))
}

#[test]
fn a_job_from_seal_to_acceptance() {
    let bundle = Bundle::sealed();
    let (technician, lead) = (
        key_file(&bundle, "technician", &bundle.technician),
        key_file(&bundle, "lead", &bundle.lead),
    );
    assert_eq!(verify(&bundle).0, 4);
    let (status, told, _) = act(&bundle, "sign", &technician, &[], WORDS);
    let signed = format!(
        "Job 0001 is signed by {TECHNICIAN}.\nNext a lead decides about it:\n  evenfire countersign 0001 --shop "
    );
    let shown = "Job 0001 awaits the technician's signature.\nVehicle     grey van · 81402 km\n";
    assert!(
        status == 0 && told.starts_with(shown) && told.contains(&signed),
        "{told}"
    );
    assert_eq!(verify(&bundle).0, 4);
    let own = act(&bundle, "countersign", &technician, &["--accept"], WORDS);
    assert_eq!(own.0, 2);
    assert!(own.2.contains("another person"), "{}", own.2);
    let (status, told, _) = act(&bundle, "countersign", &lead, &["--accept"], WORDS);
    let accepted = format!("\nJob 0001 is accepted by {LEAD}.\n");
    assert!(status == 0 && told.ends_with(&accepted), "{told}");
    let (status, told) = verify(&bundle);
    assert_eq!(status, 0, "{told}");
    assert!(told.ends_with("/jobs/0001: sound\n"), "{told}");
    assert!(
        told.contains(&format!("signed by {TECHNICIAN}, SHA256:"))
            && told.contains(&format!("; the job was sealed {SEALED}\n")),
        "{told}"
    );
    assert!(told.contains(&format!("accepted by {LEAD}, ")), "{told}");
    let again = act(&bundle, "sign", &technician, &[], WORDS);
    assert!(
        again.0 == 2 && again.2.contains("signed already"),
        "{}",
        again.2
    );
}

#[test]
fn what_verify_says_is_in_its_status() {
    let bundle = Bundle::signed();
    let lead = key_file(&bundle, "lead", &bundle.lead);
    act(&bundle, "countersign", &lead, &["--accept"], WORDS);
    let report = bundle.text(folder::REPORT);
    bundle.write(folder::REPORT, report.replace("Quiet Lane", "Sunny Lane"));
    let (status, told) = verify(&bundle);
    assert_eq!(status, 3);
    assert!(told.starts_with("REPORT  report.html"), "{told}");
    bundle.write(folder::REPORT, report);
    assert_eq!(verify(&bundle).0, 0);
    bundle.write("captures/1.csv", "x");
    let (status, told) = verify(&bundle);
    assert_eq!(status, 1);
    assert!(
        told.contains("WRONG   \"captures/1.csv\" is not the file"),
        "{told}"
    );
    // exchanged with another: which one it is
    bundle.write("captures/1.csv", bundle.read(folder::JOURNAL));
    let told = verify(&bundle).1;
    assert!(
        told.contains("lists; what lies there is listed as \"journal.jsonl\""),
        "{told}"
    );
    let nowhere = ran(&mut evenfire(&[
        "verify",
        "9",
        "--shop",
        text(bundle.shop.root()),
    ]));
    assert!(
        nowhere.0 == 2 && nowhere.2.contains("no job 9"),
        "{}",
        nowhere.2
    );
    let no_shop = ran(&mut evenfire(&[
        "verify",
        "1",
        "--shop",
        text(bundle.folder.path()),
    ]));
    assert!(
        no_shop.0 == 2 && no_shop.2.contains("not a shop"),
        "{}",
        no_shop.2
    );
}

/// A job's folder that was copied elsewhere is verified against the shop's roster as well; moved to
/// another number in the shop it is not sound.
#[test]
fn a_job_is_found_by_its_folder() {
    let bundle = Bundle::signed();
    let lead = key_file(&bundle, "lead", &bundle.lead);
    act(&bundle, "countersign", &lead, &["--accept"], WORDS);
    let verify = |folder: &Path| {
        ran(&mut evenfire(&[
            "verify",
            text(folder),
            "--shop",
            text(bundle.shop.root()),
        ]))
    };
    assert_eq!(verify(bundle.job.path()).0, 0);
    let copy = bundle.folder.path().join("copy");
    std::fs::rename(bundle.job.path(), &copy).unwrap();
    assert_eq!(verify(&copy).0, 0);
    let moved = bundle.shop.jobs().join("0007");
    std::fs::rename(copy, &moved).unwrap();
    let (status, told, _) = verify(&moved);
    assert!(
        status == 1 && told.contains("under the number 0007"),
        "{told}"
    );
}

#[test]
fn a_job_is_returned_with_a_reason() {
    let bundle = Bundle::signed();
    let lead = key_file(&bundle, "lead", &bundle.lead);
    let none = act(&bundle, "countersign", &lead, &["--return"], WORDS);
    assert!(none.0 == 2 && none.2.contains("--reason"), "{}", none.2);
    let neither = act(&bundle, "countersign", &lead, &[], WORDS);
    assert!(
        neither.0 == 2 && neither.2.contains("--accept"),
        "{}",
        neither.2
    );
    let reason = "The gauge is out of calibration.";
    let (status, told, _) = act(
        &bundle,
        "countersign",
        &lead,
        &["--return", "--reason", reason],
        WORDS,
    );
    assert!(status == 0 && told.contains("returned by"), "{told}");
    let (status, told) = verify(&bundle);
    assert!(status == 4 && told.contains(reason), "{told}");
}

#[test]
fn passphrases_come_from_everywhere_but_the_command_line() {
    let bundle = Bundle::sealed();
    let technician = key_file(&bundle, "technician", &bundle.technician);
    let wrong = act(&bundle, "sign", &technician, &[], "four words");
    assert!(
        wrong.0 == 2 && wrong.2.contains("wrong passphrase"),
        "{}",
        wrong.2
    );
    let shop = text(bundle.shop.root());
    let sign = ["sign", "1", "--shop", shop, "--key", text(&technician)];
    let nobody = ran(&mut evenfire(&sign));
    assert!(
        nobody.0 == 2 && nobody.2.contains("no terminal"),
        "{}",
        nobody.2
    );
    let program = bundle.folder.path().join("askpass");
    std::fs::write(
        &program,
        format!("#!/bin/sh\ncase \"$1\" in Passphrase*) echo '{WORDS}';; esac\n"),
    )
    .unwrap();
    std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o700)).unwrap();
    let asked = ran(evenfire(&sign).env("SSH_ASKPASS", &program));
    assert_eq!(asked.0, 0, "{}", asked.2);
    let none = act(
        &bundle,
        "sign",
        &bundle.folder.path().join("none"),
        &[],
        WORDS,
    );
    assert!(none.0 == 2 && none.2.contains("none"), "{}", none.2);
}

#[test]
fn a_shop_is_founded() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("shop");
    let init = [
        "init",
        text(&root),
        "--name",
        "Quiet Lane Motors",
        "--technician",
        "jo",
        "--lead",
        "kim",
    ];
    let mut asking = init.to_vec();
    asking.extend(["--passphrase-fd", "0"]);
    let short = ran(evenfire(&asking).write_stdin("one long line\n"));
    assert!(
        short.0 == 2 && short.2.contains("no further line"),
        "{}",
        short.2
    );
    let empty = ran(evenfire(&asking).write_stdin("\n\n"));
    assert!(empty.0 == 2 && empty.2.contains("empty"), "{}", empty.2);
    let short = ran(evenfire(&asking).write_stdin("abc\nsecond words\n"));
    assert!(
        short.0 == 2 && short.2.contains("3 characters"),
        "{}",
        short.2
    );
    assert!(!root.exists());
    let made = ran(evenfire(&asking).write_stdin("the first words\nsecond words\n"));
    assert_eq!(made.0, 0, "{}", made.2);
    let mut second = || Ok("second words".to_owned());
    let lead = key::open(&root.join("keys/lead"), &mut second).unwrap();
    assert_eq!(lead.comment(), "kim");
    let mut practice = init.to_vec();
    practice.push("--practice-keys");
    let again = ran(&mut evenfire(&practice));
    assert!(
        again.0 == 2 && again.2.contains("a shop already"),
        "{}",
        again.2
    );
    let public = root.join("keys/lead.pub");
    let other = folder.path().join("other");
    let own = [
        "init",
        text(&other),
        "--name",
        "Own",
        "--technician",
        "kim",
        "--technician-key",
        text(&public),
    ];
    let made = ran(&mut evenfire(&own));
    assert_eq!(made.0, 0, "{}", made.2);
    assert!(
        made.1.contains("No lead") && !other.join("keys").exists(),
        "{}",
        made.1
    );
}
