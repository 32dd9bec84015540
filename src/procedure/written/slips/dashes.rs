//! Dashes that are missing before a branch, stand before a text, and what stands beside the dash of its branch.

use super::{Slip, blanks, head, indent, is_key, slip};
use crate::procedure::names::is_kebab;

/// The key under which the steps stand, each under its id.
const STEPS: &str = "steps";

/// The slip about a dash in the line where reading stopped, `before` being the written line above it.
pub(super) fn found(lines: &[&str], last: usize, before: usize) -> Option<Slip> {
    behind_key(lines[last], last)
        .or_else(|| missing(lines, last, before))
        .or_else(|| beside_dash(lines, last, before))
}

/// `do: - Use fused leads.`
fn behind_key(content: &str, at: usize) -> Option<Slip> {
    let (key, value) = content.split_once(": ")?;
    let text = value.trim_start().strip_prefix("- ")?.trim();
    if !is_key(key) {
        return None;
    }
    let word = key.trim_start_matches([' ', '-']);
    let column = content.chars().count() - value.trim_start().chars().count();
    let message = format!("a dash stands behind `{word}:` on the same line");
    let remedy = format!(
        "Write `{word}: {text}`; only what may be several stands on lines of its own, each behind a dash."
    );
    slip(at, column, message, remedy)
}

/// `- held:`, a step's id as one of a list.
pub(super) fn before_step(content: &str, at: usize) -> Option<Slip> {
    let id = content
        .trim()
        .strip_prefix("- ")?
        .trim_start()
        .strip_suffix(':')?;
    if !is_kebab(id) || is_key(id) {
        return None;
    }
    let message = format!("a dash stands before the step `{id}`");
    let remedy =
        format!("Take it away and write `{id}:` as deep as the other steps: they are no list.");
    slip(at, indent(content), message, remedy)
}

/// A key as deep as the dashes of the list above it.
pub(super) fn under_list(lines: &[&str], last: usize) -> Option<Slip> {
    let own = indent(lines[last]);
    let word = head(lines[last])?;
    let above = (0..last).rev().filter(|at| !lines[*at].trim().is_empty());
    let mut above = above.skip_while(|at| indent(lines[*at]) > own);
    let dash = above.next()?;
    if indent(lines[dash]) != own || !lines[dash].trim_start().starts_with("- ") {
        return None;
    }
    let list = above.find(|at| indent(lines[*at]) < own)?;
    let (key, depth) = (head(lines[list])?, indent(lines[list]));
    if key == STEPS {
        return before_step(lines[dash], dash);
    }
    let message = format!("`{word}` stands as deep as the dashes under `{key}`, and has none");
    let remedy = format!(
        "Give it {} if it stands beside `{key}`, or write the dash.",
        blanks(depth)
    );
    slip(last, own, message, remedy)
}

/// A `when` without its dash: the first branch of a step, or a later one.
fn missing(lines: &[&str], last: usize, before: usize) -> Option<Slip> {
    let begins = |at: usize, word: &str| lines[at].trim_start().starts_with(word);
    let at = if begins(last, "go:")
        && begins(before, "when:")
        && indent(lines[before]) < indent(lines[last])
    {
        before
    } else if begins(last, "when:") && (0..last).rev().take(2).any(|at| begins(at, "- when:")) {
        last
    } else if begins(last, "- when:") {
        let then = (0..last).rev().find(|at| begins(*at, "then:"))?;
        (then + 1..last)
            .find(|at| !lines[*at].trim().is_empty())
            .filter(|at| begins(*at, "when:"))?
    } else {
        return None;
    };
    let told = lines[at].trim();
    let remedy = format!(
        "Each branch begins with a dash: write `- {told}`, the dash under those of the other branches."
    );
    slip(
        at,
        indent(lines[at]),
        "`when` has no dash before it".to_owned(),
        remedy,
    )
}

/// A `go` that does not stand under the `when` of its branch.
fn beside_dash(lines: &[&str], last: usize, before: usize) -> Option<Slip> {
    let own = indent(lines[last]);
    let word = head(lines[last]).filter(|word| *word == "go" || *word == "when")?;
    let branch = lines[before].trim_start().strip_prefix('-')?;
    let above = head(branch).filter(|above| *above == "go" || *above == "when")?;
    let wanted = indent(lines[before]) + 1 + indent(branch);
    if own == wanted {
        return None;
    }
    let message = format!(
        "`{word}` stands in by {}, `{above}` of the same branch by {wanted}",
        blanks(own)
    );
    let change = if own < wanted {
        format!("{} more", blanks(wanted - own))
    } else {
        format!("{} less", blanks(own - wanted))
    };
    slip(
        last,
        own,
        message,
        format!("Give it {change}, so that it stands under `{above}`."),
    )
}
