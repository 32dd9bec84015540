//! Which known name was probably meant.

/// Number of single-letter changes (insert, drop, replace, swap of neighbours) from one text to the
/// other: the restricted Damerau-Levenshtein distance, from memory.
pub(crate) fn distance(from: &str, to: &str) -> usize {
    let from: Vec<char> = from.chars().collect();
    let to: Vec<char> = to.chars().collect();
    let mut before_last: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=to.len()).collect();
    for i in 1..=from.len() {
        let mut row = vec![i; to.len() + 1];
        for j in 1..=to.len() {
            let replaced = last[j - 1] + usize::from(from[i - 1] != to[j - 1]);
            row[j] = replaced.min(last[j] + 1).min(row[j - 1] + 1);
            let swapped = i > 1 && j > 1 && from[i - 1] == to[j - 2] && from[i - 2] == to[j - 1];
            if swapped {
                row[j] = row[j].min(before_last[j - 2] + 1);
            }
        }
        before_last = std::mem::replace(&mut last, row);
    }
    last[to.len()]
}

/// Known names that are compared; whoever has more finds the slip faster by the place.
const MOST_COMPARED: usize = 1_000;

/// The known name nearest to `wanted`, where one is near enough to have been meant (a third of its
/// letters wrong at most, two at least allowed).
pub(crate) fn nearest<'a>(
    wanted: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let allowed = (wanted.chars().count() / 3).max(2);
    known
        .into_iter()
        .take(MOST_COMPARED)
        .map(|name| (distance(wanted, name), name))
        .filter(|(away, name)| *away <= allowed && *away < name.chars().count())
        .min()
        .map(|(_, name)| name)
}

/// "Did you mean …?" or the list of what is known.
pub(crate) fn suggestion<'a>(
    wanted: &str,
    known: impl IntoIterator<Item = &'a str> + Clone,
) -> String {
    const MOST_LISTED: usize = 30;
    /// One name that begins as another is meant by it from so many letters on.
    const SHORTEST_BEGINNING: usize = 4;
    if let Some(name) = nearest(wanted, known.clone()) {
        return format!("Did you mean `{name}`?");
    }
    let names: Vec<&str> = known.into_iter().collect();
    let same = |name: &&&str| wanted.starts_with(**name) || name.starts_with(wanted);
    let mut begun = names
        .iter()
        .filter(|name| name.len() >= SHORTEST_BEGINNING)
        .filter(same);
    if let (Some(name), None) = (begun.next(), begun.next())
        && wanted.len() >= SHORTEST_BEGINNING
    {
        return format!("Did you mean `{name}`?");
    }
    if names.is_empty() || names.len() > MOST_LISTED {
        return "Check the spelling, or add it.".to_owned();
    }
    format!("Known here: {}.", names.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first two pairs are the textbook examples of edit distance.
    #[test]
    fn distances_of_known_pairs() {
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("saturday", "sunday"), 3);
        assert_eq!(distance("then", "tehn"), 1);
        assert_eq!(distance("", "abc"), 3);
    }

    #[test]
    fn only_a_near_name_is_suggested() {
        assert_eq!(nearest("jugde", ["judge", "crank"]), Some("judge"));
        assert_eq!(nearest("outcome", ["judge", "crank"]), None);
        let works = ["none", "crank", "crank open cylinder"];
        assert_eq!(suggestion("cranking", works), "Did you mean `crank`?");
        assert!(suggestion("winding", works).starts_with("Known here"));
    }
}
