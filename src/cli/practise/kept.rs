//! An exercise as it is written beside the shop's jobs.

use base64ct::{Base64, Encoding};

use crate::practise::Exercise;

/// An exercise as its shop keeps it.
#[derive(Debug)]
pub(super) struct Kept {
    pub(super) exercise: Exercise,
    /// The procedure as it was named when the exercise was begun: by its name or by a path.
    pub(super) given: Option<String>,
}

/// Key of that in the file.
const GIVEN: &str = "procedure";

/// Key of the exercise in Base64: no secret, yet nobody reads the fault in passing. Older files have it in the clear.
const HIDDEN: &str = "hidden";

impl Kept {
    pub(super) fn read(text: &str) -> serde_json::Result<Self> {
        let whole: serde_json::Value = serde_json::from_str(text)?;
        let given = whole[GIVEN].as_str().map(str::to_owned);
        let hidden = whole[HIDDEN].as_str();
        let bytes = hidden.map(|hidden| Base64::decode_vec(hidden).unwrap_or_default());
        let exercise = match bytes {
            Some(bytes) => serde_json::from_slice(&bytes)?,
            None => serde_json::from_value(whole)?,
        };
        Ok(Kept { exercise, given })
    }

    pub(super) fn written(&self) -> serde_json::Result<String> {
        let hidden = Base64::encode_string(&serde_json::to_vec(&self.exercise)?);
        let whole = serde_json::json!({GIVEN: self.given, HIDDEN: hidden});
        serde_json::to_string_pretty(&whole)
    }
}

impl std::ops::Deref for Kept {
    type Target = Exercise;

    fn deref(&self) -> &Exercise {
        &self.exercise
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::practise::Difficulty;

    #[test]
    fn what_is_kept_is_read_again_and_older_ones_too() {
        let exercise = Exercise {
            fuel: None,
            seed: u64::MAX,
            difficulty: Difficulty::Easy,
            signal: None,
            firing_order: None,
            weak: Some([(3, 62.0)].into()),
            escape: None,
            spoil: None,
        };
        let given = Some("sheets/look.yaml".to_owned());
        let kept = Kept {
            exercise: exercise.clone(),
            given,
        };
        let written = kept.written().unwrap();
        assert!(!written.contains("62"), "{written}");
        let again = Kept::read(&written).unwrap();
        assert_eq!(
            (&again.exercise, &again.given),
            (&kept.exercise, &kept.given)
        );
        let older = serde_json::to_string(&exercise).unwrap();
        let older = Kept::read(&older).unwrap();
        assert_eq!((older.exercise, older.given), (exercise, None));
    }
}
