//! The journal on a disk that fails: at every write, sync, truncation and file kept aside, in seeded
//! ways; what was taken for written is never lost, and nothing that was not written is read.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::*;
use crate::run::event::Answer;

/// How the disk fails.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Fault {
    /// No room: part of the bytes go through.
    Full,
    /// Nothing is taken.
    ReadOnly,
    /// The power goes: what was not synced is there in part, or as zeros.
    Crash,
}

#[derive(Debug, Default)]
struct Platter {
    synced: Vec<u8>,
    /// As the program sees it before a crash.
    cached: Vec<u8>,
    aside: BTreeMap<String, Vec<u8>>,
    operations: u32,
}

#[derive(Debug)]
struct Failing {
    platter: Rc<RefCell<Platter>>,
    fault: Fault,
    /// The operation that fails.
    at: u32,
    dead: bool,
    random: ChaCha8Rng,
}

impl Failing {
    /// Whether the next operation fails; on a crash what is not synced is decided at once.
    fn fails(&mut self) -> io::Result<bool> {
        let mut platter = self.platter.borrow_mut();
        platter.operations += 1;
        let kind = match self.fault {
            Fault::Full => io::ErrorKind::StorageFull,
            Fault::ReadOnly => io::ErrorKind::ReadOnlyFilesystem,
            Fault::Crash => io::ErrorKind::BrokenPipe,
        };
        if self.dead {
            return Err(io::Error::from(kind));
        }
        if platter.operations == self.at {
            self.dead = self.fault == Fault::Crash;
            return match self.fault {
                Fault::ReadOnly => Err(io::Error::from(kind)),
                _ => Ok(true),
            };
        }
        Ok(false)
    }

    fn crash(&mut self) -> io::Error {
        let mut platter = self.platter.borrow_mut();
        let (synced, cached) = (platter.synced.len(), platter.cached.len());
        if cached > synced {
            let kept = self.random.random_range(synced..=cached);
            let mut left = platter.cached[..kept].to_vec();
            if self.random.random_bool(0.3) {
                left.resize(cached, 0); // the length was on disk, the bytes were not
            }
            platter.synced = left;
        }
        platter.cached = platter.synced.clone();
        io::Error::from(io::ErrorKind::BrokenPipe)
    }

    fn failed(&mut self) -> io::Error {
        match self.fault {
            Fault::Crash => self.crash(),
            _ => io::Error::from(io::ErrorKind::StorageFull),
        }
    }
}

impl Storage for Failing {
    fn read(&mut self) -> io::Result<Vec<u8>> {
        Ok(self.platter.borrow().cached.clone())
    }
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        if self.fails()? {
            let some = self.random.random_range(0..=bytes.len());
            self.platter.borrow_mut().cached.extend(&bytes[..some]);
            return Err(self.failed());
        }
        self.platter.borrow_mut().cached.extend(bytes);
        Ok(())
    }
    fn sync(&mut self) -> io::Result<()> {
        if self.fails()? {
            return Err(self.failed());
        }
        let mut platter = self.platter.borrow_mut();
        platter.synced = platter.cached.clone();
        Ok(())
    }
    fn truncate(&mut self, length: u64) -> io::Result<()> {
        if self.fails()? {
            if self.random.random_bool(0.5) {
                let mut platter = self.platter.borrow_mut();
                platter.cached.truncate(length as usize);
                platter.synced = platter.cached.clone();
            }
            return Err(self.failed());
        }
        let mut platter = self.platter.borrow_mut();
        platter.cached.truncate(length as usize);
        platter.synced = platter.cached.clone();
        Ok(())
    }
    fn keep_aside(&mut self, name: &str, bytes: &[u8]) -> io::Result<()> {
        if self.platter.borrow().aside.contains_key(name) {
            return Err(io::Error::from(io::ErrorKind::AlreadyExists));
        }
        let fails = self.fails()?;
        let some = if fails {
            self.random.random_range(0..=bytes.len())
        } else {
            bytes.len()
        };
        let mut platter = self.platter.borrow_mut();
        platter
            .aside
            .insert(name.to_owned(), bytes[..some].to_vec());
        drop(platter);
        if fails { Err(self.failed()) } else { Ok(()) }
    }
}

