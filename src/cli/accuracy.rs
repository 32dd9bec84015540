//! `evenfire accuracy`: the analysis measured on simulated engines.

mod tables;

use std::process::ExitCode;

use clap::Args;
use indicatif::ProgressBar;
use rayon::prelude::*;

use crate::cli::{Failure, say};
use crate::cranking::answer::Identified;
use crate::simulate::accuracy::remarks::{Remarks, of_common};
use crate::simulate::accuracy::{Judged, Refusal, figures, judge, refusal};
use crate::simulate::common_fault::{self, CommonFault};
use crate::simulate::draw::Wish;
use crate::simulate::spoil::{self, Spoil};

/// Measure the analysis on simulated engines with known truth, hump reading beside it
///
/// Prints the figures over all, the interval's calibration by signal, layout and naming, the undecided share
/// by true compression, how often leak and poor filling are told apart rightly, which spoiled captures were
/// refused and why, and how often remarks on the whole engine were right. The same arguments give the same figures.
///
/// Percentages can be proved on simulated engines only: no public recording with a gauge-measured weak
/// cylinder is known.
#[derive(Debug, Args)]
pub(crate) struct AccuracyArguments {
    /// Engines to draw
    #[arg(long, default_value_t = 1000)]
    engines: u64,
    /// First seed, of each set
    #[arg(long, default_value_t = 0)]
    seed: u64,
    /// Seeds of spoiled captures, for each of the nine ways to spoil one; 0 for none
    #[arg(long, value_name = "SEEDS", default_value_t = 40)]
    spoiled: u64,
    /// Seeds of vehicles with one fault common to all cylinders, or a weak battery, for each; 0 for none
    #[arg(long, value_name = "SEEDS", default_value_t = 60)]
    common: u64,
}

pub(crate) fn run(arguments: &AccuracyArguments) -> Result<ExitCode, Failure> {
    let kinds = spoil::ALL.len() as u64 * arguments.spoiled;
    let common = common_fault::ALL.len() as u64 * arguments.common;
    let bar = ProgressBar::new(arguments.engines + kinds + common);
    let judged: Vec<Judged> = over(arguments, arguments.engines, &bar, |seed| {
        judge(seed, &Wish::anything())
    });
    if judged.is_empty() {
        return Err("no engine was drawn; give --engines a number above 0".into());
    }
    let spoiled: Vec<(Spoil, Vec<Refusal>)> = spoil::ALL
        .into_iter()
        .map(|spoil| {
            let all = over(arguments, arguments.spoiled, &bar, |seed| {
                refusal(seed, spoil)
            });
            (spoil, all)
        })
        .collect();
    let common: Vec<(CommonFault, Vec<Remarks>)> = common_fault::ALL
        .into_iter()
        .map(|common| {
            let all = over(arguments, arguments.common, &bar, |seed| {
                of_common(seed, common)
            });
            (common, all)
        })
        .collect();
    bar.finish_and_clear();
    report(arguments, &judged, &spoiled, &common);
    Ok(ExitCode::SUCCESS)
}

/// Whatever comes of a number of seeds, in their order.
fn over<T: Send>(
    arguments: &AccuracyArguments,
    count: u64,
    bar: &ProgressBar,
    of: impl Fn(u64) -> Option<T> + Sync,
) -> Vec<T> {
    (arguments.seed..arguments.seed.saturating_add(count))
        .into_par_iter()
        .filter_map(|seed| {
            let one = of(seed);
            bar.inc(1);
            one
        })
        .collect()
}

fn report(
    arguments: &AccuracyArguments,
    judged: &[Judged],
    spoiled: &[(Spoil, Vec<Refusal>)],
    common: &[(CommonFault, Vec<Remarks>)],
) {
    let all = figures(judged.iter());
    let mut tables = vec![
        tables::whole(&all),
        tables::parts(judged, "by signal", |engine| engine.signal.clone()),
        tables::parts(judged, "by layout", |engine| engine.layout.clone()),
        tables::parts(judged, "by naming", naming),
        tables::undecided(&all),
        tables::kinds(judged),
    ];
    if arguments.spoiled > 0 {
        tables.push(tables::refusals(spoiled));
    }
    let common = if arguments.common > 0 { common } else { &[] };
    tables.push(tables::remarks(judged, common));
    for table in tables {
        say(&format!("{table}\n\n"));
    }
    say(&format!(
        "Seeds from {}: {} of engines, {} of each way to spoil a capture, {} of each common fault.\n",
        arguments.seed, arguments.engines, arguments.spoiled, arguments.common
    ));
}

fn naming(engine: &Judged) -> String {
    match engine.identified {
        Some(Identified::Cylinder) => "cylinders named",
        Some(Identified::OneOfPair) => "cylinder or companion",
        Some(Identified::PositionOnly) => "positions only",
        None => "nothing found",
    }
    .to_owned()
}
