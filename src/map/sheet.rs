//! A work sheet for paper, for where no laptop may go: every step with its hazards before the action, a
//! box to tick or a line to write on, and the number of the step that follows.

use maud::{Markup, html};

use super::sheet_blanks::letter;
use super::sheet_ends::{foot, head};
use super::visits::Visits;
use super::{
    ForShop, document, in_order, sheet_blanks, sheet_rest, starter, style, title_of, wording,
};
use crate::followup::by_hand;
use crate::procedure::model::{
    Branch, Library, Next, NumberForm, Procedure, Question, SignalWord, Step, StepIndex,
    UnaryTests, ValuePath,
};
use crate::procedure::paths;
use crate::procedure::unary::{Tested, branch};
use crate::quantity::Unit;

/// Lines that are printed for a step's visits at most.
const MOST_LINES: u32 = 12;

/// The sheet of a procedure and all that it calls, by a shop's limits where it is made for one. Steps of the
/// first are numbered 1, 2, 3; of those that it calls A1, A2, B1.
#[must_use]
pub fn sheet(library: &Library, root: &str, shop: Option<&ForShop<'_>>) -> String {
    let all = in_order(library, root);
    let title = format!("Work sheet: {}", title_of(&all, root));
    let body = html! {
        (head(&all, shop))
        div.columns {
            @for (number, procedure) in all.iter().enumerate() {
                (Paper { all: &all, procedure, shop, letter: letter(number), visits: Visits::of(procedure) }.steps())
            }
        }
        (foot(&all))
    };
    document(&title, style::SHEET, &body)
}

struct Paper<'l> {
    all: &'l [&'l Procedure<StepIndex>],
    procedure: &'l Procedure<StepIndex>,
    shop: Option<&'l ForShop<'l>>,
    letter: String,
    visits: Visits,
}

