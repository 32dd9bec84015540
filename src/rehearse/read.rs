//! A scenario file, read as strictly as a procedure: places, no doubled or unknown keys, no anchors.

use std::collections::BTreeMap;
use std::str::FromStr;

use super::scenario::{Entry, Expect, Facts, Placed, Scenario, Simulated};
use crate::ask::script::EntryFields;
use crate::cranking::answer::SignalKind;
use crate::engine::{Engine, Fuel};
use crate::procedure::Problem;
use crate::procedure::load::fields::{Fields, items, name, scalar, text};
use crate::procedure::model::OutcomeKind;
use crate::procedure::nearest::suggestion;
use crate::procedure::problem::Findings;
use crate::procedure::tree::{self, Content, Node};
use crate::run::vehicle;
use crate::simulate::WEAK_KEEPS;
use crate::simulate::draw::ReferenceWish;
use crate::simulate::spoil;

const KEYS: [&str; 8] = [
    "procedure",
    "about",
    "engine",
    "captures",
    "computed",
    "answers",
    "expect",
    "deny-each",
];
const ENGINE_KEYS: [&str; 3] = ["firing-order", "firing-intervals", "fuel"];
const CAPTURE_KEYS: [&str; 7] = [
    "seed",
    "again",
    "signal",
    "reference",
    "weak",
    "spoil",
    "seconds",
];
/// What an entry of a scenario can reply: nobody waives there, and nothing is attached.
const REPLIES: [&str; 5] = ["answer", "note", "cranked", "stop", "back"];
const ENTRY_FORM: &str = "Write `- {step: path, answer: …}`; in place of `answer` there can be `note`, `cranked`, `stop` or `back: yes`.";

/// Read a scenario.
///
/// # Errors
/// All that is wrong with it, each with its place.
pub fn read(file: &str, text: &str) -> Result<Scenario, Vec<Problem>> {
    tree::whole(file, text, |root, findings| {
        Reading(findings).scenario(root, file)
    })
}

struct Reading<'f>(&'f mut Findings);

