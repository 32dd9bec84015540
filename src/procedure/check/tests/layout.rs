//! Steps that do not stand in as the others do: one problem, at the step that is out of line, whatever follows from it.

use super::{SOUND, problems};
use crate::procedure::read_library;

/// The sound procedure with the lines of a step moved by some blanks: its id, and the lines below it.
fn moved(step: &str, id_by: isize, lines_by: isize) -> String {
    let mut inside = false;
    let lines = SOUND.lines().map(|line| {
        let own = line.len() - line.trim_start().len();
        let begins = own == 2 && line.trim() == format!("{step}:");
        inside = begins || inside && own > 2;
        let by = match (begins, inside) {
            (true, _) => id_by,
            (_, true) => lines_by,
            _ => 0,
        };
        " ".repeat(own.saturating_add_signed(by)) + line.trim_start() + "\n"
    });
    lines.collect()
}

/// By how much the id is moved and by how much the lines below it; what is said of it, and what mends it.
const MOVED: [(isize, isize, &str, &str); 9] = [
    (
        2,
        2,
        "13:5: step `held` stands in by 4 blanks, the other steps by 2",
        "Give it and its lines 2 blanks less.",
    ),
    (
        2,
        0,
        "13:5: step `held` stands in by 4 blanks, the other steps by 2",
        "Give it 2 blanks less; its lines stand right.",
    ),
    (
        1,
        0,
        "13:4: step `held` stands in by 3 blanks, the other steps by 2",
        "Give it 1 blank less; its lines stand right.",
    ),
    (
        4,
        4,
        "13:7: step `held` stands in by 6 blanks, the other steps by 2",
        "Give it and its lines 4 blanks less.",
    ),
    (
        -1,
        -1,
        "13:2: step `held` stands in by 1 blank, the other steps by 2",
        "Give it and its lines 1 blank more.",
    ),
    (
        -1,
        0,
        "13:2: step `held` stands in by 1 blank, the other steps by 2",
        "Give it 1 blank more; its lines stand right.",
    ),
    (
        -2,
        -2,
        "13:1: step `held` stands outside `steps`, not in by 2 as the others",
        "Give it and its lines 2 blanks more.",
    ),
    (
        -2,
        0,
        "13:1: step `held` stands outside `steps`, not in by 2 as the others",
        "Give it 2 blanks more; its lines stand right.",
    ),
    (
        0,
        -2,
        "13:3: the lines of step `held` stand in no deeper than `held` itself",
        "Give each of them 2 blanks more.",
    ),
];

#[test]
fn a_step_out_of_line_is_one_problem_at_the_step() {
    for (id, lines, told, remedy) in MOVED {
        let text = moved("held", id, lines);
        assert_eq!(problems(&text), [told], "{id} {lines}");
        let source = |_: &str| Some(("sound.yaml".to_owned(), text.clone()));
        let found = read_library("sound", &source).unwrap_err();
        assert_eq!(found[0].remedy, remedy, "{id} {lines}");
    }
}

/// What stands before it is told all the same, and two of them are two.
#[test]
fn what_is_wrong_before_it_is_told_too() {
    let both = moved("crank", 2, 2).replace("phase:", "phaze:");
    assert_eq!(
        problems(&both),
        [
            "8:5: step `drive` has an unknown key `phaze`",
            "48:5: step `crank` stands in by 4 blanks, the other steps by 2"
        ]
    );
    let two = moved("crank", 2, 2).replace("  held:\n", "held:\n");
    assert_eq!(problems(&two).len(), 2, "{:?}", problems(&two));
}

/// A sound file may stand in as it likes, as long as it does so everywhere, and may say in a text what looks like a step.
#[test]
fn what_is_sound_is_left_alone() {
    let steps = SOUND.find("steps:\n").unwrap() + "steps:\n".len();
    let deeper = SOUND[steps..].lines().map(|line| format!("    {line}\n"));
    let deeper = SOUND[..steps].to_owned() + &deeper.collect::<String>();
    assert_eq!(problems(&deeper), [""; 0]);
    let like = "    do: >-\n      Remember this\n\n      again:\n      do: it well.\n";
    let text = SOUND.replacen("    do: Refit what was taken off.\n", like, 1);
    let wrong = text.replace("restores: [", "restore: [");
    assert_eq!(
        problems(&wrong),
        ["74:5: step `back-found` has an unknown key `restore`"]
    );
}
