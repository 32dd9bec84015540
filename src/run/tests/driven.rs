//! The job driven by someone who answers from a list.

use std::collections::VecDeque;

use super::*;
use crate::procedure::model::Question;
use crate::procedure::work::Work;
use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::drive::{Ended, Hands, Job};
use crate::run::event::{CaptureFile, Stamped};
use crate::run::journal::{Disk, Journal};
use crate::run::keeper::{Columns, Headings, Keeper, Unkept};
use crate::run::screen::{Ends, Screen};
use crate::run::starter::{RestDue, Rested};

pub(super) struct List {
    replies: VecDeque<Reply>,
    /// What is said where a stop asks for the vehicle.
    pub(super) vehicle: VecDeque<String>,
    pub(super) asked: Vec<String>,
    /// What each question said of ending the job.
    ends: Vec<Option<Ends>>,
    pub(super) refused: Vec<String>,
    /// What was said to be found at the end.
    pub(super) found: Option<String>,
    told: usize,
    /// What was said of the starter's rest.
    pub(super) counted: Vec<String>,
    pub(super) rests: Vec<RestDue>,
}

impl List {
    pub(super) fn of(replies: &[Reply]) -> Self {
        List {
            replies: replies.iter().cloned().collect(),
            vehicle: VecDeque::new(),
            found: None,
            asked: Vec::new(),
            ends: Vec::new(),
            refused: Vec::new(),
            told: 0,
            counted: Vec::new(),
            rests: Vec::new(),
        }
    }
}

impl Asker for List {
    fn ask(&mut self, screen: &Screen, refused: Option<&Refusal>) -> Result<Reply, NoAnswer> {
        self.asked.push(screen.step.clone());
        self.ends.push(screen.ends.clone());
        self.refused.extend(refused.map(ToString::to_string));
        self.replies.pop_front().ok_or(NoAnswer::Interrupted)
    }
    fn tell(&mut self, told: &Told<'_>) -> Result<(), NoAnswer> {
        self.told += 1;
        if let Told::Concluded { found, .. } = told {
            self.found = Some((*found).to_owned());
        }
        if let Told::Said(what) = told
            && what.contains("rest")
        {
            self.counted.push((*what).to_owned());
        }
        Ok(())
    }
    fn columns(&mut self, _: &Headings) -> Result<Option<Columns>, NoAnswer> {
        Err(NoAnswer::Interrupted)
    }
    fn vehicle(&mut self) -> Result<Option<String>, NoAnswer> {
        Ok(self.vehicle.pop_front())
    }
    fn rest(&mut self, due: &RestDue) -> Result<Rested, NoAnswer> {
        self.rests.push(due.clone());
        Ok(Rested::Cut {
            left_s: due.seconds,
            reason: "cold".to_owned(),
        })
    }
    fn now(&mut self) -> String {
        "2026-03-02T08:00:00Z".to_owned()
    }
}

struct Shelf;

impl Keeper for Shelf {
    fn keep(
        &mut self,
        path: &str,
        _: Option<&crate::engine::Engine>,
    ) -> Result<CaptureFile, Unkept> {
        if path == "missing" {
            return Err("missing: no such file".to_owned().into());
        }
        // by its name, a file has a hash; at first it cannot be read
        let (name, refused) = match path.strip_suffix(" unread") {
            Some(name) => (name, true),
            None => (path, false),
        };
        if let Some(file) = path.strip_suffix(" of columns") {
            return Err(Unkept::Columns(Box::new(headings(file))));
        }
        let mut file = capture(name);
        file.sha256 = name.to_owned();
        if refused {
            let why = Unkept::Refused(format!("{name}: no such column"));
            return Err(why.of_file(name));
        }
        Ok(file)
    }
}

/// Of a table whose columns nobody has told; its hash is its name.
fn headings(file: &str) -> Headings {
    Headings {
        file: file.to_owned(),
        sha256: file.to_owned(),
        columns: Vec::new(),
        signal: None,
        kind: None,
        planned: None,
        cylinders: 4,
        refused: "no columns".to_owned(),
    }
}

pub(super) fn typed(text: &str) -> Reply {
    Reply::Typed(text.to_owned())
}

pub(super) fn to_crank() -> Vec<Reply> {
    vec![
        Reply::Yes,
        Reply::Yes,
        Reply::Choice("4".to_owned()),
        typed("1-3-4-2"),
        Reply::Yes,
    ]
}

/// Drive a job in a folder, new or gone on with.
fn drive(folder: &std::path::Path, list: &mut List) -> Ended {
    drive_by(&library(), folder, list)
}

pub(super) fn drive_by(
    library: &Library,
    folder: &std::path::Path,
    asker: &mut dyn Asker,
) -> Ended {
    drive_with(library, folder, asker, &mut Shelf)
}

