//! What the columns of a capture hold, asked once where the shop does not know them yet. Nothing here is a
//! hazard, so Enter alone takes what a column looks like.

use std::io;

use rust_decimal::prelude::ToPrimitive;

use crate::ask::keys::Keys;
use crate::ask::layout::Layout;
use crate::capture::setup::{Coupling, Edge, Reference};
use crate::capture::understood::short;
use crate::quantity::{Measured, Unit};
use crate::run::keeper::{Columns, Heading, Headings, SignalTold};
use crate::text::clean;

/// The channel that a reference looks like.
const REFERENCE: &str = "reference";

/// What a signal may be, and what proposals call it.
const KINDS: [(&str, &str); 4] = [
    ("Starter current, by a clamp", "starter_current"),
    ("Battery voltage, AC-coupled", "battery_voltage"),
    ("Battery voltage, DC-coupled", "battery_voltage"),
    ("The crank sensor's teeth", "crank_speed"),
];

const EDGES: [(&str, Edge); 3] = [
    ("Where it rises", Edge::Rising),
    ("Where it falls", Edge::Falling),
    ("The peak of a burst", Edge::Peak),
];

const EVERY: [(&str, f64); 2] = [
    (
        "Once in two turns of the crank, as a cam sensor or a trigger",
        720.0,
    ),
    ("Once in every turn", 360.0),
];

/// Ask; none where the person types a colon, to hand over something else.
pub(super) fn ask(
    keys: &mut impl Keys,
    layout: Layout,
    headings: &Headings,
) -> io::Result<Option<Columns>> {
    let mut asked = Asked {
        keys,
        layout,
        headings,
    };
    asked.say(&format!(
        "{}: this shop has not met these columns before. Say once what they hold; the next capture with these \
         headings is read the same way. A colon instead of an answer leaves the questions.",
        headings.file
    ))?;
    asked.columns()
}

struct Asked<'a, K> {
    keys: &'a mut K,
    layout: Layout,
    headings: &'a Headings,
}

