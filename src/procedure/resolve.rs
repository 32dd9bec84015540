//! From names of steps to their numbers: afterwards a target that does not exist cannot be written.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::load::Named;
use super::model::{AtMost, Branch, Next, Position, Procedure, Question, Step, StepIndex};
use super::names::is_kebab;
use super::nearest::{distance, nearest, suggestion};
use super::places::Places;
use super::problem::Findings;

/// Unknown targets for which the nearest name is looked for; in a file with more, something else is wrong.
const MOST_SUGGESTED: usize = 20;

/// Letters in which a misspelt name differs from the one that is meant, beside an id that stands twice.
const ONE_SLIP: usize = 1;

/// Lines that are told of those in which an unknown target is named.
const MOST_LINES: usize = 10;

/// Resolve every target; `None` where one is unknown, with all unknown ones among the findings.
pub(crate) fn resolve(
    procedure: Procedure<Named>,
    places: &Places,
    findings: &mut Findings,
) -> Option<Procedure<StepIndex>> {
    let ids: Vec<String> = procedure.steps.iter().map(|s| s.id.clone()).collect();
    let numbers: HashMap<&str, usize> = ids
        .iter()
        .enumerate()
        .map(|(number, id)| (id.as_str(), number))
        .collect();
    let mut resolver = Resolver {
        numbers,
        ids: &ids,
        places,
        all: true,
        at: String::new(),
        led_to: BTreeSet::new(),
        unknown: BTreeMap::new(),
        meant_by_doubled: BTreeMap::new(),
    };
    let steps = procedure.steps.into_iter();
    let steps = steps.map(|step| resolver.step(step)).collect();
    resolver.doubled(findings);
    resolver.report(findings);
    resolver.all.then_some(Procedure {
        steps,
        name: procedure.name,
        revision: procedure.revision,
        title: procedure.title,
        purpose: procedure.purpose,
        takes: procedure.takes,
        gives: procedure.gives,
        source: procedure.source,
    })
}

/// ", named at lines 12, 40, 77", where there are several.
pub(crate) fn lines(places: &BTreeSet<Position>) -> String {
    let lines: BTreeSet<usize> = places.iter().map(|place| place.line).collect();
    let told = lines.iter().take(MOST_LINES).map(ToString::to_string);
    let told: Vec<String> = told.collect();
    match lines.len() {
        0 | 1 => String::new(),
        count if count > MOST_LINES => format!(
            ", named at lines {} and {} more",
            told.join(", "),
            count - MOST_LINES
        ),
        _ => format!(", named at lines {}", told.join(", ")),
    }
}

struct Resolver<'a> {
    numbers: HashMap<&'a str, usize>,
    ids: &'a [String],
    places: &'a Places,
    all: bool,
    /// The step that is being resolved.
    at: String,
    /// Steps that others lead to.
    led_to: BTreeSet<usize>,
    /// Where each unknown target is named.
    unknown: BTreeMap<String, BTreeSet<Position>>,
    /// The same of those that are no slip of a letter, where an id stands twice: a step of that name is probably there.
    meant_by_doubled: BTreeMap<String, BTreeSet<Position>>,
}

