//! Steps that have nothing to say to whoever asks why they are there: no mistake to any proof, and the apprentice who asks
//! learns nothing.

use crate::procedure::model::{Library, Procedure, Question, Step, StepIndex};
use crate::procedure::problem::Problem;
use crate::text::counted;

/// A remark for each procedure that has such steps, at the first of them.
pub(super) fn remarks(library: &Library) -> Vec<Problem> {
    let procedures = library.procedures.values();
    procedures.filter_map(of_procedure).collect()
}

fn of_procedure(procedure: &Procedure<StepIndex>) -> Option<Problem> {
    let silent: Vec<&Step<StepIndex>> = procedure.steps.iter().filter(|s| is_silent(s)).collect();
    let first = silent.first()?;
    let message = match silent.len() {
        1 => format!("step `{}` answers `?` with nothing", first.id),
        count => format!(
            "{} answer `?` with nothing; the first is `{}`",
            counted(count, "step"),
            first.id
        ),
    };
    let remark = Problem::new(
        &first.position,
        message,
        "Whoever does not know what a step is for asks there, and skips or guesses what is not told.",
        "Give each a `why` in a sentence; `good` says what a good answer looks like, `mistakes` what goes wrong.",
    );
    Some(remark.of_step(&first.id))
}

/// Whether a person is asked, and gets none of these texts.
fn is_silent(step: &Step<StepIndex>) -> bool {
    let asks = match step.question {
        Question::Confirm { .. }
        | Question::Choose { .. }
        | Question::Measure { .. }
        | Question::Capture { .. }
        | Question::Note { .. } => true,
        Question::Compute { .. } | Question::Call { .. } | Question::Outcome { .. } => false,
    };
    asks && step.why.is_none() && step.good.is_none() && step.mistakes.is_none()
}

#[cfg(test)]
mod tests {
    use super::super::tests::{library, placed};
    use super::*;

    fn told(text: &str) -> Vec<String> {
        placed(&remarks(&library("a", text)))
    }

    /// Counted over the steps that ask a person; outcomes and computations do not.
    #[test]
    fn steps_without_a_word_of_help_are_counted() {
        let step = |id: &str, then: &str, more: &str| {
            format!("  {id}:\n    phase: p\n    ask: A\n    note: text\n{more}    then: {then}\n")
        };
        let text = |first: &str, second: &str| {
            let steps = step("one", "two", first) + &step("two", "end", second);
            format!(
                "procedure: a\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n{steps}  end:\n    outcome: not-done\n    \
                 finding: f\n"
            )
        };
        let (why, good) = ("    why: So that it is known.\n", "    good: A word.\n");
        let both = "6: 2 steps answer `?` with nothing; the first is `one`";
        assert_eq!(told(&text("", "")), [both]);
        let second = "12: step `two` answers `?` with nothing";
        assert_eq!(told(&text(why, "")), [second]);
        assert_eq!(told(&text(why, good)), [""; 0]);
    }
}
