//! What fills a line of the record by which a job is told from others.

use rust_decimal::Decimal;

use crate::procedure::model::RecordLine;
use crate::quantity::Unit;
use crate::run::refusal::Refusal;

/// Judge what fills a line of the record by which the job is told from others. Plates and complaints of the whole world
/// pass; punctuation alone does not, nor a reading that belongs to another question.
///
/// # Errors
/// What it is instead.
pub fn of_line(text: &str, line: RecordLine) -> Result<(), Refusal> {
    let remedy = match line {
        RecordLine::Vehicle => "write make and model at least",
        RecordLine::VehicleIdentity => {
            "write what stands on the plate, a plate of that kind without its space, or the chassis number"
        }
        RecordLine::Complaint => "write in a few words what the customer said",
        RecordLine::FiringOrderSource | RecordLine::NumberingSource => {
            "name the page, plate or cover that says it; where none is at hand, pause and look it up, for a wrong one accuses the \
             wrong cylinder"
        }
        _ => return Ok(()),
    };
    let letters = text.chars().filter(|c| c.is_alphabetic()).count();
    let refused = |why| {
        let typed = text.trim().to_owned();
        Err(Refusal::NotOfLine { typed, why, remedy })
    };
    if !text.contains(char::is_alphanumeric) {
        return refused("holds no letter and no digit");
    }
    if is_source(line) {
        return match is_unknown(text) {
            true => refused("is no source"),
            false => Ok(()),
        };
    }
    if is_reading(text) {
        return refused("is a reading with its unit");
    }
    if line == RecordLine::Complaint && letters < LEAST_LETTERS {
        return refused("says nothing of what is wrong");
    }
    Ok(())
}

fn is_source(line: RecordLine) -> bool {
    matches!(
        line,
        RecordLine::FiringOrderSource | RecordLine::NumberingSource
    )
}

/// What people write who do not know.
const UNKNOWN: [&str; 12] = [
    "dont know",
    "do not know",
    "i dont know",
    "dunno",
    "no idea",
    "not known",
    "unknown",
    "not sure",
    "unsure",
    "none",
    "nothing",
    "no",
];

fn is_unknown(text: &str) -> bool {
    let plain = |c: &char| c.is_alphanumeric() || c.is_whitespace();
    let said: String = text.chars().filter(plain).collect();
    let words: Vec<&str> = said.split_whitespace().collect();
    UNKNOWN.contains(&words.join(" ").to_lowercase().as_str())
}

/// Least letters of a complaint: two make one in some scripts.
const LEAST_LETTERS: usize = 2;

/// Whether it is a number and, after a space, a unit, as in "12 V".
fn is_reading(text: &str) -> bool {
    let parts = text.trim().split_once(char::is_whitespace);
    parts.is_some_and(|(number, unit)| {
        number.replace(',', ".").parse::<Decimal>().is_ok() && Unit::parse(unit).is_ok()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plates_and_complaints_of_the_world_pass_and_what_is_neither_does_not() {
        let passes = |line, text: &str| of_line(text, line).is_ok();
        let plate = |text| passes(RecordLine::VehicleIdentity, text);
        for line in [RecordLine::FiringOrderSource, RecordLine::NumberingSource] {
            for bad in ["dont know", "Don't know.", "?", "-", "none", "Not  sure"] {
                assert!(!passes(line, bad), "{bad}");
            }
            for good in ["data book", "no. 12", "cover", "p. 40"] {
                assert!(passes(line, good), "{good}");
            }
        }
        for good in [
            "AB 12",
            "7",
            "1234 ABC",
            "京都 500 あ 12-34",
            "ب 123",
            "1N4AL11D75C109151",
            "12V",
        ] {
            assert!(plate(good), "{good}");
        }
        for bad in [".", " . ", "--", "?!", "12 V", "12,5 V", "84 km"] {
            assert!(!plate(bad), "{bad}");
        }
        let complaint = |text| passes(RecordLine::Complaint, text);
        for good in ["shakes", "no start", "振動", "does not pull above 3000 rpm"] {
            assert!(complaint(good), "{good}");
        }
        for bad in ["12 V", "12", " . ", "x", "?"] {
            assert!(!complaint(bad), "{bad}");
        }
        assert!(!passes(RecordLine::Vehicle, "-") && passes(RecordLine::Scope, "-"));
        let told = of_line(" 12 V", RecordLine::VehicleIdentity)
            .unwrap_err()
            .to_string();
        assert!(
            told.starts_with("\"12 V\" is a reading with its unit; write"),
            "{told}"
        );
    }
}
