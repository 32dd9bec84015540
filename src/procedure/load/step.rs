//! One step: everything but its question.

use super::fields::{Fields, items, name, scalar, text, texts, whole};
use super::{Named, Reading, question};
use crate::procedure::model::{AtMost, Disabled, Hazard, RecordLine, SignalWord, Step};
use crate::procedure::names::{is_kebab, is_words};
use crate::procedure::nearest::suggestion;
use crate::procedure::work::{Condition, Work};
use crate::procedure::written::keys;
use crate::procedure::written::slips::NO_BLANKS;
use crate::procedure::written::tree::{Content, Node};

/// Most visits that `at-most` may allow.
const MOST_VISITS: u32 = 20;

/// All keys that a step can have.
pub(super) const KEYS: [&str; 33] = keys::names(&keys::STEP);

const SIGNAL_WORDS: [(&str, SignalWord); 4] = [
    ("danger", SignalWord::Danger),
    ("warning", SignalWord::Warning),
    ("caution", SignalWord::Caution),
    ("notice", SignalWord::Notice),
];

/// Read one step; `phase_before` holds where it names none of its own.
pub(crate) fn step(
    number: usize,
    id: &str,
    mut fields: Fields<'_>,
    phase_before: Option<&str>,
    reading: &mut Reading,
) -> Option<Step<Named>> {
    for key in fields.meant(&KEYS) {
        reading.places.doubt(number, key);
    }
    let phase = phase(&mut fields, number, phase_before, reading);
    let hazards = hazards(&mut fields, number, reading);
    let action = optional_text(&mut fields, "do", number, reading);
    let question = question::question(&mut fields, number, id, reading);
    let work = work(&mut fields, number, reading);
    let needs = conditions(&mut fields, "needs", number, reading);
    let establishes = conditions(&mut fields, "establishes", number, reading);
    let mut revokes = conditions(&mut fields, "revokes", number, reading);
    let ended = work.iter().flat_map(|work| work.ends());
    for condition in ended.map(|name| Condition((*name).to_owned())) {
        if !revokes.contains(&condition) {
            revokes.push(condition);
        }
    }
    let disables = disables(&mut fields, number, reading);
    let restores = conditions(&mut fields, "restores", number, reading);
    let fills = fills(&mut fields, number, reading);
    let at_most = at_most(&mut fields, reading);
    let why = optional_text(&mut fields, "why", number, reading);
    let good = optional_text(&mut fields, "good", number, reading);
    let mistakes = optional_text(&mut fields, "mistakes", number, reading);
    let position = fields.position.clone();
    if question.is_some() {
        fields.finish(&KEYS, reading.findings);
    } else {
        fields.finish_unread(&KEYS, reading.findings);
        reading.places.forget(number); // the next step that can be read gets the number
    }
    Some(Step {
        id: id.to_owned(),
        phase,
        hazards,
        action,
        question: question?,
        work,
        needs,
        establishes,
        revokes,
        disables,
        restores,
        fills,
        at_most,
        why,
        good,
        mistakes,
        position,
    })
}

fn phase(
    fields: &mut Fields<'_>,
    number: usize,
    before: Option<&str>,
    reading: &mut Reading,
) -> String {
    let own = fields.take("phase");
    let own = own.and_then(|node| {
        reading.places.put(number, "phase", &node.position);
        text(node, "`phase`", reading.findings)
    });
    let phase = own.or_else(|| before.map(str::to_owned));
    if phase.is_none() && !reading.places.in_doubt(number, "phase") {
        reading.findings.flaw(
            &fields.position,
            format!("{} has no `phase`, and none stands before it", fields.what),
            "The heading over the step would be empty.",
            "Give the first step a `phase`; those after it stay in it until the next.".to_owned(),
        );
    }
    phase.unwrap_or_default()
}

pub(crate) fn optional_text(
    fields: &mut Fields<'_>,
    key: &'static str,
    number: usize,
    reading: &mut Reading,
) -> Option<String> {
    let node = fields.take(key)?;
    reading.places.put(number, key, &node.position);
    text(node, &format!("`{key}`"), reading.findings)
}

fn hazards(fields: &mut Fields<'_>, number: usize, reading: &mut Reading) -> Vec<Hazard> {
    let mut hazards = Vec::new();
    for (key, word) in SIGNAL_WORDS {
        let Some(node) = fields.take(key) else {
            continue;
        };
        reading.places.put(number, key, &node.position);
        let found = texts(node, &format!("the {key}"), reading.findings);
        hazards.extend(found.into_iter().map(|text| Hazard { word, text }));
    }
    hazards
}

fn work(fields: &mut Fields<'_>, number: usize, reading: &mut Reading) -> Vec<Work> {
    let Some(node) = fields.take("work") else {
        return Vec::new();
    };
    reading.places.put(number, "work", &node.position);
    let mut kinds = Vec::new();
    for item in items(node) {
        let Some(found) = name(item, "`work`", reading.findings) else {
            continue;
        };
        if let Some(kind) = Work::parse(&found) {
            kinds.push(kind);
            continue;
        }
        reading.places.doubt(number, "work");
        reading.findings.doubt(
            &item.position,
            format!("`{found}` is no kind of work"),
            "What a step needs for safety follows from its kind of work, so the list is closed.",
            suggestion(&found, Work::ALL.map(Work::name)),
        );
    }
    kinds
}

