//! Jobs as people do them: at a terminal, with keys that have a passphrase, waived in part, returned,
//! amended and accepted. What the audit counts of them, and where nothing of them must come.

use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;

use evenfire::record::key;
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
            self.expect(&mut person, "Why need it not be done");
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
