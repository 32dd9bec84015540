//! Each limit of a shop's policy has its effect in a job that was begun under it.

use evenfire::run::event::Event;

use crate::fixture::{Bay, Ran, before, from};

/// Gauge readings that are written down, and judged by the shop's limits: nothing here can hurt.
const GAUGES: &str = r#"procedure: gauges
revision: 1
title: Readings of gauges, judged
purpose: Something for the shop's limits to decide.
steps:
  which:
    phase: judge
    ask: Which cylinder
    note: text
    then: supply
  supply:
    ask: Supply
    measure: {quantity: gauge pressure, unit: psi, resolution: 0.5, possible: "[5..150]"}
    then: cylinder
  cylinder:
    ask: At the cylinder
    measure: {quantity: gauge pressure, unit: psi, resolution: 0.5, possible: "[0..150]"}
    then: bore
  bore:
    ask: Bore
    measure: {quantity: length, unit: mm, resolution: 0.001, possible: "[0.2..4]"}
    then: leak
  leak:
    compute: leak-down
    with: {cylinder: which, supply: supply, reading: cylinder, bore: bore}
    then: fuel
  fuel:
    ask: Fuel
    choose: {petrol: Petrol, gas: Gas, diesel: Diesel}
    then: cylinders
  cylinders:
    ask: Cylinders
    measure: {quantity: count, unit: count, resolution: 1, possible: "[1..12]"}
    then: none
  none:
    ask: The maker's figure, 0 where there is none
    measure: {quantity: gauge pressure, unit: psi, resolution: 0.5, possible: "[0..600]"}
    then: altitude
  altitude:
    ask: Altitude
    measure: {quantity: length, unit: m, resolution: 10, possible: "[-430..5000]"}
    then: reading
  reading:
    ask: Reading of the next cylinder
    measure: {quantity: gauge pressure, unit: psi, resolution: 0.5, possible: "[0..600]"}
    at-most: {times: 12, then: judge}
    then: count
  count:
    compute: next cylinder
    with: {cylinders: cylinders, readings: reading}
    test: left
    then:
      - when: more
        go: reading
      - when: none
        go: judge
  judge:
    compute: static compression
    with: {readings: reading, fuel: fuel, least: none, difference: none, altitude: altitude}
    then: seen
  seen:
    outcome: nothing-found
    finding: Judged.
"#;

/// Begin the first job of a shop whose policy has these limits.
fn job(limits: &str, procedure: &str, answers: &str) -> (Bay, Ran) {
    let bay = Bay::new();
    bay.write("shop/procedures/gauges.yaml", GAUGES);
    let policy = format!("shop: Quiet Lane Motors\nlimits: {limits}\n");
    bay.write("shop/policy.yaml", &policy);
    let ran = bay.run(&["run", procedure, "--answers", answers]);
    (bay, ran)
}

/// What the first visit of a step computed.
fn fact(bay: &Bay, of: &str, name: &str) -> String {
    let found = bay
        .events()
        .into_iter()
        .find_map(|stamped| match stamped.event {
            Event::Computed { step, facts, .. } if step == of => facts.get(name).cloned(),
            _ => None,
        });
    found.unwrap_or_else(|| panic!("{of}.{name} was not computed"))
}

/// Eight cylinders by the gauge, one of them as low as given, after a leak-down of 12 % loss.
fn gauges(limits: &str, lowest: &str) -> Bay {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("gauges.yaml");
    let mut text = "procedure: gauges\nanswers:\n  - {step: which, answer: \"3\"}\n  - {step: supply, answer: 100}\n  - {step: cylinder, answer: 88}\n  - {step: bore, answer: 1.016}\n  - {step: fuel, answer: petrol}\n  - {step: cylinders, answer: 8}\n  - {step: none, answer: 0}\n  - {step: altitude, answer: 0}\n".to_owned();
    for reading in ["180", "180", lowest, "180", "180", "180", "180", "180"] {
        text.push_str(&format!("  - {{step: reading, answer: {reading}}}\n"));
    }
    std::fs::write(&path, text).unwrap();
    let (bay, ran) = job(limits, "gauges", path.to_str().unwrap());
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    bay
}

