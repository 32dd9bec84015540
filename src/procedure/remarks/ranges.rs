//! A range that no reading of its unit can have in a workshop, or none that the computation which reads it can use: mostly
//! the number of one unit beside the name of another.

use rust_decimal::Decimal;

use crate::procedure::computation::{Computation, InputKind};
use crate::procedure::model::{NumberForm, Procedure, Question, Step, StepIndex};
use crate::procedure::problem::Problem;
use crate::quantity::{Measured, Unit};

/// More than is read of an engine or its starting system, in any unit of the same quantity. Our own choice, no source:
/// coils reach 400 V, starters 2,500 A, gauges 1,000 psi, engines 15,000 rpm; below a perfect vacuum there is none.
const MOST: [(Unit, i64); 6] = [
    (Unit::Volt, 1_000),
    (Unit::Ampere, 5_000),
    (Unit::Psi, 1_000),
    (Unit::PsiAbsolute, 1_000),
    (Unit::Rpm, 20_000),
    (Unit::InchMercury, 32),
];

/// What an input of a computation can mean, in thousandths of the unit in which it is read. Our own choice, no source:
/// wider than the range of any step of the shipped procedures that is handed over there.
const MEANT: [(Computation, &str, i64, i64); 20] = [
    (Computation::LeakDown, "supply", 5_000, 300_000),
    (Computation::LeakDown, "reading", 1_000, 300_000),
    (Computation::LeakDown, "bore", 100, 10_000),
    (
        Computation::StaticCompression,
        "readings",
        10_000,
        1_500_000,
    ),
    (Computation::WetGain, "dry", 10_000, 1_500_000),
    (Computation::WetGain, "wet", 10_000, 1_500_000),
    (
        Computation::RunningCompression,
        "cranking",
        10_000,
        1_500_000,
    ),
    (Computation::RunningCompression, "idle", 5_000, 1_500_000),
    (Computation::RunningCompression, "snap", 5_000, 1_500_000),
    (Computation::ManifoldVacuum, "vacuum", 1_000, 32_000),
    (Computation::RestedBattery, "voltage", 1_000, 60_000),
    (Computation::CrankingVoltage, "voltage", 1_000, 60_000),
    (Computation::CrankingCircuit, "positive", 100, 60_000),
    (Computation::CrankingCircuit, "ground", 100, 60_000),
    (Computation::CrankingCircuit, "current", 10_000, 5_000_000),
    (Computation::CableDrop, "drop", 20, 60_000),
    (Computation::CableDrop, "current", 10_000, 5_000_000),
    (Computation::CableDrop, "length", 50, 50_000),
    (Computation::JointDrop, "drop", 20, 60_000),
    (Computation::ClampPlan, "rating", 1_000, 10_000_000),
];

const WHY: &str = "Whoever types a reading in the wrong unit is not stopped: a range is there to refuse what cannot be.";

/// A remark for each range of the steps of a procedure that cannot be meant, once for each step.
pub(super) fn remarks(procedure: &Procedure<StepIndex>) -> Vec<Problem> {
    let measured = procedure
        .steps
        .iter()
        .filter_map(|step| match &step.question {
            Question::Measure { form, .. } => Some((step, form)),
            _ => None,
        });
    let remark = |(step, form)| too_much(step, form).or_else(|| not_meant(step, form, procedure));
    measured.filter_map(remark).collect()
}

fn too_much(step: &Step<StepIndex>, form: &NumberForm) -> Option<Problem> {
    let in_unit = |(unit, most): &(Unit, i64)| {
        let (_, greatest) = ends(form, *unit)?;
        (greatest > Decimal::from(*most)).then_some((*unit, *most))
    };
    let (unit, most) = MOST.iter().find_map(in_unit)?;
    let message = format!(
        "step `{}` lets a reading be up to {} {}",
        step.id,
        form.possible.greatest,
        form.unit.symbol()
    );
    let remedy = format!(
        "No reading in a workshop is above {most} {}: a slip of the unit, or a nought too many? Narrow \
         `possible` to what the instrument can show.",
        unit.symbol()
    );
    Some(Problem::new(&step.position, message, WHY, remedy).of_step(&step.id))
}

