//! Paths to values, as written after `with:` and between braces in a text: `rest-reading`,
//! `judge.lowest cylinder`.

use super::model::ValuePath;
use super::names::{is_kebab, is_words};

/// Read a path.
///
/// # Errors
/// In words, where the text is none.
pub fn parse(written: &str) -> Result<ValuePath, String> {
    let text = written.trim();
    let (of, fact) = match text.split_once('.') {
        Some((of, fact)) => (of, Some(fact)),
        None => (text, None),
    };
    if !is_kebab(of) || fact.is_some_and(|fact| !is_words(fact)) {
        return Err(format!("`{text}` is no path to a value"));
    }
    Ok(ValuePath {
        of: of.to_owned(),
        fact: fact.map(str::to_owned),
    })
}

/// The paths between braces in a text, in order.
///
/// # Errors
/// In words, where a brace is not closed or holds no path.
pub fn paths_in(text: &str) -> Result<Vec<ValuePath>, String> {
    let pieces = pieces(text).map_err(|(message, _)| message)?;
    Ok(pieces.into_iter().filter_map(|(_, path)| path).collect())
}

/// What is wrong with the first wrong brace of a text, and how many braces stand before it.
pub(crate) fn wrong_brace(text: &str) -> Option<(String, usize)> {
    pieces(text).err()
}

/// A text with its values put in. `value` gives each as it is shown.
///
/// # Errors
/// In words, where the text's braces are wrong or a value is not there.
pub fn fill(text: &str, value: impl Fn(&ValuePath) -> Option<String>) -> Result<String, String> {
    let mut filled = String::new();
    for (words, path) in pieces(text).map_err(|(message, _)| message)? {
        filled.push_str(words);
        if let Some(path) = path {
            filled.push_str(&value(&path).ok_or_else(|| format!("`{path}` has no value yet"))?);
        }
    }
    Ok(filled)
}

type Piece<'a> = (&'a str, Option<ValuePath>);

fn pieces(text: &str) -> Result<Vec<Piece<'_>>, (String, usize)> {
    let mut pieces = Vec::new();
    let mut rest = text;
    while let Some(open) = rest.find(['{', '}']) {
        let (words, after) = (&rest[..open], &rest[open + 1..]);
        let wrong = |message: String| (message, 2 * pieces.len());
        if rest[open..].starts_with('}') {
            return Err(wrong("a brace `}` without its `{`".to_owned()));
        }
        let close = after.find('}');
        let close = close.ok_or_else(|| wrong("a brace `{` is not closed".to_owned()))?;
        let path = parse(&after[..close]).map_err(wrong)?;
        pieces.push((words, Some(path)));
        rest = &after[close + 1..];
    }
    pieces.push((rest, None));
    Ok(pieces)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_put_in_where_their_path_stands() {
        let value = |path: &ValuePath| match path.to_string().as_str() {
            "cylinder" => Some("3".to_owned()),
            "judge.lowest percent" => Some("62 %".to_owned()),
            _ => None,
        };
        let text = "Cylinder {cylinder} at {judge.lowest percent}.";
        assert_eq!(fill(text, value).unwrap(), "Cylinder 3 at 62 %.");
        assert!(fill("{judge}", value).unwrap_err().contains("no value yet"));
        for bad in ["{", "}", "{}", "{a b}", "{a", "a}", "{Judge}"] {
            assert!(fill(bad, value).is_err(), "{bad}");
        }
    }
}
