//! Ways to be wrong in amendments, signed again where their technician could.

use evenfire::record::bundle::amendment::Amendment;
use evenfire::record::digest;
use evenfire::record::folder;
use evenfire::record::shop::roster::Role;
use evenfire::record::signing::sshsig;
use evenfire::record::verify::{Finding, FindingKind as Kind, Status};
use ssh_key::PrivateKey;

use crate::bundle::Bundle;
use crate::layers::{AMENDED, adding};
use crate::way::remove;

/// One way to be wrong in an amendment, signed again by its technician where they could.
#[test]
fn every_wrong_amendment_is_found() {
    fn edit(bundle: &Bundle, edit: impl Fn(&mut Amendment)) {
        let name = "amendments/1/amendment.json";
        let mut amendment = Amendment::parse(&bundle.read(name)).unwrap();
        edit(&mut amendment);
        bundle.write(name, amendment.text().unwrap());
        sign(bundle, &bundle.technician);
    }
    fn sign(bundle: &Bundle, key: &PrivateKey) {
        let list = bundle.text("amendments/1/MANIFEST.sha256");
        let list: String = list
            .lines()
            .map(|line| {
                format!(
                    "{}  {}\n",
                    digest::of_bytes(&bundle.read(&line[66..])),
                    &line[66..]
                )
            })
            .collect();
        bundle.write("amendments/1/MANIFEST.sha256", &list);
        let signature = sshsig::sign(key, Role::Technician, list.as_bytes()).unwrap();
        bundle.write("amendments/1/technician.sig", signature);
    }
    type Spoil = fn(&Bundle);
    let ways: [(&str, Spoil, Kind); 12] = [
        (
            "another job's",
            |b| edit(b, |a| a.job = "0002".into()),
            Kind::AmendmentUnreadable,
        ),
        (
            "another number",
            |b| edit(b, |a| a.number = 2),
            Kind::AmendmentUnreadable,
        ),
        (
            "over another manifest",
            |b| edit(b, |a| a.previous = digest::of_bytes(b"x")),
            Kind::AmendmentUnreadable,
        ),
        (
            "without a reason",
            |b| edit(b, |a| a.reason.clear()),
            Kind::AmendmentUnreadable,
        ),
        (
            "of a newer form",
            |b| edit(b, |a| a.schema = "evenfire.amendment/2".into()),
            Kind::AmendmentUnreadable,
        ),
        (
            "before the job was signed",
            |b| edit(b, |a| a.time = "2026-03-01T00:00:00Z".into()),
            Kind::TimesDisagree,
        ),
        (
            "a stranger's",
            |b| sign(b, &b.stranger),
            Kind::SignerRefused,
        ),
        ("a lead's", |b| sign(b, &b.lead), Kind::SignerRefused),
        (
            "no signature",
            |b| remove(b, "amendments/1/technician.sig"),
            Kind::AmendmentIncomplete,
        ),
        (
            "no manifest",
            |b| remove(b, "amendments/1/MANIFEST.sha256"),
            Kind::AmendmentIncomplete,
        ),
        (
            "a gap",
            |b| std::fs::rename(b.path("amendments/1"), b.path("amendments/2")).unwrap(),
            Kind::AmendmentIncomplete,
        ),
        (
            "a file beside it",
            |b| b.write("amendments/1/more.txt", "x"),
            Kind::FileUnlisted,
        ),
    ];
    for (name, spoil, kind) in ways {
        let bundle = Bundle::signed();
        bundle.amend(&bundle.technician, adding(), AMENDED).unwrap();
        spoil(&bundle);
        let findings: Vec<Finding> = bundle.verify();
        assert!(
            findings.iter().any(|found| found.kind == kind),
            "{name}: {findings:?}"
        );
        assert_eq!(Status::of(&findings), Status::Unsound, "{name}");
    }
}

#[test]
fn a_decision_slipped_under_an_amendment_is_found() {
    let bundle = Bundle::signed();
    bundle.amend(&bundle.technician, adding(), AMENDED).unwrap();
    let other = Bundle::whole();
    for name in [
        folder::DECISION,
        folder::COUNTERSIGN,
        folder::COUNTERSIGNATURE,
    ] {
        bundle.write(name, other.read(name));
    }
    bundle.countersign_again(&bundle.lead);
    assert!(
        bundle.kinds().contains(&Kind::FileUnlisted),
        "{:?}",
        bundle.verify()
    );
}
