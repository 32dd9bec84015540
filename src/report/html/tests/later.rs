//! What was added after signing, and what is told of captures.

use super::bare_record;
use crate::cranking::answer::{CheckName, Identified};
use crate::procedure::model::{Hazard, OutcomeKind, SignalWord};
use crate::report::example;
use crate::report::html::page;
use crate::report::signatures::{Amendment, Ruling, Signature, Signatures, Waiver};

/// Returned, added to by the technician and another, accepted: page one tells it in order, and which line no
/// longer stands alone.
#[test]
fn what_was_added_later_is_told_where_it_changes_what_is_read() {
    let mut signatures = example::signatures();
    let accepted = signatures.countersign.clone().unwrap();
    let mut returned = accepted.clone();
    returned.ruling = Ruling::Returned;
    signatures.countersign = Some(returned);
    let adding = |number, who: &str, corrects: &str| Amendment {
        number,
        corrects: corrects.to_owned(),
        says: format!("{corrects}: 81 204 km (Digits exchanged.)"),
        signature: Signature {
            identity: who.to_owned(),
            ..accepted.signature.clone()
        },
        countersign: None,
    };
    signatures.amendments = vec![
        adding(1, "ada.thorn", "The odometer"),
        adding(2, "sam.oakes", "the step volts"),
        adding(3, "ada.thorn", "the step volts"),
    ];
    let shown = |signatures: &Signatures| page(&example::record(), signatures);
    let open = shown(&signatures);
    assert!(open.contains(
        "Signed by ada.thorn; reviewed by rob.quill and RETURNED for correction; \
         added to later by ada.thorn and sam.oakes; nobody else has reviewed it since."
    ));
    assert!(open.contains("EX 1234 · 148200 km (a correction below is not accepted yet)</dd>"));
    assert!(open.contains("<dd>148200 km (a correction on page one is not accepted yet)</dd>"));
    assert!(!open.contains("(corrected"));
    assert_eq!(open.matches(" – no lead has decided on it</p>").count(), 3);
    signatures.amendments[2].countersign = Some(accepted.clone());
    let closed = shown(&signatures);
    assert!(closed.contains(
        "added to later by ada.thorn and sam.oakes; reviewed and accepted by rob.quill."
    ));
    assert!(closed.contains("EX 1234 · 148200 km (corrected below)</dd>"));
    assert!(closed.contains("<dd>148200 km (corrected, see page one)</dd>"));
    assert_eq!(closed.matches("(corrected").count(), 2);
    assert_eq!(closed.matches(" – accepted by rob.quill</p>").count(), 3);
    // one that was returned corrects nothing, whatever is accepted after it
    let mut returned = accepted.clone();
    (returned.ruling, returned.reason) = (Ruling::Returned, Some("Look again.".to_owned()));
    signatures.amendments[0].countersign = Some(returned);
    let page_one = shown(&signatures);
    assert!(page_one.contains("EX 1234 · 148200 km</dd>"));
    assert!(page_one.contains(" – RETURNED by rob.quill: Look again.</p>"));
    signatures.amendments[0].countersign = None;
    let mut stepwise = example::record();
    let mut entry = stepwise.path[0].clone();
    (entry.step, entry.answered, entry.superseded) =
        ("intake/odometer".to_owned(), "148200 km".to_owned(), false);
    stepwise.path.push(entry);
    signatures.amendments[0].corrects = "intake/odometer".to_owned();
    let by_step = page(&stepwise, &signatures);
    assert!(by_step.contains("EX 1234 · 148200 km (corrected below)</dd>"));
    signatures.amendments[0].corrects = "vehicle identity, complaint".to_owned();
    let page = shown(&signatures);
    assert!(page.contains("V8 petrol · EX 1234 (corrected below) · 148200 km</dd>"));
    assert!(!page.contains("still named by"));
    signatures.amendments[0].corrects = "firing order".to_owned();
    let page = shown(&signatures);
    let [caution, finding] = [
        "are still named by the old record (firing order 1-8-4-3-6-5-7-2)",
        "class=\"found\"",
    ]
    .map(|text| page.find(text).unwrap());
    assert!(caution < finding, "it is read before the finding");
}

