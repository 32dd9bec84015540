//! Signing keys: OpenSSH's Ed25519 key files, with or without a passphrase. Where a passphrase comes
//! from is the caller's matter.

use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use ssh_key::private::{Ed25519Keypair, KeypairData};
use ssh_key::public::KeyData;
use ssh_key::rand_core::OsRng;
use ssh_key::{Algorithm, LineEnding, PrivateKey, PublicKey};

use crate::record::durable;
use crate::record::error::RecordError;
use crate::record::shop::roster::PRACTICE_MARK;

/// Longest key file that is read, bytes: an Ed25519 key takes about 500.
const LONGEST_FILE: u64 = 16 * 1024;

/// Why a key file cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum KeyFault {
    /// It cannot be opened.
    #[error("{0}")]
    Unreadable(std::io::Error),
    /// There is none.
    #[error("{}: no such file", file.display())]
    Missing {
        /// The file.
        file: PathBuf,
    },
    /// It holds something else.
    #[error("{}: not an OpenSSH private key file: {why}", file.display())]
    NotAKey {
        /// The file.
        file: PathBuf,
        /// What it looks like.
        why: String,
    },
    /// Another kind of key.
    #[error(
        "{}: the key is {kind}; signing needs ssh-ed25519 (make one with `ssh-keygen -t ed25519`)",
        file.display()
    )]
    WrongKind {
        /// The file.
        file: PathBuf,
        /// Its kind.
        kind: String,
    },
    /// Others may read it.
    #[error("{}: others may read this key; take that away with `chmod 600`", file.display())]
    Exposed {
        /// The file.
        file: PathBuf,
    },
    /// The passphrase does not open it.
    #[error("{}: wrong passphrase", file.display())]
    WrongPassphrase {
        /// The file.
        file: PathBuf,
    },
    /// No passphrase could be had.
    #[error("{}: the key has a passphrase and {why}", file.display())]
    NoPassphrase {
        /// The file.
        file: PathBuf,
        /// Why.
        why: String,
    },
}

/// Gives a passphrase when asked, or says why there is none.
pub type AskPassphrase<'a> = &'a mut dyn FnMut() -> Result<String, String>;

/// A key file that was read; its secret half may be locked yet.
#[derive(Debug)]
pub struct Locked {
    file: PathBuf,
    key: PrivateKey,
}

impl Locked {
    /// The public half as the file gives it, which needs no passphrase. Whether the secret half fits shows
    /// only once it is open.
    #[must_use]
    pub fn public(&self) -> &KeyData {
        self.key.public_key().key_data()
    }

    /// Open it. `ask` is called only where the key has a passphrase.
    ///
    /// # Errors
    /// Where there is no passphrase, or a wrong one.
    pub fn open(&self, ask: AskPassphrase<'_>) -> Result<PrivateKey, RecordError> {
        let Locked { file, key } = self;
        if !self.has_passphrase() {
            return Ok(key.clone());
        }
        let passphrase = ask().map_err(|why| KeyFault::NoPassphrase {
            file: file.clone(),
            why,
        })?;
        let opened = key.decrypt(passphrase);
        Ok(opened.map_err(|_| KeyFault::WrongPassphrase { file: file.clone() })?)
    }

    /// Whether a passphrase is needed to open it; else whoever holds the file signs.
    #[must_use]
    pub fn has_passphrase(&self) -> bool {
        self.key.is_encrypted()
    }
}

/// Open a key file. `ask` is called only where the key has a passphrase.
///
/// # Errors
/// As [`look`] and [`Locked::open`] have them.
pub fn open(file: &Path, ask: AskPassphrase<'_>) -> Result<PrivateKey, RecordError> {
    look(file)?.open(ask)
}

/// Read a key file without opening its secret half.
///
/// # Errors
/// Where it cannot be read, others may read it, or it is no key that signs here.
pub fn look(file: &Path) -> Result<Locked, RecordError> {
    let text = read(file)?;
    let key = PrivateKey::from_openssh(&text).map_err(|fault| KeyFault::NotAKey {
        file: file.to_owned(),
        why: looks_like(&text, &fault),
    })?;
    if key.algorithm() != Algorithm::Ed25519 {
        return Err(KeyFault::WrongKind {
            file: file.to_owned(),
            kind: key.algorithm().to_string(),
        }
        .into());
    }
    Ok(Locked {
        file: file.to_owned(),
        key,
    })
}

