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

/// The demonstration's job, with that file in place of the second capture.
fn with_second(folder: &std::path::Path, second: &str) -> (Bay, Ran) {
    let here = env!("CARGO_MANIFEST_DIR");
    let answers = std::fs::read_to_string(format!("{here}/sample-captures/demo.answers.yaml"));
    let answers = answers
        .unwrap()
        .replace(
            "{step: crank-again, answer: v8-weak-cylinder-2.csv}",
            &format!("{{step: crank-again, answer: {second}}}"),
        )
        .replace("answer: v8", &format!("answer: {here}/sample-captures/v8"));
    let file = folder.join("same.yaml");
    std::fs::write(&file, answers).unwrap();
    let sheet = format!("{here}/procedures/relative-compression.yaml");
    job("{low_percent: 85}", &sheet, file.to_str().unwrap())
}

/// The file of the first capture, handed over as the second, is refused; no copy of it stays.
#[test]
fn the_same_recording_confirms_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (bay, ran) = with_second(folder.path(), "v8-weak-cylinder-1.csv");
    assert_eq!(ran.status, 4, "{}", ran.err);
    let told = ran.told();
    for part in [
        "This is v8-weak-cylinder-1.csv again, byte for byte; it was taken at ",
        "for \"Which file holds the capture?\".",
        "crank again and save a new file.",
        "If you picked the wrong file, name the one of the new crank.",
    ] {
        assert!(told.contains(part), "{told}");
    }
    let kept = std::fs::read_dir(bay.shop.join("jobs/0001/captures")).unwrap();
    assert_eq!(kept.count(), 2);
}

/// Nor does a part of it that was saved with fewer decimals and turned over.
#[test]
fn a_part_of_the_same_recording_confirms_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let here = env!("CARGO_MANIFEST_DIR");
    let first = format!("{here}/sample-captures/v8-weak-cylinder-1");
    let table = std::fs::read_to_string(format!("{first}.csv")).unwrap();
    let mut rows = table.lines();
    let mut cut = format!("{}\n", rows.next().unwrap());
    for row in rows.skip(700) {
        let (time, rest) = row.split_once(',').unwrap();
        let (signal, reference) = rest.split_once(',').unwrap();
        let signal: f64 = signal.parse().unwrap();
        cut += &format!("{time},{:.3},{reference}\n", -signal);
    }
    let second = folder.path().join("second.csv");
    std::fs::write(&second, cut).unwrap();
    let setup = folder.path().join("second.setup.yaml");
    std::fs::copy(format!("{first}.setup.yaml"), setup).unwrap();
    let (_, ran) = with_second(folder.path(), second.to_str().unwrap());
    assert_eq!(ran.status, 4, "{}", ran.err);
    let told = ran.told();
    assert!(
        told.contains("This is the crank of v8-weak-cylinder-1.csv again"),
        "{told}"
    );
    assert!(told.contains("again, cut or saved otherwise; "), "{told}");
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
    let gives_up = " No ends the test; you are then led through putting all back.";
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
    assert!(
        told.contains("Crank 7 s; the shop's limit leaves the starter 10 s."),
        "{told}"
    );
    for rest in [
        "has turned 10 s since it last rested: 10 s for a capture (",
        "The next one may take 7 s.",
    ] {
        assert!(told.contains(rest), "{told}");
    }
    let advised = words(&bay.run(&["advise", "1-3-4-2", "--rpm", "120"]));
    assert!(
        advised.contains("but the starter may turn 6 s only"),
        "{advised}"
    );
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
