//! Marks of over-range are clipped samples: the check of clipping sees them, and no number is made of them.

use evenfire::capture::setup::{self, Setup};
use evenfire::capture::take;
use evenfire::cranking::answer::{Analysis, CheckName, SignalKind, VerdictKind};
use evenfire::simulate::draw::Wish;
use evenfire::simulate::practice::{Practice, practice};

use super::fixture::{read, with};

/// A sound capture of starter current, and the level above which a twentieth of the cranking lies.
fn made() -> (Practice, f64) {
    let wish = Wish {
        source: Some(SignalKind::StarterCurrent),
        losses: Some(Vec::new()),
        rate_hz: Some(1000.0),
        ..Wish::anything()
    };
    let made = practice(5, &wish).unwrap();
    let mut sorted: Vec<f64> = made.table.signal.iter().map(|v| v.abs()).collect();
    sorted.sort_by(f64::total_cmp);
    let level = sorted[sorted.len() * 95 / 100];
    (made, level)
}

/// The capture with every sample beyond a level written as a mark.
fn marked(made: &Practice, level: f64, up: &str, down: &str) -> Analysis {
    let text = made.csv();
    let mut lines = text.lines().map(str::to_owned).collect::<Vec<_>>();
    for (line, value) in lines[1..].iter_mut().zip(&made.table.signal) {
        if value.abs() > level {
            let mut cells: Vec<&str> = line.split(',').collect();
            cells[1] = if *value > 0.0 { up } else { down };
            *line = cells.join(",");
        }
    }
    let mut setup: Setup = made.setup();
    if let Some(channel) = &mut setup.channels.starter_current {
        channel.full_scale = None;
        channel.bits = None;
    }
    let text = lines.join("\n");
    let recording = take(text.as_bytes(), "c", &setup).unwrap();
    evenfire::cranking::analyse(&recording.capture, &recording.setup).analysis
}

fn clipped(analysis: &Analysis) -> Option<bool> {
    let check = analysis
        .quality
        .iter()
        .find(|check| check.check == CheckName::Clipped)?;
    Some(!check.passed)
}

#[test]
fn each_kind_of_mark_is_seen_as_clipping() {
    let (made, level) = made();
    let whole = marked(&made, f64::INFINITY, "", "");
    assert_eq!(
        (clipped(&whole), whole.verdict.kind),
        (Some(false), VerdictKind::Even)
    );
    for (up, down) in [
        ("∞", "-∞"),
        ("inf", "-inf"),
        ("OL", "-OL"),
        ("OL", "OL"),
        ("---", "---"),
        ("+OVR", "-OVR"),
    ] {
        let analysis = marked(&made, level, up, down);
        assert_eq!(
            clipped(&analysis),
            Some(true),
            "{up}: {:?}",
            analysis.quality
        );
        assert_eq!(analysis.verdict.kind, VerdictKind::Inconclusive, "{up}");
    }
}

#[test]
fn marks_stand_at_the_end_of_the_range_that_is_told() {
    let text = "time,u\n0,1.5\n1,OL\n2,-1.5\n3,---\n4,-∞\n5,+OL\n";
    let setup = with("channels: {battery_voltage: {column: u, full_scale: 2}}\n");
    let recording = read(text.as_bytes(), &setup).unwrap();
    assert_eq!(
        recording.capture.columns["u"],
        [1.5, 2.0, -1.5, -2.0, -2.0, 2.0]
    );
    assert_eq!(recording.understood.columns[0].over_range, 4);
    // a channel of marks alone is off the range, not dead
    let text = "time,u\n0,OL\n1,OL\n2,OL\n3,OL\n4,OL\n";
    let setup = setup::read(
        "engine: {cylinders: 1, firing_order: [1]}\nchannels: {battery_voltage: {column: u}}\n",
        "s",
    )
    .unwrap();
    let recording = read(text.as_bytes(), &setup).unwrap();
    let analysis = evenfire::cranking::analyse(&recording.capture, &recording.setup).analysis;
    assert_eq!(clipped(&analysis), Some(true), "{:?}", analysis.quality);
}
