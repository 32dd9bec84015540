//! What a reply should look like, where that is not plain.

use crate::procedure::model::{NumberForm, TextForm};
use crate::run::screen::Form;

/// What a reply should look like, where that is not plain.
pub(super) fn hint(form: &Form) -> Option<String> {
    match form {
        Form::Number(form) => Some(number_hint(form)),
        Form::Text(TextForm::FiringOrder) => Some("as in 1-3-4-2".to_owned()),
        Form::Text(TextForm::FiringIntervals) => Some(
            "degrees from each firing to the next, as in 90 150 90 150 90 150, or even".to_owned(),
        ),
        Form::Text(TextForm::Date) => Some("as in 2026-03-02".to_owned()),
        Form::Text(TextForm::Optional) => Some("may be left empty".to_owned()),
        Form::Capture(_) => Some(
            "path of the CSV file; what its columns hold is asked once, or stands beside it in NAME.setup.yaml"
                .to_owned(),
        ),
        _ => None,
    }
}

fn number_hint(form: &NumberForm) -> String {
    use crate::quantity::{Quantity, Unit};
    // a reading of one kind taken for the other would be wrong by an atmosphere
    let zero = match form.unit.quantity() {
        Quantity::GaugePressure => "; gauge pressure, 0 in open air",
        Quantity::AbsolutePressure => "; absolute pressure, not 0 in open air",
        _ => "",
    };
    let range = format!("{} to {}", form.possible.least, form.possible.greatest);
    if form.meant != form.unit {
        return format!(
            "in {}, or with its unit as in {} {}; kept in steps of {} {}, {range} {}{zero}",
            form.meant.symbol(),
            form.possible.greatest,
            form.unit.symbol(),
            form.resolution,
            form.unit.symbol(),
            form.unit.symbol()
        );
    }
    match form.unit {
        Unit::Count => format!("a number, {range}"),
        unit => format!(
            "in {}, steps of {}, {range}{zero}",
            unit.symbol(),
            form.resolution
        ),
    }
}
