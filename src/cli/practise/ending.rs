//! What is said once an exercise is sealed.

use std::process::ExitCode;

use super::{Kept, again};
use crate::cli::one_job::answering;
use crate::cli::one_job::opening::load;
use crate::cli::{Failure, say};
use crate::practise::{NOT_GRADED, grade, is_graded};
use crate::procedure::rules::Rules;
use crate::record::bundle::model::Record;
use crate::record::folder::JobFolder;

/// Whether an exercise knows the truth of what a sealed job's procedure looks at, by the job's own copy of it.
pub(super) fn is_known(record: &Record, folder: &JobFolder) -> bool {
    let mut copies = record.procedures.iter();
    let own = copies.find(|copy| copy.name == record.procedure);
    let own = own.map(|copy| load(&folder.file(&copy.file), &Rules::default()));
    // a copy in an older language is graded as it was
    !matches!(own, Some(Ok(library)) if !is_graded(&library))
}

/// Tell the truth and the grade of a sealed exercise.
pub(super) fn graded(record: &Record, exercise: &Kept, known: bool) -> Result<ExitCode, Failure> {
    let told = if known {
        grade(record, &exercise.unspoiled()?.truth, exercise.escape()).1
    } else {
        let told = format!(
            "Outcome: {}. Not graded: this procedure {NOT_GRADED}.",
            record.outcome.kind.name()
        );
        answering::layout().sentence(&told)
    };
    say(&format!(
        "\n{told}The exercise again:\n  evenfire practise {0} {1}\nAn exercise need not be signed. A real job is begun with:\n  \
         evenfire run {0}\n",
        // where a path was given, the name alone finds nothing
        exercise.given.as_deref().unwrap_or(&record.procedure),
        again::options(exercise)
    ));
    Ok(ExitCode::SUCCESS)
}
