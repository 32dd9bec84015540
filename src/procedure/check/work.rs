//! Does every step that does something say what kind of work it is, with its hazards, and does that
//! agree with what it asks?

use crate::procedure::library::Sheet;
use crate::procedure::model::{CaptureKind, Question, SignalWord, Step};
use crate::procedure::problem::Findings;
use crate::procedure::work::{PROVED, Work};

/// The condition that ends when the key is used.
const KEY_AWAY: &str = "key away";

pub(crate) fn check<T>(sheet: &Sheet<T>, findings: &mut Findings) {
    for (number, step) in sheet.procedure.steps.iter().enumerate() {
        let clear =
            |keys: &[&'static str]| !keys.iter().any(|key| sheet.places.in_doubt(number, key));
        answered_yes(sheet, number, step, findings);
        in_words(sheet, number, step, findings);
        if !clear(&["work"]) {
            continue;
        }
        declared(sheet, number, step, findings);
        capture(sheet, number, step, findings);
        apart(sheet, number, step, findings);
        if clear(&["danger", "warning", "caution"]) {
            hazards(sheet, number, step, findings);
        }
        if clear(&["revokes"]) {
            key(sheet, number, step, findings);
        }
        proof(sheet, number, step, findings);
    }
}

/// What people write where the words are still to come, and to a statement that says nothing.
const TO_COME: [&str; 5] = ["", "todo", "tbd", "fixme", "xxx"];
const SAYS_NOTHING: [&str; 6] = ["ok", "okay", "yes", "ready", "done", "checked"];

/// The letters and digits of a text alone, so that dots and question marks tell nothing.
fn bare(text: &str) -> String {
    let letters = text.chars().filter(|c| c.is_alphanumeric());
    letters.collect::<String>().to_lowercase()
}

/// A hazard, and a statement that something holds, say it in words.
fn in_words<T>(sheet: &Sheet<T>, number: usize, step: &Step<T>, findings: &mut Findings) {
    for hazard in &step.hazards {
        if TO_COME.contains(&bare(&hazard.text).as_str()) {
            let key = hazard.word.text().to_lowercase();
            findings.flaw_of(
                &step.id,
                &sheet.places.of(number, step, &key),
                format!(
                    "the hazard of step `{}` is not written yet: \"{}\"",
                    step.id, hazard.text
                ),
                "Whoever reads it is warned of nothing.",
                "Write what can happen, and how to avoid it.".to_owned(),
            );
        }
    }
    let Question::Confirm { statement, .. } = &step.question else {
        return;
    };
    let said = bare(statement);
    let empty = TO_COME.contains(&said.as_str()) || SAYS_NOTHING.contains(&said.as_str());
    if empty && !step.establishes.is_empty() {
        findings.flaw_of(
            &step.id,
            &sheet.places.of(number, step, "confirm"),
            format!(
                "the statement of step `{}` says nothing: \"{statement}\"",
                step.id
            ),
            "A yes to it makes a protection hold that nobody looked at.",
            "Write what must be so, as one sees it: `The key is in my pocket.`".to_owned(),
        );
    }
}

fn hurts<T>(step: &Step<T>) -> bool {
    step.work.iter().any(|work| *work != Work::None)
}

fn declared<T>(sheet: &Sheet<T>, number: usize, step: &Step<T>, findings: &mut Findings) {
    if step.action.is_some() && step.work.is_empty() {
        findings.flaw_of(
            &step.id,
            &sheet.places.of(number, step, "do"),
            format!("step `{}` has something to do but no `work`", step.id),
            "What must hold before a step follows from its kind of work.",
            format!(
                "Write what can hurt in it, one or more of: {}; or `work: none` where nothing can.",
                kinds()
            ),
        );
    }
    if step.action.is_none() && !step.hazards.is_empty() && step.work.is_empty() {
        findings.flaw_of(&step.id,
            &step.position,
            format!("step `{}` has a hazard but no `work`", step.id),
            "Where there is a hazard something is done, and what must hold before it follows from its kind.",
            format!("Write what can hurt in it, one or more of: {}; or `work: none` where the step only asks.", kinds()),
        );
    }
    if hurts(step) && step.work.contains(&Work::None) {
        findings.flaw_of(
            &step.id,
            &sheet.places.of(number, step, "work"),
            "`none` stands beside another kind of work".to_owned(),
            "",
            "Take `none` away.".to_owned(),
        );
    }
    let acts = step.action.is_some() || !step.work.is_empty() || !step.hazards.is_empty();
    let silent = matches!(
        step.question,
        Question::Compute { .. } | Question::Call { .. } | Question::Outcome { .. }
    );
    if acts && silent {
        findings.flaw_of(
            &step.id,
            &step.position,
            format!(
                "step `{}` is never shown as work, but has `do`, `work` or a hazard",
                step.id
            ),
            "Nobody would be asked whether it was done.",
            "Move it into a `confirm` step of its own before this one.".to_owned(),
        );
    }
}

fn kinds() -> String {
    let names: Vec<&str> = Work::ALL[1..].iter().map(|work| work.name()).collect();
    names.join(", ")
}

fn hazards<T>(sheet: &Sheet<T>, number: usize, step: &Step<T>, findings: &mut Findings) {
    if hurts(step) && step.hazards.is_empty() {
        findings.flaw_of(
            &step.id,
            &sheet.places.of(number, step, "work"),
            format!("step `{}` is work that can hurt, without a hazard", step.id),
            "A hazard stands before the action, so that it is read in time.",
            "Add `danger`, `warning` or `caution`: what can happen, and how to avoid it."
                .to_owned(),
        );
    }
    let things_only = |word: SignalWord| word == SignalWord::Notice;
    if hurts(step)
        && !step.hazards.is_empty()
        && step.hazards.iter().all(|hazard| things_only(hazard.word))
    {
        findings.flaw_of(
            &step.id,
            &sheet.places.of(number, step, "notice"),
            format!(
                "step `{}` is work that can hurt people, and has only a notice",
                step.id
            ),
            "Whoever reads a notice looks after things, not after people.",
            "Write `danger`, `warning` or `caution`; a notice is for damage to things.".to_owned(),
        );
    }
}

/// Work with hands at the vehicle and work that turns the engine are never one step.
fn apart<T>(sheet: &Sheet<T>, number: usize, step: &Step<T>, findings: &mut Findings) {
    let kind = |is: fn(Work) -> bool| step.work.iter().copied().find(|work| is(*work));
    let (Some(hands), Some(turns)) = (kind(Work::has_hands_on), kind(Work::turns_engine)) else {
        return;
    };
    let mend = match hands {
        Work::ConnectLeads => "Make two steps: leads first,".to_owned(),
        other => format!("Make two steps: {} first,", other.name()),
    };
    findings.flaw_of(
        &step.id,
        &sheet.places.of(number, step, "work"),
        format!(
            "step `{}` has hands at the vehicle ({}) and turns the engine ({}) in one step",
            step.id,
            hands.name(),
            turns.name()
        ),
        "Between the two nobody asks for key, people and belts.",
        format!(
            "{mend} then a `confirm` for bystanders and belts, then the step with `work: {}`.",
            turns.name()
        ),
    );
}

fn capture<T>(sheet: &Sheet<T>, number: usize, step: &Step<T>, findings: &mut Findings) {
    let Question::Capture { kind, .. } = &step.question else {
        return;
    };
    let cranks = match kind {
        CaptureKind::Cranking => [Work::Crank, Work::CrankOpenCylinder],
        CaptureKind::AtRest => return, // nothing turns
    };
    if !step.work.iter().any(|work| cranks.contains(work)) {
        findings.flaw_of(
            &step.id,
            &sheet.places.of(number, step, "capture"),
            format!(
                "step `{}` captures cranking, but its `work` is not `crank`",
                step.id
            ),
            "The engine turns: what cranking needs must hold.",
            "Write `work: crank` (or `crank open cylinder`).".to_owned(),
        );
    }
}

/// What holds or is put back holds by the answer yes alone.
fn answered_yes<T>(sheet: &Sheet<T>, number: usize, step: &Step<T>, findings: &mut Findings) {
    let confirms = matches!(step.question, Question::Confirm { .. });
    let lists = [
        ("establishes", &step.establishes),
        ("restores", &step.restores),
    ];
    for (key, list) in lists {
        if !confirms && !list.is_empty() {
            findings.flaw_of(
                &step.id,
                &sheet.places.of(number, step, key),
                format!("step `{}` has `{key}` but is no `confirm` step", step.id),
                "That something holds is known by the answer yes to a statement, by nothing else.",
                format!("Add a `confirm` step and move `{key}` there."),
            );
        }
    }
}

fn key<T>(sheet: &Sheet<T>, number: usize, step: &Step<T>, findings: &mut Findings) {
    let used = step.work.iter().find(|work| work.turns_engine());
    let revoked = step.revokes.iter().any(|c| c.0 == KEY_AWAY);
    if let Some(work) = used
        && !revoked
    {
        findings.flaw_of(
            &step.id,
            &sheet.places.of(number, step, "work"),
            format!(
                "step `{}` ({}) does not revoke `{KEY_AWAY}`",
                step.id,
                work.name()
            ),
            "The key is in the switch for this work, so it is not away afterwards.",
            format!("Add `revokes: [{KEY_AWAY}]`, and a step that has the key put away again."),
        );
    }
}

fn proof<T>(sheet: &Sheet<T>, number: usize, step: &Step<T>, findings: &mut Findings) {
    let proves = step.establishes.iter().any(|c| c.0 == PROVED);
    if proves && !step.work.contains(&Work::ProvingCrank) {
        findings.flaw_of(
            &step.id,
            &sheet
                .places
                .of(number, step, &format!("establishes/{PROVED}")),
            format!(
                "step `{}` establishes `{PROVED}` without a proving crank",
                step.id
            ),
            "That the fuel is off is proved only by an engine that was turned and did not fire.",
            "Write `work: proving crank`: at most two seconds.".to_owned(),
        );
    }
}
