//! Results of runs keep to the schema that the program prints.

use crate::cli::loamledger;
use serde_json::Value;
use std::path::Path;

fn json(arguments: &[&str]) -> Value {
    let output = loamledger(&Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios"), arguments);
    serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{arguments:?}: {e}"))
}

fn is_of_type(value: &Value, name: &str) -> bool {
    match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "integer" => value.as_f64().is_some_and(|number| number.fract() == 0.0),
        "number" => value.is_number(),
        _ => panic!("no type {name}"),
    }
}

/// Every way in which a value differs from its schema: types, constants, keys missing and keys unknown.
pub(crate) fn faults(value: &Value, schema: &Value, path: &str) -> Vec<String> {
    let mut found = Vec::new();
    let types: Vec<&str> = match &schema["type"] {
        Value::String(name) => vec![name],
        Value::Array(names) => names.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    };
    if !types.is_empty() && !types.iter().any(|name| is_of_type(value, name)) {
        found.push(format!("{path}: {value} is not {types:?}"));
    }
    if schema.get("const").is_some_and(|only| only != value) {
        found.push(format!("{path}: {value} is not {}", schema["const"]));
    }
    if schema["enum"].as_array().is_some_and(|allowed| !allowed.contains(value)) {
        found.push(format!("{path}: {value} is not one of {}", schema["enum"]));
    }
    for choices in [&schema["anyOf"], &schema["oneOf"]].into_iter().filter_map(Value::as_array) {
        let tried: Vec<_> = choices.iter().map(|choice| faults(value, choice, path)).collect();
        if !tried.iter().any(Vec::is_empty) {
            found.extend(tried.into_iter().min_by_key(Vec::len).unwrap_or_default());
        }
    }
    if let (Some(object), Some(properties)) = (value.as_object(), schema["properties"].as_object()) {
        for (key, inner) in object {
            match properties.get(key) {
                Some(property) => found.extend(faults(inner, property, &format!("{path}.{key}"))),
                None => found.push(format!("{path}.{key} is not in the schema")),
            }
        }
        let required = schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str);
        found.extend(
            required.filter(|key| !object.contains_key(*key)).map(|key| format!("{path}.{key} is missing")),
        );
    }
    if let Some(list) = value.as_array() {
        let places = schema["prefixItems"].as_array().map_or(&[][..], Vec::as_slice);
        let inner =
            |n: usize| places.get(n).or_else(|| schema.get("items")).filter(|inner| inner.is_object());
        for (n, (item, inner)) in list.iter().enumerate().filter_map(|(n, item)| Some((n, (item, inner(n)?))))
        {
            found.extend(faults(item, inner, &format!("{path}[{n}]")));
        }
    }
    found
}

/// Calls with the path and the schema of each property.
fn walk(schema: &Value, path: &str, see: &mut dyn FnMut(&str, &Value)) {
    for (key, property) in schema["properties"].as_object().into_iter().flatten() {
        let path = format!("{path}.{key}");
        see(&path, property);
        walk(property, &path, see);
    }
    let lists = ["anyOf", "oneOf", "prefixItems"].into_iter().filter_map(|key| schema[key].as_array());
    for inner in lists.flatten().chain(schema.get("items")) {
        walk(inner, path, see);
    }
}

#[test]
fn results_of_the_worked_sites_keep_to_the_printed_schema() {
    let schema = json(&["schema", "--result"]);
    for site in ["harbour_hall", "mountain_school", "valley_packhouse"] {
        let result = json(&["run", &format!("{site}.json"), "--json"]);
        let found = faults(&result, &schema, "");
        assert!(found.is_empty(), "{site}: {:#?}", &found[..found.len().min(20)]);
    }
}

#[test]
fn a_key_too_many_or_missing_and_a_wrong_type_are_found() {
    let schema = json(&["schema", "--result"]);
    let mut result = json(&["run", "harbour_hall.json", "--json"]);
    result["drums"]["colour"] = "blue".into();
    result["balance"]["flows"][0]["from"] = "nowhere".into();
    result["daily"][3]["intake"] = "much".into();
    result["stock"].as_object_mut().expect("an object").remove("sold");
    let found = faults(&result, &schema, "").join("\n");
    for place in [".drums.colour", ".balance.flows[0].from", ".daily[3].intake", ".stock.sold"] {
        assert!(found.contains(place), "{place}: {found}");
    }
}

#[test]
fn each_field_of_a_result_has_its_text() {
    let schema = json(&["schema", "--result"]);
    let mut seen = 0;
    walk(&schema, "", &mut |path, property| {
        seen += 1;
        // the names of figures of a warning say what they are
        let text = property["description"].as_str().unwrap_or_default();
        assert!(path.contains(".warnings.warning") || !text.is_empty(), "{path} has no text");
    });
    assert!(seen > 300, "{seen}");
}
