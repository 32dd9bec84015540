//! Captures of a crank that was: one handed over again for a second, and one that is described anew.

use super::driven::{List, cranking, drive_with, to_crank};
use super::*;
use crate::engine::Engine;
use crate::procedure::model::{CaptureKind, Next as Leads, Question, StepIndex};
use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::drive::Ended;
use crate::run::event::CaptureFile;
use crate::run::keeper::{Columns, Headings, Keeper, Unkept};
use crate::run::screen::Screen;
use crate::run::starter::{RestDue, Rested};

/// Files by their names. Of one that begins with "unknown" nobody knows the columns; one that ends with "cut" is of
/// the same crank as any other.
#[derive(Default)]
struct Files {
    dropped: usize,
}

fn named(path: &str) -> CaptureFile {
    let mut file = capture(path);
    file.sha256 = path.trim_start_matches("unknown ").to_owned();
    file.original = format!("{path}.csv");
    file
}

impl Keeper for Files {
    fn keep(&mut self, path: &str, _: Option<&Engine>) -> Result<CaptureFile, Unkept> {
        let file = named(path);
        if !path.starts_with("unknown") {
            return Ok(file);
        }
        let headings = Headings {
            file: path.to_owned(),
            sha256: String::new(),
            columns: Vec::new(),
            signal: None,
            kind: None,
            planned: None,
            cylinders: 4,
            refused: "nobody knows its columns".to_owned(),
        };
        Err(Unkept::Columns(Box::new(headings)).of_file(&file.sha256))
    }

    fn is_one_crank(&mut self, _: &CaptureFile, other: &CaptureFile) -> bool {
        other.original.ends_with("cut.csv")
    }

    fn drop_kept(&mut self, _: &CaptureFile) {
        self.dropped += 1;
    }
}

/// Answers from a list, and counts how often columns are asked for.
struct Person {
    list: List,
    columns: usize,
    /// Whether the first rest is left for the question before.
    leaves: bool,
}

impl Asker for Person {
    fn ask(&mut self, screen: &Screen, refused: Option<&Refusal>) -> Result<Reply, NoAnswer> {
        self.list.ask(screen, refused)
    }
    fn columns(&mut self, _: &Headings) -> Result<Option<Columns>, NoAnswer> {
        self.columns += 1;
        Ok(None)
    }
    fn tell(&mut self, told: &Told<'_>) -> Result<(), NoAnswer> {
        self.list.tell(told)
    }
    fn rest(&mut self, due: &RestDue) -> Result<Rested, NoAnswer> {
        let rested = self.list.rest(due);
        match std::mem::take(&mut self.leaves) {
            true => Ok(Rested::Back),
            false => rested,
        }
    }
    fn now(&mut self) -> String {
        self.list.now()
    }
}

fn driven(library: &Library, files: &[&str], others: &[Reply]) -> (Person, Files) {
    driven_by(false, library, files, others)
}

fn driven_by(leaves: bool, library: &Library, files: &[&str], others: &[Reply]) -> (Person, Files) {
    let mut replies = to_crank();
    replies.extend(files.iter().map(|file| Reply::File((*file).to_owned())));
    replies.extend(others.iter().cloned());
    replies.push(Reply::Pause);
    let mut person = Person {
        list: List::of(&replies),
        columns: 0,
        leaves,
    };
    let mut keeper = Files::default();
    let folder = tempfile::tempdir().unwrap();
    let ended = drive_with(library, folder.path(), &mut person, &mut keeper);
    assert_eq!(ended, Ended::Paused);
    (person, keeper)
}

/// The small job with a second capture where the relay goes back.
fn twice() -> Library {
    let mut library = library();
    let look = library.procedures.get_mut("look").unwrap();
    look.steps[8].question = Question::Capture {
        ask: "The second capture?".to_owned(),
        kind: CaptureKind::Cranking,
        next: Leads::Always(StepIndex(9)),
    };
    library
}

#[test]
fn the_bytes_of_the_first_capture_are_refused_before_anything_is_asked_of_them() {
    let (person, files) = driven(&twice(), &["even", "unknown even", "unknown new"], &[]);
    assert_eq!(person.columns, 1, "of the new one only");
    let refused = &person.list.refused[0];
    let told = "This is even.csv again, byte for byte; it was taken at 2026-03-02T08:00:00Z for \"The capture?\".";
    assert!(refused.contains(told), "{refused}");
    assert!(refused.contains("crank again"), "{refused}");
    assert_eq!(files.dropped, 0);
}

