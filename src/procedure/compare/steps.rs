//! What changed in single steps, matched by their ids.

use std::collections::BTreeSet;
use std::fmt::Display;

use super::{About, Found, hazards, limits, numbers};
use crate::procedure::edges;
use crate::procedure::model::{
    Interval, Next, NumberForm, OutcomeKind, Procedure, Question, Step, StepIndex,
};
use crate::procedure::work::Work;

/// What a change of the question itself is told under.
const ASKED: &str = "what it asks";

/// Two states of one step.
pub(super) struct Pair<'a, 'f> {
    procedure: &'a str,
    id: &'a str,
    found: &'f mut Found,
}

pub(super) fn compare(
    before: &Procedure<StepIndex>,
    after: &Procedure<StepIndex>,
    found: &mut Found,
) {
    let name = &before.name;
    for old in &before.steps {
        let Some(new) = after.steps.iter().find(|step| step.id == old.id) else {
            let protects =
                !old.hazards.is_empty() || !old.establishes.is_empty() || !old.restores.is_empty();
            let told = "step taken away".to_owned();
            found.add(name, Some(&old.id), About::Step, protects, told);
            for hazard in &old.hazards {
                let told = hazards::taken_away(hazard);
                found.add(name, Some(&old.id), About::Hazard, true, told);
            }
            continue;
        };
        let mut pair = Pair {
            procedure: name,
            id: &old.id,
            found,
        };
        hazards::compare(&mut pair, old, new);
        pair.conditions(old, new);
        pair.putting_back(old, new);
        pair.limits(old, new);
        pair.ways(before, old, after, new);
        pair.texts(old, new);
    }
    for new in &after.steps {
        if !before.steps.iter().any(|step| step.id == new.id) {
            found.add(
                name,
                Some(&new.id),
                About::Step,
                false,
                "new step".to_owned(),
            );
        }
    }
}

impl Pair<'_, '_> {
    pub(super) fn add(&mut self, about: About, weakens: bool, told: String) {
        self.found
            .add(self.procedure, Some(self.id), about, weakens, told);
    }

    /// What two lists do not share. `weakening`: whether taking away, and adding, weakens.
    fn lists<V: Ord + Display>(
        &mut self,
        about: About,
        what: &str,
        (old, new): (&[V], &[V]),
        (taking, adding): (bool, bool),
    ) {
        let (old, new): (BTreeSet<&V>, BTreeSet<&V>) = (old.iter().collect(), new.iter().collect());
        for gone in old.difference(&new) {
            self.add(about, taking, format!("{what} no longer: {gone}"));
        }
        for added in new.difference(&old) {
            self.add(about, adding, format!("{what} now: {added}"));
        }
    }

