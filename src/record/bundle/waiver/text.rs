//! The text of a waiver, written and read side by side: one spelling for each waiver.

use crate::record::digest;
use crate::record::moment;
use crate::text::steers;

/// First line of the file: what it is, and the version of its form.
pub const FIRST_LINE: &str = "evenfire waiver 1";

/// The names of the lines after the first, in their order.
const NAMES: [&str; 6] = ["job", "step", "reason", "lead", "time", "journal"];

/// What a lead waives, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waiver {
    /// Job number.
    pub job: String,
    /// Step, as its path: `hold-vehicle`, `test-leakage/raise-pressure`.
    pub step: String,
    /// Why, as typed; one line.
    pub reason: String,
    /// Identity of the lead, as in the roster.
    pub lead: String,
    /// When, UTC, RFC 3339: the lead's word.
    pub time: String,
    /// Hash of the journal's last line when the lead signed, hex.
    pub journal: String,
}

impl Waiver {
    /// The bytes of the file.
    #[must_use]
    pub fn text(&self) -> String {
        let values = [
            &self.job,
            &self.step,
            &self.reason,
            &self.lead,
            &self.time,
            &self.journal,
        ];
        let lines = NAMES.iter().zip(values);
        let lines: String = lines
            .map(|(name, value)| format!("{name}: {value}\n"))
            .collect();
        format!("{FIRST_LINE}\n{lines}")
    }

    /// Read a file's bytes; the error is a sentence.
    ///
    /// # Errors
    /// Where it is of another form or version, or says too little, each in a sentence.
    pub fn parse(bytes: &[u8]) -> Result<Waiver, String> {
        let text = std::str::from_utf8(bytes).map_err(|_| "it is not text")?;
        let whole = text.strip_suffix('\n').ok_or("its last line has no end")?;
        let mut lines = whole.split('\n');
        match lines.next() {
            Some(FIRST_LINE) => {}
            Some(other) if is_another_version(other) => {
                return Err(format!(
                    "its form is newer than this program knows ({FIRST_LINE:?}): use the version that made it"
                ));
            }
            _ => return Err(format!("it does not begin with the line {FIRST_LINE:?}")),
        }
        let mut values = NAMES.iter().map(|name| {
            let value = lines.next().and_then(|line| line.strip_prefix(name));
            let value = value.and_then(|rest| rest.strip_prefix(": "));
            value
                .map(str::to_owned)
                .ok_or_else(|| format!("the line \"{name}: …\" is missing in its place"))
        });
        let mut next = || {
            values
                .next()
                .unwrap_or_else(|| Err("it is too short".into()))
        };
        let waiver = Waiver {
            job: next()?,
            step: next()?,
            reason: next()?,
            lead: next()?,
            time: next()?,
            journal: next()?,
        };
        if lines.next().is_some() {
            return Err("something follows its last line".into());
        }
        waiver.sound()
    }

    /// Refuse what would not read back, or says nothing.
    ///
    /// # Errors
    /// What is refused, in a sentence.
    pub fn sound(self) -> Result<Waiver, String> {
        for (name, value) in [
            ("job", &self.job),
            ("step", &self.step),
            ("reason", &self.reason),
            ("lead", &self.lead),
        ] {
            if value.trim().is_empty() || value.trim() != value {
                return Err(format!("the {name} is empty, or has blanks around it"));
            }
            if value.contains(steers) {
                return Err(format!(
                    "the {name} must be one line without control or invisible characters"
                ));
            }
        }
        if moment::read(&self.time).is_none() {
            return Err("its time is no time as records write it".into());
        }
        if !digest::is_digest(&self.journal) {
            return Err("the journal's hash is not 64 lower-case hexadecimal digits".into());
        }
        if self.text().len() as u64 > super::LONGEST_FILE {
            return Err(format!("it is longer than {} bytes", super::LONGEST_FILE));
        }
        Ok(self)
    }
}

fn is_another_version(line: &str) -> bool {
    let number = line.strip_prefix("evenfire waiver ").unwrap_or_default();
    !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn waiver() -> Waiver {
        Waiver {
            job: "0042".into(),
            step: "warm-up".into(),
            reason: "It does not start: no fuel, so warm water only.".into(),
            lead: "kim.vell@shop.example".into(),
            time: "2026-03-02T09:40:00Z".into(),
            journal: "0".repeat(64),
        }
    }

    #[test]
    fn other_spellings_are_refused() {
        let good = waiver().text();
        assert_eq!(Waiver::parse(good.as_bytes()), Ok(waiver()));
        for (spelling, told) in [
            (good.replace('\n', "\r\n"), "does not begin"),
            (good.trim_end().to_owned(), "no end"),
            (format!("{good}\n"), "something follows"),
            (good.replace("step: ", "step:"), "step"),
            (good.replace("waiver 1", "waiver 2"), "newer"),
            (good.replace("job: 0042\n", ""), "job"),
            (good.replace("warm-up", "warm\u{1b}[2J"), "one line"),
            (good.replace("00Z", "99Z"), "no time"),
            (good.replace("0000000000", "A000000000"), "hexadecimal"),
            (good.replace("reason: It", "reason:  It"), "blanks"),
        ] {
            let refused = Waiver::parse(spelling.as_bytes()).unwrap_err();
            assert!(refused.contains(told), "{refused}");
        }
        assert!(Waiver::parse(b"\xff").is_err());
    }

    proptest! {
        #[test]
        fn what_is_sound_reads_back(reason in ".{0,200}", step in "[a-z/-]{0,20}") {
            let waiver = Waiver { reason, step, ..waiver() };
            if let Ok(sound) = waiver.clone().sound() {
                prop_assert_eq!(Waiver::parse(sound.text().as_bytes()), Ok(waiver));
            }
        }

        #[test]
        fn what_reads_has_one_spelling(text in "(evenfire waiver 1\n)?(job: 1\nstep: a\nreason: \\PC{1,9}\nlead: k\ntime: 2026-03-02T09:40:00Z\njournal: [0-9a-f]{64}\n)?.{0,3}") {
            if let Ok(waiver) = Waiver::parse(text.as_bytes()) {
                prop_assert_eq!(waiver.text(), text);
            }
        }
    }
}