/// A proof at which the engine fired is told on page one, also where the technician went back before it.
#[test]
fn a_no_to_danger_that_was_gone_back_behind_is_told_on_page_one() {
    let at = &example::record().path[0].at;
    let told = format!("(prove, {at}). See Path taken.");
    let shown = |superseded: bool, word: SignalWord| {
        let mut record = example::record();
        let mut entry = record.path[0].clone();
        entry.step = "prove".to_owned();
        entry.asked = "The engine did not fire.".to_owned();
        (entry.answered, entry.superseded) = ("no".to_owned(), superseded);
        entry.hazards = vec![Hazard {
            word,
            text: "The engine may start.".to_owned(),
        }];
        record.path.push(entry);
        let page = page(&record, &example::signatures());
        page.split("<h2").nth(1).unwrap().contains(&told)
    };
    assert!(shown(true, SignalWord::Danger));
    assert!(!shown(false, SignalWord::Danger), "the outcome tells of it");
    assert!(!shown(true, SignalWord::Caution));
}

/// So is a capture in which the engine ran.
#[test]
fn an_engine_that_ran_and_was_gone_back_behind_is_told_on_page_one() {
    let shown = |superseded: bool, ran: bool| {
        let mut record = example::record();
        let capture = &mut record.captures[0];
        capture.superseded = superseded;
        let analysis = capture.analysis.as_mut().unwrap();
        let mut check = analysis.quality[0].clone();
        (check.check, check.passed) = (CheckName::EngineRunning, !ran);
        analysis.quality.push(check);
        let page = page(&record, &example::signatures());
        let first = page.split("<h2").nth(1).unwrap().to_owned();
        first.contains("Not so at first: no engine that runs, in ")
    };
    assert!(shown(true, true));
    assert!(!shown(false, true), "the outcome tells of it");
    assert!(!shown(true, false));
}

/// A complaint that was waived says by whom and why, where it is missed.
#[test]
fn a_waived_complaint_says_why_on_page_one() {
    let mut record = bare_record();
    record.untold = vec!["complaint".to_owned()];
    let mut signatures = example::signatures();
    let signature = signatures.technician.clone().unwrap();
    signatures.waivers = vec![Waiver {
        number: 1,
        step: "intake/complaint".to_owned(),
        reason: "a yearly check".to_owned(),
        signature,
    }];
    let page = page(&record, &signatures);
    let told = "not recorded, waived by ada.thorn: a yearly check</dd>";
    assert!(page.contains(told), "{page}");
}

#[test]
fn how_a_capture_was_read_is_told_line_by_line() {
    let mut record = example::record();
    record.captures[1].file.understood = vec!["headings in line 1".into(), "time: column 1".into()];
    let page = page(&record, &example::signatures());
    assert!(page.contains("How it was read:<br>headings in line 1<br>time: column 1</p>"));
}

/// Where the reference comes once a turn, neither words nor bars nor table accuse one of the two alone.
#[test]
fn one_of_a_pair_is_accused_only_with_its_companion() {
    let mut record = example::record();
    let mut analysis = example::low_analysis();
    analysis.identified = Some(Identified::OneOfPair);
    let rows = analysis.cylinders.iter_mut().flatten();
    rows.filter(|row| row.cylinder == 3)
        .for_each(|row| row.companion = Some(2));
    record.captures = vec![example::capture(1, analysis, false)];
    let page = page(&record, &example::signatures());
    assert!(page.contains("Cylinder 3 or 2: 62 % of the good ones"));
    assert!(page.contains(">Cylinder 3 or 2</text>"));
    assert!(page.contains("<th scope=\"row\">3 or 2</th>"));
    assert!(!page.contains("Cylinder 3:") && !page.contains(">Cylinder 3</text>"));
}

