//! Readings that cannot be beside one another, refused while the second one is asked and not only when they are reckoned
//! with.

use crate::followup::leak_down::{LeakDownError, loss_percent};
use crate::procedure::computation::Computation;
use crate::procedure::model::Question;
use crate::quantity::Measured;
use crate::run::event::Answer;
use crate::run::refusal::Refusal;
use crate::run::value::Value;
use crate::run::walk::{Walk, split};

/// What a leak-down takes.
const SUPPLY: &str = "supply";
const READING: &str = "reading";

/// Judge what was read at that step beside the supply that it is compared with.
///
/// # Errors
/// Where the cylinder would hold more than is supplied.
pub(super) fn beside_supply(walk: &Walk<'_>, path: &str, answer: &Answer) -> Result<(), Refusal> {
    let Answer::Number { value, unit, .. } = answer else {
        return Ok(());
    };
    let (value, unit) = (*value, *unit);
    let reading = Measured { value, unit };
    let (scope, id) = split(path);
    for step in &walk.procedure_of(scope)?.steps {
        let Question::Compute {
            computation: Computation::LeakDown,
            with,
            ..
        } = &step.question
        else {
            continue;
        };
        if with.get(READING).is_none_or(|path| path.of != id) {
            continue;
        }
        let supply = with.get(SUPPLY).and_then(|path| walk.read(scope, path));
        if let Some(Value::Number(supply)) = supply
            && let Err(why @ LeakDownError::ReadingAboveSupply { .. }) =
                loss_percent(*supply, reading)
        {
            return Err(Refusal::Together(why.to_string()));
        }
    }
    Ok(())
}
