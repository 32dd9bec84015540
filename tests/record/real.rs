//! Jobs as people do them: at a terminal, with keys that have a passphrase, waived in part, returned,
//! amended and accepted. What the audit counts of them, and where nothing of them must come.

use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;

use evenfire::record::signing::key;
use rexpect::session::{PtySession, spawn_command};

use crate::commands::text;

/// Longest that an answer may take, milliseconds: slow machines build at the same time.
const PATIENCE: u64 = 20_000;

const COMPLAINT: &str = "Mrs Oddny Quillfeather says it shakes";
const TECHNICIAN_WORDS: &str = "grey ladder by noon";
const LEAD_WORDS: &str = "wide river at dusk";

/// A word of the customer, and two looks that a lead may waive.
const SHEET: &str = "\
procedure: looks
revision: 1
title: Two looks
purpose: Something that may be waived.
steps:
  says:
    phase: look
    ask: What does the customer say?
    note: text
    fills: complaint
    then: rail
  rail:
    ask: What do you see at the rail?
    note: text
    then: hose
  hose:
    ask: What do you see at the hose?
    note: text
    then: seen
  seen:
    outcome: nothing-found
    finding: Seen.
    advice: Carry on.
";

/// Programs that a program like this one might be tempted to call.
const TEMPTING: [&str; 8] = [
    "ssh-keygen",
    "ssh-add",
    "ssh-agent",
    "ssh",
    "sh",
    "git",
    "gpg",
    "stty",
];

/// A shop with passphrases, in which every child process writes down how it was called.
struct Workshop {
    folder: tempfile::TempDir,
    said: std::cell::RefCell<String>,
}

impl Workshop {
    fn founded() -> Workshop {
        let folder = tempfile::tempdir().unwrap();
        let shop = Workshop {
            folder,
            said: std::cell::RefCell::default(),
        };
        std::fs::create_dir(shop.path("path")).unwrap();
        for name in TEMPTING {
            shop.program(&format!("path/{name}"), "exit 1\n");
        }
        let answers = format!(
            "case \"$1\" in *lead*) echo '{LEAD_WORDS}';; *) echo '{TECHNICIAN_WORDS}';; esac\n"
        );
        shop.program("askpass", &answers);
        let root = shop.root();
        shop.ran(&["init", text(&root), "--name", "Quiet Lane Motors"], |c| {
            c.args(["--technician", "jo", "--lead", "kim"]);
        });
        std::fs::write(root.join("procedures/looks.yaml"), SHEET).unwrap();
        let policy = root.join("policy.yaml");
        let written = std::fs::read_to_string(&policy).unwrap();
        let waivers = "\nwaivers:\n  looks/rail: lead\n  looks/hose: lead\n";
        std::fs::write(policy, written + waivers).unwrap();
        shop.another_lead();
        shop
    }

