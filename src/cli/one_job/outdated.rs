//! A job that is gone on with by procedures that the shop has changed since: it keeps to its own copies, and whoever
//! goes on is told.

use std::collections::BTreeMap;

use crate::cli::one_job::opening::{load, procedure_file};
use crate::procedure::model::Library;
use crate::record::folder::JobFolder;
use crate::record::shop::Shop;
use crate::run::event::Opening;
use crate::text::shell_quoted;

/// The procedures that the shop would begin jobs by now, each read once.
pub(crate) struct Present<'a> {
    shop: &'a Shop,
    read: BTreeMap<String, Option<Library>>,
}

impl<'a> Present<'a> {
    pub(crate) fn of(shop: &'a Shop) -> Self {
        let read = BTreeMap::new();
        Present { shop, read }
    }

    /// What is said of a job before it goes on; nothing where its procedures are the shop's.
    pub(crate) fn told(&mut self, folder: &JobFolder, opening: &Opening) -> Option<String> {
        let rules = &self.shop.policy().rules;
        let name = &opening.procedure;
        let now = self.read.entry(name.clone()).or_insert_with(|| {
            let file = procedure_file(self.shop, name).ok()?;
            load(&file, rules).ok()
        });
        let now = now.as_ref()?;
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
            "Job {} was begun by revision {} of {}; the shop has revision {}{least}. It goes on by its own copy. What was \
             added since may protect you: evenfire diff {} {}\n",
            opening.job,
            own.revision,
            own.name,
            procedure.revision,
            shell_quoted(&folder.file(&own.file).display().to_string()),
            shell_quoted(&procedure.source.file),
        ))
    }
}
