//! A shop's folder: `policy.yaml allowed_signers revoked procedures/ jobs/`. It knows where things
//! are and gives out job numbers; what is in them is for others.

pub(crate) mod chain;
pub mod founding;
pub mod policy;
pub mod queue;
pub mod roster;

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use crate::record::durable;
use crate::record::error::RecordError;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::policy::{Policy, ShopName};
use crate::record::shop::roster::Role;

const POLICY: &str = "policy.yaml";
pub(crate) const ROSTER: &str = "allowed_signers";
pub(crate) const REVOKED: &str = "revoked";
pub(crate) const PROCEDURES: &str = "procedures";
pub(crate) const JOBS: &str = "jobs";
const KEYS: &str = "keys";

/// A longer number is a stray folder's, not a job's; our own choice.
const MOST_DIGITS: usize = 9;

/// A shop.
#[derive(Debug, Clone, PartialEq)]
pub struct Shop {
    root: PathBuf,
    policy: Policy,
}

impl Shop {
    /// Open the shop at a folder.
    ///
    /// # Errors
    /// Where there is no folder or no shop, its policy is missing or cannot be read, or something is wrong with it.
    pub fn open(root: &Path) -> Result<Shop, RecordError> {
        let file = root.join(POLICY);
        let text = fs_err::read_to_string(&file).map_err(|error| match error.kind() {
            ErrorKind::NotFound | ErrorKind::NotADirectory => no_shop(root),
            _ => error.into(),
        })?;
        let policy = Policy::parse(&file, &text)?;
        Ok(Shop {
            root: root.to_owned(),
            policy,
        })
    }

    /// Make a shop in a new or empty folder. `roster` is the text of its roster.
    ///
    /// # Errors
    /// Where the name cannot be a shop's, the folder is not empty, or something cannot be written.
    pub fn create(root: &Path, name: &str, roster: &str) -> Result<Shop, RecordError> {
        Shop::create_with(root, name, roster, |_| Ok(()))
    }

    /// The same; `lay` puts something into the folder before it is a shop.
    pub(in crate::record) fn create_with(
        root: &Path,
        name: &str,
        roster: &str,
        lay: impl FnOnce(&Path) -> Result<(), RecordError>,
    ) -> Result<Shop, RecordError> {
        let name = ShopName::try_from(name.to_owned())
            .map_err(|message| RecordError::text(root.join(POLICY), (1, 1), message))?;
        claim(root)?;
        lay(root)?;
        for folder in [PROCEDURES, JOBS] {
            fs_err::create_dir(root.join(folder))?;
        }
        durable::write_new(&root.join(ROSTER), roster.as_bytes())?;
        durable::write_new(&root.join(REVOKED), b"")?;
        // Last, because it is what makes the folder a shop.
        durable::write_new(&root.join(POLICY), Policy::new_text(&name).as_bytes())?;
        Shop::open(root)
    }

    /// File that holds what the shop decides.
    #[must_use]
    pub fn policy_file(root: &Path) -> PathBuf {
        root.join(POLICY)
    }

