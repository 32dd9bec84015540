//! What happens to a job after it is sealed, as people do it at the command line: the queue, a return, an
//! amendment, and signing by the agent.

use std::path::Path;

use evenfire::record::signing::key;

use crate::agent::{add, start};
use crate::bundle::{Bundle, TECHNICIAN};
use crate::commands::{WORDS, act, evenfire, key_file, ran, text, verify};

fn queue(bundle: &Bundle) -> String {
    let (status, told, _) = ran(&mut evenfire(&[
        "countersign",
        "--shop",
        text(bundle.shop.root()),
    ]));
    assert_eq!(status, 0);
    told
}

#[test]
fn a_returned_job_is_amended_and_accepted() {
    let bundle = Bundle::signed();
    let technician = key_file(&bundle, "technician", &bundle.technician);
    let lead = key_file(&bundle, "lead", &bundle.lead);
    assert!(queue(&bundle).starts_with(
        "0001  awaits a decision; jo.tarrow@shop.example, sealed 2026-03-02T10:15:00Z\n"
    ));
    let back = ["--return", "--reason", "Which odometer?"];
    let (_, told, _) = act(&bundle, "countersign", &lead, &back, WORDS);
    let next = format!(
        "Next jo.tarrow@shop.example, or another technician, adds what corrects it; then a lead decides anew:\n  \
         evenfire amend 0001 --shop {}\n",
        bundle.shop.root().display()
    );
    assert!(told.ends_with(&next), "{told}");
    assert!(
        queue(&bundle)
            .contains("\n      Vehicle: grey van · 81402 km; No fault found in what was tested: All alike.\n      /"),
        "{}",
        queue(&bundle)
    );
    assert!(queue(&bundle).contains("was returned and awaits a correction: \"Which odometer?\""));
    let file = bundle.folder.path().join("dash.txt");
    std::fs::write(&file, "81 204").unwrap();
    let adds = [
        "--corrects",
        "odometer",
        "--adds",
        "81 204 km",
        "--reason",
        "Digits exchanged.",
        "--attach",
        text(&file),
    ];
    let without = act(&bundle, "amend", &technician, &adds[..4], WORDS);
    assert!(
        without.0 == 2 && without.2.contains("--reason"),
        "{}",
        without.2
    );
    let (status, told, failed) = act(&bundle, "amend", &technician, &adds, WORDS);
    assert_eq!((status, failed.as_str()), (0, ""));
    assert_eq!(
        told,
        format!(
            "Amendment 1 of job 0001 is signed by {TECHNICIAN}.\nNext a lead decides about it:\n  evenfire \
             countersign 0001 --shop {}\n",
            text(bundle.shop.root())
        )
    );
    assert!(queue(&bundle).contains("0001  awaits a decision about amendment 1;"));
    let (status, told) = verify(&bundle);
    assert!(
        status == 4
            && told.contains(
                "corrects \"odometer\", adds \"81 204 km\", because \"Digits exchanged.\""
            ),
        "{told}"
    );
    let own = act(&bundle, "countersign", &technician, &["--accept"], WORDS);
    assert!(own.0 == 2 && own.2.contains("another person"), "{}", own.2);
    let (status, told, _) = act(&bundle, "countersign", &lead, &["--accept"], WORDS);
    let accepted = "\nAmendment 1 of job 0001 is accepted by kim.vell@shop.example.\n";
    assert!(status == 0 && told.ends_with(accepted), "{told}");
    let (status, told) = verify(&bundle);
    assert_eq!(status, 0, "{told}");
    assert!(queue(&bundle).starts_with("Nothing waits"));
    let report = bundle.text("report.html");
    assert!(report.contains("81 204 km") && report.contains("Which odometer?"));
}

/// Without a job, sign lists what awaits a signature; without a terminal it goes no further.
#[test]
fn what_awaits_a_signature_is_listed() {
    let bundle = Bundle::sealed();
    let listed = || ran(&mut evenfire(&["sign", "--shop", text(bundle.shop.root())]));
    let (status, told, failed) = listed();
    assert!(
        status == 0 && told.starts_with("0001  awaits the technician's signature;"),
        "{told}{failed}"
    );
    let technician = key_file(&bundle, "technician", &bundle.technician);
    act(&bundle, "sign", &technician, &[], WORDS);
    assert_eq!(listed().1, "Nothing awaits a technician's signature.\n");
}

/// Everything there is to decide about stands there although no passphrase was given yet.
#[test]
fn a_lead_is_shown_what_they_decide_about_before_they_are_asked_for_a_passphrase() {
    let bundle = Bundle::signed();
    let technician = key_file(&bundle, "technician", &bundle.technician);
    let lead = key_file(&bundle, "lead", &bundle.lead);
    let look = || act(&bundle, "countersign", &lead, &["--accept"], "wrong words");
    let (status, told, failed) = look();
    assert!(
        status == 2 && failed.contains("wrong passphrase"),
        "{failed}"
    );
    for line in [
        "Job 0001 awaits a decision.\n",
        "Vehicle     grey van · 81402 km\n",
        "Outcome     No fault found in what was tested: All alike.\n",
        "Done by     jo.tarrow@shop.example, sealed 2026-03-02T10:15:00Z\n",
        "/jobs/0001/report.html\n            is missing",
    ] {
        assert!(told.contains(line), "{line}: {told}");
    }
    let back = ["--return", "--reason", "Which odometer?"];
    act(&bundle, "countersign", &lead, &back, WORDS);
    let adds = [
        "--corrects",
        "odometer",
        "--adds",
        "81 204 \u{1b}[2Jkm",
        "--reason",
        "Digits exchanged.",
    ];
    act(&bundle, "amend", &technician, &adds, WORDS);
    let (_, told, _) = look();
    for line in [
        "Amendment 1 of job 0001 awaits a decision.\n",
        "Returned    by kim.vell@shop.example: Which odometer?\n",
        "Added 1     by jo.tarrow@shop.example, 20",
        "  corrects  odometer\n",
        "  adds      81 204 [2Jkm\n",
        "  why       Digits exchanged.\n",
        "/jobs/0001/report.html\n",
    ] {
        assert!(told.contains(line), "{line}: {told}");
    }
    assert!(!told.contains("is missing"), "{told}");
    assert!(!bundle.path("amendments/1/countersign.sig").exists());
}

