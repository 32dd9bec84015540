//! Keys that stand twice in one mapping, and how each is mended.

use std::collections::HashMap;

use super::keys;

/// Beside the keys of a mapping: its `when` was told to stand twice.
const TOLD: &str = "when, told";

/// What is said of a key that stands twice, and what mends it; `known` holds the lines of the keys above. `None` where
/// it follows from what was told before.
pub(super) fn told(
    key: &str,
    first: usize,
    known: &mut HashMap<String, usize>,
) -> Option<(String, String)> {
    let message = format!("`{key}` stands twice; the first is in line {first}");
    let is_ours = keys::STEP.iter().any(|(known, _)| *known == key);
    let remedy = match key {
        "when" => {
            known.insert(TOLD.to_owned(), first);
            let message =
                format!("`when` stands twice in one branch; the first is in line {first}");
            let remedy = "Each branch begins with a dash: write `- when:` here, the dash under that of the branch above.";
            return Some((message, remedy.to_owned()));
        }
        "go" if known.contains_key(TOLD) => return None,
        "danger" | "warning" | "caution" | "notice" => {
            format!("Write `{key}:` once, and under it each text on a line of its own: `- \"…\"`.")
        }
        _ if is_ours => "Keep one of the two.".to_owned(),
        _ => "Keep one, or give the other its own name.".to_owned(),
    };
    Some((message, remedy))
}