#[test]
fn a_capture_without_a_verdict_accuses_nobody() {
    let mut record = example::record();
    record.captures = vec![example::capture(1, example::inconclusive_analysis(), false)];
    record.outcome.kind = OutcomeKind::NoVerdict;
    let page = page(&record, &example::signatures());
    assert!(page.contains("No recording of the turning engine was good enough for a verdict"));
    assert!(page.contains("No verdict was possible"));
    assert!(page.contains("<strong>FAILED</strong>"));
    let page_one = page.split("</section>").next().unwrap();
    assert!(!page_one.contains("<svg") && page_one.contains("ran into the scope's range"));
    assert!(page.contains("No verdict. </strong>The signal ran into the scope's range"));
    for result in [
        "id=\"bars-",
        ">uncertain<",
        "<caption>Relative compression</caption>",
        "LOW",
    ] {
        assert!(!page.contains(result), "{result}");
    }
    // an interval across the limit is told as it is, and nothing is drawn of it either
    for capture in &mut record.captures {
        let checks = capture.analysis.iter_mut().flat_map(|a| &mut a.quality);
        checks.for_each(|check| check.passed = true);
    }
    let page = super::page(&record, &example::signatures());
    assert!(page.contains(">uncertain<") && !page.contains("id=\"bars-"));
}

/// A verdict of work that was stopped is a hint: neither bars nor percentages stand on page one.
#[test]
fn a_stopped_job_only_hints() {
    let mut record = example::record();
    record.outcome.kind = OutcomeKind::NotDone;
    let page = page(&record, &example::signatures());
    let page_one = page.split("</section>").next().unwrap();
    assert!(
        page_one.contains("Not finished: 1 recording of the turning engine gave a result that no")
            && page_one.contains("One recording hinted at cylinder ")
            && page_one.contains("not confirmed. Do not act on it; test again."),
        "{page_one}"
    );
    assert!(
        !page_one.contains("<svg") && !page_one.contains("LOW"),
        "{page_one}"
    );
}

/// As many recordings as the heading speaks of, also where none of them finds a cylinder low.
#[test]
fn a_stopped_job_counts_its_recordings() {
    let even = crate::run::facts::tests::analysis(&[100.0, 99.0, 98.0, 100.0], 85.0);
    let mut record = example::record();
    record.outcome.kind = OutcomeKind::NotDone;
    let mut told = |count: u32| {
        let captures = (1..=count).map(|number| example::capture(number, even.clone(), false));
        record.captures = captures.collect();
        page(&record, &example::signatures())
    };
    let one = told(1);
    assert!(
        one.contains("One recording found none under 85 %, which nothing confirmed."),
        "{one}"
    );
    let two = told(2);
    assert!(
        two.contains("Not finished: 2 recordings of the turning engine agree"),
        "{two}"
    );
    assert!(
        two.contains("2 recordings found none under 85 %, and the work was stopped"),
        "{two}"
    );
}

/// Work that was left after a recording that could not be judged was carried out as far as that; a cylinder that a
/// verdict leaves open is named.
#[test]
fn page_one_says_what_was_refused_and_what_stays_open() {
    let mut record = example::record();
    record.captures = vec![example::capture(1, example::inconclusive_analysis(), false)];
    record.outcome.kind = OutcomeKind::NotDone;
    let left = page(&record, &example::signatures());
    let told =
        "No verdict: 1 recording of the turning engine could not be judged (The signal ran into";
    assert!(left.contains(told), "{left}");
    assert!(!left.contains("The test was not carried out"));

    let mut record = example::record();
    for capture in &mut record.captures {
        for row in capture
            .analysis
            .iter_mut()
            .flat_map(|a| a.cylinders.iter_mut().flatten())
        {
            if row.cylinder == 2 {
                (row.low, row.high) = (84.0, 95.0);
                row.finding = crate::cranking::answer::Finding::Uncertain;
            }
        }
    }
    let open = page(&record, &example::signatures());
    assert!(
        open.contains("Cylinder 2 (84 to 95 %) could not be decided."),
        "{open}"
    );
}