impl Resolver<'_> {
    fn target(&mut self, named: Named) -> StepIndex {
        if let Some(number) = self.numbers.get(named.name.as_str()) {
            if named.name != self.at {
                self.led_to.insert(*number);
            }
            return StepIndex(*number);
        }
        self.all = false;
        if self.places.is_declared(&named.name) {
            return StepIndex(0); // it could not be read, which has been said
        }
        // one whose id is doubled or cannot be one has been told; it may well be the step that is meant here
        let good = self
            .ids
            .iter()
            .map(String::as_str)
            .filter(|id| is_kebab(id));
        let doubled = self.numbers.len() < self.ids.len();
        if doubled || !self.ids.iter().all(|id| is_kebab(id)) {
            let near = nearest(&named.name, good);
            let slip = near.is_some_and(|near| distance(&named.name, near) <= ONE_SLIP);
            if doubled && !slip {
                let places = self.meant_by_doubled.entry(named.name).or_default();
                places.insert(named.position);
                return StepIndex(0);
            }
            if near.is_none() {
                return StepIndex(0);
            }
        }
        let places = self.unknown.entry(named.name).or_default();
        places.insert(named.position);
        StepIndex(0)
    }

    /// Where an id is doubled: which unknown targets one of its two steps may be meant by, with what says so of it.
    /// Where there are several, none can be told of it, and those that are like the name of a step are told as before.
    fn doubled(&mut self, findings: &mut Findings) {
        let mut meant = std::mem::take(&mut self.meant_by_doubled);
        if meant.len() > 1 {
            let ids = || self.ids.iter().map(String::as_str);
            meant.retain(|name, _| nearest(name, ids()).is_some());
            self.unknown.append(&mut meant);
        }
        let first = meant.iter().next();
        let Some((name, named)) = first.and_then(|(name, places)| Some((name, places.first()?)))
        else {
            return;
        };
        for problem in &mut findings.list {
            let Some((id, _)) = problem.message.split_once(" stands twice") else {
                continue;
            };
            let is_step = self.numbers.contains_key(id.trim_matches('`'));
            if is_step && problem.position.file == named.file {
                problem.remedy += &format!(
                    " One of the two {id} may be meant as `{name}`, to which line {} leads and which no step is called.",
                    named.line
                );
            }
        }
    }

    /// Each unknown target once, at the first place that names it.
    fn report(&self, findings: &mut Findings) {
        for (told, (name, places)) in self.unknown.iter().enumerate() {
            let remedy = if told < MOST_SUGGESTED {
                self.remedy(name)
            } else {
                "Check the spelling, or add it.".to_owned()
            };
            let Some(first) = places.first() else {
                continue;
            };
            findings.doubt(
                first,
                format!("there is no step `{name}`{}", lines(places)),
                "The technician would stand at the car with no next step.",
                remedy,
            );
        }
    }

    fn remedy(&self, name: &str) -> String {
        let near = nearest(name, self.ids.iter().map(String::as_str));
        let near = near.and_then(|near| self.numbers.get_key_value(near));
        let alone = near.filter(|(_, number)| **number > 0 && !self.led_to.contains(number));
        let place = alone.and_then(|(near, _)| self.places.declared().find(|(id, _)| id == near));
        match place {
            Some((near, place)) => format!(
                "Did you mean `{near}` (line {})? No other step leads there, so its own name may be the misspelt one.",
                place.line
            ),
            None => suggestion(name, self.ids.iter().map(String::as_str)),
        }
    }

    fn next(&mut self, next: Next<Named>) -> Next<StepIndex> {
        match next {
            Next::Always(target) => Next::Always(self.target(target)),
            Next::When(branches) => {
                let resolved = branches.into_iter().map(|branch| Branch {
                    written: branch.written,
                    tests: branch.tests,
                    target: self.target(branch.target),
                });
                Next::When(resolved.collect())
            }
        }
    }

    fn step(&mut self, step: Step<Named>) -> Step<StepIndex> {
        self.at.clone_from(&step.id);
        Step {
            question: self.question(step.question),
            at_most: step.at_most.map(|bound| AtMost {
                times: bound.times,
                then: self.target(bound.then),
            }),
            id: step.id,
            phase: step.phase,
            hazards: step.hazards,
            action: step.action,
            work: step.work,
            needs: step.needs,
            establishes: step.establishes,
            revokes: step.revokes,
            disables: step.disables,
            restores: step.restores,
            fills: step.fills,
            why: step.why,
            good: step.good,
            mistakes: step.mistakes,
            position: step.position,
        }
    }

    fn question(&mut self, question: Question<Named>) -> Question<StepIndex> {
        match question {
            Question::Confirm { statement, yes, no } => Question::Confirm {
                statement,
                yes: self.target(yes),
                no: self.target(no),
            },
            Question::Choose { ask, choices, next } => Question::Choose {
                ask,
                choices,
                next: self.next(next),
            },
            Question::Measure { ask, form, next } => Question::Measure {
                ask,
                form,
                next: self.next(next),
            },
            Question::Capture { ask, kind, next } => Question::Capture {
                ask,
                kind,
                next: self.next(next),
            },
            Question::Note { ask, form, next } => Question::Note {
                ask,
                form,
                next: self.next(next),
            },
            Question::Compute {
                computation,
                with,
                tested,
                next,
            } => Question::Compute {
                computation,
                with,
                tested,
                next: self.next(next),
            },
            Question::Call {
                procedure,
                with,
                tested,
                next,
            } => Question::Call {
                procedure,
                with,
                tested,
                next: self.next(next),
            },
            Question::Outcome {
                kind,
                finding,
                advice,
            } => Question::Outcome {
                kind,
                finding,
                advice,
            },
        }
    }
}
