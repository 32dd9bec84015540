//! What `evenfire simulate` makes, by each of its options: read back, analysed, and true to what was asked for.

use evenfire::cranking::answer::{Analysis, CheckName, Identified, SignalKind, VerdictKind};
use evenfire::simulate::practice::Truth;
use evenfire::simulate::spoil;

use super::fixture::{Bench, failed};

/// Signals: options, and the source that the answer names.
const SIGNALS: [(&[&str], SignalKind); 6] = [
    (&["--signal", "starter-current"], SignalKind::StarterCurrent),
    (
        &["--signal", "battery-voltage", "--coupling", "dc"],
        SignalKind::BatteryVoltage,
    ),
    (
        &[
            "--signal",
            "battery-voltage",
            "--coupling",
            "ac",
            "--corner",
            "0.5",
        ],
        SignalKind::BatteryVoltage,
    ),
    (
        &["--signal", "connector-voltage", "--coupling", "dc"],
        SignalKind::BatteryVoltage,
    ),
    (
        &[
            "--signal",
            "crank-speed",
            "--wheel",
            "60-2",
            "--rate",
            "25000",
        ],
        SignalKind::CrankSpeed,
    ),
    (
        &[
            "--signal",
            "crank-speed",
            "--wheel",
            "36-2-2-2",
            "--rate",
            "25000",
        ],
        SignalKind::CrankSpeed,
    ),
];

const REFERENCES: [&str; 6] = ["trigger", "pick-up", "injector", "cam", "turn", "none"];

/// Engines and faults go round beside signal and reference, so that each meets most of the others.
const ENGINES: [&str; 5] = ["i4", "v6", "i3", "i5", "v8"];
const FAULTS: [&str; 7] = [
    "none",
    "leak",
    "poor-filling",
    "high-compression",
    "all-low",
    "plugs-out",
    "weak-battery",
];