impl Paper<'_> {
    fn number(&self, at: StepIndex) -> String {
        format!("{}{}", self.letter, at.0 + 1)
    }

    fn steps(&self) -> Markup {
        let steps = &self.procedure.steps;
        // a phase's heading stands once, before its first step
        let begins = |number: usize| number == 0 || steps[number - 1].phase != steps[number].phase;
        html! {
            @if !self.letter.is_empty() {
                h2 { (self.letter) ". " (self.procedure.title) }
                p { (self.procedure.purpose) }
                @if self.several() { p { b { "Take a fresh copy of this sheet each time you come to it." } } }
            }
            @for (number, step) in steps.iter().enumerate() {
                @if begins(number) { h3 { (step.phase) } }
                @if begins(number) || !alike(&steps[number - 1], step) {
                    @let same = steps[number + 1..].iter();
                    @let same = same.take_while(|other| alike(step, other) && other.phase == step.phase);
                    (self.step(StepIndex(number), step, same.count()))
                }
            }
        }
    }

    /// Whether the sheet may be gone through several times.
    fn several(&self) -> bool {
        let calls = self.all.iter().map(|caller| {
            let visits = Visits::of(caller);
            let steps = caller.steps.iter().enumerate().filter(|(_, step)| {
                matches!(&step.question, Question::Call { procedure, .. } if *procedure == self.procedure.name)
            });
            steps.map(|(at, _)| visits.most(StepIndex(at))).sum::<u32>()
        });
        calls.sum::<u32>() > 1
    }

    /// A step, and in the same place those that follow and differ only in where they lead.
    fn step(&self, at: StepIndex, step: &Step<StepIndex>, same: usize) -> Markup {
        let end = matches!(step.question, Question::Outcome { .. });
        let off: Vec<String> = step.disables.iter().map(|d| d.item.to_string()).collect();
        html! {
            div.step {
                div.number {
                    (self.number(at))
                    @if same > 0 { "–" (self.number(StepIndex(at.0 + same))) }
                }
                div.end[end] {
                    @for hazard in &step.hazards {
                        p.hazard.danger[hazard.word == SignalWord::Danger] {
                            b { (hazard.word.text()) } (hazard.text)
                        }
                    }
                    @if let Some(action) = &step.action { p.do { (self.done(step, action)) } }
                    @if sheet_rest::is_rest(step) {
                        (sheet_rest::clock(starter(self.shop), self.visits.most(at).min(MOST_LINES)))
                    }
                    (self.asked(at, step, same))
                    @if let Some(bound) = &step.at_most {
                        p.aside {
                            "At most " (bound.times) " times"
                            @if !written(&step.question) { ": " (ticks(bound.times)) }
                            ", then → " b { (self.number(bound.then)) }
                        }
                    }
                    @if let Some(who) = self.shop.and_then(|h| h.who_may_waive(&self.procedure.name, &step.id)) {
                        p.aside { "May be waived by " (who) ": " span.blank {} " because " span.blank {} }
                    }
                    @if let Some(good) = &step.good { p.aside { "Good: " (good) } }
                    @if !off.is_empty() {
                        p.aside { "Off from here, tick it on the last page: " (off.join("; ")) }
                    }
                }
            }
        }
    }

    /// What is done, without what only a program does.
    fn done(&self, step: &Step<StepIndex>, action: &str) -> String {
        let action = self.with_blanks(action);
        match sheet_rest::is_rest(step) {
            true => sheet_rest::by_hand(&action),
            false => action,
        }
    }

    /// The question, what is written down for it, and where it leads.
    fn asked(&self, at: StepIndex, step: &Step<StepIndex>, same: usize) -> Markup {
        let asked = self.with_blanks(&wording::asked(&step.question));
        let one = |told: &str, to: StepIndex| {
            html! { li { (self.ticks(at, to)) (told) (self.arrow(at, to)) } }
        };
        html! {
            @match &step.question {
                Question::Confirm { yes, no, .. } => {
                    p.asked { (asked) }
                    @if same == 0 { ul.ways { (one("yes", *yes)) (one("no", *no)) } }
                    @else { @for other in at.0..=at.0 + same { (self.one_of(StepIndex(other))) } }
                },
                Question::Choose { choices, next, .. } => {
                    p.asked { (asked) }
                    ul.ways {
                        @for choice in choices {
                            @if let Some(to) = after(next, &choice.name) { (one(&choice.label, to)) }
                            @else { li { span.tick {} (choice.label) } }
                        }
                    }
                },
                Question::Measure { form, next, .. } => {
                    p.asked { (asked) (self.onward(at, next)) }
                    p.aside { (wording::number(form)) }
                    (self.lines(at, next, &html! { span.blank {} " " (unit(form)) }))
                },
                Question::Note { next, .. } | Question::Capture { next, .. } => {
                    p.asked { (asked) (self.onward(at, next)) }
                    (self.lines(at, next, &html! { span.blank.wide {} }))
                },
                Question::Compute { computation, next, .. } => {
                    p.asked { "Judge: " i { (asked) } (self.onward(at, next)) }
                    p {
                        @if let Some(rule) = by_hand::rule(*computation, self.shop.map(|shop| &shop.limits)) { "By hand: " (rule) "." }
                        @else { "Needs the program: note the readings and ring the shop." }
                    }
                    (self.lines(at, next, &html! { span.blank {} }))
                },
                Question::Call { procedure, next, .. } => {
                    p.asked {
                        "Go through sheet " b { (self.sheet_of(procedure)) } ", come back here"
                        @if matches!(next, Next::When(_)) { ". It ended with:" }
                        (self.onward(at, next))
                    }
                    (self.ways(at, next))
                },
                Question::Outcome { kind, advice, .. } => {
                    p.asked {
                        b { @if self.letter.is_empty() { "End, " (wording::words(kind.name())) } @else { (wording::words(&step.id)) } ". " }
                        (asked)
                    }
                    @if let Some(advice) = advice { p { (self.with_blanks(advice)) } }
                    (self.back(&step.id))
                }
            }
        }
    }

    /// Where an end of a called sheet leads back to, and what is ticked there: for each step that calls it.
    fn back(&self, end: &str) -> Markup {
        html! {
            @for (number, caller) in self.all.iter().enumerate() {
                @for (at, step) in caller.steps.iter().enumerate() {
                    @if let Question::Call { procedure, next, tested, .. } = &step.question
                        && *procedure == self.procedure.name {
                        p {
                            b { (wording::words(end)) } ": back to step " b { (letter(number)) (at + 1) }
                            @if tested.as_deref().is_none_or(|fact| fact == "outcome") && let Some(branch) = taken(next, end) {
                                ", tick " i { (wording::tests(&branch.tests)) }
                            }
                            "."
                        }
                    }
                }
            }
        }
    }

    /// A line to write on and the boxes of its ways, for every visit that the step may get.
    fn lines(&self, at: StepIndex, next: &Next<StepIndex>, line: &Markup) -> Markup {
        let visits = self.visits.most(at).min(MOST_LINES);
        html! {
            @if visits > 1 {
                ol.visits.short[matches!(next, Next::Always(_))] { @for _ in 0..visits { li { (line) (self.ways(at, next)) } } }
            } @else {
                p { (line) }
                (self.ways(at, next))
            }
        }
    }

    /// A box for each time that a way can be taken: once where it leads out of its loop.
    fn ticks(&self, at: StepIndex, to: StepIndex) -> Markup {
        let visits = self.visits.most(at).min(MOST_LINES);
        ticks(if self.visits.again(at, to) { visits } else { 1 })
    }

    /// The answers to one of several statements that stand in one place.
    fn one_of(&self, at: StepIndex) -> Markup {
        let Question::Confirm { yes, no, .. } = &self.procedure.steps[at.0].question else {
            return html! {};
        };
        html! {
            ul.ways {
                li { b { (self.number(at)) } }
                li { span.tick {} "yes → " b { (self.number(*yes)) } }
                li { span.tick {} "no → " b { (self.number(*no)) } }
            }
        }
    }

    /// A text with a blank to write on for each value that the program would fill in, and where on the sheet it stands.
    fn with_blanks(&self, text: &str) -> String {
        let blank = |path: &ValuePath| {
            let place = sheet_blanks::place(self.all, self.procedure, path);
            Some(format!("________ ({place})"))
        };
        paths::fill(text, blank).unwrap_or_else(|_| text.to_owned())
    }

    /// Nothing where the next number follows.
    fn arrow(&self, at: StepIndex, to: StepIndex) -> Markup {
        html! { @if to.0 != at.0 + 1 { " → " b { (self.number(to)) } } }
    }

    /// Where the only way leads.
    fn onward(&self, at: StepIndex, next: &Next<StepIndex>) -> Markup {
        match next {
            Next::Always(to) => self.arrow(at, *to),
            Next::When(_) => html! {},
        }
    }

    fn sheet_of(&self, name: &str) -> String {
        self.all
            .iter()
            .position(|procedure| procedure.name == name)
            .map_or_else(|| name.to_owned(), letter)
    }

    fn ways(&self, at: StepIndex, next: &Next<StepIndex>) -> Markup {
        html! {
            @if let Next::When(branches) = next {
                ul.ways {
                    @for branch in branches {
                        li {
                            span.tick {} (wording::tests(&branch.tests))
                            (self.arrow(at, branch.target))
                        }
                    }
                }
            }
        }
    }
}

