//! `same-as: other-step`: a step like another, with the keys changed that it gives itself. It saves
//! writing a long safety step twice where only the way on differs.

use std::collections::{BTreeMap, BTreeSet};

use super::fields::{Fields, name};
use super::question::KINDS;
use crate::procedure::model::Position;
use crate::procedure::nearest::suggestion;
use crate::procedure::problem::Findings;
use crate::procedure::resolve::lines;
use crate::procedure::written::tree::{Content, Key, Node};

const SAME_AS: &str = "same-as";

/// The steps as written, by id.
pub(crate) type Written<'a> = BTreeMap<&'a str, (&'a Position, &'a Node)>;

/// The keys of a step, its model's filled in.
pub(crate) fn fields<'a>(
    key: &'a Key,
    node: &'a Node,
    steps: &Written<'a>,
    findings: &mut Findings,
) -> Option<Fields<'a>> {
    let what = format!("step `{}`", key.scalar.value);
    let own = Fields::of(node, what.clone(), findings)?;
    let Some(pointer) = own.peek(SAME_AS) else {
        return Some(Fields::new(what, &key.position, entries(node).collect()));
    };
    let wanted = name(pointer, "`same-as`", findings)?;
    let written = steps.get(wanted.as_str());
    let Some((place, model)) = written.map(|(place, node)| (Some(*place), *node)) else {
        let known = steps.keys().copied();
        let namers = namers(&wanted, steps);
        if namers
            .first()
            .is_some_and(|first| *first != pointer.position)
        {
            return None; // told at the first that names it
        }
        findings.doubt(
            &pointer.position,
            format!(
                "there is no step `{wanted}` to be the same as{}",
                lines(&namers)
            ),
            "",
            suggestion(&wanted, known),
        );
        return None;
    };
    if entries(model).any(|(k, _)| k.scalar.value == SAME_AS) {
        findings.doubt(
            &pointer.position,
            format!("`{wanted}` is itself the same as another step"),
            "Whoever reads the sheet would have to follow from step to step.",
            "Name the step that is written out.".to_owned(),
        );
        return None;
    }
    let given = |name: &str| own.peek(name).is_some();
    let copied = entries(model).filter(|(k, _)| !given(&k.scalar.value));
    let own_entries = entries(node).filter(|(k, _)| k.scalar.value != SAME_AS);
    let mut merged: Vec<(&Key, &Node)> = own_entries.collect();
    let own_count = merged.len();
    merged.extend(copied);
    let mut fields = Fields::new(what, &key.position, merged);
    fields.own = own_count;
    if let Some(model) = place.filter(|_| !KINDS.into_iter().any(given)) {
        fields.lacking = model.clone();
    }
    Some(fields)
}

/// Where a step is named as one to be the same as.
fn namers(wanted: &str, steps: &Written<'_>) -> BTreeSet<Position> {
    let all = steps.values().flat_map(|(_, node)| entries(node));
    let named = all.filter(|(key, node)| {
        let Content::Scalar(scalar) = &node.content else {
            return false;
        };
        key.scalar.value == SAME_AS && scalar.value == wanted
    });
    named.map(|(_, node)| node.position.clone()).collect()
}

fn entries(node: &Node) -> impl Iterator<Item = (&Key, &Node)> {
    let list = match &node.content {
        Content::Map(entries) => entries.as_slice(),
        _ => &[],
    };
    list.iter().map(|(key, node)| (key, node))
}
