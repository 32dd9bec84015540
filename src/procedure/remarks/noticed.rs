//! A step that vouches for people's safety under a `notice` alone: that word warns of damage to things, so the screen
//! shows the hazard as one that hurts nobody. Work that can hurt is refused without a stronger word; this is for `none`.

use crate::procedure::model::{SignalWord, Step, StepIndex};
use crate::procedure::problem::Problem;
use crate::procedure::work::{Condition, Work};

/// A remark where a step of no dangerous work establishes what work needs, and its only hazards are notices.
pub(super) fn remark(step: &Step<StepIndex>) -> Option<Problem> {
    let noticed = step.hazards.iter().map(|hazard| hazard.word);
    let noticed: Vec<SignalWord> = noticed.collect();
    let only = !noticed.is_empty() && noticed.iter().all(|word| *word == SignalWord::Notice);
    if !only || step.work != [Work::None] {
        return None;
    }
    let built_in = |c: &&Condition| Work::ALL.iter().any(|work| work.needs().contains(c));
    let protects = step.establishes.iter().find(built_in)?;
    let message = format!(
        "step `{}` establishes `{protects}`, and its only hazard is a `notice`",
        step.id
    );
    let why = "A notice warns of damage to things. What work needs to be safe protects people.";
    let remedy = "Write `danger` if the hazard will kill or maim, `warning` if it could, `caution` if it could hurt \
                  slightly. If it is about things only, say beside it what could hurt somebody.";
    Some(Problem::new(&step.position, message, why, remedy).of_step(&step.id))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::remarks::tests::said;

    #[test]
    fn a_notice_where_people_are_protected_is_remarked() {
        let sound = include_str!("../check/tests/sound.yaml");
        let told = |text: &str| said(remark, text);
        assert_eq!(told(sound), [""; 0]);
        let weaker = sound.replace(
            "warning: The vehicle may move",
            "notice: The vehicle may move",
        );
        let held = "step `held` establishes `vehicle held`, and its only hazard is a `notice`";
        assert_eq!(told(&weaker), [held]);
        // beside a stronger word, and where no hazard is told at all, nothing is said
        let both = weaker.replace("    notice:", "    caution: Chocks pinch.\n    notice:");
        assert_eq!(told(&both), [""; 0]);
        let none = sound.replace("    warning: The vehicle may move.\n", "");
        assert_eq!(told(&none), [""; 0]);
    }
}