    /// The folder.
    #[must_use]
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// What the shop decides.
    #[must_use]
    pub fn policy(&self) -> &Policy {
        &self.policy
    }

    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        self.policy.shop.text()
    }

    /// Limit below which a cylinder counts as low, percent.
    #[must_use]
    pub fn low_percent(&self) -> f64 {
        self.policy.limits.low_percent.percent()
    }

    /// File that says who may sign, in which role and when.
    #[must_use]
    pub fn roster_file(&self) -> PathBuf {
        self.root.join(ROSTER)
    }

    /// File that lists keys that no longer count.
    #[must_use]
    pub fn revoked_file(&self) -> PathBuf {
        self.root.join(REVOKED)
    }

    /// Folder of the shop's procedures.
    #[must_use]
    pub fn procedures(&self) -> PathBuf {
        self.root.join(PROCEDURES)
    }

    /// Folder of the jobs.
    #[must_use]
    pub fn jobs(&self) -> PathBuf {
        self.root.join(JOBS)
    }

    /// Folder of the keys that were made with the shop; people may keep theirs elsewhere.
    #[must_use]
    pub fn keys(&self) -> PathBuf {
        keys(&self.root)
    }

    /// File of the key that was made for a role with the shop.
    #[must_use]
    pub fn key_file(&self, role: Role) -> PathBuf {
        key_file(&self.root, role)
    }

    /// Begin a job: the next number, its folder made and on the disk. Two that ask at the same time
    /// get two numbers.
    ///
    /// # Errors
    /// Where the folder cannot be made; then nothing of it is left.
    pub fn new_job(&self) -> Result<JobFolder, RecordError> {
        let jobs = self.jobs();
        fs_err::create_dir_all(&jobs)?;
        let mut number = self.job_numbers()?.last().map_or(1, |last| last + 1);
        loop {
            let path = jobs.join(written(number));
            // create_dir fails where somebody else was faster.
            match fs_err::create_dir(&path) {
                Ok(()) => return begin(&jobs, path),
                Err(error) if error.kind() == ErrorKind::AlreadyExists => number += 1,
                Err(error) => return Err(error.into()),
            }
        }
    }

    /// A job by its number, with or without leading zeros.
    ///
    /// # Errors
    /// Where the text is no number of a job, or no such job is there.
    pub fn job(&self, number: &str) -> Result<JobFolder, RecordError> {
        let missing = || RecordError::NoSuchJob {
            jobs: self.jobs(),
            job: number.to_owned(),
        };
        let path = self
            .jobs()
            .join(written(parsed(number).ok_or_else(missing)?));
        if path.is_dir() {
            Ok(JobFolder::at(path))
        } else {
            Err(missing())
        }
    }

    /// All jobs in order of their numbers.
    ///
    /// # Errors
    /// Where the folder of jobs cannot be read.
    pub fn all_jobs(&self) -> Result<Vec<JobFolder>, RecordError> {
        let jobs = self.jobs();
        let folder = |number| JobFolder::at(jobs.join(written(number)));
        Ok(self.job_numbers()?.into_iter().map(folder).collect())
    }

    fn job_numbers(&self) -> Result<Vec<u64>, RecordError> {
        let mut numbers = Vec::new();
        for entry in fs_err::read_dir(self.jobs())? {
            let name = entry?.file_name();
            numbers.extend(name.to_str().and_then(number));
        }
        numbers.sort_unstable();
        Ok(numbers)
    }
}

/// Why a folder without a policy is no shop: one that has jobs has lost it.
fn no_shop(root: &Path) -> RecordError {
    let folder = root.to_owned();
    if !root.exists() {
        return RecordError::NoFolder { folder };
    }
    let mut jobs = std::fs::read_dir(root.join(JOBS)).into_iter().flatten();
    if root.join(ROSTER).is_file() || jobs.any(|job| job.is_ok()) {
        return RecordError::NoPolicy {
            file: root.join(POLICY),
        };
    }
    RecordError::NoShop {
        folder,
        missing: POLICY,
    }
}

fn keys(root: &Path) -> PathBuf {
    root.join(KEYS)
}

fn key_file(root: &Path, role: Role) -> PathBuf {
    keys(root).join(role.name())
}

/// Make the folder, or take it where it is empty.
fn claim(root: &Path) -> Result<(), RecordError> {
    check_free(root)?;
    fs_err::create_dir_all(root)?;
    Ok(())
}

/// Whether a shop can be made in a folder, before anybody is asked for anything.
///
/// # Errors
/// Where a shop, or anything else, is there already.
pub fn check_free(root: &Path) -> Result<(), RecordError> {
    if !root.exists() {
        return Ok(());
    }
    let found = if root.join(POLICY).exists() {
        "there is a shop already"
    } else if fs_err::read_dir(root)?.next().is_some() {
        "the folder is not empty"
    } else {
        return Ok(());
    };
    Err(RecordError::ShopExists {
        folder: root.to_owned(),
        found,
    })
}