/// What would be refused is refused before a passphrase is asked for: the words given here are wrong ones.
#[test]
fn nobody_types_a_passphrase_for_what_is_refused() {
    let refused = |bundle: &Bundle, key: &Path, command: &[&str], why: &str| {
        let (status, _, failed) = act(bundle, command[0], key, &command[1..], "wrong words");
        assert!(
            status == 2 && failed.contains(why) && !failed.contains("passphrase"),
            "{command:?}: {failed}"
        );
    };
    let adds = [
        "amend",
        "--corrects",
        "odometer",
        "--adds",
        "81 204 km",
        "--reason",
    ];
    let with = |more: &[&'static str]| [&adds[..], more].concat();
    let bundle = Bundle::sealed();
    let technician = key_file(&bundle, "technician", &bundle.technician);
    let lead = key_file(&bundle, "lead", &bundle.lead);
    refused(
        &bundle,
        &lead,
        &["countersign", "--accept"],
        "has not signed",
    );
    refused(&bundle, &technician, &with(&["x"]), "has not signed");
    refused(&bundle, &lead, &["sign"], "not jo.tarrow");
    act(&bundle, "sign", &technician, &[], WORDS);
    refused(&bundle, &technician, &["sign"], "signed already");
    refused(
        &bundle,
        &technician,
        &["countersign", "--accept"],
        "another person",
    );
    let back = ["countersign", "--return", "--reason", " "];
    refused(&bundle, &lead, &back, "returned with a reason");
    refused(&bundle, &technician, &with(&[""]), "gives a reason");
    let nowhere = with(&["x", "--attach", "no/such.jpg"]);
    refused(&bundle, &technician, &nowhere, "no/such.jpg");
    act(&bundle, "countersign", &lead, &["--accept"], WORDS);
    refused(
        &bundle,
        &lead,
        &["countersign", "--accept"],
        "countersigned already",
    );
}

#[test]
fn the_agent_signs_for_both() {
    let bundle = Bundle::sealed();
    let folder = bundle.folder.path();
    let stock = start(folder);
    let shop = text(bundle.shop.root());
    let by_agent = |arguments: &[&str]| {
        let arguments = [arguments, &["1", "--shop", shop, "--agent"]].concat();
        ran(evenfire(&arguments).env("SSH_AUTH_SOCK", &stock.socket))
    };
    let none = by_agent(&["sign"]);
    assert!(none.0 == 2 && none.2.contains("no key that"), "{}", none.2);
    for (name, private) in [("technician", &bundle.technician), ("lead", &bundle.lead)] {
        let file = folder.join(name);
        key::write_new(private, &file, None).unwrap();
        add(folder, &stock.socket, &file);
    }
    let signed = by_agent(&["sign"]);
    assert_eq!(signed.0, 0, "{}", signed.2);
    let other = bundle.folder.path().join("other");
    key::write_new(&bundle.stranger, &other, None).unwrap();
    let public = key::public_file(&other);
    let strange = by_agent(&["countersign", "--accept", "--key", text(&public)]);
    assert!(
        strange.0 == 2 && strange.2.contains("ssh-add"),
        "{}",
        strange.2
    );
    let public = key::public_file(&folder.join("lead"));
    let accepted = by_agent(&["countersign", "--accept", "--key", text(&public)]);
    assert_eq!(accepted.0, 0, "{}", accepted.2);
    assert_eq!(verify(&bundle).0, 0);
    assert!(bundle.sha256sum_passes());
    let nowhere =
        ran(evenfire(&["sign", "1", "--shop", shop, "--agent"]).env_remove("SSH_AUTH_SOCK"));
    assert!(
        nowhere.0 == 2 && nowhere.2.contains("SSH_AUTH_SOCK is not set"),
        "{}",
        nowhere.2
    );
    let neither = ran(&mut evenfire(&["sign", "1", "--shop", shop]));
    assert!(
        neither.0 == 2 && neither.2.contains("--key FILE"),
        "{}",
        neither.2
    );
}

#[test]
fn forms_are_printed() {
    for (of, says) in [
        ("record", "evenfire.record/1"),
        ("decision", "evenfire.decision/1"),
        ("amendment", "evenfire.amendment/1"),
        ("journal", "journal.jsonl"),
        ("format", "MANIFEST.sha256"),
    ] {
        let (status, told, _) = ran(&mut evenfire(&["schema", of]));
        assert!(status == 0 && told.contains(says), "{of}: {told}");
        assert!(
            of == "format" || serde_json::from_str::<serde_json::Value>(&told).is_ok(),
            "{of}"
        );
    }
}