    fn another_lead(&self) {
        let lee = key::make("lee", false).unwrap();
        key::write_new(&lee, &self.path("lee-lead"), Some(LEAD_WORDS)).unwrap();
        let roster = self.root().join("allowed_signers");
        let public = lee.public_key().to_openssh().unwrap();
        let line = format!("lee namespaces=\"lead@evenfire\" {public}\n");
        let before = std::fs::read_to_string(&roster).unwrap();
        std::fs::write(roster, before + &line).unwrap();
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn root(&self) -> PathBuf {
        self.path("shop")
    }

    /// A program that first writes down its arguments, its environment and its parent's command line.
    fn program(&self, name: &str, rest: &str) {
        let calls = self.path("calls");
        let script = format!(
            "#!/bin/sh\n{{ echo \"called $0\"; printf '%s\\n' \"$@\"; /usr/bin/env; \
             /usr/bin/tr '\\0' '\\n' < /proc/$PPID/cmdline; }} >> '{}'\n{rest}",
            calls.display()
        );
        std::fs::write(self.path(name), script).unwrap();
        std::fs::set_permissions(self.path(name), PermissionsExt::from_mode(0o700)).unwrap();
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_evenfire"));
        command.args(arguments).current_dir(self.folder.path());
        for (name, value) in [
            ("PATH", self.path("path")),
            ("SSH_ASKPASS", self.path("askpass")),
            ("SSH_ASKPASS_REQUIRE", "force".into()),
            ("EVENFIRE_SHOP", self.root()),
            ("TERM", "xterm".into()),
        ] {
            command.env(name, value);
        }
        command
    }

    /// What it says, kept with all that was said; it must come to a status that is no failure.
    fn ran(&self, arguments: &[&str], more: impl FnOnce(&mut Command)) -> String {
        let mut command = self.command(arguments);
        more(&mut command);
        let output = command.output().unwrap();
        let said = String::from_utf8([output.stdout, output.stderr].concat()).unwrap();
        let status = output.status.code().unwrap();
        assert!(matches!(status, 0 | 4), "{arguments:?}: {said}");
        self.said.borrow_mut().push_str(&said);
        said
    }

    fn says(&self, arguments: &[&str]) -> String {
        self.ran(arguments, |_| {})
    }

    fn expect(&self, person: &mut PtySession, wanted: &str) {
        let before = person.exp_string(wanted).unwrap();
        self.said.borrow_mut().push_str(&before);
    }

    /// A job by keys. Each look is waived by the lead whose key is named, or answered where none is.
    fn job(&self, looks: [Option<&Path>; 2]) {
        let mut person = spawn_command(self.command(&["run", "looks"]), Some(PATIENCE)).unwrap();
        self.expect(&mut person, "What does the customer say?");
        self.expect(&mut person, ":f file");
        person.send_line(COMPLAINT).unwrap();
        for (place, key) in ["rail", "hose"].into_iter().zip(looks) {
            self.expect(&mut person, &format!("at the {place}?"));
            self.expect(&mut person, "l lead waives");
            let Some(key) = key else {
                person.send_line("all dry").unwrap();
                continue;
            };
            person.send_line(":l").unwrap();
            self.expect(&mut person, "Reason why it need not be done");
            person.send_line("It is not fitted.").unwrap();
            self.expect(&mut person, "private key, as a path");
            person.send_line(text(key)).unwrap();
        }
        self.expect(&mut person, "is sealed");
        let rest = person.exp_eof().unwrap();
        self.said.borrow_mut().push_str(&rest);
    }
}

#[test]
fn waivers_of_real_jobs_are_counted_by_step_and_person() {
    let shop = Workshop::founded();
    let (kim, lee) = (shop.root().join("keys/lead"), shop.path("lee-lead"));
    shop.job([Some(&kim), Some(&lee)]);
    shop.job([Some(&kim), None]);
    shop.job([None, None]);
    let audit = shop.says(&["audit", "--full", "--no-memory", "--format", "json"]);
    let audit: serde_json::Value = serde_json::from_str(&audit).unwrap();
    let figures = &audit["figures"];
    assert_eq!(
        (&figures["jobs"], &figures["practice"]),
        (&3.into(), &0.into())
    );
    let counted = |by: &str| figures[by].clone();
    assert_eq!(
        counted("waivers_by_step"),
        serde_json::json!({"rail": 2, "hose": 1})
    );
    assert_eq!(
        counted("waivers_by_person"),
        serde_json::json!({"kim": 2, "lee": 1})
    );
    let waived = |job: usize| audit["jobs"][job]["waived"].as_str().unwrap();
    assert_eq!(waived(0), "rail=kim hose=lee");
    assert_eq!(waived(1), "rail=kim");
    assert_eq!(waived(2), "");
}

/// Each command of a report, as who reads it in a browser copies it.
fn printed_commands(report: &str) -> Vec<String> {
    let commands = report.split("<pre><code>").nth(1).unwrap();
    let commands = commands.split("</code>").next().unwrap();
    commands
        .lines()
        .map(|line| line.replace("&lt;", "<"))
        .collect()
}

/// Coreutils and OpenSSH judge every layer by the commands that the report prints.
#[test]
fn the_printed_commands_check_waivers_and_amendments_too() {
    let shop = Workshop::founded();
    let (technician, lead) = (
        shop.root().join("keys/technician"),
        shop.root().join("keys/lead"),
    );
    shop.job([Some(&lead), None]);
    shop.says(&["sign", "1", "--key", text(&technician)]);
    returned_amended_accepted(&shop, &technician, &lead);
    let job = shop.root().join("jobs/0001");
    let report = std::fs::read_to_string(job.join("report.html")).unwrap();
    assert!(report.contains(
        "Signed by jo; reviewed by kim and RETURNED for correction; added to later by jo; \
         reviewed and accepted by kim."
    ));
    let page_one = report.split("</section>").next().unwrap();
    assert!(page_one.contains("job: 81 204 km (Forgotten.)"));
    let commands = printed_commands(&report);
    assert_eq!(commands.len(), 9, "{commands:#?}");
    let passes = |line: &String| {
        let ran = Command::new("sh")
            .args(["-c", line])
            .current_dir(&job)
            .output();
        ran.unwrap().status.success()
    };
    for line in &commands {
        assert!(passes(line), "{line}");
    }
    for (file, failing) in [("waivers/1.txt", 2), ("amendments/1/amendment.json", 1)] {
        let before = std::fs::read_to_string(job.join(file)).unwrap();
        std::fs::write(
            job.join(file),
            before.replace("fitted", "there").replace("204", "240"),
        )
        .unwrap();
        let failed = commands.iter().filter(|line| !passes(line)).count();
        assert_eq!(failed, failing, "{file}");
        std::fs::write(job.join(file), before).unwrap();
    }
}

/// What nobody but its owner may see: passphrases, and the secret half of each key as bytes, in hexadecimal and
/// in the letters of a key file.
fn secrets(shop: &Workshop) -> Vec<Vec<u8>> {
    let mut secrets: Vec<Vec<u8>> = [TECHNICIAN_WORDS, LEAD_WORDS, "PRIVATE KEY"]
        .map(|words| words.as_bytes().to_vec())
        .to_vec();
    let root = shop.root();
    for (file, words) in [
        (root.join("keys/technician"), TECHNICIAN_WORDS),
        (root.join("keys/lead"), LEAD_WORDS),
        (shop.path("lee-lead"), LEAD_WORDS),
    ] {
        let key = key::open(&file, &mut || Ok(words.into())).unwrap();
        let seed = key.key_data().ed25519().unwrap().private.to_bytes();
        secrets.push(seed.to_vec());
        let hex: String = seed.iter().map(|byte| format!("{byte:02x}")).collect();
        secrets.push(hex.into_bytes());
        let text = std::fs::read_to_string(&file).unwrap();
        secrets.push(text.lines().nth(3).unwrap().as_bytes().to_vec());
    }
    secrets
}

/// Every file under a folder but the private keys.
fn files(place: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(place).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, found);
        } else if !path.ends_with("keys/technician") && !path.ends_with("keys/lead") {
            found.push(path);
        }
    }
}

