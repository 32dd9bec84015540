//! Do steps that undo a protection say so? What was disabled to make something hold no longer
//! protects once it is put back, and whatever touches fuel or ignition ends `fuel off` with its proof.

use std::collections::{BTreeMap, BTreeSet};

use crate::procedure::library::{Sheet, Sheets};
use crate::procedure::model::Step;
use crate::procedure::nearest::distance;
use crate::procedure::problem::Findings;
use crate::procedure::work::{Condition, FUEL_CUTS, FUEL_OFF, PROVED, Work, cuts_fuel};

const IGNITION_SAFE: &str = "ignition safe";

fn establishes<T>(step: &Step<T>, name: &str) -> bool {
    step.establishes.iter().any(|c| c.0 == name)
}

pub(crate) fn check<T>(sheets: &Sheets<T>, findings: &mut Findings) {
    let mut rests_on = protections(sheets);
    // whichever step says `fuel off`, it rests on what cuts the fuel
    let fuel_off = Condition(FUEL_OFF.to_owned());
    let mut steps = sheets.values().flat_map(|sheet| &sheet.procedure.steps);
    if steps.any(|step| establishes(step, FUEL_OFF)) {
        let cuts = rests_on.iter_mut().filter(|(item, _)| cuts_fuel(item));
        cuts.for_each(|(_, resting)| {
            resting.insert(&fuel_off);
        });
    }
    for sheet in sheets.values() {
        nearly_cut(sheet, findings);
        for (number, step) in sheet.procedure.steps.iter().enumerate() {
            let mut kept = ended(step, &rests_on);
            kept.retain(|condition, _| !step.revokes.iter().any(|c| c.0 == *condition));
            let known = !sheet.places.in_doubt(number, "revokes");
            if known && !kept.is_empty() {
                report(sheet, number, step, &kept, findings);
            }
        }
    }
}

/// Report a thing that is named nearly as one that cuts the fuel, where `fuel off` is said and nothing else cuts it:
/// what rests on it, and whether it is put back, is another question until it has its name.
fn nearly_cut<T>(sheet: &Sheet<T>, findings: &mut Findings) {
    let steps = &sheet.procedure.steps;
    let says_off = steps.iter().any(|step| establishes(step, FUEL_OFF));
    let none_cuts = says_off && !steps.iter().any(cuts);
    for (number, step) in steps.iter().enumerate() {
        for disabled in &step.disables {
            let name = disabled.item.0.as_str();
            let alike = || cut_meant(name).filter(|_| none_cuts);
            let mend = match cut_put_back(step, name, steps) {
                Some((meant, by)) => {
                    format!("Did you mean `{meant}`? That is what step `{by}` puts back.")
                }
                None => match alike() {
                    Some(meant) => format!("Did you mean `{meant}`?"),
                    None => continue,
                },
            };
            findings.doubt(
                &sheet.places.of(number, step, &format!("disables/{name}")),
                format!("`{name}` is no thing that is known to cut the fuel"),
                "`fuel off` rests on what cuts the fuel, so the names of what does are a closed list.",
                mend,
            );
        }
    }
}

/// Whether a step takes off what cuts the fuel.
fn cuts<T>(step: &Step<T>) -> bool {
    step.disables
        .iter()
        .any(|disabled| cuts_fuel(&disabled.item))
}

/// What cuts the fuel and is put back, and by which step, where a step that says `fuel off` takes off no such thing but one
/// that nothing puts back and whose name shares words with it: the right name stands there, the wrong one here.
fn cut_put_back<'a, T>(
    step: &Step<T>,
    name: &str,
    steps: &'a [Step<T>],
) -> Option<(&'a str, &'a str)> {
    let restored = || {
        let of = |step: &'a Step<T>| step.restores.iter().map(move |item| (item, &step.id));
        steps.iter().flat_map(of)
    };
    if !establishes(step, FUEL_OFF) || cuts(step) || restored().any(|(item, _)| item.0 == name) {
        return None;
    }
    let shared = |cut: &Condition| {
        let words: Vec<&str> = cut.0.split(' ').collect();
        name.split(' ').filter(|word| words.contains(word)).count()
    };
    let candidates = || restored().filter(|(item, _)| cuts_fuel(item));
    let most = candidates()
        .map(|(cut, _)| shared(cut))
        .max()
        .filter(|most| *most > 0)?;
    let mut nearest = candidates().filter(|(cut, _)| shared(cut) == most);
    let (cut, by) = nearest.next()?;
    let alone = nearest.all(|(other, _)| other == cut);
    alone.then_some((cut.0.as_str(), by.as_str()))
}

