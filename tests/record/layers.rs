//! Bundles with a waiver and amendments: what they need, and what stock tools say of them.

use evenfire::record::bundle::amendment::{Adding, Amendment, Attached, amend};
use evenfire::record::bundle::decision::Ruling;
use evenfire::record::error::RecordError;
use evenfire::record::folder;
use evenfire::record::shop::queue::{Wait, waiting};
use evenfire::record::shop::roster::Role;
use evenfire::record::signing::{countersign, decidable};
use evenfire::record::verify::{FindingKind as Kind, Status};
use ssh_key::PrivateKey;

use crate::bundle::{Bundle, DECIDED, LEAD, TECHNICIAN};
use crate::stock::run;

pub const AMENDED: &str = "2026-03-03T08:00:00Z";
pub const DECIDED_AGAIN: &str = "2026-03-03T09:00:00Z";

pub fn adding() -> Adding {
    Adding {
        corrects: "odometer".into(),
        adds: "It reads 81 204 km, not 18 204.".into(),
        reason: "Two digits were exchanged.".into(),
        attached: Vec::new(),
    }
}

impl Bundle {
    pub fn amend(
        &self,
        key: &PrivateKey,
        adding: Adding,
        at: &str,
    ) -> Result<Amendment, RecordError> {
        let roster = self.roster();
        amend(
            &self.job,
            &self.against(&roster),
            key,
            adding,
            at.parse().unwrap(),
        )
    }

    fn decide(&self, key: &PrivateKey, ruling: Ruling, at: &str) -> Result<(), RecordError> {
        let roster = self.roster();
        let ruling = (ruling, Some("Looked at."));
        countersign(
            &self.job,
            &self.against(&roster),
            key,
            ruling,
            at.parse().unwrap(),
        )
        .map(|_| ())
    }

    /// Waived, returned, corrected with a file, accepted, with its report.
    pub fn layered() -> Bundle {
        let bundle = Bundle::waived();
        bundle
            .decide(&bundle.lead, Ruling::Returned, DECIDED)
            .unwrap();
        let from = bundle.folder.path().join("dash.txt");
        std::fs::write(&from, "81 204\n").unwrap();
        let attached = vec![Attached {
            from,
            name: "dash.txt".into(),
        }];
        bundle
            .amend(
                &bundle.technician,
                Adding {
                    attached,
                    ..adding()
                },
                AMENDED,
            )
            .unwrap();
        bundle
            .decide(&bundle.lead, Ruling::Accepted, DECIDED_AGAIN)
            .unwrap();
        bundle.write_report();
        bundle
    }

    pub fn kinds(&self) -> Vec<Kind> {
        self.verify()
            .into_iter()
            .map(|finding| finding.kind)
            .collect()
    }

    fn waits(&self) -> Vec<Wait> {
        let waiting = waiting(&self.shop, &self.roster()).unwrap();
        waiting.into_iter().map(|one| one.wait).collect()
    }
}

const SOUND: [Kind; 2] = [Kind::WaiverUnused, Kind::Amended];

pub fn refused<T: std::fmt::Debug>(outcome: Result<T, RecordError>) -> String {
    outcome.unwrap_err().to_string()
}

#[test]
fn a_returned_job_is_corrected_and_accepted() {
    let bundle = Bundle::layered();
    assert_eq!(bundle.kinds(), SOUND);
    assert_eq!(Status::of(&bundle.verify()), Status::Sound);
    // The stock tools agree, run in the job's folder.
    let layer = "amendments/1/";
    for list in [
        "MANIFEST.sha256",
        "amendments/1/MANIFEST.sha256",
        "amendments/1/COUNTERSIGN.sha256",
    ] {
        let summed = run(
            bundle.job.path(),
            "sha256sum",
            &["-c", "--strict", "--quiet", list],
            b"",
        );
        assert!(summed.status.success(), "{list}: {summed:?}");
    }
    let roster = bundle.shop.roster_file().canonicalize().unwrap();
    for (who, namespace, list, signature, time) in [
        (
            TECHNICIAN,
            "technician@evenfire",
            "MANIFEST.sha256",
            "technician.sig",
            "20260303080000Z",
        ),
        (
            LEAD,
            "lead@evenfire",
            "COUNTERSIGN.sha256",
            "countersign.sig",
            "20260303090000Z",
        ),
    ] {
        let signature = format!("{layer}{signature}");
        let time = format!("verify-time={time}");
        let roster = roster.to_str().unwrap();
        let arguments = [
            "-Y", "verify", "-f", roster, "-I", who, "-n", namespace, "-s", &signature, "-O", &time,
        ];
        let verified = run(
            bundle.job.path(),
            "ssh-keygen",
            &arguments,
            &bundle.read(&format!("{layer}{list}")),
        );
        assert!(verified.status.success(), "{list}: {verified:?}");
    }
    assert!(bundle.sha256sum_passes() && bundle.ssh_keygen_passes());
}

#[test]
fn what_waits_is_told_from_seal_to_acceptance() {
    let bundle = Bundle::sealed();
    assert_eq!(bundle.waits(), [Wait::Signature]);
    let bundle = Bundle::signed();
    assert!(matches!(bundle.waits()[..], [Wait::Decision(layer)] if layer.number() == 0));
    bundle
        .decide(&bundle.lead, Ruling::Returned, DECIDED)
        .unwrap();
    assert_eq!(
        bundle.waits(),
        [Wait::Correction {
            reason: "Looked at.".into()
        }]
    );
    assert_eq!(bundle.kinds(), [Kind::Returned, Kind::ReportMissing]);
    bundle.amend(&bundle.technician, adding(), AMENDED).unwrap();
    assert!(matches!(bundle.waits()[..], [Wait::Decision(layer)] if layer.number() == 1));
    assert_eq!(
        bundle.kinds(),
        [Kind::Amended, Kind::NotCountersigned, Kind::ReportMissing]
    );
    bundle
        .decide(&bundle.lead, Ruling::Accepted, DECIDED_AGAIN)
        .unwrap();
    assert_eq!(bundle.waits(), []);
    bundle.write(folder::RECORD, "{\"schema\": \"evenfire.record/9\"}");
    assert!(
        matches!(&bundle.waits()[..], [Wait::Unreadable(why)] if why.contains("evenfire.record/9"))
    );
}

