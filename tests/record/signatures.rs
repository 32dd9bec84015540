//! Ways to be wrong in signatures, their signers and the lead's decision.

use evenfire::record::bundle::decision::Decision;
use evenfire::record::folder;
use evenfire::record::shop::roster::{PRACTICE_MARK, Role, line};
use evenfire::record::signing::sshsig;
use evenfire::record::verify::FindingKind as Kind;

use crate::bundle::{Bundle, LEAD, TECHNICIAN};
use crate::way::*;

const WAYS: &[Way] = &[
    // Signatures.
    way(
        "carriage returns in a signature",
        |b| signature(b, |t| t.replace('\n', "\r\n")),
        BROKEN,
        BOTH_FAIL,
    ),
    way(
        "a blank line after a signature",
        |b| signature(b, |t| t + "\n"),
        BROKEN,
        SUM_FAILS,
    ),
    way(
        "text after a signature",
        |b| signature(b, |t| t + "signed gladly\n"),
        BROKEN,
        SUM_FAILS,
    ),
    way(
        "text after the countersignature",
        |b| countersignature(b, |t| t + "gladly\n"),
        &[Kind::SignatureBroken],
        BOTH_PASS,
    ),
    way(
        "another role's namespace",
        technician_signs_as_lead,
        &[Kind::SignatureBroken],
        KEYGEN_FAILS,
    ),
    way(
        "a stranger signs",
        stranger_signs,
        &[Kind::SignerRefused],
        KEYGEN_FAILS,
    ),
    way(
        "a stranger countersigns",
        |b| b.countersign_again(&b.stranger),
        &[Kind::SignerRefused],
        KEYGEN_FAILS,
    ),
    way(
        "the key is revoked",
        technician_is_revoked,
        &[Kind::KeyRevoked],
        KEYGEN_FAILS,
    ),
    way(
        "the key had ended",
        |b| roster(b, TECHNICIAN, "valid-before=\"20260301Z\","),
        &[Kind::SignerRefused],
        KEYGEN_FAILS,
    ),
    way(
        "the key had not begun",
        |b| roster(b, LEAD, "valid-after=\"20260303Z\","),
        &[Kind::SignerRefused],
        KEYGEN_FAILS,
    ),
    way(
        "a practice key under a job that counts",
        practice_key,
        &[Kind::PracticeKey],
        BOTH_PASS,
    ),
    // Countersigning.
    way(
        "the technician countersigns",
        technician_countersigns,
        &[Kind::SamePerson],
        KEYGEN_FAILS,
    ),
    way(
        "the decision is changed",
        |b| {
            b.write(
                folder::DECISION,
                b.text(folder::DECISION).replace("accepted", "returned"),
            )
        },
        &[Kind::FileChanged, Kind::DecisionUnreadable],
        SUM_FAILS,
    ),
    way(
        "the decision has more in it",
        |b| decide(b, |_, t| t.replacen('{', "{\"more\": 1,", 1)),
        &[Kind::DecisionUnreadable],
        BOTH_PASS,
    ),
    way(
        "the decision is another job's",
        |b| {
            decide(b, |d, _| {
                d.job = "0002".into();
                d.text().unwrap()
            })
        },
        &[Kind::DecisionUnreadable],
        BOTH_PASS,
    ),
    way(
        "decided before the seal",
        |b| {
            decide(b, |d, _| {
                d.time = "2026-03-02T10:00:00Z".into();
                d.text().unwrap()
            })
        },
        &[Kind::TimesDisagree],
        BOTH_PASS,
    ),
    way(
        "the decision's time is none",
        |b| {
            decide(b, |d, _| {
                d.time = "noon".into();
                d.text().unwrap()
            })
        },
        &[Kind::TimesDisagree],
        BOTH_PASS,
    ),
    way(
        "the countersignature is removed",
        |b| remove(b, folder::COUNTERSIGNATURE),
        &[Kind::CountersignIncomplete],
        KEYGEN_FAILS,
    ),
    way(
        "the decision stands alone",
        decision_stands_alone,
        &[Kind::CountersignIncomplete],
        BOTH_FAIL,
    ),
    way(
        "the lead's list is short",
        lead_lists_less,
        &[Kind::ManifestMalformed],
        BOTH_PASS,
    ),
];

