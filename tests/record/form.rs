//! A value against a JSON Schema.

use serde_json::Value;

/// What differs between a value and a schema, as far as our schemas use the language.
pub fn differences(value: &Value, schema: &Value, root: &Value, at: &str) -> Vec<String> {
    if let Some(target) = schema["$ref"].as_str() {
        let target = root.pointer(&target[1..]).unwrap();
        return differences(value, target, root, at);
    }
    if let Some(either) = schema["anyOf"].as_array() {
        let fits = either
            .iter()
            .any(|one| differences(value, one, root, at).is_empty());
        return if fits {
            vec![]
        } else {
            vec![format!("{at}: fits none")]
        };
    }
    let mut found = Vec::new();
    if schema.get("const").is_some_and(|wanted| wanted != value) {
        found.push(format!("{at}: {value} is another constant"));
    }
    let kind = match value {
        Value::Null => "null",
        Value::Bool(_) => "boolean",
        Value::Number(n) if n.is_u64() => "integer",
        Value::Number(_) => "number",
        Value::String(_) => "string",
        Value::Array(_) => "array",
        Value::Object(_) => "object",
    };
    let is = |wanted: &Value| wanted == kind || (wanted == "number" && kind == "integer");
    match &schema["type"] {
        Value::Null => {}
        Value::Array(several) if several.iter().any(is) => {}
        one if is(one) => {}
        other => found.push(format!("{at}: {kind} is not {other}")),
    }
    for name in schema["required"].as_array().into_iter().flatten() {
        if value.is_object() && value.get(name.as_str().unwrap()).is_none() {
            found.push(format!("{at}: {name} is missing"));
        }
    }
    for (name, inner) in value.as_object().into_iter().flatten() {
        let further = &schema["additionalProperties"];
        match (schema["properties"].get(name), further) {
            (Some(own), _) => found.extend(differences(inner, own, root, &format!("{at}/{name}"))),
            (None, Value::Object(_)) => {
                found.extend(differences(inner, further, root, &format!("{at}/{name}")))
            }
            // A described object describes all that is written.
            (None, _) if schema["properties"].is_object() => {
                found.push(format!("{at}: {name} is not described"))
            }
            (None, _) => {}
        }
    }
    for (n, inner) in value.as_array().into_iter().flatten().enumerate() {
        found.extend(differences(
            inner,
            &schema["items"],
            root,
            &format!("{at}/{n}"),
        ));
    }
    found
}
