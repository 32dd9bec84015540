//! The demonstration: the whole job, twice, judged by `verify` and by stock tools.

use std::path::Path;
use std::process::Command;

use crate::fixture::{evenfire, json};

fn demo(shop: &Path) -> String {
    let ran = evenfire(&["demo", "--into", shop.to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    ran.out
}

/// Run a line in a job's folder. A missing tool fails with its name.
fn shell(line: &str, folder: &Path) -> bool {
    let ran = Command::new("sh")
        .args(["-c", line])
        .current_dir(folder)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&ran.stderr).into_owned();
    assert_ne!(ran.status.code(), Some(127), "{line}: {said}");
    ran.status.success()
}

/// The program carries what the demo and a shop need, so that it works without its sources; what the shop
/// has changed since stays.
#[test]
fn a_demo_lays_the_captures_and_procedures_into_its_shop() {
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shop");
    demo(&shop);
    let sources = Path::new(env!("CARGO_MANIFEST_DIR"));
    for file in [
        "sample-captures/i4-sound.csv",
        "sample-captures/v8-weak-cylinder-1.truth.yaml",
        "procedures/leak-down.yaml",
        "procedures/README.md",
        "procedures/scenarios/follow-up/running-inlet.yaml",
    ] {
        let carried = std::fs::read(shop.join(file)).unwrap();
        assert_eq!(
            carried,
            std::fs::read(sources.join(file)).unwrap(),
            "{file}"
        );
    }
    let own = shop.join("procedures/leak-down.yaml");
    let text = std::fs::read_to_string(&own).unwrap() + "# ours\n";
    std::fs::write(&own, &text).unwrap();
    let told = demo(&shop);
    assert!(
        told.contains("leak-down.yaml is not the shipped one"),
        "{told}"
    );
    assert_eq!(std::fs::read_to_string(&own).unwrap(), text);
}

#[test]
fn a_demo_makes_a_job_and_a_second_demo_a_second() {
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shop");
    let first = demo(&shop);
    let job = shop.join("jobs/0001");
    assert_eq!(first.lines().last().unwrap(), job.to_str().unwrap());
    let before = std::fs::read(job.join("MANIFEST.sha256")).unwrap();
    let second = demo(&shop);
    let other = shop.join("jobs/0002");
    assert_eq!(second.lines().last().unwrap(), other.to_str().unwrap());
    assert_eq!(std::fs::read(job.join("MANIFEST.sha256")).unwrap(), before);
    for number in ["1", "2"] {
        let verified = evenfire(&["verify", number, "--shop", shop.to_str().unwrap()]);
        assert_eq!(verified.status, 0, "{}", verified.out);
        assert!(
            verified.out.contains("this job is practice"),
            "{}",
            verified.out
        );
    }
    // The commands that the report prints, as printed: sha256sum and ssh-keygen are the judges.
    let report = std::fs::read_to_string(job.join("report.html")).unwrap();
    let commands = report
        .split("<pre><code>")
        .nth(1)
        .unwrap()
        .split("</code>")
        .next()
        .unwrap();
    let commands = commands.replace("&lt;", "<");
    assert_eq!(commands.lines().count(), 4, "{commands}");
    for line in commands.lines() {
        assert!(shell(line, &job), "{line}");
    }
}

/// The cylinders below the limit by the simulator's own word.
fn weak(capture: &Path) -> Vec<u64> {
    let text = std::fs::read_to_string(capture.with_extension("truth.yaml")).unwrap();
    let truth: serde_yaml::Value = serde_yaml::from_str(&text).unwrap();
    let percents = truth["relative_compression_percent"].as_mapping().unwrap();
    percents
        .iter()
        .filter(|(_, percent)| percent.as_f64().unwrap() < 85.0)
        .map(|(cylinder, _)| cylinder.as_u64().unwrap())
        .collect()
}

#[test]
fn a_demo_finds_the_weak_cylinder_that_the_captures_were_made_with() {
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shop");
    let out = demo(&shop);
    let job = shop.join("jobs/0001");
    let record = json(&job.join("record.json"));
    let expected = ["answers from a file", "practice keys", "simulated capture"];
    assert_eq!(record["practice"], serde_json::json!(expected));
    assert!(
        out.replace('\n', " ")
            .contains(&format!("PRACTICE: {}.", expected.join("; "))),
        "{out}"
    );
    let report = std::fs::read_to_string(job.join("report.html")).unwrap();
    assert!(report.contains("PRACTICE") && report.contains("simulated capture"));
    assert_eq!(record["simulated_clock"], true);
    assert_eq!(record["outcome"]["kind"], "fault-found");
    let captures = record["captures"].as_array().unwrap();
    assert_eq!(captures.len(), 2);
    for (capture, number) in captures.iter().zip(["1", "2"]) {
        let original = format!("v8-weak-cylinder-{number}");
        let from = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("sample-captures")
            .join(&original);
        for (ending, name) in [("csv", "file"), ("setup.yaml", "setup")] {
            let own = job.join(capture["file"][name].as_str().unwrap());
            let shipped = from.with_extension(ending);
            assert_eq!(std::fs::read(own).unwrap(), std::fs::read(shipped).unwrap());
        }
        let verdict = &capture["analysis"]["verdict"];
        assert_eq!(verdict["kind"], "low");
        assert_eq!(verdict["cylinders"], serde_json::json!(weak(&from)));
    }
    let leak = &record["computed"].as_array().unwrap();
    assert!(
        leak.iter().any(|made| made["facts"]["loss"] == "45.0 %"),
        "{leak:?}"
    );
    let put_back = record["put_back"].as_array().unwrap();
    assert!(!put_back.is_empty());
    assert!(
        put_back
            .iter()
            .all(|entry| entry["restored_at"].is_string())
    );
}

#[test]
#[cfg(unix)]
fn practice_keys_are_for_their_owner_and_a_real_shop_is_left_alone() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shop");
    demo(&shop);
    for key in ["technician", "lead"] {
        let about = std::fs::metadata(shop.join("keys").join(key)).unwrap();
        assert_eq!(about.permissions().mode() & 0o777, 0o600);
    }
    let policy = shop.join("policy.yaml");
    let text = std::fs::read_to_string(&policy).unwrap();
    std::fs::write(&policy, text.replace("Cinder Lane", "Quiet Lane")).unwrap();
    let refused = evenfire(&["demo", "--into", shop.to_str().unwrap()]);
    assert_eq!(refused.status, 2);
    assert!(refused.err.contains("not the demo's"), "{}", refused.err);
    assert!(!shop.join("jobs/0002").exists());
    let stray = evenfire(&["demo", "--into", folder.path().to_str().unwrap()]);
    assert_eq!(stray.status, 2);
    assert!(stray.err.contains("not empty"), "{}", stray.err);
}

