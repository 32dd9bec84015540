//! The example of `record`, and signatures under it.

pub(super) use crate::record::example::*;
use crate::report::signatures::{Countersignature, Ruling, Signature, Signatures};

/// Signed by the technician, accepted by the lead.
pub(super) fn signatures() -> Signatures {
    let signature = |identity: &str, time: &str| Signature {
        identity: identity.to_owned(),
        time: time.to_owned(),
        fingerprint: "SHA256:Zm9vYmFyYmF6cXV4cXV1eGNvcmdlZ3JhdWx0Z2FycGx5".to_owned(),
    };
    Signatures {
        technician: Some(signature("ada.thorn", "2026-03-02T10:21:00Z")),
        countersign: Some(Countersignature {
            signature: signature("rob.quill", "2026-03-02T15:40:00Z"),
            ruling: Ruling::Accepted,
            reason: None,
        }),
        ..Signatures::default()
    }
}
