//! `evenfire demo --month`: a month of practice jobs in the demonstration's shop, for a lead to look
//! through. Each is driven as a run drives it, answered as usual but where its case says otherwise, with
//! simulated captures; people sign with practice keys.

mod cases;

use std::collections::VecDeque;

use chrono::{DateTime, SecondsFormat, TimeDelta, TimeZone, Utc};

use crate::cli::one_job::driving::{Driven, drive_with};
use crate::cli::one_job::opening::{Beginning, Unattended};
use crate::cli::one_job::report_page::{against, write_report};
use crate::cli::one_job::waiving::Keeping;
use crate::cli::one_job::which_job::shop_option;
use crate::cli::practise::hand_over;
use crate::cli::{Failure, say};
use crate::cranking::answer::SignalKind;
use crate::engine::{Engine, Fuel};
use crate::procedure::model::Library;
use crate::record::bundle::amendment::{Adding, amend};
use crate::record::bundle::decision::Ruling;
use crate::record::bundle::model::Record;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::shop::founding::practice_key;
use crate::record::shop::roster::{Role, Roster};
use crate::record::signing;
use crate::rehearse::usual;
use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::event::{Attachment, CaptureFile, WaiverFile};
use crate::run::keeper::{Keeper, Unkept, Waiving};
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, Screen};
use crate::run::starter::{RestDue, Rested};
use crate::simulate::draw::{ReferenceWish, Wish};
use crate::simulate::practice::{Practice, practice};
use cases::{Case, DAYS, Decision};

/// What everybody does.
const PROCEDURE: &str = "relative-compression";

/// Why a job of the month is practice.
const ANSWERED_BY_THE_PROGRAM: &str = "answers by the program";

/// Seconds that an answer takes.
const ANSWER: TimeDelta = TimeDelta::seconds(40);

/// Other seeds that are tried where the starter would not turn an engine.
const TRIES: u64 = 20;

/// How long after the seal people sign what comes then.
const UNTIL_SIGNED: TimeDelta = TimeDelta::minutes(20);

/// The lead's word in the shop's policy, without which nothing is waived.
const MAY_BE_WAIVED: &str = "
# In the demonstration's month a lead may say that the line need not be judged.
waivers:
  relative-compression/quiet-posts: lead
";

/// The shop with the policy that the month needs.
pub(super) fn prepared(shop: Shop) -> Result<Shop, Failure> {
    if !shop.policy().rules.waivers.is_empty() {
        return Ok(shop);
    }
    let root = shop.root().to_owned();
    let file = Shop::policy_file(&root);
    let text = fs_err::read_to_string(&file)? + MAY_BE_WAIVED;
    crate::record::durable::replace(&file, text.as_bytes())?;
    Ok(Shop::open(&root)?)
}

/// Do the month's jobs, and say how to look through them.
pub(super) fn make(
    shop: &Shop,
    roster: &Roster,
    technician: &str,
    library: &Library,
) -> Result<(), Failure> {
    say(&format!(
        "PRACTICE: {DAYS} jobs in {}. Vehicles, people and words are invented, captures simulated.\n",
        shop.name()
    ));
    for day in 0..DAYS {
        let case = Case::of(day);
        let record = Work {
            shop,
            roster,
            technician,
            library,
            case: &case,
        }
        .done()?;
        say(&format!(
            "{}  {}  {:13}  {}\n",
            record.job,
            &record.sealed[..10],
            record.outcome.kind.name(),
            case.model.name
        ));
    }
    let root = shop_option(shop.root());
    say(&format!(
        "Look through them:\n  evenfire audit --practice{root}\n  evenfire countersign{root}\n"
    ));
    Ok(())
}

/// One job of the month.
struct Work<'w> {
    shop: &'w Shop,
    roster: &'w Roster,
    technician: &'w str,
    library: &'w Library,
    case: &'w Case,
}

