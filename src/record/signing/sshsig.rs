//! Signatures in OpenSSH's format (SSHSIG), made and read strictly: one spelling per signature, so
//! that a signature file cannot be changed without being noticed.

use ssh_key::public::KeyData;
use ssh_key::{Algorithm, HashAlg, LineEnding, PrivateKey, PublicKey, SshSig};

use crate::record::error::RecordError;
use crate::record::shop::roster::Role;

/// Longest signature file that is read, bytes: an Ed25519 one takes about 300.
pub const LONGEST_FILE: u64 = 4096;

/// Sign bytes in a role. The answer is the text of a signature file.
///
/// # Errors
/// Where the key cannot sign.
pub fn sign(key: &PrivateKey, role: Role, bytes: &[u8]) -> Result<String, RecordError> {
    SshSig::sign(key, role.namespace(), HashAlg::Sha512, bytes)
        .and_then(|signature| signature.to_pem(LineEnding::LF))
        .map_err(|fault| {
            RecordError::System(std::io::Error::other(format!("cannot sign: {fault}")))
        })
}

/// Why a signature file is not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SignatureFault {
    /// No signature.
    #[error("it is not an OpenSSH signature ({0})")]
    NotASignature(String),
    /// A signature in a spelling of its own.
    #[error(
        "its text is not what OpenSSH writes: something was added or changed around the signature"
    )]
    Respelled,
    /// Another way of signing than ours.
    #[error("it is not of the one kind that counts (version 1, Ed25519, SHA-512): {0}")]
    WrongKind(String),
    /// Signed for another purpose.
    #[error("it is signed in the namespace {found:?}, not {wanted:?}")]
    WrongNamespace {
        /// Found.
        found: String,
        /// Wanted.
        wanted: &'static str,
    },
    /// It does not fit the bytes.
    #[error("it does not fit the signed file: one of the two was changed")]
    Wrong,
}

/// Check a signature file against the bytes that it signs; the answer is the key that made it. Whether
/// that key counts is the roster's matter.
///
/// # Errors
/// Where it is no signature of the one kind that counts, is of another role, or does not fit the bytes.
pub fn check(file: &[u8], role: Role, bytes: &[u8]) -> Result<KeyData, SignatureFault> {
    let signature = read(file)?;
    if signature.namespace() != role.namespace() {
        return Err(SignatureFault::WrongNamespace {
            found: signature.namespace().to_owned(),
            wanted: role.namespace(),
        });
    }
    let key = signature.public_key().clone();
    PublicKey::from(key.clone())
        .verify(role.namespace(), bytes, &signature)
        .map_err(|_| SignatureFault::Wrong)?;
    Ok(key)
}

/// The key that a signature file names, whether or not the signature holds.
///
/// # Errors
/// Where it is no signature of the one kind that counts.
pub fn key_of(file: &[u8]) -> Result<KeyData, SignatureFault> {
    Ok(read(file)?.public_key().clone())
}

fn read(file: &[u8]) -> Result<SshSig, SignatureFault> {
    let signature =
        SshSig::from_pem(file).map_err(|fault| SignatureFault::NotASignature(fault.to_string()))?;
    let wrong = |what: String| Err(SignatureFault::WrongKind(what));
    // The reader takes any version up to 1, and does not look at the reserved field.
    if signature.version() != SshSig::VERSION {
        return wrong(format!("version {}", signature.version()));
    }
    if !signature.reserved().is_empty() {
        return wrong("the reserved field is filled".into());
    }
    if signature.hash_alg() != HashAlg::Sha512 {
        return wrong(format!("hash {}", signature.hash_alg()));
    }
    for algorithm in [signature.algorithm(), signature.public_key().algorithm()] {
        if algorithm != Algorithm::Ed25519 {
            return wrong(format!("algorithm {algorithm}"));
        }
    }
    // The reader also takes other line ends, text before and after, and other base64.
    let own = signature
        .to_pem(LineEnding::LF)
        .map_err(|fault| SignatureFault::NotASignature(fault.to_string()))?;
    if own.as_bytes() != file {
        return Err(SignatureFault::Respelled);
    }
    Ok(signature)
}

#[cfg(test)]
mod tests;
