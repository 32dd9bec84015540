//! An audit of a period.

use evenfire::record::folder;
use serde_json::Value;

use crate::register::{Shop, count};

/// All jobs of the register were sealed on one day: it is in its own period, and before that of the next.
#[test]
fn figures_of_a_period_say_so_and_hide_nothing_unsound() {
    let shop = Shop::made();
    let json = |arguments: &[&str], status| -> Value {
        let arguments = [arguments, &["--format", "json"]].concat();
        serde_json::from_str(&shop.says(&arguments, status)).unwrap()
    };
    let all = json(&[], 4);
    let mut same = json(&["--since", "2026-03-02"], 4);
    assert_eq!(same["figures"]["since"], "2026-03-02");
    same["figures"]["since"] = Value::Null;
    assert_eq!(same["figures"], all["figures"]);
    assert_eq!(same["jobs"], all["jobs"]);

    let none = json(&["--since", "2026-03-03"], 0);
    let jobs = count(|_| true);
    assert_eq!(none["figures"]["earlier"], jobs);
    assert_eq!(
        (&none["figures"]["jobs"], &none["jobs"]),
        (&0.into(), &serde_json::json!([]))
    );
    let said = shop.says(&["--since", "2026-03-03"], 0);
    let head =
        format!("0 jobs since 2026-03-03 (UTC); {jobs} earlier and 0 practice jobs left out.");
    assert!(
        said.contains(&head) && !said.contains("Captures: "),
        "{said}"
    );

    // a month that is over: the last day is of it
    let mut whole = json(&["--since", "2026-03-01", "--until", "2026-03-02"], 4);
    assert_eq!(whole["figures"]["until"], "2026-03-02");
    for day in ["since", "until"] {
        whole["figures"][day] = Value::Null;
    }
    assert_eq!(whole["figures"], all["figures"]);
    let before = shop.says(&["--until", "2026-03-01"], 0);
    let head = format!("0 jobs until 2026-03-01 (UTC); {jobs} later and 0 practice jobs left out.");
    assert!(before.contains(&head), "{before}");

    std::fs::write(shop.path(9, folder::RECORD), "{}").unwrap();
    std::fs::remove_dir_all(shop.path(30, "")).unwrap();
    let said = shop.says(&["--since", "2026-03-03"], 1);
    for told in ["WRONG   0009: ", "WRONG   0031: ", "0 jobs since"] {
        assert!(said.contains(told), "{told}: {said}");
    }
    let out = shop.audit(&["--since", "3.3.2026"]);
    let told = String::from_utf8(out.stderr).unwrap();
    assert!(
        out.status.code() == Some(2) && told.contains("as in 2026-11-01"),
        "{told}"
    );
    let out = shop.audit(&["--since", "2026-03-03", "--until", "2026-03-02"]);
    let told = String::from_utf8(out.stderr).unwrap();
    assert!(
        out.status.code() == Some(2) && told.contains("--until lies before --since"),
        "{told}"
    );
    assert!(out.stdout.is_empty());
}
