//! The shop's current clamps, `clamps.yaml`: what each puts out for an ampere, how far it measures, how wide
//! it opens. Set-ups and the command line name one of them; where the list lies is `cli`'s business.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::keys::Scaling;
use super::place;
use crate::capture::ReadError;
use crate::capture::setup::Setup;
use crate::capture::unit::Factor;

/// Name of the list in a shop's folder.
pub const FILE: &str = "clamps.yaml";

/// Bytes that a list has at most; more is some other file.
pub const MOST_BYTES: usize = 1 << 20;

/// Deepest nesting that is read; a list needs three.
const DEEPEST: usize = 8;

/// Longest name of a clamp, letters; it stands in tables. Our own choice.
const LONGEST_NAME: usize = 40;

/// What clamps put out: from a few tenths of a millivolt to a volt an ampere. Common practice, no source;
/// what lies outside was written in another unit.
const MILLIVOLT_PER_AMPERE: std::ops::RangeInclusive<f64> = 0.01..=10_000.0;

/// Greatest range and jaw that are believed: no starter draws a million amperes. Our own choice.
const MOST: f64 = 1e6;

/// One clamp, as it is kept in the record of what it measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Clamp {
    /// What the shop calls it.
    pub name: String,
    /// What it puts out for an ampere, millivolt.
    pub millivolt_per_ampere: f64,
    /// Current up to which it measures, either way, ampere.
    pub range: f64,
    /// What it puts out at no current, millivolt.
    #[serde(default)]
    pub zero_millivolt: f64,
    /// Thickest cable that its jaws close around, millimetre.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub jaw: Option<f64>,
}

/// Numbers of a clamp that was read are finite.
impl Eq for Clamp {}

/// A shop's clamps by name.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Clamps {
    /// The list's file; none where no list is at hand.
    pub file: Option<String>,
    /// The clamps.
    pub all: BTreeMap<String, Clamp>,
    /// What is wrong with the list, where it could not be read; told to whoever names a clamp.
    pub broken: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    clamps: BTreeMap<String, WrittenClamp>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenClamp {
    millivolt_per_ampere: f64,
    range: f64,
    #[serde(default)]
    zero_millivolt: f64,
    #[serde(default)]
    jaw: Option<f64>,
}

impl Clamp {
    /// From volts to amperes.
    #[must_use]
    pub fn factor(&self) -> Factor {
        Factor {
            times: 1000.0,
            over: self.millivolt_per_ampere,
        }
    }

    /// What it shows where no current flows, ampere.
    #[must_use]
    pub fn zero(&self) -> f64 {
        self.zero_millivolt / self.millivolt_per_ampere
    }

    /// What it is, for the account of a capture.
    #[must_use]
    pub fn line(&self) -> String {
        let mut line = format!(
            "clamp {:?} of the shop: {} mV/A, up to {} A",
            self.name, self.millivolt_per_ampere, self.range
        );
        if self.zero_millivolt != 0.0 {
            line.push_str(&format!(
                ", {} mV at no current taken off",
                self.zero_millivolt
            ));
        }
        line
    }
}

impl Clamps {
    /// The one clamp that a capture was handed over with.
    #[must_use]
    pub fn one(clamp: Option<&Clamp>) -> Self {
        let all = clamp.map(|clamp| (clamp.name.clone(), clamp.clone()));
        Self {
            file: clamp.map(|_| "the record".to_owned()),
            all: all.into_iter().collect(),
            broken: None,
        }
    }

    /// A list that could not be read: captures without a clamp of it can be taken all the same.
    #[must_use]
    pub fn unreadable(error: &ReadError) -> Self {
        Self {
            file: Some(error.file.clone()),
            all: BTreeMap::new(),
            broken: Some(error.to_string()),
        }
    }

