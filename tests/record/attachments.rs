//! What is handed over beside the captures: listed in the report, by the signed lists.

use evenfire::record::seal::seal;
use evenfire::record::signed::Signed;

use crate::bundle::Bundle;

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
