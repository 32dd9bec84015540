//! What an audit says of a register whose making is known.

use std::process::{Command, Output};

use evenfire::record::audit::line::JobLine;
use evenfire::record::folder;
use serde_json::Value;

use crate::shop::{Drawn, Register};

pub const JOBS: u64 = 60;

pub struct Shop {
    folder: tempfile::TempDir,
    register: Register,
}

impl Shop {
    pub fn made() -> Shop {
        let folder = tempfile::tempdir().unwrap();
        let mut register = Register::new(&folder.path().join("shop"), 200);
        register.add(JOBS);
        Shop { folder, register }
    }

    pub fn audit(&self, arguments: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_evenfire"))
            .args(["audit", "--shop"])
            .arg(self.register.shop.root())
            .args(arguments)
            .output()
            .unwrap()
    }

    pub fn says(&self, arguments: &[&str], status: i32) -> String {
        let out = self.audit(arguments);
        let said = String::from_utf8(out.stdout).unwrap();
        let complained = String::from_utf8_lossy(&out.stderr).into_owned();
        assert_eq!(out.status.code(), Some(status), "{said}{complained}");
        said
    }

    pub fn lines(&self) -> Vec<JobLine> {
        let out = self.audit(&["--full", "--no-memory", "--format", "ndjson"]);
        let text = String::from_utf8(out.stdout).unwrap();
        text.lines()
            .map(|line| serde_json::from_str(line).unwrap())
            .collect()
    }

    pub fn root(&self) -> &std::path::Path {
        self.register.shop.root()
    }

    pub fn path(&self, job: u64, name: &str) -> std::path::PathBuf {
        self.register
            .shop
            .jobs()
            .join(format!("{job:04}"))
            .join(name)
    }

    /// Make every file look as if nobody had touched it for a while.
    pub fn settle(&self) {
        std::thread::sleep(std::time::Duration::from_millis(2100));
    }
}

fn drawn() -> impl Iterator<Item = Drawn> {
    (1..=JOBS).map(Drawn).filter(|drawn| !drawn.is_practice())
}

pub fn count(which: impl Fn(Drawn) -> bool) -> u64 {
    drawn().filter(|drawn| which(*drawn)).count() as u64
}

#[test]
fn figures_are_those_that_were_drawn() {
    let shop = Shop::made();
    let whole: Value = serde_json::from_str(&shop.says(&["--format", "json"], 4)).unwrap();
    let figures = &whole["figures"];
    let number = |pointer: &str| {
        figures
            .pointer(pointer)
            .and_then(Value::as_u64)
            .unwrap_or(0)
    };
    let length = |name: &str| figures[name].as_array().unwrap().len() as u64;
    assert_eq!(number("/practice"), 3);
    assert_eq!(number("/jobs"), JOBS - 3);
    assert_eq!(
        length("open_countersignatures"),
        count(Drawn::awaits_decision)
    );
    assert_eq!(length("returned"), count(Drawn::is_returned));
    assert_eq!(number("/captures_refused"), count(Drawn::is_clipped));
    assert_eq!(number("/refused_because/clipped"), count(Drawn::is_clipped));
    assert_eq!(number("/captures_undecided"), count(Drawn::is_undecided));
    assert!(count(Drawn::is_undecided) > 0);
    let counted = |drawn: &Drawn| drawn.is_low() && !drawn.is_clipped();
    let leaks = |what: Option<bool>| count(|drawn| counted(&drawn) && drawn.leak_down() == what);
    assert_eq!(
        number("/leak_down_against_verdict/confirmed"),
        leaks(Some(true))
    );
    assert_eq!(
        number("/leak_down_against_verdict/held_air"),
        leaks(Some(false))
    );
    assert_eq!(number("/leak_down_against_verdict/not_tested"), leaks(None));
    assert!(leaks(Some(true)) > 0 && leaks(Some(false)) > 0 && leaks(None) > 0);
    assert_eq!(
        number("/lapsed_conditions/fuel off"),
        count(|d| d.0 % 8 == 2)
    );
    let six = "/outcomes_by_layout/6 cylinders, 1-5-3-6-2-4, petrol/no-verdict";
    assert_eq!(
        number(six),
        count(|d| d.is_six() && (d.is_clipped() || d.is_undecided()))
    );
    let visits = figures["repeat_visits"].as_object().unwrap();
    let twice = count(|d| d.0 % 4 == 1 && d.0 <= 30 && (d.0 + 30) % 4 == 1);
    assert_eq!(visits.len() as u64, twice);
    assert_eq!(whole["wrong"].as_array().unwrap().len(), 0);
}