/// A shop's own test of something else: nothing on the page speaks of compression.
#[test]
fn a_test_of_something_else_is_headed_and_cautioned_as_such() {
    let mut record = bare_record();
    record.procedures = vec![example::glow_plugs()];
    record.procedure = "glow-plugs".to_owned();
    record.outcome.kind = OutcomeKind::NothingFound;
    record.outcome.finding = "All plugs lie within the maker's limits.".to_owned();
    record.decision_rule = String::new();
    let page = page(&record, &Signatures::default());
    assert!(page.contains("<h1>Glow plugs by their resistance, job 0042<"));
    let body = page.split("<body>").nth(1).unwrap().to_lowercase();
    for foreign in ["compression", "leak-down", "decision rule", "analysed"] {
        assert!(!body.contains(foreign), "{foreign}");
    }
    assert!(page.contains("It rests on what the technician read off"));
    for never_asked in [
        "Not recorded",
        "Captures",
        "Follow-up",
        "Results",
        "Vehicle, engine",
        "complaint",
    ] {
        assert!(!page.contains(never_asked), "{never_asked}");
    }
    record.computed = vec![example::leak_down()];
    let page = super::page(&record, &Signatures::default());
    assert!(page.contains("<h3>Results</h3>") && !page.contains("Follow-up"));
    record.computed[0].computation = "engine kind".to_owned();
    let page = super::page(&record, &Signatures::default());
    assert!(
        !page.contains("<h3>Results</h3>"),
        "what only steers is none"
    );
}

/// Two captures, each with a verdict of its own, that do not agree: page one says so and draws nothing.
#[test]
fn captures_that_do_not_agree_show_no_bars_to_the_customer() {
    let mut record = example::record();
    let mut other = example::low_analysis();
    other.verdict.cylinders = vec![1];
    record.captures = vec![
        example::capture(1, example::low_analysis(), false),
        example::capture(2, other, false),
    ];
    record.outcome.kind = OutcomeKind::NoVerdict;
    let page = page(&record, &example::signatures());
    let (customer, technician) = page.split_once("For the technician").unwrap();
    let told = "do not agree (recording 1: Low: cylinder 3; recording 2: Low: cylinder 1), so none of them counts";
    assert!(customer.contains(told), "{customer}");
    assert!(!customer.contains("<svg") && !customer.contains("counts as low"));
    assert!(
        technician.contains("bars-capture-1-title") && technician.contains("bars-capture-2-title")
    );
    record.outcome.kind = OutcomeKind::FaultFound;
    let page = super::page(&record, &example::signatures());
    let (customer, _) = page.split_once("For the technician").unwrap();
    assert!(customer.contains("<svg") && !customer.contains("do not agree"));
}

/// Two captures that each gave a verdict: every number on page one says of which capture it is.
#[test]
fn page_one_says_which_recording_a_number_is_of() {
    let mut record = example::record();
    let mut other = example::low_analysis();
    for row in other.cylinders.iter_mut().flatten() {
        row.relative_compression_percent -= 1.0;
    }
    record.captures = vec![
        example::capture(1, other, false),
        example::capture(2, example::inconclusive_analysis(), false),
        example::capture(3, example::low_analysis(), false),
    ];
    let customer = |record: &crate::record::bundle::model::Record| {
        let page = page(record, &example::signatures());
        page.split_once("For the technician").unwrap().0.to_owned()
    };
    let two = customer(&record);
    let of_last = "2 recordings of the turning engine gave a verdict; the numbers here are of the last, recording 3,";
    assert!(two.contains(of_last), "{two}");
    let each = "Cylinder 3: 62 % of the good ones (between 59 and 65 %) in recording 3 (recording 1: 61 %); under";
    assert!(two.contains(each), "{two}");
    record.captures.truncate(1);
    let one = customer(&record);
    assert!(!one.contains("recording 1"), "{one}");
}

/// A capture that was refused when it was handed over, and the work left then: page one says so.
#[test]
fn page_one_says_that_a_recording_was_refused() {
    let mut record = bare_record();
    record.notes = example::record().notes;
    record.notes[0].text =
        crate::run::ended::not_taken("9f", "run.csv: row 7 is cut off; save it anew");
    let page = page(&record, &example::signatures());
    let told = "No verdict: the one recording of the turning engine was refused (run.csv: row 7 is cut off); then";
    assert!(page.contains(told), "{page}");
    assert!(!page.contains("The test was not carried out"));
}
