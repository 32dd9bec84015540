//! How a policy is written.

use std::collections::BTreeMap;

use rust_decimal::prelude::ToPrimitive;

use super::{
    LONGEST_CRANK, LOW_PERCENT_RANGE, Limits, LowPercent, Policy, SHORTEST_REST, ShopName,
};
use crate::capture::setup::DEFAULT_LOW_PERCENT;
use crate::engine::starter_duty::StarterDuty;
use crate::followup::bands::Bands;
use crate::followup::static_rule::{Rule, ShopRule};
use crate::procedure::Problem;
use crate::procedure::keys;
use crate::procedure::load::fields::{Fields, items, name, scalar, text, whole};
use crate::procedure::model::Position;
use crate::procedure::names::{is_kebab, is_words};
use crate::procedure::nearest::suggestion;
use crate::procedure::problem::Findings;
use crate::procedure::rules::{FurtherNeeds, LeastRevision, Ruled, Rules, StepsBefore, Waiving};
use crate::procedure::tree::{self, Content, Key, Node};
use crate::procedure::unary;
use crate::procedure::work::{Condition, Work};
use crate::quantity::Unit;
use crate::quantity::choice::UnitChoice;
use crate::record::shop::roster::is_identity;

const KEYS: [&str; 7] = [
    "shop",
    "limits",
    "units",
    "needs",
    "steps_before",
    "waivers",
    "revisions",
];
const BAND_KEYS: [&str; 3] = ["acceptable", "poor", "fault"];
const STARTER_KEYS: [&str; 2] = ["crank_seconds", "rest_seconds"];

/// Highest revision, and longest rest in seconds: larger numbers are slips of the pen.
const MOST: u32 = 1_000_000;

/// A policy, or all that is wrong with it; the rules as far as they can be read are there either way.
pub(in crate::record) fn read(file: &str, text: &str) -> (Rules, Result<Policy, Vec<Problem>>) {
    let mut rules = Rules::default();
    let read = tree::whole(file, text, |root, findings| {
        Reading(findings).policy(root, &mut rules)
    });
    (rules, read)
}

/// How names are written.
const CONDITION: &str = "Use lower-case words with single spaces between: `eyes protected`.";
const STEP: &str =
    "Write a step's id; of a called procedure the call, a slash and the id: `leak-test/reading`.";
const SOMEBODY: &str =
    "Write `lead`, for any lead, or the name of a lead as it begins a line of allowed_signers.";

fn is_path(name: &str) -> bool {
    name.split('/').all(is_kebab)
}

type NeedPlaces = BTreeMap<(Work, String), Position>;

/// Longest break, in minutes, after which a shop may still trust what was made safe; our own choice.
const LONGEST_PAUSE: u32 = 60;

struct Reading<'f>(&'f mut Findings);

