//! A text that has somebody turn the engine, open it or connect leads in a step whose work says that nothing can hurt: the
//! proofs go by the work, so nothing that it needs is asked for there.

use crate::procedure::model::{Question, Step, StepIndex};
use crate::procedure::problem::Problem;
use crate::procedure::work::Work;

/// Letters of a clause that are shown.
const MOST_SHOWN: usize = 60;

/// A remark where the first clause of a step's texts names work that can hurt, and its work says that nothing can.
pub(super) fn remark(step: &Step<StepIndex>) -> Option<Problem> {
    if step.work.iter().any(|work| *work != Work::None) {
        return None;
    }
    let texts = texts(step).into_iter();
    let (key, (clause, kinds)) = texts
        .filter_map(|(key, text)| Some((key, named(text)?)))
        .next()?;
    let shown: String = clause.chars().take(MOST_SHOWN).collect();
    let message = format!(
        "`{key}` of step `{}` says \"{shown}\", but its `work` is none",
        step.id
    );
    let why = "What must hold before somebody does that follows from the kind of work alone; from `none` nothing follows.";
    let kinds: Vec<String> = kinds
        .iter()
        .map(|work| format!("`{}`", work.name()))
        .collect();
    let remedy = match &kinds[..] {
        [kind] => format!("Write `work: {}`.", kind.trim_matches('`')),
        kinds => format!("Write its `work`: one of {}.", kinds.join(", ")),
    };
    let remedy = format!("{remedy} Where nobody does that here, say it otherwise.");
    Some(Problem::new(&step.position, message, why, remedy).of_step(&step.id))
}

/// The texts that say what is done, or that it was done.
fn texts(step: &Step<StepIndex>) -> Vec<(&'static str, &str)> {
    let action = step.action.as_deref().map(|text| ("do", text));
    let asked = match &step.question {
        Question::Confirm { statement, .. } => Some(("confirm", statement.as_str())),
        Question::Choose { ask, .. }
        | Question::Measure { ask, .. }
        | Question::Capture { ask, .. }
        | Question::Note { ask, .. } => Some(("ask", ask.as_str())),
        Question::Compute { .. } | Question::Call { .. } | Question::Outcome { .. } => None,
    };
    action.into_iter().chain(asked).collect()
}

/// Work that turns the engine.
const TURNING: [Work; 4] = [
    Work::ProvingCrank,
    Work::Crank,
    Work::CrankOpenCylinder,
    Work::RunEngine,
];

/// The first clause that names work which can hurt, or says that it was done, and which kinds that can be.
fn named(text: &str) -> Option<(&str, &'static [Work])> {
    text.split(['.', ',', ';', ':', '!', '?', '(', ')', '\n'])
        .flat_map(|part| part.split(" then "))
        .flat_map(|part| part.split(" and "))
        .map(str::trim)
        .find_map(|clause| Some((clause, kinds(clause)?)))
}

fn kinds(clause: &str) -> Option<&'static [Work]> {
    if is_turning(clause) {
        return Some(&TURNING);
    }
    let lower = clause.to_lowercase();
    let words: Vec<&str> = lower.split_whitespace().collect();
    let [does, rest @ ..] = &words[..] else {
        return None;
    };
    let names = |any: &[&str]| any.iter().any(|name| rest.contains(name));
    if names(&["no", "not", "never"]) {
        return None;
    }
    if ["take", "screw", "unscrew", "remove", "turn"].contains(does)
        && names(&["plug", "plugs", "injector", "injectors"])
        && (["unscrew", "remove"].contains(does) || names(&["out"]))
    {
        return Some(&[Work::OpenCylinder]);
    }
    if ["loosen", "open", "undo", "disconnect"].contains(does)
        && names(&["fuel"])
        && names(&["line", "lines", "pipe", "pipes", "hose", "rail"])
    {
        return Some(&[Work::OpenFuel]);
    }
    if ["clip", "connect", "close", "clamp", "hold"].contains(does)
        && names(&[
            "probe", "probes", "lead", "leads", "cable", "cables", "clamp",
        ])
        && names(&["round", "around", "on", "to", "onto"])
    {
        return Some(&[Work::ConnectLeads]);
    }
    None
}

