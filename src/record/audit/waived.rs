//! Waivers and amendments of a job, counted. Whether their signatures hold is `verify`'s question.

use super::list;
use crate::record::bundle::signed::read_short;
use crate::record::bundle::waiver::{self, Waiver};
use crate::record::folder::{self, JobFolder};

/// Most entries that are looked at in either folder; a job has a handful.
const MOST: usize = 1000;

/// Each waiver as `step=person` with its reason, in order of its number; `?=?` where it cannot be read.
pub(super) fn read(job: &JobFolder) -> Vec<(String, String)> {
    let mut numbers: Vec<u32> = names(job, folder::WAIVERS)
        .iter()
        .filter_map(|name| name.strip_suffix(".txt")?.parse().ok())
        .collect();
    numbers.sort_unstable();
    let file = |number: &u32| job.file(&waiver::text_file(*number));
    numbers
        .iter()
        .map(|number| {
            let bytes = read_short(&file(number), waiver::LONGEST_FILE);
            let waiver = bytes.ok().and_then(|bytes| Waiver::parse(&bytes).ok());
            waiver.map_or_else(
                || ("?=?".to_owned(), "?".to_owned()),
                |waiver| {
                    let given = format!("{}={}", word(&waiver.step), word(&waiver.lead));
                    (given, waiver.reason)
                },
            )
        })
        .collect()
}

/// The reasons of a job as one text: a single one as it is.
pub(super) fn joined(reasons: &[String]) -> String {
    match reasons {
        [reason] => reason.clone(),
        _ => list::joined(reasons),
    }
}

/// The reasons out of that text, of so many waivers.
pub(super) fn parted(text: &str, waivers: usize) -> Vec<String> {
    match waivers {
        1 => vec![text.to_owned()],
        _ => list::parted(text),
    }
}

/// How many amendments there are.
pub(super) fn amendments(job: &JobFolder) -> u32 {
    let numbers = names(job, "amendments");
    let numbers = numbers.iter().filter(|name| name.parse::<u32>().is_ok());
    u32::try_from(numbers.count()).unwrap_or(u32::MAX)
}

/// A text as one word, so that a list can be told apart.
fn word(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join("_")
}

fn names(job: &JobFolder, folder: &str) -> Vec<String> {
    let path = job.file(folder);
    // not through a link: that would lead out of the job
    if !std::fs::symlink_metadata(&path).is_ok_and(|about| about.is_dir()) {
        return Vec::new();
    }
    let entries = std::fs::read_dir(path).into_iter().flatten().take(MOST);
    entries
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_single_reason_stays_as_it_is() {
        let reasons = ["cold; \"very\"", "late"].map(str::to_owned);
        for some in [&reasons[..1], &reasons] {
            assert_eq!(parted(&joined(some), some.len()), some);
        }
        assert_eq!(joined(&reasons[..1]), reasons[0]);
    }
}
