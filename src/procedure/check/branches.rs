//! Does exactly one branch hold for every value that can come? Gaps, overlaps, tests that never
//! hold, unknown names and numbers finer than the resolution.

use std::collections::BTreeMap;

use super::grid::{Grid, Runs, first_common, union};
use super::kinds::{self, Kind, OUTCOME};
use crate::procedure::edges;
use crate::procedure::library::{Sheet, Sheets};
use crate::procedure::model::{Branch, Next, NumberForm, Question, Step, UnaryTest, UnaryTests};
use crate::procedure::nearest::suggestion;
use crate::procedure::problem::Findings;

const NOWHERE: &str = "The job would stand still there, with no next step.";
const TWICE: &str = "Which way is taken must not depend on the order of the lines.";

/// The branches of one step.
struct At<'a, T> {
    sheet: &'a Sheet<T>,
    number: usize,
    step: &'a Step<T>,
    branches: &'a [Branch<T>],
    findings: &'a mut Findings,
}

pub(crate) fn check<T>(sheet: &Sheet<T>, sheets: &Sheets<T>, findings: &mut Findings) {
    for (number, step) in sheet.procedure.steps.iter().enumerate() {
        if let Question::Measure { form, .. } = &step.question {
            check_form(sheet, number, step, form, findings);
        }
        let Some(Next::When(branches)) = edges::next(step) else {
            continue;
        };
        let mut at = At {
            sheet,
            number,
            step,
            branches,
            findings,
        };
        at.check_otherwise();
        if sheet.places.in_doubt(number, "test") {
            continue;
        }
        match tested(step, sheet, sheets) {
            Ok(Some(Kind::Name(names))) => at.check_names(&names),
            Ok(Some(Kind::Number(_, Some(grid)))) => at.check_numbers(&grid),
            Ok(Some(Kind::Number(_, None)) | None) => {}
            Ok(Some(_)) => at.cannot_branch(),
            Err(none) => {
                let (message, remedy) = none.told(sheet, at.findings.list.len());
                let place = sheet.places.of(number, step, "test");
                at.findings.flaw(&place, message, NOWHERE, remedy);
            }
        }
    }
}

/// The kind of the value that the branches of a step test.
fn tested<T>(
    step: &Step<T>,
    sheet: &Sheet<T>,
    sheets: &Sheets<T>,
) -> Result<Option<Kind>, kinds::NoValue> {
    let (tested, default) = match &step.question {
        Question::Compute { tested, .. } => (tested, None),
        Question::Call { tested, .. } => (tested, Some(OUTCOME)),
        _ => {
            let path = crate::procedure::model::ValuePath {
                of: step.id.clone(),
                fact: None,
            };
            return kinds::kind(&path, sheet, sheets);
        }
    };
    let Some(fact) = tested.as_deref().or(default) else {
        let message = format!(
            "step `{}` does not say which fact its branches test",
            step.id
        );
        let remedy = "Add `test: verdict`, for instance.".to_owned();
        return Err(kinds::NoValue::Told(message, remedy));
    };
    kinds::fact_kind(&step.question, &step.id, fact, sheets)
}

fn check_form<T>(
    sheet: &Sheet<T>,
    number: usize,
    step: &Step<T>,
    form: &NumberForm,
    findings: &mut Findings,
) {
    let ranges = [
        ("possible", Some(form.possible)),
        ("expected", form.expected),
    ];
    for (key, range) in ranges {
        let Some(range) = range else { continue };
        let place = sheet.places.of(number, step, key);
        if Grid::new(form.resolution, range.least, range.greatest).is_none() {
            findings.flaw(
                &place,
                format!(
                    "an end of `{key}` is no multiple of the resolution {}",
                    form.resolution
                ),
                "Values lie on the grid of the resolution; such an end is never reached.",
                "Round the ends, or make the resolution finer.".to_owned(),
            );
        }
        if range.least < form.possible.least || range.greatest > form.possible.greatest {
            findings.flaw(
                &place,
                "what is expected is not possible".to_owned(),
                "",
                "Widen `possible` or narrow `expected`.".to_owned(),
            );
        }
    }
}