/// More on the second gauge than on the first is refused where it is typed, not once it is reckoned with.
#[test]
fn a_reading_above_the_supply_is_refused_at_its_question() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("gauges.yaml");
    let text = "procedure: gauges\nanswers:\n  - {step: which, answer: \"3\"}\n  - {step: supply, answer: 80}\n  - {step: cylinder, answer: 88}\n";
    std::fs::write(&path, text).unwrap();
    let (_, ran) = job("{}", "gauges", path.to_str().unwrap());
    assert_ne!(ran.status, 0);
    let told = ran.told().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("gauges.yaml:5"), "{told}");
    assert!(told.contains("more than the supply of 80"), "{told}");
}

#[test]
fn bands_of_a_leak_down() {
    for (bands, expected) in [
        ("{acceptable: 13, poor: 20, fault: 30}", "good"),
        ("{acceptable: 10, poor: 20, fault: 30}", "acceptable"),
        ("{acceptable: 5, poor: 12, fault: 30}", "poor"),
        ("{acceptable: 5, poor: 8, fault: 12}", "fault"),
    ] {
        let bay = gauges(&format!("{{leak_down_percent: {bands}}}"), "180");
        assert_eq!(fact(&bay, "leak", "band"), expected, "{bands}");
    }
}

/// 136 of 180 psi is 75.6 % of the highest and 22 % under the mean; 128 is 71 % of the highest.
#[test]
fn rule_of_static_compression() {
    for (rule, lowest, expected) in [
        ("share-75", "136", "even"),
        ("mean-20", "136", "low"),
        ("share-75", "128", "low"),
        ("share-70-over-100-psi", "128", "even"),
    ] {
        let bay = gauges(&format!("{{static_compression: {rule}}}"), lowest);
        let verdict = fact(&bay, "judge", "verdict");
        assert_eq!(verdict, expected, "{rule}, {lowest}");
    }
}

/// The demonstration's job, whose weak cylinder gives 61 %, in a shop with other limits.
fn demonstration(limits: &str) -> (Bay, Ran) {
    let here = env!("CARGO_MANIFEST_DIR");
    let sheet = format!("{here}/procedures/relative-compression.yaml");
    let answers = format!("{here}/sample-captures/demo.answers.yaml");
    job(limits, &sheet, &answers)
}

/// The file of the first capture, handed over as the second, is refused; no copy of it stays.
#[test]
fn the_same_recording_confirms_nothing() {
    let here = env!("CARGO_MANIFEST_DIR");
    let answers = std::fs::read_to_string(format!("{here}/sample-captures/demo.answers.yaml"));
    let answers = answers
        .unwrap()
        .replace(
            "{step: crank-again, answer: v8-weak-cylinder-2.csv}",
            "{step: crank-again, answer: v8-weak-cylinder-1.csv}",
        )
        .replace("answer: v8", &format!("answer: {here}/sample-captures/v8"));
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("same.yaml");
    std::fs::write(&file, answers).unwrap();
    let sheet = format!("{here}/procedures/relative-compression.yaml");
    let (bay, ran) = job("{low_percent: 85}", &sheet, file.to_str().unwrap());
    assert_eq!(ran.status, 4, "{}", ran.err);
    let told = ran.told();
    assert!(
        told.contains("This is capture 1 again, byte for byte. Crank again and save a new file."),
        "{told}"
    );
    let kept = std::fs::read_dir(bay.shop.join("jobs/0001/captures")).unwrap();
    assert_eq!(kept.count(), 2);
}

#[test]
fn limit_below_which_a_cylinder_is_low() {
    let (bay, ran) = demonstration("{low_percent: 85}");
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(fact(&bay, "judge", "verdict"), "low");
    let (bay, ran) = demonstration("{low_percent: 50}");
    assert_eq!(fact(&bay, "judge", "verdict"), "even");
    // what the file answers from there on belongs to the other way
    assert_eq!(ran.status, 4, "{}", ran.err);
    assert!(ran.told().contains("step \"leads-off-even\" is asked"));
}

