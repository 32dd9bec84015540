//! Captures handed over: read, so that one that cannot be is refused at the question, then copied into the
//! job with their set-ups, untouched, and hashed. What is analysed later is the copy.

use std::path::{Path, PathBuf};

use super::captures::{self, By, SETUP, TRUTH, beside};
use crate::record::error::RecordError;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::{digest, durable};
use crate::run::drive::Keeper;
use crate::run::event::CaptureFile;

/// Keeps the captures of one job.
pub(crate) struct Captures<'j> {
    /// The job.
    pub(crate) job: &'j JobFolder,
    /// The shop whose clamps set-ups may name.
    pub(crate) shop: Option<&'j Shop>,
}

impl Keeper for Captures<'_> {
    fn keep(&mut self, path: &str) -> Result<CaptureFile, String> {
        let handed_over = as_typed(path);
        let setup = beside(&handed_over, SETUP);
        is_file(
            &handed_over,
            "type the path of the CSV file that the scope saved",
        )?;
        is_file(
            &setup,
            "a capture is read by the set-up beside it; write that file, then hand the capture over again",
        )?;
        let shop = self.shop.map(|shop| captures::clamps_of(shop.root()));
        let read = shop.transpose().and_then(|clamps| {
            let by = By {
                clamps: clamps.unwrap_or_default(),
                ..By::default()
            };
            by.recording(&handed_over)
        });
        let read = read.map_err(|error| error.to_string())?;
        self.copy(&handed_over, &setup)
            .map(|kept| CaptureFile {
                understood: read.understood.lines(),
                clamp: read.setup.clamp().cloned(),
                ..kept
            })
            .map_err(|error| format!("the capture cannot be copied into the job: {error}"))
    }
}

impl Captures<'_> {
    fn copy(&self, handed_over: &Path, setup_beside: &Path) -> Result<CaptureFile, RecordError> {
        let number = self.next_number()?;
        let ending = captures::ending(handed_over);
        let file = format!("{}/{number}.{ending}", folder::CAPTURES);
        let setup = format!("{}/{number}{SETUP}", folder::CAPTURES);
        let [file_in_job, setup_in_job] = [&file, &setup].map(|name| self.job.file(name));
        durable::copy_new(handed_over, &file_in_job)?;
        durable::copy_new(setup_beside, &setup_in_job)?;
        let original = handed_over.file_name().unwrap_or_default();
        Ok(CaptureFile {
            sha256: digest::of_file(&file_in_job)?,
            bytes: fs_err::metadata(&file_in_job)?.len(),
            setup_sha256: digest::of_file(&setup_in_job)?,
            file,
            setup,
            original: original.to_string_lossy().into_owned(),
            simulated: beside(handed_over, TRUTH).exists(),
            clamp: None,
            understood: Vec::new(),
        })
    }

    /// One more than the highest that lies there: a copy that was cut off keeps its number.
    pub(crate) fn next_number(&self) -> Result<u32, RecordError> {
        let mut highest = 0;
        for entry in fs_err::read_dir(self.job.file(folder::CAPTURES))? {
            let name = entry?.file_name();
            let number = name.to_string_lossy();
            let number = number.split('.').next().and_then(|n| n.parse().ok());
            highest = highest.max(number.unwrap_or(0));
        }
        Ok(highest + 1)
    }
}

/// A path as people type, paste or drop it: terminals put quotes round what is dropped on them.
pub(crate) fn as_typed(path: &str) -> PathBuf {
    let path = path.trim();
    let bare = ['\'', '"'].into_iter().find_map(|quote| {
        path.strip_prefix(quote)
            .and_then(|rest| rest.strip_suffix(quote))
    });
    let path = bare.unwrap_or(path);
    match (path.strip_prefix("~/"), std::env::home_dir()) {
        (Some(rest), Some(home)) => home.join(rest),
        _ => PathBuf::from(path),
    }
}