/// What cuts the fuel and has nearly that name: but for a slip of the pen, or for its first words.
fn cut_meant(name: &str) -> Option<&'static str> {
    const SLIP: usize = 2;
    let words = |known: &&&str| known.ends_with(&format!(" {name}")) && name.contains(' ');
    let slip = |known: &&&str| distance(name, known) <= SLIP;
    let mut known = FUEL_CUTS.iter();
    known.find(|known| words(known) || slip(known)).copied()
}

/// For each thing that is disabled: the conditions that rest on it.
fn protections<T>(sheets: &Sheets<T>) -> BTreeMap<&Condition, BTreeSet<&Condition>> {
    let mut rests_on: BTreeMap<&Condition, BTreeSet<&Condition>> = BTreeMap::new();
    for sheet in sheets.values() {
        for step in &sheet.procedure.steps {
            for disabled in &step.disables {
                let resting = rests_on.entry(&disabled.item).or_default();
                resting.extend(&step.establishes);
            }
        }
    }
    rests_on
}

/// What a step ends, each with the reason.
fn ended<T>(
    step: &Step<T>,
    rests_on: &BTreeMap<&Condition, BTreeSet<&Condition>>,
) -> BTreeMap<String, String> {
    let mut ended = BTreeMap::new();
    let touches = |what: &str| format!("it touches {what}");
    if step.work.contains(&Work::OpenFuel) {
        ended.insert(FUEL_OFF.to_owned(), touches("fuel"));
        ended.insert(PROVED.to_owned(), touches("fuel"));
    }
    if establishes(step, IGNITION_SAFE) && !step.disables.is_empty() {
        ended.insert(FUEL_OFF.to_owned(), touches("the ignition"));
        ended.insert(PROVED.to_owned(), touches("the ignition"));
    }
    if establishes(step, FUEL_OFF) && !step.disables.is_empty() {
        ended.insert(PROVED.to_owned(), touches("fuel"));
    }
    for item in &step.restores {
        let resting = rests_on.get(item).into_iter().flatten();
        let names: Vec<&str> = resting.map(|condition| condition.0.as_str()).collect();
        let reason = format!("it puts back `{item}`");
        for name in &names {
            ended.insert((*name).to_owned(), reason.clone());
        }
        if names.contains(&FUEL_OFF) || names.contains(&IGNITION_SAFE) {
            ended.insert(FUEL_OFF.to_owned(), reason.clone());
            ended.insert(PROVED.to_owned(), reason.clone());
        }
    }
    ended
}

fn report<T>(
    sheet: &Sheet<T>,
    number: usize,
    step: &Step<T>,
    ended: &BTreeMap<String, String>,
    findings: &mut Findings,
) {
    let names: Vec<String> = ended.keys().map(|name| format!("`{name}`")).collect();
    let names = names.join(", ");
    let reasons: BTreeSet<&str> = ended.values().map(String::as_str).collect();
    let reasons: Vec<&str> = reasons.into_iter().collect();
    let reasons = reasons.join(", ");
    let part = if step.restores.is_empty() {
        "work"
    } else {
        "restores"
    };
    findings.flaw_of(
        &step.id,
        &sheet.places.of(number, step, part),
        format!("step `{}` must revoke {names}: {reasons}", step.id),
        "A later step would rest on a protection that is no longer there.",
        format!("Add {names} to `revokes`; what is needed again is to be confirmed again."),
    );
}
