//! Signing by OpenSSH's own agent, and by things that only pretend to be one.

use std::io::{Read, Write};
use std::os::unix::net::UnixListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use evenfire::record::shop::roster::Role;
use evenfire::record::signing::agent::Agent;
use evenfire::record::signing::key;
use evenfire::record::signing::signer::Signer;
use evenfire::record::signing::sshsig;

use crate::stock::run;

/// An agent that ends with the test.
pub struct Stock {
    child: Child,
    pub socket: PathBuf,
}

impl Drop for Stock {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[allow(clippy::zombie_processes)] // `Stock` waits for it when it is dropped
pub fn start(folder: &Path) -> Stock {
    let socket = folder.join("agent");
    let child = Command::new("ssh-agent")
        .args(["-D", "-a"])
        .arg(&socket)
        .stdout(Stdio::null())
        .spawn()
        .unwrap_or_else(|error| panic!("this test needs the program ssh-agent: {error}"));
    for _ in 0..200 {
        if socket.exists() {
            return Stock { child, socket };
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    panic!("ssh-agent made no socket");
}

pub fn add(folder: &Path, socket: &Path, file: &Path) {
    let (socket, file) = (
        format!("SSH_AUTH_SOCK={}", socket.display()),
        file.to_str().unwrap(),
    );
    let added = run(folder, "env", &[&socket, "ssh-add", "-q", file], b"");
    assert!(added.status.success(), "{added:?}");
}

#[test]
fn the_stock_agent_signs_as_the_key_itself_would() {
    let folder = tempfile::tempdir().unwrap();
    let stock = start(folder.path());
    let private = key::make("jo", false).unwrap();
    let file = folder.path().join("key");
    key::write_new(&private, &file, None).unwrap();
    assert_eq!(Agent::at(&stock.socket).keys().unwrap(), []);
    add(folder.path(), &stock.socket, &file);
    let rsa = folder.path().join("rsa");
    let made = ["-q", "-t", "rsa", "-N", "", "-f", rsa.to_str().unwrap()];
    assert!(
        run(folder.path(), "ssh-keygen", &made, b"")
            .status
            .success()
    );
    add(folder.path(), &stock.socket, &rsa);
    let agent = Agent::at(&stock.socket);
    // Keys of other kinds are passed over.
    let keys = agent.keys().unwrap();
    assert_eq!(keys, [private.public_key().key_data().clone()]);
    let by_agent = agent
        .with(keys[0].clone())
        .sign(Role::Lead, b"list")
        .unwrap();
    // Ed25519 has one signature for a key and a message.
    assert_eq!(
        by_agent,
        sshsig::sign(&private, Role::Lead, b"list").unwrap()
    );
    let stranger = key::make("sam", false)
        .unwrap()
        .public_key()
        .key_data()
        .clone();
    let refused = Agent::at(&stock.socket)
        .with(stranger)
        .sign(Role::Lead, b"list")
        .unwrap_err();
    assert!(refused.to_string().contains("refused"), "{refused}");
}

/// Answers one request with the given bytes, whatever was asked.
fn pretend(answer: Vec<u8>) -> String {
    let folder = tempfile::tempdir().unwrap();
    let socket = folder.path().join("agent");
    let listener = UnixListener::bind(&socket).unwrap();
    let answering = std::thread::spawn(move || {
        let (mut stream, _) = listener.accept().unwrap();
        let mut request = [0; 5];
        stream.read_exact(&mut request).unwrap();
        stream.write_all(&answer).unwrap();
    });
    let told = Agent::at(&socket).keys().unwrap_err().to_string();
    answering.join().unwrap();
    told
}

#[test]
fn what_only_pretends_is_refused_without_waiting_or_filling_memory() {
    for (answer, told) in [
        (vec![0, 0, 0, 0], "empty or far too long"),
        (vec![0xff, 0xff, 0xff, 0xff], "empty or far too long"),
        (vec![0, 0, 0, 1, 5], "refused"),
        (vec![0, 0, 0, 1, 99], "not of the protocol"),
        (vec![0, 0, 0, 5, 12, 0xff, 0, 0, 0], "too many"),
        (vec![0, 0, 0, 5, 12, 0, 0, 0, 1], "cut short"),
        (
            vec![0, 0, 0, 9, 12, 0, 0, 0, 1, 0xff, 0xff, 0xff, 0xff],
            "cut short",
        ),
    ] {
        let refusal = pretend(answer);
        assert!(refusal.contains(told), "{refusal}");
    }
    let nobody = Agent::at(Path::new("/nonexistent/agent"))
        .keys()
        .unwrap_err();
    assert!(nobody.to_string().contains("no agent answers"), "{nobody}");
}
