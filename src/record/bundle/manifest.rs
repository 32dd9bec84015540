//! Manifests: lists of digests and names in the format of `sha256sum`, written and read side by side.
//! Read more strictly than `sha256sum -c --strict` does, so that each list has one spelling and names
//! nothing outside its folder.

use crate::record::digest;

/// Longest manifest that is read, bytes; some ten thousand files.
pub const LONGEST_FILE: u64 = 1024 * 1024;

/// Deepest name: `attachments/photographs/1.jpeg` has depth 3.
pub const DEEPEST: usize = 4;

/// One line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Digest of the file.
    pub sha256: String,
    /// Its name, relative to the manifest's folder.
    pub name: String,
}

/// A manifest; its lines stand in order of their names, each once.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Manifest {
    lines: Vec<Line>,
}

/// What is wrong with a manifest.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct ManifestFault {
    /// Line, from 1.
    pub line: usize,
    /// What is wrong with it.
    pub what: String,
}

impl Manifest {
    /// A manifest of lines in any order; a name that is given twice counts once.
    #[must_use]
    pub fn of(lines: impl IntoIterator<Item = Line>) -> Manifest {
        let mut lines: Vec<Line> = lines.into_iter().collect();
        lines.sort_by(|a, b| a.name.cmp(&b.name));
        lines.dedup_by(|a, b| a.name == b.name);
        Manifest { lines }
    }

    /// The lines, in order of their names.
    #[must_use]
    pub fn lines(&self) -> &[Line] {
        &self.lines
    }

    /// The digest that is given for a name.
    #[must_use]
    pub fn digest(&self, name: &str) -> Option<&str> {
        let place = self
            .lines
            .binary_search_by(|line| line.name.as_str().cmp(name));
        place.ok().map(|at| self.lines[at].sha256.as_str())
    }

    /// The text of the file.
    #[must_use]
    pub fn text(&self) -> String {
        let line = |line: &Line| format!("{}  {}\n", line.sha256, line.name);
        self.lines.iter().map(line).collect()
    }

    /// Read a file's bytes.
    ///
    /// # Errors
    /// The first line that is not of the one form, and why.
    pub fn parse(bytes: &[u8]) -> Result<Manifest, ManifestFault> {
        let fault = |line: usize, what: &str| ManifestFault {
            line,
            what: what.to_owned(),
        };
        let text = std::str::from_utf8(bytes).map_err(|_| fault(1, "the list is not text"))?;
        if text.is_empty() {
            return Err(fault(1, "the list is empty"));
        }
        let mut lines: Vec<Line> = Vec::new();
        for (index, text) in text.split_inclusive('\n').enumerate() {
            let number = index + 1;
            let line = read(text).map_err(|what| fault(number, &what))?;
            if lines.last().is_some_and(|last| last.name >= line.name) {
                return Err(fault(number, "names must stand in order, each once"));
            }
            lines.push(line);
        }
        Ok(Manifest { lines })
    }
}

fn read(text: &str) -> Result<Line, String> {
    let text = text.strip_suffix('\n').ok_or("the line's end is missing")?;
    let (sha256, name) = text
        .split_once("  ")
        .ok_or("a line is a digest, two spaces and a name")?;
    if !digest::is_digest(sha256) {
        return Err("the digest is not 64 lower-case hexadecimal digits".into());
    }
    if !is_plain(name) {
        return Err(format!("{} is no plain relative name", shown(name)));
    }
    Ok(Line {
        sha256: sha256.to_owned(),
        name: name.to_owned(),
    })
}

/// Whether a name is one that a bundle may hold: relative, going nowhere but down, of characters that
/// every stock tool and file system takes as they are.
#[must_use]
pub fn is_plain(name: &str) -> bool {
    let parts: Vec<&str> = name.split('/').collect();
    parts.len() <= DEEPEST && parts.into_iter().all(is_plain_part)
}

fn is_plain_part(part: &str) -> bool {
    let inside = |c: char| c.is_alphanumeric() || " ._-+()=,@".contains(c);
    !part.is_empty()
        && part.chars().all(inside)
        && !part.starts_with(['.', '-', ' '])
        && !part.ends_with(['.', ' '])
}

