use std::collections::BTreeMap;

use super::*;
use crate::run::event::{Answer, Opening};

/// A storage in memory that can fail after a number of bytes.
#[derive(Debug, Default, Clone)]
struct Memory {
    bytes: Vec<u8>,
    aside: BTreeMap<String, Vec<u8>>,
    room: Option<usize>,
}

impl Storage for Memory {
    fn read(&mut self) -> io::Result<Vec<u8>> {
        Ok(self.bytes.clone())
    }
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let room = self.room.unwrap_or(usize::MAX);
        let fits = room.saturating_sub(self.bytes.len()).min(bytes.len());
        self.bytes.extend(&bytes[..fits]);
        if fits < bytes.len() {
            return Err(io::Error::from(io::ErrorKind::StorageFull));
        }
        Ok(())
    }
    fn sync(&mut self) -> io::Result<()> {
        Ok(())
    }
    fn truncate(&mut self, length: u64) -> io::Result<()> {
        self.bytes.truncate(length as usize);
        Ok(())
    }
    fn keep_aside(&mut self, name: &str, bytes: &[u8]) -> io::Result<()> {
        if self.aside.contains_key(name) {
            return Err(io::Error::from(io::ErrorKind::AlreadyExists));
        }
        self.aside.insert(name.to_owned(), bytes.to_vec());
        Ok(())
    }
}

pub(super) fn events() -> Vec<Stamped> {
    let stamped = |event| Stamped {
        at: "2026-03-02T08:00:00Z".to_owned(),
        event,
    };
    let answer = |text: &str| Event::Answered {
        step: "complaint".to_owned(),
        answer: Answer::Text {
            text: text.to_owned(),
        },
    };
    vec![
        stamped(Event::Opened(Opening {
            job: "0001".to_owned(),
            shop: "Cinder Lane Workshop".to_owned(),
            technician: "mira@cinderlane.example".to_owned(),
            practice: Vec::new(),
            simulated_clock: false,
            procedure: "look".to_owned(),
            procedures: Vec::new(),
            low_percent: 85.0,
            needs: Default::default(),
            limits: Default::default(),
            breaks_and_waivers: Default::default(),
            tool: "evenfire".to_owned(),
        })),
        stamped(answer("cold start \"rough\", 3 °C")),
        stamped(answer("{\"n\":4,\"ev\":{}}}")),
    ]
}

fn whole() -> Vec<u8> {
    let mut journal = Journal::begin(Memory::default());
    for event in events() {
        assert_eq!(journal.append(&event).unwrap(), event);
    }
    journal.storage.bytes
}

fn opened(bytes: &[u8]) -> Result<Opened<Memory>, JournalError> {
    Journal::open(Memory {
        bytes: bytes.to_vec(),
        ..Memory::default()
    })
}

#[test]
fn what_was_written_is_read_back() {
    let reading = read(&whole()).unwrap();
    let read: Vec<Stamped> = reading
        .lines
        .iter()
        .map(|line| line.event.clone())
        .collect();
    assert_eq!(read, events());
    assert_eq!(reading.torn, None);
}

/// The chain by stock `sha256sum`, outside this program.
#[test]
fn the_hash_is_what_sha256sum_says() {
    use std::io::Write as _;
    use std::process::{Command, Stdio};
    let bytes = whole();
    let text = String::from_utf8(bytes.clone()).unwrap();
    let mut previous = FIRST_PREVIOUS.to_owned();
    for (line, n) in text.lines().zip(1..) {
        let ev = line.split_once("\"ev\":").unwrap().1;
        let ev = &ev[..ev.len() - 1];
        let mut sum = Command::new("sha256sum")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("sha256sum (coreutils) is needed for this test");
        let chained = format!("{previous}\n{n}\n{ev}");
        let mut input = sum.stdin.take().unwrap();
        input.write_all(chained.as_bytes()).unwrap();
        drop(input);
        let out = sum.wait_with_output().unwrap().stdout;
        previous = String::from_utf8(out).unwrap()[..64].to_owned();
        assert!(line.contains(&format!("\"h\":\"{previous}\"")), "line {n}");
    }
    assert_eq!(read(&bytes).unwrap().head(), previous);
}

