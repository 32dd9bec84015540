//! Keys that an agent keeps: the part of the agent protocol (draft-miller-ssh-agent) that signing needs,
//! asking for the list of keys and for one signature. The secret half never comes here.

use std::io::{Read, Write};

use ssh_key::public::KeyData;
use ssh_key::{Algorithm, HashAlg, LineEnding, PublicKey, Signature, SshSig};

use crate::record::error::RecordError;
use crate::record::shop::roster::Role;
use crate::record::signing::signer::Signer;

// Numbers of messages, from the protocol's section on its assigned numbers.
const FAILURE: u8 = 5;
const REQUEST_IDENTITIES: u8 = 11;
const IDENTITIES_ANSWER: u8 = 12;
const SIGN_REQUEST: u8 = 13;
const SIGN_RESPONSE: u8 = 14;

/// Longest answer that is taken, bytes, as OpenSSH's own client has it.
const LONGEST_ANSWER: usize = 256 * 1024;

/// Most keys that are looked at; OpenSSH's client has the same limit.
const MOST_KEYS: u32 = 2048;

/// Something that can be written to and read from: an agent's socket.
pub trait Talk: Read + Write {}
impl<T: Read + Write> Talk for T {}

/// Opens a talk with the agent.
pub type Connect = dyn Fn() -> std::io::Result<Box<dyn Talk>>;

/// An agent.
pub struct Agent {
    connect: Box<Connect>,
}

/// A key that an agent keeps.
pub struct AgentKey {
    agent: Agent,
    key: KeyData,
}

impl Agent {
    /// An agent that is reached so.
    #[must_use]
    pub fn new(connect: Box<Connect>) -> Agent {
        Agent { connect }
    }

    /// The agent at a socket.
    #[cfg(unix)]
    #[must_use]
    pub fn at(socket: &std::path::Path) -> Agent {
        let socket = socket.to_owned();
        Agent::new(Box::new(move || {
            let stream = std::os::unix::net::UnixStream::connect(&socket).map_err(|error| {
                let told = format!("no agent answers at {}: {error}", socket.display());
                std::io::Error::new(error.kind(), told)
            })?;
            Ok(Box::new(stream))
        }))
    }

    /// Its ssh-ed25519 keys; others cannot sign here and are passed over.
    ///
    /// # Errors
    /// Where it cannot be reached or does not speak the protocol.
    pub fn keys(&self) -> Result<Vec<KeyData>, RecordError> {
        let answer = self.ask(&[REQUEST_IDENTITIES])?;
        let mut rest = typed(&answer, IDENTITIES_ANSWER)?;
        let count = number(&mut rest)?;
        if count > MOST_KEYS {
            return Err(odd("it names too many keys"));
        }
        let mut keys = Vec::new();
        for _ in 0..count {
            let blob = string(&mut rest)?;
            string(&mut rest)?;
            let key = PublicKey::from_bytes(blob).map(|key| key.key_data().clone());
            if let Ok(key) = key
                && key.algorithm() == Algorithm::Ed25519
            {
                keys.push(key);
            }
        }
        Ok(keys)
    }

    /// One of its keys, to sign with.
    #[must_use]
    pub fn with(self, key: KeyData) -> AgentKey {
        AgentKey { agent: self, key }
    }

    fn ask(&self, message: &[u8]) -> Result<Vec<u8>, RecordError> {
        let mut talk = (self.connect)()?;
        talk.write_all(&prefixed(message))?;
        talk.flush()?;
        let mut length = [0; 4];
        talk.read_exact(&mut length)?;
        let length = u32::from_be_bytes(length) as usize;
        if length == 0 || length > LONGEST_ANSWER {
            return Err(odd("its answer is empty or far too long"));
        }
        let mut answer = vec![0; length];
        talk.read_exact(&mut answer)?;
        Ok(answer)
    }
}

impl Signer for AgentKey {
    fn key(&self) -> &KeyData {
        &self.key
    }

    fn sign(&self, role: Role, bytes: &[u8]) -> Result<String, RecordError> {
        let unusable = |fault: ssh_key::Error| odd(&fault.to_string());
        let public = PublicKey::from(self.key.clone());
        let to_sign =
            SshSig::signed_data(role.namespace(), HashAlg::Sha512, bytes).map_err(unusable)?;
        let mut message = vec![SIGN_REQUEST];
        message.extend(prefixed(&public.to_bytes().map_err(unusable)?));
        message.extend(prefixed(&to_sign));
        // No flags: they choose among the ways of RSA.
        message.extend(0_u32.to_be_bytes());
        let answer = self.agent.ask(&message)?;
        let mut rest = typed(&answer, SIGN_RESPONSE)?;
        let mut blob = string(&mut rest)?;
        let algorithm = string(&mut blob)?;
        if algorithm != Algorithm::Ed25519.as_str().as_bytes() {
            return Err(odd("it signed in another way than ssh-ed25519"));
        }
        let signature = Signature::new(Algorithm::Ed25519, string(&mut blob)?).map_err(unusable)?;
        let whole = SshSig::new(
            self.key.clone(),
            role.namespace(),
            HashAlg::Sha512,
            signature,
        )
        .map_err(unusable)?;
        // An agent can be anything that listens: nothing is written that does not hold.
        public
            .verify(role.namespace(), bytes, &whole)
            .map_err(|_| odd("its signature does not hold"))?;
        whole.to_pem(LineEnding::LF).map_err(unusable)
    }
}

fn prefixed(bytes: &[u8]) -> Vec<u8> {
    let length = u32::try_from(bytes.len()).unwrap_or(u32::MAX);
    let mut whole = length.to_be_bytes().to_vec();
    whole.extend_from_slice(bytes);
    whole
}

fn typed(answer: &[u8], wanted: u8) -> Result<&[u8], RecordError> {
    match answer.split_first() {
        Some((kind, rest)) if *kind == wanted => Ok(rest),
        Some((&FAILURE, _)) => Err(odd(
            "it refused: is the agent locked, or the key not confirmed?",
        )),
        _ => Err(odd("its answer is not of the protocol")),
    }
}

fn number(rest: &mut &[u8]) -> Result<u32, RecordError> {
    let (four, after) = rest
        .split_first_chunk::<4>()
        .ok_or_else(|| odd("its answer is cut short"))?;
    *rest = after;
    Ok(u32::from_be_bytes(*four))
}

fn string<'a>(rest: &mut &'a [u8]) -> Result<&'a [u8], RecordError> {
    let length = number(rest)? as usize;
    let (own, after) = rest
        .split_at_checked(length)
        .ok_or_else(|| odd("its answer is cut short"))?;
    *rest = after;
    Ok(own)
}

fn odd(what: &str) -> RecordError {
    RecordError::System(std::io::Error::other(format!(
        "the ssh-agent cannot be used: {what}"
    )))
}