/// The demo's job once more as the look after a repair, with the same captures: nothing has changed, and that
/// is what the comparison must say. Another job's number, or this one's, is asked for again.
#[test]
fn a_repair_that_changed_nothing_is_called_unchanged() {
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shop");
    demo(&shop);
    let sources = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-captures");
    let answers = std::fs::read_to_string(sources.join("demo.answers.yaml")).unwrap();
    let first = "answers:\n  - {step: vehicle-identity, answer: CLW DEMO 08}\n  - {step: first-job, answer: \"7\"}\n  - {step: not-there, answer: yes}\n  \
                 - {step: first-job, answer: \"1\"}\n  - {step: right-job, answer: yes}\n  \
                 - {step: repair, answer: Valve ground in}";
    let answers = answers
        .replace("{step: ", "{step: measure-again/")
        .replace("procedure: relative-compression", "procedure: after-repair")
        .replace("answers:\n", &format!("{first}\n"))
        .replace("answer: v8", &format!("answer: {}/v8", sources.display()));
    let file = folder.path().join("again.yaml");
    std::fs::write(&file, answers).unwrap();
    let (shop, file) = (shop.to_str().unwrap(), file.to_str().unwrap());
    let run = [
        "run",
        "after-repair",
        "--shop",
        shop,
        "--technician",
        "mira.sandell",
        "--answers",
        file,
    ];
    let ran = evenfire(&run);
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    let record = json(&Path::new(shop).join("jobs/0002/record.json"));
    assert_eq!(record["outcome"]["step"], "unchanged", "{}", ran.out);
    let computed = record["computed"].as_array().unwrap();
    let found = |name: &str| computed.iter().filter(|c| c["computation"] == name).count();
    assert_eq!((found("first record"), found("after repair")), (2, 1));
}
