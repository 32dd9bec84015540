//! What the columns of a capture hold, asked once where the shop does not know them yet. Enter alone takes what
//! a column looks like; what names a cylinder is asked for every engine and has no usual answer.

mod asking;
mod help;
mod planned;
mod range;

use std::io;

use rust_decimal::prelude::ToPrimitive;

use self::asking::{Asked, Choice, Typed, Unread};
use self::range::range_and_bits;
use crate::ask::keys::Keys;
use crate::ask::layout::Layout;
use crate::capture::setup::{Coupling, Edge, Reference};
use crate::capture::understood::short;
use crate::quantity::{Measured, Unit};
use crate::run::keeper::{Columns, Heading, Headings, Signal, SignalTold};
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

/// Where each stands among them.
const CLAMP: usize = 0;
const AC: usize = 1;
const DC: usize = 2;
const TEETH: usize = 3;

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

/// The answer to what cannot be guessed.
const NOT_KNOWN: &str = "not known";

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
    let known = match headings.signal {
        None => {
            "this shop has not met these columns before. Say once what they hold; the next capture with these \
             headings is read the same way, but for the reference, which is of one engine."
        }
        Some(_) => {
            "the shop knows these columns. What the reference says is of one engine, so say it once for this job."
        }
    };
    asked.say(&format!(
        "{}: {known} ? explains a question; a colon instead of an answer leaves them.",
        headings.file
    ))?;
    asked.columns()
}

