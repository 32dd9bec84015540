//! One way to be wrong, and how a row of a table of them is tried.

use evenfire::record::verify::{FindingKind as Kind, Status};

use crate::bundle::Bundle;

/// One way to be wrong.
pub struct Way {
    name: &'static str,
    go_wrong: fn(&mut Bundle),
    found: &'static [Kind],
    /// Whether `sha256sum -c --strict` still passes.
    sha256sum: bool,
    /// Whether `ssh-keygen -Y verify` still passes.
    ssh_keygen: bool,
}

pub const fn way(
    name: &'static str,
    go_wrong: fn(&mut Bundle),
    found: &'static [Kind],
    (sha256sum, ssh_keygen): (bool, bool),
) -> Way {
    Way {
        name,
        go_wrong,
        found,
        sha256sum,
        ssh_keygen,
    }
}

// What the stock tools say: (sha256sum, ssh-keygen).
pub const BOTH_PASS: (bool, bool) = (true, true);
pub const SUM_FAILS: (bool, bool) = (false, true);
pub const KEYGEN_FAILS: (bool, bool) = (true, false);
pub const BOTH_FAIL: (bool, bool) = (false, false);

/// Make a whole bundle wrong in each way; see what we say, and what the stock tools say.
pub fn try_all(ways: &[Way]) {
    for way in ways {
        let mut bundle = Bundle::whole();
        (way.go_wrong)(&mut bundle);
        let findings = bundle.verify();
        let kinds: Vec<Kind> = findings.iter().map(|finding| finding.kind).collect();
        assert_eq!(kinds, way.found, "{}: {findings:#?}", way.name);
        assert_eq!(Status::of(&findings), Status::Unsound, "{}", way.name);
        assert_eq!(
            bundle.sha256sum_passes(),
            way.sha256sum,
            "{}: sha256sum",
            way.name
        );
        assert_eq!(
            bundle.ssh_keygen_passes(),
            way.ssh_keygen,
            "{}: ssh-keygen",
            way.name
        );
    }
}

pub fn remove(bundle: &Bundle, name: &str) {
    std::fs::remove_file(bundle.path(name)).unwrap();
}

pub fn of(bytes: &[u8], name: &str) -> String {
    format!("{}  {name}\n", evenfire::record::digest::of_bytes(bytes))
}

pub fn without(text: String, part: &str) -> String {
    text.lines()
        .filter(|line| !line.ends_with(part) && !line.contains(&format!("  {part}")))
        .map(|line| format!("{line}\n"))
        .collect()
}