    /// Look a clamp up.
    ///
    /// # Errors
    /// What is wrong, and what to do, where there is no list or it has no such clamp.
    pub fn find(&self, name: &str) -> Result<&Clamp, (String, String)> {
        if let Some(clamp) = self.all.get(name) {
            return Ok(clamp);
        }
        if let Some(broken) = &self.broken {
            let message =
                format!("clamp {name:?} is named, and the list of clamps cannot be read: {broken}");
            return Err((message, format!("Mend {FILE} there.")));
        }
        let Some(file) = &self.file else {
            let message =
                format!("clamp {name:?} is named, and no shop's list of clamps is at hand");
            let remedy = format!(
                "Name the shop that has it in its {FILE} with --shop, or give millivolt_per_ampere in the \
                 set-up."
            );
            return Err((message, remedy));
        };
        let known: Vec<&str> = self.all.keys().map(String::as_str).collect();
        let known = match known.is_empty() {
            true => "none".to_owned(),
            false => known.join(", "),
        };
        let message = format!("{file} has no clamp {name:?}; it has: {known}");
        Err((
            message,
            format!("Name one of these, or add the clamp to {FILE}."),
        ))
    }

    /// Find the clamp that a channel's scaling names, and keep it there.
    pub(super) fn look_up(&self, scaling: &mut Scaling) -> Result<(), (String, String)> {
        if let Some(name) = &scaling.clamp {
            if scaling.millivolt_per_ampere.is_some() {
                let message = "clamp and millivolt_per_ampere say the same thing twice".to_owned();
                return Err((message, "Leave one of them out.".to_owned()));
            }
            scaling.listed = Some(self.find(name)?.clone());
        }
        Ok(())
    }
}

impl Setup {
    /// Take the starter current by one of the shop's clamps, whatever the file says of a clamp.
    ///
    /// # Errors
    /// Where the list has no such clamp, or no starter current is recorded. `file` names the set-up.
    pub fn take_clamp(&mut self, name: &str, clamps: &Clamps, file: &str) -> Result<(), ReadError> {
        let wrong = |message, remedy| ReadError::new(file, 0, 0, message, remedy);
        if self.channels.starter_current.is_none() {
            let message = format!("clamp {name:?} is named, and the set-up has no starter_current");
            let remedy = "Add the channel with its column, or leave --clamp out.".to_owned();
            return Err(wrong(message, remedy));
        }
        let scaling = self.keys.scaling.entry("starter_current").or_default();
        scaling.millivolt_per_ampere = None;
        scaling.clamp = Some(name.to_owned());
        clamps
            .look_up(scaling)
            .map_err(|(message, remedy)| wrong(message, remedy))
    }

    /// The shop's clamp that measured, where one is named.
    #[must_use]
    pub fn clamp(&self) -> Option<&Clamp> {
        let scaling = self.keys.scaling.get("starter_current")?;
        scaling.listed.as_ref()
    }
}

/// Read a list from its text. `file` names it in errors.
///
/// # Errors
/// Where the text is no YAML, has unknown or missing keys, or describes what cannot be.
pub fn read(text: &str, file: &str) -> Result<Clamps, ReadError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.len() > MOST_BYTES {
        let message =
            format!("a list of clamps has at most {MOST_BYTES} bytes; this file has more");
        let remedy = "Check that it is the shop's list.";
        return Err(ReadError::new(file, 0, 0, message, remedy));
    }
    let remedy = "Write it as in `clamps: {big: {millivolt_per_ampere: 1, range: 1000}}`.";
    place::sound(text, DEEPEST)
        .map_err(|(line, column, message)| ReadError::new(file, line, column, message, remedy))?;
    let written: Written = serde_yaml::from_str(text).map_err(|error| {
        let (line, column) = error
            .location()
            .map_or((0, 0), |at| (at.line() as u64, at.column() as u64));
        ReadError::new(file, line, column, error.to_string(), remedy)
    })?;
    let mut all = BTreeMap::new();
    for (name, clamp) in written.clamps {
        check(&name, &clamp).map_err(|(key, message, remedy)| {
            let (line, column) = place::of(text, &["clamps", &name, key]);
            ReadError::new(file, line, column, message, remedy)
        })?;
        let clamp = Clamp {
            name: name.clone(),
            millivolt_per_ampere: clamp.millivolt_per_ampere,
            range: clamp.range,
            zero_millivolt: clamp.zero_millivolt,
            jaw: clamp.jaw,
        };
        all.insert(name, clamp);
    }
    Ok(Clamps {
        file: Some(file.to_owned()),
        all,
        broken: None,
    })
}

/// Key, what is wrong, and what to do.
type Wrong = (&'static str, String, &'static str);

