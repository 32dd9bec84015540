//! What a roster's faults do to the register as a whole.

use std::process::Command;

use crate::shop::Register;

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
    for (faulty, told) in [
        (
            text.replacen("technician@evenfire", "technician", 1),
            "role `technician` is unknown: write technician@evenfire",
        ),
        (
            nameless,
            "the name is missing before ssh-ed25519: NAME namespaces=",
        ),
    ] {
        std::fs::write(&roster, faulty).unwrap();
        let (status, said) = evenfire(&register, &["check", sheet]);
        assert!(
            said.contains("allowed_signers:1:1: ") && said.contains(told),
            "{said}"
        );
        assert_eq!(status, Some(1), "{said}");
        let (status, said) = evenfire(&register, &["countersign"]);
        assert!(said.contains(told), "{said}");
        assert_eq!(status, Some(2), "{said}");
    }
}