fn conditions(
    fields: &mut Fields<'_>,
    key: &'static str,
    number: usize,
    reading: &mut Reading,
) -> Vec<Condition> {
    let Some(node) = fields.take(key) else {
        return Vec::new();
    };
    reading.places.put(number, key, &node.position);
    let mut found = Vec::new();
    for item in items(node) {
        let Some(words) = name(item, &format!("`{key}`"), reading.findings) else {
            continue;
        };
        check_words(item, &words, reading);
        reading
            .places
            .put(number, format!("{key}/{words}"), &item.position);
        found.push(Condition(words));
    }
    found
}

fn check_words(node: &Node, words: &str, reading: &mut Reading) {
    if !is_words(words) {
        let remedy = if words.contains(',') {
            format!("Several stand in brackets: `[{words}]`.")
        } else {
            "Use lower-case words with single spaces between: `vehicle held`.".to_owned()
        };
        reading.findings.doubt(
            &node.position,
            format!("`{words}` cannot be the name of a condition"),
            "",
            remedy,
        );
    }
}

fn disables(fields: &mut Fields<'_>, number: usize, reading: &mut Reading) -> Vec<Disabled> {
    let Some(node) = fields.take("disables") else {
        return Vec::new();
    };
    reading.places.put(number, "disables", &node.position);
    let Content::Map(entries) = &node.content else {
        reading.findings.doubt(
            &node.position,
            format!("`disables` wants lines `thing: how it is put back`, here stands {}", node.kind()),
            "What is disabled is put back only if the sheet says how.",
            "Write such a line under it for each thing: `fuel pump relay: Refit the fuel pump relay.`".to_owned(),
        );
        return Vec::new();
    };
    let mut found = Vec::new();
    for (key, node) in entries {
        let words = key.scalar.value.clone();
        let at = Node {
            position: key.position.clone(),
            content: Content::Scalar(key.scalar.clone()),
        };
        check_words(&at, &words, reading);
        let part = format!("disables/{words}");
        reading.places.put(number, part, &key.position);
        if let Some(restore) = text(node, "how it is put back", reading.findings) {
            let item = Condition(words);
            found.push(Disabled { item, restore });
        }
    }
    found
}

fn fills(fields: &mut Fields<'_>, number: usize, reading: &mut Reading) -> Option<RecordLine> {
    let node = fields.take("fills")?;
    reading.places.put(number, "fills", &node.position);
    let found = name(node, "`fills`", reading.findings)?;
    let line = RecordLine::ALL.into_iter().find(|l| l.name() == found);
    if line.is_none() {
        reading.findings.doubt(
            &node.position,
            format!("the record has no line `{found}`"),
            "",
            suggestion(&found, RecordLine::ALL.map(RecordLine::name)),
        );
    }
    line
}

fn at_most(fields: &mut Fields<'_>, reading: &mut Reading) -> Option<AtMost<Named>> {
    let node = fields.take("at-most")?;
    let remedy = "Write `at-most: {times: 3, then: step-id}`.";
    if !matches!(node.content, Content::Map(_)) {
        let message = "`at-most` does not say where the next visit leads".to_owned();
        let remedy = match &node.content {
            Content::Scalar(times) if times.value.parse::<u32>().is_ok() => {
                remedy.replace('3', &times.value)
            }
            _ => remedy.to_owned(),
        };
        reading.findings.doubt(&node.position, message, "", remedy);
        return None;
    }
    let mut inner = Fields::of(node, "`at-most`".to_owned(), reading.findings)?;
    let findings = &mut *reading.findings;
    let times = inner.need("times", remedy, findings);
    let times = times.and_then(|node| whole(node, "`times`", 1..=MOST_VISITS, findings));
    let then = inner.need("then", remedy, reading.findings);
    let then = then.and_then(|node| target(node, reading));
    inner.finish(&keys::names(&keys::AT_MOST), reading.findings);
    Some(AtMost {
        times: times?,
        then: then?,
    })
}

/// The id of a step to go to.
pub(crate) fn target(node: &Node, reading: &mut Reading) -> Option<Named> {
    let written = &scalar(node, "a step to go to", reading.findings)?.value;
    let unseen = written.contains(NO_BLANKS);
    if !is_kebab(written) && !unseen {
        // one that is declared so is told there
        if !reading.places.is_declared(written) {
            super::not_kebab(node, written, "a step's id", reading.findings);
        }
        return None;
    }
    let found = name(node, "a step to go to", reading.findings)?;
    if !is_kebab(&found) {
        return None;
    }
    Some(Named {
        name: found,
        position: node.position.clone(),
    })
}