fn check(name: &str, clamp: &WrittenClamp) -> Result<(), Wrong> {
    let letters = name.chars().count();
    if name.trim().is_empty() || letters > LONGEST_NAME || name.contains(char::is_control) {
        let message = format!("a clamp's name has 1 to {LONGEST_NAME} letters");
        return Err(("", message, "Call it as the shop does, as in big."));
    }
    if !MILLIVOLT_PER_AMPERE.contains(&clamp.millivolt_per_ampere) {
        let message = format!(
            "{} mV/A cannot be: clamps put out {} to {}",
            clamp.millivolt_per_ampere,
            MILLIVOLT_PER_AMPERE.start(),
            MILLIVOLT_PER_AMPERE.end()
        );
        let remedy = "Take it from the clamp's data or its label; one volt for 100 A are 10 mV/A.";
        return Err(("millivolt_per_ampere", message, remedy));
    }
    let positive = |value: f64| value > 0.0 && value <= MOST;
    for (key, value) in [("range", Some(clamp.range)), ("jaw", clamp.jaw)] {
        if value.is_some_and(|value| !positive(value)) {
            let remedy = "Ampere for range, millimetre for jaw, from the clamp's data.";
            return Err((
                key,
                format!("{key} must be a number above 0 and at most {MOST}"),
                remedy,
            ));
        }
    }
    let most = clamp.range * clamp.millivolt_per_ampere;
    if !(clamp.zero_millivolt.is_finite() && clamp.zero_millivolt.abs() < most) {
        let message = format!("at no current a clamp puts out less than its range, {most} mV");
        let remedy = "Write what it puts out closed around nothing, or leave the key out and zero the clamp.";
        return Err(("zero_millivolt", message, remedy));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIST: &str = "clamps:\n  big: {millivolt_per_ampere: 1, range: 1000, jaw: 40}\n  \
                        small:\n    millivolt_per_ampere: 10\n    range: 60\n    zero_millivolt: -3\n";

    #[test]
    fn a_list_is_read_and_an_unknown_clamp_told_with_those_known() {
        let clamps = read(LIST, "clamps.yaml").unwrap();
        let small = clamps.find("small").unwrap();
        assert_eq!((small.factor().of(0.5), small.zero()), (50.0, -0.3));
        assert_eq!(clamps.find("big").unwrap().jaw, Some(40.0));
        let (message, remedy) = clamps.find("huge").unwrap_err();
        assert!(message.ends_with("it has: big, small"), "{message}");
        assert!(remedy.contains("clamps.yaml"), "{remedy}");
        let (message, _) = Clamps::default().find("big").unwrap_err();
        assert!(message.contains("no shop's list"), "{message}");
    }

    #[test]
    fn a_broken_list_is_told_to_whoever_names_a_clamp() {
        let error = read("clamps: [", "shop/clamps.yaml").unwrap_err();
        let (message, remedy) = Clamps::unreadable(&error).find("big").unwrap_err();
        assert!(message.contains("shop/clamps.yaml:2:1"), "{message}");
        assert_eq!(remedy, "Mend clamps.yaml there.");
    }

    #[test]
    fn what_cannot_be_is_told_with_its_place() {
        for (text, at, says) in [
            (
                LIST.replace("range: 60", "range: 0"),
                (5, 5),
                "range must be",
            ),
            (LIST.replace("jaw: 40", "jaw: -1"), (2, 47), "jaw must be"),
            (
                LIST.replace("ampere: 10\n", "ampere: 0\n"),
                (4, 5),
                "cannot be",
            ),
            (
                LIST.replace("-3", "-600"),
                (6, 5),
                "less than its range, 600 mV",
            ),
            (
                LIST.replace("range: 60", "reach: 60"),
                (5, 5),
                "unknown field",
            ),
            (LIST.replace("small", "\"\""), (3, 3), "name has 1 to 40"),
            ("clamps: [".to_owned(), (2, 1), "no YAML"),
            ("{}".to_owned(), (1, 1), "missing field"),
        ] {
            let error = read(&text, "c").unwrap_err();
            assert!(error.message.contains(says), "{error}");
            assert_eq!((error.line, error.column), at, "{error}");
            assert!(!error.remedy.is_empty());
        }
    }
}
