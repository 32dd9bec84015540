//! Rosters, times and signatures by the hundred, judged by us and by `ssh-keygen -Y verify`. What OpenSSH
//! refuses we never accept; what it accepts and we refuse is stricter for a reason that is named here.
//!
//! `EVENFIRE_DIFFERENTIAL=5000 cargo test --test record differential -- --nocapture` tries more.

use std::collections::BTreeMap;
use std::path::Path;

use evenfire::record::shop::roster::{Role, Roster};
use evenfire::record::signing::key;
use evenfire::record::signing::sshsig;
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use ssh_key::PrivateKey;

use crate::stock::run;

const PEOPLE: [&str; 3] = ["jo", "kim.vell@shop.example", "sam"];
const NAMESPACES: [&str; 4] = [
    "technician@evenfire",
    "lead@evenfire",
    "technician@evenfire,lead@evenfire",
    "file",
];
const TIMES: [&str; 5] = [
    "20260101Z",
    "20260301120000Z",
    "20260301120001Z",
    "202606010000Z",
    "20270101Z",
];

fn pick<'a, T: ?Sized>(rng: &mut impl Rng, from: &[&'a T]) -> &'a T {
    from[rng.random_range(0..from.len())]
}

/// One line of a roster; one in twenty is spelled in a way that only OpenSSH takes, or neither.
fn line(rng: &mut impl Rng, keys: &[PrivateKey]) -> String {
    let who = pick(rng, &PEOPLE);
    let mut options = vec![format!("namespaces=\"{}\"", pick(rng, &NAMESPACES))];
    if rng.random_ratio(1, 3) {
        options.push(format!("valid-after=\"{}\"", pick(rng, &TIMES)));
    }
    if rng.random_ratio(1, 3) {
        options.push(format!("valid-before=\"{}\"", pick(rng, &TIMES)));
    }
    let options = match rng.random_range(0..60) {
        0 => String::new(),
        1 => "cert-authority".to_owned(),
        2 => options.join(", "),
        _ => options.join(","),
    };
    let who = match rng.random_range(0..60) {
        0 => "*".to_owned(),
        1 => format!("{who},other"),
        _ => who.to_owned(),
    };
    let key = &keys[rng.random_range(0..keys.len())];
    format!(
        "{who} {options} {}\n",
        key.public_key().to_openssh().unwrap()
    )
}

struct Case {
    roster: String,
    revoked: String,
    signature: Vec<u8>,
    message: Vec<u8>,
    identity: &'static str,
    role: Role,
    time: String,
}

fn case(rng: &mut impl Rng, keys: &[PrivateKey]) -> Case {
    let lines = rng.random_range(1..5);
    let roster = (0..lines).map(|_| line(rng, keys)).collect();
    let revoked = if rng.random_ratio(1, 6) {
        format!(
            "{}\n",
            keys[rng.random_range(0..keys.len())]
                .public_key()
                .to_openssh()
                .unwrap()
        )
    } else {
        String::new()
    };
    let role = if rng.random() {
        Role::Technician
    } else {
        Role::Lead
    };
    let mut message = format!("{}  record.json\n", rng.random::<u64>()).into_bytes();
    let signed_as = if rng.random_ratio(1, 10) {
        Role::Lead
    } else {
        role
    };
    let signer = &keys[rng.random_range(0..keys.len())];
    let mut signature = sshsig::sign(signer, signed_as, &message)
        .unwrap()
        .into_bytes();
    match rng.random_range(0..20) {
        0 => message[0] ^= 1,
        1 => {
            let place = rng.random_range(0..signature.len());
            signature[place] ^= 1 << rng.random_range(0..8);
        }
        2 => signature.extend(b"\n"),
        3 => signature.truncate(rng.random_range(0..signature.len())),
        _ => {}
    }
    let identity = pick(rng, &PEOPLE);
    let time = [
        "20251231235959Z",
        "20260101000000Z",
        "20260301120000Z",
        "20260301120001Z",
        "20260601000000Z",
        "20260601000001Z",
    ];
    let time = pick(rng, &time).to_owned();
    Case {
        roster,
        revoked,
        signature,
        message,
        identity,
        role,
        time,
    }
}

/// What we say, with the reason where we refuse.
fn ours(case: &Case) -> Result<(), &'static str> {
    let names = (Path::new("allowed_signers"), Path::new("revoked"));
    let roster = Roster::parse((names.0, &case.roster), (names.1, &case.revoked));
    let roster = roster.map_err(|_| "the roster is not read")?;
    let key =
        sshsig::check(&case.signature, case.role, &case.message).map_err(|fault| match fault {
            // OpenSSH passes over some changes of blanks and base64 around the same signature.
            sshsig::SignatureFault::Respelled | sshsig::SignatureFault::NotASignature(_) => {
                "the signature is respelled"
            }
            _ => "the signature does not hold",
        })?;
    let time = chrono::NaiveDateTime::parse_from_str(&case.time, "%Y%m%d%H%M%SZ")
        .unwrap()
        .and_utc();
    roster
        .admits(case.identity, &key, case.role, time)
        .map(|_| ())
        .map_err(|_| "the signer is not admitted")
}

fn theirs(folder: &Path, case: &Case) -> bool {
    for (name, bytes) in [
        ("allowed_signers", case.roster.as_bytes()),
        ("revoked", case.revoked.as_bytes()),
        ("signature", &case.signature),
    ] {
        std::fs::write(folder.join(name), bytes).unwrap();
    }
    let time = format!("verify-time={}", case.time);
    let namespace = case.role.namespace();
    let arguments = [
        "-Y",
        "verify",
        "-f",
        "allowed_signers",
        "-r",
        "revoked",
        "-I",
        case.identity,
        "-n",
        namespace,
        "-s",
        "signature",
        "-O",
        &time,
    ];
    run(folder, "ssh-keygen", &arguments, &case.message)
        .status
        .success()
}

#[test]
#[allow(clippy::print_stdout)] // the counts are for the person who runs it
fn differential_against_ssh_keygen() {
    let wanted = std::env::var("EVENFIRE_DIFFERENTIAL")
        .ok()
        .map_or(300, |n| n.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let keys: Vec<PrivateKey> = (0..3).map(|_| key::make("k", false).unwrap()).collect();
    let mut rng = ChaCha8Rng::seed_from_u64(20_260_302);
    let mut counts: BTreeMap<String, u32> = BTreeMap::new();
    for number in 0..wanted {
        let case = case(&mut rng, &keys);
        let (ours, theirs) = (ours(&case), theirs(folder.path(), &case));
        let told = match (ours, theirs) {
            (Ok(()), true) => "both accept".to_owned(),
            (Err(why), false) => format!("both refuse: {why}"),
            (Err(why @ ("the roster is not read" | "the signature is respelled")), true) => {
                format!("stricter: {why}")
            }
            (Err(why), true) => panic!(
                "case {number}: only OpenSSH accepts, {why}\n{}",
                case.roster
            ),
            (Ok(()), false) => panic!("case {number}: only we accept\n{}", case.roster),
        };
        *counts.entry(told).or_default() += 1;
    }
    println!("{wanted} cases: {counts:#?}");
    assert!(counts["both accept"] > wanted / 50, "{counts:?}");
}