pub(crate) fn is_file(path: &Path, remedy: &str) -> Result<(), String> {
    let shown = path.display();
    match std::fs::metadata(path) {
        Ok(about) if about.is_file() => Ok(()),
        Ok(_) => Err(format!("{shown}: is no file; {remedy}")),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            Err(format!("{shown}: no such file; {remedy}"))
        }
        Err(error) => Err(format!("{shown}: cannot be read: {error}; {remedy}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_taken_as_they_are_dropped() {
        assert_eq!(as_typed(" 'a b.csv' "), PathBuf::from("a b.csv"));
        assert_eq!(as_typed("\"a.csv\""), PathBuf::from("a.csv"));
        assert_eq!(as_typed("it's.csv"), PathBuf::from("it's.csv"));
        let home = as_typed("~/a.csv");
        assert!(home.is_absolute() && home.ends_with("a.csv"));
    }

    #[test]
    fn copies_are_numbered_and_what_was_simulated_is_marked() {
        let folder = tempfile::tempdir().unwrap();
        let job = JobFolder::at(folder.path().join("0001"));
        fs_err::create_dir_all(job.file(folder::CAPTURES)).unwrap();
        let table = "t,u\n0,1\n1,2\n";
        let own = folder.path().join("own.csv");
        fs_err::write(&own, table).unwrap();
        let mut captures = Captures {
            job: &job,
            shop: None,
        };
        let path = own.to_str().unwrap();
        let mut refused = |says: &str| {
            let refused = captures.keep(path).unwrap_err();
            assert!(refused.contains(says), "{refused}");
        };
        refused("own.setup.yaml: no such file");
        fs_err::write(beside(&own, SETUP), "engine: {}\n").unwrap();
        refused("own.setup.yaml:1:");
        let setup =
            "engine: {cylinders: 1, firing_order: [1]}\nchannels: {battery_voltage: {column: u}}\n";
        fs_err::write(beside(&own, SETUP), setup).unwrap();
        fs_err::write(&own, "t,u\n0,1\n1,x\n").unwrap();
        refused("own.csv:3:2: column \"u\" must hold a number");
        assert_eq!(
            fs_err::read_dir(job.file(folder::CAPTURES))
                .unwrap()
                .count(),
            0
        );
        fs_err::write(&own, table).unwrap();
        let first = captures.keep(path).unwrap();
        assert_eq!((first.file.as_str(), first.bytes), ("captures/1.csv", 12));
        assert_eq!(first.sha256, digest::of_bytes(table.as_bytes()));
        assert_eq!(first.original, "own.csv");
        assert!(!first.simulated);
        assert!(
            first.understood[0].contains("separated by comma"),
            "{:?}",
            first.understood
        );
        fs_err::write(beside(&own, TRUTH), "leaks: {}\n").unwrap();
        let second = captures.keep(path).unwrap();
        assert_eq!(second.setup, "captures/2.setup.yaml");
        assert!(second.simulated);
        assert!(
            captures
                .keep("none.csv")
                .unwrap_err()
                .contains("no such file")
        );
        let is_folder = captures.keep(folder.path().to_str().unwrap());
        assert!(is_folder.unwrap_err().contains("is no file"));
    }

    #[test]
    fn the_clamp_of_the_day_is_kept_with_the_capture() {
        let folder = tempfile::tempdir().unwrap();
        let shop = Shop::create(&folder.path().join("shop"), "Test shop", "").unwrap();
        let job = shop.new_job().unwrap();
        let own = folder.path().join("own.csv");
        fs_err::write(&own, "t,u (mV)\n0,100\n1,200\n").unwrap();
        let setup = "engine: {cylinders: 1, firing_order: [1]}\n\
                     channels: {starter_current: {column: u, clamp: big}}\n";
        fs_err::write(beside(&own, SETUP), setup).unwrap();
        let mut captures = Captures {
            job: &job,
            shop: Some(&shop),
        };
        let path = own.to_str().unwrap();
        let refused = captures.keep(path).unwrap_err();
        assert!(refused.contains("no shop's list"), "{refused}");
        let list = "clamps: {big: {millivolt_per_ampere: 1, range: 1000}}\n";
        fs_err::write(shop.root().join("clamps.yaml"), list).unwrap();
        let kept = captures.keep(path).unwrap();
        assert_eq!(kept.clamp.unwrap().range, 1000.0);
        let lines = kept.understood.join("; ");
        assert!(lines.contains("100 to 200; clamp \"big\""), "{lines}");
    }
}
