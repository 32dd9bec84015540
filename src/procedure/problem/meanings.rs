//! What each built-in condition means, with a statement whose yes establishes it. Common practice, no source.

/// A condition, what it means, and a statement as a procedure may have it.
pub(crate) struct Meaning {
    /// The condition's name.
    pub(crate) condition: &'static str,
    /// What holds while it holds.
    pub(crate) means: &'static str,
    /// A statement; the answer yes establishes the condition.
    pub(crate) statement: &'static str,
}

const fn meaning(condition: &'static str, means: &'static str, statement: &'static str) -> Meaning {
    Meaning {
        condition,
        means,
        statement,
    }
}

/// All that any kind of work needs.
pub(crate) const MEANINGS: [Meaning; 17] = [
    meaning(
        "drive checked",
        "no high voltage: neither hybrid, electric drive nor 48 V starter",
        "The vehicle has no hybrid drive, no electric drive and no 48 V starter.",
    ),
    meaning(
        "vehicle held",
        "it cannot roll or drive off",
        "Brake on, out of gear, wheels chocked: the vehicle cannot move.",
    ),
    meaning(
        "key away",
        "nobody but the one with hands in the engine can switch on",
        "The key is in my pocket, and only I can fetch it.",
    ),
    meaning(
        "bystanders clear",
        "people stand out of reach of vehicle and engine",
        "Nobody stands near the vehicle or within reach of the engine.",
    ),
    meaning(
        "belts clear",
        "nothing can be drawn in by belts, fans and pulleys",
        "Nothing and nobody can be caught by belts, fans or pulleys.",
    ),
    meaning(
        "battery area safe",
        "no gas, no spark, no charger connected, posts bare",
        "The battery area is aired, no charger is connected, and nothing lies on the posts.",
    ),
    meaning(
        "leads safe",
        "the leads and what they are plugged into can neither short the battery nor shock",
        "Leads are fused and insulated, the scope runs on its battery, and all grounds meet at one point.",
    ),
    meaning(
        "fuel off",
        "what cuts the fuel is pulled, unplugged or shut",
        "The fuel pump relay is out and hangs where nobody can overlook it.",
    ),
    meaning(
        "fuel off proved",
        "a crank of two seconds at most has shown that it does not fire: with the coils still connected, because without \
         spark no engine fires, whatever fuel it gets",
        "The engine did not fire, and no fuel pressure was called for.",
    ),
    meaning(
        "ignition safe",
        "no coil can fire into the open",
        "All coils are disconnected the maker's way, and no spark can come near an open hole.",
    ),
    meaning(
        "parts cool",
        "what hands touch next burns nobody",
        "Plugs, manifold and coolant are cool enough to touch.",
    ),
    meaning(
        "holes clear",
        "nobody and nothing is in line with an open plug or injector hole",
        "Nobody is in line with the open holes, and no rag lies over them.",
    ),
    meaning(
        "top dead centre found",
        "the cylinder stands where pressure does not turn the crank",
        "The piston stands at top dead centre of its compression stroke.",
    ),
    meaning(
        "crank safe",
        "the crank can turn without hurting anybody",
        "The turning tool is off the crank, and the crank is locked or everybody clear of it.",
    ),
    meaning(
        "exhaust extracted",
        "exhaust gas leaves the building",
        "The exhaust is led away, and the extraction runs.",
    ),
    meaning(
        TESTED,
        "a cylinder under test gets neither fuel nor spark",
        "Injector and spark of the tested cylinder are both out of work.",
    ),
    meaning(
        "fuel pressure released",
        "the line that is opened next does not spray",
        "The pressure is let off the maker's way, and the gauge shows none.",
    ),
];

/// The condition that speaks of one cylinder.
const TESTED: &str = "tested cylinder safe";

/// What to state for `tested cylinder safe` where the engine runs on all its cylinders.
pub(crate) const NONE_TESTED: &str =
    "No cylinder is tested: no injector, coil or plug is disconnected or out on this engine.";

/// How to come by conditions that no step on a way establishes, where that is not plain from their names.
pub(crate) fn hint(conditions: &[&str]) -> String {
    if conditions.contains(&TESTED) {
        return format!(
            " Where no cylinder is tested, have that confirmed for `{TESTED}`: `confirm: \"{NONE_TESTED}\"`."
        );
    }
    let known = MEANINGS
        .iter()
        .find(|known| conditions == [known.condition]);
    known.map_or_else(String::new, |known| {
        format!(
            " `{}` means: {}. A statement for it: `confirm: \"{}\"`.",
            known.condition, known.means, known.statement
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::work::Work;

    /// Every condition of the built-in work is explained, here and in the reference, and no other.
    #[test]
    fn each_condition_is_explained_once() {
        let reference = include_str!("../../../procedures/README.md");
        let mut needed: Vec<String> = Work::ALL
            .into_iter()
            .flat_map(Work::needs)
            .map(|c| c.0)
            .collect();
        needed.sort();
        needed.dedup();
        let mut explained: Vec<&str> = MEANINGS.iter().map(|known| known.condition).collect();
        explained.sort_unstable();
        assert_eq!(explained, needed);
        for known in &MEANINGS {
            let row = format!(
                "| `{}` | {} | {} |",
                known.condition, known.means, known.statement
            );
            assert!(reference.lines().any(|line| line == row), "{row}");
        }
        assert!(reference.contains(NONE_TESTED));
    }

    #[test]
    fn a_single_missing_condition_comes_with_a_statement() {
        assert!(hint(&["key away"]).contains("The key is in my pocket"));
        assert!(hint(&["belts clear", "tested cylinder safe"]).contains("No cylinder is tested"));
        assert_eq!(hint(&["leads tight"]), "");
        assert_eq!(hint(&["key away", "belts clear"]), "");
    }
}
