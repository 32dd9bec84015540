//! Where things stand in a set-up's text, for errors about what YAML itself finds sound.

use saphyr_parser::{Event, Parser};

/// An open mapping or list while walking: the key that was read last, or what comes next is a key.
struct Level {
    is_mapping: bool,
    key: Option<String>,
    on_path: bool,
}

/// Line and column, from 1, of the deepest key on `path` that the text has; (0, 0) where it has none.
#[must_use]
pub(super) fn of(text: &str, path: &[&str]) -> (u64, u64) {
    let mut levels: Vec<Level> = Vec::new();
    let mut best = (0, (0, 0));
    for event in Parser::new_from_str(text) {
        let Ok((event, span)) = event else { break };
        match event {
            Event::MappingStart(..) | Event::SequenceStart(..) => {
                let on_path = enter(&mut levels, path);
                levels.push(Level {
                    is_mapping: matches!(event, Event::MappingStart(..)),
                    key: None,
                    on_path,
                });
            }
            Event::MappingEnd | Event::SequenceEnd => {
                levels.pop();
            }
            Event::Scalar(value, ..) => {
                let depth = levels.len();
                let Some(level) = levels.last_mut().filter(|level| level.is_mapping) else {
                    continue;
                };
                if level.key.take().is_some() {
                    continue;
                }
                let wanted = path.get(depth - 1).is_some_and(|key| *key == value);
                if level.on_path && wanted && depth > best.0 {
                    let start = span.start;
                    best = (depth, (start.line() as u64, start.col() as u64 + 1));
                }
                level.key = Some(value.into_owned());
            }
            _ => {}
        }
    }
    best.1
}

/// Whether the text is YAML at all and nests no deeper than `most`; else line, column and what is wrong. The
/// reader that comes after takes time with the square of the depth, and speaks of types before it sees that
/// a bracket never closes.
pub(super) fn sound(text: &str, most: usize) -> Result<(), (u64, u64, String)> {
    let mut depth = 0;
    for event in Parser::new_from_str(text) {
        let (event, span) = event.map_err(|error| {
            let at = error.marker();
            let message = format!("this is no YAML: {}", error.info());
            (at.line() as u64, at.col() as u64 + 1, message)
        })?;
        match event {
            Event::MappingStart(..) | Event::SequenceStart(..) => depth += 1,
            Event::MappingEnd | Event::SequenceEnd => depth -= 1,
            _ => {}
        }
        if depth > most {
            let message = format!("lists and mappings stand more than {most} deep");
            let at = span.start;
            return Err((at.line() as u64, at.col() as u64 + 1, message));
        }
    }
    Ok(())
}

/// Whether the mapping or list that starts here is the value of the next key on the path.
fn enter(levels: &mut [Level], path: &[&str]) -> bool {
    let depth = levels.len();
    let Some(level) = levels.last_mut() else {
        return true;
    };
    let key = level.key.take();
    level.on_path && key.is_some_and(|key| path.get(depth - 1) == Some(&key.as_str()))
}

#[cfg(test)]
mod tests {
    use super::of;
    use super::sound;

    const TEXT: &str = "# bits: none\nengine: {cylinders: 4, firing_order: [1, 2]}\nchannels:\n  \
                        battery_voltage:\n    column: bits\n    bits: 12\n  crank_speed: {bits: 8}\n";

    #[test]
    fn keys_are_found_in_their_own_mapping() {
        assert_eq!(of(TEXT, &["channels", "battery_voltage", "bits"]), (6, 5));
        assert_eq!(of(TEXT, &["channels", "crank_speed", "bits"]), (7, 17));
        assert_eq!(of(TEXT, &["engine", "firing_order"]), (2, 24));
    }

    #[test]
    fn what_is_no_yaml_or_too_deep_is_told_with_its_place() {
        assert_eq!(sound("a: [1, [2]]\n", 3), Ok(()));
        let (line, column, message) = sound("a: [1, [2]]\n", 2).unwrap_err();
        assert_eq!((line, column), (1, 8));
        assert!(message.contains("more than 2 deep"));
        assert!(sound(&"[".repeat(100_000), 8).is_err());
        let (line, _, message) = sound("a: 1\nb: [1, 2\nc: }\n", 8).unwrap_err();
        assert_eq!(line, 3);
        assert!(message.starts_with("this is no YAML"));
    }

    #[test]
    fn what_is_missing_is_placed_at_its_parent_or_nowhere() {
        assert_eq!(of(TEXT, &["engine", "fuel"]), (2, 1));
        assert_eq!(of(TEXT, &["limits", "low_percent"]), (0, 0));
        assert_eq!(of("", &["engine"]), (0, 0));
        assert_eq!(of("engine: [", &["engine"]), (1, 1));
    }
}
