//! What a map shows, of a small procedure and of the shipped ones.

use super::chart::Chart;
use super::place::{BESIDE_LETTERS, TEXT, WIDTH, beside, place};
use super::{dot, mermaid, page, sheet};
use crate::procedure::model::{Library, Next, Question};
use crate::procedure::read_library;
use crate::rehearse::coverage::Coverage;

const SOUND: &str = include_str!("../procedure/check/tests/sound.yaml");

/// The text of a shipped sheet.
macro_rules! sheet {
    ($name:literal) => {
        include_str!(concat!("../../procedures/", $name, ".yaml"))
    };
}

pub(super) fn library(root: &str) -> Library {
    let source = |name: &str| {
        let text = match name {
            "sound" => SOUND,
            "leak-down" => sheet!("leak-down"),
            "intake" => sheet!("intake"),
            "static-compression" => sheet!("static-compression"),
            "running-compression" => sheet!("running-compression"),
            "cranking-circuit" => sheet!("cranking-circuit"),
            "cam-correlation" => sheet!("cam-correlation"),
            _ => sheet!("relative-compression"),
        };
        Some((format!("{name}.yaml"), text.to_owned()))
    };
    read_library(root, &source).unwrap()
}

/// A chain runs straight down the left edge, with its words in the room beside it.
#[test]
fn boxes_that_stand_alone_share_the_left_edge() {
    let library = library("relative-compression");
    let procedure = &library.procedures["relative-compression"];
    let chart = Chart::of(procedure, None);
    let placed = place(&chart);
    let alone: Vec<usize> = (0..chart.boxes.len())
        .filter(|n| placed.alone[*n])
        .collect();
    assert!(alone.len() > 10, "{}", alone.len());
    for number in &alone {
        let (x, _, height) = placed.boxes[*number];
        assert!(x < 20.0, "{}: {x}", chart.boxes[*number].id);
        let lines = beside(&chart, *number);
        assert!(lines.len() as f64 * TEXT <= height);
        assert!(
            lines
                .iter()
                .all(|line| line.chars().count() <= BESIDE_LETTERS)
        );
    }
    let shown = page(&library, "relative-compression", None, None);
    assert!(
        shown.contains(
            "\">Parking brake on, transmission in park or neutral, wheels chocked.</text>"
        )
    );
}

/// No two boxes lie over each other, and every line runs downwards from its box to its target.
#[test]
fn boxes_stand_apart_and_lines_run_down() {
    for root in [
        "sound",
        "leak-down",
        "relative-compression",
        "cranking-circuit",
    ] {
        let library = library(root);
        let chart = Chart::of(&library.procedures[root], None);
        let placed = place(&chart);
        for (number, (x, y, height)) in placed.boxes.iter().enumerate() {
            assert!(
                *x >= 0.0
                    && x + WIDTH <= placed.width
                    && y + height <= placed.ends[placed.ends.len() - 1]
            );
            for (other_x, other_y, other_height) in &placed.boxes[..number] {
                let beside = x + WIDTH <= *other_x || other_x + WIDTH <= *x;
                let below = y + height <= *other_y || other_y + other_height <= *y;
                assert!(beside || below, "{root}: {}", chart.boxes[number].id);
            }
        }
        for points in &placed.lines {
            assert!(
                points.windows(2).all(|pair| pair[0].1 <= pair[1].1),
                "{root}"
            );
        }
    }
}

/// A line runs through no box, and what to do stands in every box that has no room beside it.
#[test]
fn nothing_is_hidden_behind_a_box() {
    for root in [
        "sound",
        "leak-down",
        "relative-compression",
        "cranking-circuit",
    ] {
        let library = library(root);
        let procedure = &library.procedures[root];
        let chart = Chart::of(procedure, None);
        let placed = place(&chart);
        let pairs = placed.lines.iter().flat_map(|points| points.windows(2));
        let points = pairs.flat_map(|pair| (1..40).map(|part| drawn(pair, f64::from(part) / 40.0)));
        for (x, y) in points {
            let inside = |(left, top, height): &(f64, f64, f64)| {
                *left < x && x < left + WIDTH && top + 0.5 < y && y < top + height - 0.5
            };
            let hidden = placed.boxes.iter().position(inside);
            assert_eq!(
                hidden.map(|at| &chart.boxes[at].id),
                None,
                "{root}: {x} {y}"
            );
        }
        for (number, step) in procedure.steps.iter().enumerate() {
            let done = chart.boxes[number].done.join(" ");
            let wanted = step.action.as_deref().filter(|_| !placed.alone[number]);
            assert_eq!(done, wanted.unwrap_or_default(), "{}", step.id);
        }
    }
}