impl<K: Keys> Asked<'_, K> {
    fn columns(&mut self) -> io::Result<Option<Columns>> {
        let (signal, known) = match &self.headings.signal {
            Some(known) => match self.as_before(known)? {
                None => return Ok(None),
                Some(true) => (None, Some(known.clone())),
                Some(false) => (self.planned_signal()?, None),
            },
            None => (self.planned_signal()?, None),
        };
        let Some(column) = known.or(signal.as_ref().map(|signal| signal.column.clone())) else {
            return Ok(None);
        };
        let reference = self.reference(&column)?;
        Ok(reference.map(|reference| Columns { signal, reference }))
    }

    /// Whether what the shop knows of the signal's column is right for this recording; none where a colon leaves.
    fn as_before(&mut self, column: &str) -> io::Result<Option<bool>> {
        let kind = self.headings.kind.as_deref();
        let kind = KINDS.iter().find(|(_, name)| Some(*name) == kind);
        let read = kind.map_or("the signal", |(label, _)| {
            label.split(',').next().unwrap_or(label)
        });
        let labels = [
            format!("Yes, {} holds it: {}", clean(column), read.to_lowercase()),
            "No, or not known: say anew what the columns hold".to_owned(),
        ];
        let right = self.choose(&Choice {
            asked: "Is the signal the one that this shop read from these columns before?",
            help: help::BEFORE,
            labels: &labels,
            usual: Some(0).filter(|_| kind.is_none_or(|(_, name)| self.is_planned(name))),
        })?;
        match (right, kind) {
            (Some(0), Some((label, name))) => self.goes_on_with(label, name),
            (right, _) => Ok(right.map(|chosen| chosen == 0)),
        }
    }

    fn signal(&mut self) -> io::Result<Option<Signal>> {
        let names: Vec<String> = self.headings.columns.iter().map(told).collect();
        let column = self.choose(&Choice {
            asked: "Which column holds the signal?",
            help: help::SIGNAL,
            labels: &names,
            usual: self.usual_column(),
        })?;
        let Some(column) = column else {
            return Ok(None);
        };
        let column = &self.headings.columns[column];
        let Some(kind) = self.kind(column)? else {
            return Ok(None);
        };
        let asked = Typed {
            asked: "Upper end of the scope's ± range in that column's unit, then the bits of its converter, as in 2 12. \
                    With them a clipped or coarse trace is noticed",
            help: help::RANGE,
            nothing: Some(NOT_KNOWN),
            wanted: "Two numbers, as in 2 12 or 20 V 14.",
        };
        let unit = column.unit.as_deref();
        let range = self.typed(&asked, |text| range_and_bits(text, unit))?;
        Ok(range.map(|range| Signal {
            column: column.name.clone(),
            kind,
            range,
        }))
    }

    fn kind(&mut self, signal: &Heading) -> io::Result<Option<SignalTold>> {
        let labels = KINDS.map(|(label, _)| label.to_owned());
        let kind = self.choose(&Choice {
            asked: "What is it?",
            help: help::KIND,
            labels: &labels,
            usual: self.usual_kind(signal),
        })?;
        let Some(kind) = kind else {
            return Ok(None);
        };
        Ok(match kind {
            CLAMP if in_ampere(signal) => Some(SignalTold::Current(None)),
            CLAMP => {
                let asked = Typed {
                    asked: "What does the clamp put out for one ampere, in mV?",
                    help: "It stands on the clamp or in its data sheet: 10 for 10 mV/A. 100 A for a volt is 10 as well.",
                    nothing: Some("the column is in ampere already"),
                    wanted: "A number above zero, as in 10 or 10 mV/A.",
                };
                let scaled = self.typed(&asked, of_an_ampere)?;
                scaled.map(SignalTold::Current)
            }
            AC => Some(SignalTold::Voltage(Coupling::Ac)),
            DC => Some(SignalTold::Voltage(Coupling::Dc)),
            _ => {
                let asked = Typed {
                    asked: "Which wheel, as teeth if none were missing, then how many are, as in 60-2?",
                    help: "The maker's document for this engine says it, or count the teeth and the gap.",
                    nothing: None,
                    wanted: "Teeth with the missing ones, a dash, and how many are missing, as in 60-2.",
                };
                let wheel = self.typed(&asked, |text| Ok(text.to_owned()))?;
                wheel.flatten().map(SignalTold::Teeth)
            }
        })
    }

    /// The reference; the outer none where the questions were left, the inner one where there is none, or not
    /// enough is known of it. What names a cylinder has no usual answer: Enter alone must not accuse one.
    fn reference(&mut self, signal: &str) -> io::Result<Option<Option<Reference>>> {
        let columns = self.headings.columns.iter();
        let others: Vec<&Heading> = columns.filter(|h| h.name != signal).collect();
        let mut names: Vec<String> = others.iter().map(|heading| told(heading)).collect();
        names.push("None".to_owned());
        let like = |heading: &&Heading| heading.looks_like.as_deref() == Some(REFERENCE);
        let column = self.choose(&Choice {
            asked: "Which column holds the reference, the event that says where the engine stands?",
            help: help::COLUMN,
            labels: &names,
            usual: Some(others.iter().position(like).unwrap_or(others.len())),
        })?;
        let Some(column) = column else {
            return Ok(None);
        };
        let Some(column) = others.get(column) else {
            return Ok(Some(None));
        };
        let Some(event) = self.event(&column.name)? else {
            return Ok(None);
        };
        if event.is_none() {
            self.say(
                "Then no cylinder can be named: the result counts places in the firing sequence. Once the maker's \
                 document is at hand, hand the same file over again.",
            )?;
        }
        Ok(Some(event))
    }

    /// What the event says of this engine; nones as in [`Self::reference`].
    fn event(&mut self, column: &str) -> io::Result<Option<Option<Reference>>> {
        let cylinders = self.headings.cylinders;
        let wanted =
            format!("A cylinder from 1 to {cylinders}, or n where the document is not at hand.");
        let asked = Typed {
            asked: "Which cylinder does it belong to, from the maker's document for this engine? (n: not known)",
            help: help::CYLINDER,
            nothing: None,
            wanted: &wanted,
        };
        let cylinder = |text: &str| text.parse().ok().filter(|n| (1..=cylinders).contains(n));
        let cylinder = match self.typed(&asked, or_not_known(cylinder))?.flatten() {
            None => return Ok(None),
            Some(None) => return Ok(Some(None)),
            Some(Some(cylinder)) => cylinder,
        };
        let every = self.choose(&Choice {
            asked: "How often does it come?",
            help: help::EVERY,
            labels: &EVERY.map(|(label, _)| label.to_owned()),
            usual: None,
        })?;
        let Some(every) = every else {
            return Ok(None);
        };
        let asked = Typed {
            asked: "How many degrees of the crankshaft before that cylinder's firing top dead centre does it stand, from \
                    the maker's document? (n: not known)",
            help: help::DEGREES,
            nothing: None,
            wanted: "A number of degrees, as in 0 or 62.5, or n where the document is not at hand.",
        };
        let degrees = |text: &str| text.parse().ok().filter(|d: &f64| d.is_finite());
        let before_tdc_deg = match self.typed(&asked, or_not_known(degrees))?.flatten() {
            None => return Ok(None),
            Some(None) => return Ok(Some(None)),
            Some(Some(degrees)) => degrees,
        };
        let mut labels: Vec<String> = EDGES.iter().map(|(label, _)| (*label).to_owned()).collect();
        labels.push("Not known".to_owned());
        let edge = self.choose(&Choice {
            asked: "Which feature of it is the event, from the maker's document?",
            help: help::EDGE,
            labels: &labels,
            usual: None,
        })?;
        let Some(edge) = edge else {
            return Ok(None);
        };
        Ok(Some(EDGES.get(edge).map(|(_, edge)| Reference {
            column: column.to_owned(),
            cylinder,
            every_deg: EVERY[every].1,
            before_tdc_deg,
            edge: *edge,
        })))
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

/// Whether a column is in ampere already.
fn in_ampere(column: &Heading) -> bool {
    let unit = column.unit.as_deref();
    unit.is_some_and(|unit| unit.ends_with('A'))
}

/// Millivolts for one ampere, as in "10", "10 mV/A" or "0.01 V/A".
fn of_an_ampere(text: &str) -> Result<f64, Unread> {
    let read = Measured::parse(text, Unit::Millivolt).ok();
    let read = read.and_then(|read| read.convert(Unit::Millivolt).ok());
    let millivolts = read.and_then(|read| read.value.to_f64());
    millivolts.filter(|read| *read > 0.0).ok_or(Unread(None))
}

/// A value, or none where the person says that it is not known.
fn or_not_known<T>(read: impl Fn(&str) -> Option<T>) -> impl Fn(&str) -> Result<Option<T>, Unread> {
    move |text| match text.to_lowercase().as_str() {
        "n" | "no" | NOT_KNOWN => Ok(None),
        _ => read(text).map(Some).ok_or(Unread(None)),
    }
}

#[cfg(test)]
mod tests;
