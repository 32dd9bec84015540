//! A crank that its words have last longer than it may: nothing but the words says how long, so no proof sees it.

use crate::engine::starter_duty::StarterDuty;
use crate::procedure::compare::numbers::{figure, words};
use crate::procedure::model::{Step, StepIndex};
use crate::procedure::problem::Problem;
use crate::procedure::work::{PROVING_S, Work};

/// Seconds of a minute.
const MINUTE_S: f64 = 60.0;

/// A remark where what is done says to crank for longer than that kind of crank may last.
pub(super) fn remark(step: &Step<StepIndex>) -> Option<Problem> {
    let most = step.work.iter().find_map(|work| longest(*work))?;
    let told = seconds(step.action.as_deref()?)?;
    if told <= most {
        return None;
    }
    let message = format!(
        "`do` of step `{}` has somebody crank for {told:.0} s; its work may last {most:.0} s",
        step.id
    );
    let why = match step.work.contains(&Work::ProvingCrank) {
        true => "An engine that fires at the proof would run that long with hands and people near.",
        false => {
            "A starter that turns longer in one go burns out; a shop that knows better says so in its policy."
        }
    };
    let remedy =
        format!("Write {most:.0} s or less; more turns come from cranking again after a rest.");
    Some(Problem::new(&step.position, message, why, remedy).of_step(&step.id))
}

fn longest(work: Work) -> Option<f64> {
    match work {
        Work::ProvingCrank => Some(PROVING_S),
        Work::Crank | Work::CrankOpenCylinder => {
            Some(f64::from(StarterDuty::default().crank_seconds))
        }
        _ => None,
    }
}

/// The longest time of a sentence that speaks of cranking, seconds.
fn seconds(text: &str) -> Option<f64> {
    let sentences = text.split_inclusive(['.', ';', '\n']);
    let times = sentences.flat_map(|sentence| {
        let words: Vec<String> = words(sentence).collect();
        let cranks = words.iter().any(|word| word == "crank");
        let pairs = words.windows(2).filter(|_| cranks);
        let times: Vec<f64> = pairs.filter_map(|pair| time(&pair[0], &pair[1])).collect();
        times
    });
    times.reduce(f64::max)
}

fn time(number: &str, unit: &str) -> Option<f64> {
    let scale = match unit {
        "s" | "sec" | "second" | "seconds" => 1.0,
        "min" | "minute" | "minutes" => MINUTE_S,
        _ => return None,
    };
    let number: f64 = figure(number)?.replace(',', ".").parse().ok()?;
    Some(scale * number)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::remarks::tests::said;

    #[test]
    fn a_crank_that_lasts_too_long_by_its_words_is_remarked() {
        let sound = include_str!("../check/tests/sound.yaml");
        let told = |text: &str| said(remark, text);
        assert_eq!(told(sound), [""; 0]);
        let of = |text: &str| told(&sound.replace("Crank for two seconds at most.", text));
        assert_eq!(
            of("Key in. Crank for ten seconds."),
            ["`do` of step `prove` has somebody crank for 10 s; its work may last 2 s"]
        );
        assert_eq!(of("Crank 2 s. Wait for ten seconds."), [""; 0]);
        let of = |text: &str| told(&sound.replace("Crank for seven seconds.", text));
        assert_eq!(
            of("Crank for two minutes"),
            ["`do` of step `crank` has somebody crank for 120 s; its work may last 10 s"]
        );
        assert_eq!(of("Crank for 10 s. Rest it two minutes."), [""; 0]);
    }
}
