//! What is laid to a job while it is done: captures, attachments, and a lead's word that a step need not
//! be done. The word's form is the record's; here the key is found and opened.

use std::path::{Path, PathBuf};

use crate::cli::one_job::keeping::{Captures, as_typed, is_file};
use crate::cli::person::Person;
use crate::cli::person::passphrase::{Passphrases, TRIES};
use crate::cli::person::signing_key::{agrees_to_bare, bare_signer};
use crate::cli::warn;
use crate::engine::Engine;
use crate::record::bundle::waiver::{self, Giving, Waiver};
use crate::record::bundle::whereabouts;
use crate::record::error::RecordError;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::shop::roster::{Role, Roster};
use crate::record::signing::key::{self, KeyFault, Locked};
use crate::record::{digest, durable};
use crate::run::event::{Attachment, CaptureFile, WaiverFile};
use crate::run::keeper::{Columns, Keeper, Unkept, Waiving};

/// The word for any lead in a policy.
const ANY_LEAD: &str = "lead";

/// Largest file that is laid to a job, bytes; our own choice: a photo or a short film, no disk image.
const LARGEST: u64 = 200 * 1024 * 1024;

/// Keeps what belongs to one job of a shop.
pub(crate) struct Keeping<'k> {
    pub(crate) shop: &'k Shop,
    pub(crate) job: &'k JobFolder,
    /// Who does the job.
    pub(crate) technician: String,
    /// Whether it is practice.
    pub(crate) practice: bool,
}

impl Keeper for Keeping<'_> {
    fn keep(&mut self, path: &str, engine: Option<&Engine>) -> Result<CaptureFile, Unkept> {
        self.captures().keep(path, engine)
    }

    fn keep_by(
        &mut self,
        path: &str,
        engine: Option<&Engine>,
        columns: &Columns,
    ) -> Result<CaptureFile, Unkept> {
        self.captures().keep_by(path, engine, columns)
    }

    fn is_one_crank(&mut self, one: &CaptureFile, other: &CaptureFile) -> bool {
        self.captures().is_one_crank(one, other)
    }

    fn drop_kept(&mut self, file: &CaptureFile) {
        self.captures().drop_kept(file);
    }

    fn attach(&mut self, path: &str) -> Result<Attachment, String> {
        let file = as_typed(path);
        is_file(&file, "type the path of the photo or file")?;
        let bytes = std::fs::metadata(&file).map_or(0, |about| about.len());
        if bytes > LARGEST {
            let most = LARGEST / (1024 * 1024);
            return Err(format!(
                "{}: is larger than {most} MiB; make it smaller, then lay it to the job again",
                file.display()
            ));
        }
        let copied = self
            .copied(&file)
            .map_err(|error| format!("the file cannot be copied into the job: {error}"))?;
        caution(&file);
        Ok(copied)
    }

    fn waive(&mut self, waiving: &Waiving<'_>) -> Result<WaiverFile, String> {
        self.signed(waiving)
            .map_err(|why| format!("the waiver does not count: {why}"))
    }
}

