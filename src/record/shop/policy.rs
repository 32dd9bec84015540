//! `policy.yaml`: what a shop decides for all its jobs. Its form is read in `written`; what it demands of
//! procedures is proved by `procedure`.

mod written;

use std::path::Path;

use crate::capture::setup::DEFAULT_LOW_PERCENT;
use crate::engine::starter_duty::StarterDuty;
use crate::followup::bands::Bands;
use crate::followup::limits::ShopLimits;
use crate::followup::static_rule::ShopRule;
use crate::procedure::Problem;
use crate::procedure::rules::Rules;
use crate::quantity::choice::UnitChoice;
use crate::record::error::RecordError;
use crate::run::event::BreaksAndWaivers;
use crate::text::steers;

/// Limits outside this range accuse sound cylinders or excuse broken ones; our own choice.
const LOW_PERCENT_RANGE: std::ops::RangeInclusive<f64> = 50.0..=99.0;

/// Longest crank and shortest rest that a shop may decide; our own choice.
const LONGEST_CRANK: u32 = 30;
const SHORTEST_REST: u32 = 30;

/// Longest name of a shop, in characters; it stands in every heading. Our own choice.
const LONGEST_NAME: usize = 120;

/// What a shop decides.
#[derive(Debug, Clone, PartialEq)]
pub struct Policy {
    /// Name of the shop.
    pub shop: ShopName,
    /// The limits that findings are decided against.
    pub limits: Limits,
    /// What it demands of its procedures.
    pub rules: Rules,
}

/// Name of a shop: one line, not empty.
#[derive(Debug, Clone, PartialEq, Eq)]
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
        if name.contains(steers) || name.chars().count() > LONGEST_NAME {
            return Err(format!(
                "the shop's name must be one line of at most {LONGEST_NAME} characters, none of them invisible"
            ));
        }
        Ok(ShopName(name))
    }
}

/// Limits.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Limits {
    /// Limit below which a cylinder counts as low.
    pub low_percent: LowPercent,
    /// From which loss on each band of a leak-down test counts.
    pub leak_down: Bands,
    /// How long a starter may turn, and must rest.
    pub starter: StarterDuty,
    /// Rule for static compression of petrol engines where the maker gives no figures.
    pub static_compression: ShopRule,
    /// Minutes that a break may last before what was made safe is asked again; 0: any break.
    pub pause_minutes: u32,
    /// The units that its gauges are read in.
    pub units: UnitChoice,
}

impl Limits {
    /// Those of follow-ups.
    #[must_use]
    pub fn followup(&self) -> ShopLimits {
        ShopLimits {
            static_compression: self.static_compression,
            leak_down: self.leak_down,
            starter: self.starter,
            units: self.units,
        }
    }
}

