//! The page as a whole.

mod later;

use std::collections::BTreeMap;

use super::*;
use crate::procedure::model::OutcomeKind;
use crate::report::example;
use crate::report::signatures::{
    Amendment, Attachment, Countersignature, Picture, Ruling, Signature, Waiver,
};

/// What an ill-meaning customer, technician or file could write.
const HOSTILE: &str = "</title></style><script>alert(1)</script><img src=x onerror=alert(1)>\" onload=\"x' \u{1b}[2J\u{202e}&amp; http://example.invalid";

fn practice_record() -> Record {
    let mut record = example::record();
    record.practice = vec![
        "answered from a file".to_owned(),
        "the capture is simulated".to_owned(),
    ];
    record.simulated_clock = true;
    record
}

/// Everything that can be missing is missing.
fn bare_record() -> Record {
    let mut record = example::record();
    record.lines = BTreeMap::new();
    record.captures.clear();
    record.computed.clear();
    record.path.clear();
    record.notes.clear();
    record.put_back.clear();
    record.cautions.clear();
    record.procedures.clear();
    record.outcome.advice = None;
    record.outcome.kind = OutcomeKind::NotDone;
    record.previous = None;
    record
}

/// Every text that somebody else could have written is hostile.
fn hostile_record() -> Record {
    let mut record = example::record();
    let evil = || HOSTILE.to_owned();
    (record.shop, record.technician, record.job, record.tool) = (evil(), evil(), evil(), evil());
    record.practice = vec![evil()];
    record.lines.values_mut().for_each(|value| *value = evil());
    record.lines.insert(evil(), "w".repeat(3000));
    record.outcome.finding = evil();
    record.outcome.advice = Some("long".repeat(500));
    for capture in &mut record.captures {
        (capture.step, capture.at) = (evil(), evil());
        (capture.file.file, capture.file.original) = (evil(), evil());
        if let Some(analysis) = &mut capture.analysis {
            analysis.verdict.why = evil();
            analysis.remarks = vec![evil(), "remark".repeat(400)];
            for check in &mut analysis.quality {
                (check.unit, check.advice) = (evil(), evil());
            }
        }
        if let Some(drawing) = &mut capture.drawing {
            (drawing.label, drawing.unit) = (evil(), evil());
        }
    }
    for result in &mut record.computed {
        result.facts.insert(evil(), evil());
        result.computation = evil();
    }
    for entry in &mut record.path {
        (entry.step, entry.phase) = (evil(), evil());
        (entry.asked, entry.answered) = (evil(), "answer".repeat(300));
        entry.action = Some(evil());
        entry.hazards.iter_mut().for_each(|h| h.text = evil());
    }
    record.notes.iter_mut().for_each(|note| note.text = evil());
    record
        .put_back
        .iter_mut()
        .for_each(|entry| entry.item = evil());
    record.cautions = vec![evil()];
    record.decision_rule = evil();
    record.journal_head = evil();
    record
}

fn hostile_signatures() -> Signatures {
    let signature = || Signature {
        identity: HOSTILE.to_owned(),
        time: HOSTILE.to_owned(),
        fingerprint: HOSTILE.to_owned(),
    };
    let countersign = || Countersignature {
        signature: signature(),
        ruling: Ruling::Returned,
        reason: Some(HOSTILE.to_owned()),
    };
    Signatures {
        technician: Some(signature()),
        countersign: Some(countersign()),
        waivers: vec![Waiver {
            number: 1,
            step: HOSTILE.to_owned(),
            reason: HOSTILE.to_owned(),
            signature: signature(),
        }],
        amendments: vec![Amendment {
            number: 1,
            corrects: HOSTILE.to_owned(),
            says: HOSTILE.to_owned(),
            signature: signature(),
            countersign: Some(countersign()),
        }],
        attachments: vec![Attachment {
            file: HOSTILE.to_owned(),
            sha256: HOSTILE.to_owned(),
            bytes: 7,
            picture: Some(Picture {
                media: "image/png",
                bytes: HOSTILE.into(),
            }),
        }],
    }
}

/// One tag as it stands: name, and everything up to its end.
fn tags(page: &str) -> Vec<(&str, &str)> {
    page.split('<')
        .skip(1)
        .map(|rest| {
            let inside = rest.split('>').next().unwrap();
            (inside.split_whitespace().next().unwrap_or(""), inside)
        })
        .collect()
}

fn attribute_values<'a>(page: &'a str, attribute: &str) -> Vec<&'a str> {
    page.split(&format!(" {attribute}=\""))
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap())
        .collect()
}

