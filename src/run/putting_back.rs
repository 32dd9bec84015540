//! In which order, and with whose words, what is not as it was goes back outside a procedure's own steps. Both are
//! those of the steps by which most of its ways put that back, so that a job that was stopped is closed up like any
//! other.

use std::cmp::Reverse;
use std::collections::BTreeSet;

use crate::procedure::model::{Hazard, Procedure, Question, SignalWord, Step, StepIndex};
use crate::procedure::work::{Condition, Work, cuts_fuel};
use crate::procedure::{reached, ways};
use crate::run::screen::{self, Form, PUT_BACK, Screen, asked_back};
use crate::run::state::State;
use crate::run::walk::{Disabling, Due, KEY_OUT, Walk, split};

/// Phase under which that stands where no step of the procedure puts it back.
const PHASE: &str = "put back";

/// Shown before anything is put back for which the procedure's own step has no hazard to people; the second where
/// fuel is cut, the third where air was put into a cylinder. Common practice of the trade, no source.
const WARNING: &str = "Key away before you reach in. A fan may start by itself.";
const FUEL_WARNING: &str = " Once fuel is back the engine can start.";
const AIR_WARNING: &str =
    " Take pressure out before you take a fitting off; the crank may turn as long as air is on.";
const ENGINE_WARNING: &str =
    "A running engine, and one that somebody starts, draws in hands, hair and leads.";

/// Before how a thing is put back that may not have been taken off.
const UNANSWERED: &str = "In case you had begun with it: ";

/// Why something goes back before the sheet's own putting back.
const LEFT_BEHIND: &str =
    "You went back from where this was taken off, so it goes back before the rest.";

/// How engine and key are put back.
pub(crate) const KEY_FIRST: &str =
    "Engine off, ignition off, key out and in your pocket. Touch nothing before.";

/// The condition that a step establishes which cuts the fuel.
const FUEL_OFF: &str = "fuel off";

/// Something that goes back.
struct Back<'w, 'l> {
    entry: &'w Disabling,
    /// The step that says how its procedure closes up.
    closing: Option<Closing<'l>>,
}

/// The step by which most ways of a procedure put a thing back.
struct Closing<'l> {
    scope: String,
    step: &'l Step<StepIndex>,
    /// When it puts that back.
    turn: (Reverse<usize>, usize),
}

/// The question that puts back the next thing still disabled, and because of what; none where nothing is. What a
/// called procedure took off comes first, then what the procedure's own closing has first. The checks prove that a
/// sound procedure restores everything itself; this catches what its paths cannot know, such as a stop, or a step that
/// was half done and then gone back from.
pub(super) fn next(walk: &Walk<'_>, state: &State, because: &str) -> Option<Screen> {
    first(walk, state, because, |_| true)
}

/// The question that puts back, before a step that puts back itself, what no step from there on would, and what the
/// procedure's closing has before that one: what was taken off on a way that was gone back from. Left to the end, it
/// would have hands in the engine once remote start is on again.
pub(super) fn left_behind(walk: &Walk<'_>, state: &State, due: &Due<'_>) -> Option<Screen> {
    if due.step.restores.is_empty() {
        return None;
    }
    let (scope, _) = split(&due.path);
    let (StepIndex(here), procedure) = walk.index_of(&due.path).ok()?;
    let coming = reached(procedure, here);
    let restored = |item: &Condition| {
        let mut coming = coming.iter().filter_map(|at| procedure.steps.get(*at));
        coming.any(|step| step.restores.contains(item))
    };
    let left = Reverse(to_the_end(procedure, here));
    first(walk, state, LEFT_BEHIND, |back: &Back<'_, '_>| {
        let closing = back.closing.as_ref();
        let before = closing.filter(|closing| closing.scope == scope);
        before.is_some_and(|closing| closing.turn.0 <= left) && !restored(&back.entry.item)
    })
}

