//! What the jobs of a register found: captures, engines, verdicts.

use std::collections::BTreeMap;
use std::fmt::Write;

use comfy_table::{ContentArrangement, Table, presets};

use super::register::{MOST, named, often_first_in, section, tally};
use crate::procedure::model::OutcomeKind;
use crate::record::audit::figures::{Figures, Tally};
use crate::text::{clean, counted};

/// Columns of a table: 80, less the space before it.
const COLUMNS: u16 = 79;

pub(super) fn refused(out: &mut String, figures: &Figures) {
    let Figures {
        captures,
        captures_refused: refused,
        captures_undecided: undecided,
        ..
    } = *figures;
    if captures == 0 {
        return;
    }
    match refused {
        0 => {
            let _ = writeln!(out, "\nCaptures: {captures}, none refused");
        }
        _ => {
            let heading = format!(
                "Captures: {captures}; {refused} of them failed a check (one can fail several) and gave no verdict"
            );
            section(
                out,
                &heading,
                &often_first_in(
                    &words(&figures.refused_because),
                    &words(&figures.refused_because_jobs),
                ),
            );
        }
    }
    if undecided > 0 {
        let _ = writeln!(
            out,
            "  {undecided} passed every check, but gave no verdict: too uncertain"
        );
    }
}

pub(super) fn layouts(out: &mut String, figures: &Figures) {
    if figures.outcomes_by_layout.is_empty() {
        return;
    }
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(COLUMNS);
    let heads = OutcomeKind::ALL.map(|kind| kind.name().replace('-', " "));
    table.set_header([vec!["Engine".to_owned()], heads.to_vec()].concat());
    let mut layouts: Vec<(&String, &Tally)> = figures.outcomes_by_layout.iter().collect();
    layouts.sort_by_key(|(_, outcomes)| std::cmp::Reverse(outcomes.values().sum::<u64>()));
    for (layout, outcomes) in layouts.iter().take(MOST) {
        let counts = Figures::outcome_row(outcomes).map(|count| count.to_string());
        table.add_row([vec![clean(layout)], counts.to_vec()].concat());
    }
    let rows = table.to_string();
    let _ = writeln!(out, "\nOutcomes by engine");
    for row in rows.lines() {
        let _ = writeln!(out, " {}", row.trim_end());
    }
    if layouts.len() > MOST {
        let _ = writeln!(out, "  … and {} more layouts", layouts.len() - MOST);
    }
}

pub(super) fn verdicts(out: &mut String, figures: &Figures) {
    tally(
        out,
        "Verdicts of the captures that count",
        &figures.verdicts,
    );
    let (confirmed, tested) = figures.confirmed();
    let against = &figures.leak_down_against_verdict;
    if !against.is_empty() {
        let _ = writeln!(out, "\nLow verdicts against leak-down");
        if tested > 0 {
            let percent = 100.0 * confirmed as f64 / tested as f64;
            let held = match figures.held_air.len() {
                0 => String::new(),
                count => format!(" and held air in {count} ({})", named(&figures.held_air)),
            };
            let _ = writeln!(
                out,
                "  The suspected cylinder was tested in {}; it leaked in {confirmed} ({percent:.0} %){held}.",
                counted(tested, "job")
            );
        }
        for (name, words) in [
            ("other_cylinder", "leak-down was of another cylinder only"),
            (
                "unnamed",
                "leak-down was done, but which cylinder was suspected or tested is not named",
            ),
            ("not_tested", "no leak-down in the same job"),
        ] {
            if let Some(count) = against.get(name) {
                let _ = writeln!(out, "{count:>9}  {words}");
            }
        }
    }
    let against = &figures.static_against_verdict;
    tally(
        out,
        "Low verdicts against static compression",
        &words(against),
    );
}

/// What has names of checks or verdicts, by these in words.
fn words<V: Clone>(by_name: &BTreeMap<String, V>) -> BTreeMap<String, V> {
    let pairs = by_name.iter();
    let pairs = pairs.map(|(name, value)| (name.replace('_', " "), value.clone()));
    pairs.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_refused_and_what_stayed_uncertain_are_told_apart() {
        let told = |captures_refused, captures_undecided| {
            let figures = Figures {
                captures: 9,
                captures_refused,
                captures_undecided,
                refused_because: [("too_few_cycles".to_owned(), captures_refused)].into(),
                ..Figures::default()
            };
            let mut said = String::new();
            refused(&mut said, &figures);
            said
        };
        assert_eq!(told(0, 0), "\nCaptures: 9, none refused\n");
        let said = told(2, 1);
        assert!(said.contains("2 of them failed a check"), "{said}");
        assert!(said.contains("2  too few cycles"), "{said}");
        assert!(said.contains("  1 passed every check"), "{said}");
    }
}
