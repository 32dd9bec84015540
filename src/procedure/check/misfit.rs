//! What is said of a value that does not fit where it is handed over: what is wanted, and what is there.

use super::kinds::Kind;
use crate::procedure::computation::{Computation, InputKind};
use crate::procedure::load::quantity_name;
use crate::procedure::model::ValuePath;
use crate::quantity::{Quantity, Unit};

/// What a value must be.
pub(super) enum Wanted<'a> {
    /// Something that can be shown in a text.
    Shown,
    /// What an input of a computation takes: its name, what it takes, the computation.
    Input(&'a str, InputKind, Computation),
    /// Whatever a called procedure takes.
    Anything,
}

impl Wanted<'_> {
    /// Whether a value of that kind will do. Only a step can be visited several times; a fact or an input is
    /// one number.
    pub(super) fn accepts(&self, kind: &Kind, is_step: bool) -> bool {
        let wanted = match self {
            Wanted::Anything => return true,
            Wanted::Shown => {
                return matches!(kind, Kind::Name(_) | Kind::Number(..) | Kind::Text);
            }
            Wanted::Input(_, wanted, _) => wanted,
        };
        match (wanted, kind) {
            (InputKind::Capture, Kind::Capture) => true,
            (InputKind::Result(wanted), Kind::Result(found)) => wanted == found,
            (InputKind::Number(unit), Kind::Number(found, _)) => {
                unit.quantity() == found.quantity()
            }
            (InputKind::Series(unit), Kind::Number(found, _)) => {
                unit.quantity() == found.quantity() && is_step
            }
            (InputKind::Name(known), Kind::Name(names)) => {
                names.iter().all(|name| known.contains(&name.as_str()))
            }
            // a count is a text as well, as shown
            (InputKind::Text, Kind::Text | Kind::Number(Unit::Count, _)) => true,
            _ => false,
        }
    }

    /// Whether all readings of a step are wanted, which no caller can hand over.
    pub(super) fn is_series(&self) -> bool {
        matches!(self, Wanted::Input(_, InputKind::Series(_), _))
    }

    /// What is said where the name of a choice stands in place of a step that has it.
    pub(super) fn choice_for(&self, path: &ValuePath) -> Option<(String, String)> {
        let Wanted::Input(name, InputKind::Name(known), _) = self else {
            return None;
        };
        if path.fact.is_some() || !known.contains(&path.of.as_str()) {
            return None;
        }
        let choices: Vec<String> = known.iter().map(|choice| format!("`{choice}`")).collect();
        let message = format!(
            "`{name}` wants a step whose `choose` has {}; `{}` is one of its answers",
            choices.join(" and "),
            path.of
        );
        let remedy =
            format!("Ask it in a step with `choose`, and write the step's id: `{name}: step-id`.");
        Some((message, remedy))
    }

    /// What is said of a value that will not do, and how it is mended.
    pub(super) fn told(&self, path: &ValuePath, kind: &Kind) -> (String, String) {
        let must = match self {
            Wanted::Input(name, _, of) => format!("`{name}` of `{}` must be", of.name()),
            Wanted::Shown | Wanted::Anything => "what is shown in a text must be".to_owned(),
        };
        self.told_of(&must, path, kind)
    }

    /// The same, where what must be so is named in other words.
    pub(super) fn told_of(&self, must: &str, path: &ValuePath, kind: &Kind) -> (String, String) {
        let form = match self {
            Wanted::Input(_, wanted, _) => wanted_told(*wanted),
            Wanted::Shown | Wanted::Anything => "a choice, a number or a text".to_owned(),
        };
        let there = match (self, kind) {
            (Wanted::Input(_, InputKind::Name(known), _), Kind::Name(names))
                if names.iter().any(|name| known.contains(&name.as_str())) =>
            {
                let more = names.iter().filter(|name| !known.contains(&name.as_str()));
                let more: Vec<&str> = more.map(String::as_str).collect();
                return (
                    format!("{must} {form}; `{path}` also has {}", more.join(", ")),
                    format!(
                        "Give `{path}` only those choices under those names, or hand over another."
                    ),
                );
            }
            (Wanted::Input(_, InputKind::Series(unit), _), Kind::Number(found, _))
                if unit.quantity() == found.quantity() =>
            {
                "one number only".to_owned()
            }
            _ => kind_told(kind),
        };
        let fact = match kind {
            Kind::Result(computation) => computation.facts().into_iter().next(),
            _ => None,
        };
        let remedy = match fact {
            Some(fact) => format!("Name one of its facts as in `{}.{}`.", path.of, fact.name),
            None => format!("Name a step or a fact that is {form}."),
        };
        (format!("{must} {form}; `{path}` is {there}"), remedy)
    }
}

fn wanted_told(wanted: InputKind) -> String {
    match wanted {
        InputKind::Capture => "a capture".to_owned(),
        InputKind::Result(of) => format!("the result of `{}`", of.name()),
        InputKind::Number(unit) => quantity_told(unit.quantity()),
        InputKind::Series(unit) => format!(
            "a step whose readings are each {}",
            quantity_told(unit.quantity())
        ),
        InputKind::Name(known) => format!("a choice among {}", known.join(", ")),
        InputKind::Text => "a text".to_owned(),
    }
}

fn kind_told(kind: &Kind) -> String {
    match kind {
        Kind::Name(names) => format!("a choice among {}", names.join(", ")),
        Kind::Number(unit, _) => quantity_told(unit.quantity()),
        Kind::Text => "a text".to_owned(),
        Kind::Capture => "a capture".to_owned(),
        Kind::Result(of) => format!("the whole result of `{}`", of.name()),
        Kind::Input => "an input".to_owned(),
    }
}

/// "a voltage", "an angle".
fn quantity_told(quantity: Quantity) -> String {
    match (quantity, quantity_name(quantity)) {
        (Quantity::Percent, _) => "a percentage".to_owned(),
        (_, name) if name.starts_with(['a', 'e', 'i', 'o', 'u']) => format!("an {name}"),
        (_, name) => format!("a {name}"),
    }
}
