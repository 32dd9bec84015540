//! The rule of decision and the cautions that belong to what was computed in a job; a test that rests on
//! nothing of the kind carries none of them.

use crate::procedure::computation::Computation;
use crate::record::bundle::model::{CaptureResult, ComputedResult};

/// The rule by which findings are decided, the interval as guard band (JCGM 106:2012, from memory).
const DECISION_RULE: &str = "A cylinder is low where its whole 95 % interval lies below the limit, and even \
     where the whole interval lies at or above it; where the limit lies inside the interval it is uncertain.";

const RELATIVE: &str = "Relative compression compares cylinders with each other: a loss that all cylinders share cannot be seen.";

const NUMBERING: &str = "A wrong firing order or cylinder numbering accuses the wrong cylinder, and nothing else would show it.";

const MAKERS_FIRST: &str =
    "The vehicle maker's procedure, local codes and licensed practice come before this record.";

const LEAK_DOWN: &str = "Leak-down percentages from different testers do not compare; supply pressure and restrictor bore belong to them.";

/// What accuses single cylinders, beside the analysis of a capture.
const BY_CYLINDER: [Computation; 4] = [
    Computation::LeakDown,
    Computation::StaticCompression,
    Computation::WetGain,
    Computation::RunningCompression,
];

/// The rule; empty where no recording was analysed.
pub(in crate::record) fn decision_rule(captures: &[CaptureResult]) -> String {
    if analysed(captures) {
        DECISION_RULE.to_owned()
    } else {
        String::new()
    }
}

/// What the methods that were used cannot see, and whose rules come first.
pub(in crate::record) fn cautions(
    captures: &[CaptureResult],
    computed: &[ComputedResult],
) -> Vec<String> {
    let analysed = analysed(captures);
    let used = |of: Computation| computed.iter().any(|r| r.computation == of.name());
    let all = [
        (RELATIVE, analysed),
        (NUMBERING, analysed || BY_CYLINDER.into_iter().any(used)),
        (MAKERS_FIRST, true),
        (LEAK_DOWN, used(Computation::LeakDown)),
    ];
    let belonging = all.into_iter().filter(|(_, belongs)| *belongs);
    belonging.map(|(caution, _)| caution.to_owned()).collect()
}

fn analysed(captures: &[CaptureResult]) -> bool {
    captures.iter().any(|capture| capture.analysis.is_some())
}
