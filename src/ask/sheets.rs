//! How the shipped steps look on the smallest screens that count: all of it fits, and colour adds nothing.

use dialoguer::console::measure_text_width;

use crate::ask::layout::Layout;
use crate::ask::terminal::Terminal;
use crate::ask::tests::Person;
use crate::procedure::model::{Procedure, Question, Step, StepIndex};
use crate::procedure::read_library_by;
use crate::procedure::rules::Rules;
use crate::run::closing::of_no;
use crate::run::screen::{Ends, Form, Screen};

/// Rows of the smallest terminal that is designed for.
const ROWS: usize = 24;
/// The line of the cursor.
const CURSOR: usize = 1;

/// The shipped sheets whose screens are tried.
const OUTERMOST: [&str; 2] = ["relative-compression", "follow-up"];

fn source(name: &str) -> Option<(String, String)> {
    let file = format!("{}/procedures/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
    let text = fs_err::read_to_string(&file).ok()?;
    Some((file, text))
}

/// A step's screen, as it stands in its sheet: values are not filled in.
fn screen(procedure: &Procedure<StepIndex>, step: &Step<StepIndex>) -> Option<Screen> {
    let (asked, form) = match &step.question {
        Question::Confirm { statement, .. } => (statement, Form::Confirm),
        Question::Choose { ask, choices, .. } => (ask, Form::Choose(choices.clone())),
        Question::Measure { ask, form, .. } => (ask, Form::Number(form.clone())),
        Question::Capture { ask, kind, .. } => (ask, Form::Capture(*kind)),
        Question::Note { ask, form, .. } => (ask, Form::Text(*form)),
        _ => return None,
    };
    Some(Screen {
        job: "0042".to_owned(),
        practice: false,
        step: step.id.clone(),
        phase: step.phase.clone(),
        number: 12,
        time: None,
        again_for: None,
        hazards: step.hazards.clone(),
        action: step.action.clone(),
        asked: asked.clone(),
        form,
        why: step.why.clone(),
        good: step.good.clone(),
        mistakes: step.mistakes.clone(),
        was: None,
        so_far: Vec::new(),
        disabled: Vec::new(),
        waiver: Err(String::new()),
        hint: match step.question {
            Question::Confirm { no, .. } => of_no(
                procedure,
                step,
                no,
                OUTERMOST.contains(&procedure.name.as_str()),
            ),
            _ => None,
        },
        again: false,
        ends: ends(procedure, &step.question),
        same_crank: false,
        closing: false,
    })
}

/// What the screen says where an answer leads to an outcome at once.
fn ends(procedure: &Procedure<StepIndex>, question: &Question<StepIndex>) -> Option<Ends> {
    let Question::Confirm { yes, no, .. } = question else {
        return None;
    };
    let outcome = |(name, at): (&str, StepIndex)| match &procedure.steps[at.0].question {
        Question::Outcome { kind, .. } => Some((name.to_owned(), *kind)),
        _ => None,
    };
    let answers: Vec<_> = [("yes", *yes), ("no", *no)]
        .into_iter()
        .filter_map(outcome)
        .collect();
    (!answers.is_empty()).then_some(Ends {
        answers,
        back: true,
        off: [
            "battery charger",
            "fuel pump relay",
            "fault memory",
            "remote start and stop-start",
        ]
        .map(str::to_owned)
        .to_vec(),
    })
}

fn screens() -> Vec<Screen> {
    let mut all = Vec::new();
    for name in OUTERMOST {
        let library = read_library_by(&Rules::default(), name, &source).unwrap();
        for procedure in library.procedures.values() {
            let steps = procedure.steps.iter();
            all.extend(steps.filter_map(|step| screen(procedure, step)));
        }
    }
    let ending = all.iter().filter(|screen| screen.ends.is_some()).count();
    assert!(ending > 20, "only {ending} endings");
    assert!(all.len() > 150, "only {} screens", all.len());
    all
}

#[test]
fn every_shipped_step_fits_a_screen_of_80_by_24_and_60_columns() {
    for screen in screens() {
        for columns in [60, 80] {
            let layout = Layout::new(columns, false);
            let text = layout.screen(&screen);
            let mut person = Person::new("", &[]);
            person.columns = columns;
            let clock = Box::new(String::new);
            let terminal = Terminal::new(person, false, clock, Box::new(|_| None));
            let text = text + &terminal.prompt(&screen);
            let widest = text.lines().map(measure_text_width).max().unwrap();
            assert!(widest <= columns, "{}: {widest} columns", screen.step);
            let rows = text.lines().count() + CURSOR;
            assert!(
                columns < 80 || rows <= ROWS,
                "{}: {rows} rows\n{text}",
                screen.step
            );
        }
    }
}
