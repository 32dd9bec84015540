//! An exercise as it is written beside the shop's jobs.

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

impl Kept {
    pub(super) fn read(text: &str) -> serde_json::Result<Self> {
        let whole: serde_json::Value = serde_json::from_str(text)?;
        Ok(Kept {
            exercise: serde_json::from_str(text)?,
            given: whole[GIVEN].as_str().map(str::to_owned),
        })
    }

    pub(super) fn written(&self) -> serde_json::Result<String> {
        let mut whole = serde_json::to_value(&self.exercise)?;
        whole[GIVEN] = self.given.clone().into();
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
        let again = Kept::read(&kept.written().unwrap()).unwrap();
        assert_eq!(
            (&again.exercise, &again.given),
            (&kept.exercise, &kept.given)
        );
        let older = serde_json::to_string(&exercise).unwrap();
        let older = Kept::read(&older).unwrap();
        assert_eq!((older.exercise, older.given), (exercise, None));
    }
}