#[test]
fn a_shop_of_one_waits_for_nobody() {
    let bundle = Bundle::signed();
    bundle.edit_roster(|text| {
        text.lines()
            .filter(|l| !l.starts_with(LEAD))
            .map(|l| format!("{l}\n"))
            .collect()
    });
    assert_eq!(bundle.waits(), []);
    bundle.amend(&bundle.technician, adding(), AMENDED).unwrap();
    bundle.write_report();
    assert_eq!(bundle.kinds(), [Kind::Amended, Kind::OneSignature]);
    assert_eq!(Status::of(&bundle.verify()), Status::Sound);
}

#[test]
fn amendments_that_would_not_count_are_refused_and_leave_nothing() {
    let bundle = Bundle::signed();
    let empty = |edit: fn(&mut Adding)| {
        let mut adding = adding();
        edit(&mut adding);
        adding
    };
    let astray = |name: &str| Adding {
        attached: vec![Attached {
            from: bundle.path(folder::RECORD),
            name: name.into(),
        }],
        ..adding()
    };
    for (key, adding, at, told) in [
        (&bundle.stranger, adding(), AMENDED, "not in the roster"),
        (&bundle.lead, adding(), AMENDED, "as technician"),
        (
            &bundle.technician,
            adding(),
            "2026-03-01T00:00:00Z",
            "later than now",
        ),
        (
            &bundle.technician,
            empty(|a| a.reason = " ".into()),
            AMENDED,
            "gives a reason",
        ),
        (
            &bundle.technician,
            empty(|a| a.corrects.clear()),
            AMENDED,
            "names what it corrects",
        ),
        (
            &bundle.technician,
            empty(|a| a.adds.clear()),
            AMENDED,
            "says what it adds",
        ),
        (
            &bundle.technician,
            empty(|a| a.adds = "x".repeat(300_000)),
            AMENDED,
            "too long",
        ),
        (
            &bundle.technician,
            astray("../../record.json"),
            AMENDED,
            "give it a name",
        ),
        (
            &bundle.technician,
            astray("a\u{1b}[2J"),
            AMENDED,
            "give it a name",
        ),
        (&bundle.technician, astray("b/c"), AMENDED, "give it a name"),
    ] {
        let refusal = refused(bundle.amend(key, adding, at));
        assert!(refusal.contains(told), "{told}: {refusal}");
        assert_eq!(Status::of(&bundle.verify()), Status::Open, "{told}");
        assert!(!bundle.path("amendments/1").exists(), "{told}");
    }
    let told = refused(Bundle::sealed().amend(&bundle.technician, adding(), AMENDED));
    assert!(told.contains("has not signed"), "{told}");
    bundle.write("captures/1.csv", "x");
    let told = refused(bundle.amend(&bundle.technician, adding(), AMENDED));
    assert!(told.contains("captures/1.csv"), "{told}");
}

#[test]
fn who_amended_does_not_decide_about_it() {
    let bundle = Bundle::signed();
    // Another technician, who leads as well.
    let both = evenfire::record::shop::roster::line::text(
        "sam",
        Role::Technician,
        bundle.stranger.public_key(),
    ) + &evenfire::record::shop::roster::line::text(
        "sam",
        Role::Lead,
        bundle.stranger.public_key(),
    );
    bundle.edit_roster(|text| text + &both);
    bundle.amend(&bundle.stranger, adding(), AMENDED).unwrap();
    let told = refused(bundle.decide(&bundle.stranger, Ruling::Accepted, DECIDED_AGAIN));
    assert!(told.contains("another person"), "{told}");
    bundle
        .decide(&bundle.lead, Ruling::Accepted, DECIDED_AGAIN)
        .unwrap();
    let told = refused(bundle.decide(&bundle.lead, Ruling::Accepted, DECIDED_AGAIN));
    assert!(told.contains("countersigned already"), "{told}");
}

/// While a passphrase is typed somebody else may add to the job; what was not shown is not decided about.
#[test]
fn what_was_added_since_it_was_shown_is_not_decided_about() {
    let bundle = Bundle::signed();
    let roster = bundle.roster();
    let against = bundle.against(&roster);
    let (key, at) = (
        bundle.lead.public_key().key_data(),
        DECIDED.parse().unwrap(),
    );
    let seen = decidable(&bundle.job, &against, key, (Ruling::Accepted, None), at).unwrap();
    bundle.amend(&bundle.technician, adding(), DECIDED).unwrap();
    let later = DECIDED_AGAIN.parse().unwrap();
    let told = refused(seen.sign(&bundle.job, &against, &bundle.lead, later));
    assert!(told.contains("added to since it was shown"), "{told}");
    assert!(!bundle.path("amendments/1/countersign.sig").exists());
    let seen = decidable(&bundle.job, &against, key, (Ruling::Accepted, None), later).unwrap();
    seen.sign(&bundle.job, &against, &bundle.lead, later)
        .unwrap();
    assert!(bundle.path("amendments/1/countersign.sig").exists());
}
