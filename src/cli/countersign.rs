//! `evenfire countersign`: the lead accepts a job or returns it.

use std::process::ExitCode;

use chrono::Utc;
use clap::Args;

use crate::cli::one_job::report_page::{against, is_false_page, write_report};
use crate::cli::one_job::shown_to_lead;
use crate::cli::one_job::which_job::{self, ShopArgument, shop_option};
use crate::cli::person::Person;
use crate::cli::person::signing_key::KeyArguments;
use crate::cli::{Failure, fitted, say};
use crate::record::bundle::decision::{Decision, Ruling};
use crate::record::bundle::manifest::{shown, unquoted};
use crate::record::bundle::signed;
use crate::record::bundle::waiver;
use crate::record::folder::{JobFolder, REPORT};
use crate::record::shop::Shop;
use crate::record::shop::chain;
use crate::record::shop::queue::{self, Wait, Waiting, after_revocation};
use crate::record::shop::roster::{Role, Roster};
use crate::record::signing::{self, Decidable};

/// Accept or return a signed job as a lead who did not do it; without a job, list what waits
///
/// What there is to decide about is shown first; the passphrase is asked for after it. At a terminal, what no
/// option gives is asked for.
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
    #[arg(long, conflicts_with = "give_back")]
    accept: bool,
    /// The job must be corrected
    #[arg(long = "return")]
    give_back: bool,
    /// Why
    #[arg(long, value_name = "TEXT")]
    reason: Option<String>,
}

const STATUSES: &str = "\
Exit status:
  0  decided and signed; without a job: the list was made
  2  refused, or could not be done; nothing was signed, unless it says that only the report is to be made again";

pub(crate) fn run(arguments: &CountersignArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let mut person = Person::there("nothing was signed");
    let Some(job) = job(arguments, (&shop, &roster), person.as_mut())? else {
        return Ok(ExitCode::SUCCESS);
    };
    let place = which_job::find(&shop, &job)?;
    let given = arguments.ruling();
    if person.is_none() {
        complete(arguments, given)?;
    }
    let against = against(&roster, place.number.as_deref());
    let folder = &place.folder;
    // nobody decides about their own work
    let technician = signed::record(folder).map(|record| record.technician);
    let may = |who: &str| technician.as_deref() != Some(who);
    let key = arguments.key.choose((&shop, &roster), Role::Lead, may)?;
    // looked at before a person is asked anything; what they say takes its place
    let looked = (Ruling::Accepted, None);
    let seen = signing::decidable(folder, &against, key.public(), looked, Utc::now())?;
    read_the_right_page(folder, &seen, &shop)?;
    let shown = shown_to_lead::shown(
        folder,
        &seen.record,
        shown_to_lead::awaiting(&seen.record, seen.layer),
    )?;
    let own = shown_to_lead::in_place_of(&shop, &roster, folder, &seen.record)?
        + &fitted(own_waivers(folder, &seen)?)
        + &fitted(gap_before(&shop, &seen)?);
    say(&format!("{shown}\n{own}"));
    let Some((ruling, reason)) = decided(arguments, given, person.as_mut())? else {
        say("Nothing was decided.\n");
        return Ok(ExitCode::SUCCESS);
    };
    let seen = seen.decided(folder, (ruling, reason.as_deref()))?;
    let key = key.open()?;
    let decision = seen.sign(folder, &against, key.as_ref(), Utc::now())?;
    write_report(folder, &seen.record)?;
    say(&fitted(told(&seen, &decision)));
    if decision.decision == Ruling::Returned {
        say(&next(&shop, &seen));
    }
    Ok(ExitCode::SUCCESS)
}

/// Refuse where another page lies in the job than its files give: what the lead read there is not what they
/// would sign.
fn read_the_right_page(job: &JobFolder, seen: &Decidable, shop: &Shop) -> Result<(), Failure> {
    if !is_false_page(job, &seen.record)? {
        return Ok(());
    }
    let (page, named) = (job.file(REPORT), &seen.record.job);
    let told = format!(
        "{}: this page is not the one that the job's files give, so you may have read something that is not in the \
         job. Make it again, which keeps the other one, read it, then decide:\n  evenfire report {named}{}",
        page.display(),
        shop_option(shop.root())
    );
    Err(told.into())
}

/// Whether the lead decides about what they waived themselves: that may be, and they shall know it.
fn own_waivers(job: &JobFolder, seen: &Decidable) -> Result<String, Failure> {
    let lead = &seen.decision.name;
    let waivers = waiver::given(job)?;
    let own = waivers.iter().filter(|(_, waiver, _)| waiver.lead == *lead);
    let steps: Vec<String> = own.map(|(_, waiver, _)| shown(&waiver.step)).collect();
    if steps.is_empty() {
        return Ok(String::new());
    }
    Ok(format!(
        "Remark: {lead} waived {} in this job, and would decide about that too; where there is another lead, let \
         them decide.\n",
        steps.join(", ")
    ))
}