/// What the scope was set for is held against the capture; the verdict stays what it is.
#[test]
fn a_capture_far_from_the_plan_is_remarked() {
    let here = env!("CARGO_MANIFEST_DIR");
    let answers = std::fs::read_to_string(format!("{here}/sample-captures/demo.answers.yaml"));
    let answers = answers.unwrap();
    let slow = answers
        .replace(
            "{step: expected-speed, answer: 190}",
            "{step: expected-speed, answer: 105}",
        )
        .replace("answer: v8", &format!("answer: {here}/sample-captures/v8"));
    assert_ne!(answers, slow);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("slow.yaml");
    std::fs::write(&file, slow).unwrap();
    let sheet = format!("{here}/procedures/relative-compression.yaml");
    let (bay, ran) = job("{}", &sheet, file.to_str().unwrap());
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(fact(&bay, "judge", "verdict"), "low");
    let told = "Remark: It was cranked at 222 rpm, and the plan for the scope reckoned with 105.";
    assert_eq!(ran.out.matches(told).count(), 2, "{}", ran.out);
    let (_, ran) = demonstration("{}");
    assert!(!ran.out.contains("reckoned with"), "{}", ran.out);
}

/// Told where it does, and not where the work goes on after a no or is given up already.
#[test]
fn a_no_that_gives_the_test_up_is_told_before() {
    let (_, ran) = demonstration("{}");
    let told = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let gives_up = " No ends the test; all is put back.";
    let key = "The key is away from the vehicle, and only I can fetch it.";
    assert!(told.contains(&format!("{key}{gives_up}")), "{told}");
    let back = told
        .rfind("Put back all that was cut or taken off")
        .unwrap();
    assert!(!told[back..].contains(gives_up), "{told}");
    // what is put back is what was taken off, by name
    assert!(
        told[back..].contains("- fuel pump relay: Put the fuel pump relay"),
        "{told}"
    );
    for never_off in ["glow plug", "gas valve", "injector connectors"] {
        assert!(!told[back..].contains(never_off), "{never_off}: {told}");
    }
    assert!(
        told.contains("- test leads: Take the clip off the positive post first"),
        "{told}"
    );
}

#[test]
fn duty_of_the_starter() {
    let (bay, ran) = demonstration("{starter: {crank_seconds: 6, rest_seconds: 300}}");
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(fact(&bay, "plan-posts", "crank"), "6 s");
    let words = |ran: &Ran| ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words(&ran).contains("2 cranks in all, with 300 s of rest between"),
        "{}",
        words(&ran)
    );
    // the proof turned it 2 s already: what is left of 6 s is less than the plan says, so it rests before
    assert!(words(&ran).contains("Crank 6 s"), "{}", words(&ran));
    let (usual, ran) = demonstration("{}");
    let planned = fact(&usual, "plan-posts", "crank");
    assert_eq!(planned, "7 s");
    let told = words(&ran);
    // it has rested since the proof, by the steps' own time; a plan's length is what the next crank takes
    assert!(told.contains("Crank 7 s (at most 10 s)."), "{told}");
    let rest = "has turned 10 s, and the next crank may take 7 s";
    assert!(told.contains(rest), "{told}");
    let advised = words(&bay.run(&["advise", "1-3-4-2"]));
    assert!(
        advised.contains("but the starter may turn 6 s only"),
        "{advised}"
    );
}

/// The advice begins with what is to be taken; what holds for all signals is said once.
#[test]
fn advice_begins_with_its_answer() {
    let first = |more: &[&str]| {
        let advised =
            crate::fixture::evenfire(&[&["advise", "1-3-4-2", "--bits", "12"], more].concat());
        assert_eq!(
            advised.out.matches("run on battery").count(),
            1,
            "{}",
            advised.out
        );
        assert!(
            advised
                .out
                .ends_with("Assumed: 200 rpm (--rpm), petrol (--fuel).\n"),
            "{}",
            advised.out
        );
        let blocks = advised.out.split("\n\n");
        blocks.take(1).collect::<String>().replace('\n', " ")
    };
    let best = first(&[]);
    assert!(
        best.starts_with("Take: voltage at the posts, AC at ±2 V, 1000 samples a second"),
        "{best}"
    );
    let clamp = first(&["--clamp-range", "600", "--clamp-output", "1"]);
    assert!(
        clamp.starts_with("Take: starter current, clamp at ±"),
        "{clamp}"
    );
}

