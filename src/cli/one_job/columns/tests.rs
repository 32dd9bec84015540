use super::*;

const SETUP_TEXT: &str =
    "engine: {cylinders: 1, firing_order: [1]}\nchannels: {battery_voltage: {column: posts}}\n";

fn four() -> Engine {
    Engine::new(4, &[1, 3, 4, 2], None, None).unwrap()
}

/// Columns that nobody has told yet, and a capture.
fn in_place(place: &Path) -> (Columns, PathBuf) {
    let columns = Columns {
        folder: place.join("columns"),
        clamps: Clamps::default(),
    };
    let capture = place.join("a.csv");
    fs_err::write(&capture, "t,posts\n0,1\n1,2\n").unwrap();
    (columns, capture)
}

#[test]
fn columns_are_remembered_once_and_matched_by_their_headings() {
    let (place, engine) = (tempfile::tempdir().unwrap(), four());
    let (columns, capture) = in_place(place.path());
    let none = columns.matching(&capture, &capture, Some(&engine)).unwrap();
    assert_eq!(none, Err(&engine));
    let asked = headings(&capture, &capture, &engine, None).unwrap();
    assert_eq!(asked.columns[0].name, "posts");
    assert!(asked.refused.contains("does not know its columns"));
    let setup = place.path().join("a.setup.yaml");
    fs_err::write(&setup, SETUP_TEXT).unwrap();
    columns.remember(&setup).unwrap();
    let of_another = "engine: {cylinders: 2, firing_order: [1, 2]}\nchannels:\n  battery_voltage: {column: posts}\n  \
                      reference: {column: cam, cylinder: 2, every_deg: 720, before_tdc_deg: 40, edge: falling}\n";
    fs_err::write(&setup, of_another).unwrap();
    columns.remember(&setup).unwrap();
    assert_eq!(fs_err::read_dir(&columns.folder).unwrap().count(), 1);
    let found = columns.matching(&capture, &capture, Some(&engine)).unwrap();
    let found = found.unwrap();
    assert_eq!((found.engine, found.channels.reference), (four(), None));
    assert!(columns.matching(&capture, &capture, None).is_err());
    fs_err::write(&capture, "t,clamp\n0,1\n1,2\n").unwrap();
    let unknown = columns.matching(&capture, &capture, Some(&engine));
    assert!(unknown.unwrap().is_err());
}

#[test]
fn two_that_fit_are_not_chosen_between() {
    let (place, engine) = (tempfile::tempdir().unwrap(), four());
    let (columns, capture) = in_place(place.path());
    for channel in ["battery_voltage", "starter_current"] {
        let setup = place.path().join(format!("{channel}.setup.yaml"));
        fs_err::write(&setup, SETUP_TEXT.replace("battery_voltage", channel)).unwrap();
        columns.remember(&setup).unwrap();
    }
    let refused = columns
        .matching(&capture, &capture, Some(&engine))
        .unwrap_err();
    assert!(refused.contains("several"), "{refused}");
}

/// The new reading takes the place of the old one, which is kept aside; what does not fit stays.
#[test]
fn what_is_said_anew_takes_the_place_of_what_was_remembered() {
    let (place, engine) = (tempfile::tempdir().unwrap(), four());
    let (columns, capture) = in_place(place.path());
    let texts = [
        SETUP_TEXT.replace("battery_voltage", "starter_current"),
        SETUP_TEXT.replace("posts", "elsewhere"),
    ];
    let setup = place.path().join("a.setup.yaml");
    for text in &texts {
        fs_err::write(&setup, text).unwrap();
        columns.remember(&setup).unwrap();
    }
    columns.said_anew(&capture, &engine).unwrap();
    assert_eq!(columns.all().len(), 1);
    fs_err::write(&setup, SETUP_TEXT).unwrap();
    columns.remember(&setup).unwrap();
    let found = columns.matching(&capture, &capture, Some(&engine)).unwrap();
    assert!(found.unwrap().channels.battery_voltage.is_some());
    assert_eq!(fs_err::read_dir(&columns.folder).unwrap().count(), 3);
}
