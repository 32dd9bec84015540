//! A shop that is not there, is none, or has lost what makes it one: what is missing, and how to go on.

use std::path::Path;

use crate::bundle::Bundle;
use crate::commands::{evenfire, ran, text};

/// What every command that needs a shop says, on one line; nothing is done.
fn told(shop: &Path) -> String {
    let mut all = Vec::new();
    for command in [
        &["verify", "1"][..],
        &["audit"],
        &["jobs"],
        &["countersign"],
    ] {
        let (status, out, err) = ran(evenfire(command).arg("--shop").arg(shop));
        assert_eq!((status, out.as_str()), (2, ""), "{command:?}: {err}");
        all.push(err);
    }
    all.dedup();
    assert_eq!(all.len(), 1, "{all:?}");
    all.remove(0)
}

#[test]
fn a_folder_that_is_missing_or_no_shop_is_told_with_the_way_on() {
    let folder = tempfile::tempdir().unwrap();
    let none = folder.path().join("our-shop");
    let place = text(&none);
    assert_eq!(
        told(&none),
        format!("{place}: there is no such folder; name a shop's folder with --shop\n")
    );
    std::fs::create_dir(&none).unwrap();
    assert_eq!(
        told(&none),
        format!(
            "{place}: not a shop: it has no policy.yaml; make a shop with `evenfire init`, or name one with --shop\n"
        )
    );
}

/// Whoever stands in the shop is told what it has lost, and not that there is none.
#[test]
fn what_a_shop_has_lost_is_told_in_its_folder_too() {
    let bundle = Bundle::signed();
    let root = bundle.shop.root();
    for (file, told) in [
        ("policy.yaml", "the shop's policy is missing"),
        ("allowed_signers", "the roster is missing"),
    ] {
        let bytes = std::fs::read(root.join(file)).unwrap();
        std::fs::remove_file(root.join(file)).unwrap();
        let (status, _, err) = ran(evenfire(&["audit"])
            .current_dir(root.join("jobs"))
            .env_remove("EVENFIRE_SHOP"));
        assert_eq!(status, 2, "{err}");
        assert!(err.contains(file) && err.contains(told), "{err}");
        std::fs::write(root.join(file), bytes).unwrap();
    }
}

/// Whoever makes a new policy in place of the lost one would change what old jobs are held against.
#[test]
fn a_lost_policy_is_put_back_and_not_made_anew() {
    let bundle = Bundle::signed();
    let root = bundle.shop.root();
    let policy = root.join("policy.yaml");
    std::fs::remove_file(&policy).unwrap();
    let place = text(&policy);
    let wanted = format!(
        "{place}: the shop's policy is missing: put it back from a backup. What jobs are held against stands in it\n"
    );
    assert_eq!(told(root), wanted);
    // the jobs alone tell that there was a shop
    std::fs::remove_file(root.join("allowed_signers")).unwrap();
    assert_eq!(told(root), wanted);
}