impl<K: Keys> Asked<'_, K> {
    fn columns(&mut self) -> io::Result<Option<Columns>> {
        let names: Vec<String> = self.headings.columns.iter().map(told).collect();
        let is_signal = |heading: &Heading| {
            let like = heading.looks_like.as_deref();
            like.is_some_and(|like| like != REFERENCE)
        };
        let usual = self.headings.columns.iter().position(is_signal);
        let Some(signal) = self.choose("Which column holds the signal?", &names, usual)? else {
            return Ok(None);
        };
        let signal = &self.headings.columns[signal];
        let Some(kind) = self.kind(signal)? else {
            return Ok(None);
        };
        let asked = "Upper end of the scope's ± range in that column's unit, then the bits of its converter, as in 2 12. \
                     With them a clipped or coarse trace is noticed";
        let Some(range) = self.typed(asked, "not known", range_and_bits)? else {
            return Ok(None);
        };
        let Some(reference) = self.reference(signal)? else {
            return Ok(None);
        };
        Ok(Some(Columns {
            signal: signal.name.clone(),
            kind,
            range,
            reference,
        }))
    }

    fn kind(&mut self, signal: &Heading) -> io::Result<Option<SignalTold>> {
        let labels = KINDS.map(|(label, _)| label.to_owned());
        let like = signal.looks_like.as_deref();
        let usual = KINDS.iter().position(|(_, name)| Some(*name) == like);
        let Some(kind) = self.choose("What is it?", &labels, usual)? else {
            return Ok(None);
        };
        Ok(match kind {
            0 if signal
                .unit
                .as_deref()
                .is_some_and(|unit| unit.ends_with('A')) =>
            {
                Some(SignalTold::Current(None))
            }
            0 => {
                let asked = "What does the clamp put out for one ampere, in mV?";
                let scaled = self.typed(asked, "the column is in ampere already", of_an_ampere)?;
                scaled.map(SignalTold::Current)
            }
            1 => Some(SignalTold::Voltage(Coupling::Ac)),
            2 => Some(SignalTold::Voltage(Coupling::Dc)),
            _ => {
                let asked =
                    "Which wheel, as teeth if none were missing, then how many are, as in 60-2?";
                let wheel = self.typed(asked, "60-2", |text| Some(text.to_owned()))?;
                wheel.map(|wheel| SignalTold::Teeth(wheel.unwrap_or_else(|| "60-2".to_owned())))
            }
        })
    }

    /// The reference; the outer none where the questions were left, the inner one where there is none.
    fn reference(&mut self, signal: &Heading) -> io::Result<Option<Option<Reference>>> {
        let columns = self.headings.columns.iter();
        let others: Vec<&Heading> = columns.filter(|h| h.name != signal.name).collect();
        let mut names: Vec<String> = others.iter().map(|heading| told(heading)).collect();
        names.push("None".to_owned());
        let like = |heading: &&Heading| heading.looks_like.as_deref() == Some(REFERENCE);
        let usual = others.iter().position(like).unwrap_or(others.len());
        let asked =
            "Which column holds the reference, the event that says where the engine stands?";
        let Some(column) = self.choose(asked, &names, Some(usual))? else {
            return Ok(None);
        };
        let Some(column) = others.get(column) else {
            return Ok(Some(None));
        };
        let cylinders = self.headings.cylinders;
        let cylinder = |text: &str| text.parse().ok().filter(|n| (1..=cylinders).contains(n));
        let Some(cylinder) = self.typed("Which cylinder does it belong to?", "1", cylinder)? else {
            return Ok(None);
        };
        let labels = EVERY.map(|(label, _)| label.to_owned());
        let Some(every) = self.choose("How often does it come?", &labels, Some(0))? else {
            return Ok(None);
        };
        let asked = "How many degrees of the crank before that cylinder's firing top dead centre does it stand?";
        let degrees = |text: &str| text.parse().ok().filter(|d: &f64| d.is_finite());
        let Some(before) = self.typed(asked, "0", degrees)? else {
            return Ok(None);
        };
        let labels = EDGES.map(|(label, _)| label.to_owned());
        let Some(edge) = self.choose("Which feature of it is the event?", &labels, Some(0))? else {
            return Ok(None);
        };
        Ok(Some(Some(Reference {
            column: column.name.clone(),
            cylinder: cylinder.unwrap_or(1),
            every_deg: EVERY[every].1,
            before_tdc_deg: before.unwrap_or(0.0),
            edge: EDGES[edge].1,
        })))
    }

    /// One of these by its number; none where the questions are left.
    fn choose(
        &mut self,
        asked: &str,
        labels: &[String],
        usual: Option<usize>,
    ) -> io::Result<Option<usize>> {
        let numbered = (1..).zip(labels);
        let lines: Vec<String> = numbered
            .map(|(at, label)| format!("{at:>2}  {label}"))
            .collect();
        self.say(&format!("{asked}\n{}", lines.join("\n")))?;
        let prompt = match usual {
            Some(at) => format!("Number (nothing: {})", at + 1),
            None => "Number".to_owned(),
        };
        let mut complained = false;
        loop {
            let line = self.keys.line(&prompt)?;
            match (line.trim(), usual) {
                (":", _) => return Ok(None),
                ("", Some(at)) => return Ok(Some(at)),
                (text, _) => {
                    let number = text.parse::<usize>().unwrap_or(0);
                    if (1..=labels.len()).contains(&number) {
                        return Ok(Some(number - 1));
                    }
                }
            }
            // the same again takes the place of what was said before
            match complained {
                true => self.keys.take_back()?,
                false => self.keys.mark(),
            }
            complained = true;
            self.say(&format!("Type a number from 1 to {}.", labels.len()))?;
        }
    }

    /// A typed value; the inner none where nothing is typed, which stands for `nothing`.
    fn typed<T>(
        &mut self,
        asked: &str,
        nothing: &str,
        read: impl Fn(&str) -> Option<T>,
    ) -> io::Result<Option<Option<T>>> {
        self.say(asked)?;
        loop {
            let line = self.keys.line(&format!("Answer (nothing: {nothing})"))?;
            match line.trim() {
                ":" => return Ok(None),
                "" => return Ok(Some(None)),
                text => match read(text) {
                    Some(value) => return Ok(Some(Some(value))),
                    None => self.say(&format!("{text:?} cannot stand here."))?,
                },
            }
        }
    }

    fn say(&mut self, text: &str) -> io::Result<()> {
        let text = self.layout.sentence(text);
        self.keys.show(&format!("\n{text}"))
    }
}