/// A limit below which a cylinder counts as low, percent.
#[derive(Debug, Clone, Copy, PartialEq)]
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
    /// What a job needs to know of breaks and waivers.
    #[must_use]
    pub fn breaks_and_waivers(&self) -> BreaksAndWaivers {
        let waivers = self.rules.waivers.iter().map(|waiving| {
            let who = waiving.who.iter().map(|who| who.name.clone());
            let step = format!("{}/{}", waiving.procedure, waiving.step);
            (step, who.collect())
        });
        BreaksAndWaivers {
            pause_minutes: self.limits.pause_minutes,
            waivers: waivers.collect(),
        }
    }

    /// Read a policy's text, as strictly as a procedure; `file` is for messages.
    ///
    /// # Errors
    /// All that is wrong with it, each with its place.
    pub fn read(file: &str, text: &str) -> Result<Policy, Vec<Problem>> {
        written::read(file, text).1
    }

    /// The same, with its rules as far as they can be read: what they say of procedures is judged beside what is wrong
    /// with the policy itself.
    pub(crate) fn read_with_rules(file: &str, text: &str) -> (Rules, Result<Policy, Vec<Problem>>) {
        written::read(file, text)
    }

    /// The same, where only the first problem is told; `evenfire check` tells them all.
    ///
    /// # Errors
    /// What is wrong with it, with its place.
    pub fn parse(file: &Path, text: &str) -> Result<Policy, RecordError> {
        Policy::read(&file.display().to_string(), text).map_err(|problems| {
            let first = problems.into_iter().next();
            let (place, message) = first.map_or(((1, 1), String::new()), |problem| {
                let place = (problem.position.line, problem.position.column);
                (place, format!("{}. {}", problem.message, problem.remedy))
            });
            RecordError::text(file, place, message.trim_end())
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
             low_percent: {DEFAULT_LOW_PERCENT}\n  \
             # Static compression where the maker gives no figures: share-75 (lowest at least 75 % of highest),\n  \
             # mean-20 (none more than 20 % under the mean), or share-70-over-100-psi (70 % of highest and 100 psi).\n  \
             static_compression: share-75\n\
             # Units of its gauges where a number is typed without one: psi, kPa or bar; °C or °F.\n\
             # units: {{pressure: kPa, temperature: °C}}\n\
             # What the shop demands of its procedures, beyond what is built in. procedures/README.md says more.\n\
             # needs:\n\
             #   crank: [eyes protected]          # conditions that a kind of work needs besides its own\n\
             # steps_before:\n\
             #   relative-compression/exhaust-valve: [crank-again]   # on every path to an outcome\n\
             # waivers:                           # who may waive a step: lead, or names of leads in the roster\n\
             #   intake/gauge: lead\n\
             # revisions: {{relative-compression: 1}}              # the least that is worked by\n"
        )
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
        assert_eq!(read("shop: A").static_compression, ShopRule::ShareOf75);
        let other = read("shop: A\nlimits: {static_compression: mean-20}");
        assert_eq!(other.static_compression, ShopRule::MeanLess20);
        assert_eq!(
            read("shop: A\nlimits: {low_percent: 80}")
                .low_percent
                .percent(),
            80.0
        );
    }

    #[test]
    fn every_mistake_is_told_where_it_is() {
        let text = "shop: A\n\
                    limits:\n  \
                    low_percent: 8\n  \
                    leak_down_percent: {acceptable: few, poor: many, fault: 30}\n  \
                    static_compression: most\n  \
                    starter: {crank_seconds: 90, rest_seconds: 2}\n  \
                    pause_minutes: 900\n  \
                    paus: 1\n\
                    units: {pressure: stone, temperature: hot}\n";
        let told = Policy::read("p", text).unwrap_err();
        let lines: Vec<usize> = told.iter().map(|one| one.position.line).collect();
        assert_eq!(lines, [3, 4, 4, 5, 6, 6, 7, 8, 9, 9], "{told:#?}");
    }

    /// What is proposed for a step that is named wrongly has its form and keeps its own name.
    #[test]
    fn a_step_is_proposed_by_its_last_parts() {
        for (named, proposed) in [
            ("relative-compression/intake/gauge", "`intake/gauge`"),
            ("gauge", "`…/gauge`"),
        ] {
            let text = format!("shop: A\nwaivers:\n  {named}: lead\n");
            let told = Policy::read("p", &text).unwrap_err();
            let remedy = &told[0].remedy;
            assert!(
                remedy.contains(proposed) && remedy.contains("a slash"),
                "{remedy}"
            );
        }
    }

    /// A name that nearly is one is not corrected to another limit; nothing is left without a way to mend it.
    #[test]
    fn every_mistake_says_the_form_that_is_wanted() {
        let rule = "shop: A\nlimits: {static_compression: share-80}\n";
        let told = Policy::read("p", rule).unwrap_err();
        assert_eq!(
            told[0].remedy,
            "Write one of these: `share-75` (each at least 75 % of the highest), `mean-20` (none more than 20 % under the \
             mean), `share-70-over-100-psi` (each at least 70 % of the highest and at least 100 psi)."
        );
        for percent in ["185", "85%", "8"] {
            let text = format!("shop: A\nlimits: {{low_percent: {percent}}}\n");
            let told = Policy::read("p", &text).unwrap_err();
            let form = "a number from 50 to 99 without a sign of percent: `low_percent: 85`.";
            assert!(told[0].remedy.ends_with(form), "{told:?}");
        }
        for text in [
            "limits: {low_percent: 85%}",
            "limits: {low_percent: 8}",
            "limits: {leak_down_percent: 10}",
            "limits: {pause_minutes: ten}",
            "limits: {starter: {crank_seconds: 10s}}",
            "units: {pressure: stone}",
            "needs: [eyes protected]",
            "needs: {crank: [Eyes Protected]}",
            "needs: {cranking: [eyes protected]}",
            "steps_before: {even: [crank-again]}",
            "steps_before: {a/b: [Crank again]}",
            "waivers: {a/b: [the lead]}",
            "revisions: {a: 1.5}",
        ] {
            let told = Policy::read("p", &format!("shop: A\n{text}\n")).unwrap_err();
            assert_eq!(told.len(), 1, "{text}: {told:#?}");
            assert!(!told[0].remedy.is_empty(), "{text}: {told:#?}");
        }
        assert!(
            !Policy::read("p", "shop: ' '\n").unwrap_err()[0]
                .remedy
                .is_empty()
        );
    }

    #[test]
    fn units_may_be_chosen() {
        let read = |text| Policy::parse(Path::new("p"), text).unwrap().limits.units;
        assert_eq!(read("shop: A"), UnitChoice::default());
        let chosen = read("shop: A\nunits: {pressure: bar, temperature: °F}");
        assert_eq!(chosen.pressure, Some(crate::quantity::Unit::Bar));
        assert_eq!(chosen.temperature, Some(crate::quantity::Unit::Fahrenheit));
        let told = refused("shop: A\nunits: {pressure: bar abs}\n");
        assert!(
            told.starts_with("policy.yaml:2:") && told.contains("psi, kPa, bar"),
            "{told}"
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
            (
                "shop: A\nlimits: {static_compression: most}\n",
                "policy.yaml:2:",
                "mean-20",
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
