//! A procedure file to begin from, commented, that passes every check.

/// What a file is to begin with; name and title are put in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A condition, something taken off, a measurement.
    Plain,
    /// The whole chain of a crank: conditions, fuel cut and proof, leads, capture, result, putting back.
    Cranking,
    /// The whole chain of a running engine: the same up to a gauge in its hole, one cylinder kept quiet, exhaust led away,
    /// the engine run, result, putting back.
    Running,
}

impl Kind {
    fn text(self) -> &'static str {
        match self {
            Kind::Plain => include_str!("plain.yaml"),
            Kind::Cranking => include_str!("cranking.yaml"),
            Kind::Running => include_str!("running.yaml"),
        }
    }
}

/// A new procedure's text. `name` is lower-case words with hyphens between.
#[must_use]
pub fn sheet(kind: Kind, name: &str) -> String {
    let words = name.replace('-', " ");
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    let title: String = first.into_iter().chain(letters).collect();
    kind.text().replace("TITLE", &title).replace("NAME", name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::{Problem, read_library, remarks};

    #[test]
    fn it_passes_every_check() {
        let names = ["a", "battery-at-rest"];
        for (kind, name) in [Kind::Plain, Kind::Cranking, Kind::Running]
            .into_iter()
            .flat_map(|kind| names.map(|name| (kind, name)))
        {
            let source = |_: &str| Some((format!("{name}.yaml"), sheet(kind, name)));
            let read = read_library(name, &source).unwrap();
            assert_eq!(read.procedures[name].name, name);
            assert_eq!(remarks::remarks(name, &read), []);
        }
    }

    /// What its author asks for beyond what is proved.
    const OWN: [&str; 8] = [
        "needs: [key away]",
        "needs: [key away, fuel off proved]",
        "needs: [eyes protected]",
        "needs: [engine idles]",
        "needs: [eyes protected, remote start off]",
        "needs: [eyes protected, remote start off, starter rested]",
        "revokes: [bystanders clear, belts clear]",
        // put back on the way, and once more at the end for those ways that never came there
        "restores: [coil connectors, fuel pump relay]",
    ];

    /// The chain holds together: without any one of its conditions, proofs or put-backs it is refused or remarked.
    #[test]
    fn nothing_in_the_chains_is_idle() {
        for kind in [Kind::Cranking, Kind::Running] {
            assert_eq!(idle_lines(&sheet(kind, "a")), [""; 0], "{kind:?}");
        }
    }

    /// Hands are in the bay for the cut: whoever puts the look round before it has none before the proof.
    #[test]
    fn a_look_round_before_the_cut_does_not_serve_the_proof() {
        for (kind, cut) in [(Kind::Cranking, "cut-fuel"), (Kind::Running, "fuel-cut")] {
            let way = |to: &str| format!("    then: {to}\n");
            let moved = sheet(kind, "a")
                .replacen(&way(cut), &way("CLEAR"), 1)
                .replacen(&way("clear"), &way("PROVE"), 1)
                .replacen(&way("prove"), &way(cut), 1)
                .replace("CLEAR", "clear")
                .replace("PROVE", "prove");
            let source = |_: &str| Some(("a.yaml".to_owned(), moved.clone()));
            let told = read_library("a", &source).unwrap_err();
            for condition in ["bystanders clear", "belts clear"] {
                let found = |one: &Problem| {
                    one.message.contains("`prove`") && one.message.contains(condition)
                };
                assert!(told.iter().any(found), "{kind:?} {condition}: {told:#?}");
            }
        }
    }

    fn idle_lines(text: &str) -> Vec<String> {
        let protects = [
            "    establishes: ",
            "    restores: ",
            "    revokes: ",
            "    needs: ",
        ];
        let lines: Vec<&str> = text.lines().collect();
        let mut found = Vec::new();
        for (at, line) in lines.iter().enumerate() {
            if !protects.iter().any(|key| line.starts_with(key)) || OWN.contains(&line.trim()) {
                continue;
            }
            let kept = lines.iter().enumerate().filter(|(other, _)| *other != at);
            let kept: Vec<&str> = kept.map(|(_, line)| *line).collect();
            let without = kept.join("\n");
            let source = |_: &str| Some(("a.yaml".to_owned(), without.clone()));
            let idle = read_library("a", &source)
                .is_ok_and(|library| remarks::remarks("a", &library).is_empty());
            if idle {
                found.push(format!("{at}: {line}"));
            }
        }
        found
    }
}
