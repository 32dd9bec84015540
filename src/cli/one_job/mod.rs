//! What the commands about one job share: which job it is, who answers, what is handed over and computed,
//! and what of it is shown.

pub(crate) mod answering;
pub(crate) mod columns;
pub(crate) mod computing;
pub(crate) mod driving;
pub(crate) mod interrupt;
pub(crate) mod keeping;
mod kept;
pub(crate) mod opening;
pub(crate) mod outdated;
mod refused;
pub(crate) mod replaced;
pub(crate) mod report_page;
pub(crate) mod shown_to_lead;
pub(crate) mod waivable;
pub(crate) mod waiving;
pub(crate) mod watching;
pub(crate) mod which_job;
