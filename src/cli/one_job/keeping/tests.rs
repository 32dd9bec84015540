use super::*;

#[test]
fn paths_are_taken_as_they_are_dropped() {
    assert_eq!(as_typed(" 'a b.csv' "), PathBuf::from("a b.csv"));
    assert_eq!(as_typed("\"a.csv\""), PathBuf::from("a.csv"));
    assert_eq!(as_typed("it's.csv"), PathBuf::from("it's.csv"));
    let home = as_typed("~/a.csv");
    assert!(home.is_absolute() && home.ends_with("a.csv"));
}

#[test]
fn copies_are_numbered_and_what_was_simulated_is_marked() {
    let folder = tempfile::tempdir().unwrap();
    let job = JobFolder::at(folder.path().join("0001"));
    fs_err::create_dir_all(job.file(folder::CAPTURES)).unwrap();
    let table = "t,u\n0,1\n1,2\n";
    let own = folder.path().join("own.csv");
    fs_err::write(&own, table).unwrap();
    let mut captures = Captures {
        job: &job,
        shop: None,
    };
    let path = own.to_str().unwrap();
    let mut refused = |says: &str| {
        let refused = captures.keep(path, None).unwrap_err().to_string();
        assert!(refused.contains(says), "{refused}");
    };
    refused("own.setup.yaml");
    fs_err::write(beside(&own, SETUP), "engine: {}\n").unwrap();
    refused("own.setup.yaml:1:");
    let setup =
        "engine: {cylinders: 1, firing_order: [1]}\nchannels: {battery_voltage: {column: u}}\n";
    fs_err::write(beside(&own, SETUP), setup).unwrap();
    fs_err::write(&own, "t,u\n0,1\n1,x\n").unwrap();
    refused("own.csv:3:2: column \"u\" must hold a number");
    assert_eq!(
        fs_err::read_dir(job.file(folder::CAPTURES))
            .unwrap()
            .count(),
        0
    );
    fs_err::write(&own, table).unwrap();
    let first = captures.keep(path, None).unwrap();
    assert_eq!((first.file.as_str(), first.bytes), ("captures/1.csv", 12));
    assert_eq!(first.sha256, digest::of_bytes(table.as_bytes()));
    assert_eq!(first.original, "own.csv");
    assert!(!first.simulated);
    assert!(
        first.understood[0].contains("separated by comma"),
        "{:?}",
        first.understood
    );
    // a slip of the hand, of which no hash is kept and no crank is counted
    let beside_it = captures.keep(beside(&own, SETUP).to_str().unwrap(), None);
    assert!(
        matches!(beside_it, Err(Unkept::Refused(why)) if why.contains("named .yaml is no recording"))
    );
    fs_err::write(beside(&own, TRUTH), "leaks: {}\n").unwrap();
    let second = captures.keep(path, None).unwrap();
    assert_eq!(second.setup, "captures/2.setup.yaml");
    assert!(second.simulated);
    assert!(
        captures
            .keep("none.csv", None)
            .unwrap_err()
            .to_string()
            .contains("no such file")
    );
    let is_folder = captures.keep(folder.path().to_str().unwrap(), None);
    assert!(is_folder.unwrap_err().to_string().contains("is no file"));
}

#[test]
fn the_clamp_of_the_day_is_kept_with_the_capture() {
    let folder = tempfile::tempdir().unwrap();
    let shop = Shop::create(&folder.path().join("shop"), "Test shop", "").unwrap();
    let job = shop.new_job().unwrap();
    let own = folder.path().join("own.csv");
    fs_err::write(&own, "t,u (mV)\n0,100\n1,200\n").unwrap();
    let setup = "engine: {cylinders: 1, firing_order: [1]}\n\
                 channels: {starter_current: {column: u, clamp: big}}\n";
    fs_err::write(beside(&own, SETUP), setup).unwrap();
    let mut captures = Captures {
        job: &job,
        shop: Some(&shop),
    };
    let path = own.to_str().unwrap();
    let refused = captures.keep(path, None).unwrap_err().to_string();
    assert!(refused.contains("no shop's list"), "{refused}");
    let list = "clamps: {big: {millivolt_per_ampere: 1, range: 1000}}\n";
    fs_err::write(shop.root().join("clamps.yaml"), list).unwrap();
    let kept = captures.keep(path, None).unwrap();
    assert_eq!(kept.clamp.unwrap().range, 1000.0);
    let lines = kept.understood.join("; ");
    assert!(
        lines.contains("100 to 200 A, in a range of ±1000 A; clamp \"big\""),
        "{lines}"
    );
}

/// Another vehicle's file is refused where it is named, and nothing of it is left in the job.
#[test]
fn a_set_up_of_another_engine_is_refused_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let shop = Shop::create(&folder.path().join("shop"), "Test shop", "").unwrap();
    let job = shop.new_job().unwrap();
    let own = folder.path().join("own.csv");
    fs_err::write(&own, "t,u\n0,1\n1,2\n").unwrap();
    let setup = "engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}\nchannels: {battery_voltage: {column: u}}\n";
    fs_err::write(beside(&own, SETUP), setup).unwrap();
    let keep = |shop, order: &[usize]| {
        let engine = Engine::new(order.len(), order, None, None).unwrap();
        let mut captures = Captures { job: &job, shop };
        captures.keep(own.to_str().unwrap(), Some(&engine))
    };
    let six = [1, 4, 3, 6, 2, 5];
    let told = keep(Some(&shop), &six).unwrap_err().to_string();
    assert!(
        told.contains("the set-up has 4 cylinders, the intake 6. Is this the right file?"),
        "{told}"
    );
    let left = fs_err::read_dir(job.file(folder::CAPTURES)).unwrap();
    assert_eq!(left.count(), 0);
    assert!(keep(Some(&shop), &[1, 3, 4, 2]).is_ok());
    // of an exercise it is told when it is computed
    assert!(keep(None, &six).is_ok());
}
