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
    if let Some(name) = nearest(wanted, known.clone()) {
        return format!("Did you mean `{name}`?");
    }
    let names: Vec<&str> = known.into_iter().collect();
    if let Some(name) = begun_alike(wanted, &names) {
        return format!("Did you mean `{name}`?");
    }
    if names.is_empty() || names.len() > MOST_LISTED {
        return "Check the spelling, or add it.".to_owned();
    }
    format!("Known here: {}.", names.join(", "))
}

/// The one name that is the beginning of `wanted` or begins with it; else the one that has more than half of the shorter
/// of the two in common with it.
fn begun_alike<'a>(wanted: &str, names: &[&'a str]) -> Option<&'a str> {
    /// Letters of a beginning that say which name is meant.
    const SHORTEST_BEGINNING: usize = 3;
    let letters = |name: &str| name.chars().count();
    let common = |name: &str| {
        let pairs = wanted.chars().zip(name.chars());
        pairs.take_while(|(one, other)| one == other).count()
    };
    let begun = names.iter().copied();
    let begun = begun.filter(|name| common(name) >= SHORTEST_BEGINNING);
    let whole = begun.clone();
    let whole = whole.filter(|name| common(name) == letters(wanted).min(letters(name)));
    let half = |name: &&str| 2 * common(name) > letters(wanted).min(letters(name));
    only(whole).or_else(|| only(begun).filter(half))
}

/// What comes, where nothing else does.
fn only<'a>(mut names: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let first = names.next()?;
    names.next().is_none().then_some(first)
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

    /// Where no letters were mixed up, a beginning tells what is meant, if one name alone has it.
    #[test]
    fn a_beginning_that_one_name_has_is_enough() {
        let lines = [
            "odometer",
            "vehicle",
            "vehicle identity",
            "voltage",
            "sensor",
            "cyls",
        ];
        assert_eq!(suggestion("cylinders", lines), "Did you mean `cyls`?");
        assert_eq!(suggestion("odo", lines), "Did you mean `odometer`?");
        assert_eq!(suggestion("volts", lines), "Did you mean `voltage`?");
        assert_eq!(
            suggestion("sensors of the car", lines),
            "Did you mean `sensor`?"
        );
        for several_or_short in ["veh", "vo", "volume of air"] {
            let told = suggestion(several_or_short, lines);
            assert!(told.starts_with("Known here"), "{told}");
        }
    }
}