// The technician's signature is itself in the lead's list.
const BROKEN: &[Kind] = &[Kind::SignatureBroken, Kind::FileChanged];

#[test]
fn every_way_is_found() {
    try_all(WAYS);
}

fn signature(bundle: &Bundle, edit: impl Fn(String) -> String) {
    bundle.write(
        folder::TECHNICIAN_SIGNATURE,
        edit(bundle.text(folder::TECHNICIAN_SIGNATURE)),
    );
}

fn countersignature(bundle: &Bundle, edit: impl Fn(String) -> String) {
    bundle.write(
        folder::COUNTERSIGNATURE,
        edit(bundle.text(folder::COUNTERSIGNATURE)),
    );
}

fn technician_signs_as_lead(bundle: &mut Bundle) {
    let signature = sshsig::sign(
        &bundle.technician,
        Role::Lead,
        &bundle.read(folder::MANIFEST),
    )
    .unwrap();
    bundle.write(folder::TECHNICIAN_SIGNATURE, signature);
    bundle.countersign_again(&bundle.lead);
}

fn stranger_signs(bundle: &mut Bundle) {
    let signature = sshsig::sign(
        &bundle.stranger,
        Role::Technician,
        &bundle.read(folder::MANIFEST),
    )
    .unwrap();
    bundle.write(folder::TECHNICIAN_SIGNATURE, signature);
    bundle.countersign_again(&bundle.lead);
}

fn technician_is_revoked(bundle: &mut Bundle) {
    let key = bundle.technician.public_key().to_openssh().unwrap();
    std::fs::write(
        bundle.shop.revoked_file(),
        format!("# lost in March\n{key}\n"),
    )
    .unwrap();
}

fn roster(bundle: &Bundle, who: &str, option: &str) {
    let (plain, dated) = (format!("{who} "), format!("{who} {option}"));
    bundle.edit_roster(|text| text.replace(&plain, &dated));
}

fn practice_key(bundle: &mut Bundle) {
    bundle.edit_roster(|text| {
        text.replace(&format!(" {TECHNICIAN}\n"), &format!(" {PRACTICE_MARK}\n"))
    });
}

fn technician_countersigns(bundle: &mut Bundle) {
    // The shop lets them lead as well, but not over their own job.
    let own = line::text(TECHNICIAN, Role::Lead, bundle.technician.public_key());
    bundle.edit_roster(|text| text + &own);
    decide_as(
        bundle,
        |decision, _| {
            decision.name = TECHNICIAN.into();
            decision.text().unwrap()
        },
        |b| b.countersign_again(&b.technician),
    );
}

fn decide(bundle: &Bundle, edit: fn(&mut Decision, &str) -> String) {
    decide_as(bundle, edit, |bundle| {
        bundle.countersign_again(&bundle.lead)
    });
}

fn decide_as(bundle: &Bundle, edit: fn(&mut Decision, &str) -> String, sign: fn(&Bundle)) {
    let text = bundle.text(folder::DECISION);
    let mut decision = Decision::parse(text.as_bytes()).unwrap();
    bundle.write(folder::DECISION, edit(&mut decision, &text));
    sign(bundle);
}

fn decision_stands_alone(bundle: &mut Bundle) {
    remove(bundle, folder::COUNTERSIGN);
    remove(bundle, folder::COUNTERSIGNATURE);
}

fn lead_lists_less(bundle: &mut Bundle) {
    let list = without(bundle.text(folder::COUNTERSIGN), "decision.json");
    bundle.write(
        folder::COUNTERSIGNATURE,
        sshsig::sign(&bundle.lead, Role::Lead, list.as_bytes()).unwrap(),
    );
    bundle.write(folder::COUNTERSIGN, list);
}
