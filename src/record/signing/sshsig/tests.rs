use ssh_key::private::{Ed25519Keypair, KeypairData};
use ssh_key::{Signature, SigningKey};

use super::*;

fn key() -> PrivateKey {
    let pair = Ed25519Keypair::from_seed(&[7; 32]);
    PrivateKey::new(KeypairData::from(pair), "test").unwrap()
}

#[test]
fn what_we_sign_we_take() {
    let text = sign(&key(), Role::Lead, b"bytes").unwrap();
    let found = check(text.as_bytes(), Role::Lead, b"bytes").unwrap();
    assert_eq!(&found, key().public_key().key_data());
    assert_eq!(key_of(text.as_bytes()).unwrap(), found);
    assert_eq!(
        check(text.as_bytes(), Role::Lead, b"other"),
        Err(SignatureFault::Wrong)
    );
    let role = check(text.as_bytes(), Role::Technician, b"bytes").unwrap_err();
    assert!(
        matches!(role, SignatureFault::WrongNamespace { .. }),
        "{role}"
    );
}

#[test]
fn another_spelling_is_refused() {
    let text = sign(&key(), Role::Lead, b"bytes").unwrap();
    let (first, rest) = text.split_once('\n').unwrap();
    for (name, spelling) in [
        ("carriage returns", text.replace('\n', "\r\n")),
        ("blank line after", format!("{text}\n")),
        ("text after", format!("{text}signed gladly\n")),
        ("text before", format!("signed gladly\n{text}")),
        ("no line end", text.trim_end().to_owned()),
        ("space at a line's end", format!("{first} \n{rest}")),
        (
            "other wrapping",
            format!("{first}\n{}", rest.replacen('\n', "", 1)),
        ),
    ] {
        let fault = check(spelling.as_bytes(), Role::Lead, b"bytes").unwrap_err();
        assert!(
            matches!(
                fault,
                SignatureFault::Respelled | SignatureFault::NotASignature(_)
            ),
            "{name}: {fault}"
        );
    }
}

#[test]
fn every_changed_byte_is_refused() {
    let text = sign(&key(), Role::Lead, b"bytes").unwrap().into_bytes();
    for place in 0..text.len() {
        let mut changed = text.clone();
        changed[place] ^= 1;
        assert!(
            check(&changed, Role::Lead, b"bytes").is_err(),
            "byte {place}"
        );
    }
}

#[test]
fn other_hashes_and_reserved_bytes_are_refused() {
    let weaker = SshSig::sign(&key(), "lead@evenfire", HashAlg::Sha256, b"bytes").unwrap();
    let weaker = weaker.to_pem(LineEnding::LF).unwrap();
    let fault = check(weaker.as_bytes(), Role::Lead, b"bytes").unwrap_err();
    assert!(matches!(fault, SignatureFault::WrongKind(_)), "{fault}");
    let filled = enveloped(1, b"more", b"bytes");
    let fault = check(filled.as_bytes(), Role::Lead, b"bytes").unwrap_err();
    assert_eq!(
        fault,
        SignatureFault::WrongKind("the reserved field is filled".into())
    );
    let older = enveloped(0, b"", b"bytes");
    let fault = check(older.as_bytes(), Role::Lead, b"bytes").unwrap_err();
    assert_eq!(fault, SignatureFault::WrongKind("version 0".into()));
    // The same envelope with nothing odd in it passes, so it is the oddness that is refused.
    assert!(check(enveloped(1, b"", b"bytes").as_bytes(), Role::Lead, b"bytes").is_ok());
}

/// A signature that holds, in an envelope laid out by hand after OpenSSH's PROTOCOL.sshsig.
fn enveloped(version: u32, reserved: &[u8], bytes: &[u8]) -> String {
    use sha2::Digest;
    fn put(out: &mut Vec<u8>, part: &[u8]) {
        out.extend(u32::try_from(part.len()).unwrap().to_be_bytes());
        out.extend(part);
    }
    let mut signed = b"SSHSIG".to_vec();
    for part in [
        b"lead@evenfire".as_slice(),
        reserved,
        b"sha512",
        &sha2::Sha512::digest(bytes),
    ] {
        put(&mut signed, part);
    }
    let signature = raw(&key(), &signed);
    let mut envelope = b"SSHSIG".to_vec();
    envelope.extend(version.to_be_bytes());
    put(&mut envelope, &key().public_key().to_bytes().unwrap());
    for part in [b"lead@evenfire".as_slice(), reserved, b"sha512"] {
        put(&mut envelope, part);
    }
    put(&mut envelope, &Vec::<u8>::try_from(signature).unwrap());
    armoured(&envelope)
}

/// An Ed25519 signature of the bytes themselves, without envelope.
fn raw<K: SigningKey>(key: &K, bytes: &[u8]) -> Signature {
    key.try_sign(bytes).unwrap()
}

fn armoured(envelope: &[u8]) -> String {
    const LETTERS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for three in envelope.chunks(3) {
        let padded = [three, &[0; 2]].concat();
        let bits = u32::from_be_bytes([0, padded[0], padded[1], padded[2]]);
        for place in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * place) & 63) as usize];
            text.push(if place > three.len() {
                '='
            } else {
                letter.into()
            });
        }
    }
    let lines: Vec<&str> = (0..text.len())
        .step_by(70)
        .map(|i| &text[i..text.len().min(i + 70)])
        .collect();
    format!(
        "-----BEGIN SSH SIGNATURE-----\n{}\n-----END SSH SIGNATURE-----\n",
        lines.join("\n")
    )
}

/// RFC 8032 section 7.1, tests 1 to 3: secret key, public key, message, signature.
const RFC_8032: [[&str; 4]; 3] = [
    [
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ],
    [
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ],
    [
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ],
];

fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len())
        .step_by(2)
        .map(|i| u8::from_str_radix(&hex[i..i + 2], 16).unwrap())
        .collect()
}

#[test]
fn the_published_vectors_hold() {
    for [secret, public, message, signature] in RFC_8032 {
        let pair = Ed25519Keypair::from_seed(&bytes(secret).try_into().unwrap());
        assert_eq!(pair.public.as_ref().as_slice(), bytes(public));
        let key = PrivateKey::from(pair);
        let made = raw(&key, &bytes(message));
        assert_eq!(made.as_bytes(), bytes(signature));
    }
}
