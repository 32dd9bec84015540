//! Waivers and amendments of a job, counted. Whether their signatures hold is `verify`'s question.

use crate::record::folder::{self, JobFolder};
use crate::record::signed::read_short;

/// Longest waiver that is read, bytes: a page of text.
const LONGEST: u64 = 64 * 1024;

/// Most entries that are looked at in either folder; a job has a handful.
const MOST: usize = 1000;

/// Each waiver as `step=person`, in order of its number; a word that is not there is `?`.
pub(super) fn read(job: &JobFolder) -> Vec<String> {
    let mut numbers: Vec<u32> = names(job, folder::WAIVERS)
        .iter()
        .filter_map(|name| name.strip_suffix(".txt")?.parse().ok())
        .collect();
    numbers.sort_unstable();
    let file = |number: &u32| job.file(&format!("{}/{number}.txt", folder::WAIVERS));
    numbers
        .iter()
        .map(|number| {
            let text = read_short(&file(number), LONGEST).unwrap_or_default();
            let text = String::from_utf8_lossy(&text);
            let step = value(&text, &["step"]);
            let person = value(&text, &["lead", "by", "name", "waived by"]);
            format!("{step}={person}")
        })
        .collect()
}

/// How many amendments there are.
pub(super) fn amendments(job: &JobFolder) -> u32 {
    let numbers = names(job, "amendments");
    let numbers = numbers.iter().filter(|name| name.parse::<u32>().is_ok());
    u32::try_from(numbers.count()).unwrap_or(u32::MAX)
}

/// The value of a line `key: value`, its spaces made one sign so that lists can be told apart.
fn value(text: &str, keys: &[&str]) -> String {
    let pairs = text.lines().filter_map(|line| line.split_once(':'));
    let mut found = pairs.filter(|(key, _)| keys.contains(&key.trim()));
    let value = found.next().map_or("?", |(_, value)| value.trim());
    value.split_whitespace().collect::<Vec<_>>().join("_")
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
