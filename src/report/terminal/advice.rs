//! Signal advice as two small tables: settings with the reason of each, and every signal, best first.

use comfy_table::presets::NOTHING;
use comfy_table::{ColumnConstraint, ContentArrangement, Table, Width};

use super::{Screen, trimmed};
use crate::advise::facts::range;
use crate::advise::signals::{Fit, Judged, Signal, grounds_rule};
use crate::advise::swing::SPREAD;
use crate::advise::timing::{RUN_UP_S, WANTED_CYCLES};
use crate::advise::{self, Advice, Given};
use crate::text::wrap;

/// Space that the columns before the reasons take.
const BEFORE_REASONS: usize = 36;

/// The advice on one signal, the others in a line, so that it fits a screen. Ends with a line break.
#[must_use]
pub fn plan(given: &Given, chosen: Signal, screen: Screen) -> String {
    let advice = advise::advise(given);
    let (chosen, others): (Vec<_>, Vec<_>) = advice
        .signals
        .iter()
        .partition(|judged| judged.signal == chosen);
    let others: Vec<String> = others.into_iter().map(other).collect();
    let mut lines: Vec<String> = chosen
        .iter()
        .map(|judged| take(judged, given, &advice))
        .collect();
    lines.push(format!("Why: {}.", crank(given, &advice)));
    lines.extend(
        chosen
            .iter()
            .map(|judged| format!("The signal {}: {}.", judged.fit.word(), judged.why)),
    );
    lines.push(format!("The others, best first: {}.", others.join("; ")));
    lines.push(grounds_rule(given.scope.grounds).to_owned());
    let blocks: Vec<String> = lines
        .iter()
        .map(|line| wrap(line, screen.wide(), 0))
        .collect();
    screen.words(&(blocks.join("\n") + "\n"))
}

/// A signal that was not asked about: why not, where it cannot serve.
fn other(judged: &Judged) -> String {
    let words = judged.signal.words();
    match judged.fit {
        Fit::Unfit => format!("{words}, unfit: {}", judged.why),
        fit => format!("{words}, {}", fit.word()),
    }
}

/// The advice. Ends with a line break.
#[must_use]
pub fn advice(given: &Given, advice: &Advice, screen: Screen) -> String {
    let best = advice
        .signals
        .iter()
        .find(|judged| judged.fit != Fit::Unfit);
    let first = best.map_or_else(
        || "Take: nothing yet, no signal can serve; the reasons stand beside them.".to_owned(),
        |best| take(best, given, advice),
    );
    let mut blocks = vec![
        wrap(&first, screen.wide(), 0),
        table(
            &["Setting", "Value", "Reason"],
            settings(given, advice),
            screen,
        ),
        table(
            &["Signal, best first", "Range, steps", "Reason"],
            advice.signals.iter().map(signal).collect(),
            screen,
        ),
    ];
    let told = format!(
        "Expected currents and swings are those of a usual engine, and engines differ by twofold: ranges are chosen for \
         twice the swing, steps counted in half of it. {} Connect nothing before the vehicle is made safe.",
        grounds_rule(given.scope.grounds)
    );
    blocks.push(wrap(&told, screen.wide(), 0));
    screen.words(&(blocks.join("\n\n") + "\n"))
}

/// What the advice comes to, in a sentence: a signal with its settings.
fn take(best: &Judged, given: &Given, advice: &Advice) -> String {
    let timing = &advice.timing;
    let again = match timing.cranks {
        None => {
            return "Take: nothing yet; the starter's limit is too short for a capture that can be judged.".to_owned();
        }
        Some(1) => String::new(),
        Some(cranks) => format!(
            "; {cranks} such cranks, with {} s of rest between",
            given.duty.rest_seconds
        ),
    };
    if best.fit == Fit::Unfit {
        return format!(
            "Take: another signal; {} cannot serve.",
            best.signal.words()
        );
    }
    let range = match best.range {
        Some(_) => range(best),
        None => "a range that holds its whole signal".to_owned(),
    };
    let rate = match best.signal {
        Signal::CrankSensor => timing.teeth_rate_hz,
        _ => timing.rate_hz,
    };
    let coarse = match best.fit {
        Fit::Coarse => " Its steps are few, so expect a wide interval.",
        _ => "",
    };
    format!(
        "Take: {} at {range}, {rate:.0} samples a second or more; record {:.0} s and crank for {:.0} s of them{again}.{coarse}",
        best.signal.words(),
        timing.record_s,
        timing.crank_s.ceil()
    )
}