    fn conditions(&mut self, old: &Step<StepIndex>, new: &Step<StepIndex>) {
        let kinds = |step: &Step<StepIndex>| -> Vec<&'static str> {
            step.work.iter().map(|work| work.name()).collect()
        };
        let hurts = |step: &Step<StepIndex>| step.work.iter().any(|work| *work != Work::None);
        let (was, is) = (kinds(old), kinds(new));
        if was != is {
            let told = format!("work {} becomes {}", was.join(", "), is.join(", "));
            self.add(About::Condition, hurts(old), told);
        }
        let lists = [
            ("needs", &old.needs, &new.needs, (true, false)),
            // what holds after yes: one more can stand in for work that nobody does
            (
                "establishes",
                &old.establishes,
                &new.establishes,
                (true, true),
            ),
            ("revokes", &old.revokes, &new.revokes, (true, false)),
        ];
        for (what, old, new, weakens) in lists {
            self.lists(About::Condition, what, (old, new), weakens);
        }
    }

    fn putting_back(&mut self, old: &Step<StepIndex>, new: &Step<StepIndex>) {
        let items = |step: &Step<StepIndex>| -> Vec<String> {
            step.disables.iter().map(|d| d.item.to_string()).collect()
        };
        let (was, is) = (items(old), items(new));
        self.lists(About::PuttingBack, "disables", (&was, &is), (true, false));
        self.lists(
            About::PuttingBack,
            "restores",
            (&old.restores, &new.restores),
            (true, false),
        );
        for disabled in &old.disables {
            let other = new
                .disables
                .iter()
                .find(|other| other.item == disabled.item);
            if let Some(other) = other.filter(|other| other.restore != disabled.restore) {
                let told = format!(
                    "how {} is put back: \"{}\" becomes \"{}\"",
                    disabled.item, disabled.restore, other.restore
                );
                self.add(About::PuttingBack, true, told);
            }
        }
    }

    fn limits(&mut self, old: &Step<StepIndex>, new: &Step<StepIndex>) {
        if let (Question::Measure { form: was, .. }, Question::Measure { form: is, .. }) =
            (&old.question, &new.question)
        {
            self.forms(was, is);
        }
        let bound = |step: &Step<StepIndex>| step.at_most.as_ref().map(|bound| bound.times);
        let (was, is) = (bound(old), bound(new));
        if was != is {
            let told = |times: Option<u32>| {
                times.map_or("without bound".to_owned(), |t| {
                    format!("at most {t} visits")
                })
            };
            let weaker = is.is_none() || was.is_some_and(|was| is.is_some_and(|is| is > was));
            self.add(
                About::Limit,
                weaker,
                format!("{} becomes {}", told(was), told(is)),
            );
        }
    }

    fn forms(&mut self, was: &NumberForm, is: &NumberForm) {
        let told = |form: &NumberForm| {
            let expected = form
                .expected
                .map(|r| format!(", expected {} to {}", r.least, r.greatest));
            format!(
                "{} to {} {}, resolution {}{}",
                form.possible.least,
                form.possible.greatest,
                form.unit.symbol(),
                form.resolution,
                expected.unwrap_or_default()
            )
        };
        // without an expected range, nothing in the possible one is asked again
        let asked = |form: &NumberForm| form.expected.unwrap_or(form.possible);
        let wider =
            |was: Interval, is: Interval| is.least < was.least || is.greatest > was.greatest;
        let weaker =
            was.unit != is.unit || wider(was.possible, is.possible) || wider(asked(was), asked(is));
        let (was, is) = (told(was), told(is));
        if was != is {
            self.add(About::Limit, weaker, format!("{was} becomes {is}"));
        }
    }

    /// Branches over numbers: moved limits told as such, other changes marked, since what went one way for a
    /// reading goes another. Marked is as well what comes to another kind of end, and a new way to nothing found.
    fn branches(&mut self, mut was: Vec<limits::Way>, mut is: Vec<limits::Way>) {
        for told in limits::moved(&mut was, &mut is) {
            self.add(About::Limit, true, told);
        }
        for old in &was {
            let (when, to) = (&old.written, &old.to);
            match is.iter().find(|new| new.written == *when) {
                None => self.add(
                    About::Way,
                    old.has_limits(),
                    format!("\"{when}\" → {to} taken away"),
                ),
                Some(new) if new.to != *to => {
                    let told = format!("\"{when}\" → {to} becomes → {}", new.to);
                    let weakens = old.has_limits() || old.kinds != new.kinds;
                    self.add(About::Way, weakens, told);
                }
                Some(_) => {}
            }
        }
        for new in &is {
            if !was.iter().any(|old| old.written == new.written) {
                let told = format!("\"{}\" → {} added", new.written, new.to);
                let clears = new
                    .kinds
                    .iter()
                    .all(|kind| *kind == OutcomeKind::NothingFound);
                self.add(About::Way, clears, told);
            }
        }
    }

    fn ways(
        &mut self,
        before: &Procedure<StepIndex>,
        old: &Step<StepIndex>,
        after: &Procedure<StepIndex>,
        new: &Step<StepIndex>,
    ) {
        self.branches(limits::branches(before, old), limits::branches(after, new));
        let (was, is) = (told_ways(before, old), told_ways(after, new));
        for (way, to, kinds) in &was {
            match is.iter().find(|(other, ..)| other == way) {
                None => self.add(About::Way, false, format!("{way} → {to} taken away")),
                Some((_, other, now)) if other != to => {
                    let told = format!("{way} → {to} becomes → {other}");
                    self.add(About::Way, kinds != now, told);
                }
                Some(_) => {}
            }
        }
        for (way, to, _) in &is {
            if !was.iter().any(|(other, ..)| other == way) {
                self.add(About::Way, false, format!("{way} → {to} added"));
            }
        }
    }

    fn texts(&mut self, old: &Step<StepIndex>, new: &Step<StepIndex>) {
        let texts = |step: &Step<StepIndex>| -> Vec<(&'static str, String)> {
            let optional = [
                ("do", &step.action),
                ("why", &step.why),
                ("good", &step.good),
                ("mistakes", &step.mistakes),
            ];
            let optional = optional.map(|(key, text)| (key, text.clone().unwrap_or_default()));
            let mut all = optional.to_vec();
            all.push((ASKED, asked(&step.question)));
            all
        };
        // a yes to other words: what follows may hold without anybody having seen to it
        let stands_for = |step: &Step<StepIndex>| {
            matches!(step.question, Question::Confirm { .. })
                && !(step.establishes.is_empty() && step.restores.is_empty())
        };
        let stands_for = stands_for(old) || stands_for(new);
        for ((key, was), (_, is)) in texts(old).into_iter().zip(texts(new)) {
            match (was.is_empty(), is.is_empty()) {
                _ if was == is => {}
                (_, true) => self.add(
                    About::Text,
                    key == "do",
                    format!("{key} taken away: \"{was}\""),
                ),
                (true, _) => self.add(About::Text, false, format!("{key} added: \"{is}\"")),
                _ => {
                    let done = key == "do" || key == ASKED;
                    let numbers = numbers::changed(&was, &is).filter(|_| done);
                    let marked = numbers.is_some() || stands_for && key == ASKED;
                    let numbers = numbers.map(|told| format!("{told}, ")).unwrap_or_default();
                    let told = format!("{key}: {numbers}\"{was}\" becomes \"{is}\"");
                    self.add(About::Text, marked, told);
                }
            }
        }
    }
}