/// Make captures, one for each list of options, and have the whole folder analysed.
fn made(bench: &Bench, wanted: &[Vec<&str>]) -> Vec<(Analysis, Truth)> {
    for (number, options) in wanted.iter().enumerate() {
        let name = format!("c{number:03}");
        let mut arguments = vec!["simulate", &name, "--into", "made"];
        arguments.extend(options);
        let ran = bench.run(&arguments);
        assert_eq!(ran.status, 0, "{options:?}: {}", ran.err);
    }
    let ran = bench.run(&["analyse", "made", "--format", "json"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let answers: Vec<Analysis> = ran
        .out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap_or_else(|error| panic!("{error}: {line}")))
        .collect();
    assert_eq!(answers.len(), wanted.len());
    let truths = (0..wanted.len()).map(|number| {
        let text = std::fs::read_to_string(bench.path(&format!("made/c{number:03}.truth.yaml")));
        serde_yaml::from_str(&text.unwrap()).unwrap()
    });
    answers.into_iter().zip(truths).collect()
}

/// Every signal with every reference.
#[test]
fn each_signal_with_each_reference_is_read_back_and_analysed() {
    let bench = Bench::new();
    let mut wanted = Vec::new();
    let mut expected = Vec::new();
    for (signal, (options, source)) in SIGNALS.into_iter().enumerate() {
        for (at, reference) in REFERENCES.into_iter().enumerate() {
            let number = signal * REFERENCES.len() + at;
            let mut all = options.to_vec();
            all.extend(["--reference", reference, "--seed", "7"]);
            all.extend(["--engine", ENGINES[number % ENGINES.len()]]);
            all.extend(["--fault", FAULTS[number % FAULTS.len()]]);
            wanted.push(all);
            expected.push((source, reference));
        }
    }
    let answers = made(&bench, &wanted);
    for (((source, reference), (answer, truth)), options) in
        expected.into_iter().zip(&answers).zip(&wanted)
    {
        let what = format!("{options:?}: {}", answer.verdict.why);
        assert_eq!(answer.source, Some(source), "{what}");
        match reference {
            "turn" => assert_ne!(answer.identified, Some(Identified::PositionOnly), "{what}"),
            // a wheel may tell where the engine stands without a reference
            "none" => assert_ne!(answer.identified, Some(Identified::Cylinder), "{what}"),
            _ => assert!(
                matches!(answer.identified, Some(Identified::Cylinder) | None),
                "{what}"
            ),
        }
        let named = answer.identified == Some(Identified::Cylinder);
        for cylinder in answer.verdict.cylinders.iter().filter(|_| named) {
            let kept = truth.relative_compression_percent[cylinder];
            assert!(kept < 92.0, "cylinder {cylinder} keeps {kept} %: {what}");
        }
    }
    let usable = answers
        .iter()
        .filter(|(answer, _)| failed(&answer.quality).is_empty());
    // plugs out and weak batteries may leave nothing to analyse; most others must not
    assert!(usable.count() * 3 >= 2 * answers.len());
}

/// Every way to spoil a capture, of current and of voltage: no verdict, and the check that names it.
#[test]
fn each_way_to_spoil_a_capture_is_refused_by_its_check() {
    let bench = Bench::new();
    let mut wanted = Vec::new();
    let mut checks: Vec<CheckName> = Vec::new();
    for spoil in spoil::ALL {
        for signal in ["starter-current", "battery-voltage"] {
            let engine = [
                "--engine",
                "i4",
                "--weak",
                "3=60",
                "--reference",
                "cam",
                "--seed",
                "5",
            ];
            let mut all = vec!["--signal", signal, "--spoil", spoil.name()];
            all.extend(engine);
            wanted.push(all);
            checks.push(spoil.check(true));
        }
    }
    let answers = made(&bench, &wanted);
    let (mut refused, mut rightly) = (0, 0);
    for (((answer, truth), options), check) in answers.iter().zip(&wanted).zip(&checks) {
        assert!(truth.spoiled.is_some());
        // whatever is not noticed must at least accuse nobody wrongly
        let accused = &answer.verdict.cylinders;
        assert!(
            accused.is_empty() || *accused == [3],
            "{options:?}: {accused:?}"
        );
        refused += usize::from(answer.verdict.kind == VerdictKind::Inconclusive);
        rightly += usize::from(failed(&answer.quality).contains(check));
    }
    // the accuracy report counts this over many; here it is the wiring of the option
    let all = answers.len();
    assert!(refused * 10 >= 9 * all, "{refused} of {all} refused");
    assert!(
        rightly * 10 >= 9 * all,
        "{rightly} of {all} by the right check"
    );
}

/// An engine that catches at full throttle: its events soon come as close as what belongs to one of them.
#[test]
fn an_engine_that_runs_fast_is_told_by_its_events() {
    let bench = Bench::new();
    let seeds = ["4", "5", "8"];
    let wanted = seeds.map(|seed| {
        let all = "--engine i4 --signal starter-current --reference cam --spoil running --seed";
        all.split(' ').chain([seed]).collect::<Vec<_>>()
    });
    for ((answer, _), seed) in made(&bench, &wanted).iter().zip(seeds) {
        let failed = failed(&answer.quality);
        assert!(
            failed.contains(&CheckName::EngineRunning),
            "seed {seed}: {failed:?}"
        );
    }
}

/// The truth says what was asked for.
#[test]
fn the_truth_says_what_was_asked_for() {
    let bench = Bench::new();
    let of = |options: &[&'static str]| {
        let mut all = vec![
            "--engine",
            "i4",
            "--signal",
            "starter-current",
            "--rate",
            "1000",
        ];
        all.extend(options);
        all
    };
    let wanted = [
        of(&["--weak", "3=60"]),
        of(&["--weak", "3=60", "--fault", "poor-filling"]),
        of(&["--fault", "high-compression"]),
        of(&["--fault", "plugs-out"]),
        of(&["--sound", "--speed", "100"]),
        of(&["--sound", "--speed", "240"]),
        of(&["--sound"]),
    ];
    let made = made(&bench, &wanted);
    let truth = |number: usize| &made[number].1;
    for number in [0, 1] {
        let kept = truth(number).relative_compression_percent[&3];
        // a wish: the engine's own speed and neighbours have their say
        assert!((48.0..70.0).contains(&kept), "{kept}");
    }
    assert!(truth(0).charge[&3] > 0.97 && truth(0).leak_mm2[&3] > 2.0 * truth(0).leak_mm2[&1]);
    assert!(truth(1).charge[&3] < 0.8 && truth(1).leak_mm2[&3] < 1.0);
    let compared = &truth(6).relative_compression_percent;
    let raised = |(cylinder, percent): (&usize, &f64)| *percent > 1.015 * compared[cylinder];
    let all = truth(2).relative_compression_percent.iter();
    assert_eq!(all.filter(|row| raised(*row)).count(), 1);
    assert_eq!(truth(3).common.as_deref(), Some("plugs-out"));
    // starter and battery are sized for the speed from rough torques: the order must hold, not the number
    assert!(truth(4).mean_rpm < 0.7 * truth(5).mean_rpm);
}

/// What does not go together is told with the remedy, and leaves no file.
#[test]
fn options_that_do_not_go_together_are_refused() {
    let bench = Bench::new();
    let refused: [(&[&str], &str); 9] = [
        (&["--weak", "3=60"], "--engine or --firing-order"),
        (
            &["--engine", "i4", "--weak", "3=60", "--fault", "plugs-out"],
            "leak or poor-filling",
        ),
        (
            &["--signal", "crank-speed", "--coupling", "ac"],
            "--signal battery-voltage",
        ),
        (
            &["--wheel", "60-2", "--rate", "25000"],
            "--signal crank-speed",
        ),
        (
            &["--signal", "crank-speed", "--wheel", "60-40"],
            "as in 60-2",
        ),
        (&["--corner", "0.5"], "--coupling ac"),
        (
            &[
                "--engine",
                "v6",
                "--fuel",
                "diesel",
                "--reference",
                "pick-up",
            ],
            "no ignition",
        ),
        (
            &["--signal", "crank-speed", "--spoil", "noisy"],
            "starter-current or battery-voltage",
        ),
        (&["--speed", "900"], "60 to 350"),
    ];
    for (options, remedy) in refused {
        let mut arguments = vec!["simulate", "no"];
        arguments.extend(options);
        let ran = bench.run(&arguments);
        assert_ne!(ran.status, 0, "{options:?}");
        assert!(ran.err.contains(remedy), "{options:?}: {}", ran.err);
        assert!(!bench.path("no.csv").exists(), "{options:?}");
    }
}
