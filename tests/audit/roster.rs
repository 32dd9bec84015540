//! What a roster's faults and revoked keys do to the register as a whole.

use std::process::Command;

use crate::shop::{LEAD, Register};

/// Status and everything said.
fn evenfire(register: &Register, arguments: &[&str]) -> (Option<i32>, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_evenfire"))
        .args(arguments)
        .arg("--shop")
        .arg(register.shop.root())
        .output()
        .unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (out.status.code(), text(&out.stdout) + &text(&out.stderr))
}

fn made() -> (tempfile::TempDir, Register) {
    let folder = tempfile::tempdir().unwrap();
    let mut register = Register::new(&folder.path().join("shop"), 200);
    register.add(14);
    (folder, register)
}

#[test]
fn a_fault_of_the_roster_is_told_by_check_and_where_it_is_used() {
    let (_folder, register) = made();
    let roster = register.shop.roster_file();
    let text = std::fs::read_to_string(&roster).unwrap();
    let sheet = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures/after-repair.yaml");
    let nameless = text.replacen("jo.tarrow namespaces=\"technician@evenfire\" ", "", 1);
    for (faulty, column, told) in [
        (
            text.replacen("technician@evenfire", "technician", 1),
            23,
            "role `technician` is unknown: write technician@evenfire",
        ),
        (
            nameless,
            1,
            "the name is missing before ssh-ed25519: NAME namespaces=",
        ),
    ] {
        std::fs::write(&roster, faulty).unwrap();
        let (status, said) = evenfire(&register, &["check", sheet]);
        let place = format!("allowed_signers:1:{column}: {told}");
        let mark = format!("\n       | {}^\n", " ".repeat(column - 1));
        assert!(said.contains(&place) && said.contains(&mark), "{said}");
        assert_eq!(status, Some(1), "{said}");
        let (status, said) = evenfire(&register, &["countersign"]);
        assert!(said.contains(told), "{said}");
        assert_eq!(status, Some(2), "{said}");
    }
}

#[test]
fn what_a_revoked_key_signed_is_listed_with_what_can_be_done() {
    let (_folder, register) = made();
    let roster = std::fs::read_to_string(register.shop.roster_file()).unwrap();
    let lead = roster.lines().find(|line| line.starts_with(LEAD)).unwrap();
    let key = &lead[lead.find("ssh-ed25519").unwrap()..];
    let before = evenfire(&register, &["countersign"]).1;
    assert!(!before.contains("revoked"), "{before}");
    std::fs::write(register.shop.revoked_file(), format!("{key}\n")).unwrap();
    let (status, listed) = evenfire(&register, &["countersign"]);
    assert_eq!(status, Some(0), "{listed}");
    // all but those that await a decision: 3 and 13
    let revoked = |line: &&str| line.contains("signed with a revoked key, of kim.vell: unsound");
    assert_eq!(listed.lines().filter(revoked).count(), 12, "{listed}");
    assert!(
        listed.contains(
            "again as a new job of the same vehicle with a note that says `instead of job 0001`"
        ),
        "{listed}"
    );
    let (status, audit) = evenfire(&register, &["audit"]);
    assert_eq!(status, Some(1), "{audit}");
    // 7 is practice, and left out as practice is
    assert!(
        audit.contains("Signed with a revoked key: 11\n  0001, 0002, 0004, 0005, 0006, 0008, "),
        "{audit}"
    );
    assert!(
        audit.contains("1 practice job left out that a revoked key"),
        "{audit}"
    );
    assert!(!audit.contains("WRONG   0007"), "{audit}");
    // a file of it that was changed is told all the same
    let record = register.shop.jobs().join("0007/record.json");
    let was = std::fs::read(&record).unwrap();
    std::fs::write(&record, [&was[..], b" "].concat()).unwrap();
    let (_, changed) = evenfire(&register, &["audit"]);
    assert!(changed.contains("WRONG   0007"), "{changed}");
    std::fs::write(&record, was).unwrap();
    let (_, audit) = evenfire(&register, &["audit"]);
    assert!(!audit.contains("WRONG   0007"), "{audit}");
    assert!(
        audit.contains(
            "again as a new job of the same vehicle with a note that says `instead of job 0001`"
        ),
        "{audit}"
    );
}
