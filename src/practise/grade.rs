//! A sealed exercise judged by what was true.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use super::exercise::Escape;
use super::judging::{Grade, judge, named};
use crate::cranking::answer::{Analysis, CylinderRow, Finding};
use crate::procedure::computation::Computation;
use crate::procedure::model::{Library, OutcomeKind, Question};
use crate::record::bundle::model::{ComputedResult, Record};
use crate::simulate::practice::{Practice, Truth};
use crate::text::{beside, wrap};

/// Columns of what is told.
const COLUMNS: usize = 80;

/// Columns before what makes a cylinder weak.
const CAUSE: usize = 14;

/// Percent of a whole charge below which a cylinder counts as starved; above it is what engines differ by.
const WHOLE_CHARGE: f64 = 95.0;

/// Why an exercise with a procedure is not graded: what is said of the procedure.
pub const NOT_GRADED: &str =
    "looks at no cylinder's compression, and of nothing else does an exercise know the truth";

/// Said in place of the truth where the work was left.
const HIDDEN: &str = "The work was left before a verdict, so what is true stays hidden.\n";

/// What a grade leaves to whoever reads the record.
const OF_CYLINDERS: &str = "It is of the cylinders alone: signal and plan, whether readings are those of the pages, where a leak's \
     air went, and what was waived or left out are for the trainer to read in the record.";

/// How a note of the run begins that tells of a rest cut short.
const CUT_SHORT: &str = "Starter's rest cut short";

/// Whether a procedure, or one that it calls, looks at a cylinder's compression anywhere: of others an exercise knows
/// no truth.
#[must_use]
pub fn is_graded(library: &Library) -> bool {
    let steps = library.procedures.values().flat_map(|p| &p.steps);
    let mut looks = steps.map(|step| match &step.question {
        Question::Compute { computation, .. } => looks_at_cylinders(*computation),
        _ => false,
    });
    looks.any(|looks| looks)
}

/// Judge a sealed run of a procedure that is graded: the grade, and the table of what was found and what is true.
#[must_use]
pub fn grade(record: &Record, made: &Practice, escape: Escape) -> (Grade, String) {
    let truth = &made.truth;
    let weak: BTreeSet<usize> = truth
        .relative_compression_percent
        .iter()
        .filter(|(_, percent)| **percent < record.low_percent)
        .map(|(cylinder, _)| *cylinder)
        .collect();
    let (undecided, measured) = (undecided(record), measured(record));
    let named = named(analyses(record));
    let tested = tested(record);
    let missed = |tested: &BTreeSet<usize>| !weak.is_empty() && weak.is_disjoint(tested);
    let grade = match looked_at_cylinders(record) {
        false => Grade::Ungraded,
        true => match judge(record.outcome.kind, &weak, analyses(record), made) {
            Grade::Overlooked if tested.as_ref().is_some_and(missed) => Grade::Untested,
            grade => grade,
        },
    };
    let mut text = match grade {
        // what nobody looked at is no truth of this job
        Grade::Ungraded => String::new(),
        // whoever left off may begin again
        Grade::Open if record.outcome.kind == OutcomeKind::NotDone => HIDDEN.to_owned(),
        _ => table(truth, &weak, escape, |cylinder| {
            let found = match &tested {
                Some(tested) if !tested.contains(&cylinder) => "not tested",
                Some(_) if record.outcome.kind == OutcomeKind::NothingFound => "not low",
                _ => found(grade, named.as_ref(), &undecided, cylinder),
            };
            match measured.get(&cylinder) {
                Some((percent, low, high)) => {
                    format!("{percent:.0} ({low:.0} to {high:.0}), {found}")
                }
                None => found.to_owned(),
            }
        }),
    };
    let cut = cut_rests(record);
    if cut > 0 {
        let _ = writeln!(
            text,
            "Starter's rest cut short: {cut} of them. On a real vehicle that burns a starter out."
        );
    }
    let back = record.path.iter().filter(|entry| entry.superseded).count();
    let _ = writeln!(
        text,
        "Outcome: {}. Captures: {}. Answers that going back put aside: {back}.\n{}",
        record.outcome.kind.words(),
        record.captures.len(),
        wrap(&format!("Grade: {}.", grade.told()), COLUMNS, 0)
    );
    if grade != Grade::Ungraded {
        text += &wrap(OF_CYLINDERS, COLUMNS, 0);
        text.push('\n');
    }
    (grade, text)
}

/// The cylinders that tests of one cylinder each were made of, where no capture and no other test looked at all of them.
fn tested(record: &Record) -> Option<BTreeSet<usize>> {
    if analyses(record).next().is_some() {
        return None;
    }
    let counts = record.computed.iter().filter(|result| !result.superseded);
    let looked = counts.filter(|result| {
        let computation = Computation::ALL.into_iter();
        let mut own = computation.filter(|one| one.name() == result.computation);
        own.next().is_some_and(looks_at_cylinders)
    });
    let cylinder = |result: &ComputedResult| result.facts.get("cylinder")?.parse().ok();
    looked.map(cylinder).collect()
}

