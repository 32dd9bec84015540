//! Waivers: when one is refused, and how each can be wrong.

use evenfire::record::bundle::seal;
use evenfire::record::bundle::waiver::{Giving, Waiver, give};
use evenfire::record::digest;
use evenfire::record::error::RecordError;
use evenfire::record::folder;
use evenfire::record::shop::roster::{PRACTICE_MARK, Role};
use evenfire::record::signing::{self, sshsig};
use evenfire::record::verify::{FindingKind as Kind, Status};
use ssh_key::PrivateKey;

use crate::bundle::{Bundle, DECIDED, LEAD, SEALED, TECHNICIAN};
use crate::layers::refused;

impl Bundle {
    /// A waiver as a lead would give it at the job's first line.
    fn waiver(&self) -> Waiver {
        let journal = self.text(folder::JOURNAL);
        let first: serde_json::Value =
            serde_json::from_str(journal.lines().next().unwrap()).unwrap();
        Waiver {
            job: self.job.number(),
            step: "warm-up".into(),
            reason: "It does not start.".into(),
            lead: LEAD.into(),
            time: SEALED.into(),
            journal: first["h"].as_str().unwrap().into(),
        }
    }

    fn give(&self, key: &PrivateKey, waiver: Waiver) -> Result<u32, RecordError> {
        let roster = self.roster();
        let giving = Giving {
            job: &self.job,
            roster: &roster,
            technician: TECHNICIAN,
            practice: false,
        };
        give(&giving, key, waiver)
    }

    /// Sealed and signed, with a waiver.
    pub fn waived() -> Bundle {
        let mut bundle = Bundle::worked();
        assert_eq!(bundle.give(&bundle.lead, bundle.waiver()).unwrap(), 1);
        bundle.record = seal::seal(&bundle.shop, &bundle.job, &bundle.record).unwrap();
        let roster = bundle.roster();
        signing::sign(&bundle.job, &bundle.against(&roster), &bundle.technician).unwrap();
        bundle
    }
}

#[test]
fn waivers_that_would_not_count_are_refused() {
    let bundle = Bundle::worked();
    let other = |edit: fn(&mut Waiver)| {
        let mut waiver = bundle.waiver();
        edit(&mut waiver);
        waiver
    };
    for (key, waiver, told) in [
        (&bundle.lead, other(|w| w.reason.clear()), "reason is empty"),
        (
            &bundle.lead,
            other(|w| w.reason = "a\nlead: sam".into()),
            "one line",
        ),
        (
            &bundle.lead,
            other(|w| w.lead = TECHNICIAN.into()),
            "another person",
        ),
        (&bundle.technician, other(|_| {}), "would not count"),
        (&bundle.stranger, other(|_| {}), "not in the roster"),
        (
            &bundle.lead,
            other(|w| w.journal = "x".into()),
            "hexadecimal",
        ),
    ] {
        let refusal = refused(bundle.give(key, waiver));
        assert!(refusal.contains(told), "{refusal}");
    }
    assert!(!bundle.path("waivers").exists());
    bundle.edit_roster(|text| text.replace(&format!(" {LEAD}\n"), &format!(" {PRACTICE_MARK}\n")));
    let told = refused(bundle.give(&bundle.lead, bundle.waiver()));
    assert!(told.contains("practice key"), "{told}");
}