#[test]
fn a_tail_torn_at_any_byte_is_kept_cut_and_gone_on_from() {
    let bytes = whole();
    let last = bytes[..bytes.len() - 1]
        .iter()
        .rposition(|byte| *byte == b'\n')
        .unwrap()
        + 1;
    for end in last + 1..bytes.len() {
        let (mut journal, lines, cut) = opened(&bytes[..end]).unwrap();
        assert_eq!(lines.len(), 2, "torn at {end}");
        let cut = cut.unwrap();
        assert_eq!(cut.bytes, (end - last) as u64);
        assert_eq!(journal.storage.aside["journal.torn-1"], bytes[last..end]);
        assert_eq!(journal.storage.bytes, bytes[..last]);
        let mended = Stamped {
            at: "2026-03-02T09:00:00Z".to_owned(),
            event: cut.event(),
        };
        journal.append(&mended).unwrap();
        assert_eq!(read(&journal.storage.bytes).unwrap().lines[2].event, mended);
    }
}

#[test]
fn nulls_that_a_crash_left_behind_count_as_torn() {
    for tail in [&b"\0\0\0\0"[..], b"{\"n\":4,\0\0\0\n", b"\0\n"] {
        let mut bytes = whole();
        let length = bytes.len();
        bytes.extend(tail);
        let (journal, lines, cut) = opened(&bytes).unwrap();
        assert_eq!((lines.len(), journal.storage.bytes.len()), (3, length));
        assert_eq!(cut.unwrap().bytes, tail.len() as u64);
    }
}

#[test]
fn a_second_torn_tail_never_overwrites_the_first() {
    let mut bytes = whole();
    bytes.extend(b"{\"n\":");
    let mut storage = Memory {
        bytes,
        ..Memory::default()
    };
    storage.aside.insert("journal.torn-1".to_owned(), vec![1]);
    let (journal, _, cut) = Journal::open(storage).unwrap();
    assert_eq!(cut.unwrap().kept_in, "journal.torn-2");
    assert_eq!(journal.storage.aside["journal.torn-1"], vec![1]);
}

/// Every byte of the journal changed in two ways: it is refused, or what is left after the cut is a
/// prefix of what was written. Never is something else read.
#[test]
fn a_changed_byte_is_never_believed() {
    let bytes = whole();
    let events = events();
    for at in 0..bytes.len() {
        for flip in [0x01, 0x20] {
            let mut changed = bytes.clone();
            changed[at] ^= flip;
            let Ok(reading) = read(&changed) else {
                continue;
            };
            assert!(reading.torn.is_some(), "byte {at} was believed");
            let read: Vec<Stamped> = reading.lines.into_iter().map(|line| line.event).collect();
            assert_eq!(read, events[..read.len()], "byte {at}");
            assert_eq!(at, bytes.len() - 1, "only the last line feed may look torn");
        }
    }
}

#[test]
fn other_damage_names_its_line_and_repairs_nothing() {
    let text = String::from_utf8(whole()).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let cases = [
        (format!("{}\n{}\n", lines[0], lines[2]), 2),
        (format!("{}\n\n{}\n", lines[0], lines[1]), 2),
        (format!("{}\n{}\n", lines[1], lines[2]), 1),
        (text.replace("rough", "fine!"), 2),
        (format!("{text}{}\n", lines[2]), 4),
    ];
    for (damaged, wanted) in cases {
        match opened(damaged.as_bytes()) {
            Err(JournalError::Damaged { line, .. }) => assert_eq!(line, wanted, "{damaged}"),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn an_empty_or_first_line_torn_journal_never_began() {
    let bytes = whole();
    for end in [0, 1, 40] {
        let opened = opened(&bytes[..end]);
        assert!(matches!(opened, Err(JournalError::Empty)));
    }
}

#[test]
fn a_failed_write_stops_for_good_and_loses_nothing() {
    let length = whole().len();
    for room in 0..length {
        let mut journal = Journal::begin(Memory {
            room: Some(room),
            ..Memory::default()
        });
        let mut kept = Vec::new();
        for event in events() {
            match journal.append(&event) {
                Ok(event) => kept.push(event),
                Err(_) => break,
            }
        }
        assert!(kept.len() < 3);
        let again = journal.append(&events()[1]);
        assert!(matches!(again, Err(JournalError::Stopped)));
        let reading = read(&journal.storage.bytes).unwrap();
        let read: Vec<Stamped> = reading.lines.into_iter().map(|line| line.event).collect();
        assert_eq!(read, kept);
    }
}

#[test]
fn a_second_run_on_the_same_journal_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let mut journal = Journal::begin(Disk::create(folder.path()).unwrap());
    journal.append(&events()[0]).unwrap();
    assert!(matches!(
        Disk::open(folder.path()),
        Err(JournalError::InUse(_))
    ));
    assert!(Disk::create(folder.path()).is_err());
    drop(journal);
    let (journal, lines, cut) = Journal::open(Disk::open(folder.path()).unwrap()).unwrap();
    assert_eq!((journal.lines(), lines.len(), cut), (1, 1, None));
}
