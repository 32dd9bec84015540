//! What a person sees, line by line.

use super::*;
use crate::cranking::answer::CheckName;
use crate::report::example;

fn screen(width: usize, plain: bool) -> Screen {
    Screen { width, plain }
}

#[test]
fn a_low_cylinder() {
    let shown = result(
        &example::low_analysis(),
        Some(&example::drawing()),
        screen(80, false),
    );
    insta::assert_snapshot!(shown, @r#"
    battery voltage, drawn upside down so that load points up (V)
      1.840    ⣼⢷      ⡴⣇      ⣼⢷              ⡼⢧      ⡼⢧      ⡼⢧      ⣸⢦
              ⢠⠇⠸⡄    ⢰⠃⠘⡆    ⢰⠃⠸⡄            ⢠⠇⠸⡄    ⢰⠃⠘⡆    ⢠⠇⠘⡆    ⢰⠃⠈⡇
              ⡼  ⣇    ⡼  ⢧    ⡼  ⢧            ⡼  ⢧    ⡞  ⢧    ⡼  ⣇    ⡼  ⢧
              ⡇  ⢸⡀   ⡇  ⢸   ⢀⡇  ⢸    ⢀⣴⢦    ⢀⡇  ⢸⡀   ⡇  ⢸⡀   ⡇  ⢸⡀   ⡇  ⢸
             ⢸⠁   ⡇  ⢸⠁  ⠈⡇  ⢸   ⠈⡇   ⣼⠁⠈⢧   ⢸    ⡇  ⢸⠁   ⡇  ⢸⠁   ⡇  ⢸⠁  ⠈⡇
             ⡞    ⢳  ⡞    ⢳  ⡞    ⢹  ⢠⠇  ⠸⡄  ⡞    ⢳  ⡞    ⢧  ⡏    ⢳  ⡞    ⢳
            ⢀⡇    ⠘⡆⢠⠇    ⠸⡄⢠⠇    ⠸⡄⢀⡼    ⢳ ⢠⠇    ⠸⡄⢰⠃    ⠘⡆⢠⠇    ⠸⡄⢠⠇    ⠸⡄
      1.181 ⠞      ⢷⡟      ⢹⠞      ⠷⡾     ⠈⢳⠾      ⠷⡟      ⢻⠞      ⠷⡏      ⢻
               ▲
               1       8       4        3      6       5       7        2
                                       LOW
            2.99 to 3.63 s, numbers at firing top dead centres, ▲ reference.
            Heights of humps mislead: the percentages count.

     Cylinder  Relative  compression           95 % interval ▒  Finding
     1            100 %  ███████████████████▒         97 – 104  even
     2            101 %  ███████████████████▒         98 – 104  even
     3             62 %  ███████████▒                  59 – 65  LOW (limit 85 %)
     4             98 %  ██████████████████▒          95 – 101  even
     5             99 %  ██████████████████▒          96 – 102  even
     6            100 %  ██████████████████▒▒         97 – 103  even
     7             98 %  ██████████████████▒          94 – 101  even
     8             99 %  ██████████████████▒          95 – 102  even

    Low: cylinder 3.
    Cylinder 3 compresses less than the others: at most 65 % with 95 % confidence,
    the limit is 85 %. Next: leak-down on cylinder 3.
    9 engine cycles at 187 rpm, from battery voltage.
    Cylinders are compared with each other only. An even result does not prove that
    all are good: a loss common to all cylinders cannot be seen this way.

    Remark: The reference event was taken from the cam sensor.
    "#);
}

#[test]
fn a_low_cylinder_in_ascii() {
    let shown = result(
        &example::low_analysis(),
        Some(&example::drawing()),
        screen(72, true),
    );
    insta::assert_snapshot!(shown, @r#"
    battery voltage, drawn upside down so that load points up (V)
      1.840    **      **      **              **      **      **      **
              ****    ****    ****            ****    ****    ****    ****
              *  *    *  *    *  *            *  *    *  *    *  *    *  *
              *  **   *  *   **  *    ***    **  **   *  **   *  **   *  *
             **   *  **  **  *   **   ****   *    *  **   *  **   *  **  **
             *    *  *    *  *    *  **  **  *    *  *    *  *    *  *    *
            **    ****    ****    ****    ****    ****    ****    ****    **
      1.181 *      **      **      **      **      **      **      **      *
               ^
               1       8       4        3      6       5       7        2
                                       LOW
            2.99 to 3.63 s, numbers at firing top dead centres, ^ reference.
            Heights of humps mislead: the percentages count.

     Cylinder  Relative  compression   95 % interval =  Finding
     1            100 %  ###########=         97 - 104  even
     2            101 %  ###########=         98 - 104  even
     3             62 %  #######=              59 - 65  LOW (limit 85 %)
     4             98 %  ###########=         95 - 101  even
     5             99 %  ###########=         96 - 102  even
     6            100 %  ###########=         97 - 103  even
     7             98 %  ###########=         94 - 101  even
     8             99 %  ###########=         95 - 102  even

    Low: cylinder 3.
    Cylinder 3 compresses less than the others: at most 65 % with 95 %
    confidence, the limit is 85 %. Next: leak-down on cylinder 3.
    9 engine cycles at 187 rpm, from battery voltage.
    Cylinders are compared with each other only. An even result does not
    prove that all are good: a loss common to all cylinders cannot be seen
    this way.

    Remark: The reference event was taken from the cam sensor.
    "#);
    assert!(shown.is_ascii());
}

/// Neither bars nor percentages that look like a result.
#[test]
fn a_capture_that_is_not_good_enough() {
    let shown = result(&example::inconclusive_analysis(), None, screen(80, false));
    insta::assert_snapshot!(shown, @r#"
    No verdict.
    The signal ran into the scope's range: choose a larger range and capture again.
    The percentages behind it cannot be relied on, so they are not shown here.
    9 engine cycles at 187 rpm, from battery voltage.
    Cylinders are compared with each other only. An even result does not prove that
    all are good: a loss common to all cylinders cannot be seen this way.

    The capture is not good enough:
    * clipping: 6.25 %, allowed is at most 0.5 %; choose a larger range on the scope
      and capture again
    Not used: crank speed (failed: signal present).

    Remark: The reference event was taken from the cam sensor.
    "#);
}

/// The cause stands with its advice; what failed with it is named without one.
#[test]
fn what_only_follows_from_the_cause_is_told_without_advice() {
    let mut analysis = example::inconclusive_analysis();
    let mut noise = analysis
        .quality
        .iter()
        .find(|check| !check.passed)
        .unwrap()
        .clone();
    noise.check = CheckName::Noise;
    noise.advice = "clean the contact".to_owned();
    analysis.quality.push(noise);
    let shown = result(&analysis, None, screen(80, false));
    let shown = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        shown.contains("These failed too, probably for the same reason: noise: 6.25 %"),
        "{shown}"
    );
    assert!(!shown.contains("clean the contact"), "{shown}");
}

#[test]
fn positions_on_a_narrow_screen() {
    let shown = result(&example::positions_analysis(), None, screen(60, false));
    insta::assert_snapshot!(shown, @r#"
     Position  Compression  95 % interval  Finding
     1               100 %       97 – 104  even
     2               101 %       98 – 104  even
     3                62 %        59 – 65  LOW (limit 85 %)
     4                98 %       95 – 101  even
     5                99 %       96 – 102  even
     6               100 %       97 – 103  even
     7                98 %       94 – 101  even
     8                99 %       95 – 102  even

    Low: position 3.
    Position 3 is low.
    9 engine cycles at 187 rpm, from battery voltage.
    Cylinders are compared with each other only. An even result
    does not prove that all are good: a loss common to all
    cylinders cannot be seen this way.
    Without a reference no cylinder can be named: positions
    count in firing sequence from an arbitrary start.

    Remark: The reference event was taken from the cam sensor.
    "#);
}

#[test]
fn nothing_could_be_fitted() {
    let mut analysis = example::inconclusive_analysis();
    analysis.cylinders = Some(vec![]);
    (analysis.source, analysis.identified, analysis.cranking) = (None, None, None);
    let shown = result(&analysis, Some(&Drawing::default()), screen(80, false));
    insta::assert_snapshot!(shown, @r#"
    No verdict.
    The signal ran into the scope's range: choose a larger range and capture again.
    No cranking found, no signal.
    Cylinders are compared with each other only. An even result does not prove that
    all are good: a loss common to all cylinders cannot be seen this way.

    The capture is not good enough:
    * clipping: 6.25 %, allowed is at most 0.5 %; choose a larger range on the scope
      and capture again
    Not used: crank speed (failed: signal present).

    Remark: The reference event was taken from the cam sensor.
    "#);
}

#[test]
fn a_pair_is_told_as_a_pair() {
    let mut analysis = example::low_analysis();
    analysis.identified = Some(crate::cranking::answer::Identified::OneOfPair);
    analysis.verdict.cylinders = vec![2, 3];
    let rows = analysis.cylinders.iter_mut().flatten();
    rows.for_each(|row| row.companion = Some(5 - row.cylinder.min(4)));
    let shown = result(&analysis, None, screen(80, false));
    assert!(shown.contains("Low: cylinder 2 or 3."));
    assert!(
        shown
            .lines()
            .any(|line| line.trim_start().starts_with("3 or 2 "))
    );
    assert!(shown.replace('\n', " ").contains("or to its companion"));
}

/// No line is wider than the screen, down to the least width that is laid out for.
#[test]
fn lines_keep_within_the_screen() {
    for width in [60, 67, 68, 72, 80, 132] {
        for plain in [false, true] {
            let mut analysis = example::inconclusive_analysis();
            analysis.remarks = vec!["word".repeat(100)];
            for analysis in [
                analysis,
                example::low_analysis(),
                example::positions_analysis(),
            ] {
                let shown = result(&analysis, Some(&example::drawing()), screen(width, plain));
                for line in shown.lines() {
                    assert!(line.chars().count() <= width, "{width}: {line:?}");
                }
            }
        }
    }
}

#[test]
fn texts_cannot_steer_the_terminal() {
    let mut analysis = example::inconclusive_analysis();
    let evil = "\u{1b}[2J\u{7}\u{202e}x";
    analysis.verdict.why = evil.to_owned();
    analysis.remarks = vec![evil.to_owned()];
    for check in &mut analysis.quality {
        (check.unit, check.advice) = (evil.to_owned(), evil.to_owned());
    }
    let mut drawing = example::drawing();
    (drawing.label, drawing.unit) = (evil.to_owned(), evil.to_owned());
    let shown = result(&analysis, Some(&drawing), screen(80, false));
    assert!(!shown.contains(|c: char| c != '\n' && c.is_control()));
    assert!(!shown.contains('\u{202e}'));
}