/// Each spoils the waiver, the rest is signed again over it: only the waiver's own check can tell.
#[test]
fn every_wrong_waiver_is_found() {
    type Spoil = fn(&Bundle, &mut Waiver) -> bool;
    let ways: [(&str, Spoil, Kind); 7] = [
        (
            "another job's",
            |_, w| {
                w.job = "0002".into();
                true
            },
            Kind::WaiverDisagrees,
        ),
        (
            "another journal's",
            |_, w| {
                w.journal = digest::of_bytes(b"x");
                true
            },
            Kind::WaiverDisagrees,
        ),
        (
            "signed after the seal",
            |_, w| {
                w.time = DECIDED.into();
                true
            },
            Kind::TimesDisagree,
        ),
        (
            "not signed again",
            |_, w| {
                w.step = "crank".into();
                false
            },
            Kind::SignatureBroken,
        ),
        (
            "no lead's",
            |_, w| {
                w.lead = "sam".into();
                true
            },
            Kind::SignerRefused,
        ),
        (
            "the technician's",
            |_, w| {
                w.lead = TECHNICIAN.into();
                true
            },
            Kind::SamePerson,
        ),
        (
            "of a newer form",
            |b, _| {
                b.write(
                    "waivers/1.txt",
                    b.text("waivers/1.txt").replace("waiver 1", "waiver 2"),
                );
                true
            },
            Kind::WaiverUnreadable,
        ),
    ];
    for (name, spoil, kind) in ways {
        let bundle = Bundle::waived();
        let mut waiver = bundle.waiver();
        let before = bundle.text("waivers/1.txt");
        let sign = spoil(&bundle, &mut waiver);
        if bundle.text("waivers/1.txt") == before {
            bundle.write("waivers/1.txt", waiver.text());
        }
        if sign {
            let bytes = bundle.read("waivers/1.txt");
            bundle.write(
                "waivers/1.sig",
                sshsig::sign(&bundle.lead, Role::Lead, &bytes).unwrap(),
            );
        }
        bundle.list_again();
        let signature = sshsig::sign(
            &bundle.technician,
            Role::Technician,
            &bundle.read(folder::MANIFEST),
        );
        bundle.write(folder::TECHNICIAN_SIGNATURE, signature.unwrap());
        let findings = bundle.verify();
        assert!(
            findings.iter().any(|found| found.kind == kind),
            "{name}: {findings:?}"
        );
        assert_eq!(Status::of(&findings), Status::Unsound, "{name}");
    }
}

/// A waiver is the word of whoever was a lead when it was given, by the roster of today.
#[test]
fn a_waiver_is_judged_by_the_time_at_which_it_was_given() {
    type Edit = fn(&str) -> String;
    let of_lead = |text: &str, edit: Edit| -> String {
        let line = |line: &str| match line.starts_with(LEAD) {
            true => edit(line),
            false => line.to_owned() + "\n",
        };
        text.lines().map(line).collect()
    };
    let ways: [(&str, Edit, Option<&str>); 4] = [
        (
            "left later",
            |line| with(line, "valid-before=\"20260401Z\""),
            None,
        ),
        (
            "had left",
            |line| with(line, "valid-before=\"20260301Z\""),
            Some("is not valid at 2026-03-02T10:15:00Z by the roster"),
        ),
        (
            "was no lead yet",
            |line| with(line, "valid-after=\"20260303Z\""),
            Some("is not valid at 2026-03-02T10:15:00Z by the roster"),
        ),
        (
            "is taken out of the roster",
            |_| String::new(),
            Some("put their line back"),
        ),
    ];
    for (name, edit, refusal) in ways {
        let bundle = Bundle::waived();
        bundle.edit_roster(|text| of_lead(&text, edit));
        let findings = bundle.verify();
        match refusal {
            None => assert_ne!(
                Status::of(&findings),
                Status::Unsound,
                "{name}: {findings:?}"
            ),
            Some(words) => {
                let mut refused = findings
                    .iter()
                    .filter(|found| found.kind == Kind::SignerRefused);
                let sentence = &refused.next().unwrap().sentence;
                assert!(
                    sentence.contains("waivers/1.txt (step \"warm-up\")"),
                    "{sentence}"
                );
                assert!(sentence.contains(words), "{name}: {sentence}");
            }
        }
    }
}

/// A roster's line with an option more.
fn with(line: &str, option: &str) -> String {
    format!(
        "{}\n",
        line.replacen(" namespaces", &format!(" {option},namespaces"), 1)
    )
}