/// The first of what goes back, of all of which `wanted` holds.
fn first(
    walk: &Walk<'_>,
    state: &State,
    because: &str,
    wanted: impl Fn(&Back<'_, '_>) -> bool,
) -> Option<Screen> {
    let all = walk.disabled().map(|entry| Back {
        entry,
        closing: closing(walk, entry),
    });
    let mut all: Vec<Back<'_, '_>> = all.filter(wanted).collect();
    all.reverse(); // what was disabled last comes first, where no closing says otherwise
    all.sort_by_key(Back::order);
    let (first, rest) = all.split_first()?;
    if walk.engine_may_run() {
        return Some(of_key_out(walk, state, because));
    }
    let is_last = !rest.iter().any(|other| other.closes_with(first));
    Some(of_item(walk, state, first, is_last, because))
}

impl Back<'_, '_> {
    /// Where it stands among all that goes back.
    fn order(&self) -> (Reverse<usize>, Reverse<usize>, usize) {
        let scope = self.closing.as_ref().map(|closing| closing.scope.as_str());
        let scope = scope.unwrap_or_else(|| split(&self.entry.by).0);
        let depth = scope.split('/').filter(|part| !part.is_empty()).count();
        let unknown = (Reverse(usize::MAX), 0);
        let (to_the_end, place) = self
            .closing
            .as_ref()
            .map_or(unknown, |closing| closing.turn);
        (Reverse(depth), to_the_end, place)
    }

    fn closes_with(&self, other: &Self) -> bool {
        let step = |back: &Self| {
            let closing = back.closing.as_ref()?;
            Some((closing.scope.clone(), closing.step.id.clone()))
        };
        step(self).is_some() && step(self) == step(other)
    }
}

/// The closing of the procedure in which a thing was disabled, or of one that called it.
fn closing<'l>(walk: &Walk<'l>, entry: &Disabling) -> Option<Closing<'l>> {
    let mut inside = entry.by.as_str();
    while !inside.is_empty() {
        let (scope, _) = split(inside);
        let procedure = walk.procedure_of(scope).ok();
        let usual = procedure.and_then(|procedure| usual(procedure, &entry.item));
        if let Some(procedure) = procedure
            && let Some(at) = usual
        {
            let step = &procedure.steps[at];
            return Some(Closing {
                scope: scope.to_owned(),
                step,
                turn: turn(procedure, &entry.item)?,
            });
        }
        inside = scope;
    }
    None
}

/// The step by whose words most of a procedure's steps put a thing back; of those the first.
fn usual(procedure: &Procedure<StepIndex>, item: &Condition) -> Option<usize> {
    let steps = procedure.steps.iter().enumerate();
    let restoring: Vec<_> = steps
        .filter(|(_, step)| step.restores.contains(item))
        .collect();
    let alike = |one: &Step<StepIndex>| {
        let same = |other: &&(usize, &Step<StepIndex>)| {
            other.1.restores == one.restores
                && other.1.action == one.action
                && other.1.hazards == one.hazards
        };
        restoring.iter().filter(same).count()
    };
    let most = restoring.iter().rev().max_by_key(|(_, step)| alike(step));
    most.map(|(at, _)| *at)
}

/// When a procedure's own closing puts a thing back, as an order among all that it puts back; none where no step of it
/// does.
pub(crate) fn turn(
    procedure: &Procedure<StepIndex>,
    item: &Condition,
) -> Option<(Reverse<usize>, usize)> {
    let at = usual(procedure, item)?;
    let mut restored = procedure.steps[at].restores.iter();
    let place = restored.position(|other| other == item)?;
    Some((Reverse(to_the_end(procedure, at)), place))
}