/// The technician's key ends before anything was signed: nothing is sound, and nothing is counted; least
/// of all is practice then taken for work: it is left out, and a remark counts it. A job that says later that it is practice hides nothing.
#[test]
fn what_is_unsound_is_counted_nowhere() {
    let shop = Shop::made();
    let roster = shop.register.shop.roster_file();
    let text = std::fs::read_to_string(&roster).unwrap();
    let whole =
        |arguments: &[&str]| -> Value { serde_json::from_str(&shop.says(arguments, 1)).unwrap() };
    let ended = text.replace(
        "technician@evenfire\"",
        "technician@evenfire\",valid-before=\"20260101Z\"",
    );
    std::fs::write(&roster, ended).unwrap();
    let audit = whole(&["--format", "json"]);
    let figures = &audit["figures"];
    assert_eq!(figures["by_status"], serde_json::json!({"unsound": 57}));
    assert_eq!(figures["unsound"].as_array().unwrap().len(), 57);
    assert_eq!(
        (&figures["left_out"], &figures["captures"]),
        (&3.into(), &0.into())
    );
    assert_eq!(figures["outcomes_by_layout"], serde_json::json!({}));
    let said = shop.says(&[], 1);
    assert!(
        said.contains("57 jobs; 3 practice jobs left out."),
        "{said}"
    );
    assert!(
        said.contains("57 jobs not sound or done again are counted nowhere below (0001, "),
        "{said}"
    );
    assert!(said.contains("3 practice jobs left out that"), "{said}");
    std::fs::write(&roster, text).unwrap();
    let mut record: Value =
        serde_json::from_slice(&std::fs::read(shop.path(4, folder::RECORD)).unwrap()).unwrap();
    // the job after it names one that is practice now, so the chain breaks there
    record["practice"] = serde_json::json!(["a simulated capture"]);
    std::fs::write(shop.path(4, folder::RECORD), record.to_string()).unwrap();
    let said = shop.says(&[], 1);
    assert!(
        said.contains("WRONG   0004: ")
            && said
                .contains("2 jobs not sound or done again are counted nowhere below (0004, 0005)."),
        "{said}"
    );
}

#[test]
fn a_text_for_people_says_the_same() {
    let shop = Shop::made();
    let said = shop.says(&[], 4);
    for words in [
        "57 jobs; 3 practice jobs left out.",
        "Every job was read.",
        "Await a lead's decision: ",
        "Returned by the lead and standing so: ",
        "the suspected cylinder was tested",
        "and held air in 4 (0012, 0036, 0048, 0060).",
        "failed a check (one can fail several)",
        "sound so far, but not all is finished",
    ] {
        assert!(
            said.to_lowercase().contains(&words.to_lowercase()),
            "{words}:\n{said}"
        );
    }
}

#[test]
fn what_was_verified_is_believed_until_it_changes() {
    let mut shop = Shop::made();
    shop.settle();
    shop.says(&[], 4);
    let again = shop.says(&[], 4);
    assert!(again.contains("0 jobs read; 60 NOT read again"), "{again}");
    shop.register.add(2);
    std::fs::write(shop.path(5, folder::REPORT), "<p>changed</p>").unwrap();
    let changed = shop.says(&[], 4);
    assert!(
        changed.contains("3 jobs read; 59 NOT read again"),
        "{changed}"
    );
    assert!(
        changed.contains("`evenfire report JOB`: 1\n  0005"),
        "{changed}"
    );
    let full = shop.says(&["--full"], 4);
    assert!(full.contains("nothing was believed"), "{full}");
    // the roster decides who counts: another one makes all of it void
    let roster = shop.register.shop.roster_file();
    let text = std::fs::read_to_string(&roster).unwrap();
    std::fs::write(&roster, format!("# looked at again\n{text}")).unwrap();
    let void = shop.says(&[], 4);
    assert!(void.contains("have changed since"), "{void}");
}

#[test]
fn a_byte_changed_under_its_old_time_is_still_found() {
    let shop = Shop::made();
    shop.settle();
    shop.says(&[], 4);
    let file = shop.path(9, folder::RECORD);
    let old = std::fs::metadata(&file).unwrap().modified().unwrap();
    let mut bytes = std::fs::read(&file).unwrap();
    let at = bytes.len() / 2;
    bytes[at] ^= 1;
    std::fs::write(&file, bytes).unwrap();
    let opened = std::fs::File::options().write(true).open(&file).unwrap();
    opened.set_modified(old).unwrap();
    let said = shop.says(&["--full", "--no-memory"], 1);
    assert!(said.contains("WRONG   0009: "), "{said}");
    #[cfg(unix)]
    {
        let said = shop.says(&[], 1);
        assert!(said.contains("WRONG   0009: "), "{said}");
    }
}

