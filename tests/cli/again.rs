//! Work that is done again because a revoked key signed it.

use evenfire::record::shop::roster::{Role, line};
use evenfire::record::signing::key;

use crate::fixture::{ANSWERS, Bay};
use crate::people::edit_roster;

/// A shop in which jo signed job 1 with a key that is revoked since, and sam can do it again.
struct Revoked {
    bay: Bay,
    sam: String,
}

impl Revoked {
    fn new() -> Revoked {
        let bay = Bay::new();
        let sam = key::make("sam", true).unwrap();
        let entry = line::text("sam", Role::Technician, sam.public_key());
        edit_roster(&bay, |text| text + &entry);
        let own = bay.folder.path().join("sam");
        key::write_new(&sam, &own, None).unwrap();
        let sam = own.to_str().unwrap().to_owned();
        let shop = Revoked { bay, sam };
        let first = shop.bay.write("first.yaml", ANSWERS);
        shop.done(&["run", "look", "--answers", &first, "--technician", "jo"]);
        shop.done(&["sign", "1", "--key", &shop.key("technician")]);
        std::fs::copy(shop.key("technician.pub"), shop.bay.shop.join("revoked")).unwrap();
        shop
    }

    fn key(&self, name: &str) -> String {
        self.bay.shop.join("keys").join(name).display().to_string()
    }

    fn done(&self, arguments: &[&str]) -> String {
        let ran = self.bay.run(arguments);
        assert_eq!(ran.status, 0, "{arguments:?}: {}{}", ran.out, ran.err);
        ran.out
    }

    /// Sam does a job by these answers, and signs it under its number.
    fn again(&self, job: &str, answers: &str) {
        let file = self.bay.write("again.yaml", answers);
        self.done(&["run", "look", "--answers", &file, "--technician", "sam"]);
        self.done(&["sign", job, "--key", &self.sam]);
    }

    fn accept(&self, job: &str) -> String {
        self.done(&["countersign", job, "--key", &self.key("lead"), "--accept"])
    }

    /// What `verify` says of job 1, which stays unsound whatever is done.
    fn verified(&self) -> String {
        let ran = self.bay.run(&["verify", "1"]);
        assert_eq!(ran.status, 1, "{}{}", ran.out, ran.err);
        ran.out.split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// Whoever verifies the old job alone learns which one answers for it, or how one can.
#[test]
fn verify_names_the_job_that_was_done_again() {
    let shop = Revoked::new();
    let how = "with a note that says `instead of job 0001`";
    assert!(shop.verified().contains(how), "{}", shop.verified());
    let stopped = "procedure: look\nclock: 2026-03-02T08:00:00Z\nanswers:\n  \
                   - {step: held, note: instead of job 1}\n  - {step: held, answer: no}\n";
    shop.again("2", stopped);
    let told = shop.verified();
    let never = "Job 0002 says that it was done instead of this one. That does not count: it was turned away or stopped";
    assert!(told.contains(never) && told.contains(how), "{told}");
    shop.again(
        "3",
        &ANSWERS.replace("note: clean", "note: instead of job 1"),
    );
    let told = shop.verified();
    let later = "Job 0003 says that it was done instead of this one. It answers for this one once it is sound and accepted.";
    assert!(told.contains(later) && !told.contains(how), "{told}");
    shop.accept("3");
    let told = shop.verified();
    let now = "Job 0003 says that it was done instead of this one. It is sound and accepted, so it answers for this one";
    assert!(told.contains(now) && told.contains(never), "{told}");
    // nothing is asked for where more than the key is wrong
    std::fs::remove_file(shop.bay.job("record.json")).unwrap();
    assert!(!shop.verified().contains("instead of this one"));
}

/// A lead sees what a job stands for, and what was noted, before they accept it.
#[test]
fn a_lead_is_shown_what_a_job_is_done_in_place_of() {
    let shop = Revoked::new();
    let said = "note: instead of jobs 1 and 7";
    shop.again("2", &ANSWERS.replace("note: clean", said));
    let shown = shop.accept("2");
    for told in [
        "Note        look: instead of jobs 1 and 7\n",
        "In place of job 0001, signed with a revoked key\n  was       ",
        "; No fault found: ",
        "\n  is now    ",
        "In place of job 0007, which is not here or cannot be read: it does not count\n",
    ] {
        assert!(shown.contains(told), "{told}: {shown}");
    }
    let rows = shop.done(&["audit", "--practice", "--format", "csv"]);
    assert!(rows.lines().nth(1).unwrap().ends_with(",0002"), "{rows}");
}
