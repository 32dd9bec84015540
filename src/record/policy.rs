//! `policy.yaml`: what a shop decides for all its jobs.

use std::path::Path;

use serde::Deserialize;

use super::error::RecordError;

/// Limit below which a cylinder counts as low where the shop decides nothing else, percent. Common
/// practice of the trade, no source.
pub const DEFAULT_LOW_PERCENT: f64 = 85.0;

/// Limits outside this range accuse sound cylinders or excuse broken ones; our own choice.
const LOW_PERCENT_RANGE: std::ops::RangeInclusive<f64> = 50.0..=99.0;

/// Longest name of a shop, in characters; it stands in every heading. Our own choice.
const LONGEST_NAME: usize = 120;

/// What a shop decides.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Policy {
    /// Name of the shop.
    pub shop: ShopName,
    /// The limits that findings are decided against.
    #[serde(default)]
    pub limits: Limits,
}

/// Name of a shop: one line, not empty.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub struct ShopName(String);

impl ShopName {
    /// As text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for ShopName {
    type Error = String;

    fn try_from(name: String) -> Result<Self, String> {
        if name.trim().is_empty() {
            return Err("the shop's name is empty; write the name that reports show".into());
        }
        if name.chars().any(char::is_control) || name.chars().count() > LONGEST_NAME {
            return Err(format!(
                "the shop's name must be one line of at most {LONGEST_NAME} characters"
            ));
        }
        Ok(ShopName(name))
    }
}

/// Limits.
#[derive(Debug, Clone, Copy, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// Limit below which a cylinder counts as low.
    #[serde(default)]
    pub low_percent: LowPercent,
}

/// A limit below which a cylinder counts as low, percent.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(try_from = "f64")]
pub struct LowPercent(f64);

impl LowPercent {
    /// The number.
    #[must_use]
    pub fn percent(self) -> f64 {
        self.0
    }
}

impl Default for LowPercent {
    fn default() -> Self {
        LowPercent(DEFAULT_LOW_PERCENT)
    }
}

impl TryFrom<f64> for LowPercent {
    type Error = String;

    fn try_from(percent: f64) -> Result<Self, String> {
        if LOW_PERCENT_RANGE.contains(&percent) {
            return Ok(LowPercent(percent));
        }
        Err(format!(
            "low_percent is {percent}; it must lie between {} and {}, {DEFAULT_LOW_PERCENT} is usual",
            LOW_PERCENT_RANGE.start(),
            LOW_PERCENT_RANGE.end()
        ))
    }
}

impl Policy {
    /// Read a policy's text; `file` is for messages.
    pub fn parse(file: &Path, text: &str) -> Result<Policy, RecordError> {
        serde_yaml::from_str(text).map_err(|fault| {
            let place = fault
                .location()
                .map_or((1, 1), |place| (place.line(), place.column()));
            RecordError::text(file, place, without_place(&fault.to_string()))
        })
    }

    /// The text of a new policy.
    pub(crate) fn new_text(shop: &ShopName) -> String {
        // A JSON string is a YAML double-quoted string, whatever the name holds.
        let name = serde_json::Value::from(shop.text());
        format!(
            "# What this shop decides for all its jobs.\n\
             shop: {name}\n\
             limits:\n  \
             # A cylinder below this counts as low: peak pressure, percent of the sound cylinders'.\n  \
             low_percent: {DEFAULT_LOW_PERCENT}\n"
        )
    }
}

/// The reader says the place at the end of its message as well; the place stands first in ours.
fn without_place(message: &str) -> &str {
    match message.rfind(" at line ") {
        Some(at) => &message[..at],
        None => message,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        Policy::parse(Path::new("policy.yaml"), text)
            .unwrap_err()
            .to_string()
    }

    #[test]
    fn a_new_policy_reads_back() {
        for name in ["Halm & Daughters", "a \"quoted\" # name: yes", "Garage Ü"] {
            let name = ShopName::try_from(name.to_owned()).unwrap();
            let policy = Policy::parse(Path::new("p"), &Policy::new_text(&name)).unwrap();
            assert_eq!(policy.shop, name);
            assert_eq!(policy.limits.low_percent.percent(), 85.0);
        }
    }

    #[test]
    fn limits_may_be_left_out_and_changed() {
        let read = |text| Policy::parse(Path::new("p"), text).unwrap().limits;
        assert_eq!(read("shop: A").low_percent.percent(), 85.0);
        assert_eq!(
            read("shop: A\nlimits: {low_percent: 80}")
                .low_percent
                .percent(),
            80.0
        );
    }

    #[test]
    fn faults_are_placed() {
        for (text, place, word) in [
            ("shop: A\nlimit: {}\n", "policy.yaml:2:1: ", "limit"),
            (
                "shop: A\nlimits: {low_percent: 8.5}\n",
                "policy.yaml:2:",
                "between 50 and 99",
            ),
            (
                "shop: A\nlimits: {low_percent: .nan}\n",
                "policy.yaml:2:",
                "between 50 and 99",
            ),
            (
                "shop: A\nlimits: {low_percent: many}\n",
                "policy.yaml:2:",
                "many",
            ),
            ("shop: ' '\n", "policy.yaml:1:", "empty"),
            ("shop: A\nshop: [\n", "policy.yaml:", ""),
            ("", "policy.yaml:1:1: ", ""),
        ] {
            let told = refused(text);
            assert!(told.starts_with(place), "{text:?}: {told}");
            assert!(told.contains(word), "{text:?}: {told}");
            assert!(!told.contains(" at line "), "{text:?}: {told}");
        }
    }
}