/// Whether its answer is written on lines, one for each visit.
fn written(question: &Question<StepIndex>) -> bool {
    matches!(
        question,
        Question::Measure { .. }
            | Question::Note { .. }
            | Question::Capture { .. }
            | Question::Compute { .. }
    )
}

fn ticks(count: u32) -> Markup {
    html! { @for _ in 0..count { span.tick {} } }
}

/// The unit behind a blank; a count has none.
fn unit(form: &NumberForm) -> &'static str {
    match form.unit {
        Unit::Count => "",
        unit => unit.symbol(),
    }
}

/// Whether two statements differ in nothing but where they lead.
fn alike(one: &Step<StepIndex>, other: &Step<StepIndex>) -> bool {
    let statement = |step: &Step<StepIndex>| match &step.question {
        Question::Confirm { statement, .. } => Some(statement.clone()),
        _ => None,
    };
    let hazards = |step: &Step<StepIndex>| -> Vec<(SignalWord, String)> {
        let all = step.hazards.iter();
        all.map(|hazard| (hazard.word, hazard.text.clone()))
            .collect()
    };
    let bounded = one.at_most.is_some() || other.at_most.is_some();
    statement(one).is_some()
        && statement(one) == statement(other)
        && hazards(one) == hazards(other)
        && one.action == other.action
        && one.good == other.good
        && one.disables.is_empty()
        && other.disables.is_empty()
        && !bounded
}

/// Where a choice leads.
fn after(next: &Next<StepIndex>, name: &str) -> Option<StepIndex> {
    match next {
        Next::Always(to) => Some(*to),
        Next::When(_) => taken(next, name).map(|branch| branch.target),
    }
}

/// The branch that a name takes, where there are several.
fn taken<'n>(next: &'n Next<StepIndex>, name: &str) -> Option<&'n Branch<StepIndex>> {
    let Next::When(branches) = next else {
        return None;
    };
    let otherwise = || branches.iter().find(|b| b.tests == UnaryTests::Otherwise);
    branch(branches, Tested::Name(name)).or_else(otherwise)
}