/// A point of a line between two of its points, as the picture draws it: a Bézier curve that leaves and comes
/// upright.
fn drawn(pair: &[(f64, f64)], part: f64) -> (f64, f64) {
    let ((from_x, from_y), (to_x, to_y)) = (pair[0], pair[1]);
    let middle = f64::midpoint(from_y, to_y);
    let rest = 1.0 - part;
    let weights = [
        rest.powi(3),
        3.0 * rest.powi(2) * part,
        3.0 * rest * part.powi(2),
        part.powi(3),
    ];
    let along = |values: [f64; 4]| {
        values
            .iter()
            .zip(weights)
            .map(|(value, weight)| value * weight)
            .sum()
    };
    (
        along([from_x, from_x, to_x, to_x]),
        along([from_y, middle, middle, to_y]),
    )
}

/// Every way of the file is in the picture: as a line or as a tag.
#[test]
fn no_way_is_lost() {
    let library = library("relative-compression");
    let procedure = &library.procedures["relative-compression"];
    let chart = Chart::of(procedure, None);
    for (from, step) in procedure.steps.iter().enumerate() {
        for (_, to) in crate::procedure::ways(step) {
            let line = chart
                .lines
                .iter()
                .any(|line| line.from == from && line.to == to);
            let tag = chart.boxes[from].tags.iter().any(|tag| tag.to == to);
            assert!(line != tag, "{} to {}", step.id, procedure.steps[to].id);
        }
    }
}

#[test]
fn hazards_and_untested_ways_are_seen() {
    let library = library("sound");
    let plain = page(&library, "sound", None, None);
    let every = library.procedures["sound"].steps.iter();
    for hazard in every.flat_map(|step| &step.hazards) {
        let word = hazard.word.text();
        assert!(plain.contains(&format!("{word}</b> {}</li>", hazard.text)));
    }
    let listed = plain.split("<ol class=\"hazards\">").nth(1).unwrap();
    let danger = listed
        .split("<li>")
        .position(|one| one.contains(">DANGER<"))
        .unwrap();
    assert!(
        plain.contains(&format!(">DANGER {danger}</text>")),
        "numbered as listed"
    );
    assert!(plain.contains(">WARNING "));
    assert!(plain.contains("holds after yes: fuel off proved"));
    assert!(!plain.contains("⚑") && !plain.contains("http-equiv=\"refresh\""));
    let nothing = Coverage::default();
    let marked = page(&library, "sound", Some(&nothing), None);
    assert!(marked.contains("line untested") && marked.contains("0 of 11 steps"));
    assert_eq!(
        plain,
        page(&library, "sound", None, None),
        "the same in, the same out"
    );
}

/// Nothing is fetched, and no text of the file can become markup.
#[test]
fn texts_stay_texts() {
    let evil = SOUND.replace(
        "No high-voltage drive.",
        "\"No <script>alert(1)</script> & \\\"drive\\\".\"",
    );
    let source = |_: &str| Some(("sound.yaml".to_owned(), evil.clone()));
    let library = read_library("sound", &source).unwrap();
    for text in [
        page(&library, "sound", None, None),
        sheet(&library, "sound", None),
    ] {
        assert!(!text.contains("<script"), "{text}");
        assert!(!text.contains("src=") && !text.contains("@import"));
    }
    assert!(mermaid(&library, "sound", None).contains("#lt;script#gt;"));
    assert!(dot(&library, "sound", None).contains("\\\"drive\\\""));
}

#[test]
fn text_forms_name_every_step_and_way() {
    let library = library("sound");
    let dot = dot(&library, "sound", None);
    assert!(dot.contains("\"sound/rest-reading\" -> \"sound/cut-fuel\" [label=\">= 12.20\"]"));
    let mermaid = mermaid(&library, "sound", None);
    assert!(
        mermaid.contains("p0s2 -->|\"#lt; 12.20\"| p0s10"),
        "{mermaid}"
    );
    assert!(mermaid.contains("p0s10([\"turned-away"));
}

/// On paper the hazard stands before the action, and every answer names the number that follows.
#[test]
fn the_sheet_reads_in_order() {
    let library = library("sound");
    let sheet = sheet(&library, "sound", None);
    let at = |text: &str| sheet.find(text).unwrap_or_else(|| panic!("{text}"));
    assert!(at("Belts turn.") < at("Crank for seven seconds."));
    assert!(!sheet.contains("→ <b>2</b>"), "the next number is not told");
    assert!(sheet.contains("no → <b>11</b>"), "{sheet}");
    assert!(sheet.contains("Refit the fuel pump relay."));
    assert!(sheet.contains("possible 0 to 20"));
    assert!(sheet.contains("Pull the fuel pump relay at ________ (step 3) V."));
    assert!(sheet.contains("Cylinder ________ (lowest cylinder, step 7) is low."));
    // limits in words, not as the file has them
    assert!(sheet.contains("less than 12.20 → ") && sheet.contains("12.20 or more"));
    assert!(!sheet.contains("&lt; 12.20") && !sheet.contains("&gt;= 12.20"));
    assert!(sheet.contains("A starter turns 10 s at most"));
}

