//! The keys of a procedure file, each with a sentence that says what it is for: what `load` takes and
//! what the schema for editors describes are this one list.

/// A key and what it says.
pub(crate) type Told = (&'static str, &'static str);

/// Keys of the file.
pub(crate) const FILE: [Told; 7] = [
    ("procedure", "Name of the procedure, also the file's"),
    ("revision", "Count of revisions, raised with every change"),
    ("title", "A line for headings"),
    ("purpose", "What the procedure finds out"),
    ("takes", "Names of the values that a caller hands over"),
    (
        "gives",
        "What a caller may use afterwards: name, and the step or step.fact that it comes from",
    ),
    ("steps", "The steps under their ids; the first is the start"),
];

/// Keys of a step.
pub(crate) const STEP: [Told; 33] = [
    (
        "phase",
        "Heading; it holds until the next step that has one",
    ),
    (
        "danger",
        "Hazard that will kill or maim if it is not avoided; shown before the action",
    ),
    (
        "warning",
        "Hazard that could kill or maim; shown before the action",
    ),
    (
        "caution",
        "Hazard that could hurt slightly; shown before the action",
    ),
    ("notice", "Damage to things; shown before the action"),
    (
        "do",
        "What to do, in a sentence or three, how long to crank among it; needs `work`",
    ),
    ("confirm", "A statement that is answered yes or no"),
    ("choose", "One of several: name, and what it says"),
    ("ask", "The question"),
    (
        "measure",
        "A number with its unit, resolution, possible and expected range",
    ),
    ("capture", "A capture file"),
    ("note", "A line of text, of this form"),
    ("compute", "Something that is computed; nobody is asked"),
    ("call", "Another procedure, whose steps are gone through"),
    ("outcome", "The end, of this kind"),
    (
        "work",
        "What kind of work the action is; what each needs is built in",
    ),
    (
        "needs",
        "Conditions that must hold, beyond those of the work",
    ),
    (
        "establishes",
        "Conditions that hold after yes; a no takes them away. Only with `confirm`",
    ),
    ("revokes", "Conditions that end when the step is entered"),
    (
        "disables",
        "What is disabled: its name, and how it is put back",
    ),
    ("restores", "What is back after yes. Only with `confirm`"),
    ("fills", "The line of the record that the answer fills"),
    (
        "at-most",
        "How often the step may be visited, and where the next visit leads",
    ),
    ("why", "Why the step is there, for whoever asks"),
    ("good", "What good looks like"),
    ("mistakes", "What goes wrong here"),
    (
        "then",
        "The step that follows, or branches with `when` and `go`",
    ),
    ("if-not", "Where the answer no leads: a step, or `again`"),
    (
        "with",
        "Values handed over: input, and the step or step.fact that it comes from",
    ),
    ("test", "The fact that the branches test"),
    ("finding", "How it ended, in words"),
    ("advice", "What to do next"),
    ("same-as", "All keys of that step but those written here"),
];

/// Keys of `measure`.
pub(crate) const MEASURE: [Told; 5] = [
    ("quantity", "What is measured; may be left out"),
    ("unit", "The unit in which ranges and branches are written"),
    ("resolution", "Smallest step of the display"),
    (
        "possible",
        "Closed range outside of which a value is refused: \"[0..20]\"",
    ),
    (
        "expected",
        "Closed range outside of which a value is asked twice and noted",
    ),
];

/// Keys of a branch.
pub(crate) const BRANCH: [Told; 2] = [
    (
        "when",
        "\"< 12.2\", \"[13.8..14.8]\", \"< 5, > 20\", \"not([10..20])\", a name, otherwise",
    ),
    ("go", "The step that it leads to"),
];

/// Keys of `at-most`.
pub(crate) const AT_MOST: [Told; 2] = [
    ("times", "Visits allowed"),
    ("then", "Where the next visit leads"),
];

/// What stands under `limits` in a shop's policy, which is written in the same YAML.
pub(crate) const LIMITS: [&str; 5] = [
    "low_percent",
    "leak_down_percent",
    "static_compression",
    "starter",
    "pause_minutes",
];

/// What stands under `units` there.
pub(crate) const UNITS: [&str; 2] = ["pressure", "temperature"];

/// The key of a policy under which another stands.
pub(crate) fn over(key: &str) -> Option<&'static str> {
    if LIMITS.contains(&key) {
        Some("limits")
    } else {
        UNITS.contains(&key).then_some("units")
    }
}

/// The names alone.
pub(crate) const fn names<const N: usize>(told: &[Told; N]) -> [&'static str; N] {
    let mut names = [""; N];
    let mut at = 0;
    while at < N {
        names[at] = told[at].0;
        at += 1;
    }
    names
}
