//! Which job the next record names, with and without what earlier seals wrote down of those before.

use evenfire::record::bundle::seal::seal;
use evenfire::record::digest;
use evenfire::record::folder::{self, JobFolder};

use crate::bundle::{Bundle, work};
use crate::commands::{evenfire, ran, text};

/// A shop with as many sealed jobs as numbers, the first of them the bundle's own.
fn shop(jobs: usize) -> Bundle {
    let shop = Bundle::sealed();
    for _ in 1..jobs {
        next(&shop);
    }
    shop
}

/// Seal one more; the job and the manifest that its record names.
fn next(shop: &Bundle) -> (JobFolder, Option<String>) {
    let job = shop.shop.new_job().unwrap();
    let record = work(&job, Vec::new());
    let sealed = seal(&shop.shop, &job, &record).unwrap();
    (job, sealed.previous)
}

fn manifest(shop: &Bundle, job: &str) -> Option<String> {
    let job = shop.shop.job(job).unwrap();
    Some(digest::of_file(&job.file(folder::MANIFEST)).unwrap())
}

fn remove(shop: &Bundle, job: &str) {
    std::fs::remove_dir_all(shop.shop.job(job).unwrap().path()).unwrap();
}

#[test]
fn what_was_read_is_written_down_once() {
    let shop = shop(4);
    let lines = || std::fs::read_to_string(shop.shop.jobs().join(".chain")).unwrap();
    assert_eq!(
        lines().lines().count(),
        3,
        "those that a seal has looked at"
    );
    let before = lines();
    assert_eq!(next(&shop).1, manifest(&shop, "4"));
    assert!(lines().starts_with(&before) && lines().lines().count() == 4);
}

#[test]
fn whatever_the_file_says_the_last_job_is_named() {
    type Spoil = fn(String) -> Vec<u8>;
    let ways: [(&str, Spoil); 7] = [
        ("missing lines", |text| {
            text.lines()
                .skip(1)
                .flat_map(|l| [l, "\n"])
                .collect::<String>()
                .into()
        }),
        ("cut off", |text| text[..text.len() - 9].into()),
        ("empty", |_| Vec::new()),
        ("no text", |_| vec![0xff; 300]),
        ("another's lines", |text| {
            text.replace("\"000", "\"100").into()
        }),
        ("other manifests", |text| {
            text.replace("\"manifest\":\"", "\"manifest\":\"0").into()
        }),
        ("an old job as the last", |text| {
            let later = text.replace("\"sealed\":\"2026", "\"sealed\":\"2099");
            later.replace("\"previous\":\"", "\"previous\":\"0").into()
        }),
    ];
    for (name, spoil) in ways {
        let shop = shop(4);
        let file = shop.shop.jobs().join(".chain");
        let text = std::fs::read_to_string(&file).unwrap();
        std::fs::write(&file, spoil(text)).unwrap();
        assert_eq!(next(&shop).1, manifest(&shop, "4"), "{name}");
        assert_eq!(next(&shop).1, manifest(&shop, "5"), "{name}");
    }
    let shop = shop(2);
    let file = shop.shop.jobs().join(".chain");
    std::fs::remove_file(&file).unwrap();
    assert_eq!(next(&shop).1, manifest(&shop, "2"), "missing");
    std::fs::remove_file(&file).unwrap();
    std::os::unix::fs::symlink("/dev/zero", &file).unwrap();
    assert_eq!(next(&shop).1, manifest(&shop, "3"));
}

/// The worst that a lie can do: the last job is said to be practice. No bundle suffers, the audit tells, and
/// without the file the chain goes on where it should.
#[test]
fn a_lie_that_holds_is_told_by_the_audit() {
    let shop = shop(4);
    let file = shop.shop.jobs().join(".chain");
    let text = std::fs::read_to_string(&file).unwrap();
    let last = text.lines().last().unwrap();
    let [third, fourth] = ["3", "4"].map(|job| manifest(&shop, job).unwrap());
    let lie = last
        .replace("\"0003\"", "\"0004\"")
        .replace(&third, &fourth)
        .replace("\"practice\":false", "\"practice\":true");
    std::fs::write(&file, format!("{text}{lie}\n")).unwrap();
    assert_eq!(next(&shop).1.unwrap(), third, "an older one is named");
    for job in ["1", "4", "5"] {
        let told = ran(&mut evenfire(&["verify", job, "--shop", root(&shop)]));
        assert_eq!(told.0, 4, "not signed, and nothing else: {}", told.1);
    }
    let (status, told, _) = ran(&mut evenfire(&["audit", "--shop", root(&shop)]));
    let fork = "it names the same job before it as job 0004";
    assert!(status == 1 && told.contains(fork), "{told}");
    std::fs::remove_file(&file).unwrap();
    assert_eq!(next(&shop).1, manifest(&shop, "5"));
}

fn root(shop: &Bundle) -> &str {
    text(shop.shop.root())
}

/// Taken off the end, its number given to another: what was written down of the old one counts no more.
#[test]
fn a_number_given_twice_is_read_anew() {
    let shop = shop(4);
    next(&shop);
    remove(&shop, "5");
    remove(&shop, "4");
    let (job, named) = next(&shop);
    assert_eq!(
        (job.number().as_str(), named),
        ("0004", manifest(&shop, "3"))
    );
    assert_eq!(next(&shop).1, manifest(&shop, "4"));
}

#[test]
fn a_job_taken_out_or_changed_keeps_nobody_from_sealing() {
    let shop = shop(4);
    next(&shop);
    remove(&shop, "5");
    assert_eq!(next(&shop).1, manifest(&shop, "4"));
    let text = shop.text("MANIFEST.sha256");
    let last = shop.shop.job("5").unwrap().file(folder::MANIFEST);
    std::fs::write(last, text + "\n").unwrap();
    assert_eq!(next(&shop).1, manifest(&shop, "5"));
}