pub(super) fn drive_with(
    library: &Library,
    folder: &std::path::Path,
    asker: &mut dyn Asker,
    keeper: &mut dyn Keeper,
) -> Ended {
    let (journal, state, resumed) = match Disk::open(folder) {
        Ok(disk) => {
            let (journal, lines, _) = Journal::open(disk).unwrap();
            let events: Vec<Stamped> = lines.into_iter().map(|line| line.event).collect();
            (journal, State::fold(&events), true)
        }
        Err(_) => {
            let mut journal = Journal::begin(Disk::create(folder).unwrap());
            for event in opened().events() {
                journal.append(event).unwrap();
            }
            (journal, opened(), false)
        }
    };
    let mut job = Job::new(library, journal, state);
    if resumed {
        job.resume("2026-03-02T09:00:00Z".to_owned()).unwrap();
    }
    let mut hands = Hands {
        asker,
        keeper,
        computing: &mut Bench,
    };
    job.drive(&mut hands).unwrap()
}

#[test]
fn a_job_that_is_left_goes_on_where_it_stood() {
    let folder = tempfile::tempdir().unwrap();
    let mut list = List::of(&to_crank());
    assert_eq!(
        drive(folder.path(), &mut list),
        Ended::Left(NoAnswer::Interrupted)
    );
    assert_eq!(list.asked.last().unwrap(), "crank");
    let mut replies = vec![Reply::Yes, Reply::Yes, Reply::File("low".to_owned())];
    replies.extend([typed("80"), typed("44"), typed("1.016"), Reply::Yes]);
    let mut list = List::of(&replies);
    assert_eq!(drive(folder.path(), &mut list), Ended::Sealed);
    assert_eq!(list.asked[..3], ["hold", "fuel", "crank"]);
    let bytes = std::fs::read(folder.path().join("journal.jsonl")).unwrap();
    let lines = journal::read(&bytes).unwrap().lines;
    assert_eq!(lines.last().unwrap().event.event, Event::Sealed);
}

/// Only where an answer ends the job is that said, with the outcome that it comes to.
#[test]
fn an_answer_that_ends_the_job_is_told_before_it_is_given() {
    let folder = tempfile::tempdir().unwrap();
    let mut replies = to_crank();
    replies.extend([Reply::File("even".to_owned()), Reply::Yes]);
    let mut list = List::of(&replies);
    assert_eq!(drive(folder.path(), &mut list), Ended::Sealed);
    let ends = |step: &str| {
        let at = list.asked.iter().position(|asked| asked == step).unwrap();
        list.ends[at].clone()
    };
    let refit = ends("refit").unwrap();
    let bytes = std::fs::read(folder.path().join("journal.jsonl")).unwrap();
    let lines = journal::read(&bytes).unwrap().lines;
    let concluded = lines.iter().find_map(|line| match line.event.event {
        Event::Concluded { kind, .. } => Some(kind),
        _ => None,
    });
    let yes = ("yes".to_owned(), concluded.unwrap());
    assert_eq!((refit.answers, refit.back), (vec![yes], true));
    assert_eq!(refit.off, ["fuel relay"]);
    let first = ends(&list.asked[0]).unwrap();
    assert!(
        first
            .answers
            .iter()
            .all(|(answer, kind)| answer == "no" && *kind == OutcomeKind::NotDone)
    );
    assert!(first.off.is_empty() && !first.back);
    assert_eq!(ends("crank"), None);

    let folder = tempfile::tempdir().unwrap();
    let mut replies = to_crank();
    replies.extend([Reply::Stop("no time".to_owned()), Reply::Yes]);
    let mut list = List::of(&replies);
    assert_eq!(drive(folder.path(), &mut list), Ended::Sealed);
    let last = list.ends.last().unwrap().clone().unwrap();
    assert_eq!(list.asked.last().unwrap(), "put-back/fuel relay");
    assert!(last.back, "a stop is taken back while nothing is put back");
}

#[test]
fn a_refused_reply_is_asked_again_with_the_reason() {
    let folder = tempfile::tempdir().unwrap();
    let mut replies = to_crank();
    replies.insert(3, typed("1-3-4-4"));
    replies.extend([Reply::File("missing".to_owned()), Reply::Pause]);
    let mut list = List::of(&replies);
    assert_eq!(drive(folder.path(), &mut list), Ended::Paused);
    assert!(list.refused[0].contains("stands twice"));
    assert!(list.refused[1].contains("no such file"));
}

#[test]
fn a_capture_that_cannot_be_read_is_gone_back_from() {
    let folder = tempfile::tempdir().unwrap();
    let mut replies = to_crank();
    replies.extend([Reply::File("broken".to_owned()), Reply::Yes, Reply::Back]);
    replies.extend([Reply::File("even".to_owned()), Reply::Yes]);
    let mut list = List::of(&replies);
    assert_eq!(drive(folder.path(), &mut list), Ended::Sealed);
    assert_eq!(
        list.asked[5..],
        ["crank", "judge", "judge", "crank", "refit"]
    );
}

/// The small job, with a crank where it takes its capture.
pub(super) fn cranking() -> Library {
    let mut library = library();
    for procedure in library.procedures.values_mut() {
        for step in &mut procedure.steps {
            if matches!(step.question, Question::Capture { .. }) {
                step.work = vec![Work::Crank];
            }
            if step.id == "fuel" {
                step.establishes.extend(Work::Crank.needs());
            }
        }
    }
    library
}