impl Work<'_> {
    fn done(&self) -> Result<Record, Failure> {
        let morning = Utc.with_ymd_and_hms(2026, 6, 1, 8, 0, 0).single();
        let begun = morning.unwrap_or_default() + TimeDelta::days(i64::from(self.case.day));
        let mut asker = Routine::of(self.case, begun);
        let opened = Beginning {
            shop: self.shop,
            roster: self.roster,
            technician: self.technician,
            procedure: PROCEDURE,
            library: self.library.clone(),
            unattended: Some(Unattended {
                reason: ANSWERED_BY_THE_PROGRAM,
                simulated_clock: true,
            }),
            exercise: false,
        }
        .begin(asker.now())?;
        let job = opened.folder.clone();
        let mut keeper = Bay {
            keeping: Keeping {
                shop: self.shop,
                job: &job,
                technician: self.technician.to_owned(),
                practice: true,
            },
            case: self.case,
        };
        let driven = drive_with(self.shop, opened, &mut asker, None, &mut keeper)?;
        match driven {
            Driven::Sealed(record) => {
                self.decided(&job, &record)?;
                Ok(*record)
            }
            Driven::Open(_) => Err(format!("job {} was left open", job.number()).into()),
        }
    }

    /// The technician signs and the lead decides, as the case has it.
    fn decided(&self, job: &JobFolder, record: &Record) -> Result<(), Failure> {
        let number = job.number();
        let against = against(self.roster, Some(&number));
        let technician = practice_key(self.shop, Role::Technician)?;
        let lead = practice_key(self.shop, Role::Lead)?;
        let mut now = record.sealed.parse::<DateTime<Utc>>()?;
        let mut later = || {
            now += UNTIL_SIGNED;
            now
        };
        if !matches!(self.case.decision, Decision::Unsigned) {
            signing::sign(job, &against, &technician)?;
        }
        let mut decide = |ruling, reason| {
            signing::countersign(job, &against, &lead, (ruling, reason), later()).map(|_| ())
        };
        match self.case.decision {
            Decision::Unsigned | Decision::Open => {}
            Decision::Accepted => decide(Ruling::Accepted, None)?,
            Decision::Returned(why) => decide(Ruling::Returned, Some(why))?,
            Decision::Amended(why) => {
                decide(Ruling::Returned, Some(why))?;
                let adding = Adding {
                    corrects: "odometer".to_owned(),
                    adds: self.case.odometer_as_it_is(),
                    reason: "Two digits were exchanged.".to_owned(),
                    attached: Vec::new(),
                };
                amend(job, &against, &technician, adding, later())?;
                signing::countersign(job, &against, &lead, (Ruling::Accepted, None), later())?;
            }
        }
        write_report(job, record)
    }
}

/// Answers as the case has it, else as usual.
struct Routine<'c> {
    case: &'c Case,
    answers: VecDeque<(&'static str, String)>,
    waived: bool,
    now: DateTime<Utc>,
}

impl<'c> Routine<'c> {
    fn of(case: &'c Case, now: DateTime<Utc>) -> Self {
        Routine {
            case,
            answers: case.answers().into(),
            waived: false,
            now,
        }
    }

    /// The answer as it would be typed.
    fn typed(&mut self, screen: &Screen) -> Option<String> {
        let own = self
            .answers
            .iter()
            .position(|(step, _)| *step == screen.step);
        match own.and_then(|at| self.answers.remove(at)) {
            Some((_, answer)) => Some(answer),
            None => usual::answer(&screen.form, None, None),
        }
    }
}

impl Asker for Routine<'_> {
    fn ask(&mut self, screen: &Screen, refused: Option<&Refusal>) -> Result<Reply, NoAnswer> {
        let stuck = |why: String| NoAnswer::Script(format!("step {:?}: {why}", screen.step));
        if let Some(refusal) = refused {
            return Err(stuck(refusal.to_string()));
        }
        self.now += ANSWER;
        let complaint = self.case.complaint;
        if let Some((step, why)) = complaint.stopped
            && step == screen.step
        {
            return Ok(Reply::Stop(why.to_owned()));
        }
        if let Some((step, why)) = complaint.waived
            && step == screen.step
            && !self.waived
        {
            self.waived = true;
            let (reason, key) = (why.to_owned(), String::new());
            return Ok(Reply::Waive { reason, key });
        }
        if let Form::Capture(_) = screen.form {
            return Ok(Reply::File("capture".to_owned()));
        }
        let typed = self
            .typed(screen)
            .ok_or_else(|| stuck("no answer".to_owned()))?;
        Ok(match &screen.form {
            Form::Confirm | Form::PutBack | Form::Trouble if typed == "yes" => Reply::Yes,
            Form::Confirm | Form::PutBack | Form::Trouble => Reply::No,
            Form::Choose(_) => Reply::Choice(typed),
            _ => Reply::Typed(typed),
        })
    }

    fn tell(&mut self, _: &Told<'_>) -> Result<(), NoAnswer> {
        Ok(())
    }

    fn rest(&mut self, due: &RestDue) -> Result<Rested, NoAnswer> {
        self.now += TimeDelta::seconds(i64::from(due.seconds));
        Ok(Rested::Whole)
    }

    fn now(&mut self) -> String {
        self.now.to_rfc3339_opts(SecondsFormat::Secs, true)
    }
}

