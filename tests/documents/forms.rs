//! The table in `procedures/README.md` of how facts read where a text shows them: what the program makes of ordinary
//! readings, and of the job of the demo.

use std::collections::{BTreeMap, BTreeSet};

use assert_cmd::Command;
use evenfire::advise::{self, advise};
use evenfire::cranking::answer::Analysis;
use evenfire::engine::Engine;
use evenfire::followup::after_repair::{self, Earlier};
use evenfire::followup::given::{Given, Inputs};
use evenfire::followup::limits::ShopLimits;
use evenfire::followup::{cam, figures};
use evenfire::procedure::computation::{Computation, Domain, InputKind};
use evenfire::quantity::Measured;

type Facts = BTreeMap<String, String>;

/// What is answered to each computation that needs answers alone, by the names of its inputs.
const ANSWERED: [(Computation, &[(&str, &str)]); 11] = [
    (
        Computation::LeakDown,
        &[
            ("cylinder", "3"),
            ("supply", "100"),
            ("reading", "55"),
            ("bore", "1.02"),
        ],
    ),
    (
        Computation::NextCylinder,
        &[("cylinders", "4"), ("readings", "150 148")],
    ),
    (
        Computation::StaticCompression,
        &[
            ("readings", "150 148 92 151"),
            ("fuel", "petrol"),
            ("least", "0"),
            ("difference", "0"),
            ("altitude", "0"),
        ],
    ),
    (Computation::WetGain, &[("dry", "92"), ("wet", "104")]),
    (
        Computation::RunningCompression,
        &[("cranking", "150"), ("idle", "75"), ("snap", "120")],
    ),
    (
        Computation::ManifoldVacuum,
        &[("vacuum", "19"), ("ratio", "10"), ("altitude", "0")],
    ),
    (
        Computation::RestedBattery,
        &[
            ("voltage", "12.41"),
            ("system", "twelve-volts"),
            ("kind", "flooded"),
        ],
    ),
    (
        Computation::CrankingVoltage,
        &[
            ("voltage", "10.4"),
            ("temperature", "10"),
            ("system", "twelve-volts"),
        ],
    ),
    (
        Computation::CrankingCircuit,
        &[("positive", "0.21"), ("ground", "0.11"), ("current", "230")],
    ),
    (
        Computation::CableDrop,
        &[
            ("drop", "0.15"),
            ("current", "230"),
            ("length", "1.5"),
            ("size", "mm2-50"),
            ("temperature", "20"),
        ],
    ),
    (
        Computation::JointDrop,
        &[("drop", "0.05"), ("part", "connection")],
    ),
];

fn answered(computation: Computation, answers: &[(&str, &str)]) -> Facts {
    let value = |kind, text: &str| match kind {
        InputKind::Number(unit) => Given::Number(Measured::parse(text, unit).unwrap()),
        InputKind::Series(unit) => {
            let each = text
                .split(' ')
                .map(|one| Measured::parse(one, unit).unwrap());
            Given::Series(each.collect())
        }
        InputKind::Name(_) => Given::Name(text.to_owned()),
        _ => Given::Text(text.to_owned()),
    };
    let inputs = computation.inputs().into_iter().map(|input| {
        let (_, text) = answers
            .iter()
            .find(|(name, _)| *name == input.name)
            .unwrap();
        (input.name, value(input.kind, text))
    });
    figures::facts(
        computation,
        &Inputs(inputs.collect()),
        &ShopLimits::default(),
    )
    .unwrap()
}

/// The first facts of each computation in the demo's job, and the analyses of its two captures.
fn of_demo() -> (BTreeMap<String, Facts>, Vec<Analysis>) {
    let folder = tempfile::tempdir().unwrap();
    let mut demo = Command::cargo_bin("evenfire").unwrap();
    demo.args(["demo", "--into"])
        .arg(folder.path().join("shop"));
    demo.assert().success();
    let journal = folder.path().join("shop/jobs/0001/journal.jsonl");
    let (mut facts, mut analyses) = (BTreeMap::new(), Vec::new());
    for line in std::fs::read_to_string(journal).unwrap().lines() {
        let entry: serde_json::Value = serde_json::from_str(line).unwrap();
        let event = &entry["ev"];
        let Some(computation) = event["computation"].as_str() else {
            continue;
        };
        let found: Facts = serde_json::from_value(event["facts"].clone()).unwrap();
        facts.entry(computation.to_owned()).or_insert(found);
        if !event["analysis"].is_null() {
            analyses.push(serde_json::from_value(event["analysis"].clone()).unwrap());
        }
    }
    (facts, analyses)
}

fn at_rest() -> Facts {
    use evenfire::run::planning::{self, Line, LineAtRest};
    let engine = Engine::new(4, &[1, 3, 4, 2], None, None).unwrap();
    let given = advise::Given {
        engine,
        rpm: 220.0,
        system: advise::System::TwelveVolts,
        duty: Default::default(),
        scope: Default::default(),
        clamp: None,
        cable_mm: None,
        wheel_positions: None,
    };
    let time: Vec<f64> = (0..3_000).map(|n| f64::from(n) / 1_000.0).collect();
    let line = LineAtRest {
        of: Line::DirectVoltage,
        values: time
            .iter()
            .map(|t| 12.55 + 0.002 * (1700.0 * t).sin())
            .collect(),
        time,
    };
    planning::connection(&line, &advise(&given).expected, given.system)
}

#[test]
fn every_fact_reads_as_the_reference_says() {
    let (mut all, analyses) = of_demo();
    for (computation, answers) in ANSWERED {
        all.insert(
            computation.name().to_owned(),
            answered(computation, answers),
        );
    }
    let mut add =
        |computation: Computation, facts| all.insert(computation.name().to_owned(), facts);
    add(
        Computation::CamCorrelation,
        cam::facts(&[92.2, 92.4, 92.3, 92.5, 92.4, 92.2], 90.0, 6.0),
    );
    add(Computation::ConnectionCheck, at_rest());
    let earlier = || Earlier {
        job: "0001".to_owned(),
        identity: Some("CLW DEMO 08".to_owned()),
        sealed: "2026-03-02T09:00:00Z".to_owned(),
        analysis: analyses[0].clone(),
    };
    add(
        Computation::FirstRecord,
        after_repair::looked_up(Ok(earlier())),
    );
    add(
        Computation::AfterRepair,
        after_repair::facts(&earlier(), &analyses[1], None),
    );
    let mut wanted = BTreeSet::new();
    for computation in Computation::ALL {
        // the clamp's plan reads as the other, and the table says so
        let shown = computation.facts().into_iter().filter(|fact| {
            !matches!(fact.domain, Domain::Choice(_)) && computation != Computation::ClampPlan
        });
        for fact in shown {
            let (name, fact) = (computation.name(), fact.name);
            let value = &all.get(name).unwrap_or_else(|| panic!("{name}"))[fact];
            wanted.insert(format!("| `{name}` | `{fact}` | {value} |"));
        }
    }
    let reference = super::sources().join("procedures/README.md");
    let reference = std::fs::read_to_string(reference).unwrap();
    let (_, table) = reference
        .split_once("| `compute` | fact | reads, for example |\n|---|---|---|\n")
        .unwrap();
    let (table, _) = table.split_once("\n\n").unwrap();
    let found: BTreeSet<String> = table.lines().map(str::to_owned).collect();
    let missing: Vec<&String> = wanted.difference(&found).collect();
    let stale: Vec<&String> = found.difference(&wanted).collect();
    assert!(
        missing.is_empty() && stale.is_empty(),
        "missing: {missing:#?}\nstale: {stale:#?}"
    );
}
