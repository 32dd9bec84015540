//! Numbers in texts. One that was changed (how long to crank, how high a pressure) may take a protection away, and is
//! easily read over among other words.

/// Numbers that are written as words; from twelve on people write figures.
const WORDS: [&str; 13] = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
];

/// The numbers that were changed from one text to another, in words; none where they are the same in the same order.
pub(super) fn changed(was: &str, is: &str) -> Option<String> {
    let (was, is) = (numbers(was), numbers(is));
    let written = |numbers: &[String]| match numbers {
        [] => "none".to_owned(),
        numbers => numbers.join(", "),
    };
    (was != is).then(|| format!("numbers changed ({} → {})", written(&was), written(&is)))
}

/// The numbers of a text in their order, words as figures. "One" is left out: it mostly is none.
fn numbers(text: &str) -> Vec<String> {
    let words = words(text).filter(|word| word != "one");
    words.filter_map(|word| figure(&word)).collect()
}

/// The words of a text in their order, in small letters, without what stands around them.
pub(crate) fn words(text: &str) -> impl Iterator<Item = String> {
    let parts = text.split(|c: char| !(c.is_alphanumeric() || c == '.' || c == ','));
    let parts = parts.map(|part| part.trim_matches(['.', ',']).to_lowercase());
    parts.filter(|part| !part.is_empty())
}

/// A word that is a number, as figures.
pub(crate) fn figure(word: &str) -> Option<String> {
    if word.starts_with(|c: char| c.is_ascii_digit()) {
        return Some(word.to_owned());
    }
    let figure = WORDS.iter().position(|known| *known == word)?;
    Some(figure.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_and_words_are_numbers() {
        assert_eq!(
            changed(
                "Crank for two seconds at most.",
                "Crank for 20 seconds at most."
            )
            .as_deref(),
            Some("numbers changed (2 → 20)")
        );
        assert_eq!(
            changed("Crank for two seconds.", "Crank 2 seconds long."),
            None
        );
        assert_eq!(
            changed("Raise it to 7.5 bar.", "Raise it.").as_deref(),
            Some("numbers changed (7.5 → none)")
        );
        assert_eq!(
            changed("No one stands there.", "Nobody stands there."),
            None
        );
        assert_eq!(
            changed("Not over 12 V, then 5 V.", "Not over 5 V, then 12 V.").as_deref(),
            Some("numbers changed (12, 5 → 5, 12)")
        );
    }
}
