//! Work that is done again because a revoked key signed it.

use evenfire::record::shop::roster::{Role, line};
use evenfire::record::signing::key;

use crate::fixture::{ANSWERS, Bay, edit_roster};

/// A shop in which jo signed job 1 with a key that is revoked since, and sam can do it again.
struct Revoked {
    bay: Bay,
    sam: String,
}

impl Revoked {
    fn new() -> Revoked {
        Revoked::by("look", ANSWERS)
    }

    /// Job 1 is of that procedure, by these answers.
    fn by(procedure: &str, answers: &str) -> Revoked {
        let bay = Bay::new();
        bay.write("shop/procedures/named.yaml", NAMED);
        let sam = key::make("sam", true).unwrap();
        let entry = line::text("sam", Role::Technician, sam.public_key());
        edit_roster(&bay, |text| text + &entry);
        let own = bay.folder.path().join("sam");
        key::write_new(&sam, &own, None).unwrap();
        let sam = own.to_str().unwrap().to_owned();
        let shop = Revoked { bay, sam };
        let first = shop.bay.write("first.yaml", answers);
        shop.done(&["run", procedure, "--answers", &first, "--technician", "jo"]);
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

    /// Sam does a job by these answers, and signs it under its number; what was said until it was sealed.
    fn again(&self, job: &str, answers: &str) -> String {
        let file = self.bay.write("again.yaml", answers);
        let procedure = answers.lines().next().unwrap();
        let procedure = procedure.strip_prefix("procedure: ").unwrap();
        let said = self.done(&["run", procedure, "--answers", &file, "--technician", "sam"]);
        self.done(&["sign", job, "--key", &self.sam]);
        words(&said)
    }

    fn accept(&self, job: &str) -> String {
        self.done(&["countersign", job, "--key", &self.key("lead"), "--accept"])
    }

    /// What `verify` says of job 1, which stays unsound whatever is done.
    fn verified(&self) -> String {
        let ran = self.bay.run(&["verify", "1"]);
        assert_eq!(ran.status, 1, "{}{}", ran.out, ran.err);
        words(&ran.out)
    }
}

fn words(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Asks which vehicle it is, and nothing that could hurt.
const NAMED: &str = "\
procedure: named
revision: 1
title: A look at a vehicle that is named
purpose: The vehicle's identity.
steps:
  which:
    phase: look
    ask: Registration or chassis number
    note: text
    fills: vehicle identity
    then: look
  look:
    ask: What do you see?
    note: text
    then: seen
  seen:
    outcome: nothing-found
    finding: Seen was {look}.
";

/// Answers to it, with a note at one of its steps.
fn named(identity: &str, note: Option<(&str, &str)>) -> String {
    let at = |step: &str| match note {
        Some((at, text)) if at == step => format!("  - {{step: {step}, note: \"{text}\"}}\n"),
        _ => String::new(),
    };
    format!(
        "procedure: named\nclock: 2026-03-02T08:00:00Z\nanswers:\n{}  - {{step: which, answer: {identity}}}\n{}  \
         - {{step: look, answer: all dry}}\n",
        at("which"),
        at("look"),
    )
}

/// A mistyped number or identity is told while it can be mended, whichever of the two comes first; afterwards a lead's
/// word on an amendment mends it.
#[test]
fn a_mistyped_number_or_identity_is_told_before_the_seal_and_can_be_amended() {
    let shop = Revoked::by("named", &named("EX 123", None));
    let instead = "instead of job 1";
    let other = "In place of job 0001, not counted: another vehicle (\"EX 123\"; this job is of \"EX 132\").";
    for (job, step) in [("2", "which"), ("3", "look")] {
        let told = shop.again(job, &named("EX 132", Some((step, instead))));
        assert_eq!(told.matches(other).count(), 1, "{told}");
        assert!(told.contains("go back to it and type it anew"), "{told}");
    }
    let told = shop.again("4", &named("ex123", Some(("look", instead))));
    assert!(!told.contains("In place of"), "{told}");
    let told = shop.again(
        "5",
        &named("EX 123", Some(("look", "instead of jobs 5, 9 and 4"))),
    );
    for why in [
        "job 0005, not counted: it does not come after that one. Where the number is mistyped, note the right one.",
        "job 0009, not counted: no such job is here",
        "job 0004, which no revoked key signed.",
    ] {
        assert!(told.contains(why), "{why}: {told}");
    }
    shop.accept("2");
    let never =
        "Job 0002 says that it was done instead of this one. That does not count: another vehicle.";
    assert!(shop.verified().contains(never), "{}", shop.verified());
    let amend = [
        "amend",
        "2",
        "--key",
        &shop.sam,
        "--corrects",
        "vehicle identity",
    ];
    shop.done(
        &[
            &amend[..],
            &["--adds", "EX 123", "--reason", "Two digits exchanged."],
        ]
        .concat(),
    );
    assert!(shop.verified().contains(never), "{}", shop.verified());
    let shown = shop.accept("2");
    assert!(
        shown.contains("In place of job 0001, signed with a revoked key\n"),
        "{shown}"
    );
    let now = "Job 0002 says that it was done instead of this one. It is sound and accepted";
    assert!(shop.verified().contains(now), "{}", shop.verified());
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

/// A lead is not told more than an audit will say: where more is wrong with a job than its key, nothing answers for it.
#[test]
fn a_job_with_more_wrong_than_its_key_is_told_to_the_lead() {
    let shop = Revoked::new();
    let record = shop.bay.job("record.json");
    let text = std::fs::read_to_string(&record).unwrap();
    std::fs::write(&record, text.replacen("\"clean\"", "\"clear\"", 1) + " ").unwrap();
    shop.again(
        "2",
        &ANSWERS.replace("note: clean", "note: instead of job 1"),
    );
    let shown = words(&shop.accept("2"));
    let told = "In place of job 0001, not counted: more is wrong with it than a revoked key";
    assert!(shown.contains(told), "{shown}");
    let rows = shop
        .bay
        .run(&["audit", "--practice", "--format", "csv"])
        .out;
    assert!(!rows.contains(",0002\n"), "{rows}");
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
        "; No fault found in what was tested: ",
        "\n  is now    ",
        "In place of job 0007, not counted: no such job is here\n",
    ] {
        assert!(shown.contains(told), "{told}: {shown}");
    }
    let rows = shop.done(&["audit", "--practice", "--format", "csv"]);
    assert!(rows.lines().nth(1).unwrap().ends_with(",0002"), "{rows}");
}
