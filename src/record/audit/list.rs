//! Lists of free texts in one cell of an audit's line: separated by semicolons, and each comes back as it was.

/// The texts as one. One that could be taken for two is in quotes, its own quotes doubled.
pub(super) fn joined<'t>(texts: impl IntoIterator<Item = &'t String>) -> String {
    let quoted = |text: &String| match text.contains([';', '"']) {
        true => format!("\"{}\"", text.replace('"', "\"\"")),
        false => text.clone(),
    };
    let all: Vec<String> = texts.into_iter().map(quoted).collect();
    all.join("; ")
}

/// The texts out of that one; none of an empty one.
pub(super) fn parted(list: &str) -> Vec<String> {
    if list.is_empty() {
        return Vec::new();
    }
    let mut texts = vec![String::new()];
    let mut is_quoted = false;
    let mut rest = list.chars().peekable();
    while let (Some(sign), Some(text)) = (rest.next(), texts.last_mut()) {
        match sign {
            '"' if is_quoted && rest.next_if_eq(&'"').is_some() => text.push('"'),
            '"' => is_quoted = !is_quoted,
            ';' if !is_quoted => {
                rest.next_if_eq(&' ');
                texts.push(String::new());
            }
            _ => text.push(sign),
        }
    }
    texts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_text_comes_back_word_for_word() {
        for (texts, list) in [
            (&[][..], ""),
            (&["fuel off"], "fuel off"),
            (
                &["it was cold", "the van had to go"],
                "it was cold; the van had to go",
            ),
            (&["cold; \"very\""], "\"cold; \"\"very\"\"\""),
            (
                &["cold; no heater", "\"kim\" said so", "late"],
                "\"cold; no heater\"; \"\"\"kim\"\" said so\"; late",
            ),
        ] {
            let texts: Vec<String> = texts.iter().map(|text| (*text).to_owned()).collect();
            assert_eq!(joined(&texts), list);
            assert_eq!(parted(list), texts);
        }
    }
}