/// Every end of a called sheet names each step that calls it, and what is ticked there.
#[test]
fn ends_of_a_called_sheet_lead_back() {
    let library = library("relative-compression");
    let sheet = sheet(&library, "relative-compression", None);
    let ends = |name: &str| {
        let steps = library.procedures[name].steps.iter();
        steps.filter(|step| matches!(step.question, Question::Outcome { .. }))
    };
    let mut told = 0;
    for (number, step) in library.procedures["relative-compression"]
        .steps
        .iter()
        .enumerate()
    {
        let Question::Call {
            procedure,
            next: Next::When(branches),
            ..
        } = &step.question
        else {
            continue;
        };
        for end in ends(procedure) {
            let back = format!(
                "<b>{}</b>: back to step <b>{}</b>, tick <i>",
                end.id.replace('-', " "),
                number + 1
            );
            let line = sheet
                .split(&back)
                .nth(1)
                .unwrap_or_else(|| panic!("{back}"));
            let ticked = line.split('<').next().unwrap();
            assert!(
                branches
                    .iter()
                    .any(|branch| super::wording::tests(&branch.tests) == ticked),
                "{ticked}"
            );
            told += 1;
        }
    }
    assert!(told > 4, "{told}");
}

/// Where nothing cranks, nothing is said of the starter.
#[test]
fn a_sheet_without_a_crank_says_nothing_of_the_starter() {
    let text =
        crate::procedure::scaffold::sheet(crate::procedure::scaffold::Kind::Plain, "battery");
    let source = |_: &str| Some(("battery.yaml".to_owned(), text.clone()));
    let shown = sheet(&read_library("battery", &source).unwrap(), "battery", None);
    assert!(!shown.contains("A starter turns"));
    assert!(shown.contains("The limits below are the usual ones"));
}

#[test]
fn tests_are_told_in_words() {
    let told =
        |written: &str| super::wording::tests(&crate::procedure::unary::parse(written).unwrap());
    let cases = [
        ("< 12.20", "less than 12.20"),
        (">= 12.20", "12.20 or more"),
        ("[13.80..14.80]", "13.80 to 14.80"),
        ("(10..20]", "more than 10 and 20 or less"),
        ("< 5, > 20", "less than 5 or more than 20"),
        ("not([10..20])", "not: 10 to 20"),
        ("12", "12"),
        ("cable-bad", "cable bad"),
        ("otherwise", "anything else"),
    ];
    for (written, words) in cases {
        assert_eq!(told(written), words);
    }
}

/// A reading that is taken again in a loop has a line for every visit, a way out of the loop one box.
#[test]
fn what_is_visited_again_has_room_on_paper() {
    let library = library("cranking-circuit");
    let sheet = sheet(&library, "cranking-circuit", None);
    let step = |asked: &str| {
        let from = &sheet[sheet.find(asked).unwrap_or_else(|| panic!("{asked}"))..];
        &from[..from.find("<div class=\"number\">").unwrap_or(from.len())]
    };
    let drop = step("Drop over that part while it cranked");
    assert_eq!(drop.matches("class=\"blank\"").count(), 9, "{drop}");
    assert!(drop.contains("to 0.01 V; possible 0 to 12"));
    let joint = step("<i>joint drop</i>");
    assert_eq!(joint.matches("sound → ").count(), 9, "{joint}");
    assert!(joint.contains("0.1 V on a joint, 0.3 V on a switch or solenoid"));
    let part = step("What do you measure next?");
    let ticks = |way: &str| {
        let (before, _) = part.split_once(way).unwrap_or_else(|| panic!("{way}"));
        before[before.rfind("<li>").unwrap()..]
            .matches("class=\"tick\"")
            .count()
    };
    assert_eq!(
        (ticks("A cable, from"), ticks("All parts of")),
        (9, 1),
        "{part}"
    );
    assert!(
        step("Voltage on the posts themselves")
            .matches("class=\"blank\"")
            .count()
            == 1
    );
}

#[test]
fn a_count_is_a_whole_number_and_what_needs_the_program_says_so() {
    let library = library("relative-compression");
    let sheet = sheet(&library, "relative-compression", None);
    assert!(sheet.contains(">a whole number, 2 to 12; outside of 3 to 8 "));
    assert!(!sheet.contains("count, to"));
    assert!(sheet.contains("Needs the program: note the readings and ring the shop."));
}

#[test]
fn a_bound_is_told_with_its_number() {
    let library = library("cranking-circuit");
    for text in [
        page(&library, "cranking-circuit", None, None),
        dot(&library, "cranking-circuit", None),
        mermaid(&library, "cranking-circuit", None),
    ] {
        assert!(text.contains("after 9 times") && !text.contains("as often as"));
    }
}
