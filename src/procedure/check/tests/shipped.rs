//! The procedures that come with the program are sound, and would not be with any one of their
//! protections taken out: that shows both that the sheets carry nothing idle and that the proofs see it.

use super::problems_of;
use crate::procedure::Problem;
use crate::procedure::model::{Library, Question, Step, StepIndex};
use crate::procedure::{read_library, remarks, scaffold};
use rayon::prelude::*;

/// A sheet by its name, with its text.
macro_rules! sheet {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!("../../../../procedures/", $name, ".yaml")),
        )
    };
}

/// All shipped sheets. Those that take nothing are run by themselves, the others where they are called.
pub(super) const SHEETS: [(&str, &str); 9] = [
    sheet!("relative-compression"),
    sheet!("follow-up"),
    sheet!("after-repair"),
    sheet!("intake"),
    sheet!("leak-down"),
    sheet!("static-compression"),
    sheet!("running-compression"),
    sheet!("cranking-circuit"),
    sheet!("cam-correlation"),
];

/// The sheets that a job begins with and that hold the vehicle: all others are proved under these.
const OUTERMOST: [&str; 2] = ["relative-compression", "follow-up"];

/// Put back on the way and once more at the end, for those ways that never came there: no proof can miss
/// the first, and the list of what is still off would be wrong without it.
const TWICE: &str = "    restores: [coil connectors, fuel cut by the maker]";

/// Problems of a sheet with all that it calls, one sheet perhaps replaced.
pub(super) fn problems(root: &str, replaced: Option<(&str, &str)>) -> Vec<String> {
    let text = |(name, own): (&'static str, &'static str)| match replaced {
        Some((other, text)) if other == name => (name, text.to_owned()),
        _ => (name, own.to_owned()),
    };
    let mut sheets: Vec<(&str, String)> = SHEETS.into_iter().map(text).collect();
    let at = sheets.iter().position(|(name, _)| *name == root).unwrap();
    sheets.swap(0, at);
    let sheets: Vec<(&str, &str)> = sheets.iter().map(|(n, t)| (*n, t.as_str())).collect();
    problems_of(&sheets)
}

/// The sheet without its line of that number, and the line.
fn without(sheet: &str, number: usize) -> (String, &str) {
    let lines: Vec<&str> = sheet.lines().collect();
    let kept = lines.iter().enumerate().filter(|(at, _)| *at != number);
    let kept: Vec<&str> = kept.map(|(_, line)| *line).collect();
    (kept.join("\n"), lines[number])
}

/// Numbers of the lines that say what holds, is put back or is work. What a step revokes is not among
/// them: an author may have something made sure of again that no proof asks for.
fn protections(sheet: &str) -> Vec<usize> {
    let keys = ["establishes:", "restores:", "work:"];
    let is_one = |line: &str| keys.iter().any(|key| line.trim_start().starts_with(key));
    let lines = sheet.lines().enumerate();
    lines.filter(|(_, l)| is_one(l)).map(|(at, _)| at).collect()
}

#[test]
fn the_shipped_procedures_are_sound() {
    for (name, _) in SHEETS {
        assert_eq!(problems(name, None), [""; 0], "{name}");
    }
}

/// A sheet with all that it calls, where it can be read; one of a name that is no shipped sheet's, or stands in for it.
fn library(root: &str, own: Option<(&str, &str)>) -> Result<Library, Vec<Problem>> {
    let source = |wanted: &str| {
        let mut all = own.into_iter().chain(SHEETS);
        let (known, text) = all.find(|(known, _)| *known == wanted)?;
        Some((format!("{known}.yaml"), text.to_owned()))
    };
    read_library(root, &source)
}

/// Whether a sheet that is not refused is remarked, as where the key may be in when hands go back to the engine.
fn remarked(name: &str, sheet: &str) -> bool {
    OUTERMOST.iter().chain([&name]).any(|root| {
        let library = library(root, Some((name, sheet)));
        library.is_ok_and(|library| !remarks::remarks(root, &library).is_empty())
    })
}

#[test]
fn no_protection_of_theirs_is_idle() {
    let lines_of = |(name, text): (&'static str, &'static str)| {
        let numbers = protections(text).into_iter();
        numbers.map(move |number| (name, text, number))
    };
    let lines: Vec<_> = SHEETS.into_iter().flat_map(lines_of).collect();
    let idle = lines.par_iter().filter_map(|&(name, text, number)| {
        let (sheet, line) = without(text, number);
        let is_refused = |root| !problems(root, Some((name, &sheet))).is_empty();
        // by itself first, which is soonest told: so is proved, too, what is called nowhere below the outermost
        let refused = is_refused(name) || OUTERMOST.into_iter().any(is_refused);
        let idle = !refused && line != TWICE && !remarked(name, &sheet);
        idle.then(|| format!("{name}.yaml:{}: {line}", number + 1))
    });
    assert_eq!(idle.collect::<Vec<_>>(), [""; 0]);
}

/// Both hold the vehicle, cut the fuel, prove it and put back, each in words of its own file: a protection that is changed in
/// one is changed in the other.
#[test]
fn the_outermost_sheets_protect_alike() {
    let steps_of = |root: &str| {
        let mut library = library(root, None).unwrap();
        library.procedures.remove(root).unwrap().steps
    };
    let [first, second] = OUTERMOST.map(steps_of);
    let mut compared = 0;
    for step in &first {
        let Some(same) = second.iter().find(|other| other.id == step.id) else {
            continue;
        };
        let (id, is_confirmed) = (&step.id, matches!(step.question, Question::Confirm { .. }));
        compared += usize::from(is_confirmed);
        let statement = |step: &Step<StepIndex>| match &step.question {
            Question::Confirm { statement, .. } if *id != "makers-procedure" => {
                Some(statement.clone())
            }
            _ => None, // which procedure of the maker's is meant hangs on the test
        };
        assert_eq!(statement(step), statement(same), "{id}");
        assert_eq!(step.hazards, same.hazards, "{id}");
        assert_eq!(step.action, same.action, "{id}");
        assert_eq!(step.work, same.work, "{id}");
        assert_eq!(step.needs, same.needs, "{id}");
        assert_eq!(step.establishes, same.establishes, "{id}");
        assert_eq!(step.revokes, same.revokes, "{id}");
        assert_eq!(step.disables, same.disables, "{id}");
        assert_eq!(step.restores, same.restores, "{id}");
        assert_eq!(step.good, same.good, "{id}");
        assert_eq!(step.mistakes, same.mistakes, "{id}");
    }
    assert!(compared > 40, "{compared}");
}

/// An engine without spark never fires, whatever fuel it gets: a chain that opens a hole after it has taken the coils off has
/// proved the fuel off before, with its own crank or its caller's.
#[test]
fn coils_come_off_after_the_fuel_is_proved_off() {
    let scaffold = scaffold::sheet(scaffold::Kind::Running, "chain");
    let mut chains = 0;
    for (name, text) in SHEETS.into_iter().chain([("chain", scaffold.as_str())]) {
        if !text.contains("work: proving crank") || !text.contains("      coil connectors:") {
            continue;
        }
        let library = library(name, Some(("chain", &scaffold))).unwrap();
        for step in &library.procedures[name].steps {
            if step.disables.iter().any(|d| d.item.0 == "coil connectors") {
                chains += 1;
                let proved = step.needs.iter().any(|need| need.0 == "fuel off proved");
                assert!(proved, "{name}: {}", step.id);
            }
        }
    }
    assert_eq!(chains, 3);
}