fn has(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|window| window == part)
}

/// A job waived in part, returned, amended, accepted, verified, reported and audited.
#[test]
fn nothing_secret_is_told_to_child_processes_screens_or_files() {
    let shop = Workshop::founded();
    let root = shop.root();
    let kim = root.join("keys/lead");
    shop.job([Some(&kim), None]);
    let (technician, lead) = (root.join("keys/technician"), kim.clone());
    let own = ["--key", text(&technician)];
    shop.ran(&["sign", "1"], |c| {
        c.args(own);
    });
    returned_amended_accepted(&shop, &technician, &lead);
    for command in ["verify", "report"] {
        shop.says(&[command, "1"]);
    }
    for format in ["text", "ndjson", "csv", "json"] {
        shop.says(&["audit", "--format", format]);
    }
    // two keys made, then one child for each of a waiver, two signatures and two decisions
    let calls = std::fs::read_to_string(shop.path("calls")).unwrap();
    let askpass = format!("called {}\n", shop.path("askpass").display());
    assert!(calls.matches(&askpass).count() >= 7, "{calls}");
    assert_eq!(
        calls.matches("called ").count(),
        calls.matches(&askpass).count(),
        "{calls}"
    );
    assert!(!calls.contains("Quillfeather"), "{calls}");
    let job = std::fs::read_to_string(root.join("jobs/0001/journal.jsonl")).unwrap();
    assert!(
        job.contains(COMPLAINT),
        "what the customer says is kept where it belongs"
    );
    let said = shop.said.borrow();
    assert!(
        said.contains(COMPLAINT) && said.contains("Amendment 1 of job 0001 is accepted by kim."),
        "{said}"
    );
    let mut found = Vec::new();
    files(&root, &mut found);
    assert!(found.len() > 20, "{found:?}");
    for secret in secrets(&shop) {
        let shown = String::from_utf8_lossy(&secret).into_owned();
        assert!(!has(calls.as_bytes(), &secret), "a child was told {shown}");
        assert!(!has(said.as_bytes(), &secret), "the screen showed {shown}");
        for file in &found {
            assert!(
                !has(&std::fs::read(file).unwrap(), &secret),
                "{file:?} has {shown}"
            );
        }
    }
}

/// The lead returns the first job, the technician amends it, the lead accepts it.
fn returned_amended_accepted(shop: &Workshop, technician: &Path, lead: &Path) {
    let decide = |more: &[&str]| {
        shop.ran(&["countersign", "1", "--key", text(lead)], |c| {
            c.args(more);
        });
    };
    decide(&["--return", "--reason", "The odometer is missing."]);
    let amended = [
        "--corrects",
        "job",
        "--adds",
        "81 204 km",
        "--reason",
        "Forgotten.",
    ];
    shop.ran(&["amend", "1", "--key", text(technician)], |c| {
        c.args(amended);
    });
    decide(&["--accept"]);
}
