//! The advice on one signal as the facts of a computation, for work sheets.

use std::collections::BTreeMap;

use super::signals::{Fit, Judged, Signal};
use super::timing::RUN_UP_S;
use super::{Advice, Given, advise};
use crate::cranking::quality::limit;

/// The facts about one signal.
#[must_use]
pub fn facts(given: &Given, signal: Signal) -> BTreeMap<String, String> {
    let advice = advise(given);
    let judged = advice.signals.iter().find(|judged| judged.signal == signal);
    let timing = &advice.timing;
    let rate = match signal {
        Signal::CrankSensor => timing.teeth_rate_hz,
        _ => timing.rate_hz,
    };
    let mut facts = BTreeMap::from([
        (
            "crank".to_owned(),
            format!("{:.0} s", timing.crank_s.ceil()),
        ),
        ("cycles".to_owned(), cycles(&advice, given)),
        ("record".to_owned(), format!("{:.0} s", timing.record_s)),
        ("rate".to_owned(), format!("{rate:.0} samples a second")),
        ("instead".to_owned(), instead(&advice, signal)),
    ]);
    if let Some(judged) = judged {
        let fit = if timing.cranks.is_none() {
            Fit::Unfit
        } else {
            judged.fit
        };
        facts.insert("fit".to_owned(), fit.word().to_owned());
        facts.insert("range".to_owned(), range(judged));
        facts.insert("steps".to_owned(), steps(judged));
        facts.insert("why".to_owned(), why(judged, &advice, given));
    }
    facts
}

/// "±2 V".
#[must_use]
pub fn range(judged: &Judged) -> String {
    match judged.range {
        Some(range) if range.full_scale_v < 1.0 => {
            format!("±{:.0} mV", 1000.0 * range.full_scale_v)
        }
        Some(range) => format!("±{:.0} V", range.full_scale_v),
        None => "any that holds the whole signal".to_owned(),
    }
}

fn steps(judged: &Judged) -> String {
    judged.steps.map_or("not counted".to_owned(), |steps| {
        format!("{steps:.0} or more")
    })
}

fn why(judged: &Judged, advice: &Advice, given: &Given) -> String {
    if advice.timing.cranks.is_some() {
        return format!("{}.", judged.why);
    }
    format!(
        "Cranked at {:.0} rpm, the {} s that the shop lets a starter turn hold under {} engine cycles after {RUN_UP_S:.0} s of run-up.",
        given.rpm,
        given.duty.crank_seconds,
        limit::CYCLES
    )
}

/// How many cycles, in how many cranks.
#[must_use]
pub fn cycles(advice: &Advice, given: &Given) -> String {
    let timing = &advice.timing;
    match timing.cranks {
        None => format!("{} engine cycles, too few", timing.cycles),
        Some(1) => format!("{} engine cycles", timing.cycles),
        Some(cranks) => format!(
            "{} engine cycles; {cranks} cranks in all, with {} s of rest between",
            timing.cycles, given.duty.rest_seconds
        ),
    }
}

/// The best other signal.
fn instead(advice: &Advice, signal: Signal) -> String {
    let mut others = advice
        .signals
        .iter()
        .filter(|judged| judged.signal != signal);
    match others.find(|judged| judged.fit != Fit::Unfit) {
        Some(judged) => judged.signal.words().to_owned(),
        None => "none of the others serves".to_owned(),
    }
}
