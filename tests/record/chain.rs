//! Which job the next record names, with and without what earlier seals wrote down of those before.

use evenfire::record::digest;
use evenfire::record::folder::{self, JobFolder};
use evenfire::record::seal::seal;

use crate::bundle::{Bundle, work};

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
    let ways: [(&str, Spoil); 6] = [
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
    std::os::unix::fs::symlink("/dev/zero", &file).unwrap();
    assert_eq!(next(&shop).1, manifest(&shop, "2"));
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
