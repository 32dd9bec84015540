//! Where on a work sheet a value is written that another place of it has a blank for.

use std::collections::BTreeSet;

use super::wording;
use crate::procedure::model::{Procedure, Question, StepIndex, ValuePath};

/// The letter of a sheet: nothing for the outermost, then A, B, …
pub(super) fn letter(number: usize) -> String {
    let letters = u8::try_from(number).ok().and_then(|n| n.checked_sub(1));
    letters.map_or_else(String::new, |n| char::from(b'A' + n % 26).to_string())
}

/// "step 3", "lowest cylinder, step 7", and "whole: step 17" for what a caller hands over; its name alone where nobody
/// on the sheet calls.
pub(super) fn place(
    all: &[&Procedure<StepIndex>],
    of: &Procedure<StepIndex>,
    path: &ValuePath,
) -> String {
    let mut search = Search {
        all,
        seen: BTreeSet::new(),
        found: Vec::new(),
    };
    search.from(of, path);
    let steps = search.found.join(" or ");
    let own = of.steps.iter().any(|step| step.id == path.of);
    match (&path.fact, own) {
        _ if steps.is_empty() => wording::words(&path.of),
        (Some(fact), _) => format!("{fact}, step {steps}"),
        (None, true) => format!("step {steps}"),
        (None, false) => format!("{}: step {steps}", wording::words(&path.of)),
    }
}

/// The steps where a value is written, through what is handed over and what is given back.
struct Search<'a> {
    all: &'a [&'a Procedure<StepIndex>],
    /// Procedures and values in them that were looked for already.
    seen: BTreeSet<(String, String)>,
    found: Vec<String>,
}

impl Search<'_> {
    fn from(&mut self, of: &Procedure<StepIndex>, path: &ValuePath) {
        if !self.seen.insert((of.name.clone(), path.to_string())) {
            return;
        }
        let Some(at) = of.steps.iter().position(|step| step.id == path.of) else {
            self.handed_over(&of.name, &path.of);
            return;
        };
        if let (Question::Call { procedure, .. }, Some(fact)) = (&of.steps[at].question, &path.fact)
        {
            let called = self.all.iter().find(|called| called.name == *procedure);
            if let Some((called, given)) = called.and_then(|c| Some((*c, c.gives.get(fact)?))) {
                self.from(called, given);
                return;
            }
        }
        let sheet = self.all.iter().position(|other| other.name == of.name);
        let number = format!("{}{}", letter(sheet.unwrap_or(0)), at + 1);
        if !self.found.contains(&number) {
            self.found.push(number);
        }
    }

    /// A value that those who call hand over, by its name.
    fn handed_over(&mut self, to: &str, name: &str) {
        for caller in self.all {
            for step in &caller.steps {
                if let Question::Call {
                    procedure, with, ..
                } = &step.question
                    && procedure == to
                    && let Some(path) = with.get(name)
                {
                    self.from(caller, path);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::map::sheet;
    use crate::procedure::read_library;

    const CALLER: &str = r#"procedure: whole
revision: 1
title: Whole
purpose: A reading that is handed over.
steps:
  total:
    phase: measure
    ask: What is the whole?
    measure: {quantity: voltage, unit: V, resolution: 0.1, possible: "[0..32]"}
    then: place
  place:
    call: part
    with: {whole: total}
    then: done
  done:
    outcome: nothing-found
    finding: "A part loses {place.drop} of {total}."
"#;

    const CALLED: &str = r#"procedure: part
revision: 1
title: Part
purpose: A part of what was handed over.
takes: [whole]
gives: {drop: reading}
steps:
  reading:
    phase: measure
    do: "The whole lost {whole}."
    work: none
    ask: What does the part lose?
    measure: {quantity: voltage, unit: V, resolution: 0.1, possible: "[0..32]"}
    then: read
  read:
    outcome: nothing-found
    finding: "It lost {reading}."
"#;

    /// A blank names the step where its value is written, on whichever sheet that is.
    #[test]
    fn what_is_handed_over_is_named_by_the_step_where_it_is_written() {
        let source = |name: &str| {
            let text = if name == "part" { CALLED } else { CALLER };
            Some((format!("{name}.yaml"), text.to_owned()))
        };
        let library = read_library("whole", &source).unwrap();
        let sheet = sheet(&library, "whole", None);
        assert!(
            sheet.contains("The whole lost ________ (whole: step 1)."),
            "{sheet}"
        );
        assert!(
            sheet.contains("A part loses ________ (drop, step A1) of ________ (step 1)."),
            "{sheet}"
        );
        assert!(sheet.contains("It lost ________ (step A1)."));
    }
}
