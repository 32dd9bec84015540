use super::*;

fn found(text: &str, names: &[&str]) -> Result<Layout, ReadError> {
    find(text.as_bytes(), names, &TableKeys::default(), "c")
}

fn headed(layout: &Layout) -> Vec<&str> {
    layout
        .headings
        .iter()
        .map(|heading| heading.text.as_str())
        .collect()
}

#[test]
fn wanted_names_find_the_headings_behind_a_preamble() {
    let text = "Model;A\nRate;1000\n\ntime;volts;mark\ns;V;\n0,001;12,5;0\n0,002;12,4;0\n";
    for names in [&["time", "volts"][..], &[]] {
        let layout = found(text, names).unwrap();
        assert_eq!(
            (layout.delimiter, layout.decimal),
            (Delimiter::Semicolon, Decimal::Comma)
        );
        assert_eq!(
            (layout.header_line, layout.unit_line, layout.first_line),
            (Some(4), Some(5), 6)
        );
        assert_eq!(headed(&layout), ["time", "volts", "mark"]);
        assert_eq!(layout.headings[1].unit.as_deref(), Some("V"));
        assert!(text[layout.start..].starts_with("0,001"));
    }
}

#[test]
fn each_delimiter_is_found() {
    for (text, delimiter, headings) in [
        ("t,u\n0,1\n1,2\n", Delimiter::Comma, 2),
        ("t\tu\n0\t1,5\n1\t2,5\n", Delimiter::Tab, 2),
        ("t|u|v\n0|1|2\n1|2|3\n", Delimiter::Bar, 3),
        ("t   u\n0   1\n1   2\n", Delimiter::Blank, 2),
        ("t [s]  u [mV]\n0  1\n1  2\n", Delimiter::Blank, 2),
        ("time now  the volts\n0  1\n1  2\n", Delimiter::Blank, 2),
        ("# t,u\n0,1\n1,2\n", Delimiter::Comma, 2),
    ] {
        let layout = found(text, &[]).unwrap();
        assert_eq!(layout.delimiter, delimiter, "{text:?}");
        assert_eq!(
            layout.headings.len(),
            headings,
            "{text:?}: {:?}",
            headed(&layout)
        );
    }
}

#[test]
fn doubts_are_errors_with_the_choices() {
    for (text, names, says) in [
        ("t;u\n1;1,234\n2;2,345\n", &["t", "u"][..], "thousands"),
        ("t;u\n0.1;1,5\n0.2;2,5\n", &["t", "u"], "has a point"),
        (
            "t,u\n0,1,2,5\n0,2,3,5\n",
            &["t", "u"],
            "decimal commas between commas",
        ),
        ("0,1\n1,2\n", &["t"], "holds numbers"),
        ("t,u\n0,1\n", &["v"], ""),
        ("\n\n", &["v"], "empty"),
        ("u\n0,5\n0,6\n", &["u"], "different numbers"),
    ] {
        match found(text, names) {
            Ok(layout) => assert!(says.is_empty(), "{text:?}: {layout:?}"),
            Err(error) => {
                assert!(
                    !says.is_empty() && error.message.contains(says),
                    "{text:?}: {error}"
                );
                assert!(error.remedy.len() > 10);
            }
        }
    }
}

#[test]
fn the_set_up_settles_doubts() {
    let keys = TableKeys {
        decimal: Some(Decimal::Comma),
        ..TableKeys::default()
    };
    let layout = find(b"t;u\n1;1,234\n2;2,345\n", &["t", "u"], &keys, "c").unwrap();
    assert_eq!(layout.decimal, Decimal::Comma);
    let keys = TableKeys {
        columns: Some(vec!["t".into(), "u".into()]),
        ..TableKeys::default()
    };
    let layout = find(b"12:00,0\n0.1,1\n0.2,2\n", &["u"], &keys, "c").unwrap();
    assert_eq!((layout.header_line, layout.first_line), (None, 2));
    let keys = TableKeys {
        header_line: Some(2),
        ..TableKeys::default()
    };
    let layout = find(b"t,u\nt,v\n0,1\n1,2\n", &["t"], &keys, "c").unwrap();
    assert_eq!((headed(&layout), layout.first_line), (vec!["t", "v"], 3));
    assert!(
        find(
            b"t,u\n0,1\n",
            &["t"],
            &TableKeys {
                header_line: Some(9),
                ..TableKeys::default()
            },
            "c"
        )
        .is_err()
    );
}
