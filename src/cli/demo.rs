//! `evenfire demo`: the whole job in an invented shop, without a vehicle.

mod month;

use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use chrono::{DateTime, TimeDelta, Utc};
use clap::Args;

use crate::cli::one_job::answering::{asker, layout, read_answers};
use crate::cli::one_job::driving::{Driven, drive, tell};
use crate::cli::one_job::opening::{Beginning, Unattended, load};
use crate::cli::one_job::report_page::{against, write_report};
use crate::cli::verify::STATUSES;
use crate::cli::{Failure, say, shipped};
use crate::record::bundle::decision::Ruling;
use crate::record::folder::JobFolder;
use crate::record::shop::Shop;
use crate::record::shop::founding::{KeySource, NewSigner, found, practice_key};
use crate::record::shop::roster::{Role, Roster};
use crate::record::signing;
use crate::record::verify::{Status, verify};

const SHOP_NAME: &str = "Cinder Lane Workshop";
const TECHNICIAN: &str = "mira.sandell";
const LEAD: &str = "tobin.ashe";
const PROCEDURE: &str = "relative-compression";

/// Said first where the whole job would run past its reader.
const READ_AT_LEISURE: &str =
    "A whole job follows, longer than a screen. To read it at leisure: evenfire demo | less\n";

/// Where the demonstration's answers and captures are laid in its shop.
const SAMPLES: &str = "sample-captures";
const ANSWERS: &str = "demo.answers.yaml";

/// How long after the seal the lead decides, on the demonstration's simulated clock.
const UNTIL_DECISION: TimeDelta = TimeDelta::minutes(5);

/// Show the whole job, from the first question to the signed record, with an invented shop and car
///
/// The answers come from a file, the captures from a simulator and the keys are for practice, so the
/// job is marked as practice everywhere. Nothing is asked. A second demo makes a second job.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct DemoArguments {
    /// Folder of the demo's shop; made where it is not there
    #[arg(long, value_name = "DIR", default_value = "./demo-shop")]
    into: PathBuf,
    /// Make a month of jobs instead, thirty of all kinds, for a lead to audit and decide about
    #[arg(long)]
    month: bool,
}

pub(crate) fn run(arguments: &DemoArguments) -> Result<ExitCode, Failure> {
    if std::io::stdout().is_terminal() && !arguments.month {
        say(READ_AT_LEISURE);
    }
    let mut shop = shop(&arguments.into)?;
    if arguments.month {
        shop = month::prepared(shop)?;
    }
    let samples = arguments.into.join(SAMPLES);
    let mut others = shipped::lay(&shipped::SAMPLES, &samples)?;
    let answers_file = samples.join(ANSWERS);
    let answers = read_answers(&answers_file, PROCEDURE)?;
    let roster = Roster::of(&shop)?;
    others.extend(shipped::lay(&shipped::PROCEDURES, &shop.procedures())?);
    for other in others {
        say(&format!(
            "{} is not the shipped one; the shop's own is taken.\n",
            other.display()
        ));
    }
    let library = load(
        &shop.procedures().join(format!("{PROCEDURE}.yaml")),
        &shop.policy().rules,
    )?;
    if arguments.month {
        month::make(&shop, &roster, TECHNICIAN, &library)?;
        return Ok(ExitCode::SUCCESS);
    }
    let mut asker = asker(Some(answers.clone()), None, false)?;
    let opened = Beginning {
        shop: &shop,
        roster: &roster,
        technician: TECHNICIAN,
        procedure: PROCEDURE,
        library,
        unattended: Some(Unattended::by(&answers)),
        exercise: false,
    }
    .begin(asker.now())?;
    let folder = opened.folder.clone();
    say(&layout().sentence(&format!(
        "PRACTICE: {SHOP_NAME}, its people and the car are invented; answers from {}, a simulated clock.",
        answers_file.display()
    )));
    match drive(&shop, opened, asker.as_mut(), None)? {
        Driven::Open(status) => Ok(status),
        Driven::Sealed(record) => {
            tell(&record, &folder);
            sign(&shop, &roster, &folder)?;
            verified(&roster, &folder)
        }
    }
}

/// The demonstration's shop: founded with practice keys, or the one that an earlier demo founded.
fn shop(root: &Path) -> Result<Shop, Failure> {
    let is_shop = Shop::open(root);
    if let Ok(shop) = is_shop {
        let roster = Roster::of(&shop)?;
        let practises = [TECHNICIAN, LEAD].iter().all(|who| roster.practises(who));
        if shop.name() == SHOP_NAME && practises {
            return Ok(shop);
        }
        let told = format!(
            "{}: a shop, but not the demo's; name another folder with --into",
            root.display()
        );
        return Err(told.into());
    }
    let person = |identity: &str| NewSigner {
        identity: identity.to_owned(),
        key: KeySource::Practice,
    };
    Ok(found(
        root,
        SHOP_NAME,
        &person(TECHNICIAN),
        Some(&person(LEAD)),
    )?)
}

/// The technician signs, the lead accepts, with practice keys.
fn sign(shop: &Shop, roster: &Roster, job: &JobFolder) -> Result<(), Failure> {
    let number = job.number();
    let against = against(roster, Some(&number));
    let key = practice_key(shop, Role::Technician)?;
    let record = signing::sign(job, &against, &key)?;
    say(&format!("Job {number} is signed by {TECHNICIAN}.\n"));
    let key = practice_key(shop, Role::Lead)?;
    let sealed: DateTime<Utc> = record.sealed.parse()?;
    let reason = Some("Two captures agree, and leak-down says where the air goes.");
    let ruling = (Ruling::Accepted, reason);
    let decided = sealed + UNTIL_DECISION;
    let (record, _) = signing::countersign(job, &against, &key, ruling, decided)?;
    say(&format!("Job {number} is accepted by {LEAD}.\n"));
    write_report(job, &record)
}

/// Verify what was made; the folder on the last line.
fn verified(roster: &Roster, job: &JobFolder) -> Result<ExitCode, Failure> {
    let number = job.number();
    let findings = verify(job, &against(roster, Some(&number)))?;
    for finding in &findings {
        say(&format!("{}\n", finding.sentence));
    }
    let status = Status::of(&findings);
    let sum = if status == Status::Sound {
        "sound"
    } else {
        "NOT SOUND"
    };
    say(&format!("Verified: {sum}.\n{}\n", job.path().display()));
    Ok(ExitCode::from(status as u8))
}
