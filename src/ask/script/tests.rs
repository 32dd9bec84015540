use super::*;
use crate::ask::tests::screen;
use crate::procedure::model::{CaptureKind, TextForm};

const FILE: &str = "shop/demo.answers.yaml";

const HEAD: &str =
    "procedure: look\nclock: 2026-03-02T08:00:00Z\nseconds-per-answer: 30\nanswers:\n";

fn script(entries: &str) -> Script<Vec<u8>> {
    let answers = answers(FILE, &format!("{HEAD}{entries}")).unwrap();
    let clock = Box::new(|| "the real clock".to_owned());
    Script::new(
        answers,
        Vec::new(),
        Layout::new(80, false),
        clock,
        None,
        Box::new(|_| None),
    )
}

fn ask(script: &mut Script<Vec<u8>>, step: &str, form: Form) -> Result<Reply, String> {
    let mut screen = screen(form);
    screen.step = step.to_owned();
    script.ask(&screen, None).map_err(|why| why.to_string())
}

#[test]
fn entries_answer_in_order_and_move_the_clock() {
    let mut script = script(
        "  - {step: hold, answer: yes}\n  - step: order\n    answer: 1-3-4-2\n  - {step: crank, answer: one.csv}\n  - {step: end, stop: no time}\n",
    );
    assert_eq!(script.now(), "2026-03-02T08:00:00Z");
    assert_eq!(ask(&mut script, "hold", Form::Confirm), Ok(Reply::Yes));
    assert_eq!(script.now(), "2026-03-02T08:00:30Z");
    let order = ask(&mut script, "order", Form::Text(TextForm::FiringOrder));
    assert_eq!(order, Ok(Reply::Typed("1-3-4-2".to_owned())));
    let file = ask(&mut script, "crank", Form::Capture(CaptureKind::Cranking));
    assert_eq!(file, Ok(Reply::File("shop/one.csv".to_owned())));
    assert_eq!(script.left().len(), 1);
    assert_eq!(
        ask(&mut script, "end", Form::Confirm),
        Ok(Reply::Stop("no time".to_owned()))
    );
    let printed = String::from_utf8(script.out.clone()).unwrap();
    assert!(printed.contains("The vehicle cannot move.\n") && printed.contains("→ 1-3-4-2"));
    assert!(!printed.contains('\u{1b}'), "plain text only");
}

#[test]
fn an_entry_for_another_step_names_both_and_its_place() {
    let mut script = script("  - {step: hold, answer: yes}\n");
    let said = ask(&mut script, "drive", Form::Confirm).unwrap_err();
    assert!(said.starts_with("shop/demo.answers.yaml:5:5: "), "{said}");
    assert!(
        said.contains("\"hold\"") && said.contains("\"drive\""),
        "{said}"
    );
    ask(&mut script, "hold", Form::Confirm).unwrap();
    let said = ask(&mut script, "fuel", Form::Confirm).unwrap_err();
    assert!(
        said.contains("end here") && said.contains("\"fuel\""),
        "{said}"
    );
}

#[test]
fn a_refused_answer_names_its_place_and_the_unexpected_is_given_twice() {
    let mut script = script("  - {step: volts, answer: 9.5}\n  - {step: volts, answer: 9.5}\n");
    let mut screen = screen(Form::Text(TextForm::Text));
    screen.step = "volts".to_owned();
    script.ask(&screen, None).unwrap();
    let refused = script
        .ask(&screen, Some(&Refusal::Empty))
        .unwrap_err()
        .to_string();
    assert!(
        refused.starts_with("shop/demo.answers.yaml:5:5: step \"volts\""),
        "{refused}"
    );
    let unexpected = Refusal::Unexpected {
        value: 9.into(),
        shown: "9 V".to_owned(),
        least: 11.into(),
        greatest: 13.into(),
    };
    assert!(script.ask(&screen, Some(&unexpected)).is_ok());
}

#[test]
fn the_simulated_clock_never_goes_back() {
    let lacking = &answers(FILE, HEAD).unwrap_err()[0];
    assert!(lacking.message.contains("no `answers`"), "{lacking}");
    let read = super::answers(FILE, &format!("{HEAD}  []\n")).unwrap();
    let clock: Clock = Box::new(String::new);
    let after = Some("2026-03-02T09:00:00Z");
    let layout = Layout::new(80, false);
    let mut script = Script::new(read, Vec::new(), layout, clock, after, Box::new(|_| None));
    assert_eq!(script.now(), "2026-03-02T09:00:30Z");
}

#[test]
fn a_file_that_is_wrong_names_the_place() {
    let cases = [
        ("", "1:1", "empty"),
        ("procedure: [\n", "1:12", "not closed"),
        ("procedure: a\nanswers: []\nclok: x\n", "3:1", "`clok`"),
        (
            "procedure: a\nprocedure: b\nanswers: []\n",
            "2:1",
            "procedure",
        ),
        ("procedure: a\nclock: noon\nanswers: []\n", "2:8", "no time"),
        (
            "procedure: a\nanswers:\n  - {step: x}\n",
            "3:5",
            "must hold one reply",
        ),
        (
            "procedure: a\nanswers:\n  - {step: x, answer: y, note: z}\n",
            "3:5",
            "must hold one reply",
        ),
        (
            "procedure: a\nanswers:\n  - {step: x, answer: ~}\n",
            "3:23",
            "`~` is nothing",
        ),
        (
            "procedure: a\nanswers:\n  - {step: x, answer: 1,016 mm}\n",
            "3:23",
            "`answer: 1,016 mm` has a comma: the decimal sign is a point",
        ),
        (
            "procedure: a\nanswers:\n  - {step: x, answer: y, key: k}\n",
            "3:31",
            "waives nothing",
        ),
        ("procedure: a\nanswers: &x []\n", "2:10", "an anchor"),
        ("answers: []\n", "1:1", "no `procedure`"),
        ("procedure: a\nanswers: yes\n", "2:10", "must be a list"),
        (
            "procedure: a\nanswers: []\n---\nb: c\n",
            "3:1",
            "second document",
        ),
        ("- a\n", "1:1", "a list"),
    ];
    for (text, place, message) in cases {
        let problems = answers("a.yaml", text).unwrap_err();
        let said = problems[0].to_string();
        assert!(
            said.starts_with(&format!("a.yaml:{place}: ")),
            "{text:?}: {said}"
        );
        assert!(said.contains(message), "{text:?}: {said}");
    }
}
