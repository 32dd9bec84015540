//! `evenfire accuracy`: the analysis measured on simulated engines.

use std::collections::BTreeMap;
use std::process::ExitCode;

use clap::Args;
use comfy_table::{Table, presets};
use indicatif::ProgressBar;
use rayon::prelude::*;

use super::Failure;
use crate::simulate::accuracy::{Figures, Judged, figures, judge};
use crate::simulate::draw::Wish;

/// Measure the analysis on simulated engines with known truth, hump reading beside it
///
/// Percentages can be proved on simulated engines only: no public recording with a gauge-measured weak
/// cylinder is known.
#[derive(Debug, Args)]
pub(crate) struct AccuracyArguments {
    /// Engines to draw
    #[arg(long, default_value_t = 1000)]
    engines: u64,
    /// First seed
    #[arg(long, default_value_t = 0)]
    seed: u64,
}

pub(crate) fn run(arguments: &AccuracyArguments) -> Result<ExitCode, Failure> {
    let seeds = arguments.seed..arguments.seed.saturating_add(arguments.engines);
    let bar = ProgressBar::new(arguments.engines);
    let judged: Vec<Judged> = seeds
        .into_par_iter()
        .filter_map(|seed| {
            let judged = judge(seed, &Wish::anything());
            bar.inc(1);
            judged
        })
        .collect();
    bar.finish_and_clear();
    if judged.is_empty() {
        return Err("no engine was drawn; give --engines a number above 0".into());
    }
    println!("{}", whole(&figures(judged.iter())));
    println!("{}", parts(&judged));
    println!("{}", undecided(&figures(judged.iter())));
    println!(
        "Seeds {} to {}.",
        arguments.seed,
        arguments.seed + arguments.engines - 1
    );
    Ok(ExitCode::SUCCESS)
}

fn share((hits, of): (usize, usize)) -> String {
    if of == 0 {
        "none".to_owned()
    } else {
        format!("{:.1} %", 100.0 * hits as f64 / of as f64)
    }
}

fn of((hits, of): (usize, usize)) -> String {
    format!("{hits} of {of}")
}

fn whole(all: &Figures) -> Table {
    let points = |(rms, p95): (f64, f64)| format!("{rms:.2} / {p95:.2}");
    let mut table = Table::new();
    table.load_style(presets::ASCII_MARKDOWN);
    table.set_header(["figure", "the fit", "reading humps"]);
    let mut row = |name: &str, fit: String, humps: String| {
        table.add_row([name.to_owned(), fit, humps]);
    };
    row(
        "simulated engines, no check failed",
        of((all.passed, all.engines)),
        String::new(),
    );
    row(
        "weakest cylinder found",
        of(all.weakest),
        of(all.weakest_by_humps),
    );
    row(
        "captures with a wrong finding",
        all.wrong.to_string(),
        all.wrong_by_humps.to_string(),
    );
    row(
        "cylinders under 75 % called low",
        share(all.called_low),
        String::new(),
    );
    row(
        "cylinders over 95 % called even",
        share(all.called_even),
        String::new(),
    );
    row(
        "error, rms / 95th percentile, points",
        points(all.error),
        points(all.error_by_humps),
    );
    row(
        "truth inside the 95 % interval",
        share(all.covered),
        String::new(),
    );
    row(
        "mean width of the interval, points",
        format!("{:.1}", all.width),
        String::new(),
    );
    table
}

/// The same by signal and by number of cylinders.
fn parts(judged: &[Judged]) -> Table {
    let mut groups: BTreeMap<String, Vec<&Judged>> = BTreeMap::new();
    for engine in judged {
        groups
            .entry(engine.signal.clone())
            .or_default()
            .push(engine);
        groups
            .entry(engine.layout.clone())
            .or_default()
            .push(engine);
    }
    let mut table = Table::new();
    table.load_style(presets::ASCII_MARKDOWN);
    table.set_header([
        "of these",
        "no check failed",
        "rms",
        "95th",
        "inside",
        "width",
        "wrong",
    ]);
    for (name, engines) in groups {
        let part = figures(engines.into_iter());
        table.add_row([
            name,
            of((part.passed, part.engines)),
            format!("{:.2}", part.error.0),
            format!("{:.2}", part.error.1),
            share(part.covered),
            format!("{:.1}", part.width),
            part.wrong.to_string(),
        ]);
    }
    table
}

fn undecided(all: &Figures) -> Table {
    let mut table = Table::new();
    table.load_style(presets::ASCII_MARKDOWN);
    table.set_header(["true relative compression", "undecided", "cylinders"]);
    for (band, tally) in &all.undecided {
        table.add_row([format!("from {band} %"), share(*tally), tally.1.to_string()]);
    }
    table
}
