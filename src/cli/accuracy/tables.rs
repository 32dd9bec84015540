//! The tables of the accuracy report.

use std::collections::BTreeMap;

use comfy_table::{Table, presets};

use crate::cranking::answer::CheckName;
use crate::engine::Loss;
use crate::simulate::accuracy::remarks::{self, Remark, Remarks};
use crate::simulate::accuracy::{Figures, Judged, Refusal, figures, kinds};
use crate::simulate::common_fault::CommonFault;
use crate::simulate::spoil::Spoil;

fn plain() -> Table {
    let mut table = Table::new();
    table.load_style(presets::ASCII_MARKDOWN);
    table
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

/// The figures over all, hump reading beside them.
pub(super) fn whole(all: &Figures) -> Table {
    let points = |(rms, p95): (f64, f64)| format!("{rms:.2} / {p95:.2}");
    let mut table = plain();
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

/// The same by what `part` calls an engine's part of the whole; truth inside and width are the interval's calibration.
pub(super) fn parts(judged: &[Judged], title: &str, part: fn(&Judged) -> String) -> Table {
    let mut groups: BTreeMap<String, Vec<&Judged>> = BTreeMap::new();
    for engine in judged {
        groups.entry(part(engine)).or_default().push(engine);
    }
    let mut table = plain();
    table.set_header([
        title,
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

/// Undecided cylinders by what they truly keep.
pub(super) fn undecided(all: &Figures) -> Table {
    let mut table = plain();
    table.set_header(["true relative compression", "undecided", "cylinders"]);
    for (band, tally) in &all.undecided {
        table.add_row([format!("from {band} %"), share(*tally), tally.1.to_string()]);
    }
    table
}

/// Leak and poor filling told apart, of cylinders called low.
pub(super) fn kinds(judged: &[Judged]) -> Table {
    let mut table = plain();
    table.set_header([
        "the loss is",
        "told rightly",
        "wrongly",
        "left open",
        "told, right of told",
    ]);
    for (name, loss) in [("a leak", Loss::Leak), ("poor filling", Loss::Filling)] {
        let passed = judged.iter().filter(|engine| engine.passed());
        let [right, wrong, open] = kinds::tally(passed.flat_map(|engine| &engine.kinds), loss);
        table.add_row([
            name.to_owned(),
            right.to_string(),
            wrong.to_string(),
            open.to_string(),
            share((right, right + wrong)),
        ]);
    }
    table
}

/// Captures that were spoiled, by how.
pub(super) fn refusals(spoiled: &[(Spoil, Vec<Refusal>)]) -> Table {
    let mut table = plain();
    table.set_header([
        "spoiled",
        "check that has to fail",
        "captures",
        "refused",
        "by the right check",
        "others that failed instead",
    ]);
    for (spoil, all) in spoiled {
        let count = |what: fn(&Refusal) -> bool| all.iter().filter(|one| what(one)).count();
        let mut instead: BTreeMap<CheckName, usize> = BTreeMap::new();
        let wrongly = all.iter().filter(|one| !one.rightly);
        for (check, _) in wrongly.flat_map(|one| &one.failed) {
            *instead.entry(*check).or_default() += 1;
        }
        let instead: Vec<String> = instead
            .into_iter()
            .map(|(check, count)| format!("{} {count}", name(check)))
            .collect();
        table.add_row([
            spoil.name().to_owned(),
            name(spoil.check(true)),
            all.len().to_string(),
            count(|one| one.refused).to_string(),
            count(|one| one.rightly).to_string(),
            instead.join(", "),
        ]);
    }
    table
}

fn name(check: CheckName) -> String {
    serde_json::to_value(check)
        .ok()
        .and_then(|value| value.as_str().map(|text| text.replace('_', " ")))
        .unwrap_or_default()
}

/// Remarks on the whole engine: given where they are due, and where they are not.
pub(super) fn remarks(judged: &[Judged], common: &[(CommonFault, Vec<Remarks>)]) -> Table {
    let mut table = plain();
    table.set_header([
        "vehicles",
        "remark",
        "refused before",
        "due",
        "given",
        "not due",
        "given all the same",
    ]);
    let mut rows = |vehicles: &str, all: &[Remarks]| {
        let heard: Vec<&Remarks> = all.iter().filter(|one| !one.refused).collect();
        let mut row = |remark: &str, of: fn(&Remarks) -> Option<Remark>| {
            let [given, due, astray, not_due] =
                remarks::tally(heard.iter().filter_map(|one| of(one)));
            table.add_row([
                vehicles.to_owned(),
                remark.to_owned(),
                (all.len() - heard.len()).to_string(),
                due.to_string(),
                given.to_string(),
                not_due.to_string(),
                astray.to_string(),
            ]);
        };
        row("small swing", |one| one.swing);
        row("cranking speed", |one| one.speed);
        row("voltage", |one| one.voltage);
    };
    let drawn: Vec<Remarks> = judged.iter().map(|engine| engine.remarks).collect();
    rows("as drawn above", &drawn);
    for (common, all) in common {
        rows(common.name(), all);
    }
    table
}
