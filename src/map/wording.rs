//! Words for what a step is and asks, the same in every form of the map.

use rust_decimal::Decimal;

use crate::procedure::model::{
    Interval, NumberForm, Question, Step, StepIndex, TextForm, UnaryTest, UnaryTests,
};
use crate::procedure::work::Work;
use crate::procedure::{Way, way_told};
use crate::quantity::Unit;
use crate::text::wrap;

/// What kind of step it is, in a word or two.
pub(super) fn kind(question: &Question<StepIndex>) -> String {
    match question {
        Question::Confirm { .. } => "yes or no".to_owned(),
        Question::Choose { .. } => "choice".to_owned(),
        Question::Measure { form, .. } => format!("number, {}", form.unit.symbol()),
        Question::Capture { .. } => "capture".to_owned(),
        Question::Note { form, .. } => match form {
            TextForm::Text => "note".to_owned(),
            TextForm::Optional => "note, if any".to_owned(),
            TextForm::FiringOrder => "firing order".to_owned(),
            TextForm::FiringIntervals => "firing intervals".to_owned(),
            TextForm::Date => "date".to_owned(),
        },
        Question::Compute { .. } => "computed".to_owned(),
        Question::Call { .. } => "procedure".to_owned(),
        Question::Outcome { kind, .. } => kind.name().to_owned(),
    }
}

/// What it asks, or what it comes to.
pub(super) fn asked(question: &Question<StepIndex>) -> String {
    match question {
        Question::Confirm { statement, .. } => statement.clone(),
        Question::Choose { ask, .. }
        | Question::Measure { ask, .. }
        | Question::Capture { ask, .. }
        | Question::Note { ask, .. } => ask.clone(),
        Question::Compute { computation, .. } => computation.name().to_owned(),
        Question::Call { procedure, .. } => procedure.clone(),
        Question::Outcome { finding, .. } => finding.clone(),
    }
}

/// A way out of a step; nothing where it is the only one.
pub(super) fn way(step: &Step<StepIndex>, way: Way) -> String {
    match (way, &step.at_most) {
        (Way::Only, _) => String::new(),
        (Way::PassedOver, Some(bound)) => format!("after {} times", bound.times),
        _ => way_told(&step.question, way),
    }
}

/// What the step vouches for: what holds, or is back, after yes.
pub(super) fn vouched(step: &Step<StepIndex>) -> Vec<String> {
    let holds = step
        .establishes
        .iter()
        .map(|c| format!("holds after yes: {c}"));
    let back = step.restores.iter().map(|c| format!("back after yes: {c}"));
    let off = step
        .disables
        .iter()
        .map(|d| format!("off from here: {}", d.item));
    holds.chain(back).chain(off).collect()
}

/// Kinds of work that can hurt.
pub(super) fn work(step: &Step<StepIndex>) -> Option<String> {
    let kinds: Vec<&str> = step
        .work
        .iter()
        .filter(|work| **work != Work::None)
        .map(|work| work.name())
        .collect();
    (!kinds.is_empty()).then(|| kinds.join(", "))
}

/// The tests of a branch for whoever reads no code: "13.80 to 14.80", "less than 12.20".
pub(super) fn tests(tests: &UnaryTests) -> String {
    let joined = |list: &[UnaryTest]| {
        let list: Vec<String> = list.iter().map(test).collect();
        list.join(" or ")
    };
    match tests {
        UnaryTests::Otherwise => "anything else".to_owned(),
        UnaryTests::Any(list) => joined(list),
        UnaryTests::Not(list) => format!("not: {}", joined(list)),
    }
}

fn test(test: &UnaryTest) -> String {
    let (low, high) = match test {
        UnaryTest::Name(name) => return words(name),
        UnaryTest::Range { low, high } => (low, high),
    };
    let from = |(end, included): (Decimal, bool)| match included {
        true => format!("{end} or more"),
        false => format!("more than {end}"),
    };
    let to = |(end, included): (Decimal, bool)| match included {
        true => format!("{end} or less"),
        false => format!("less than {end}"),
    };
    match (*low, *high) {
        (Some((low, true)), Some((high, true))) if low == high => low.to_string(),
        (Some((low, true)), Some((high, true))) => format!("{low} to {high}"),
        (Some(low), Some(high)) => format!("{} and {}", from(low), to(high)),
        (Some(low), None) => from(low),
        (None, Some(high)) => to(high),
        (None, None) => "anything".to_owned(),
    }
}

/// A name of a file as words: "cable bad".
pub(super) fn words(name: &str) -> String {
    name.replace('-', " ")
}

/// "0 to 20".
pub(super) fn range(range: &Interval) -> String {
    format!("{} to {}", range.least, range.greatest)
}

/// How exactly a number is noted, and what it can be: "a whole number, 3 to 8".
pub(super) fn number(form: &NumberForm) -> String {
    let possible = range(&form.possible);
    let mut told = if form.unit != Unit::Count {
        format!(
            "to {} {}; possible {possible}",
            form.resolution,
            form.unit.symbol()
        )
    } else if form.resolution == Decimal::ONE {
        format!("a whole number, {possible}")
    } else {
        format!("a number to {}, {possible}", form.resolution)
    };
    if let Some(expected) = &form.expected {
        told += &format!("; outside of {} measure again and note it", range(expected));
    }
    told
}

/// A text broken into lines of so many letters at most.
pub(super) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let lines = wrap(text, width, 0);
    lines.lines().map(str::to_owned).collect()
}

/// The same, of so many lines at most, the last ending in `…` where more would follow.
pub(super) fn shortened(text: &str, width: usize, lines: usize) -> Vec<String> {
    let mut all = wrapped(text, width);
    if all.len() > lines {
        all.truncate(lines);
        if let Some(last) = all.last_mut() {
            while last.chars().count() >= width {
                last.pop();
            }
            last.push('…');
        }
    }
    all
}