/// The analyses that count, the last one first.
fn analyses(record: &Record) -> impl Iterator<Item = &Analysis> + Clone {
    let captures = record.captures.iter().rev();
    captures
        .filter(|capture| !capture.superseded)
        .filter_map(|capture| capture.analysis.as_ref())
}

/// What the last capture that was judged says of each cylinder: percent, with the ends of its interval.
fn measured(record: &Record) -> BTreeMap<usize, (f64, f64, f64)> {
    let rows = analyses(record).find_map(|analysis| analysis.cylinders.as_ref());
    let of = |row: &CylinderRow| {
        (
            row.cylinder,
            (row.relative_compression_percent, row.low, row.high),
        )
    };
    rows.into_iter().flatten().map(of).collect()
}

/// The truth in the percent that an analysis tells: of the cylinders that are not weak.
fn of_the_sound(truth: &Truth, weak: &BTreeSet<usize>) -> BTreeMap<usize, f64> {
    let all = &truth.relative_compression_percent;
    let sound = all.iter().filter(|(cylinder, _)| !weak.contains(cylinder));
    let sound: Vec<f64> = sound.map(|(_, percent)| *percent).collect();
    let mean = match sound.len() {
        0 => 100.0,
        count => sound.iter().sum::<f64>() / count as f64,
    };
    let rescaled = |(cylinder, percent): (&usize, &f64)| (*cylinder, 100.0 * percent / mean);
    all.iter().map(rescaled).collect()
}

/// Cylinders that the last capture could not decide.
fn undecided(record: &Record) -> BTreeSet<usize> {
    let last = analyses(record).next();
    let rows = last
        .into_iter()
        .flat_map(|last| last.cylinders.iter().flatten());
    rows.filter(|row| row.finding == Finding::Uncertain)
        .map(|row| row.cylinder)
        .collect()
}

/// What was found of a cylinder, in words.
fn found(
    grade: Grade,
    named: Option<&BTreeSet<usize>>,
    undecided: &BTreeSet<usize>,
    cylinder: usize,
) -> &'static str {
    match named {
        _ if grade == Grade::Open => "no verdict",
        None => "not named",
        Some(named) if named.contains(&cylinder) => "low",
        Some(_) if undecided.contains(&cylinder) => "uncertain",
        Some(_) => "not low",
    }
}

/// What is true of each cylinder beside what was found of it.
fn table(
    truth: &Truth,
    weak: &BTreeSet<usize>,
    escape: Escape,
    found: impl Fn(usize) -> String,
) -> String {
    let mut text =
        String::from("The truth             peak pressure   found, with its 95 % interval\n");
    for (cylinder, percent) in &of_the_sound(truth, weak) {
        let state = if weak.contains(cylinder) {
            "LOW"
        } else {
            "sound"
        };
        // writing to a String does not fail
        let _ = writeln!(
            text,
            "  cylinder {cylinder:<2} {state:<9} {percent:>9.0} %   {}",
            found(*cylinder)
        );
        let cause = cause(truth, *cylinder, escape, weak.contains(cylinder));
        if !cause.is_empty() {
            let cause = beside(&cause, COLUMNS, CAUSE);
            let _ = writeln!(text, "{:CAUSE$}{cause}", "");
        }
    }
    text
}

/// What makes a weak cylinder weak: air that escapes, or a charge that is not all there. Nothing for a sound one.
fn cause(truth: &Truth, cylinder: usize, escape: Escape, weak: bool) -> String {
    if !weak {
        return String::new();
    }
    let of = |values: &BTreeMap<usize, f64>| values.get(&cylinder).copied().unwrap_or_default();
    let (leak, charge) = (of(&truth.leak_mm2), 100.0 * of(&truth.charge));
    let mut causes = Vec::new();
    if leak > 0.0 {
        causes.push(format!("leaks {leak:.1} mm², {}", escape.place()));
    }
    if charge < WHOLE_CHARGE {
        causes.push(format!("takes in {charge:.0} % of a whole charge"));
    }
    causes.join("; ")
}

/// How many of the starter's rests were cut short.
fn cut_rests(record: &Record) -> usize {
    let notes = record.notes.iter();
    notes
        .filter(|note| note.text.starts_with(CUT_SHORT))
        .count()
}

/// Whether a computation is one from which a cylinder's compression shows.
fn looks_at_cylinders(computation: Computation) -> bool {
    matches!(
        computation,
        Computation::RelativeCompression
            | Computation::LeakDown
            | Computation::StaticCompression
            | Computation::WetGain
            | Computation::RunningCompression
    )
}

