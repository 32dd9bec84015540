use super::*;
use crate::advise::signals;
use crate::ask::tests::Person;

fn headings() -> Headings {
    let heading = |name: &str, like: Option<&str>| Heading {
        name: name.to_owned(),
        unit: Some("V".to_owned()),
        span: Some((-1.0, 0.96)),
        looks_like: like.map(str::to_owned),
    };
    Headings {
        sha256: String::new(),
        file: "x.csv".to_owned(),
        columns: vec![
            heading("posts", Some("battery_voltage")),
            heading("event", Some("reference")),
        ],
        signal: None,
        planned: None,
        kind: None,
        cylinders: 4,
        refused: String::new(),
    }
}

fn told(lines: &[&'static str]) -> (Option<Columns>, String) {
    told_of(&headings(), lines)
}

fn told_of(headings: &Headings, lines: &[&'static str]) -> (Option<Columns>, String) {
    let mut person = Person::new("", lines);
    let columns = ask(&mut person, Layout::new(80, false), headings).unwrap();
    let seen = person.seen.borrow().clone();
    (columns, seen)
}

const ALL: [&str; 8] = ["", "", "2 12", "", "3", "1", "8", "2"];

#[test]
fn enter_takes_what_a_column_looks_like() {
    let (columns, seen) = told(&ALL);
    let columns = columns.unwrap();
    let signal = columns.signal.unwrap();
    assert_eq!(signal.column, "posts");
    assert_eq!(signal.kind, SignalTold::Voltage(Coupling::Ac));
    assert_eq!(signal.range, Some((2.0, 12)));
    let reference = columns.reference.unwrap();
    assert_eq!(
        (reference.column.as_str(), reference.cylinder),
        ("event", 3)
    );
    assert_eq!(
        (
            reference.every_deg,
            reference.before_tdc_deg,
            reference.edge
        ),
        (720.0, 8.0, Edge::Falling)
    );
    assert!(
        seen.contains("posts, in V, -1 to 0.96, looks like battery voltage"),
        "{seen}"
    );
}

/// A cylinder, its degrees and the edge are of one engine: Enter names none, and what is not known names none.
#[test]
fn enter_alone_accuses_no_cylinder() {
    let with = |answers: &[&'static str]| {
        let lines = [&ALL[..4], answers].concat();
        told(&lines)
    };
    let (columns, seen) = with(&["", "2", "", "1", "", "-39", "", "2"]);
    let reference = columns.unwrap().reference.unwrap();
    assert_eq!((reference.cylinder, reference.before_tdc_deg), (2, -39.0));
    assert_eq!(
        seen.matches("An answer is needed here.").count(),
        4,
        "{seen}"
    );
    for unknown in [&["n"][..], &["2", "1", "N"], &["2", "1", "0", "4"]] {
        let (columns, seen) = with(unknown);
        assert_eq!(columns.unwrap().reference, None, "{unknown:?}");
        assert!(seen.contains("no cylinder can be named"), "{seen}");
    }
}

#[test]
fn a_question_mark_explains_every_question() {
    let asked: Vec<&'static str> = ALL.iter().flat_map(|answer| ["?", answer]).collect();
    let (columns, seen) = told(&asked);
    assert!(columns.unwrap().reference.is_some());
    for help in [
        help::SIGNAL,
        help::KIND,
        help::RANGE,
        help::COLUMN,
        help::CYLINDER,
        help::EVERY,
        help::DEGREES,
        help::EDGE,
    ] {
        let begins: Vec<&str> = help.split(' ').take(5).collect();
        assert!(seen.contains(&begins.join(" ")), "{help}: {seen}");
    }
}

/// What the shop knows is not asked again; what is of this engine is.
#[test]
fn of_columns_that_are_known_only_the_reference_is_asked() {
    let mut headings = headings();
    headings.signal = Some("posts".to_owned());
    headings.kind = Some("battery_voltage".to_owned());
    let (columns, seen) = told_of(&headings, &["", "", "4", "2", "60", "3"]);
    let columns = columns.unwrap();
    assert_eq!(columns.signal, None);
    let reference = columns.reference.unwrap();
    assert_eq!((reference.cylinder, reference.every_deg), (4, 360.0));
    assert!(!seen.contains("holds the signal"), "{seen}");
    assert!(
        seen.contains("Yes, posts holds it: battery voltage"),
        "{seen}"
    );
    // what was said wrongly is said anew
    let again = [&["?", "2"], &ALL[..]].concat();
    let (columns, seen) = told_of(&headings, &again);
    assert_eq!(columns.unwrap().signal.unwrap().column, "posts");
    assert!(seen.contains("What was said of columns"), "{seen}");
    assert_eq!(told_of(&headings, &[":"]).0, None);
}

#[test]
fn a_heading_does_not_steer_the_terminal() {
    let mut headings = headings();
    headings.columns[0].name = "po\u{202e}sts\u{1b}[2J".to_owned();
    headings.file = "x\u{1b}[2J.csv".to_owned();
    let (columns, seen) = told_of(&headings, &ALL);
    let signal = columns.unwrap().signal.unwrap();
    assert_eq!(signal.column, headings.columns[0].name);
    assert!(seen.contains("posts[2J, in V"), "{seen}");
    assert!(seen.contains("x[2J.csv: this shop"), "{seen}");
    assert!(!seen.contains(['\u{202e}', '\u{1b}']), "{seen:?}");
}

#[test]
fn wrong_answers_are_asked_again_and_a_colon_leaves() {
    let (columns, seen) = told(&["7", "2", "1", "ten", "10", "2", "", "2"]);
    let columns = columns.unwrap();
    let signal = columns.signal.unwrap();
    assert_eq!(signal.column, "event");
    assert_eq!(signal.kind, SignalTold::Current(Some(10.0)));
    assert_eq!((signal.range, columns.reference), (None, None));
    assert!(
        seen.contains("from 1 to 2") && seen.contains("cannot stand here"),
        "{seen}"
    );
    assert_eq!(told(&["", ":"]).0, None);
    assert_eq!(told(&[&ALL[..5], &[":"]].concat()).0, None);
}

/// Enter takes what the job is for; another signal is taken on a second word only.
#[test]
fn the_signal_that_the_job_is_for_is_the_usual_one() {
    let mut headings = headings();
    headings.columns[0].looks_like = Some("starter_current".to_owned());
    headings.planned = Some(signals::Signal::PostsDc);
    let (columns, seen) = told_of(&headings, &ALL);
    assert_eq!(
        columns.unwrap().signal.unwrap().kind,
        SignalTold::Voltage(Coupling::Dc)
    );
    assert!(!seen.contains("This job is for"), "{seen}");

    // current by the clamp, then the second word
    let other = ["", "1", "10", "2 12", "?", "", "1", "2"];
    let (columns, seen) = told_of(&headings, &other);
    let signal = columns.unwrap().signal.unwrap();
    assert_eq!(signal.kind, SignalTold::Current(Some(10.0)));
    let asked = "This job is for battery voltage. Go on with starter current?";
    assert_eq!(seen.matches(asked).count(), 1, "{seen}");
    assert!(seen.contains("An answer is needed here."), "{seen}");

    // no: said anew
    let anew = [&other[..4], &["2"], &ALL[..]].concat();
    let (columns, _) = told_of(&headings, &anew);
    let signal = columns.unwrap().signal.unwrap();
    assert_eq!(signal.kind, SignalTold::Voltage(Coupling::Dc));
    assert_eq!(told_of(&headings, &[&other[..4], &[":"]].concat()).0, None);

    // of a column in ampere Enter alone makes no voltage
    headings.columns[0].unit = Some("A".to_owned());
    let (_, seen) = told_of(&headings, &["", "", ":"]);
    assert!(seen.contains("An answer is needed here."), "{seen}");
}

/// What the shop read before is not the usual answer in a job for another signal.
#[test]
fn columns_that_are_known_for_another_signal_are_asked_about() {
    let mut headings = headings();
    headings.signal = Some("posts".to_owned());
    headings.kind = Some("battery_voltage".to_owned());
    headings.planned = Some(signals::Signal::Clamp);
    let (columns, seen) = told_of(&headings, &["", "1", "1", "2"]);
    assert_eq!(columns.unwrap().signal, None);
    assert!(seen.contains("An answer is needed here."), "{seen}");
    assert!(
        seen.contains("for starter current. Go on with battery voltage?"),
        "{seen}"
    );
    let anew = [&["1", "2", "1", "1", "10"], &ALL[2..]].concat();
    let (columns, _) = told_of(&headings, &anew);
    let signal = columns.unwrap().signal.unwrap();
    assert_eq!(signal.kind, SignalTold::Current(Some(10.0)));
}

/// Range and bits are taken with their units; what cannot be meant is said as it was read.
#[test]
fn range_and_bits_are_taken_as_they_are_typed() {
    let with = |answers: &[&'static str]| {
        let (columns, seen) = told(&[&ALL[..2], answers, &["2"]].concat());
        (columns.unwrap().signal.unwrap().range, seen)
    };
    assert_eq!(with(&["20V 14"]).0, Some((20.0, 14)));
    let (range, seen) = with(&["20, 140", "20, 14"]);
    assert_eq!(range, Some((20.0, 14)));
    assert!(seen.contains("±20 and 140 bits"), "{seen}");
    assert!(seen.contains("as in 2 12 or 20 V 14"), "{seen}");
}

/// A terminal that can be written over: what stands on it.
#[derive(Default)]
struct Board {
    lines: std::collections::VecDeque<&'static str>,
    stands: String,
    marked: usize,
}

impl Keys for Board {
    fn key(&mut self) -> io::Result<dialoguer::console::Key> {
        Err(io::Error::from(io::ErrorKind::UnexpectedEof))
    }
    fn line(&mut self, prompt: &str) -> io::Result<String> {
        let line = self.lines.pop_front();
        let line = line.ok_or_else(|| io::Error::from(io::ErrorKind::UnexpectedEof))?;
        self.show(&format!("{prompt}: {line}\n"))?;
        Ok(line.to_owned())
    }
    fn discard(&mut self) {}
    fn show(&mut self, text: &str) -> io::Result<()> {
        self.stands.push_str(text);
        Ok(())
    }
    fn second(&mut self, _: fn(&str) -> bool) -> io::Result<Option<String>> {
        Ok(None)
    }
    fn begun(&mut self, _: String) {}
    fn elapsed(&self) -> std::time::Duration {
        std::time::Duration::ZERO
    }
    fn mark(&mut self) {
        self.marked = self.stands.len();
    }
    fn take_back(&mut self) -> io::Result<()> {
        self.stands.truncate(self.marked);
        Ok(())
    }
    fn rewrites(&self) -> bool {
        true
    }
    fn columns(&self) -> usize {
        80
    }
}

/// Beside what is said of an answer stands that answer's successor and no other; once it is right, neither.
#[test]
fn a_wrong_answer_leaves_no_line_behind() {
    let of = |lines: &[&'static str]| {
        let mut board = Board {
            lines: lines.iter().copied().collect(),
            ..Board::default()
        };
        let left = ask(&mut board, Layout::new(80, false), &headings());
        assert!(left.is_err(), "the lines end");
        board.stands
    };
    let wrong = of(&["", "", "20 140", "ten"]);
    assert!(wrong.contains("\"ten\" cannot stand here"), "{wrong}");
    assert!(!wrong.contains("20 140"), "{wrong}");
    let right = of(&["", "", "20 140", "ten", "20V 14"]);
    assert!(right.contains("(Enter: not known): 20V 14\n"), "{right}");
    assert!(
        !right.contains("cannot stand here") && !right.contains("ten"),
        "{right}"
    );
}