fn begin(jobs: &Path, path: PathBuf) -> Result<JobFolder, RecordError> {
    let job = JobFolder::at(path);
    match furnish(jobs, job.path()) {
        Ok(()) => Ok(job),
        Err(why) => {
            job.abandon();
            Err(why)
        }
    }
}

fn furnish(jobs: &Path, path: &Path) -> Result<(), RecordError> {
    for folder in [folder::PROCEDURES, folder::CAPTURES] {
        fs_err::create_dir(path.join(folder))?;
    }
    durable::sync_folder(path)?;
    durable::sync_folder(jobs)
}

/// A job number as it is written: four digits or more.
pub(in crate::record) fn written(number: u64) -> String {
    format!("{number:04}")
}

/// The number of a job's name. A folder called `42` is not job 0042; only one spelling counts.
pub(in crate::record) fn number(name: &str) -> Option<u64> {
    parsed(name).filter(|number| written(*number) == name)
}

fn parsed(text: &str) -> Option<u64> {
    let digits =
        (1..=MOST_DIGITS).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    if digits { text.parse().ok() } else { None }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    fn shop(root: &Path) -> Shop {
        Shop::create(root, "Test shop", "").unwrap()
    }

    #[test]
    fn a_shop_is_made_once() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path().join("deep/shop");
        let made = shop(&root);
        assert_eq!(Shop::open(&root).unwrap(), made);
        assert_eq!(made.name(), "Test shop");
        let again = Shop::create(&root, "Other", "").unwrap_err().to_string();
        assert!(again.contains("a shop already"), "{again}");
        let stray = folder.path().join("stray");
        fs_err::create_dir(&stray).unwrap();
        fs_err::write(stray.join("letter.txt"), "x").unwrap();
        let full = Shop::create(&stray, "Other", "").unwrap_err().to_string();
        assert!(full.contains("not empty"), "{full}");
    }

    #[test]
    fn no_shop_is_said() {
        let folder = tempfile::tempdir().unwrap();
        let told = Shop::open(folder.path()).unwrap_err().to_string();
        assert!(
            told.contains("not a shop") && told.contains("policy.yaml"),
            "{told}"
        );
    }

    #[test]
    fn numbers_run_on_from_the_highest() {
        let folder = tempfile::tempdir().unwrap();
        let shop = shop(folder.path());
        assert_eq!(shop.new_job().unwrap().number(), "0001");
        fs_err::create_dir(shop.jobs().join("0041")).unwrap();
        fs_err::create_dir(shop.jobs().join("99")).unwrap();
        fs_err::create_dir(shop.jobs().join("notes")).unwrap();
        assert_eq!(shop.new_job().unwrap().number(), "0042");
        fs_err::create_dir(shop.jobs().join("9999")).unwrap();
        assert_eq!(shop.new_job().unwrap().number(), "10000");
        let all: Vec<_> = shop
            .all_jobs()
            .unwrap()
            .iter()
            .map(JobFolder::number)
            .collect();
        assert_eq!(all, ["0001", "0041", "0042", "9999", "10000"]);
        assert_eq!(shop.job("42").unwrap(), shop.job("0042").unwrap());
        for stray in ["0043", "../jobs/0042", "", "-1", "99"] {
            assert!(shop.job(stray).is_err(), "{stray}");
        }
    }

    #[test]
    fn many_at_once_get_different_numbers() {
        let folder = tempfile::tempdir().unwrap();
        let shop = shop(folder.path());
        let numbers: BTreeSet<String> = std::thread::scope(|scope| {
            let asking: Vec<_> = (0..8)
                .map(|_| scope.spawn(|| shop.new_job().unwrap().number()))
                .collect();
            asking.into_iter().map(|one| one.join().unwrap()).collect()
        });
        assert_eq!(numbers.len(), 8);
    }
}
