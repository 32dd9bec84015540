//! Who begins a job: one of several, and nobody who could not sign it; and what `check` says of the roster.

use evenfire::record::shop::roster::{Role, line};
use evenfire::record::signing::key;
use evenfire::run::event::Event;

use crate::fixture::{ANSWERS, Bay, before, edit_roster, evenfire, from};
use crate::pty::{at_terminal, keys};

/// A shop in which sam does the work as well as jo.
fn two() -> Bay {
    let bay = Bay::new();
    let sam = key::make("sam", true).unwrap();
    let line = line::text("sam", Role::Technician, sam.public_key());
    edit_roster(&bay, |text| text + &line);
    bay
}

/// Two hours of work that nobody could sign are not begun.
#[test]
fn whoever_could_not_sign_does_not_begin() {
    let bay = two();
    let answers = bay.write("all.yaml", ANSWERS);
    let refused = |who: &str, why: &str| {
        let ran = bay.run(&["run", "look", "--answers", &answers, "--technician", who]);
        assert!(ran.status == 2 && ran.err.contains(why), "{}", ran.err);
        assert!(!bay.job("").exists());
    };
    refused("kim", "kim does not sign as technician; there are jo, sam");
    let revoked = bay.shop.join("revoked");
    let before = std::fs::read_to_string(&revoked).unwrap();
    let own = std::fs::read_to_string(bay.shop.join("keys/technician.pub")).unwrap();
    std::fs::write(&revoked, format!("{before}{own}")).unwrap();
    refused("jo", "jo's key is revoked");
    std::fs::write(&revoked, before).unwrap();
    edit_roster(&bay, |text| {
        let left = "jo namespaces=\"technician@evenfire\",valid-before=\"20260301Z\" ";
        text.replacen("jo namespaces=\"technician@evenfire\" ", left, 1)
    });
    refused("jo", "jo's key ended 2026-03-01");
    refused("kim", "kim does not sign as technician; there are sam");
    // the only one who is left need not be named
    let ran = bay.run(&["run", "look", "--answers", &answers]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(
        matches!(&bay.events()[0].event, Event::Opened(opening) if opening.technician == "sam")
    );
}

/// Nor is work gone on with that its technician could not sign any more; it goes on once that is mended.
#[test]
fn whoever_left_the_roster_does_not_go_on() {
    let bay = two();
    let first = bay.write("first.yaml", &before("look"));
    let whole = ["run", "look", "--technician", "sam", "--answers", &first];
    assert_eq!(bay.run(&whole).status, 4);
    let roster = std::fs::read_to_string(bay.shop.join("allowed_signers")).unwrap();
    edit_roster(&bay, |text| {
        let left = |line: &&str| !line.starts_with("sam ");
        text.split_inclusive('\n').filter(left).collect()
    });
    let lines = bay.events().len();
    let rest = format!(
        "procedure: look\nanswers:\n  - {{step: held, answer: yes}}\n{}",
        from("look")
    );
    let rest = bay.write("rest.yaml", &rest);
    let ran = bay.run(&["resume", "1", "--answers", &rest]);
    assert_eq!(ran.status, 2, "{}", ran.err);
    for wanted in [
        "begun by sam",
        "sam does not sign as technician; there are jo",
    ] {
        assert!(ran.told().contains(wanted), "{wanted}: {}", ran.err);
    }
    assert_eq!(bay.events().len(), lines, "nothing was written");
    edit_roster(&bay, |_| roster.clone());
    let ran = bay.run(&["resume", "1", "--answers", &rest]);
    assert_eq!(ran.status, 0, "{}", ran.err);
}

/// The key in the shop's folder is jo's: nobody else is told to sign with it.
#[test]
fn the_way_to_sign_names_nobody_elses_key() {
    let bay = two();
    let answers = bay.write("all.yaml", ANSWERS);
    let told = |who: &str| {
        let ran = bay.run(&["run", "look", "--answers", &answers, "--technician", who]);
        assert_eq!(ran.status, 0, "{}", ran.err);
        ran.out
    };
    let key = bay.shop.join("keys/technician");
    assert!(told("jo").contains(&format!(" --key {}\n", key.display())));
    assert!(told("sam").contains(" --key YOUR-KEY\n"));
    // nor is Enter offered for it
    let mut person = at_terminal(&bay, &["sign", "2"]);
    person
        .exp_string("private key, as a path (Tab completes)")
        .unwrap();
    person.send_line("").unwrap();
    person.exp_string("This can't be left out").unwrap();
    person
        .exp_string("private key, as a path (Tab completes)")
        .unwrap();
    keys(&mut person, "\u{3}");
    person.exp_eof().unwrap();
    let mut person = at_terminal(&bay, &["sign", "1"]);
    let offer = "private key, as a path (Enter: jo's, in the shop";
    person.exp_string(offer).unwrap();
    person.send_line("").unwrap();
    person.exp_string("is signed by jo").unwrap();
    person.exp_eof().unwrap();
}

#[test]
fn one_of_several_is_asked_for_at_a_terminal() {
    let bay = two();
    let answers = bay.write("all.yaml", ANSWERS);
    let ran = bay.run(&["run", "look", "--answers", &answers]);
    assert!(
        ran.status == 2 && ran.err.contains("--technician: jo, sam"),
        "{}",
        ran.err
    );
    let mut person = at_terminal(&bay, &["run", "look"]);
    person.exp_string("Who does the work?").unwrap();
    person.exp_string("2 sam").unwrap();
    person.exp_string("Number").unwrap();
    person.send_line("7").unwrap();
    person.exp_string("one of the numbers 1 to 2").unwrap();
    person.exp_string("Number").unwrap();
    person.send_line("2").unwrap();
    person.exp_string("y yes").unwrap();
    keys(&mut person, "p");
    person.exp_string("is paused").unwrap();
    person.exp_eof().unwrap();
    assert!(
        matches!(&bay.events()[0].event, Event::Opened(opening) if opening.technician == "sam")
    );
}

/// `check` proves the roster: who it holds, all that is wrong with it, and what in it means nothing.
#[test]
fn check_tells_the_roster() {
    let bay = two();
    let sheet = bay.shop.join("procedures/look.yaml");
    let check = || bay.run(&["check", sheet.to_str().unwrap()]);
    let words = |out: String| out.split_whitespace().collect::<Vec<_>>().join(" ");
    let sound = check();
    assert_eq!(sound.status, 0, "{}", sound.out);
    let told = words(sound.out);
    let bare = bay.run(&["check"]);
    assert!(
        bare.status == 0 && words(bare.out.clone()).contains("look.yaml: sound"),
        "{}{}",
        bare.out,
        bare.err
    );
    assert!(
        told.contains("Roster: jo technician; kim lead; sam technician."),
        "{told}"
    );
    let revoked = bay.shop.join("revoked");
    let own = key::make("jo", true).unwrap();
    let strange = key::make("nobody", true).unwrap();
    let second = line::text("jo", Role::Technician, own.public_key());
    edit_roster(&bay, |text| {
        text.replace(
            "lead@evenfire\"",
            "lead@evenfire\",valid-before=\"20961128Z\"",
        ) + &second
    });
    let keys = [own.public_key(), strange.public_key()].map(|key| key.to_openssh().unwrap());
    std::fs::write(&revoked, format!("{}\n{}\n", keys[0], keys[1])).unwrap();
    let told = words(check().out);
    for wanted in [
        "Roster: jo technician (1 of 2 keys revoked); kim lead (until 2096-11-27); sam technician.",
        "is nobody's in the roster",
    ] {
        assert!(told.contains(wanted), "{wanted}: {told}");
    }
    std::fs::write(&revoked, "").unwrap();
    edit_roster(&bay, |text| text.replace(&second, ""));
    edit_roster(&bay, |text| {
        text.replace("lead@evenfire", "lead@evenfire,apprentice")
    });
    let told = words(check().out);
    assert!(
        told.contains("namespace `apprentice` gives kim no role here"),
        "{told}"
    );
    edit_roster(&bay, |text| {
        text.trim_end().to_owned() + "ann namespaces=\"x\" ssh-ed25519 AAAA\nbob\n"
    });
    let own = std::fs::read_to_string(bay.shop.join("keys/technician.pub")).unwrap();
    let glued = format!("{}{own}", own.trim_end());
    std::fs::write(bay.shop.join("revoked"), glued).unwrap();
    let broken = check();
    assert_eq!(broken.status, 1);
    let told = words(broken.out);
    // nothing is wrong with the policy
    assert!(told.starts_with("Judged by the policy of"), "{told}");
    assert!(!told.contains("only as far as"), "{told}");
    for wanted in [
        "allowed_signers:6:1",
        "allowed_signers:7:1",
        "revoked:1:1",
        "two keys on one line",
    ] {
        assert!(told.contains(wanted), "{wanted}: {told}");
    }
}

/// Nobody who could sign as technician: no job could be begun, so such a shop is not sound.
#[test]
fn check_tells_a_shop_in_which_nobody_signs_as_technician() {
    let bay = Bay::new();
    let check = || {
        let ran = bay.run(&["check"]);
        let told = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
        (ran.status, told)
    };
    assert_eq!(check().0, 0);
    edit_roster(&bay, |text| {
        text.replace("technician@evenfire", "technician@evenfre")
    });
    let (status, told) = check();
    assert!(
        status == 1
            && told.contains("nobody can sign as technician now")
            && told.contains("Write technician@evenfire where it says technician@evenfre."),
        "{told}"
    );
    edit_roster(&bay, |text| {
        text.replace("technician@evenfre", "technician@evenfire")
    });
    edit_roster(&bay, |text| text.replace("lead@evenfire", "lead@evenfir"));
    let (status, told) = check();
    assert!(
        status == 0 && told.contains("did you mean `lead@evenfire`?"),
        "{told}"
    );
    edit_roster(&bay, |_| String::new());
    let (status, told) = check();
    assert!(status == 1 && told.contains("nobody can sign"), "{told}");
}

/// The shop's own files are proved as what they are, and never by the rules of a procedure.
#[test]
fn check_proves_the_shops_own_files_as_such() {
    let bay = Bay::new();
    for name in ["policy.yaml", "allowed_signers", "revoked"] {
        let file = bay.shop.join(name);
        let ran = evenfire(&["check", file.to_str().unwrap()]);
        assert_eq!(ran.status, 0, "{name}: {}{}", ran.out, ran.err);
        let told = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            told.contains(&format!("{name}: sound (the shop's own file")),
            "{told}"
        );
    }
    let policy = bay.shop.join("policy.yaml");
    let text = std::fs::read_to_string(&policy).unwrap();
    std::fs::write(&policy, text + "nonsense: 1\n").unwrap();
    let ran = evenfire(&["check", policy.to_str().unwrap()]);
    assert!(
        ran.status == 1 && ran.out.contains("nonsense") && !ran.out.contains("policy.yaml: sound"),
        "{}",
        ran.out
    );
    assert_eq!(ran.out.matches("mend:").count(), 1, "{}", ran.out);
}

#[test]
fn a_job_that_is_not_there_is_told_before_anything_is_asked() {
    let bay = Bay::new();
    let ran = bay.run(&["countersign", "99"]);
    assert!(
        ran.status == 2 && ran.err.contains("no job 99"),
        "{}",
        ran.err
    );
}
