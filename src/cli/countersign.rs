//! `evenfire countersign`: the lead accepts a job or returns it.

use std::process::ExitCode;

use chrono::Utc;
use clap::Args;

use super::Failure;
use super::driving::quoted;
use super::facing;
use super::judging::{against, write_report};
use super::place::{self, ShopArgument};
use super::signing_key::KeyArguments;
use crate::record::decision::{Decision, Ruling};
use crate::record::manifest::shown;
use crate::record::queue::{self, AFTER_REVOCATION, Wait, Waiting};
use crate::record::roster::{Role, Roster};
use crate::record::shop::Shop;
use crate::record::signing::{self, Decidable};

/// Accept or return a signed job as a lead who did not do it; without a job, list what waits
///
/// What there is to decide about is shown first; the passphrase is asked for after it.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct CountersignArguments {
    /// Number of the job, or its folder; without it, what awaits a decision is listed
    job: Option<String>,
    #[command(flatten)]
    shop: ShopArgument,
    #[command(flatten)]
    key: KeyArguments,
    /// The job stands as it is
    #[arg(long, requires = "job", conflicts_with = "give_back")]
    accept: bool,
    /// The job must be corrected
    #[arg(long = "return", requires_all = ["reason", "job"])]
    give_back: bool,
    /// Why
    #[arg(long, value_name = "TEXT")]
    reason: Option<String>,
}

const STATUSES: &str = "\
Exit status:
  0  decided and signed; without a job: the list was made
  2  refused, or could not be done; nothing was written";

pub(crate) fn run(arguments: &CountersignArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let Some(job) = &arguments.job else {
        return list(&shop, &roster);
    };
    if !arguments.accept && !arguments.give_back {
        return Err("say --accept, or --return with --reason TEXT".into());
    }
    let place = place::find(&shop, job)?;
    let key = arguments.key.choose(&roster, Role::Lead)?;
    let ruling = if arguments.give_back {
        Ruling::Returned
    } else {
        Ruling::Accepted
    };
    let against = against(&roster, place.number.as_deref());
    let ruling = (ruling, arguments.reason.as_deref());
    let folder = &place.folder;
    let seen = signing::decidable(folder, &against, key.public(), ruling, Utc::now())?;
    let shown = facing::shown(folder, &seen.record, seen.layer)?;
    super::say(&format!("{shown}\n"));
    let key = key.open()?;
    let decision = seen.sign(folder, &against, key.as_ref(), Utc::now())?;
    write_report(folder, &seen.record)?;
    super::say(&told(&seen, &decision));
    if decision.decision == Ruling::Returned {
        super::say(&next(&shop, &seen));
    }
    Ok(ExitCode::SUCCESS)
}

/// What was decided, about what, by whom.
fn told(seen: &Decidable, decision: &Decision) -> String {
    let what = match seen.layer.number() {
        0 => format!("Job {}", seen.record.job),
        number => format!("Amendment {number} of job {}", seen.record.job),
    };
    let word = match decision.decision {
        Ruling::Accepted => "accepted",
        Ruling::Returned => "returned",
    };
    format!("{what} is {word} by {}.\n", decision.name)
}

/// What comes after a return.
fn next(shop: &Shop, seen: &Decidable) -> String {
    format!(
        "Next {}, or another technician, adds what corrects it; then a lead decides anew:\n  \
         evenfire amend {} --shop {} --corrects WHAT --adds TEXT --reason WHY --key YOUR-KEY\n",
        seen.record.technician,
        seen.record.job,
        quoted(shop.root())
    )
}

/// What waits in the shop, and for whom.
fn list(shop: &Shop, roster: &Roster) -> Result<ExitCode, Failure> {
    let waiting = queue::waiting(shop, roster)?;
    let mut text = String::new();
    for one in &waiting {
        text += &line(one);
    }
    let again = |one: &Waiting| matches!(one.wait, Wait::Again { .. });
    if waiting.iter().any(again) {
        text += &format!("{AFTER_REVOCATION}\n");
    }
    if waiting.is_empty() {
        text += "Nothing waits for a signature, a decision or a correction.\n";
    } else {
        text += "By what lies there; `evenfire verify JOB` says whether it holds.\n";
    }
    super::say(&text);
    Ok(ExitCode::SUCCESS)
}

fn line(waiting: &Waiting) -> String {
    let told = match &waiting.wait {
        Wait::Signature => "awaits the technician's signature".to_owned(),
        Wait::Decision(layer) => match layer.number() {
            0 => "awaits a decision".to_owned(),
            _ => format!("awaits a decision about {}", layer.shown()),
        },
        Wait::Correction { reason } => {
            format!("was returned and awaits a correction: {}", shown(reason))
        }
        Wait::Again { signers } => {
            let signers = shown(&signers.join(", "));
            format!(
                "signed with a revoked key, of {}: unsound",
                signers.trim_matches('"')
            )
        }
        Wait::Unreadable(why) => {
            return format!("{}  cannot be read: {}\n", waiting.job, shown(why));
        }
    };
    let practice = if waiting.practice { " (practice)" } else { "" };
    let tame = |text: &str| shown(text).trim_matches('"').to_owned();
    let (job, who, sealed) = (
        tame(&waiting.job),
        tame(&waiting.technician),
        tame(&waiting.sealed),
    );
    let outcome = waiting
        .outcome
        .as_ref()
        .map_or_else(String::new, |outcome| {
            format!("; {}", facing::outcome(outcome))
        });
    let about = tame(&format!("Vehicle: {}{outcome}", waiting.vehicle));
    let report = waiting.report.display();
    format!("{job}  {told}; {who}, sealed {sealed}{practice}\n      {about}\n      {report}\n")
}