#[test]
fn a_job_that_is_taken_out_is_missed() {
    let shop = Shop::made();
    shop.settle();
    shop.says(&[], 4);
    std::fs::remove_dir_all(shop.path(30, "")).unwrap();
    std::fs::remove_dir_all(shop.path(JOBS, "")).unwrap();
    // the chain tells of one inside it, its end only what was remembered
    let elsewhere = shop.folder.path().join("memory");
    let full = shop.says(&["--full", "--memory", elsewhere.to_str().unwrap()], 1);
    assert!(
        full.contains("WRONG   0031: the job that was sealed before it"),
        "{full}"
    );
    assert!(!full.contains("WRONG   0060"), "{full}");
    assert!(
        full.contains("1 job number without a folder (0030): a sealed job"),
        "{full}"
    );
    let said = shop.says(&[], 1);
    assert!(said.contains("WRONG   0060: it was here when"), "{said}");
}

/// The last job is gone: the chain is whole, and only the memory tells; every time, until it is back.
#[test]
fn a_loss_is_told_until_the_folder_is_back() {
    let mut shop = Shop::made();
    // no time to settle: nothing is believed of these files yet, and yet they were seen
    shop.says(&[], 4);
    let (own, aside) = (shop.path(JOBS, ""), shop.folder.path().join("aside"));
    std::fs::rename(&own, &aside).unwrap();
    let gone = "WRONG   0060: it was here when the register was audited before, and is gone; first missed on 2";
    for arguments in [&[][..], &[], &["--full"], &["--no-memory"], &["--practice"]] {
        let said = shop.says(arguments, 1);
        assert!(said.contains(gone), "{arguments:?}: {said}");
    }
    // another ground makes void what is believed, not what was seen
    let roster = shop.register.shop.roster_file();
    let text = std::fs::read_to_string(&roster).unwrap();
    std::fs::write(&roster, format!("# looked at again\n{text}")).unwrap();
    let memory = shop.register.shop.root().join("audit-trust.ndjson");
    let kept = std::fs::read_to_string(&memory).unwrap();
    let day = kept.find("\"missed\":\"").unwrap() + 10;
    let first = format!("{}1999-12-31{}", &kept[..day], &kept[day + 10..]);
    std::fs::write(&memory, first).unwrap();
    for _ in 0..2 {
        let said = shop.says(&[], 1);
        assert!(said.contains("first missed on 1999-12-31"), "{said}");
    }
    std::fs::rename(&aside, &own).unwrap();
    let back = shop.says(&[], 4);
    assert!(!back.contains("WRONG"), "{back}");
    // a new job under the old number is not the old one
    std::fs::rename(&own, &aside).unwrap();
    shop.register.anew(JOBS);
    for _ in 0..2 {
        let other = shop.says(&[], 1);
        assert!(
            other.contains("WRONG   0060: another job lay here"),
            "{other}"
        );
    }
}

#[test]
fn hostile_folders_stop_nothing_and_steer_nothing() {
    let shop = Shop::made();
    let jobs = shop.register.shop.jobs();
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("/", jobs.join("0061")).unwrap();
        std::os::unix::fs::symlink("/etc/passwd", shop.path(8, "captures/2.csv")).unwrap();
        std::fs::create_dir(jobs.join("\u{1b}[2J")).unwrap();
    }
    std::fs::write(jobs.join("0062"), "no folder").unwrap();
    std::fs::create_dir(jobs.join("0063")).unwrap();
    std::fs::write(shop.path(63, folder::MANIFEST), "\u{1b}]0;x\u{7}").unwrap();
    std::fs::write(shop.path(63, folder::JOURNAL), "[".repeat(200_000)).unwrap();
    let mut record: Value =
        serde_json::from_slice(&std::fs::read(shop.path(4, folder::RECORD)).unwrap()).unwrap();
    // who claims to be practice after signing is not let off
    record["practice"] = serde_json::json!(["\u{1b}[31m not me"]);
    std::fs::write(shop.path(4, folder::RECORD), record.to_string()).unwrap();
    for format in ["text", "ndjson", "csv", "json"] {
        let said = shop.says(&["--format", format], 1);
        let steers = |c: char| c.is_control() && c != '\n' && c != '\r';
        assert!(!said.contains(steers), "{format}");
    }
    let said = shop.says(&[], 1);
    for job in ["0004", "0061", "0062", "0063", "0008"] {
        let told = format!("WRONG   {job}: ");
        assert!(cfg!(not(unix)) || said.contains(&told), "{job}:\n{said}");
    }
    let lines = shop.lines();
    assert!(
        lines
            .iter()
            .any(|line| line.job == "0004" && line.status == "unsound")
    );
    drop(shop.folder);
}

#[test]
fn every_field_of_a_line_is_described() {
    let shop = Shop::made();
    let described = include_str!("../../src/record/audit/README.md");
    let line: Value = serde_json::to_value(&shop.lines()[0]).unwrap();
    let fields = line.as_object().unwrap();
    for name in fields.keys() {
        assert!(
            described.contains(&format!("| `{name}` |")),
            "{name} is not described"
        );
    }
    assert_eq!(described.matches("\n| `").count(), fields.len());
}
