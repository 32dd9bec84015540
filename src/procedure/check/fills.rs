//! Does what fills a line of the record fit that line?

use crate::procedure::library::Sheet;
use crate::procedure::model::{Question, RecordLine, TextForm};
use crate::procedure::problem::Findings;
use crate::quantity::{Quantity, Unit};

pub(crate) fn check<T>(sheet: &Sheet<T>, findings: &mut Findings) {
    for (number, step) in sheet.procedure.steps.iter().enumerate() {
        let Some(line) = step.fills else {
            continue;
        };
        if let Some(wanted) = misfit(line, &step.question) {
            findings.flaw_of(
                &step.id,
                &sheet.places.of(number, step, "fills"),
                format!("step `{}` cannot fill the line `{}`", step.id, line.name()),
                "The record and the analysis read that line in one form.",
                format!("Ask with {wanted}."),
            );
        }
    }
}

/// What a line wants, where the question is something else.
fn misfit<T>(line: RecordLine, question: &Question<T>) -> Option<&'static str> {
    let measures = |quantity: Quantity| matches!(question, Question::Measure { form, .. } if form.unit.quantity() == quantity);
    let notes =
        |wanted: TextForm| matches!(question, Question::Note { form, .. } if *form == wanted);
    let told = matches!(
        question,
        Question::Note { .. } | Question::Choose { .. } | Question::Measure { .. }
    );
    let chosen = matches!(question, Question::Choose { .. });
    let (fits, wanted) = match line {
        RecordLine::Fuel => (
            chosen,
            "`choose`, with `petrol` and `diesel` among the choices",
        ),
        RecordLine::Cylinders => (
            matches!(question, Question::Measure { form, .. } if form.unit == Unit::Count),
            "`measure`, unit count",
        ),
        RecordLine::FiringOrder => (notes(TextForm::FiringOrder), "`note: firing order`"),
        RecordLine::FiringIntervals => {
            (notes(TextForm::FiringIntervals), "`note: firing intervals`")
        }
        RecordLine::Odometer => (measures(Quantity::Distance), "`measure`, unit km or mi"),
        RecordLine::RestrictorBore => (measures(Quantity::Length), "`measure`, unit mm or in"),
        RecordLine::SystemVoltage => (
            measures(Quantity::Voltage) || chosen,
            "`choose`, or `measure` with unit V",
        ),
        RecordLine::Vehicle
        | RecordLine::VehicleIdentity
        | RecordLine::Complaint
        | RecordLine::FiringOrderSource
        | RecordLine::NumberingSource
        | RecordLine::BatteryKind
        | RecordLine::Scope
        | RecordLine::Sensor
        | RecordLine::Gauge => (told, "`note` or `choose`"),
    };
    (!fits).then_some(wanted)
}