/// Whether a job came to see a cylinder's compression.
fn looked_at_cylinders(record: &Record) -> bool {
    let computed = record.computed.iter().filter(|result| !result.superseded);
    let mut names = computed.map(|result| result.computation.as_str());
    let cylinders = Computation::ALL
        .into_iter()
        .filter(|one| looks_at_cylinders(*one));
    // a job that was stopped before it came there is open, not ungraded
    record.outcome.kind == OutcomeKind::NotDone
        || record
            .captures
            .iter()
            .any(|capture| capture.analysis.is_some())
        || names.any(|name| cylinders.clone().any(|one| one.name() == name))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A test of one cylinder can find nothing in another, and nobody is told that it should have.
    #[test]
    fn a_cylinder_that_was_not_tested_was_not_overlooked() {
        let exercise = crate::practise::Exercise {
            fuel: None,
            seed: 1,
            difficulty: crate::practise::Difficulty::Medium,
            signal: None,
            firing_order: Some(vec![1, 3, 4, 2]),
            weak: Some([(3, 60.0)].into()),
            escape: None,
            spoil: None,
        };
        let made = exercise.unspoiled().unwrap();
        let computed = |cylinder: &str| ComputedResult {
            step: "leak-down/loss".to_owned(),
            at: "2026-03-02T08:00:00Z".to_owned(),
            computation: Computation::LeakDown.name().to_owned(),
            facts: [("cylinder".to_owned(), cylinder.to_owned())].into(),
            superseded: false,
        };
        let mut record = crate::record::example::record();
        record.captures.clear();
        record.outcome.kind = OutcomeKind::NothingFound;
        record.computed = vec![computed("1")];
        let (graded, told) = grade(&record, &made, Escape::Inlet);
        assert_eq!(graded, Grade::Untested, "{told}");
        let of = |cylinder: usize| {
            let line = format!("cylinder {cylinder} ");
            told.lines()
                .find(|told| told.contains(&line))
                .unwrap()
                .to_owned()
        };
        assert!(
            of(1).ends_with("not low") && of(3).ends_with("not tested"),
            "{told}"
        );
        record.computed.push(computed("3"));
        assert_eq!(grade(&record, &made, Escape::Inlet).0, Grade::Overlooked);
    }

    /// The run's own words for a rest cut short are the ones that are counted.
    #[test]
    fn a_rest_cut_short_is_known_by_its_note() {
        let due = crate::run::starter::RestDue {
            seconds: 120,
            lasts: 120,
            turned: 10,
            made_of: Vec::new(),
            next: 10,
            cranks: 1,
            limit: crate::engine::starter_duty::StarterDuty::default(),
        };
        assert!(due.cut_short(80, "no patience").starts_with(CUT_SHORT));
    }

    /// The widest row there can be: weak twice over.
    #[test]
    fn the_truth_fits_a_terminal() {
        let truth = Truth {
            seed: 1,
            mean_rpm: 200.0,
            relative_compression_percent: BTreeMap::from([(1, 100.0), (12, 62.0)]),
            leak_mm2: BTreeMap::from([(12, 14.5)]),
            charge: BTreeMap::from([(1, 1.0), (12, 0.7)]),
            common: None,
            spoiled: None,
        };
        let told = table(&truth, &BTreeSet::from([12]), Escape::Exhaust, |_| {
            "100 (100 to 104), no verdict".to_owned()
        });
        assert!(
            told.lines().all(|line| line.chars().count() <= COLUMNS),
            "{told}"
        );
        let words: Vec<&str> = told.split_whitespace().collect();
        let cause = "leaks 14.5 mm², past the exhaust valve; takes in 70 % of a whole charge";
        assert!(words.join(" ").contains(cause), "{told}");
    }

    /// A cylinder at 99 % of all is at 98 % of the three that are not weak, where those stand at 101 %.
    #[test]
    fn the_truth_is_told_in_percent_of_the_sound() {
        let truth = Truth {
            seed: 1,
            mean_rpm: 200.0,
            relative_compression_percent: [(1, 99.0), (2, 60.6), (3, 103.0), (4, 101.0)].into(),
            leak_mm2: BTreeMap::new(),
            charge: BTreeMap::new(),
            common: None,
            spoiled: None,
        };
        let told = of_the_sound(&truth, &BTreeSet::from([2]));
        let rounded: Vec<f64> = told.values().map(|percent| percent.round()).collect();
        assert_eq!(rounded, [98.0, 60.0, 102.0, 100.0]);
    }

    #[test]
    fn what_was_found_of_a_cylinder_is_told_as_it_was_found() {
        let (low, open) = (BTreeSet::from([3]), BTreeSet::from([2]));
        let told = |grade, named, cylinder| found(grade, named, &open, cylinder);
        assert_eq!(told(Grade::Right, Some(&low), 3), "low");
        assert_eq!(told(Grade::Right, Some(&low), 2), "uncertain");
        assert_eq!(told(Grade::Right, Some(&low), 1), "not low");
        assert_eq!(told(Grade::Partly, None, 1), "not named");
        assert_eq!(told(Grade::Open, None, 3), "no verdict");
        assert_eq!(told(Grade::Open, Some(&BTreeSet::new()), 2), "no verdict");
    }
}