/// A slow crank needs more than one, which the answer and its reason say in whole sentences.
#[test]
fn advice_counts_the_cranks_of_a_slow_engine() {
    let advised = crate::fixture::evenfire(&[
        "advise", "1-3-4-2", "--bits", "14", "--rpm", "92", "--fuel", "petrol",
    ]);
    let advised: Vec<&str> = advised.out.split_whitespace().collect();
    let advised = advised.join(" ");
    assert!(
        advised.contains(
            "1 s of run-up, then 6 engine cycles of 1.30 s. 8 are wanted, but the starter may turn 10 s only: 2 cranks, \
             with 120 s of rest between"
        ),
        "{advised}"
    );
    assert!(
        advised.contains("of them; 2 such cranks, with 120 s of rest between."),
        "{advised}"
    );
    assert!(!advised.contains("Assumed"), "{advised}");
}

#[test]
fn advice_takes_a_wheel_as_it_is_written_and_no_number_of_cylinders() {
    let advise = |more: &[&str]| crate::fixture::evenfire(&[&["advise"], more].concat());
    let positions = advise(&["1-3-4-2", "--wheel", "60"]);
    assert_eq!(advise(&["1-3-4-2", "--wheel", "60-2"]).out, positions.out);
    assert_eq!(positions.status, 0, "{}", positions.err);
    let wrong = advise(&["1-3-4-2", "--wheel", "sixty"]).err;
    assert!(wrong.contains("as in 60-2"), "{wrong}");
    let count = advise(&["4"]).err;
    assert!(
        count.contains("4 is a number of cylinders; write the order, as in 1-3-4-2"),
        "{count}"
    );
}

#[test]
fn advice_takes_units_and_shows_an_example() {
    let advise = |more: &[&str]| crate::fixture::evenfire(&[&["advise"], more].concat());
    let bare = [
        "1-3-4-2",
        "--bits",
        "8",
        "--clamp-range",
        "600",
        "--clamp-output",
        "1",
    ];
    let units = [
        "1-3-4-2",
        "--bits",
        "8bit",
        "--clamp-range",
        "600A",
        "--clamp-output",
        "1 mV/A",
    ];
    assert_eq!(advise(&bare).out, advise(&units).out);
    let wrong = advise(&["1-3-4-2", "--bits", "8V"]);
    assert!(
        wrong.err.contains("write a whole number, as in 8 or 12"),
        "{}",
        wrong.err
    );
    let alone = advise(&[]);
    assert!(
        alone.err.contains("For example: evenfire advise 1-3-4-2"),
        "{}",
        alone.err
    );
    let teeth = advise(&["1-3-4-2", "--ranges", "20"]);
    let take = "Take: crank sensor at a range that holds its whole signal,";
    assert!(teeth.out.contains(take), "{}", teeth.out);
}

/// A job is left with its vehicle made safe, and gone on with so many minutes later.
#[test]
fn longest_break_after_which_what_was_made_safe_still_counts() {
    for (limit, minutes, counts) in [
        (0, 1, false),
        (5, 5, true),
        (5, 6, false),
        (15, 6, true),
        (15, 16, false),
    ] {
        let begun = before("look");
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("begun.yaml");
        std::fs::write(&path, begun + "  - {step: look, pause: yes}\n").unwrap();
        let limits = format!("{{pause_minutes: {limit}}}");
        let (bay, ran) = job(&limits, "look", path.to_str().unwrap());
        assert_eq!(ran.status, 4, "{}", ran.err);
        let left = bay.events().last().unwrap().at.clone();
        let left = chrono::DateTime::parse_from_rfc3339(&left).unwrap();
        let clock = (left + chrono::TimeDelta::minutes(minutes)).to_rfc3339();
        let file = |again: &str| {
            let answers = format!(
                "procedure: look\nclock: {clock}\nanswers:\n{again}{}",
                from("look")
            );
            bay.write("on.yaml", &answers)
        };
        let on = bay.run(&["resume", "1", "--answers", &file("")]);
        let told = format!("limit {limit}, {minutes} min: {}{}", on.out, on.err);
        if counts {
            assert_eq!(on.status, 0, "{told}");
            continue;
        }
        assert_eq!(on.status, 4, "{told}");
        let asked = "step \"held\" is asked (once more, for \"vehicle held\")";
        assert!(on.told().contains(asked), "{told}");
        let again = "  - {step: held, answer: yes}\n";
        let on = bay.run(&["resume", "1", "--answers", &file(again)]);
        // that was a break of its own, of no time at all
        assert_eq!(on.status, 0, "{told}{}", on.err);
    }
}
