//! Who can sign: a private key that was opened, or one that an agent keeps. What is signed, and whether it
//! would count, is for others.

use ssh_key::PrivateKey;
use ssh_key::public::KeyData;

use crate::record::error::RecordError;
use crate::record::shop::roster::Role;
use crate::record::signing::sshsig;

/// A key that can sign, wherever its secret half is.
pub trait Signer {
    /// The public half.
    fn key(&self) -> &KeyData;

    /// Sign bytes in a role; the answer is the text of a signature file.
    ///
    /// # Errors
    /// Where the key cannot be used any more.
    fn sign(&self, role: Role, bytes: &[u8]) -> Result<String, RecordError>;
}

impl Signer for PrivateKey {
    fn key(&self) -> &KeyData {
        self.public_key().key_data()
    }

    fn sign(&self, role: Role, bytes: &[u8]) -> Result<String, RecordError> {
        sshsig::sign(self, role, bytes)
    }
}
