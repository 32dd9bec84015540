//! Practice jobs in the register, and folders that are no job yet.

use evenfire::record::audit::line::JobLine;
use serde_json::Value;

use crate::register::{JOBS, Shop};
use crate::shop::Drawn;

/// For exercise: the same, of the jobs that are left out otherwise.
#[test]
fn practice_is_audited_where_that_is_asked_for() {
    let shop = Shop::made();
    let said = shop.says(&["--practice"], 0);
    assert!(
        said.contains("3 PRACTICE jobs; 57 jobs left out."),
        "{said}"
    );
    let out = shop.audit(&["--practice", "--format", "ndjson"]);
    let lines = String::from_utf8(out.stdout).unwrap();
    let of_practice = |line: &str| serde_json::from_str::<JobLine>(line).unwrap().practice;
    assert_eq!(lines.lines().filter(|line| of_practice(line)).count(), 3);
    assert_eq!(lines.lines().count(), 3);
    assert!(shop.lines().iter().all(|line| !line.practice));
    let json = String::from_utf8(shop.audit(&["--practice", "--format", "json"]).stdout).unwrap();
    let whole: Value = serde_json::from_str(&json).unwrap();
    let figures = &whole["figures"];
    assert_eq!(
        (&figures["practice"], &figures["jobs"]),
        (&3.into(), &3.into())
    );
    assert_eq!(figures["left_out"], 57);
}

/// Practice is in no chain: nothing is claimed of one that was taken away, and one that was seen is told.
#[test]
fn of_practice_that_is_gone_no_chain_tells() {
    let shop = Shop::made();
    let practice: Vec<u64> = (1..=JOBS).filter(|job| Drawn(*job).is_practice()).collect();
    let no_chain = "no chain tells whether one was taken away";
    assert!(shop.says(&["--practice"], 0).contains(no_chain));
    std::fs::remove_dir_all(shop.path(practice[0], "")).unwrap();
    let gone = format!(
        "1 practice job that earlier audits saw: gone now ({:04})",
        practice[0]
    );
    for _ in 0..2 {
        let said = shop.says(&["--practice"], 0);
        assert!(
            said.contains(no_chain) && !said.contains("chain is whole"),
            "{said}"
        );
        assert!(
            said.contains("the chain does not tell whether practice"),
            "{said}"
        );
        assert!(said.contains(&gone), "{said}");
    }
    let said = shop.says(&[], 4);
    assert!(!said.contains("earlier audits saw"), "{said}");
}

/// As a full disk leaves it: no job yet, so nothing is missed where it is deleted.
#[test]
fn an_empty_folder_that_is_deleted_is_not_missed() {
    let shop = Shop::made();
    std::fs::create_dir(shop.path(JOBS + 1, "")).unwrap();
    shop.settle();
    for _ in 0..2 {
        let said = shop.says(&[], 4);
        assert!(said.contains("Not sealed yet: 1\n  0061"), "{said}");
    }
    std::fs::remove_dir(shop.path(JOBS + 1, "")).unwrap();
    let said = shop.says(&[], 4);
    assert!(!said.contains("WRONG"), "{said}");
}
