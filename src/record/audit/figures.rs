//! What the lines of all jobs come to.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::Serialize;

use super::gather::status_name;
use super::line::JobLine;
use super::{list, waived};
use crate::procedure::model::OutcomeKind;
use crate::record::verify::Status;

/// Counts by name.
pub type Tally = BTreeMap<String, u64>;

/// The figures of a shop.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Figures {
    /// Jobs that were asked for: those that count or, where practice is audited, practice.
    pub jobs: u64,
    /// Practice jobs, by their own word.
    pub practice: u64,
    /// Jobs of the other kind, left out of everything else.
    pub left_out: u64,
    /// First day, UTC, of the period that the figures are of; none where they are of all jobs.
    pub since: Option<String>,
    /// Jobs that were asked for and come before that day, left out of everything else.
    pub earlier: u64,
    /// Last day, UTC, of the period; none where it has no end.
    pub until: Option<String>,
    /// Jobs that were asked for and come after that day, left out of everything else.
    pub later: u64,
    /// Jobs that are not sound, also such as say that they are practice: in no figure but the status.
    pub unsound: Vec<String>,
    /// Those of them that a revoked key signed, which stay so.
    pub signed_with_revoked_key: Vec<String>,
    /// Jobs that were asked for by status.
    pub by_status: Tally,
    /// Jobs that await a lead's decision.
    pub open_countersignatures: Vec<String>,
    /// Jobs that are not sealed yet.
    pub not_sealed: Vec<String>,
    /// Sealed jobs that the technician has not signed.
    pub not_signed: Vec<String>,
    /// Jobs with one signature, because nobody else could countersign.
    pub one_signature: u64,
    /// Sound jobs whose report is missing, or is not the one that the files give.
    pub report_stale: Vec<String>,
    /// Jobs that the lead returned and that stand so.
    pub returned: Vec<String>,
    /// Waivers by step.
    pub waivers_by_step: Tally,
    /// The same waivers one by one.
    pub waivers: BTreeMap<String, Vec<Waived>>,
    /// Waivers by who allowed them.
    pub waivers_by_person: Tally,
    /// Jobs that a lead decided about who had waived steps in them.
    pub decided_own_waivers: Vec<String>,
    /// Conditions that had lapsed when a job was taken up again, with how often.
    pub lapsed_conditions: Tally,
    /// The same, with the jobs.
    pub lapsed_conditions_jobs: BTreeMap<String, Vec<String>>,
    /// Captures that were handed over.
    pub captures: u64,
    /// Those of them that failed a check of quality, so that they gave no verdict.
    pub captures_refused: u64,
    /// Failed checks of those; one capture can fail several.
    pub refused_because: Tally,
    /// The same, with the jobs.
    pub refused_because_jobs: BTreeMap<String, Vec<String>>,
    /// Vehicles with more than one job, with their jobs in order.
    pub repeat_visits: BTreeMap<String, Vec<String>>,
    /// Outcomes by engine layout: layout → outcome → jobs.
    pub outcomes_by_layout: BTreeMap<String, Tally>,
    /// Verdicts of the captures that count.
    pub verdicts: Tally,
    /// Low verdicts by what leak-down said of them.
    pub leak_down_against_verdict: Tally,
    /// Jobs whose suspected cylinder held air.
    pub held_air: Vec<String>,
    /// Low verdicts by what static compression said of them.
    pub static_against_verdict: Tally,
    /// What today's policy asks for and jobs do not show.
    pub against_policy: Tally,
    /// The same, with the jobs.
    pub against_policy_jobs: BTreeMap<String, Vec<String>>,
    /// Captures that passed every check and gave no verdict all the same: it was too uncertain.
    pub captures_undecided: u64,
}

/// What was asked for, and what that left out.
#[derive(Debug, Clone, Copy, Default)]
pub struct Asked {
    /// Practice, and not the jobs that count.
    pub practice: bool,
    /// Only jobs of that day, UTC, and later.
    pub since: Option<NaiveDate>,
    /// Only jobs of that day, UTC, and earlier.
    pub until: Option<NaiveDate>,
    /// Jobs of the other kind.
    pub left_out: u64,
    /// Jobs before the first day.
    pub earlier: u64,
    /// Jobs after the last day.
    pub later: u64,
}

/// One waiver of a step.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Waived {
    /// Job number.
    pub job: String,
    /// Identity of the lead.
    pub person: String,
    /// Why.
    pub reason: String,
}