/// That the job before is not there as it was: this one is sound by itself, and the lead shall know it.
fn gap_before(shop: &Shop, seen: &Decidable) -> Result<String, Failure> {
    Ok(match chain::has_previous(shop, &seen.record)? {
        true => String::new(),
        false => "Remark: the job that was sealed before this one is not in the shop as it was, so the chain has a gap; \
                  `evenfire audit` says more. Look for it before you decide.\n"
            .to_owned(),
    })
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
    let next = format!(
        "Next {}, or another technician, adds what corrects it; then a lead decides anew:\n",
        seen.record.technician
    );
    // the command is copied: it stays in one line
    format!(
        "{}  evenfire amend {}{}\n",
        fitted(next),
        seen.record.job,
        shop_option(shop.root())
    )
}

impl CountersignArguments {
    fn ruling(&self) -> Option<Ruling> {
        match (self.accept, self.give_back) {
            (true, _) => Some(Ruling::Accepted),
            (_, true) => Some(Ruling::Returned),
            _ => None,
        }
    }
}

/// The job that was named; else what waits is listed, and whoever is there may take one from it.
fn job(
    arguments: &CountersignArguments,
    (shop, roster): (&Shop, &Roster),
    person: Option<&mut Person>,
) -> Result<Option<String>, Failure> {
    if let Some(job) = &arguments.job {
        return Ok(Some(job.clone()));
    }
    let waiting = queue::waiting(shop, roster)?;
    list(&waiting);
    let undecided = waiting.iter();
    let undecided: Vec<&str> = undecided
        .filter(|one| matches!(one.wait, Wait::Decision(_)))
        .map(|one| one.job.as_str())
        .collect();
    let Some(person) = person.filter(|_| !undecided.is_empty()) else {
        return match arguments.ruling() {
            Some(_) => Err("which job is decided about? Give its number, as in the list".into()),
            None => Ok(None),
        };
    };
    let those = ("Awaiting a decision", undecided.as_slice());
    person.job("Number of the job to decide about", those)
}

/// Where nobody can be asked, the decision must have been given.
fn complete(arguments: &CountersignArguments, given: Option<Ruling>) -> Result<(), Failure> {
    let told = match given {
        None => "say --accept, or --return with --reason TEXT",
        Some(Ruling::Returned) if arguments.reason.is_none() => {
            "a job is returned with a reason: say it with --reason TEXT"
        }
        Some(_) => return Ok(()),
    };
    Err(told.into())
}

/// What is decided, and why; none where the person would rather not.
fn decided(
    arguments: &CountersignArguments,
    given: Option<Ruling>,
    person: Option<&mut Person>,
) -> Result<Option<(Ruling, Option<String>)>, Failure> {
    let reason = arguments.reason.clone();
    let Some(person) = person else {
        return Ok(given.map(|ruling| (ruling, reason)));
    };
    let ruling = match given {
        Some(ruling) => ruling,
        None => match person.one_of("What do you decide?", &DECISIONS)? {
            0 => Ruling::Accepted,
            1 => Ruling::Returned,
            _ => return Ok(None),
        },
    };
    let reason = match (ruling, reason) {
        (Ruling::Returned, None) => Some(person.text("Reason why it is returned")?),
        (_, reason) => reason,
    };
    Ok(Some((ruling, reason)))
}

const DECISIONS: [&str; 3] = [
    "accept: the job stands as it is",
    "return: the job must be corrected",
    "nothing: leave it undecided",
];

/// How far the list goes.
const UNCHECKED: &str = "This list goes by the files alone, and nothing in it was checked: `evenfire verify JOB` does that for one job.\n";

/// What waits in the shop, and for whom.
fn list(waiting: &[Waiting]) {
    let mut text = String::new();
    for one in waiting {
        text += &line(one);
    }
    let again = |one: &&Waiting| matches!(one.wait, Wait::Again { .. }) && one.done_by.is_none();
    if let Some(first) = waiting.iter().find(again) {
        text += &fitted(format!(
            "{} Here it stays listed.\n",
            after_revocation(&first.job)
        ));
    }
    text += &fitted(match waiting.is_empty() {
        true => "Nothing waits for a signature, a decision or a correction.\n".to_owned(),
        false => UNCHECKED.to_owned(),
    });
    say(&text);
}

/// A job that waits: for what, and what it is about.
pub(super) fn line(waiting: &Waiting) -> String {
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
            let signers = unquoted(&signers.join(", "));
            format!("signed with a revoked key, of {signers}: unsound")
        }
        Wait::Unreadable(why) => {
            return fitted(format!("{}  cannot be read: {}\n", waiting.job, shown(why)));
        }
    };
    let told = match &waiting.done_by {
        Some(new) => format!(
            "{told}; done again by {new}, which is accepted (`evenfire audit` says whether that counts)"
        ),
        None => told,
    };
    let practice = if waiting.practice { " (practice)" } else { "" };
    let about = [&waiting.job, &waiting.technician, &waiting.sealed];
    let [job, who, sealed] = about.map(|text| unquoted(text));
    let outcome = waiting.outcome.as_ref().map(shown_to_lead::outcome);
    let outcome = outcome.map_or_else(String::new, |outcome| format!("; {}", unquoted(&outcome)));
    let about = format!("Vehicle: {}{outcome}", unquoted(&waiting.vehicle));
    let told = format!("{job}  {told}; {who}, sealed {sealed}{practice}\n      {about}\n");
    // a path is never broken, so that it can be taken from the screen
    format!("{}      {}\n", fitted(told), waiting.report.display())
}