impl Reading<'_> {
    fn wrong<V>(&mut self, node: &Node, message: String, remedy: &str) -> Option<V> {
        self.0.doubt(&node.position, message, "", remedy.to_owned());
        None
    }

    fn policy(&mut self, root: &Node, rules: &mut Rules) -> Option<Policy> {
        let mut fields = Fields::of(root, "the policy".to_owned(), self.0)?;
        let shop = fields.need(
            "shop",
            "Write the shop's name: `shop: Lower Mill Garage`.",
            self.0,
        );
        let shop = shop.and_then(|node| self.shop(node));
        let limits = fields.take("limits").map(|node| self.limits(node));
        let units = fields.take("units").map(|node| self.units(node));
        let (needs, need_places) = self.needs(fields.take("needs"));
        *rules = Rules {
            needs,
            need_places,
            steps_before: self.steps_before(fields.take("steps_before")),
            waivers: self.waivers(fields.take("waivers")),
            revisions: self
                .revisions(fields.take("revisions"))
                .into_iter()
                .collect(),
        };
        fields.finish(&KEYS, self.0);
        Some(Policy {
            shop: shop?,
            limits: Limits {
                units: units.unwrap_or(Some(UnitChoice::default()))?,
                ..limits.unwrap_or(Some(Limits::default()))?
            },
            rules: rules.clone(),
        })
    }

    fn shop(&mut self, node: &Node) -> Option<ShopName> {
        let written = text(node, "the shop's name", self.0)?;
        match ShopName::try_from(written) {
            Ok(name) => Some(name),
            Err(message) => self.wrong(node, message, "Write it in a line: `shop: Our shop`."),
        }
    }

    /// All that is wrong is told, not the first of it only.
    fn limits(&mut self, node: &Node) -> Option<Limits> {
        let mut fields = Fields::of(node, "`limits`".to_owned(), self.0)?;
        let usual = Limits::default();
        let low = fields
            .take("low_percent")
            .map(|node| self.low_percent(node));
        let bands = fields
            .take("leak_down_percent")
            .map(|node| self.bands(node));
        let rule = fields
            .take("static_compression")
            .map(|node| self.static_rule(node));
        let starter = fields.take("starter").map(|node| self.starter(node));
        let pause = fields
            .take("pause_minutes")
            .map(|node| whole(node, "`pause_minutes`", 0..=LONGEST_PAUSE, self.0));
        fields.finish(&keys::LIMITS, self.0);
        Some(Limits {
            low_percent: low.unwrap_or(Some(usual.low_percent))?,
            leak_down: bands.unwrap_or(Some(usual.leak_down))?,
            static_compression: rule.unwrap_or(Some(usual.static_compression))?,
            starter: starter.unwrap_or(Some(usual.starter))?,
            pause_minutes: pause.unwrap_or(Some(usual.pause_minutes))?,
            units: usual.units,
        })
    }

    fn units(&mut self, node: &Node) -> Option<UnitChoice> {
        let mut fields = Fields::of(node, "`units`".to_owned(), self.0)?;
        let pressure = fields
            .take("pressure")
            .map(|node| self.unit(node, &UnitChoice::PRESSURES));
        let temperature = fields
            .take("temperature")
            .map(|node| self.unit(node, &UnitChoice::TEMPERATURES));
        fields.finish(&keys::UNITS, self.0);
        let chosen = |unit: Option<Option<Unit>>| unit.map_or(Some(None), |unit| Some(Some(unit?)));
        Some(UnitChoice {
            pressure: chosen(pressure)?,
            temperature: chosen(temperature)?,
        })
    }

    fn unit(&mut self, node: &Node, among: &[Unit]) -> Option<Unit> {
        let written = text(node, "the unit", self.0)?;
        let found = among.iter().find(|unit| unit.symbol() == written);
        if found.is_none() {
            let symbols: Vec<&str> = among.iter().map(|unit| unit.symbol()).collect();
            let remedy = format!("Write one of {}.", symbols.join(", "));
            return self.wrong(node, format!("`{written}` is none of the units"), &remedy);
        }
        found.copied()
    }

    fn low_percent(&mut self, node: &Node) -> Option<LowPercent> {
        let found = scalar(node, "`low_percent`", self.0)?;
        let percent = unary::number(&found.value).ok().and_then(|p| p.to_f64());
        let limit = match percent.map(LowPercent::try_from) {
            Some(Ok(limit)) => return Some(limit),
            Some(Err(message)) => message,
            None => format!(
                "low_percent is `{}`; it must be a number between {} and {}",
                found.value,
                LOW_PERCENT_RANGE.start(),
                LOW_PERCENT_RANGE.end()
            ),
        };
        let remedy = format!(
            "Write the share of the sound cylinders' pressure below which a cylinder is low, a number from {} to {} without \
             a sign of percent: `low_percent: {DEFAULT_LOW_PERCENT}`.",
            LOW_PERCENT_RANGE.start(),
            LOW_PERCENT_RANGE.end()
        );
        self.wrong(node, limit, &remedy)
    }

    fn bands(&mut self, node: &Node) -> Option<Bands> {
        let mut fields = Fields::of(node, "`leak_down_percent`".to_owned(), self.0)?;
        let remedy =
            "Write `{acceptable: 10, poor: 20, fault: 30}`: from which loss on each counts.";
        let numbers = BAND_KEYS.map(|key| {
            let node = fields.need(key, remedy, self.0)?;
            let found = scalar(node, key, self.0)?;
            let number = unary::number(&found.value).ok();
            number.or_else(|| self.wrong(node, format!("`{key}` is `{}`", found.value), remedy))
        });
        fields.finish(&BAND_KEYS, self.0);
        let [acceptable, poor, fault] = numbers;
        match Bands::new(acceptable?, poor?, fault?) {
            Ok(bands) => Some(bands),
            Err(error) => self.wrong(node, error.to_string(), remedy),
        }
    }

    fn static_rule(&mut self, node: &Node) -> Option<ShopRule> {
        let written = text(node, "`static_compression`", self.0)?;
        match ShopRule::ALL
            .into_iter()
            .find(|rule| rule.name() == written)
        {
            Some(rule) => Some(rule),
            None => {
                let message = format!("`{written}` is no rule for static compression");
                let told =
                    |rule: ShopRule| format!("`{}` ({})", rule.name(), Rule::from(rule).words());
                let rules = ShopRule::ALL.map(told).join(", ");
                self.wrong(node, message, &format!("Write one of these: {rules}."))
            }
        }
    }

    fn starter(&mut self, node: &Node) -> Option<StarterDuty> {
        let mut fields = Fields::of(node, "`starter`".to_owned(), self.0)?;
        let usual = StarterDuty::default();
        let crank = fields
            .take("crank_seconds")
            .map(|node| whole(node, "`crank_seconds`", 1..=LONGEST_CRANK, self.0));
        let rest = fields
            .take("rest_seconds")
            .map(|node| whole(node, "`rest_seconds`", SHORTEST_REST..=MOST, self.0));
        fields.finish(&STARTER_KEYS, self.0);
        Some(StarterDuty {
            crank_seconds: crank.unwrap_or(Some(usual.crank_seconds))?,
            rest_seconds: rest.unwrap_or(Some(usual.rest_seconds))?,
        })
    }

    /// The lines under a key, which look like the example; none where it is left out.
    fn entries<'n>(
        &mut self,
        node: Option<&'n Node>,
        what: &str,
        example: &str,
    ) -> &'n [(Key, Node)] {
        match node.map(|node| (&node.content, node)) {
            None => &[],
            Some((Content::Map(entries), _)) => entries,
            Some((_, node)) => {
                let message = format!(
                    "`{what}` wants lines of its own, here stands {}",
                    node.kind()
                );
                let remedy = format!("Write under it, deeper, lines like `{example}`.");
                self.wrong::<()>(node, message, &remedy);
                &[]
            }
        }
    }

    fn needs(&mut self, node: Option<&Node>) -> (FurtherNeeds, NeedPlaces) {
        let mut needs = FurtherNeeds::new();
        let mut places = NeedPlaces::new();
        for (key, node) in self.entries(node, "needs", "crank: [eyes protected]") {
            let Some(work) = Work::parse(&key.scalar.value) else {
                self.0.doubt(
                    &key.position,
                    format!("`{}` is no kind of work", key.scalar.value),
                    "",
                    suggestion(&key.scalar.value, Work::ALL.map(Work::name)),
                );
                continue;
            };
            for ruled in self.names(node, "a condition", is_words, CONDITION) {
                places.insert((work, ruled.name.clone()), ruled.position);
                needs.entry(work).or_default().push(Condition(ruled.name));
            }
        }
        (needs, places)
    }

    /// The names of a list; those that cannot be one are told and left out. `form` says how one is written.
    fn names(
        &mut self,
        node: &Node,
        what: &str,
        is_one: fn(&str) -> bool,
        form: &str,
    ) -> Vec<Ruled> {
        let mut names = Vec::new();
        for item in items(node) {
            let Some(found) = name(item, what, self.0) else {
                continue;
            };
            if !is_one(&found) {
                self.wrong::<()>(
                    item,
                    format!("`{found}` cannot be the name of {what}"),
                    form,
                );
                continue;
            }
            names.push(Ruled {
                position: item.position.clone(),
                name: found,
            });
        }
        names
    }

    /// "procedure/name": both halves.
    fn two(&mut self, key: &Key, what: &str) -> Option<(String, String)> {
        let halves = key.scalar.value.split_once('/');
        if let Some((procedure, name)) = halves.filter(|(p, n)| is_kebab(p) && is_kebab(n)) {
            return Some((procedure.to_owned(), name.to_owned()));
        }
        // of a whole way, the last two are the procedure that holds it and its own name
        let mut parts = key.scalar.value.rsplit('/').filter(|part| is_kebab(part));
        let (own, procedure) = (parts.next(), parts.next());
        let example = format!("{}/{}", procedure.unwrap_or("…"), own.unwrap_or("…"));
        self.0.doubt(
            &key.position,
            format!("`{}` names no {what}", key.scalar.value),
            "",
            format!(
                "Write the procedure in whose file the {what} stands, a slash and the {what}: `{example}`."
            ),
        );
        None
    }

    fn steps_before(&mut self, node: Option<&Node>) -> Vec<StepsBefore> {
        let mut rules = Vec::new();
        let example = "relative-compression/even: [crank-again]";
        for (key, node) in self.entries(node, "steps_before", example) {
            let steps = self.names(node, "a step", is_path, STEP);
            if let Some((procedure, outcome)) = self.two(key, "outcome") {
                rules.push(StepsBefore {
                    position: key.position.clone(),
                    procedure,
                    outcome,
                    steps,
                });
            }
        }
        rules
    }

    fn waivers(&mut self, node: Option<&Node>) -> Vec<Waiving> {
        let mut rules = Vec::new();
        for (key, node) in self.entries(node, "waivers", "intake/gauge: lead") {
            let who = self.names(node, "somebody", is_identity, SOMEBODY);
            if let Some((procedure, step)) = self.two(key, "step") {
                rules.push(Waiving {
                    position: key.position.clone(),
                    procedure,
                    step,
                    who,
                });
            }
        }
        rules
    }

    fn revisions(&mut self, node: Option<&Node>) -> Vec<(String, LeastRevision)> {
        let mut rules = Vec::new();
        for (key, node) in self.entries(node, "revisions", "intake: 2") {
            let revision = whole(node, "a revision", 1..=MOST, self.0);
            if let Some(revision) = revision {
                let position = key.position.clone();
                let least = LeastRevision { position, revision };
                rules.push((key.scalar.value.clone(), least));
            }
        }
        rules
    }
}