impl Keeping<'_> {
    fn captures(&self) -> Captures<'_> {
        Captures {
            job: self.job,
            shop: Some(self.shop),
        }
    }

    fn copied(&self, from: &Path) -> Result<Attachment, RecordError> {
        let ending = from.extension().map(|e| e.to_string_lossy().to_lowercase());
        let plain = |ending: &String| ending.bytes().all(|b| b.is_ascii_alphanumeric());
        let ending = ending.filter(plain).unwrap_or_else(|| "bin".to_owned());
        let number = self.job.next_number(folder::ATTACHMENTS)?;
        let file = format!("{}/{number}.{ending}", folder::ATTACHMENTS);
        let inside = self.job.file(&file);
        durable::copy_new(from, &inside)?;
        Ok(Attachment {
            sha256: digest::of_file(&inside)?,
            bytes: fs_err::metadata(&inside)?.len(),
            file,
            original: from
                .file_name()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned(),
        })
    }

    fn signed(&self, waiving: &Waiving<'_>) -> Result<WaiverFile, String> {
        let roster = Roster::of(self.shop).map_err(|error| error.to_string())?;
        // In practice keys have no passphrase, and a file may be answering.
        let mut person = match self.practice {
            true => None,
            false => Person::there("the step is not waived"),
        };
        let giving = Giving {
            job: self.job,
            roster: &roster,
            technician: &self.technician,
            practice: self.practice,
        };
        let (file, key, waiver) = self.key(waiving, &giving, person.as_mut())?;
        let lead = waiver.lead.clone();
        if let (Some(person), Some(signer)) = (person.as_mut(), bare_signer(&key, &roster))
            && !agrees_to_bare(person, &signer).map_err(|error| error.to_string())?
        {
            return Err("it was not signed".to_owned());
        }
        let key = open(&file, &key)?;
        let number = waiver::give(&giving, &key, waiver).map_err(|error| error.to_string())?;
        Ok(WaiverFile {
            waiver: waiver::text_file(number),
            lead,
            reason: waiving.reason.to_owned(),
        })
    }

    /// What would be signed with a key, where it is that of a lead who may waive the step: nobody types a passphrase for
    /// what would be refused anyway.
    fn by_key(
        &self,
        file: &Path,
        waiving: &Waiving<'_>,
        giving: &Giving<'_>,
    ) -> Result<(Locked, Waiver), String> {
        let key = key::look(file).map_err(|error| error.to_string())?;
        let lead = giving
            .roster
            .owner(key.public())
            .ok_or_else(|| format!("{}: nobody in the roster has this key", file.display()))?;
        let mut may = waiving.may.iter();
        if !may.any(|who| who == ANY_LEAD || who == lead) {
            let may = waiving.may.join(", ");
            return Err(format!(
                "{lead} may not waive this step by the shop's policy; {may} may"
            ));
        }
        let waiver = Waiver {
            job: self.job.number(),
            step: waiving.step.to_owned(),
            reason: waiving.reason.to_owned(),
            lead: lead.to_owned(),
            time: waiving.at.to_owned(),
            journal: waiving.head.to_owned(),
        };
        waiver::may_give(giving, key.public(), &waiver).map_err(|error| error.to_string())?;
        Ok((key, waiver))
    }

    /// The lead's key, not opened yet, and what it would sign; where a person named another one, they name it again and
    /// keep the reason.
    fn key(
        &self,
        waiving: &Waiving<'_>,
        giving: &Giving<'_>,
        mut person: Option<&mut Person>,
    ) -> Result<(PathBuf, Locked, Waiver), String> {
        let mut file = match waiving.key {
            "" => self.shop.key_file(Role::Lead),
            typed => as_typed(typed),
        };
        let mut left = TRIES;
        loop {
            left -= 1;
            let why = match self.by_key(&file, waiving, giving) {
                Ok((key, waiver)) => return Ok((file, key, waiver)),
                Err(why) => why,
            };
            let Some(person) = person.as_deref_mut().filter(|_| left > 0) else {
                return Err(why);
            };
            warn(&format!("{why}\n"));
            let prompt = "The lead's private key again, as a path (Enter: the step is not waived)";
            let typed = person.path(prompt).map_err(|error| error.to_string())?;
            file = typed.ok_or("no key was named")?;
        }
    }
}

/// Say of a photo that it tells where it was taken: it is kept as it is, and whoever gets the report gets that.
pub(crate) fn caution(file: &Path) {
    if whereabouts::told_by(file) {
        warn(&format!(
            "{}: this photo holds the place where it was taken (GPS). It is kept whole, in the job and in its \
             report; where nobody shall read that out of them, use a copy from which it was taken out before.\n",
            file.display()
        ));
    }
}

fn open(file: &Path, key: &Locked) -> Result<ssh_key::PrivateKey, String> {
    let prompt = format!("Passphrase for {}", file.display());
    let opened = Passphrases::of_person().open(key, &prompt);
    opened.map_err(|error| match error {
        RecordError::Key(fault @ KeyFault::WrongPassphrase { .. }) => format!(
            "{fault}. What is typed next answers the step, is shown and stays in the journal: no passphrase there"
        ),
        other => other.to_string(),
    })
}
