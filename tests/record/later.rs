//! What happens to a job after it is sealed, as people do it at the command line: the queue, a return, an
//! amendment, and signing by the agent.

use evenfire::record::key;

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
    act(&bundle, "countersign", &lead, &back, WORDS);
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
        format!("Amendment 1 of job 0001 is signed by {TECHNICIAN}.\n")
    );
    assert!(queue(&bundle).contains("0001  awaits a decision about amendment 1;"));
    let (status, told) = verify(&bundle);
    assert!(
        status == 4 && told.contains("corrects \"odometer\", because \"Digits exchanged.\""),
        "{told}"
    );
    let own = act(&bundle, "countersign", &technician, &["--accept"], WORDS);
    assert!(own.0 == 2 && own.2.contains("another person"), "{}", own.2);
    act(&bundle, "countersign", &lead, &["--accept"], WORDS);
    let (status, told) = verify(&bundle);
    assert_eq!(status, 0, "{told}");
    assert!(queue(&bundle).starts_with("Nothing waits"));
    let report = bundle.text("report.html");
    assert!(report.contains("81 204 km") && report.contains("Which odometer?"));
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
