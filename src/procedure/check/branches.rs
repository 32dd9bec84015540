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
                at.findings
                    .flaw_of(&step.id, &place, message, NOWHERE, remedy);
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
        let step = &self.step.id;
        self.findings.flaw_of(step, &place, message, why, remedy);
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
            sound &= list.iter().all(|test| known(test, names));
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
        // what no branch takes is what the misspelt one means
        if sound {
            self.check_rest(&left.join(", "), true);
        } else {
            self.unknown_names(names, &left);
        }
    }

    /// Tests for names that do not come. Which way is taken is in doubt then. `left`: names that no branch takes.
    fn unknown_names(&mut self, names: &[String], left: &[&str]) {
        let branches = self.branches;
        let tests = branches.iter().enumerate().flat_map(|(number, branch)| {
            let (UnaryTests::Any(list) | UnaryTests::Not(list)) = &branch.tests else {
                return Vec::new();
            };
            list.iter().map(|test| (number, test)).collect()
        });
        for (number, test) in tests.filter(|(_, test)| !known(test, names)) {
            let message = match test {
                UnaryTest::Name(name) => format!("`{name}` never comes here"),
                UnaryTest::Range { .. } => "a number is tested where a name comes".to_owned(),
            };
            let remedy = match test {
                UnaryTest::Name(_) if left.len() == 1 => {
                    format!("Did you mean `{}`? No branch takes it yet.", left[0])
                }
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
        self.findings.in_doubt = true;
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
        let mut or_meant_and: Option<&str> = None;
        for (number, branch) in self.branches.iter().enumerate() {
            let Some(runs) = self.runs(number, branch, grid) else {
                sound = false;
                continue;
            };
            let overlap = taken.iter().find_map(|(other, others)| {
                first_common(&runs, others).map(|common| (*other, common))
            });
            if let Some((other, common)) = overlap {
                let both = [&self.branches[other], branch];
                let between = both.into_iter().find_map(|one| Some((one, between(one)?)));
                let culprit = between.as_ref().map(|(one, _)| one.written.as_str());
                if culprit.is_some() && culprit == or_meant_and {
                    continue; // told already
                }
                or_meant_and = culprit.or(or_meant_and);
                let message = format!(
                    "`{}` and `{}` both hold for {}",
                    self.branches[other].written,
                    branch.written,
                    span(grid, common)
                );
                let remedy = match between {
                    Some((one, meant)) => format!(
                        "The comma in `{}` means or: it takes everything. For between write \"{meant}\".",
                        one.written
                    ),
                    None => "Move the limit of one of the two.".to_owned(),
                };
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

/// `[13.80..14.80]` where tests say `>= 13.80, <= 14.80`, which together take everything.
fn between<T>(branch: &Branch<T>) -> Option<String> {
    let UnaryTests::Any(tests) = &branch.tests else {
        return None;
    };
    let [
        UnaryTest::Range { low: a, high: b },
        UnaryTest::Range { low: c, high: d },
    ] = &tests[..]
    else {
        return None;
    };
    let ((low, from), (high, to)) = match (a, b, c, d) {
        (Some(low), None, None, Some(high)) | (None, Some(high), Some(low), None) => (*low, *high),
        _ => return None,
    };
    let (open, close) = (if from { '[' } else { '(' }, if to { ']' } else { ')' });
    (low <= high).then(|| format!("{open}{low}..{high}{close}"))
}

/// Whether a test is for a name that comes.
fn known(test: &UnaryTest, names: &[String]) -> bool {
    matches!(test, UnaryTest::Name(name) if names.contains(name))
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
mod tests;
