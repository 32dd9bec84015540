//! A procedure file to begin from, commented, that passes every check.

/// The file, with its name and title to be put in.
const SHEET: &str = include_str!("scaffold.yaml");

/// A new procedure's text. `name` is lower-case words with hyphens between.
#[must_use]
pub fn sheet(name: &str) -> String {
    let words = name.replace('-', " ");
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    let title: String = first.into_iter().chain(letters).collect();
    SHEET.replace("TITLE", &title).replace("NAME", name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_passes_every_check() {
        for name in ["a", "battery-at-rest"] {
            let source = |_: &str| Some((format!("{name}.yaml"), sheet(name)));
            let read = crate::procedure::read_library(name, &source).unwrap();
            assert_eq!(read.procedures[name].name, name);
        }
    }
}