/// A name or other text from a bundle as it may be shown: nothing that moves a terminal's cursor, and
/// not too long; what is too long ends after a word where it has words.
#[must_use]
pub fn shown(text: &str) -> String {
    /// Our own choice: a line or two.
    const LONGEST: usize = 120;
    let Some((end, _)) = text.char_indices().nth(LONGEST) else {
        return format!("{text:?}");
    };
    let words = text[..end].rsplit_once(' ').map(|(words, _)| words);
    let short = words.filter(|words| words.len() > end / 2);
    format!("{:?}", format!("{}…", short.unwrap_or(&text[..end])))
}

/// The same for a sentence that needs no quotes to show where it begins and ends; quotes of its own stay.
#[must_use]
pub fn unquoted(text: &str) -> String {
    let quoted = shown(text);
    let inside = quoted
        .strip_prefix('"')
        .and_then(|rest| rest.strip_suffix('"'));
    inside.unwrap_or(&quoted).replace("\\\"", "\"")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(name: &str) -> Line {
        Line {
            sha256: digest::of_bytes(name.as_bytes()),
            name: name.to_owned(),
        }
    }

    #[test]
    fn what_is_too_long_ends_after_a_word() {
        assert_eq!(shown("grey van"), "\"grey van\"");
        let long = "van ".repeat(40);
        assert_eq!(
            shown(&long),
            format!("\"{}…\"", "van ".repeat(30).trim_end())
        );
        let one = "x".repeat(200);
        assert_eq!(shown(&one), format!("\"{}…\"", "x".repeat(120)));
        let wide = "ü".repeat(120);
        assert_eq!(shown(&wide), format!("\"{wide}\""));
    }

    #[test]
    fn what_is_written_reads_back() {
        let manifest = Manifest::of(["record.json", "captures/1.csv", "captures/1.csv"].map(line));
        assert_eq!(manifest.lines().len(), 2);
        assert_eq!(
            Manifest::parse(manifest.text().as_bytes()),
            Ok(manifest.clone())
        );
        assert!(manifest.digest("record.json").is_some());
        assert!(manifest.digest("captures").is_none());
    }

    #[test]
    fn names_that_lead_astray_are_refused() {
        for name in [
            "",
            "/etc/passwd",
            "../record.json",
            "captures/../record.json",
            "./a",
            "a//b",
            "a/",
            "a\\b",
            "C:a",
            "a\nb",
            "a\u{1b}[2J",
            "a\u{202e}b",
            "*a",
            ".hidden",
            "-rf",
            " a",
            "a ",
            "a.",
            "a/b/c/d/e",
            "\u{feff}a",
        ] {
            assert!(!is_plain(name), "{name:?}");
            let text = format!("{}  {name}\n", digest::of_bytes(b""));
            assert!(Manifest::parse(text.as_bytes()).is_err(), "{name:?}");
        }
        for name in [
            "record.json",
            "attachments/IMG 1 (front).jpeg",
            "captures/Ü-1.csv",
        ] {
            assert!(is_plain(name), "{name:?}");
        }
    }

    #[test]
    fn other_spellings_are_refused_with_their_line() {
        let (a, b) = (line("a"), line("b"));
        let good = Manifest::of([a.clone(), b.clone()]).text();
        let lines = |first: &Line, second: &Line| {
            format!(
                "{}  {}\n{}  {}\n",
                first.sha256, first.name, second.sha256, second.name
            )
        };
        for (text, at) in [
            (String::new(), 1),
            (good.trim_end().to_owned(), 2),
            (good.replace('\n', "\r\n"), 1),
            (format!("{good}\n"), 3),
            (format!("\n{good}"), 1),
            (good.replace("  ", " *"), 1),
            (good.replace("  ", " "), 1),
            (good.to_uppercase(), 1),
            (lines(&b, &a), 2),
            (lines(&a, &a), 2),
            (format!("# files\n{good}"), 1),
        ] {
            assert_eq!(
                Manifest::parse(text.as_bytes()).unwrap_err().line,
                at,
                "{text:?}"
            );
        }
        assert!(Manifest::parse(b"\xff").is_err());
    }

    #[test]
    fn shown_text_is_tame() {
        assert_eq!(shown("a\u{1b}[2J"), "\"a\\u{1b}[2J\"");
        assert!(shown(&"x".repeat(1000)).chars().count() < 130);
        assert_eq!(unquoted("a\u{1b}[2J"), "a\\u{1b}[2J");
        // marks of its own, at the end too
        assert_eq!(unquoted("van \"blue\""), "van \"blue\"");
    }
}