impl Reading<'_> {
    fn wrong<V>(&mut self, node: &Node, message: String, remedy: &str) -> Option<V> {
        self.0.doubt(&node.position, message, "", remedy.to_owned());
        None
    }

    fn scenario(&mut self, root: &Node, file: &str) -> Option<Scenario> {
        let mut fields = Fields::of(root, "the scenario".to_owned(), self.0)?;
        let remedy = "Name the procedure: `procedure: relative-compression`.";
        let procedure = fields.need("procedure", remedy, self.0);
        let procedure = procedure.and_then(|node| name(node, "`procedure`", self.0));
        let about = fields.take("about");
        let about = about.and_then(|node| text(node, "`about`", self.0));
        let engine = fields.take("engine").and_then(|node| self.engine(node));
        let captures = self.by_step(fields.take("captures"), "captures", &mut Self::capture);
        let computed = self.by_step(fields.take("computed"), "computed", &mut Self::facts);
        let answers = fields.take("answers").map(|node| self.answers(node));
        let remedy = "Say how it must end: `expect: {outcome: step-id}`.";
        let expect = fields.need("expect", remedy, self.0);
        let expect = expect.and_then(|node| self.expect(node));
        let deny_each = fields.take("deny-each");
        let deny_each = Placed {
            position: deny_each.unwrap_or(root).position.clone(),
            value: deny_each.map_or_else(Vec::new, |node| self.kinds(node)),
        };
        fields.finish(&KEYS, self.0);
        let stem = file.rsplit(['/', '\\']).next().unwrap_or(file);
        Some(Scenario {
            position: root.position.clone(),
            name: stem.strip_suffix(".yaml").unwrap_or(stem).to_owned(),
            procedure: procedure?,
            about,
            engine,
            captures,
            computed,
            answers: answers.unwrap_or_default(),
            expect: expect?,
            deny_each,
        })
    }

    fn engine(&mut self, node: &Node) -> Option<Engine> {
        let mut fields = Fields::of(node, "`engine`".to_owned(), self.0)?;
        let remedy = "Write `firing-order: 1-3-4-2`.";
        let written = fields.need("firing-order", remedy, self.0)?;
        let order = scalar(written, "`firing-order`", self.0)?;
        let order = match vehicle::order(&order.value) {
            Ok(order) => order,
            Err(part) => return self.wrong(written, format!("`{part}` is no cylinder"), remedy),
        };
        let intervals = match fields.take("firing-intervals") {
            Some(node) => self.intervals(node)?,
            None => None,
        };
        let fuel = match fields.take("fuel") {
            Some(node) => Some(self.word(
                node,
                "`fuel`",
                &[("petrol", Fuel::Petrol), ("diesel", Fuel::Diesel)],
            )?),
            None => None,
        };
        fields.finish(&ENGINE_KEYS, self.0);
        match Engine::new(order.len(), &order, intervals.as_deref(), fuel) {
            Ok(engine) => Some(engine),
            Err(error) => self.wrong(node, error.to_string(), "Correct order or intervals."),
        }
    }

    #[allow(clippy::option_option)] // outer: readable at all; inner: uneven
    fn intervals(&mut self, node: &Node) -> Option<Option<Vec<f64>>> {
        let written = scalar(node, "`firing-intervals`", self.0)?;
        match vehicle::intervals(&written.value) {
            Ok(intervals) => Some(intervals),
            Err(part) => {
                let remedy = "Write the degrees from each firing to the next: 90 150 90 150 90 150";
                self.wrong(node, format!("`{part}` is no angle"), remedy)
            }
        }
    }

    /// A mapping from steps to one or several of something.
    fn by_step<V>(
        &mut self,
        node: Option<&Node>,
        what: &str,
        one: &mut dyn FnMut(&mut Self, &Node) -> Option<V>,
    ) -> BTreeMap<String, Placed<Vec<V>>> {
        let mut all = BTreeMap::new();
        let Some(node) = node else { return all };
        let Content::Map(entries) = &node.content else {
            let message = format!("`{what}` must be a mapping, this is {}", node.kind());
            let _: Option<()> = self.wrong(node, message, "Write `step-id: {…}` lines under it.");
            return all;
        };
        for (key, node) in entries {
            let value = items(node).into_iter().filter_map(|node| one(self, node));
            let placed = Placed {
                value: value.collect(),
                position: key.position.clone(),
            };
            all.insert(key.scalar.value.clone(), placed);
        }
        all
    }

    fn capture(&mut self, node: &Node) -> Option<Simulated> {
        let mut fields = Fields::of(node, "a capture".to_owned(), self.0)?;
        let mut simulated = Simulated {
            seed: 1,
            again: 0,
            signal: None,
            reference: ReferenceWish::Cycle,
            spoil: None,
            weak: BTreeMap::new(),
            seconds: None,
        };
        if let Some(node) = fields.take("seed") {
            simulated.seed = self.number(node, "`seed`")?;
        }
        if let Some(node) = fields.take("again") {
            simulated.again = self.number(node, "`again`")?;
        }
        if let Some(node) = fields.take("signal") {
            let signals = [
                ("starter-current", SignalKind::StarterCurrent),
                ("battery-voltage", SignalKind::BatteryVoltage),
                ("crank-speed", SignalKind::CrankSpeed),
            ];
            simulated.signal = Some(self.word(node, "`signal`", &signals)?);
        }
        if let Some(node) = fields.take("reference") {
            let references = [
                ("cycle", ReferenceWish::Cycle),
                ("turn", ReferenceWish::Turn),
                ("none", ReferenceWish::None),
            ];
            simulated.reference = self.word(node, "`reference`", &references)?;
        }
        if let Some(node) = fields.take("spoil") {
            let known = spoil::ALL.map(|spoil| (spoil.name(), spoil));
            simulated.spoil = Some(self.word(node, "`spoil`", &known)?);
        }
        if let Some(node) = fields.take("seconds") {
            simulated.seconds = Some(self.number(node, "`seconds`")?);
        }
        if let Some(node) = fields.take("weak") {
            simulated.weak = self.weak(node)?;
        }
        fields.finish(&CAPTURE_KEYS, self.0);
        Some(simulated)
    }

    fn weak(&mut self, node: &Node) -> Option<BTreeMap<usize, f64>> {
        let remedy = "Write `weak: {3: 62}`: the cylinder, and what it keeps, 10 to 100 percent.";
        let Content::Map(entries) = &node.content else {
            let message = format!("`weak` must be a mapping, this is {}", node.kind());
            return self.wrong(node, message, remedy);
        };
        let mut weak = BTreeMap::new();
        for (key, node) in entries {
            let percent: f64 = self.number(node, "what a weak cylinder keeps")?;
            match key.scalar.value.parse() {
                Ok(cylinder) if WEAK_KEEPS.contains(&percent) => weak.insert(cylinder, percent),
                _ => {
                    let message = format!("`{}: {percent}` is no weak cylinder", key.scalar.value);
                    return self.wrong(node, message, remedy);
                }
            };
        }
        Some(weak)
    }

    fn facts(&mut self, node: &Node) -> Option<Facts> {
        let Content::Map(entries) = &node.content else {
            let message = format!("facts must be a mapping, this is {}", node.kind());
            return self.wrong(node, message, "Write `{verdict: low, pattern: one}`.");
        };
        let mut facts = Facts::new();
        for (key, node) in entries {
            let value = scalar(node, "a fact", self.0)?;
            facts.insert(key.scalar.value.clone(), value.value.clone());
        }
        Some(facts)
    }

    fn answers(&mut self, node: &Node) -> Vec<Entry> {
        items(node)
            .into_iter()
            .filter_map(|node| self.entry(node))
            .collect()
    }

    fn entry(&mut self, node: &Node) -> Option<Entry> {
        let entry = EntryFields::of(node, self.0)?;
        let (step, given) = entry.finish(&REPLIES, (&["step"], ENTRY_FORM), self.0)?;
        Some(Entry {
            position: node.position.clone(),
            step,
            given,
        })
    }

    fn expect(&mut self, node: &Node) -> Option<Expect> {
        let mut fields = Fields::of(node, "`expect`".to_owned(), self.0)?;
        let remedy = "Name the step with `outcome` that it must come to, or `stopped`.";
        let outcome = fields.need("outcome", remedy, self.0);
        let outcome = outcome.and_then(|node| self.placed(node));
        let way = fields.take("way").map(items).unwrap_or_default();
        let way = way.into_iter().filter_map(|node| self.placed(node));
        let way = way.collect();
        fields.finish(&["outcome", "way"], self.0);
        Some(Expect {
            outcome: outcome?,
            way,
        })
    }

    fn placed(&mut self, node: &Node) -> Option<Placed<String>> {
        let value = scalar(node, "a step's path", self.0)?.value.clone();
        Some(Placed {
            position: node.position.clone(),
            value,
        })
    }

    fn kinds(&mut self, node: &Node) -> Vec<OutcomeKind> {
        let known = OutcomeKind::ALL.map(|kind| (kind.name(), kind));
        let nodes = items(node).into_iter();
        nodes
            .filter_map(|node| self.word(node, "`deny-each`", &known))
            .collect()
    }

    fn word<V: Copy>(&mut self, node: &Node, what: &str, known: &[(&str, V)]) -> Option<V> {
        let found = scalar(node, what, self.0)?.value.clone();
        let value = known.iter().find(|(word, _)| *word == found);
        if let Some((_, value)) = value {
            return Some(*value);
        }
        let remedy = suggestion(&found, known.iter().map(|(word, _)| *word));
        self.wrong(node, format!("{what} cannot be `{found}`"), &remedy)
    }

    fn number<V: FromStr>(&mut self, node: &Node, what: &str) -> Option<V> {
        let found = scalar(node, what, self.0)?.value.clone();
        match found.parse() {
            Ok(number) => Some(number),
            Err(_) => self.wrong(node, format!("{what} is `{found}`"), "Write a number."),
        }
    }
}
