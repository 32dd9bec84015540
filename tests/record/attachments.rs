//! What is handed over beside the captures: listed in the report, by the signed lists.

use evenfire::record::bundle::seal::seal;
use evenfire::record::bundle::signed::Signed;

use crate::bundle::Bundle;
use crate::commands::{WORDS, act, key_file, text};

/// Listed by the signed lists, so without a word in the record; a picture only where the file is the listed one.
#[test]
fn attachments_of_all_layers_are_read_with_their_pictures() {
    let bundle = Bundle::worked();
    let picture = [
        &b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR"[..],
        &7u32.to_be_bytes(),
        &5u32.to_be_bytes(),
    ]
    .concat();
    std::fs::create_dir_all(bundle.path("attachments")).unwrap();
    bundle.write("attachments/1.jpg", &picture);
    bundle.write("attachments/2.png", "no picture");
    let record = seal(&bundle.shop, &bundle.job, &bundle.record).unwrap();
    let read = || Signed::read(&bundle.job, &record).unwrap().attachments;
    let told: Vec<_> = read()
        .into_iter()
        .map(|a| (a.file, a.bytes, a.picture.map(|p| p.media)))
        .collect();
    assert_eq!(
        told,
        [
            ("attachments/1.jpg".to_owned(), 24, Some("image/png")),
            ("attachments/2.png".to_owned(), 10, None)
        ]
    );
    let mut changed = picture;
    changed[19] = 6;
    bundle.write("attachments/1.jpg", &changed);
    assert_eq!(read()[0].picture, None, "not the listed file");
    let layered = Bundle::layered();
    let signed = Signed::read(&layered.job, &layered.record).unwrap();
    assert_eq!(
        signed.attachments[0].file,
        "amendments/1/attachments/dash.txt"
    );
    assert!(layered.text("report.html").contains("dash.txt"));
}

/// A JPEG by hand with the notes of a camera (big-endian): a position with latitude and longitude, or none.
fn photo(tags: [u16; 2]) -> Vec<u8> {
    let entry = |tag: u16, value: u32| {
        let (tag, value) = (tag.to_be_bytes(), value.to_be_bytes());
        [&tag[..], &[0, 4, 0, 0, 0, 1], &value].concat()
    };
    let notes = [
        b"Exif\0\0MM\0*\0\0\0\x08\0\x01".to_vec(),
        entry(0x8825, 26),
        vec![0, 0, 0, 0, 0, 2],
        entry(tags[0], 0),
        entry(tags[1], 0),
    ];
    let notes = notes.concat();
    let length = (notes.len() as u16 + 2).to_be_bytes();
    [b"\xff\xd8\xff\xe1", &length[..], &notes, b"\xff\xd9"].concat()
}

#[test]
fn a_photo_that_tells_its_place_is_warned_of_and_kept_as_it_is() {
    let bundle = Bundle::signed();
    let key = key_file(&bundle, "technician", &bundle.technician);
    for (number, tags, warned) in [(1, [2, 4], true), (2, [0, 5], false)] {
        let file = bundle.folder.path().join("rail.jpg");
        std::fs::write(&file, photo(tags)).unwrap();
        let adds = [
            "--corrects",
            "the job",
            "--adds",
            "a photo",
            "--reason",
            "It was left out.",
            "--attach",
            text(&file),
        ];
        let (status, _, told) = act(&bundle, "amend", &key, &adds, WORDS);
        assert_eq!(status, 0, "{told}");
        assert_eq!(
            told.contains("rail.jpg: this photo holds the place"),
            warned,
            "{told}"
        );
        let kept = bundle.read(&format!("amendments/{number}/attachments/rail.jpg"));
        assert_eq!(kept, photo(tags));
    }
}