/// Makes the captures; everything else is kept as in any job.
struct Bay<'b> {
    keeping: Keeping<'b>,
    case: &'b Case,
}

impl Keeper for Bay<'_> {
    fn keep(&mut self, _: &str, engine: Option<&Engine>) -> Result<CaptureFile, Unkept> {
        let job = self.keeping.job;
        let number = job
            .next_number(folder::CAPTURES)
            .map_err(|error| format!("no capture was made: {error}"))?;
        hand_over(job, &self.capture(number - 1)?, engine)
    }

    fn attach(&mut self, path: &str) -> Result<Attachment, String> {
        self.keeping.attach(path)
    }

    fn waive(&mut self, waiving: &Waiving<'_>) -> Result<WaiverFile, String> {
        self.keeping.waive(waiving)
    }
}

impl Bay<'_> {
    fn capture(&self, again: u32) -> Result<Practice, String> {
        let order = self.case.model.firing_order;
        let engine = Engine::new(order.len(), order, None, Some(Fuel::Petrol))
            .map_err(|error| error.to_string())?;
        let complaint = self.case.complaint;
        let mut wish = Wish::anything();
        let weak = complaint
            .keeps
            .map(|percent| (self.case.weak_place(), percent));
        wish.engine = Some(engine);
        wish.source = Some(SignalKind::BatteryVoltage);
        wish.reference = Some(ReferenceWish::Cycle);
        wish.losses = Some(weak.into_iter().collect());
        wish.spoil = complaint.spoil.filter(|_| again == 0 || !complaint.mended);
        wish.again = again;
        let seeds = (0..TRIES).map(|attempt| u64::from(self.case.vehicle) + 1000 * attempt);
        let mut made = seeds.filter_map(|seed| practice(seed, &wish));
        made.next()
            .ok_or_else(|| "the starter cannot turn this engine".to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::one_job::opening::load;
    use crate::cli::shipped;
    use crate::record::shop::founding::{KeySource, NewSigner, found};
    use crate::record::verify::{FindingKind, verify};

    /// A refused capture, a waiver, a job that was stopped, one that was returned and amended.
    #[test]
    fn each_kind_of_day_gives_a_job_that_holds() {
        let folder = tempfile::tempdir().unwrap();
        let person = |identity: &str| NewSigner {
            identity: identity.to_owned(),
            key: KeySource::Practice,
        };
        let root = folder.path().join("shop");
        let (technician, lead) = (person("ada"), person("rob"));
        let shop = prepared(found(&root, "Bay", &technician, Some(&lead)).unwrap()).unwrap();
        shipped::lay(&shipped::PROCEDURES, &shop.procedures()).unwrap();
        let file = shop.procedures().join(format!("{PROCEDURE}.yaml"));
        let library = load(&file, &shop.policy().rules).unwrap();
        let roster = Roster::of(&shop).unwrap();
        let done = |day| {
            let case = &Case::of(day);
            let (shop, roster, library) = (&shop, &roster, &library);
            let work = Work {
                shop,
                roster,
                technician: "ada",
                library,
                case,
            };
            work.done().unwrap()
        };
        for (day, outcome, kinds) in [
            (2, "all-even", [].as_slice()),
            (5, "all-even", &[FindingKind::Waived]),
            (9, "stopped", &[]),
            (11, "exhaust-valve", &[FindingKind::Amended]),
        ] {
            let record = done(day);
            assert_eq!(record.outcome.step, outcome, "day {day}");
            let reasons = [
                "answers by the program",
                "practice keys",
                "simulated capture",
            ];
            let told = record.practice.iter().map(String::as_str);
            assert!(told.eq(reasons.into_iter().take(record.practice.len())));
            assert!(record.practice.len() >= 2 && record.simulated_clock);
            let job = shop.job(&record.job).unwrap();
            let findings = verify(&job, &against(&roster, Some(&record.job))).unwrap();
            let kinds: Vec<FindingKind> = std::iter::once(FindingKind::Practice)
                .chain(kinds.iter().copied())
                .collect();
            let found: Vec<FindingKind> = findings.iter().map(|finding| finding.kind).collect();
            assert_eq!(found, kinds, "day {day}");
        }
    }
}