fn all_pages() -> Vec<String> {
    vec![
        page(&example::record(), &example::signatures()),
        page(&practice_record(), &Signatures::default()),
        page(&bare_record(), &Signatures::default()),
        page(&hostile_record(), &hostile_signatures()),
    ]
}

/// Tags that the renderer writes; whatever else appears came out of somebody's text.
const OWN_TAGS: &str = "!DOCTYPE html head meta title style body header main footer section h1 h2 h3 h4 p ul li dl dt dd div \
    b br code pre span strong ol details summary table caption thead tbody tr th td figure figcaption svg desc defs pattern line text rect path img";

#[test]
fn texts_never_become_tags() {
    let own: Vec<&str> = OWN_TAGS.split_whitespace().collect();
    for page in all_pages() {
        let mut open: Vec<&str> = Vec::new();
        for (name, inside) in tags(&page) {
            let bare = name.trim_start_matches('/');
            assert!(own.contains(&bare), "foreign tag <{inside}>");
            // what stands in quotes is a value; who breaks out of them is seen here
            let names: String = inside.split('"').step_by(2).collect();
            for word in [" on", " href", " src", " style=", "script"] {
                let own = word == " src" && inside.starts_with("img src=\"data:image/png;base64,");
                assert!(own || !names.contains(word), "{word} in <{inside}>");
            }
            match name {
                "!DOCTYPE" | "meta" | "br" | "img" => {}
                _ if name.starts_with('/') => assert_eq!(open.pop(), Some(bare)),
                _ => open.push(name),
            }
        }
        assert!(open.is_empty(), "left open: {open:?}");
    }
}

#[test]
fn what_steers_is_gone_and_long_words_stay_whole() {
    let page = page(&hostile_record(), &hostile_signatures());
    let steering = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
    assert!(!page.contains(steering));
    assert!(page.contains(&"w".repeat(3000)));
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
    assert!(
        page.contains("-I '&lt;/title"),
        "a name in a command is quoted"
    );
}

/// Content Security Policy Level 3 (W3C): the policy stands in the head, before the styles.
#[test]
fn nothing_is_asked_of_the_network() {
    for page in [
        page(&example::record(), &example::signatures()),
        page(&practice_record(), &Signatures::default()),
    ] {
        let policy = format!("content=\"{CONTENT_SECURITY_POLICY}\"");
        assert!(page.find(&policy).unwrap() < page.find("<style>").unwrap());
        for outside in [
            "http:", "https:", "//", "@import", "<link", "<iframe", "<object",
        ] {
            assert!(!page.contains(outside), "{outside}");
        }
        assert_eq!(
            page.matches("url(").count(),
            page.matches("url(#hatch-").count()
        );
    }
}

#[test]
fn every_name_in_the_page_is_there_once_and_is_found() {
    for page in all_pages() {
        let ids = attribute_values(&page, "id");
        let unique: std::collections::BTreeSet<&&str> = ids.iter().collect();
        assert_eq!(unique.len(), ids.len());
        let labels = attribute_values(&page, "aria-labelledby");
        let referred = labels.iter().flat_map(|names| names.split(' '));
        let fills = attribute_values(&page, "fill");
        let hatched = fills
            .iter()
            .map(|f| f.trim_start_matches("url(#").trim_end_matches(')'));
        for name in referred.chain(hatched) {
            assert!(ids.contains(&name), "{name}");
        }
        assert_eq!(
            page.matches("<svg").count(),
            page.matches("role=\"img\"").count()
        );
    }
}

#[test]
fn headings_go_down_one_level_at_a_time() {
    for page in all_pages() {
        let levels: Vec<u32> = tags(&page)
            .iter()
            .filter_map(|(name, _)| name.strip_prefix('h')?.parse().ok())
            .collect();
        assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
        assert_eq!(levels[0], 1);
        assert!(
            levels.windows(2).all(|pair| pair[1] <= pair[0] + 1),
            "{levels:?}"
        );
    }
}

#[test]
fn practice_is_said_in_title_banner_and_on_every_sheet() {
    let practice = page(&practice_record(), &Signatures::default());
    assert!(practice.contains("<title>PRACTICE: "));
    assert!(practice.contains("Practice stands in no chain"));
    assert!(!practice.contains("No job of this workshop was sealed before"));
    assert!(practice.contains("<li>answered from a file</li><li>the capture is simulated</li>"));
    assert!(practice.contains("@top-center { content: \"PRACTICE\""));
    assert!(practice.contains("by a simulated clock"));
    let real = page(&example::record(), &example::signatures());
    assert!(!real.contains("PRACTICE") && !real.contains("simulated"));
}