fn read(file: &Path) -> Result<String, KeyFault> {
    let about = fs_err::metadata(file).map_err(|error| match error.kind() {
        ErrorKind::NotFound => KeyFault::Missing {
            file: file.to_owned(),
        },
        _ => KeyFault::Unreadable(error),
    })?;
    let other = |why: &str| KeyFault::NotAKey {
        file: file.to_owned(),
        why: why.to_owned(),
    };
    if !about.is_file() {
        return Err(other("it is not a file"));
    }
    if about.len() > LONGEST_FILE {
        return Err(other("it is too long"));
    }
    let bytes = fs_err::read(file).map_err(KeyFault::Unreadable)?;
    let text = String::from_utf8(bytes).map_err(|_| other("it is not text"))?;
    if text.contains("PRIVATE KEY-----") && is_exposed(&about) {
        return Err(KeyFault::Exposed {
            file: file.to_owned(),
        });
    }
    Ok(text)
}

#[cfg(unix)]
fn is_exposed(about: &std::fs::Metadata) -> bool {
    use std::os::unix::fs::PermissionsExt;
    // The same rule as OpenSSH's own: nothing for group and others.
    about.permissions().mode() & 0o077 != 0
}

#[cfg(not(unix))]
fn is_exposed(_about: &std::fs::Metadata) -> bool {
    false
}

fn looks_like(text: &str, fault: &ssh_key::Error) -> String {
    if text.starts_with("ssh-") {
        "it is the public half; name the file without .pub".into()
    } else if text.contains("-----BEGIN ") && !text.contains("BEGIN OPENSSH PRIVATE KEY") {
        "it is in another format (`ssh-keygen -p -f FILE` rewrites it)".into()
    } else {
        fault.to_string()
    }
}

/// Make a new key. The comment names the person; without a passphrase it is a practice key and says
/// so.
///
/// # Errors
/// Where the system gives no randomness.
pub fn make(identity: &str, practice: bool) -> Result<PrivateKey, RecordError> {
    let comment = if practice {
        format!("{identity}, {PRACTICE_MARK}")
    } else {
        identity.to_owned()
    };
    let pair = KeypairData::from(Ed25519Keypair::random(&mut OsRng));
    PrivateKey::new(pair, comment).map_err(unexpected)
}

/// Write a new key file, mode 600, and its public half beside it; an existing file is an error.
///
/// # Errors
/// Where one of the two files is there, or cannot be written.
pub fn write_new(
    key: &PrivateKey,
    file: &Path,
    passphrase: Option<&str>,
) -> Result<(), RecordError> {
    let locked = match passphrase {
        Some(passphrase) => key.encrypt(&mut OsRng, passphrase).map_err(unexpected)?,
        None => key.clone(),
    };
    let text = locked.to_openssh(LineEnding::LF).map_err(unexpected)?;
    write_secret(file, text.as_bytes())?;
    let public = format!("{}\n", key.public_key().to_openssh().map_err(unexpected)?);
    durable::write_new(&public_file(file), public.as_bytes())
}

fn write_secret(file: &Path, bytes: &[u8]) -> Result<(), RecordError> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut open = options.open(file).map_err(|error| match error.kind() {
        std::io::ErrorKind::AlreadyExists => RecordError::Exists {
            file: file.to_owned(),
            remedy: "",
        },
        kind => {
            std::io::Error::new(kind, format!("cannot write {}: {error}", file.display())).into()
        }
    })?;
    open.write_all(bytes)?;
    open.sync_all()?;
    Ok(())
}

/// The file of the public half: `NAME.pub`.
#[must_use]
pub fn public_file(file: &Path) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push(".pub");
    PathBuf::from(name)
}

/// Read a public key file.
///
/// # Errors
/// Where it cannot be read, is no public key, or is one of another kind than Ed25519.
pub fn open_public(file: &Path) -> Result<PublicKey, RecordError> {
    let text = fs_err::read_to_string(file).map_err(|error| match error.kind() {
        std::io::ErrorKind::NotFound => {
            let told = format!("{}: there is no such file", file.display());
            RecordError::System(std::io::Error::new(error.kind(), told))
        }
        _ => error.into(),
    })?;
    let key = PublicKey::from_openssh(&text).map_err(|fault| {
        let message = format!("not an OpenSSH public key ({fault}); name a .pub file");
        RecordError::text(file, (1, 1), message)
    })?;
    if key.algorithm() == Algorithm::Ed25519 {
        return Ok(key);
    }
    Err(KeyFault::WrongKind {
        file: file.to_owned(),
        kind: key.algorithm().to_string(),
    }
    .into())
}

/// Failures that only a broken system can cause, such as one without randomness.
fn unexpected(fault: ssh_key::Error) -> RecordError {
    RecordError::System(std::io::Error::other(format!("cannot make a key: {fault}")))
}
