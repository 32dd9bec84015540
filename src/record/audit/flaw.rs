//! What is wrong with a bundle by itself, as far as the register treats it apart.

use super::looked::Looked;
use crate::record::verify::{Finding, FindingKind};

/// What is wrong with a bundle by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Flaw {
    None,
    /// Nothing but that a revoked key signed it.
    Revoked,
    /// Nothing but who signed it: a revoked key, or somebody whom the roster does not let.
    Signer,
    Other,
}

impl Flaw {
    pub(super) fn of(broken: &[&Finding]) -> Flaw {
        let only = |kinds: &[FindingKind]| broken.iter().all(|one| kinds.contains(&one.kind));
        match broken {
            [] => Flaw::None,
            _ if only(&[FindingKind::KeyRevoked]) => Flaw::Revoked,
            _ if only(&[FindingKind::KeyRevoked, FindingKind::SignerRefused]) => Flaw::Signer,
            _ => Flaw::Other,
        }
    }
}

impl Looked {
    /// Whether it is practice in which nothing is wrong but who signed it: it weighs as little as practice without
    /// that signature, which anybody can take away.
    pub(super) fn is_practice_of_refused_signer(&self) -> bool {
        self.practice && matches!(self.flaw, Flaw::Revoked | Flaw::Signer)
    }
}
