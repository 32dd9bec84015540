//! A folder of captures: one object a line, in file-name order, unreadable ones among them.

use evenfire::capture::setup;
use evenfire::record::bundle::schema;
use evenfire::simulate::practice::practice;
use serde_json::Value;

use super::fixture::{Bench, Ran, wish};
use super::form::differences;

fn lines(text: &str) -> Vec<Value> {
    text.lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect()
}

fn filled() -> Bench {
    let bench = Bench::new();
    let sound = practice(11, &wish(&[])).unwrap();
    let weak = practice(12, &wish(&[(2, 60.0)])).unwrap();
    bench.put("cars/b.csv", sound.csv());
    bench.put("cars/b.setup.yaml", setup::write(&sound.setup()));
    bench.put("cars/B.csv", weak.csv());
    bench.put("cars/a 10.csv", weak.csv());
    bench.put("cars/a 9.csv", weak.csv());
    bench.put("cars/b.truth.yaml", "seed: 1\n");
    bench.put("cars/notes.txt", "no capture\n");
    bench.put("cars/deeper/c.csv", "not looked at\n");
    bench.put("weak.yaml", setup::write(&weak.setup()));
    bench
}

/// The folder's answers.
fn of_folder(bench: &Bench) -> Ran {
    bench.run(&[
        "analyse",
        "cars",
        "--setup",
        "weak.yaml",
        "--format",
        "json",
    ])
}

#[test]
fn captures_come_in_file_name_order_with_their_own_or_the_given_setup() {
    let bench = filled();
    let ran = of_folder(&bench);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let lines = lines(&ran.out);
    let names: Vec<&str> = lines
        .iter()
        .map(|line| line["capture"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["B.csv", "a 10.csv", "a 9.csv", "b.csv"]);
    for line in &lines {
        assert_eq!(line["schema"], "evenfire.analysis/1");
        assert!(line.get("error").is_none());
        let weak = line["capture"] != "b.csv";
        let expected = if weak { "low" } else { "even" };
        assert_eq!(line["verdict"]["kind"], expected, "{line}");
    }
}

/// A line of a folder is the answer for the capture alone, with its name.
#[test]
fn a_line_is_the_answer_for_the_capture_alone() {
    let bench = filled();
    let folder = of_folder(&bench);
    let mut line = lines(&folder.out).pop().unwrap();
    assert_eq!(
        line.as_object_mut().unwrap().remove("capture"),
        Some("b.csv".into())
    );
    let alone = bench.run(&["analyse", "cars/b.csv", "--format", "json"]);
    assert_eq!(line, alone.json());
}

#[test]
fn an_unreadable_one_has_its_line_and_the_status_tells() {
    let bench = filled();
    bench.put(
        "cars/a 95.csv",
        "time_s,battery_voltage_V,reference_V\n0,1,1\n1,x,1\n",
    );
    let ran = of_folder(&bench);
    assert_ne!(ran.status, 0);
    let lines = lines(&ran.out);
    assert_eq!(lines.len(), 5, "the others are analysed all the same");
    assert_eq!(lines[3]["capture"], "a 95.csv");
    assert_eq!(lines[3]["schema"], "evenfire.analysis/1");
    assert_eq!(lines[3].as_object().unwrap().len(), 3);
    let error = &lines[3]["error"];
    assert!(error["file"].as_str().unwrap().ends_with("a 95.csv"));
    assert_eq!(error["line"], 3);
    assert!(
        error["message"]
            .as_str()
            .unwrap()
            .contains("\"x\" stands there")
    );
    assert!(!error["remedy"].as_str().unwrap().is_empty());
}

#[test]
fn a_capture_without_a_setup_is_an_unreadable_one() {
    let bench = filled();
    let ran = bench.run(&["analyse", "cars", "--format", "json"]);
    assert_ne!(ran.status, 0);
    let lines = lines(&ran.out);
    let errors = lines
        .iter()
        .filter(|line| line.get("error").is_some())
        .count();
    assert_eq!((lines.len(), errors), (4, 3));
    let file = lines[0]["error"]["file"].as_str().unwrap();
    assert!(file.ends_with("B.setup.yaml"), "{file}");
    assert_eq!(
        lines[0]["error"]["line"],
        Value::Null,
        "the whole file is meant"
    );
}

#[test]
fn text_has_a_line_for_each() {
    let bench = filled();
    let ran = bench.run(&["analyse", "cars", "--setup", "weak.yaml"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(ran.out.lines().count(), 4, "{}", ran.out);
    assert!(
        ran.out.starts_with("B.csv: Cylinder 4 compresses less"),
        "{}",
        ran.out
    );
}

/// Standard output carries the answers and nothing else.
#[test]
fn text_tells_of_unreadable_ones_on_standard_error() {
    let bench = filled();
    bench.put(
        "cars/a 95.csv",
        "time_s,battery_voltage_V,reference_V\n0,1,1\n1,x,1\n",
    );
    let ran = bench.run(&["analyse", "cars", "--setup", "weak.yaml"]);
    assert_eq!(ran.status, 1);
    assert_eq!(ran.out.lines().count(), 4, "{}", ran.out);
    assert!(!ran.out.contains("a 95.csv"));
    assert!(
        ran.err.starts_with("a 95.csv: could not be read: "),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("a 95.csv:3:2: "), "{}", ran.err);
}

/// Packed captures and sound files are captures too; text that only lies there is none.
#[test]
fn packed_captures_are_found_with_their_set_ups() {
    let bench = filled();
    let sound = practice(11, &wish(&[])).unwrap();
    let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    std::io::Write::write_all(&mut packed, sound.csv().as_bytes()).unwrap();
    bench.put("cars/c.csv.gz", packed.finish().unwrap());
    bench.put("cars/c.setup.yaml", setup::write(&sound.setup()));
    let ran = of_folder(&bench);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let lines = lines(&ran.out);
    assert_eq!(lines[4]["capture"], "c.csv.gz");
    assert_eq!(lines[4]["understood"]["gzip"], true);
    let without = |line: &Value| {
        let mut line = line.clone();
        let object = line.as_object_mut().unwrap();
        object.remove("capture");
        object.remove("understood");
        line
    };
    assert_eq!(
        without(&lines[4]),
        without(&lines[3]),
        "as the plain one of the same recording"
    );
}

/// Answers, refused ones and those of a folder, and lines of captures that could not be read, have the form that is
/// published for them.
#[test]
fn answers_have_the_published_form() {
    let form = schema::analysis().unwrap();
    let differs = |value: &Value| {
        let kind = if value.get("error").is_some() {
            "unread"
        } else {
            "answer"
        };
        differences(value, &form["$defs"][kind], &form, "")
    };
    let bench = filled();
    bench.put("cars/c.csv", "time_s,starter_current_A\n0,none\n");
    let ran = of_folder(&bench);
    let lines = lines(&ran.out);
    let unread = lines.iter().filter(|line| line.get("error").is_some());
    assert_eq!((lines.len(), unread.count()), (5, 1));
    for line in &lines {
        assert_eq!(differs(line), Vec::<String>::new());
        let mut more = line.clone();
        more["guess"] = 1.into();
        assert_ne!(differs(&more), Vec::<String>::new());
    }
}