fn asked(question: &Question<StepIndex>) -> String {
    match question {
        Question::Confirm { statement, .. } => statement.clone(),
        Question::Choose { ask, choices, .. } => {
            let choices: Vec<String> = choices
                .iter()
                .map(|c| format!("{}: {}", c.name, c.label))
                .collect();
            format!("{ask} ({})", choices.join("; "))
        }
        Question::Measure { ask, .. }
        | Question::Capture { ask, .. }
        | Question::Note { ask, .. } => ask.clone(),
        Question::Compute { computation, .. } => format!("computes {}", computation.name()),
        Question::Call { procedure, .. } => format!("calls {procedure}"),
        Question::Outcome {
            kind,
            finding,
            advice,
        } => {
            format!(
                "{}: {finding} {}",
                kind.name(),
                advice.as_deref().unwrap_or_default()
            )
        }
    }
}

/// What takes a way, the step that it leads to, and what it can come to.
type ToldWay = (&'static str, String, BTreeSet<OutcomeKind>);

/// The ways out of a step but its branches.
fn told_ways(procedure: &Procedure<StepIndex>, step: &Step<StepIndex>) -> Vec<ToldWay> {
    let mut told = match &step.question {
        Question::Confirm { yes, no, .. } => {
            vec![("yes", yes), ("no", no)]
        }
        question => match edges::leads(question) {
            Some(Next::Always(to)) => vec![("then", to)],
            Some(Next::When(_)) | None => Vec::new(),
        },
    };
    if let Some(bound) = &step.at_most {
        told.push(("too often", &bound.then));
    }
    let way = |(name, to): (&'static str, &StepIndex)| {
        let id = procedure.steps[to.0].id.clone();
        (name, id, edges::ends(procedure, to.0))
    };
    told.into_iter().map(way).collect()
}
