//! How anybody checks the signed files with stock tools, command by command.

use maud::{Markup, html};

use crate::record::bundle::model::Record;
use crate::record::moment;
use crate::record::shop::roster::Role;
use crate::report::signatures::{Countersignature, Signature, Signatures};
use crate::text::{clean, shell_quoted};

/// The shop's roster as seen from a job's folder.
const ROSTER: &str = "../../allowed_signers";

/// The list of keys that no longer count, as seen from there.
const REVOKED: &str = "../../revoked";

/// The commands, to be typed in the job's folder.
pub(super) fn section(record: &Record, signatures: &Signatures) -> Markup {
    html! {
        h3 { "How to verify" }
        p {
            "With coreutils and OpenSSH 9.1 or newer, in the job's folder ("
            code { "jobs/" (clean(&record.job)) }
            " of the workshop's folder). The roster " code { "allowed_signers" }
            " must be the workshop's own, never one that came with the job."
        }
        pre { code { (commands(signatures).join("\n")) } }
        p.aside {
            code { "verify-time" }
            " asks whether the key was good at the time that the signer stated; without it a key that has ended since is refused. "
            code { "evenfire verify" } " does all of this and more."
        }
    }
}

/// One line each.
pub(super) fn commands(signatures: &Signatures) -> Vec<String> {
    let mut lines = layer("", signatures.technician.as_ref());
    for waiver in &signatures.waivers {
        let stem = format!("waivers/{}", waiver.number);
        lines.push(verify(
            &waiver.signature,
            Role::Lead,
            &format!("{stem}.sig"),
            &format!("{stem}.txt"),
        ));
    }
    lines.extend(decided("", signatures.countersign.as_ref()));
    for amendment in &signatures.amendments {
        let place = format!("amendments/{}/", amendment.number);
        lines.extend(layer(&place, Some(&amendment.signature)));
        lines.extend(decided(&place, amendment.countersign.as_ref()));
    }
    lines
}

/// What a technician listed and signed.
fn layer(place: &str, technician: Option<&Signature>) -> Vec<String> {
    let list = format!("{place}MANIFEST.sha256");
    let mut lines = vec![format!("sha256sum -c --strict {list}")];
    let sig = format!("{place}technician.sig");
    lines.extend(technician.map(|by| verify(by, Role::Technician, &sig, &list)));
    lines
}

/// What a lead listed and signed over it.
fn decided(place: &str, lead: Option<&Countersignature>) -> Vec<String> {
    let Some(lead) = lead else {
        return Vec::new();
    };
    let list = format!("{place}COUNTERSIGN.sha256");
    let sig = format!("{place}countersign.sig");
    vec![
        format!("sha256sum -c --strict {list}"),
        verify(&lead.signature, Role::Lead, &sig, &list),
    ]
}

fn verify(signature: &Signature, role: Role, sig: &str, signed: &str) -> String {
    let namespace = role.namespace();
    let identity = shell_quoted(&clean(&signature.identity));
    let at =
        verify_time(&signature.time).map_or_else(String::new, |at| format!(" -O verify-time={at}"));
    format!(
        "ssh-keygen -Y verify -f {ROSTER} -r {REVOKED} -I {identity} -n {namespace} -s {sig}{at} < {signed}"
    )
}

/// The time as ssh-keygen reads it: digits, then Z for UTC.
fn verify_time(time: &str) -> Option<String> {
    Some(moment::read(time)?.format("%Y%m%d%H%M%SZ").to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;

    #[test]
    fn commands_are_those_of_the_stock_tools() {
        assert_eq!(
            commands(&example::signatures()),
            [
                "sha256sum -c --strict MANIFEST.sha256",
                "ssh-keygen -Y verify -f ../../allowed_signers -r ../../revoked -I ada.thorn -n technician@evenfire -s technician.sig -O verify-time=20260302102100Z < MANIFEST.sha256",
                "sha256sum -c --strict COUNTERSIGN.sha256",
                "ssh-keygen -Y verify -f ../../allowed_signers -r ../../revoked -I rob.quill -n lead@evenfire -s countersign.sig -O verify-time=20260302154000Z < COUNTERSIGN.sha256",
            ]
        );
        assert_eq!(commands(&Signatures::default()).len(), 1);
    }

    /// Run a line in a shell; whether it succeeded. A tool that is missing fails with its name.
    fn succeeds(line: &str, folder: &std::path::Path) -> bool {
        let ran = std::process::Command::new("sh")
            .args(["-c", line])
            .current_dir(folder)
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert_ne!(ran.status.code(), Some(127), "{line}: {said}");
        ran.status.success()
    }

    /// A job's folder signed by OpenSSH itself, the keys ended since the signatures.
    fn signed_by_openssh(shop: &std::path::Path) -> std::path::PathBuf {
        let job = shop.join("jobs/0042");
        std::fs::create_dir_all(&job).unwrap();
        for line in [
            "echo {} > record.json",
            "sha256sum record.json > MANIFEST.sha256",
            "ssh-keygen -q -t ed25519 -N '' -f ../../ada",
            "ssh-keygen -q -t ed25519 -N '' -f ../../rob",
            "ssh-keygen -q -Y sign -f ../../ada -n technician@evenfire MANIFEST.sha256",
            "mv MANIFEST.sha256.sig technician.sig",
            "sha256sum MANIFEST.sha256 technician.sig > COUNTERSIGN.sha256",
            "ssh-keygen -q -Y sign -f ../../rob -n lead@evenfire COUNTERSIGN.sha256",
            "mv COUNTERSIGN.sha256.sig countersign.sig",
        ] {
            assert!(succeeds(line, &job), "{line}");
        }
        let entry = |key: &str, identity: &str, role: &str| {
            let public = std::fs::read_to_string(shop.join(key)).unwrap();
            format!(
                "{identity} namespaces=\"{role}@evenfire\",valid-before=\"20260303000000Z\" {public}"
            )
        };
        let roster =
            entry("ada.pub", "ada.thorn", "technician") + &entry("rob.pub", "rob.quill", "lead");
        std::fs::write(shop.join("allowed_signers"), roster).unwrap();
        std::fs::write(shop.join("revoked"), "").unwrap();
        job
    }

    /// OpenSSH's `ssh-keygen -Y verify` and coreutils' `sha256sum` are the judges.
    #[test]
    fn the_printed_commands_work_as_printed() {
        let shop = tempfile::tempdir().unwrap();
        let job = signed_by_openssh(shop.path());
        let lines = commands(&example::signatures());
        for line in &lines {
            assert!(succeeds(line, &job), "{line}");
        }
        let without_time = lines[1].replace(" -O verify-time=20260302102100Z", "");
        assert!(!succeeds(&without_time, &job), "the key has ended");
        std::fs::copy(shop.path().join("ada.pub"), shop.path().join("revoked")).unwrap();
        assert!(!succeeds(&lines[1], &job), "the key is revoked");
        assert!(succeeds(&lines[3], &job), "the lead's is not");
        std::fs::write(job.join("record.json"), "{ }\n").unwrap();
        assert!(!succeeds(&lines[0], &job));
        std::fs::write(job.join("MANIFEST.sha256"), "changed\n").unwrap();
        assert!(!succeeds(&lines[1], &job) && !succeeds(&lines[2], &job));
    }
}