fn is_turning(clause: &str) -> bool {
    let lower = clause.to_lowercase();
    let words: Vec<&str> = lower.split_whitespace().collect();
    let words: Vec<&str> = match words[..] {
        ["then" | "and" | "now" | "again", ref rest @ ..] => rest.to_vec(),
        ref all => all.to_vec(),
    };
    match words[..] {
        ["crank" | "start"]
        | ["start" | "run" | "idle", "it"]
        | ["start" | "run", "it" | "the", "engine", ..]
        | ["start" | "run", "the", _, "engine", ..]
        | ["let", "the", "engine", "run" | "idle", ..]
        | ["let", "it", "run" | "idle", ..]
        | ["turn", "the", "engine", "over"] => true,
        // what follows tells the crank of a hand from that of an engine ("crank lock out")
        ["crank", next, ..] => {
            let goes_on = [
                "for", "until", "till", "the", "it", "while", "again", "once", "twice", "with",
                "at", "as", "about", "only", "five", "six", "seven", "ten",
            ];
            goes_on.contains(&next) || next.starts_with(|c: char| c.is_ascii_digit())
        }
        ["key", "in" | "to", ..] | ["turn", "the", "key", ..] => words.contains(&"start"),
        _ => was_turned(&words),
    }
}

/// "I have cranked for five seconds", but not "nobody has cranked", nor a reading of before: "while it cranked".
fn was_turned(words: &[&str]) -> bool {
    let denied = [
        "not", "nobody", "never", "no", "before", "until", "whoever", "was", "while",
    ];
    words.contains(&"cranked") && !words.iter().any(|word| denied.contains(word))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::remarks::tests::said;

    #[test]
    fn a_crank_is_told_from_what_is_named_after_it() {
        for turning in [
            "Key in, crank for five seconds.",
            "Put the key in. Crank 5 s and read the meter.",
            "Look around; then crank.",
            "Key in the start position.",
            "I have cranked for five seconds.",
            "Let the engine run at idle.",
            "Start the warm engine.",
            "Turn the key to the start position.",
            "Key in and start.",
            "Start it. Let it idle.",
        ] {
            let kinds = named(turning).map(|(_, kinds)| kinds);
            assert_eq!(kinds, Some(&TURNING[..]), "{turning}");
        }
        for still in [
            "Turning tool off the crank, crank lock out.",
            "Say aloud that you are going to crank.",
            "Hang a note on the wheel that nobody may crank.",
            "It must still be as you left it before cranking.",
            "Lock the crank by the maker's way.",
            "The engine was not cranked.",
            "Voltage at the posts while it cranked steadily",
            "The turning tool is off the crank.",
            "Turn the engine over by hand.",
            "Turn the key to off.",
            "Remote start and stop-start off.",
        ] {
            assert_eq!(named(still), None, "{still}");
        }
    }

    #[test]
    fn hands_in_the_engine_are_told_by_their_words() {
        for (text, kind) in [
            ("Take all plugs out.", Work::OpenCylinder),
            ("Unscrew the glow plugs", Work::OpenCylinder),
            ("Loosen the fuel line at the rail.", Work::OpenFuel),
            (
                "Open the clamp and close it round the starter's cable",
                Work::ConnectLeads,
            ),
            ("Hold the probes on the posts.", Work::ConnectLeads),
        ] {
            let kinds = named(text).map(|(_, kinds)| kinds);
            assert_eq!(kinds, Some(&[kind][..]), "{text}");
        }
        for still in [
            "Pull the plug of the injectors' wiring.",
            "Take the key out.",
            "Open no fuel line.",
            "Close the bonnet and clip it.",
            "The plugs are out on the bench.",
            "Turn the page.",
        ] {
            assert_eq!(named(still), None, "{still}");
        }
    }

    /// A step that cranks by its text is sound with `work: none`, and remarked; nothing that is shipped is.
    #[test]
    fn a_crank_that_work_does_not_name_is_remarked() {
        let sound = include_str!("../check/tests/sound.yaml");
        let told = |text: &str| said(remark, text);
        assert_eq!(told(sound), [""; 0]);
        let hidden = sound.replace(
            "Brake on, wheels chocked,",
            "Key in, crank for five seconds,",
        );
        assert_eq!(
            told(&hidden),
            ["`do` of step `held` says \"crank for five seconds\", but its `work` is none"]
        );
    }
}