impl Figures {
    /// The figures of these lines: of the jobs that count, or of `practice`.
    #[must_use]
    pub fn of<'l>(lines: impl Iterator<Item = &'l JobLine>, asked: Asked) -> Figures {
        let Asked {
            practice,
            since,
            until,
            left_out,
            earlier,
            later,
        } = asked;
        let mut figures = Figures {
            left_out,
            since: since.map(|day| day.to_string()),
            earlier,
            until: until.map(|day| day.to_string()),
            later,
            ..Figures::default()
        };
        let mut visits: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for line in lines {
            if line.practice == practice && !line.is_before(since) && !line.is_after(until) {
                figures.jobs += 1;
                count(&mut figures.by_status, &line.status);
            }
            if line.status == status_name(Status::Unsound) {
                figures.unsound.push(line.job.clone());
                if JobLine::words(&line.findings).any(|kind| kind == "key_revoked") {
                    figures.signed_with_revoked_key.push(line.job.clone());
                }
                continue;
            }
            // what was done again is counted there
            if line.done_again_by.is_some() {
                continue;
            }
            figures.open(line);
            figures.work(line);
            figures.found(line);
            if let Some(vehicle) = &line.vehicle_key {
                visits
                    .entry(vehicle.clone())
                    .or_default()
                    .push(line.job.clone());
            }
        }
        visits.retain(|_, jobs| jobs.len() > 1);
        figures.repeat_visits = visits;
        figures.practice = if practice { figures.jobs } else { left_out };
        figures
    }

    fn open(&mut self, line: &JobLine) {
        let has = |kind: &str| JobLine::words(&line.findings).any(|own| own == kind);
        for kind in JobLine::words(&line.findings) {
            match kind {
                // before a lead can decide, the technician signs
                "not_countersigned" if has("not_signed") => {}
                "not_countersigned" => self.open_countersignatures.push(line.job.clone()),
                "not_sealed" => self.not_sealed.push(line.job.clone()),
                "not_signed" => self.not_signed.push(line.job.clone()),
                "returned" => self.returned.push(line.job.clone()),
                "report_missing" | "report_differs" => self.report_stale.push(line.job.clone()),
                "one_signature" => self.one_signature += 1,
                _ => {}
            }
        }
    }

    fn work(&mut self, line: &JobLine) {
        let mut own = false;
        let waivers = JobLine::words(&line.waived).count();
        let mut reasons = waived::parted(&line.waived_because, waivers).into_iter();
        for waiver in JobLine::words(&line.waived) {
            let (step, person) = waiver.rsplit_once('=').unwrap_or((waiver, "?"));
            let one = Waived {
                job: line.job.clone(),
                person: person.to_owned(),
                reason: reasons.next().unwrap_or_default(),
            };
            self.waivers.entry(step.to_owned()).or_default().push(one);
            count(&mut self.waivers_by_step, step);
            count(&mut self.waivers_by_person, person);
            own |= line.decision.is_some() && line.lead.as_deref() == Some(person);
        }
        if own {
            self.decided_own_waivers.push(line.job.clone());
        }
        for condition in list::parted(&line.lapsed) {
            count(&mut self.lapsed_conditions, &condition);
            name(&mut self.lapsed_conditions_jobs, &condition, line);
        }
        for missing in list::parted(&line.against_policy) {
            count(&mut self.against_policy, &missing);
            name(&mut self.against_policy_jobs, &missing, line);
        }
    }

    fn found(&mut self, line: &JobLine) {
        self.captures += u64::from(line.captures);
        self.captures_refused += u64::from(line.captures_refused);
        self.captures_undecided += u64::from(line.captures_undecided);
        for reason in JobLine::words(&line.refused_because) {
            count(&mut self.refused_because, reason);
            name(&mut self.refused_because_jobs, reason, line);
        }
        for (tally, name) in [
            (&mut self.verdicts, &line.verdict),
            (
                &mut self.leak_down_against_verdict,
                &line.leak_down_against_verdict,
            ),
            (
                &mut self.static_against_verdict,
                &line.static_against_verdict,
            ),
        ] {
            if let Some(name) = name {
                count(tally, name);
            }
        }
        if line.leak_down_against_verdict.as_deref() == Some("held_air") {
            self.held_air.push(line.job.clone());
        }
        if let Some(outcome) = &line.outcome {
            let outcomes = self.outcomes_by_layout.entry(layout(line)).or_default();
            count(outcomes, outcome);
        }
    }

    /// Low verdicts that leak-down was held against: how many it confirmed, of how many that had the
    /// suspected cylinder tested.
    #[must_use]
    pub fn confirmed(&self) -> (u64, u64) {
        let of = |name: &str| {
            self.leak_down_against_verdict
                .get(name)
                .copied()
                .unwrap_or(0)
        };
        (of("confirmed"), of("confirmed") + of("held_air"))
    }

    /// The outcomes of a layout in the order of [`OutcomeKind::ALL`].
    #[must_use]
    pub fn outcome_row(outcomes: &Tally) -> [u64; 4] {
        OutcomeKind::ALL.map(|kind| outcomes.get(kind.name()).copied().unwrap_or(0))
    }
}

/// Name a job under something that it has, once however often it does.
fn name(jobs: &mut BTreeMap<String, Vec<String>>, what: &str, line: &JobLine) {
    match jobs.get_mut(what) {
        Some(own) if own.last() == Some(&line.job) => {}
        Some(own) => own.push(line.job.clone()),
        None => {
            jobs.insert(what.to_owned(), vec![line.job.clone()]);
        }
    }
}

fn count(tally: &mut Tally, name: &str) {
    match tally.get_mut(name) {
        Some(count) => *count += 1,
        None => {
            tally.insert(name.to_owned(), 1);
        }
    }
}

/// An engine's layout as far as records tell it: number, order, intervals where uneven, fuel.
fn layout(line: &JobLine) -> String {
    let mut parts = Vec::new();
    match line.cylinders {
        Some(count) => parts.push(format!("{count} cylinders")),
        None => parts.push("cylinders not recorded".to_owned()),
    }
    parts.extend(line.firing_order.clone());
    let intervals = line.firing_intervals.clone();
    parts.extend(intervals.filter(|text| text != "even"));
    parts.extend(line.fuel.clone());
    parts.join(", ")
}

#[cfg(test)]
mod tests;