/// Why a crank lasts that long, without a full stop: "1 s of run-up, then 8 engine cycles of 0.60 s".
fn crank(given: &Given, advice: &Advice) -> String {
    let timing = &advice.timing;
    let (cycles, most) = (timing.cycles, given.duty.crank_seconds);
    let told = format!(
        "{RUN_UP_S:.0} s of run-up, then {cycles} engine cycles of {:.2} s",
        timing.cycle_s
    );
    match timing.cranks {
        Some(1) => told,
        Some(cranks) => format!(
            "{told}. {WANTED_CYCLES} are wanted, but the starter may turn {most} s only: {cranks} cranks, with {} s of \
             rest between",
            given.duty.rest_seconds
        ),
        None => format!(
            "{told}, too few. {WANTED_CYCLES} are wanted, but the starter may turn {most} s only"
        ),
    }
}

fn settings(given: &Given, advice: &Advice) -> Vec<[String; 3]> {
    let (timing, expected) = (&advice.timing, &advice.expected);
    let cylinders = given.engine.cylinders();
    let row = |what: &str, value: String, why: String| [what.to_owned(), value, why];
    vec![
        row(
            "event rate",
            format!("{:.2} Hz", timing.event_hz),
            format!(
                "{:.0} rpm / 60 × {cylinders} / 2 compressions a second",
                given.rpm
            ),
        ),
        row(
            "crank for",
            format!("{:.0} s", timing.crank_s.ceil()),
            crank(given, advice),
        ),
        row(
            "record",
            format!("{:.0} s", timing.record_s),
            "the crank and a second before and after, rounded up".to_owned(),
        ),
        row(
            "sample rate",
            format!("{:.0}/s", timing.rate_hz),
            format!(
                "one each 2° of the crank, rounded up; below {:.0}/s the analysis refuses; for a crank sensor {:.0}/s",
                timing.refused_below_hz, timing.teeth_rate_hz
            ),
        ),
        row(
            "current",
            format!("{:.0} A ± {:.0} A", expected.mean_a, expected.swing_a / 2.0),
            format!(
                "expected mean and swing of the layout; the first surge (inrush) is about {:.0} A",
                expected.inrush_a
            ),
        ),
        row(
            "voltage",
            format!("{:.2} V swing", expected.swing_v),
            format!(
                "at the posts, on a mean drop of {:.1} V; {:.2} to {:.2} V on other engines",
                expected.drop_v,
                expected.swing_v / SPREAD,
                expected.swing_v * SPREAD
            ),
        ),
    ]
}

fn signal(judged: &Judged) -> [String; 3] {
    let range = match (judged.range.is_some(), judged.steps) {
        (true, Some(steps)) => format!("{}, {steps:.0}", range(judged)),
        _ => "-".to_owned(),
    };
    [
        judged.signal.words().to_owned(),
        range,
        format!("{}: {}", judged.fit.word(), judged.why),
    ]
}

fn table(header: &[&str], rows: Vec<[String; 3]>, screen: Screen) -> String {
    let mut table = Table::new();
    table
        .load_style(NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(u16::try_from(screen.wide()).unwrap_or(u16::MAX))
        .set_header(header.iter().copied())
        .add_rows(rows);
    let reasons = screen.wide().saturating_sub(BEFORE_REASONS);
    if let Some(column) = table.column_mut(2) {
        let width = Width::Fixed(u16::try_from(reasons).unwrap_or(u16::MAX));
        column.set_constraint(ColumnConstraint::UpperBoundary(width));
    }
    trimmed(&table.to_string())
}
