//! Where in its line a mistake is told.

use super::*;

/// The mark under the line stands where the mistake begins.
#[test]
fn a_mistake_is_placed_where_it_begins() {
    let short = &ONE[..60];
    for (line, at) in [
        (format!("jo,kim {TECHNICIAN} {ONE}"), "jo,"),
        (format!("jo halm {TECHNICIAN} {ONE}"), "halm"),
        (
            format!("jo namespaces=\"technician\" {ONE}"),
            "technician\"",
        ),
        (
            format!("  jö namespaces=\"git,leed@evenfire\" {ONE}"),
            "leed",
        ),
        (
            format!("jo {TECHNICIAN},{TECHNICIAN} {ONE}"),
            "namespaces=\"technician@evenfire\" ",
        ),
        (
            format!("jo {TECHNICIAN},valid-before=\"20260101\" {ONE}"),
            "20260101",
        ),
        (
            format!("jo {TECHNICIAN},valid-after=\"20260101Z {ONE}"),
            "valid-after",
        ),
        (
            format!("jo {TECHNICIAN},expires=\"20260101Z\" {ONE}"),
            "expires",
        ),
        (format!("jo {TECHNICIAN}, {ONE}"), ", ssh"),
        (format!("jo {TECHNICIAN}{ONE}"), "ssh-ed25519"),
        (format!("jo {ONE}"), "ssh-ed25519"),
        (
            format!("jo {TECHNICIAN} ssh-rsa AAAAB3NzaC1yc2EAAAADAQABAAAAQQ=="),
            "ssh-rsa",
        ),
        (
            format!("jo {TECHNICIAN} {short}"),
            &short["ssh-ed25519 ".len()..],
        ),
        (
            format!("jo {TECHNICIAN} {ONE} jokim namespaces=\"x\" {ONE}"),
            "namespaces=\"x\"",
        ),
        (format!("# lost{ONE}"), "ssh-ed25519"),
        (format!("kim {TECHNICIAN} {TWO}"), "ssh-ed25519"),
    ] {
        let column = line[..line.rfind(at).unwrap()].chars().count() + 1;
        let told = parse(&format!("ann {TECHNICIAN} {TWO}\n{line}\n"), "").unwrap_err();
        let place = format!("allowed_signers:2:{column}: ");
        assert!(told.starts_with(&place), "{line}: {place}{told}");
    }
    let told = parse(&format!("\u{feff}# people\njo {TECHNICIAN} {ONE}\n"), "").unwrap_err();
    assert!(
        told.contains("allowed_signers:1:1: ") && told.contains("invisible mark"),
        "{told}"
    );
}