/// How many steps it is at least from one to an outcome.
fn to_the_end(procedure: &Procedure<StepIndex>, from: usize) -> usize {
    let mut seen = BTreeSet::from([from]);
    let mut reached = vec![from];
    let mut far = 0;
    while !reached.is_empty() {
        let steps: Vec<_> = reached
            .iter()
            .filter_map(|at| procedure.steps.get(*at))
            .collect();
        let ends = |step: &&Step<StepIndex>| matches!(step.question, Question::Outcome { .. });
        if steps.iter().any(ends) {
            break;
        }
        far += 1;
        let on = steps.into_iter().flat_map(ways).map(|(_, target)| target);
        reached = on.filter(|target| seen.insert(*target)).collect();
    }
    far
}

fn of_item(
    walk: &Walk<'_>,
    state: &State,
    back: &Back<'_, '_>,
    is_last: bool,
    because: &str,
) -> Screen {
    let closing = back.closing.as_ref();
    // nobody said that it was taken off: its step was shown, and left before an answer
    let by = &back.entry.by;
    let answered = walk.past().iter().any(|past| past.step == *by);
    let restore = match answered {
        true => back.entry.restore.clone(),
        false => format!("{UNANSWERED}{}", back.entry.restore),
    };
    let mut lines = vec![because.to_owned()];
    // the rest of what is done at this point of the closing, once all that has a question of its own is back
    let done = closing.filter(|_| is_last).and_then(|closing| {
        let text = closing.step.action.as_ref()?;
        Some(walk.filled(&closing.scope, text))
    });
    lines.extend(done);
    lines.push(restore);
    let mut screen = bare(walk, state, &back.entry.item.0, &lines.join("\n"));
    let hurts = |hazard: &Hazard| hazard.word != SignalWord::Notice;
    screen.hazards = match closing {
        Some(closing) if closing.step.hazards.iter().any(hurts) => closing.step.hazards.clone(),
        _ => vec![warning(walk)],
    };
    if let Some(closing) = closing {
        screen.phase.clone_from(&closing.step.phase);
    }
    screen
}

/// The screen on which engine and key are made sure of before hands put anything back.
fn of_key_out(walk: &Walk<'_>, state: &State, because: &str) -> Screen {
    let mut screen = bare(walk, state, KEY_OUT, &format!("{because}\n{KEY_FIRST}"));
    screen.hazards = vec![Hazard {
        word: SignalWord::Danger,
        text: ENGINE_WARNING.to_owned(),
    }];
    screen.why = Some("Nobody works on an engine that runs, or that another can start.".to_owned());
    screen
}

fn bare(walk: &Walk<'_>, state: &State, item: &str, action: &str) -> Screen {
    Screen {
        job: screen::job(state),
        practice: !state.practice().is_empty(),
        step: format!("{PUT_BACK}{item}"),
        phase: PHASE.to_owned(),
        number: 0, // no step of a sheet
        time: None,
        again_for: None,
        hazards: Vec::new(),
        action: Some(action.to_owned()),
        asked: asked_back(item),
        form: Form::PutBack,
        why: Some("The vehicle must leave the workshop as it came.".to_owned()),
        good: None,
        mistakes: None,
        was: None,
        so_far: screen::so_far(walk),
        disabled: screen::disabled(walk),
        waiver: Err("it puts back what was disabled".to_owned()),
        hint: None,
        again: false,
        ends: None,
        same_crank: false,
        closing: true,
    }
}

/// The hazards of putting back what was disabled in this job, and no other's.
fn warning(walk: &Walk<'_>) -> Hazard {
    let mut text = WARNING.to_owned();
    let fuel = |entry: &Disabling| {
        let step = walk.step_at(&entry.by);
        let cut = |step: &Step<StepIndex>| step.establishes.iter().any(|c| c.0 == FUEL_OFF);
        cuts_fuel(&entry.item) || step.is_ok_and(cut)
    };
    if walk.disabled().any(fuel) {
        text += FUEL_WARNING;
    }
    if walk.came_to(Work::PressuriseCylinder) {
        text += AIR_WARNING;
    }
    Hazard {
        word: SignalWord::Warning,
        text,
    }
}