/// A column in a line: heading, unit, span, and what it looks like.
fn told(heading: &Heading) -> String {
    let mut text = clean(&heading.name);
    if let Some(unit) = &heading.unit {
        text += &format!(", in {unit}");
    }
    if let Some((least, greatest)) = heading.span {
        text += &format!(", {} to {}", short(least), short(greatest));
    }
    if let Some(like) = &heading.looks_like {
        text += &format!(", looks like {}", like.replace('_', " "));
    }
    text
}

/// Millivolts for one ampere, as in "10", "10 mV/A" or "0.01 V/A".
fn of_an_ampere(text: &str) -> Option<f64> {
    let read = Measured::parse(text, Unit::Millivolt).ok()?;
    let millivolts = read.convert(Unit::Millivolt).ok()?.value.to_f64()?;
    (millivolts > 0.0).then_some(millivolts)
}

fn positive(text: &str) -> Option<f64> {
    text.parse()
        .ok()
        .filter(|n: &f64| n.is_finite() && *n > 0.0)
}

fn range_and_bits(text: &str) -> Option<(f64, u32)> {
    let (range, bits) = text.split_once(char::is_whitespace)?;
    Some((positive(range)?, bits.trim().parse().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;
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

    #[test]
    fn enter_takes_what_a_column_looks_like() {
        let (columns, seen) = told(&["", "", "2 12", "", "", "", "8", ""]);
        let columns = columns.unwrap();
        assert_eq!(columns.signal, "posts");
        assert_eq!(columns.kind, SignalTold::Voltage(Coupling::Ac));
        assert_eq!(columns.range, Some((2.0, 12)));
        let reference = columns.reference.unwrap();
        assert_eq!(
            (reference.column.as_str(), reference.cylinder),
            ("event", 1)
        );
        assert_eq!(
            (reference.every_deg, reference.before_tdc_deg),
            (720.0, 8.0)
        );
        assert!(
            seen.contains("posts, in V, -1 to 0.96, looks like battery voltage"),
            "{seen}"
        );
    }

    #[test]
    fn a_heading_does_not_steer_the_terminal() {
        let mut headings = headings();
        headings.columns[0].name = "po\u{202e}sts\u{1b}[2J".to_owned();
        headings.file = "x\u{1b}[2J.csv".to_owned();
        let (columns, seen) = told_of(&headings, &["", "", "2 12", "", "", "", "8", ""]);
        assert_eq!(columns.unwrap().signal, headings.columns[0].name);
        assert!(seen.contains("posts[2J, in V"), "{seen}");
        assert!(seen.contains("x[2J.csv: this shop"), "{seen}");
        assert!(!seen.contains(['\u{202e}', '\u{1b}']), "{seen:?}");
    }

    #[test]
    fn wrong_answers_are_asked_again_and_a_colon_leaves() {
        let (columns, seen) = told(&["7", "2", "1", "ten", "10", "2", "", "2"]);
        let columns = columns.unwrap();
        assert_eq!(columns.signal, "event");
        assert_eq!(columns.kind, SignalTold::Current(Some(10.0)));
        assert_eq!((columns.range, columns.reference), (None, None));
        assert!(
            seen.contains("from 1 to 2") && seen.contains("cannot stand here"),
            "{seen}"
        );
        assert_eq!(told(&["", ":"]).0, None);
    }
}