/// Events that a job writes down, numbered so that none can stand for another.
fn wanted() -> Vec<Event> {
    let mut all = vec![super::tests::events().remove(0).event];
    all.extend((1..6).map(|number| Event::Answered {
        step: format!("step-{number}"),
        answer: Answer::Text {
            text: format!("answer {number} \"ü\""),
        },
    }));
    all
}

fn stamped(event: Event) -> Stamped {
    Stamped {
        at: "2026-03-02T08:00:00Z".to_owned(),
        event,
    }
}

/// The events on the disk, without those that tell of a mended tail.
fn on_disk(lines: &[Line]) -> Vec<Event> {
    let events = lines.iter().map(|line| line.event.event.clone());
    events
        .filter(|event| !matches!(event, Event::Mended { .. }))
        .collect()
}

/// One run until the disk fails or all is written; answers with how much was taken for written.
fn run(storage: Failing, wanted: &[Event], taken: usize) -> Result<usize, usize> {
    let mut taken = taken;
    let (mut journal, done) = if storage.platter.borrow().cached.is_empty() && taken == 0 {
        (Journal::begin(storage), 0)
    } else {
        match Journal::open(storage) {
            Ok((mut journal, lines, cut)) => {
                let done = on_disk(&lines);
                assert!(done.len() >= taken, "what was taken for written is lost");
                assert_eq!(done, wanted[..done.len()], "something else was read");
                taken = done.len();
                if let Some(cut) = cut
                    && journal.append(&stamped(cut.event())).is_err()
                {
                    return Err(taken);
                }
                (journal, taken)
            }
            // nothing was ever written in whole: the job never began
            Err(JournalError::Empty) => {
                assert_eq!(taken, 0);
                return Err(0);
            }
            Err(JournalError::Unwritable(_)) => return Err(taken),
            Err(other) => panic!("{other}"),
        }
    };
    for event in &wanted[done..] {
        if journal.append(&stamped(event.clone())).is_err() {
            let again = journal.append(&stamped(event.clone()));
            assert!(matches!(again, Err(JournalError::Stopped)));
            return Err(taken);
        }
        taken += 1;
    }
    Ok(taken)
}

/// A job on a disk that fails twice, at two operations; then on a sound one to its end.
fn trial(fault: Fault, first: u32, second: u32, seed: u64) {
    let platter = Rc::new(RefCell::new(Platter::default()));
    let wanted = wanted();
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut taken = 0;
    for at in [first, first + second, u32::MAX] {
        let storage = Failing {
            platter: Rc::clone(&platter),
            fault,
            at,
            dead: false,
            random: ChaCha8Rng::seed_from_u64(random.next_u64()),
        };
        match run(storage, &wanted, taken) {
            Ok(all) => {
                assert_eq!(all, wanted.len());
                break;
            }
            Err(0) if platter.borrow().cached.iter().all(|byte| *byte != b'\n') => {
                *platter.borrow_mut() = Platter::default(); // begun anew, as another job
            }
            Err(so_far) => taken = so_far,
        }
    }
    let bytes = platter.borrow().cached.clone();
    let reading = read(&bytes).unwrap();
    let told = format!("{fault:?} at {first} and {second}, seed {seed}");
    assert!(reading.torn.is_none(), "{told}");
    assert_eq!(on_disk(&reading.lines), wanted, "{told}");
}

/// Six events are twelve operations; the second fault falls into mending too.
#[test]
fn a_disk_that_fails_at_any_operation_loses_nothing_that_was_taken_for_written() {
    for fault in [Fault::Full, Fault::ReadOnly, Fault::Crash] {
        for first in 1..=13 {
            for second in 1..=8 {
                for seed in 0..6 {
                    trial(fault, first, second, seed);
                }
            }
        }
    }
}
