//! How screens look: pictures of the main ones, and what holds of all.

use dialoguer::console::measure_text_width;

use crate::ask::layout::{Layout, ShowResult};
use crate::ask::terminal::Terminal;
use crate::ask::tests::{Person, screen};
use crate::procedure::model::{CaptureKind, Choice, Hazard, Interval, NumberForm, SignalWord};
use crate::quantity::Unit;
use crate::run::asker::{Asker, Told};
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, Screen};

#[test]
fn a_screen_reads_hazard_action_question() {
    let mut screen = screen(Form::Confirm);
    screen.hazards = vec![Hazard {
        word: SignalWord::Warning,
        text: "The engine may start or the vehicle may move while you crank, whoever stands before it."
            .to_owned(),
    }];
    let text = Layout::new(70, false).screen(&screen);
    let wanted = "
Make safe · step 3                                            job 0042

  WARNING  The engine may start or the vehicle may move while you
           crank, whoever stands before it.

  Parking brake on, wheels chocked.

The vehicle cannot move.
";
    assert_eq!(text, wanted);
}

#[test]
fn a_step_of_a_loop_says_which_time_it_is() {
    let mut screen = screen(Form::Confirm);
    screen.time = Some((2, 12));
    let text = Layout::new(60, false).screen(&screen);
    let heading = "\nMake safe · step 3, time 2 of at most 12            job 0042\n";
    assert!(text.starts_with(heading), "{text}");
}

#[test]
fn keys_stay_with_their_words() {
    let keys = "y yes   n no   ? why   b back   t note   p pause   s stop";
    let wide = format!("  {keys}\n");
    assert_eq!(Layout::new(80, false).keys(keys), wide);
    let long = "1–9 choose   ? why   b back   t note   p pause   s stop   x nothing";
    let narrow = "  1–9 choose   ? why   b back   t note   p pause   s stop\n  x nothing\n";
    assert_eq!(Layout::new(60, false).keys(long), narrow);
}

#[test]
fn no_line_is_wider_than_the_terminal_and_colour_only_adds() {
    let mut screen = screen(Form::Confirm);
    screen.hazards = vec![Hazard {
        word: SignalWord::Danger,
        text: "Fans, belts and pulleys turn. ".repeat(12),
    }];
    screen.action = Some("Größe prüfen: äußerst vorsichtig. ".repeat(9));
    for columns in [10, 60, 72, 80, 200] {
        let plain = Layout::new(columns, false).screen(&screen);
        let widest = plain.lines().map(measure_text_width).max().unwrap();
        assert!(widest <= columns.clamp(60, 80), "{columns}: {widest}");
        let coloured = Layout::new(columns, true).screen(&screen);
        assert!(coloured.contains('\u{1b}'));
        let stripped = dialoguer::console::strip_ansi_codes(&coloured);
        assert_eq!(stripped, plain);
    }
}

/// A screen with its keys, at 80 and 60 columns and by plain lines; none of them has colour.
fn seen(screen: &Screen, refused: Option<&Refusal>) -> String {
    let ways = [
        ("80 columns", 80, false),
        ("60 columns", 60, false),
        ("plain", 60, true),
    ];
    let one = |(name, columns, plain): (&str, usize, bool)| {
        let mut person = Person::new("p", &[":p"]);
        person.columns = columns;
        let seen = person.seen.clone();
        let clock = Box::new(|| "2026-03-02T08:00:00Z".to_owned());
        let mut terminal = Terminal::new(person, false, clock, Box::new(|_| None));
        if plain {
            terminal = terminal.plain();
        }
        terminal.ask(screen, refused).unwrap();
        let text = seen.borrow().replace("[discarded]", "");
        format!("=== {name}\n{text}")
    };
    ways.map(one).join("\n")
}

fn interval(least: &str, greatest: &str) -> Interval {
    Interval {
        least: least.parse().unwrap(),
        greatest: greatest.parse().unwrap(),
    }
}

fn choices() -> Vec<Choice> {
    let choice = |name: &str, label: &str| Choice {
        name: name.to_owned(),
        label: label.to_owned(),
    };
    vec![
        choice(
            "clamp",
            "Current clamp rated above the expected cranking current, around the starter's cable",
        ),
        choice("posts", "Battery voltage at the posts, AC-coupled"),
    ]
}

#[test]
fn pictures_of_the_main_screens() {
    let mut hazard = screen(Form::Confirm);
    hazard.hazards = vec![Hazard {
        word: SignalWord::Danger,
        text: "Fans, belts and pulleys turn. Keep hands, hair, hoses and leads clear.".to_owned(),
    }];
    insta::assert_snapshot!("hazard", seen(&hazard, None));

    let mut question = screen(Form::Choose(choices()));
    question.action = None;
    question.asked = "Which signal can you take?".to_owned();
    insta::assert_snapshot!("question", seen(&question, None));

    let mut number = screen(Form::Number(NumberForm {
        unit: Unit::Volt,
        meant: Unit::Volt,
        resolution: "0.01".parse().unwrap(),
        possible: interval("0", "20"),
        expected: Some(interval("11.5", "13")),
    }));
    number.asked = "Battery voltage at the posts".to_owned();
    let mut capture = screen(Form::Capture(CaptureKind::Cranking));
    capture.asked = "Which file holds the first capture?".to_owned();
    insta::assert_snapshot!("measurement", seen(&number, None));
    insta::assert_snapshot!("capture", seen(&capture, None));
    let refused = Refusal::Capture(
        "first.csv:3:2: column \"u\" must hold a number, this is `x`; correct the file".to_owned(),
    );
    insta::assert_snapshot!("refusal", seen(&capture, Some(&refused)));
}

#[test]
fn a_pressure_is_asked_for_as_gauge_or_absolute() {
    let hint = |unit: Unit| {
        let form = NumberForm {
            unit,
            meant: unit,
            resolution: "0.5".parse().unwrap(),
            possible: interval("0", "150"),
            expected: None,
        };
        Layout::new(80, false).screen(&screen(Form::Number(form)))
    };
    let gauge = "in psi, steps of 0.5, 0 to 150; gauge pressure, 0 in open air";
    assert!(hint(Unit::Psi).contains(gauge));
    assert!(hint(Unit::BarAbsolute).contains("absolute pressure, not 0 in open air"));
    assert!(!hint(Unit::Volt).contains("open air"));
}

#[test]
fn pictures_of_what_needs_no_reply() {
    let both = |draw: &dyn Fn(Layout) -> String| {
        let at = |columns| {
            format!(
                "=== {columns} columns\n{}",
                draw(Layout::new(columns, false))
            )
        };
        format!("{}\n{}", at(80), at(60))
    };
    let show: ShowResult = Box::new(|_| None);
    let lapsed = both(&|layout| {
        let mut text = String::new();
        let disabled = ["fuel pump relay: Refit the fuel pump relay.".to_owned()];
        layout.disabled(&mut text, &disabled);
        layout.lapsed(&mut text, &["vehicle held", "bystanders clear", "key away"]);
        text
    });
    insta::assert_snapshot!("lapsed", lapsed);
    let lines = [
        "text, ASCII, separated by comma, decimal point, headings in line 1".to_owned(),
        "time: column 1, \"time_s\", in s; 0 to 5.227 s, 5228 rows, 1000 a second".to_owned(),
    ];
    let understood = both(&|layout| layout.told(&Told::Understood(&lines), &show));
    insta::assert_snapshot!("understood", understood);
}
