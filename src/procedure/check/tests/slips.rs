//! Slips of somebody who knows no YAML: each told in our words, where it was made, with what mends it.

use super::broken;
use crate::procedure::read_library;

/// What is written, what is written by mistake, what is said of it, and how the way to mend it begins.
const SLIPS: [(&str, &str, &str, &str); 24] = [
    (
        "establishes: [vehicle held, bystanders clear, belts clear, battery area safe]",
        "establishes: vehicle held, belts clear",
        "18:18: `vehicle held, belts clear` cannot be the name of a condition",
        "Several stand in brackets: `[vehicle held, belts clear]`.",
    ),
    (
        "[vehicle held, bystanders clear, ",
        "[vehicle held, \"bystanders clear, ",
        "18:33: the quote \" is not closed",
        "Write \"bystanders clear\", or take the quote away.",
    ),
    (
        "battery area safe]",
        "'battery area safe]",
        "18:64: the quote ' is not closed",
        "Write 'battery area safe', or take the quote away.",
    ),
    (
        "[vehicle held, bystanders clear, ",
        "[\"vehicle held, \"bystanders clear\", ",
        "18:19: the quote \" is not closed",
        "Write \"vehicle held\", or take the quote away.",
    ),
    (
        "    establishes: [fuel off]",
        "    establishes:\n      - \"fuel off",
        "37:9: the quote \" is not closed",
        "Write \"fuel off\", or take the quote away.",
    ),
    (
        "unit: V, resolution",
        "unit: \"V, resolution",
        "23:40: the quote \" is not closed",
        "Write \"V\", or take the quote away.",
    ),
    (
        "at-most: {times: 3, then: back-not-done}",
        "at-most: {times: 3, then: 'back-not-done}",
        "54:31: the quote ' is not closed",
        "Write 'back-not-done', or take the quote away.",
    ),
    (
        "do: Refit what was taken off.",
        "do: \"Refit what\n      was \"taken\" off.\"",
        "68:9: the quotes that open here are closed within the text, in line 69",
        "Open and close the whole text with ', or take \" out of it.",
    ),
    (
        "do: Refit what was taken off.",
        "do: 'Refit the driver's seat.",
        "68:9: the quotes stand round a part of the text",
        "Write \"Refit the driver's seat.\".",
    ),
    (
        "battery area safe]",
        "battery area safe]]",
        "18:82: `]` closes nothing",
        "Take it away",
    ),
    (
        "do: Refit what was taken off.",
        "do: Refit this:",
        "68:19: a text without quotes ends with a colon",
        "Put the text in quotes: \"Refit this:\".",
    ),
    (
        "  held:\n",
        "  - held:\n",
        "13:3: a dash stands before the step `held`",
        "Take it away and write `held:`",
    ),
    (
        "do: Refit what was taken off.",
        "do: \"Refit C:\\Brake.\"",
        "68:18: `\\` in double quotes begins a sign of YAML's own",
        "Write 'Refit C:\\Brake.'.",
    ),
    (
        "        go: cut-fuel\n",
        "        go: cut-fuel\n      at-most: {times: 3, then: turned-away}\n",
        "29:7: `at-most` stands as deep as the dashes under `then`, and has none",
        "Give it 4 blanks if it stands beside `then`",
    ),
    (
        "do: Refit what was taken off.",
        "do: Refit what was\n  taken off.",
        "69:3: `taken off.` does not stand deeper than `do`",
        "Write it behind `Refit what was` on the same line",
    ),
    (
        "purpose: The others",
        "purpose:\nThe others",
        "5:1: `The others of these tests are this one with one thing broken.` does not stand deeper than `purpose`",
        "Write it behind `purpose:` on the same line",
    ),
    (
        "do: Refit what",
        "do: #Refit what",
        "68:9: ` #` cuts `do` off here",
        "Put the text in quotes",
    ),
    (
        "    warning: Fuel is under pressure.",
        "    warning:\n      - {rest-reading} under pressure.",
        "31:9: a text that begins with `{` stands without quotes",
        "Write \"{rest-reading} under pressure.\".",
    ),
    (
        "    warning: Fuel is under pressure.",
        "    warning:\n      - {rest-reading}: under pressure.",
        "31:9: a list or braces before a colon is not allowed here",
        "A text that begins with `{` or `[` wants quotes",
    ),
    (
        "then: held",
        "then = held",
        "11:9: `then = held` has no colon",
        "Write `then: held`.",
    ),
    (
        "\"< 12.20\"",
        "‘< 12.20’",
        "25:15: `when: ‘< 12.20’` is no test: `‘< 12.20’` is no number; quotes must be straight ones",
        "Write \"< 12.20\".",
    ),
    (
        "measure: {quantity: voltage, unit: V, resolution: 0.01, possible: \"[0..20]\", expected: \"[11.5..13]\"}",
        "measure: [V, 0.01]",
        "23:14: `measure` wants the form of a number, here stands a list",
        "Write `measure: {unit: V,",
    ),
    (
        "do: Refit what",
        "do: * Refit what",
        "68:9: a text that begins with `*` stands without quotes",
        "Write \"* Refit what was taken off.\".",
    ),
    (
        "revokes: [key away]",
        "revokes: [key away, vehicle stays held]",
        "43:25: step `prove` revokes `vehicle stays held`, which no step establishes",
        "Did you mean `vehicle held`?",
    ),
];

#[test]
fn each_is_told_once_and_in_our_words() {
    for (written, mistaken, told, mend) in SLIPS {
        let text = broken(written, mistaken);
        let source = |_: &str| Some(("sound.yaml".to_owned(), text.clone()));
        let found = read_library("sound", &source).unwrap_err();
        let first: Vec<String> = found
            .iter()
            .map(|p| format!("{}:{}: {}", p.position.line, p.position.column, p.message))
            .collect();
        assert!(
            first.len() == 1 && first[0].starts_with(told),
            "{mistaken}: {first:#?}"
        );
        assert!(
            found[0].remedy.starts_with(mend),
            "{mistaken}: {}",
            found[0].remedy
        );
    }
}

/// A text at the head of which a brace stands, as a choice has it: its name is no key of ours.
#[test]
fn a_choice_that_begins_with_a_brace_wants_quotes() {
    let asked =
        "    choose:\n      low: {rest-reading}: too low\n      good: Good\n    then: cut-fuel\n";
    let from = "    measure: {quantity: voltage, unit: V, resolution: 0.01, possible: \"[0..20]\", expected: \"[11.5..13]\"}\n";
    let text = broken(from, asked);
    let source = |_: &str| Some(("sound.yaml".to_owned(), text.clone()));
    let found = read_library("sound", &source).unwrap_err();
    assert_eq!(found[0].position.line, 24);
    assert_eq!(
        (found[0].message.as_str(), found[0].remedy.as_str()),
        (
            "a text that begins with `{` stands without quotes",
            "Write \"{rest-reading}: too low\"."
        )
    );
}
