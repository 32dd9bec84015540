//! The stock tools that judge a bundle from outside. A missing tool fails the test with its name.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use evenfire::record::folder;

use crate::bundle::{Bundle, LEAD, TECHNICIAN};

/// Run a tool in a folder, bytes on its standard input.
pub fn run(folder: &Path, tool: &str, arguments: &[&str], input: &[u8]) -> Output {
    let mut child = Command::new(tool)
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("this test needs the program {tool}: {error}"));
    // A tool that is done before it has read everything is no failure of ours.
    let _ = child.stdin.take().unwrap().write_all(input);
    child.wait_with_output().unwrap()
}

impl Bundle {
    /// Whether `sha256sum -c --strict` passes both manifests.
    pub fn sha256sum_passes(&self) -> bool {
        [folder::MANIFEST, folder::COUNTERSIGN]
            .into_iter()
            .all(|list| {
                let arguments = ["-c", "--strict", "--quiet", list];
                run(self.job.path(), "sha256sum", &arguments, b"")
                    .status
                    .success()
            })
    }

    /// Whether `ssh-keygen -Y verify` passes both signatures.
    pub fn ssh_keygen_passes(&self) -> bool {
        let technician = (
            TECHNICIAN,
            "technician@evenfire",
            folder::MANIFEST,
            folder::TECHNICIAN_SIGNATURE,
        );
        let lead = (
            LEAD,
            "lead@evenfire",
            folder::COUNTERSIGN,
            folder::COUNTERSIGNATURE,
        );
        [(technician, "20260302101500Z"), (lead, "20260302160000Z")]
            .into_iter()
            .all(|(who, time)| self.ssh_keygen(who, time).status.success())
    }

    fn ssh_keygen(
        &self,
        (identity, namespace, signed, signature): (&str, &str, &str, &str),
        time: &str,
    ) -> Output {
        let path =
            |path: std::path::PathBuf| path.canonicalize().unwrap().to_str().unwrap().to_owned();
        let roster = path(self.shop.roster_file());
        let revoked = path(self.shop.revoked_file());
        let time = format!("verify-time={time}");
        let arguments = [
            "-Y", "verify", "-f", &roster, "-r", &revoked, "-I", identity, "-n", namespace, "-s",
            signature, "-O", &time,
        ];
        let bytes = std::fs::read(self.path(signed)).unwrap_or_default();
        run(self.job.path(), "ssh-keygen", &arguments, &bytes)
    }
}
