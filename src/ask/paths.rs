//! Paths completed by the Tab key while they are typed.

use std::cell::Cell;
use std::path::Path;

use dialoguer::Completion;
use dialoguer::console::{Term, measure_text_width};

/// Completes a path as far as it is certain, and knows how many rows it takes after its prompt.
#[derive(Debug)]
pub(super) struct Paths<'t> {
    asked: &'t str,
    term: &'t Term,
    /// Whether the path stands below its prompt.
    below: Cell<bool>,
}

impl<'t> Paths<'t> {
    /// After a prompt at that terminal.
    pub(super) fn after(asked: &'t str, term: &'t Term) -> Self {
        let below = Cell::new(false);
        Paths { asked, term, below }
    }

    /// Rows of the terminal between the first of prompt and line and the one that the cursor ends in.
    pub(super) fn rows_above(&self, line: &str) -> usize {
        let columns = usize::from(self.term.size().1).max(1);
        let asked = measure_text_width(self.asked);
        let line = measure_text_width(line);
        let further = |width: usize| width.saturating_sub(1) / columns;
        if self.below.get() {
            further(asked) + 1 + further(line)
        } else {
            further(asked + line)
        }
    }

    /// The prompt of a line longer than a row takes only its last row away before it writes the whole line anew.
    /// All of it goes here, and the line begins below the prompt, where nothing is in its way.
    fn clear_rows(&self, typed: &str) {
        let rows = self.rows_above(typed);
        if rows == 0 {
            return;
        }
        let _ = self.term.move_cursor_up(rows);
        let _ = self.term.clear_to_end_of_screen();
        let _ = self.term.write_line(self.asked);
        self.below.set(true);
    }
}

impl Completion for Paths<'_> {
    fn get(&self, typed: &str) -> Option<String> {
        let completed = completed(typed, std::env::home_dir().as_deref())?;
        self.clear_rows(typed);
        Some(completed)
    }
}

/// What was typed, and as much more as all that is there by this beginning have alike; none where nothing
/// can be added. A quotation mark before it, as terminals put round what is dropped on them, is kept.
fn completed(typed: &str, home: Option<&Path>) -> Option<String> {
    let path = typed.trim_start_matches(['"', '\'']);
    let at = path.rfind('/').map_or(0, |slash| slash + 1);
    let (folder, begun) = path.split_at(at);
    let place = match (folder.strip_prefix("~/"), home) {
        (Some(rest), Some(home)) => home.join(rest),
        _ if folder.is_empty() => Path::new(".").to_owned(),
        _ => Path::new(folder).to_owned(),
    };
    let entries = std::fs::read_dir(place).ok()?.flatten();
    let names = entries.filter_map(|entry| {
        let mut name = entry.file_name().into_string().ok()?;
        if entry.path().is_dir() {
            name.push('/');
        }
        let shown = !name.starts_with('.') || begun.starts_with('.');
        (shown && name.starts_with(begun)).then_some(name)
    });
    let alike = names.filter(|name| !is_beside(name)).reduce(|one, other| {
        let pairs = one.chars().zip(other.chars());
        let alike = pairs.take_while(|(a, b)| a == b);
        alike.map(|(letter, _)| letter).collect()
    })?;
    (alike.len() > begun.len()).then(|| format!("{}{alike}", &typed[..typed.len() - begun.len()]))
}

/// Whether it lies beside a capture and is none itself.
fn is_beside(name: &str) -> bool {
    [".setup.yaml", ".truth.yaml"]
        .iter()
        .any(|ending| name.ends_with(ending))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_is_completed_as_far_as_it_is_certain() {
        let place = tempfile::tempdir().unwrap();
        let root = place.path();
        fs_err::create_dir(root.join("scope")).unwrap();
        for name in ["scope/first.csv", "scope/first.setup.yaml", "scope/.hidden"] {
            fs_err::write(root.join(name), "").unwrap();
        }
        let shown = root.display();
        let after = |typed: &str| completed(&typed.replace('@', &shown.to_string()), Some(root));
        let is = |typed: &str, whole: &str| {
            let whole = whole.replace('@', &shown.to_string());
            assert_eq!(after(typed), Some(whole), "{typed}");
        };
        is("@/s", "@/scope/");
        is("'@/s", "'@/scope/");
        is("~/scope/f", "~/scope/first.csv");
        is("@/scope/.h", "@/scope/.hidden");
        fs_err::write(root.join("scope/fire.csv"), "").unwrap();
        is("@/scope/f", "@/scope/fir");
        for nothing in ["@/scope/fir", "@/none/", "@/x", "@/scope/first.csv"] {
            assert_eq!(after(nothing), None, "{nothing}");
        }
    }
}