#[test]
fn a_capture_of_the_first_crank_is_refused_as_the_second() {
    let (person, files) = driven(&twice(), &["even", "even cut"], &[]);
    let refused = &person.list.refused[0];
    assert!(refused.contains("the crank of even.csv again"), "{refused}");
    assert!(refused.contains("cut or saved otherwise"), "{refused}");
    assert_eq!(files.dropped, 1);
    // at its own step another cut of it may mend what was wrong
    let again = [Reply::Back, Reply::File("even cut".to_owned()), Reply::Back];
    let (person, _) = driven(&library(), &["low"], &again);
    assert!(person.list.refused.is_empty(), "{:?}", person.list.refused);
}

/// The small job with a crank that ends the rest, which "fuel" makes sure of.
fn with_rest() -> Library {
    let mut library = cranking();
    let look = library.procedures.get_mut("look").unwrap();
    let rested = [condition("starter rested"), condition("key away")];
    look.steps[4].establishes.extend(rested.clone());
    look.steps[5].needs.push(rested[0].clone());
    look.steps[5].revokes.extend(rested);
    // what comes after it ends more, as soon as it is shown
    let leak = library.procedures.get_mut("leak").unwrap();
    leak.steps[0].revokes.push(condition("bystanders clear"));
    library
}

/// Back to a capture asks for its file at once, and counts no other crank; cranking anew asks for the rest first.
#[test]
fn another_file_of_a_crank_that_was_needs_no_rest() {
    let library = with_rest();
    let anew = [Reply::Back, Reply::CrankAnew, Reply::Yes];
    let other = [Reply::Back, Reply::File("other low".to_owned())];
    let (person, _) = driven(&library, &["low"], &other);
    let asked: Vec<&str> = person.list.asked.iter().map(String::as_str).collect();
    let last = &asked[asked.len() - 4..];
    assert_eq!(
        last,
        ["crank", "test/supply", "crank", "test/supply"],
        "{asked:?}"
    );
    assert!(person.list.rests.is_empty(), "{:?}", person.list.rests);

    let (person, _) = driven(&library, &["low"], &anew);
    let asked: Vec<&str> = person.list.asked.iter().map(String::as_str).collect();
    let last = &asked[asked.len() - 4..];
    assert_eq!(last, ["test/supply", "crank", "fuel", "crank"], "{asked:?}");
    let cranks: Vec<usize> = person.list.rests.iter().map(|due| due.cranks).collect();
    assert_eq!(cranks, [1]);

    // the other file is no other crank
    let replies = [&other[..], &anew[..]].concat();
    let (person, _) = driven(&library, &["low"], &replies);
    let cranks: Vec<usize> = person.list.rests.iter().map(|due| due.cranks).collect();
    assert_eq!(cranks, [1]);
}

/// Who sees at the rest that the file was wrong need not wait for its end.
#[test]
fn a_rest_is_left_for_the_question_before() {
    let anew = [Reply::Back, Reply::CrankAnew, Reply::Yes];
    let (person, _) = driven_by(true, &with_rest(), &["low"], &anew);
    let asked: Vec<&str> = person.list.asked.iter().map(String::as_str).collect();
    let last = &asked[asked.len() - 3..];
    // the rest is due once more, and then the capture that was counts after all
    assert_eq!(last, ["crank", "fuel", "test/supply"], "{asked:?}");
    assert_eq!(person.list.rests.len(), 2);
}

/// Once the starter has turned again, going back is to a crank.
#[test]
fn after_another_crank_going_back_asks_for_what_a_crank_needs() {
    let library = with_rest();
    let crank_lost = [
        Reply::Back,
        Reply::Cranked("scope was off".to_owned()),
        Reply::Yes,
        Reply::Pause,
    ];
    let (person, _) = driven(&library, &["low"], &crank_lost);
    let asked: Vec<&str> = person.list.asked.iter().map(String::as_str).collect();
    let last = &asked[asked.len() - 3..];
    assert_eq!(last, ["crank", "fuel", "crank"], "{asked:?}");
    let cranks: Vec<usize> = person.list.rests.iter().map(|due| due.cranks).collect();
    assert_eq!(cranks, [2]);
}
