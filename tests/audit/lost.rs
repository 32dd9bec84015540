//! What is told of jobs that cannot be found, and of a memory that cannot be read.

use evenfire::record::folder;

use crate::register::{JOBS, Shop};

/// Its end cut off in the middle of a line, as a full disk does.
#[test]
fn a_damaged_memory_is_kept_and_told() {
    let shop = Shop::made();
    shop.says(&[], 4);
    let memory = shop.root().join("audit-trust.ndjson");
    let kept = std::fs::read(&memory).unwrap();
    let cut = &kept[..kept.len() - 20];
    std::fs::write(&memory, cut).unwrap();
    std::fs::remove_dir_all(shop.path(JOBS, "")).unwrap();
    let said = shop.says(&[], 4);
    assert!(
        said.contains("whether jobs were taken off the end of the chain, or decisions or amendments removed, cannot be told"),
        "{said}"
    );
    assert!(said.contains("audit-trust.ndjson.damaged-1"), "{said}");
    let aside = shop.root().join("audit-trust.ndjson.damaged-1");
    assert_eq!(std::fs::read(aside).unwrap(), cut);
    let said = shop.says(&[], 4);
    assert!(!said.contains("cannot be told"), "{said}");
}

/// Nothing is remembered: that is told at the first audit, and where the memory was taken away with the last job.
#[test]
fn a_memory_that_is_not_there_is_told() {
    let shop = Shop::made();
    let none = "No earlier audit is remembered here";
    assert!(shop.says(&[], 4).contains(none));
    assert!(!shop.says(&[], 4).contains(none));
    std::fs::remove_file(shop.root().join("audit-trust.ndjson")).unwrap();
    std::fs::remove_dir_all(shop.path(JOBS, "")).unwrap();
    let said = shop.says(&[], 4);
    assert!(said.contains(none), "{said}");
}

/// Everything that a lead signed over a job is taken away: what is left is a job like any that waits, and only the
/// memory tells, until it is back.
#[test]
fn a_decision_that_was_taken_away_is_told() {
    let shop = Shop::made();
    let mut lines = shop.lines().into_iter();
    let accepted = lines
        .find(|line| line.status == "sound" && line.decision.is_some() && line.amendments == 0)
        .unwrap();
    let number = accepted.job.parse().unwrap();
    shop.says(&[], 4);
    let files = [
        folder::DECISION,
        folder::COUNTERSIGN,
        folder::COUNTERSIGNATURE,
    ];
    let files = files.map(|name| shop.path(number, name));
    let kept = files.clone().map(|file| std::fs::read(file).unwrap());
    for file in &files {
        std::fs::remove_file(file).unwrap();
    }
    let gone = format!(
        "WRONG   {}: an earlier audit saw it accepted by {}",
        accepted.job,
        accepted.lead.unwrap()
    );
    for arguments in [&[][..], &["--full"], &["--no-memory"]] {
        let said = shop.says(arguments, 1);
        assert!(said.contains(&gone), "{arguments:?}: {said}");
        assert!(
            said.contains("that decision is gone; first missed on 2"),
            "{said}"
        );
    }
    for (file, bytes) in files.iter().zip(kept) {
        std::fs::write(file, bytes).unwrap();
    }
    let back = shop.says(&[], 4);
    assert!(!back.contains("WRONG"), "{back}");
}

/// Lines for other programs have none for a job that is gone: it is told beside them.
#[test]
fn what_is_wrong_is_told_beside_lines_for_other_programs() {
    let shop = Shop::made();
    shop.says(&[], 4);
    std::fs::remove_dir_all(shop.path(JOBS, "")).unwrap();
    for format in ["csv", "ndjson"] {
        let out = shop.audit(&["--format", format]);
        let told = String::from_utf8(out.stderr).unwrap();
        assert!(
            told.contains("WRONG   0060: it was here"),
            "{format}: {told}"
        );
    }
}

/// A folder that was renamed says which job it is, and how to mend it; a copy is told from it.
#[test]
fn a_renamed_folder_is_told_by_its_number() {
    let shop = Shop::made();
    shop.says(&[], 4);
    let (own, old) = (
        shop.path(9, ""),
        shop.path(9, "").with_file_name("old-0009"),
    );
    std::fs::rename(&own, &old).unwrap();
    let said = shop.says(&[], 1);
    let mend = "\"old-0009\" among the jobs says that it is job 0009: rename it back to 0009";
    let missed = said
        .lines()
        .find(|line| line.starts_with("WRONG   0009"))
        .unwrap();
    assert!(missed.contains(mend), "{said}");
    assert!(said.ends_with("NOT SOUND: 0009, 0010\n"), "{said}");
    std::fs::create_dir(&own).unwrap();
    let said = shop.says(&[], 1);
    assert!(
        said.contains("job 0009, which is there as well: move the copy"),
        "{said}"
    );
}

/// Who opens a report by a file manager leaves its file there: not sound, but told apart, and how to mend it.
#[test]
fn what_a_file_manager_leaves_is_told_with_its_path() {
    let shop = Shop::made();
    for (job, name) in [(1, ".DS_Store"), (2, "report.html~"), (3, "other.txt")] {
        std::fs::write(shop.path(job, name), "x").unwrap();
    }
    let said = shop.says(&[], 1);
    for (job, name) in [(1, ".DS_Store"), (2, "report.html~")] {
        let told = format!(
            "jobs/{job:04}/{name}\" was left by a file manager or an editor and is in no manifest: delete it"
        );
        assert!(said.contains(&told), "{said}");
    }
    assert!(
        said.contains("\"other.txt\" is in the folder and in no manifest"),
        "{said}"
    );
    assert!(said.ends_with("NOT SOUND: 0001, 0002, 0003\n"), "{said}");
    for (job, name) in [(1, ".DS_Store"), (2, "report.html~"), (3, "other.txt")] {
        std::fs::remove_file(shop.path(job, name)).unwrap();
    }
    shop.says(&[], 4);
}