impl<T> At<'_, T> {
    fn flaw(&mut self, branch: Option<usize>, message: String, why: &str, remedy: String) {
        let part = branch.map_or_else(|| "then".to_owned(), |number| format!("then/{number}"));
        let place = self.sheet.places.of(self.number, self.step, &part);
        self.findings.flaw(&place, message, why, remedy);
    }

    fn check_otherwise(&mut self) {
        let others: Vec<usize> = (0..self.branches.len())
            .filter(|n| self.branches[*n].tests == UnaryTests::Otherwise)
            .collect();
        for number in others.iter().skip(1) {
            let remedy = "Keep one.".to_owned();
            self.flaw(
                Some(*number),
                "a second `otherwise`".to_owned(),
                TWICE,
                remedy,
            );
        }
        if self.branches.is_empty() {
            let remedy = "Write `then: step-id` or a list of branches.".to_owned();
            self.flaw(None, "`then` is an empty list".to_owned(), NOWHERE, remedy);
        }
    }

    fn cannot_branch(&mut self) {
        let message = format!(
            "step `{}` has branches over something that cannot be tested",
            self.step.id
        );
        let remedy = "Write `then: step-id`; only numbers, choices, named facts and outcomes are \
                      tested.";
        self.flaw(None, message, "", remedy.to_owned());
    }

    fn check_names(&mut self, names: &[String]) {
        let mut taken: BTreeMap<&str, usize> = BTreeMap::new();
        let mut sound = true;
        for (number, branch) in self.branches.iter().enumerate() {
            let (UnaryTests::Any(list) | UnaryTests::Not(list)) = &branch.tests else {
                continue;
            };
            sound &= self.check_known(number, list, names);
            let holds = |name: &str| {
                crate::procedure::unary::holds(
                    &branch.tests,
                    crate::procedure::unary::Tested::Name(name),
                )
            };
            for name in names.iter().filter(|name| holds(name)) {
                if let Some(first) = taken.insert(name, number) {
                    let other = &self.branches[first].written;
                    let message = format!("`{name}` is taken twice: here and by `{other}`");
                    let remedy = "Take it out of one of the two.".to_owned();
                    self.flaw(Some(number), message, TWICE, remedy);
                }
            }
        }
        let left: Vec<&str> = names
            .iter()
            .map(String::as_str)
            .filter(|name| !taken.contains_key(name))
            .collect();
        self.check_rest(&left.join(", "), sound);
    }

    fn check_known(&mut self, number: usize, list: &[UnaryTest], names: &[String]) -> bool {
        let mut sound = true;
        for test in list {
            let message = match test {
                UnaryTest::Name(name) if names.contains(name) => continue,
                UnaryTest::Name(name) => format!("`{name}` never comes here"),
                UnaryTest::Range { .. } => "a number is tested where a name comes".to_owned(),
            };
            sound = false;
            let remedy = match test {
                UnaryTest::Name(name) => suggestion(name, names.iter().map(String::as_str)),
                UnaryTest::Range { .. } => format!("Names that come: {}.", names.join(", ")),
            };
            self.flaw(
                Some(number),
                message,
                "The branch would never be taken.",
                remedy,
            );
        }
        sound
    }

    /// `left`: what no branch takes, in words. It must be empty without `otherwise` and must not be
    /// with it.
    fn check_rest(&mut self, left: &str, sound: bool) {
        let otherwise = self
            .branches
            .iter()
            .position(|b| b.tests == UnaryTests::Otherwise);
        match otherwise {
            None if !left.is_empty() => {
                let message = format!("no branch of step `{}` takes this: {left}", self.step.id);
                let remedy = "Widen a test, add a branch, or add `when: otherwise`.".to_owned();
                self.flaw(None, message, NOWHERE, remedy);
            }
            Some(number) if left.is_empty() && sound => {
                let message = "`otherwise` never holds: the others take everything".to_owned();
                let remedy = "Take the branch away, or narrow another.".to_owned();
                self.flaw(Some(number), message, "", remedy);
            }
            _ => {}
        }
    }

    fn check_numbers(&mut self, grid: &Grid) {
        let mut taken: Vec<(usize, Runs)> = Vec::new();
        let mut sound = true;
        for (number, branch) in self.branches.iter().enumerate() {
            let Some(runs) = self.runs(number, branch, grid) else {
                sound = false;
                continue;
            };
            let overlap = taken.iter().find_map(|(other, others)| {
                first_common(&runs, others).map(|common| (*other, common))
            });
            if let Some((other, common)) = overlap {
                let message = format!(
                    "`{}` and `{}` both hold for {}",
                    self.branches[other].written,
                    branch.written,
                    span(grid, common)
                );
                let remedy = "Move the limit of one of the two.".to_owned();
                self.flaw(Some(number), message, TWICE, remedy);
            }
            taken.push((number, runs));
        }
        if sound {
            let all = union(taken.into_iter().flat_map(|(_, runs)| runs));
            let left: Vec<String> = grid.rest(&all).into_iter().map(|r| span(grid, r)).collect();
            self.check_rest(&left.join(", "), true);
        }
    }

    /// Where a branch holds; `None`, with the reason reported, where that is not decided.
    fn runs(&mut self, number: usize, branch: &Branch<T>, grid: &Grid) -> Option<Runs> {
        let (UnaryTests::Any(list) | UnaryTests::Not(list)) = &branch.tests else {
            return Some(Runs::new());
        };
        let mut sound = true;
        for test in list {
            match (test, grid.run(test)) {
                (_, Some(runs)) if !runs.is_empty() => {}
                (UnaryTest::Name(name), _) => {
                    sound = false;
                    let message = format!("`{name}` is tested where a number comes");
                    let remedy = "Write a comparison or a range: \"< 12.2\".".to_owned();
                    self.flaw(Some(number), message, "", remedy);
                }
                (_, None) => {
                    sound = false;
                    let message = format!(
                        "`{}` is finer than the resolution {}",
                        branch.written, grid.resolution
                    );
                    let remedy = "Round the limit, or make the resolution finer.".to_owned();
                    self.flaw(Some(number), message, "No reading lies there.", remedy);
                }
                (_, Some(_)) => {
                    let message = format!("a test in `{}` never holds", branch.written);
                    let whole = span(grid, (grid.least, grid.greatest));
                    let remedy = format!("Possible values: {whole}.");
                    self.flaw(Some(number), message, "", remedy);
                }
            }
        }
        let runs = grid.runs(&branch.tests).filter(|_| sound)?;
        if runs.is_empty() && matches!(branch.tests, UnaryTests::Not(_)) {
            let message = format!("`{}` never holds", branch.written);
            let remedy = "Take the branch away, or narrow what it excludes.".to_owned();
            self.flaw(Some(number), message, "", remedy);
        }
        Some(runs)
    }
}

/// "12.20", "12.20 to 12.39".
fn span(grid: &Grid, (from, to): (i128, i128)) -> String {
    if from == to {
        grid.value(from)
    } else {
        format!("{} to {}", grid.value(from), grid.value(to))
    }
}

#[cfg(test)]
mod tests {
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
}
