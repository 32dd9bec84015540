//! What an audit keeps of a job: one flat line, the same in every format that goes out. Other tools
//! read it: add fields, rename and drop none.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::record::moment;

/// Value of `schema`.
pub const SCHEMA: &str = "evenfire.audit-line/1";

/// One job of the kind that was asked for. Lists are texts with a separator, so that every field is one cell; of those that are separated
/// by semicolons, an entry with a semicolon or a quote in it is in quotes, its own quotes doubled. What a job does not
/// have is empty (`null` in JSON).
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct JobLine {
    /// [`SCHEMA`].
    pub schema: String,
    /// Number under which the job lies in the shop.
    pub job: String,
    /// `sound`, `report_stale`, `open` or `unsound`, as `verify` has it, the chain included.
    pub status: String,
    /// What was found, by kind, once each: `not_countersigned`. Separated by spaces.
    pub findings: String,
    /// Name of the shop.
    pub shop: Option<String>,
    /// Program and version that ran the job.
    pub tool: Option<String>,
    /// Procedure that was run.
    pub procedure: Option<String>,
    /// Its revision.
    pub revision: Option<u32>,
    /// Identity of the technician.
    pub technician: Option<String>,
    /// Identity of the lead whose decision stands.
    pub lead: Option<String>,
    /// The decision that stands, about the job or what was added last: `accepted` or `returned`.
    pub decision: Option<String>,
    /// The lead's reason.
    pub decision_reason: Option<String>,
    /// First event's time, UTC, RFC 3339.
    pub opened: Option<String>,
    /// Last event's time.
    pub sealed: Option<String>,
    /// When the lead decided, by their word.
    pub decided: Option<String>,
    /// Minutes from first event to last by the computer's clock, pauses and rests among them.
    pub minutes: Option<i64>,
    /// The vehicle, in the shop's words.
    pub vehicle: Option<String>,
    /// Registration or chassis number as typed.
    pub vehicle_identity: Option<String>,
    /// The same, as an accepted amendment corrects it, in capitals without spaces and signs: visits of one vehicle have
    /// it alike.
    pub vehicle_key: Option<String>,
    /// Odometer as shown, with its unit.
    pub odometer: Option<String>,
    /// What the engine burns.
    pub fuel: Option<String>,
    /// Number of cylinders.
    pub cylinders: Option<u32>,
    /// Firing order.
    pub firing_order: Option<String>,
    /// Firing intervals.
    pub firing_intervals: Option<String>,
    /// Step of the outcome.
    pub outcome_step: Option<String>,
    /// `nothing-found`, `fault-found`, `no-verdict` or `not-done`.
    pub outcome: Option<String>,
    /// The finding in words.
    pub finding: Option<String>,
    /// Captures that were handed over.
    pub captures: u32,
    /// Those of them that failed a check of quality, so that they gave no verdict.
    pub captures_refused: u32,
    /// The failed checks of those captures, once for each capture. Separated by spaces.
    pub refused_because: String,
    /// `even`, `low` or `inconclusive`, of the capture that counts.
    pub verdict: Option<String>,
    /// How far cylinders could be named: `cylinder`, `one_of_pair`, `position_only`.
    pub identified: Option<String>,
    /// Low cylinders, or positions. Separated by spaces.
    pub low: String,
    /// The cylinder or position with the lowest estimate.
    pub lowest: Option<u32>,
    /// Its estimate, percent of the sound ones' peak pressure.
    pub lowest_percent: Option<f64>,
    /// Lower end of its 95 % interval, percent.
    pub lowest_from: Option<f64>,
    /// Upper end of its 95 % interval, percent.
    pub lowest_to: Option<f64>,
    /// Limit below which a cylinder counted as low, percent.
    pub low_percent: Option<f64>,
    /// Leak-down tests that count.
    pub leak_downs: u32,
    /// Cylinder of the leak-down test that is held against the verdict.
    pub leak_down_cylinder: Option<u32>,
    /// Its loss, percent.
    pub leak_down_loss: Option<f64>,
    /// Its band: `good`, `acceptable`, `poor` or `fault`.
    pub leak_down_band: Option<String>,
    /// Where the verdict is low: `confirmed`, `held_air`, `other_cylinder`, `unnamed` or `not_tested`.
    pub leak_down_against_verdict: Option<String>,
    /// Where the verdict is low and static compression was measured: `confirmed` where a suspected
    /// cylinder is low there too, else `not_confirmed`.
    pub static_against_verdict: Option<String>,
    /// Waived steps.
    pub waivers: u32,
    /// The waived steps with who allowed it: `step=person`. Separated by spaces.
    pub waived: String,
    /// Times at which the job was taken up again.
    pub resumed: u32,
    /// Conditions that had lapsed then. Separated by semicolons.
    pub lapsed: String,
    /// Why the job ended before an outcome, where it was stopped.
    pub stopped: Option<String>,
    /// Amendments.
    pub amendments: u32,
    /// What today's policy asks for and the job does not show. Separated by semicolons.
    pub against_policy: String,
    /// SHA-256 of the job's first manifest, hex.
    pub manifest: Option<String>,
    /// SHA-256 of the first manifest of the job sealed before it, hex.
    pub previous: Option<String>,
    /// Whether the job is practice; such lines come only where practice is audited, or where it is unsound.
    pub practice: bool,
    /// What the lead decided before anything was added: `accepted` or `returned`.
    pub first_decision: Option<String>,
    /// Why each of the waived steps was waived, in their order. Separated by semicolons; a single one stands as it is.
    pub waived_because: String,
    /// Captures that passed every check and gave no verdict all the same: it was too uncertain.
    pub captures_undecided: u32,
    /// Jobs that its notes say it was done instead of. Separated by spaces.
    #[serde(default)]
    pub instead_of: String,
    /// What accepted amendments say is to be read in place of what the record says: `odometer=148 210 km`. Separated
    /// by semicolons.
    #[serde(default)]
    pub corrected: String,
    /// The later job that was done instead of this one, which a revoked key signed, and that answers for it.
    #[serde(default)]
    pub done_again_by: Option<String>,
}

impl JobLine {
    /// Whether the job was sealed, or else opened, before a day. One that does not say when is never earlier.
    pub(crate) fn is_before(&self, day: Option<NaiveDate>) -> bool {
        self.day().zip(day).is_some_and(|(own, day)| own < day)
    }

    /// Whether the job was sealed, or else opened, after a day. One that does not say when is never later.
    pub(crate) fn is_after(&self, day: Option<NaiveDate>) -> bool {
        self.day().zip(day).is_some_and(|(own, day)| own > day)
    }

    fn day(&self) -> Option<NaiveDate> {
        let at = self.sealed.as_ref().or(self.opened.as_ref());
        at.and_then(|at| moment::read(at)).map(|at| at.date_naive())
    }

    /// The cells of a list that is separated by spaces.
    pub(crate) fn words(list: &str) -> impl Iterator<Item = &str> {
        list.split(' ').filter(|word| !word.is_empty())
    }
}
