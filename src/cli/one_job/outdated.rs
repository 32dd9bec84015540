//! A job that is gone on with by procedures that the shop has changed since: it keeps to its own copies, and whoever
//! goes on is told.

use crate::cli::one_job::opening::{load, procedure_file};
use crate::record::folder::JobFolder;
use crate::record::shop::Shop;
use crate::run::event::Opening;
use crate::text::shell_quoted;

/// What is said before the job goes on; nothing where its procedures are the shop's.
pub(crate) fn told(shop: &Shop, folder: &JobFolder, opening: &Opening) -> Option<String> {
    let file = procedure_file(shop, &opening.procedure).ok()?;
    let rules = &shop.policy().rules;
    let now = load(&file, rules).ok()?;
    let newer = opening.procedures.iter().find_map(|own| {
        let procedure = now.procedures.get(&own.name)?;
        (procedure.revision > own.revision).then_some((own, procedure))
    });
    let (own, procedure) = newer?;
    let least = rules.revisions.get(&own.name);
    let least = match least.filter(|least| least.revision > own.revision) {
        Some(least) => format!(", and works by {} at least", least.revision),
        None => String::new(),
    };
    Some(format!(
        "Job {} was begun by revision {} of {}; the shop has revision {}{least}. This job goes on by its own copy. What was \
         added since may protect you: evenfire diff {} {}\n",
        opening.job,
        own.revision,
        own.name,
        procedure.revision,
        shell_quoted(&folder.file(&own.file).display().to_string()),
        shell_quoted(&procedure.source.file),
    ))
}
