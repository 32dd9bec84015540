//! What a run has computed for it: captures are read from the job's own copies, earlier jobs from the
//! shop, and handed to the rooms that know cranking and follow-ups.

mod doubt;

use crate::advise;
use crate::capture::Recording;
use crate::capture::setup::{Coupling, Setup};
use crate::cli::captures;
use crate::cli::one_job::kept::{self, shown};
use crate::cli::one_job::replaced;
use crate::cli::one_job::report_page;
use crate::cli::practise;
use crate::cranking::answer::{Analysis, Drawing};
use crate::cranking::cycles::Samples;
use crate::cranking::{self, Analysed};
use crate::cranking::{reference, teeth};
use crate::engine::Engine;
use crate::followup::after_repair::Earlier;
use crate::followup::cam;
use crate::procedure::model::RecordLine;
use crate::record::bundle::model::Record;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;
use crate::record::verify::{Finding, FindingKind, Status, verify};
use crate::run::computing::{Claim, Computing};
use crate::run::event::CaptureFile;
use crate::run::planning::{Line, LineAtRest};
use crate::run::vehicle;

/// Computes for one job.
pub(crate) struct Bench<'j> {
    /// The job whose captures are read.
    pub(crate) job: &'j JobFolder,
    /// The shop that the job belongs to.
    pub(crate) shop: &'j Shop,
}