/// The first computation of the same procedure that reads the step and can make nothing of any number in its range.
fn not_meant(
    step: &Step<StepIndex>,
    form: &NumberForm,
    procedure: &Procedure<StepIndex>,
) -> Option<Problem> {
    let reads = procedure
        .steps
        .iter()
        .filter_map(|reader| match &reader.question {
            Question::Compute {
                computation, with, ..
            } => Some((reader, *computation, with)),
            _ => None,
        });
    reads.into_iter().find_map(|(reader, computation, with)| {
        let handed = with.iter().filter(|(_, path)| path.of == step.id && path.fact.is_none());
        handed.into_iter().find_map(|(name, _)| {
            let (unit, least, greatest) = meant(computation, name)?;
            let (from, to) = ends(form, unit)?;
            (to < least || from > greatest).then(|| {
                let message = format!(
                    "step `{}` lets a reading be {} to {} {}, which as `{name}` of `{}` (step `{}`) means nothing",
                    step.id,
                    form.possible.least,
                    form.possible.greatest,
                    form.unit.symbol(),
                    computation.name(),
                    reader.id
                );
                let symbol = unit.symbol();
                let remedy = format!(
                    "A slip of the unit? There {least} to {greatest} {symbol} can be meant; the range is {} to {} {symbol}.",
                    from.normalize(),
                    to.normalize()
                );
                Problem::new(&step.position, message, WHY, remedy).of_step(&step.id)
            })
        })
    })
}

/// What an input can mean: the unit in which it is read, least and greatest.
fn meant(computation: Computation, name: &str) -> Option<(Unit, Decimal, Decimal)> {
    let known =
        |(of, input, ..): &&(Computation, &str, i64, i64)| *of == computation && *input == name;
    let (_, _, least, greatest) = MEANT.iter().find(known)?;
    let input = computation
        .inputs()
        .into_iter()
        .find(|input| input.name == name)?;
    let (InputKind::Number(unit) | InputKind::Series(unit)) = input.kind else {
        return None;
    };
    let whole = |thousandths: &i64| Decimal::new(*thousandths, 3).normalize();
    Some((unit, whole(least), whole(greatest)))
}

/// The ends of what is possible in another unit; none where it measures something else.
fn ends(form: &NumberForm, unit: Unit) -> Option<(Decimal, Decimal)> {
    let end = |value| {
        Measured {
            value,
            unit: form.unit,
        }
        .convert(unit)
        .ok()
    };
    let (least, greatest) = (end(form.possible.least)?, end(form.possible.greatest)?);
    Some((least.value, greatest.value))
}

#[cfg(test)]
mod tests {
    use super::super::tests::{library, placed};
    use super::*;

    /// What is said of a reading of that unit and range that `rested battery` reads.
    fn told(form: &str) -> Vec<String> {
        let text = format!(
            "procedure: a\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n  volts:\n    phase: p\n    ask: Voltage\n    \
             measure: {{{form}}}\n    then: kind\n  kind:\n    ask: Which battery?\n    choose: {{flooded: Flooded, gel: \
             Gel}}\n    then: system\n  system:\n    ask: Which system?\n    choose: {{twelve-volts: 12 V, \
             twenty-four-volts: 24 V}}\n    then: judge\n  judge:\n    compute: rested battery\n    with: {{voltage: volts, \
             system: system, kind: kind}}\n    then: end\n  end:\n    outcome: not-done\n    finding: f\n"
        );
        let library = library("a", &text);
        placed(&remarks(&library.procedures["a"]))
    }

    #[test]
    fn a_range_that_no_reading_can_have_is_remarked() {
        let volts = |range| told(&format!("unit: V, resolution: 0.1, possible: \"{range}\""));
        assert_eq!(
            volts("[0..400000]"),
            ["6: step `volts` lets a reading be up to 400000 V"]
        );
        assert_eq!(volts("[0..1000]"), [""; 0]);
        assert_eq!(volts("[0..32]"), [""; 0]);
    }

    #[test]
    fn a_range_of_which_its_computation_can_make_nothing_is_remarked() {
        let slip = told("unit: mV, resolution: 1, possible: \"[0..40]\"");
        assert_eq!(
            slip,
            [
                "6: step `volts` lets a reading be 0 to 40 mV, which as `voltage` of `rested battery` (step `judge`) means \
                 nothing"
            ]
        );
        assert_eq!(
            told("unit: mV, resolution: 1, possible: \"[0..40000]\""),
            [""; 0]
        );
        assert_eq!(
            told("unit: V, resolution: 0.1, possible: \"[100..900]\"").len(),
            1
        );
    }

    /// Every row is of an input that is a number, and reaches beyond what is too much of it nowhere.
    #[test]
    fn each_row_is_of_a_number() {
        for (computation, name, ..) in MEANT {
            let (_, least, greatest) = meant(computation, name).unwrap();
            assert!(least < greatest, "{}: {name}", computation.name());
        }
    }

    #[test]
    fn the_shipped_procedures_have_no_such_range() {
        for name in ["relative-compression", "follow-up", "after-repair"] {
            let source = |name: &str| {
                let file = format!("{}/procedures/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
                Some((format!("{name}.yaml"), std::fs::read_to_string(file).ok()?))
            };
            let library = crate::procedure::read_library(name, &source).unwrap();
            let found = library.procedures.values().flat_map(remarks);
            assert_eq!(placed(&found.collect::<Vec<_>>()), [""; 0], "{name}");
        }
    }
}
