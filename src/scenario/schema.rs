//! The published JSON Schema of scenario files, from the types that read them and the table of fields.

use super::field::Fallback;
use super::field::Field;
use super::field::field;
use super::path::KeyPath;
use super::raw;
use schemars::generate::SchemaSettings;
use serde_json::Map;
use serde_json::Value;
use serde_json::json;

/// JSON Schema (draft 2020-12) of a scenario file: every key with its text, unit, range and default. The command `schema` prints it.
pub fn schema() -> Value {
    let settings = SchemaSettings::draft2020_12().with(|s| s.inline_subschemas = true);
    let mut schema = settings.into_generator().into_root_schema_for::<raw::Scenario>().to_value();
    complete(&mut schema, &KeyPath::default());
    schema
}

/// Adds units, ranges and defaults below a node.
fn complete(node: &mut Value, path: &KeyPath) {
    let Some(object) = node.as_object_mut() else { return };
    if let Some(row) = field(&path.pattern()) {
        describe(object, row);
    }
    for (key, inner) in object.iter_mut() {
        match (key.as_str(), inner) {
            ("properties", Value::Object(properties)) => {
                for (name, property) in properties {
                    complete(property, &path.key(name));
                }
            }
            ("items", inner) => complete(inner, &path.index(0)),
            ("additionalProperties", inner) => complete(inner, &path.entry("*")),
            ("anyOf", Value::Array(choices)) => {
                for choice in choices {
                    complete(choice, path);
                }
            }
            _ => {}
        }
    }
}

fn describe(object: &mut Map<String, Value>, row: &Field) {
    // a list is described by its own text; the range belongs to its elements
    if object.contains_key("items") {
        return;
    }
    let text = object.get("description").and_then(Value::as_str).unwrap_or("").to_owned();
    let separator = if text.is_empty() { "" } else { " " };
    let basis = match row.fallback {
        Fallback::Value(_) => format!(" Default from: {}.", row.basis),
        _ => String::new(),
    };
    object.insert("description".into(), json!(format!("{text}{separator}As {}.{basis}", row.kind.allowed())));
    object.insert("minimum".into(), json!(row.low));
    object.insert("maximum".into(), json!(row.high));
    if let Fallback::Value(default) = row.fallback {
        object.insert("default".into(), json!(default));
    }
}
