//! `evenfire run`: begin a job.

use std::path::PathBuf;
use std::process::ExitCode;

use chrono::Utc;
use clap::Args;

use crate::cli::one_job::answering::{AnswersArgument, WatchArgument};
use crate::cli::one_job::driving::{Driven, drive, tell};
use crate::cli::one_job::opening::{Beginning, Unattended, load, outermost, procedure_file};
use crate::cli::one_job::which_job::{ShopArgument, from_here, shop_option};
use crate::cli::person::passphrase::PassphraseArguments;
use crate::cli::person::technician::technician;
use crate::cli::sign::sign_job;
use crate::cli::{Failure, say};
use crate::record::bundle::model::Record;
use crate::record::folder::JobFolder;
use crate::record::shop::Shop;
use crate::record::shop::roster::{Role, Roster};
use crate::record::signing::key;

/// Begin a job: be led through a procedure, step by step
///
/// Each answer is on the disk before the next question is asked; a job that is paused or cut off goes
/// on with `evenfire resume`. When the work has come to its end the job is sealed and its report
/// written; then whoever did it signs.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct RunArguments {
    /// Name of a procedure of the shop, or the path of a procedure file
    procedure: String,
    #[command(flatten)]
    shop: ShopArgument,
    #[command(flatten)]
    answers: AnswersArgument,
    #[command(flatten)]
    watch: WatchArgument,
    /// Who does the work, as in the shop's roster; needed where several could
    #[arg(long, value_name = "IDENTITY")]
    technician: Option<String>,
    #[command(flatten)]
    signing: SigningArguments,
}

/// How a job is signed as soon as it is sealed.
#[derive(Debug, Args)]
pub(crate) struct SigningArguments {
    /// Sign with this private key as soon as the job is sealed (OpenSSH, ssh-ed25519)
    #[arg(long, value_name = "FILE")]
    key: Option<PathBuf>,
    #[command(flatten)]
    passphrase: PassphraseArguments,
}

pub(crate) const STATUSES: &str = "\
Exit status:
  0  the job is sealed
  2  could not be done
  4  the job is left open; `evenfire resume` goes on with it";

pub(crate) fn run(arguments: &RunArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let file = procedure_file(&shop, &arguments.procedure)?;
    let library = load(&file, &shop.policy().rules)?;
    outermost(&file, &library, &shop)?;
    let procedure = file.file_stem().unwrap_or_default().to_string_lossy();
    let answers = arguments.answers.read(&procedure)?;
    arguments.signing.look()?;
    let begun = answers.as_ref().and_then(|answers| answers.clock);
    let technician = technician(
        &roster,
        arguments.technician.as_deref(),
        begun.unwrap_or_else(Utc::now),
        answers.is_none(),
    )?;
    // Everything that can be wrong is found before a folder is made.
    let watched = arguments.watch.watched()?;
    let mut asker = arguments
        .answers
        .asker(answers.clone(), None, false, watched)?;
    let opened = Beginning {
        shop: &shop,
        roster: &roster,
        technician: &technician,
        procedure: &procedure,
        library,
        unattended: answers.as_ref().map(Unattended::by),
        exercise: false,
    }
    .begin(asker.now())?;
    let folder = opened.folder.clone();
    match drive(&shop, opened, asker.as_mut(), None)? {
        Driven::Open(status) => Ok(status),
        Driven::Sealed(record) => arguments.signing.finish(&shop, &roster, &folder, &record),
    }
}

impl SigningArguments {
    /// A key that is not there is better missed before the work than after it.
    pub(crate) fn look(&self) -> Result<(), Failure> {
        if let Some(key) = &self.key {
            fs_err::File::open(key)?;
        }
        Ok(())
    }

    /// Say what was found; sign, or say how to.
    pub(crate) fn finish(
        &self,
        shop: &Shop,
        roster: &Roster,
        folder: &JobFolder,
        record: &Record,
    ) -> Result<ExitCode, Failure> {
        tell(record, folder);
        if let Some(key) = &self.key {
            let signed = sign_job(folder, (roster, Some(&record.job)), key, &self.passphrase);
            let record = signed.map_err(|why| {
                format!(
                    "{why}\nThe job is sealed and not signed. {}",
                    how(shop, roster, record)
                )
            })?;
            say(&format!(
                "Job {} is signed by {}.\n",
                record.job, record.technician
            ));
        } else {
            say(&format!("{}\n", how(shop, roster, record)));
        }
        Ok(ExitCode::SUCCESS)
    }
}

/// How to sign. The key in the shop's folder is named only to the person whose it is.
fn how(shop: &Shop, roster: &Roster, record: &Record) -> String {
    let made = shop.key_file(Role::Technician);
    let own = key::look(&made)
        .is_ok_and(|key| roster.owner(key.public()) == Some(record.technician.as_str()));
    let key = if own {
        from_here(&made)
    } else {
        "YOUR-KEY".to_owned()
    };
    format!(
        "Sign it with:\n  evenfire sign {}{} --key {key}",
        record.job,
        shop_option(shop.root())
    )
}
