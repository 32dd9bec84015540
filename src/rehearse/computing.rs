//! What is computed in a rehearsal: from captures that are simulated or files, or as it is stated.

use std::collections::BTreeMap;

use super::bench::{Bench, Handed};
use super::play::Player;
use super::usual;
use crate::cranking::answer::{Analysis, Drawing};
use crate::engine::Engine;
use crate::procedure::computation::Computation;
use crate::procedure::model::{Question, ValuePath};
use crate::run::compute::{Computed, Request};
use crate::run::computing::Computing;
use crate::run::event::CaptureFile;
use crate::run::walk::{Walk, joined, split};

impl Player<'_> {
    fn visit(&mut self, path: &str) -> usize {
        let visits = self.visits.entry(path.to_owned()).or_default();
        *visits += 1;
        *visits - 1
    }

    /// What a capture step is handed.
    pub(super) fn hand_over(&mut self, path: &str, typed: Option<String>) -> CaptureFile {
        let visit = self.visit(path);
        let simulated = self
            .scenario
            .captures
            .get(path)
            .and_then(|c| c.visit(visit));
        let handed = match (typed, simulated) {
            (Some(path), _) => Handed::File {
                scenario: self.scenario.position.file.clone(),
                path,
            },
            (None, Some(simulated)) => Handed::Simulated(simulated.clone()),
            (None, None) => Handed::Nothing,
        };
        let number = self.handed.len() + 1;
        let file = format!("captures/{number}.csv");
        self.handed.insert(file.clone(), (path.to_owned(), handed));
        CaptureFile {
            sha256: "0".repeat(64),
            bytes: 0,
            setup: format!("captures/{number}.setup.yaml"),
            setup_sha256: "0".repeat(64),
            original: file.clone(),
            file,
            simulated: true,
            clamp: None,
            understood: Vec::new(),
            columns_told: false,
        }
    }

    /// What comes of a computation; where nothing does, that is a problem.
    pub(super) fn compute(
        &mut self,
        walk: &Walk<'_>,
        path: &str,
        computation: Computation,
        request: Result<Box<Request>, String>,
    ) -> Option<Computed> {
        let visit = self.visit(path);
        let taken = self.capture_of(walk, path, &request);
        let stated = self.scenario.computed.get(path);
        let stated = stated.and_then(|stated| Some((&stated.position, stated.visit(visit)?)));
        if let Some((place, facts)) = stated {
            if let Some(capture) = taken {
                self.played.passed_over.insert(capture, path.to_owned());
            }
            let facts = usual::facts(computation, facts).map_err(|why| {
                let message = format!("step `{path}`: {why}");
                let remedy = "Correct what is stated of it here.";
                self.problem(Some(place.clone()), message, remedy);
            });
            return Some(Computed {
                facts: facts.ok()?,
                ..Computed::default()
            });
        }
        let mut desk = Desk {
            bench: self.bench,
            handed: &self.handed,
            misfit: None,
        };
        let computed = request.and_then(|request| request.compute(&mut desk));
        let misfit = desk.misfit;
        self.played.looked_at.extend(taken);
        let why = match computed {
            Ok(computed) => return Some(computed),
            Err(why) => why,
        };
        if let Some((capture, what)) = misfit {
            let place = self.scenario.captures.get(&capture);
            let place = place.map(|placed| placed.position.clone());
            let remedy = "Correct `weak` here, or the engine.";
            self.problem(place, format!("step `{capture}`: {what}"), remedy);
            return None;
        }
        let remedy = format!(
            "Simulate its capture under `captures`, or state the result: `computed: {{{path}: {{…}}}}`."
        );
        self.problem(None, format!("step `{path}`: {why}"), &remedy);
        None
    }

    /// The step whose capture a computation takes.
    fn capture_of(
        &self,
        walk: &Walk<'_>,
        path: &str,
        request: &Result<Box<Request>, String>,
    ) -> Option<String> {
        if let Ok(request) = request
            && let Request::RelativeCompression { capture, .. }
            | Request::CamCorrelation { capture, .. }
            | Request::ConnectionCheck { capture, .. } = &**request
        {
            return self.handed.get(&capture.file).map(|(step, _)| step.clone());
        }
        // where it could not be computed for something else
        let Question::Compute { with, .. } = &walk.step_at(path).ok()?.question else {
            return None;
        };
        let ValuePath { of, .. } = with.get("capture")?;
        Some(joined(split(path).0, of))
    }
}

/// Computes for a rehearsal.
struct Desk<'d> {
    bench: &'d Bench<'d>,
    handed: &'d BTreeMap<String, (String, Handed)>,
    /// The capture step whose simulation does not suit the engine, and why.
    misfit: Option<(String, String)>,
}

impl Computing for Desk<'_> {
    fn relative_compression(
        &mut self,
        capture: &CaptureFile,
        engine: &Engine,
        _low_percent: f64,
    ) -> Result<(Analysis, Option<Drawing>), String> {
        let Some((step, handed)) = self.handed.get(&capture.file) else {
            return Ok((self.bench.analyse(&Handed::Nothing, engine)?, None));
        };
        if let Handed::Simulated(simulated) = handed {
            let mut weak = simulated.weak.keys();
            if let Some(cylinder) = weak.find(|weak| engine.place_of(**weak).is_none()) {
                let count = engine.cylinders();
                let why =
                    format!("the engine has cylinders 1 to {count}, and no cylinder {cylinder}");
                self.misfit = Some((step.clone(), why.clone()));
                return Err(why);
            }
        }
        let analysis = self.bench.analyse(handed, engine)?;
        Ok((analysis, None))
    }
}
