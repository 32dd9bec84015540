//! Against trying every value.

use proptest::prelude::*;
use rust_decimal::Decimal;

use crate::procedure::read_library;
use crate::procedure::unary::{self, Tested};

/// Half volts from -2 to 5: every value can be tried.
fn values() -> impl Iterator<Item = Decimal> {
    (-4..=10).map(|steps| Decimal::new(steps * 5, 1))
}

fn limit() -> impl Strategy<Value = String> {
    (-6_i64..=12).prop_map(|steps| Decimal::new(steps * 5, 1).to_string())
}

fn test() -> impl Strategy<Value = String> {
    let comparison = (prop::sample::select(vec!["<", "<=", ">", ">="]), limit());
    let brackets = (
        prop::sample::select(vec!["[", "(", "]"]),
        limit(),
        limit(),
        prop::sample::select(vec!["]", ")", "["]),
    );
    prop_oneof![
        comparison.prop_map(|(sign, limit)| format!("{sign} {limit}")),
        brackets.prop_map(|(open, low, high, close)| format!("{open}{low}..{high}{close}")),
        limit(),
    ]
}

fn tests() -> impl Strategy<Value = String> {
    let list = prop::collection::vec(test(), 1..3).prop_map(|list| list.join(", "));
    let list = list.boxed();
    prop_oneof![
        4 => list.clone(),
        1 => list.prop_map(|list| format!("not({list})")),
        1 => Just("otherwise".to_owned()),
    ]
}

fn messages(branches: &[String]) -> Vec<String> {
    let mut text = "procedure: p\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n  ask:\n    phase: p\n    \
                    ask: q\n    measure: {unit: V, resolution: 0.5, possible: \"[-2..5]\"}\n    then:\n"
        .to_owned();
    for branch in branches {
        text.push_str(&format!("      - when: \"{branch}\"\n        go: end\n"));
    }
    text.push_str("  end:\n    outcome: not-done\n    finding: f\n");
    let source = |_: &str| Some(("p.yaml".to_owned(), text.clone()));
    let found = read_library("p", &source).err().unwrap_or_default();
    found.into_iter().map(|problem| problem.message).collect()
}

proptest! {
    /// Against trying every value of the grid.
    #[test]
    fn gaps_and_overlaps_are_what_trying_every_value_finds(
        branches in prop::collection::vec(tests(), 1..4),
    ) {
        let read: Vec<_> = branches.iter().map(|b| unary::parse(b).unwrap()).collect();
        let named: Vec<_> = read.iter().filter(|b| **b != super::UnaryTests::Otherwise).collect();
        let holding = |value: Decimal| {
            named.iter().filter(|b| unary::holds(b, Tested::Number(value))).count()
        };
        let others = read.len() - named.len();
        let gap = values().any(|value| holding(value) == 0);
        let overlap = values().any(|value| holding(value) > 1);
        let found = messages(&branches);
        let has = |part: &str| found.iter().any(|message| message.contains(part));
        prop_assert_eq!(has("both hold"), overlap, "{:?}", found);
        prop_assert_eq!(has("no branch"), gap && others == 0, "{:?}", found);
        prop_assert_eq!(has("`otherwise` never holds"), !gap && others > 0, "{:?}", found);
        prop_assert_eq!(has("a second `otherwise`"), others > 1, "{:?}", found);
    }
}
