//! What is said once an exercise is sealed.

use std::path::Path;
use std::process::ExitCode;

use super::proved::proved;
use super::{Kept, again};
use crate::cli::one_job::answering;
use crate::cli::one_job::opening::load;
use crate::cli::{Failure, say};
use crate::practise::{Exercise, Grade, NOT_GRADED, grade, is_graded};
use crate::procedure::model::OutcomeKind;
use crate::procedure::rules::Rules;
use crate::record::bundle::model::Record;
use crate::record::folder::JobFolder;
use crate::text::wrap;

/// How a sealed exercise is graded.
pub(super) enum Graded {
    /// So; and the truth beside what was found.
    As(Grade, String),
    /// Not: of what its procedure looks at, an exercise knows no truth.
    Unknown,
    /// Not: its captures are of another exercise, and why that shows.
    Refused(String),
}

/// The grade of a sealed exercise.
pub(super) fn graded_as(
    record: &Record,
    exercise: &Kept,
    folder: &JobFolder,
) -> Result<Graded, Failure> {
    if !is_known(record, folder) {
        return Ok(Graded::Unknown);
    }
    if let Err(why) = proved(record, exercise) {
        return Ok(Graded::Refused(why));
    }
    let (grade, told) = grade(record, &exercise.unspoiled()?, exercise.escape());
    Ok(Graded::As(grade, told))
}

/// Whether an exercise knows the truth of what a sealed job's procedure looks at, by the job's own copy of it.
fn is_known(record: &Record, folder: &JobFolder) -> bool {
    let mut copies = record.procedures.iter();
    let own = copies.find(|copy| copy.name == record.procedure);
    let own = own.map(|copy| load(&folder.file(&copy.file), &Rules::default()));
    // a copy in an older language is graded as it was
    !matches!(own, Some(Ok(library)) if !is_graded(&library))
}

/// Of what the percent of the truth are: not of the same as those that the trainer wished for.
fn percents(exercise: &Exercise) -> String {
    let mut told =
        "Percent: peak pressure in the crank, of the mean of the cylinders that are not low."
            .to_owned();
    for (cylinder, percent) in exercise.weak.iter().flatten() {
        told += &format!(
            " --weak {cylinder}={percent} is of the same cylinder when it is sound, turned at a steady speed: the loss is \
             sized there."
        );
    }
    if exercise.weak.is_some() {
        told += " In the crank speed and neighbours shift what is left.";
    }
    wrap(&told, answering::COLUMNS, 0) + "\n"
}

/// Tell the truth and the grade of a sealed exercise, which is kept in a file.
pub(super) fn graded(
    record: &Record,
    exercise: &Kept,
    folder: &JobFolder,
    kept: &Path,
) -> Result<ExitCode, Failure> {
    let mut hidden = false;
    let told = match graded_as(record, exercise, folder)? {
        Graded::As(Grade::Ungraded, told) => told,
        Graded::As(Grade::Open, told) if record.outcome.kind == OutcomeKind::NotDone => {
            hidden = true;
            told
        }
        Graded::As(_, told) => told + &percents(exercise),
        Graded::Refused(why) => return Err(refused(record, kept, &why).into()),
        Graded::Unknown => {
            let told = format!(
                "Outcome: {}. Not graded: this procedure {NOT_GRADED}.",
                record.outcome.kind.words()
            );
            answering::layout().sentence(&told)
        }
    };
    // where a path was given, the name alone finds nothing
    let procedure = exercise.given.as_deref().unwrap_or(&record.procedure);
    let again = match hidden && exercise.is_of_a_trainer() {
        true => "The exercise again: your trainer, who chose its fault, begins it.".to_owned(),
        false => format!(
            "The exercise again:\n  evenfire practise {procedure} {}",
            again::options(exercise)
        ),
    };
    say(&format!(
        "\n{told}{again}\nAn exercise need not be signed.\nA real job, in a shop whose \
         keys are no practice keys, is begun with:\n  evenfire run {procedure}\n"
    ));
    Ok(ExitCode::SUCCESS)
}

/// Why there is no grade, and what is to be done.
fn refused(record: &Record, kept: &Path, why: &str) -> String {
    format!(
        "{}: not graded: {why}. Either the file was changed after job {} was begun: put it back as it was, from a copy. Or \
         another version of the program simulated them ({}): grade with that one. Else do the exercise again",
        kept.display(),
        record.job,
        record.tool
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::practise::Difficulty;

    /// Whoever wished for 62 % and reads 54 % learns that the two are not of the same.
    #[test]
    fn the_truth_says_of_what_its_percent_are() {
        let mut exercise = Exercise {
            fuel: None,
            seed: 1,
            difficulty: Difficulty::Easy,
            signal: None,
            firing_order: None,
            weak: None,
            escape: None,
            spoil: None,
        };
        let drawn = percents(&exercise).replace('\n', " ");
        assert!(
            drawn.contains("of the mean of the cylinders that are not low"),
            "{drawn}"
        );
        assert!(!drawn.contains("--weak"), "{drawn}");
        exercise.weak = Some([(3, 62.0)].into());
        let wished = percents(&exercise).replace('\n', " ");
        assert!(
            wished.contains("--weak 3=62 is of the same cylinder when it is sound"),
            "{wished}"
        );
    }
}