#[test]
fn a_page_says_what_is_missing() {
    let mut record = bare_record();
    record.untold = ["vehicle identity", "complaint"].map(str::to_owned).into();
    let bare = page(&record, &Signatures::default());
    for words in [
        "no complaint was recorded",
        "nothing further was advised",
        "No question was answered.",
        "Nothing was disabled.",
        "Not recorded: vehicle identity and complaint.",
        "No job of this workshop was sealed before this one.",
        "Nobody has signed this job yet.",
        "Not signed.",
        "Not countersigned.",
    ] {
        assert!(bare.contains(words), "{words}");
    }
    assert!(!bare.contains("<svg"));
    let mut record = example::record();
    for capture in &mut record.captures {
        capture.analysis = None;
        capture.drawing = capture.drawing.take().filter(|_| capture.superseded);
    }
    let page = page(&record, &example::signatures());
    assert!(page.contains("No analysis was made of it."));
}

#[test]
fn positions_are_never_called_cylinders() {
    let mut record = example::record();
    record.captures = vec![example::capture(1, example::positions_analysis(), false)];
    let page = page(&record, &example::signatures());
    assert!(page.contains("Low: position 3. "));
    assert!(page.contains("Position 3: 62 % of the good ones"));
    assert!(page.contains("no cylinder can be named"));
    assert!(!page.contains(">Cylinder 3<"));
}

#[test]
fn hazards_stand_before_the_action_and_superseded_answers_are_marked() {
    let page = page(&example::record(), &example::signatures());
    let shown = page.split("<details>").nth(1).unwrap();
    let at = |text: &str| shown.find(text).unwrap();
    assert!(at("<b>DANGER</b>") < at("<b>WARNING</b>"));
    assert!(at("<b>WARNING</b>") < at("Parking brake on"));
    assert!(at("Parking brake on") < at("The vehicle cannot move."));
    assert!(page.contains("superseded: connector"));
    assert!(page.contains("Not put back when the job was closed: spark plug of cylinder 3."));
    assert!(page.contains("NOT PUT BACK"));
}

#[test]
fn the_result_on_page_one_is_that_of_the_capture_that_counts() {
    let page = page(&example::record(), &example::signatures());
    assert!(page.contains(
        "One recording of the turning engine gave a verdict; it covers 9 engine cycles."
    ));
    assert!(page.contains("Cylinder 3: 62 % of the good ones (between 59 and 65 %)"));
    assert!(page.contains("Signed by ada.thorn; reviewed and accepted by rob.quill."));
    let mut returned = example::signatures();
    returned.countersign.as_mut().unwrap().ruling = Ruling::Returned;
    assert!(super::page(&example::record(), &returned).contains("RETURNED for correction"));
}

#[test]
fn same_inputs_same_bytes() {
    assert_eq!(all_pages(), all_pages());
}

/// Relative luminance and contrast as in WCAG 2.1 (W3C), 1.4.3: text has at least 4.5 to 1.
#[test]
fn every_colour_of_text_stands_out_from_every_ground() {
    let luminance = |hex: &str| {
        let long: String = if hex.len() == 3 {
            hex.chars().flat_map(|c| [c, c]).collect()
        } else {
            hex.to_owned()
        };
        let channel = |at: usize| {
            let value = f64::from(u8::from_str_radix(&long[at..at + 2], 16).unwrap()) / 255.0;
            if value <= 0.03928 {
                value / 12.92
            } else {
                ((value + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * channel(0) + 0.7152 * channel(2) + 0.0722 * channel(4)
    };
    let sheet = style::sheet(true);
    let colours = |property: &str| {
        let mut found: Vec<String> = sheet
            .split(property)
            .skip(1)
            .map(|rest| rest.chars().take_while(char::is_ascii_hexdigit).collect())
            .collect();
        found.dedup();
        found
    };
    let (texts, grounds) = (colours(" color: #"), colours("background: #"));
    assert!(texts.len() >= 3 && grounds.len() >= 3);
    for text in &texts {
        for ground in &grounds {
            let (a, b) = (luminance(text), luminance(ground));
            let contrast = (a.max(b) + 0.05) / (a.min(b) + 0.05);
            assert!(contrast >= 4.5, "#{text} on #{ground}: {contrast:.2}");
        }
    }
}