impl Computing for Bench<'_> {
    fn relative_compression(
        &mut self,
        capture: &CaptureFile,
        engine: &Engine,
        low_percent: f64,
    ) -> Result<(Analysis, Option<Drawing>), String> {
        let handed_over = |why: String| format!("{why}\n(handed over as {})", capture.original);
        let mut setup = self.setup(capture)?;
        if let Some(difference) = vehicle::difference(engine, &setup.engine) {
            let setup_file = self.job.file(&capture.setup);
            let mend = match practise::is_exercise(self.shop, &self.job.number()) {
                true => {
                    "An exercise's engine is what its page says: go back (`b`) to the intake and correct it there"
                }
                false => {
                    "Correct the set-up beside the capture and hand both over again, or go back and correct the intake"
                }
            };
            return Err(handed_over(format!(
                "{}: {difference}. {mend}",
                shown(&setup_file)
            )));
        }
        setup.engine = engine.clone();
        setup.low_percent = low_percent;
        let read = self.read(capture, &setup)?;
        let Analysed {
            mut analysis,
            drawing,
            ..
        } = cranking::analyse(&read.capture, &read.setup);
        if capture.columns_told {
            doubt::of_column(&mut analysis, &read.setup);
        }
        Ok((analysis, drawing))
    }

    fn cam_angles(&mut self, capture: &CaptureFile) -> Result<Vec<f64>, String> {
        let setup = self.setup(capture)?;
        let file = shown(&self.job.file(&capture.setup));
        let lacks = |what: &str, example: &str| {
            format!(
                "{file}: the set-up names no {what}; add it under `channels`, as in {example}, and hand \
                 the capture over again\n(handed over as {})",
                capture.original
            )
        };
        let channels = &setup.channels;
        let Some(wheel) = &channels.crank_speed else {
            return Err(lacks(
                "crank_speed",
                "`crank_speed: {column: crank_V, wheel: 60-2}`",
            ));
        };
        let Some(cam) = &channels.reference else {
            let example =
                "`reference: {column: cam_V, cylinder: 1, every_deg: 720, edge: falling}`";
            return Err(lacks("reference", example));
        };
        let read = self.read(capture, &setup)?.capture;
        let column = |name: &str| Samples {
            time: &read.time,
            values: read.columns.get(name).map_or(&[], Vec::as_slice),
        };
        let speed = teeth::speed(column(&wheel.column), wheel).map_err(|why| {
            format!(
                "{file}: column {:?} does not look like a wheel of {} ({why:?}); look at `wheel` and `edge`, \
                 and at the crank sensor's lead",
                wheel.column, wheel.wheel
            )
        })?;
        if !speed.unique {
            return Err(format!(
                "{file}: the wheel {:?} has no mark that can be told from the others; it needs a gap, and \
                 `gaps_at` where it has several",
                wheel.wheel
            ));
        }
        let events = reference::events(column(&cam.column), cam.edge);
        Ok(cam::angles(&speed, &events))
    }

    fn line_at_rest(&mut self, capture: &CaptureFile) -> Result<LineAtRest, String> {
        let setup = self.setup(capture)?;
        let channels = &setup.channels;
        let (of, channel) = match (&channels.starter_current, &channels.battery_voltage) {
            (Some(current), _) => (Line::Current, current),
            (None, Some(voltage)) if voltage.coupling == Coupling::Ac => {
                (Line::AlternatingVoltage, voltage)
            }
            (None, Some(voltage)) => (Line::DirectVoltage, voltage),
            (None, None) => {
                return Err(format!(
                    "{}: the set-up names neither starter_current nor battery_voltage under `channels`; add \
                     the one that is connected, and hand the capture over again",
                    shown(&self.job.file(&capture.setup))
                ));
            }
        };
        let column = channel.column.clone();
        let mut read = self.read(capture, &setup)?.capture;
        Ok(LineAtRest {
            of,
            values: read.columns.remove(&column).unwrap_or_default(),
            time: read.time,
        })
    }

    fn clamps(&mut self) -> Vec<advise::ClampAtHand> {
        // a broken list is told where a set-up names a clamp of it
        let list = captures::clamps_of(self.shop.root()).unwrap_or_default();
        let known = list.all.into_values().map(|clamp| advise::ClampAtHand {
            name: Some(clamp.name),
            mv_per_ampere: clamp.millivolt_per_ampere,
            range_a: clamp.range,
            jaw_mm: clamp.jaw,
        });
        known.collect()
    }

    fn earlier(&mut self, job: &str) -> Result<Earlier, String> {
        let found = self
            .shop
            .job(job.trim())
            .map_err(|error| error.to_string())?;
        let number = found.number();
        if number == self.job.number() {
            return Err(format!(
                "job {number} is this job; name the one before the repair"
            ));
        }
        let roster = Roster::of(self.shop).map_err(|error| error.to_string())?;
        let against = report_page::against(&roster, Some(&number));
        let findings = verify(&found, &against).map_err(|error| error.to_string())?;
        sound(&number, &findings)?;
        let text = fs_err::read_to_string(found.file(folder::RECORD));
        let text = text.map_err(|error| error.to_string())?;
        let record: Record = serde_json::from_str(&text).map_err(|error| error.to_string())?;
        let captures = record.captures.iter().rev();
        let mut kept = captures.filter(|capture| !capture.superseded);
        let analysis = kept.find_map(|capture| capture.analysis.clone());
        Ok(Earlier {
            analysis: analysis.ok_or_else(|| {
                format!("job {number} holds no analysis of a capture; name another job")
            })?,
            identity: record
                .lines
                .get(RecordLine::VehicleIdentity.name())
                .cloned(),
            sealed: record.sealed,
            job: number,
        })
    }

    fn against_claim(&mut self, claim: &Claim<'_>) -> Vec<String> {
        // a roster that cannot be read is told where somebody signs
        let roster = Roster::of(self.shop);
        let told = |roster| replaced::against(self.shop, &roster, &self.job.number(), claim);
        roster.map_or_else(|_| Vec::new(), told)
    }
}

impl Bench<'_> {
    fn setup(&self, capture: &CaptureFile) -> Result<Setup, String> {
        kept::setup(self.job, capture)
    }

    fn read(&self, capture: &CaptureFile, setup: &Setup) -> Result<Recording, String> {
        kept::read(self.job, capture, setup)
    }
}

/// An earlier job must be sealed, and as it was when it was sealed; that nobody has signed it yet is no
/// hindrance.
fn sound(number: &str, findings: &[Finding]) -> Result<(), String> {
    let open = findings
        .iter()
        .any(|finding| finding.kind == FindingKind::NotSealed);
    if Status::of(findings) != Status::Unsound && !open {
        return Ok(());
    }
    let why: Vec<&str> = findings.iter().map(|f| f.sentence.as_str()).collect();
    Err(format!(
        "job {number} cannot be compared with: {}. Look at `evenfire verify {number}`",
        why.join("; ")
    ))
}
