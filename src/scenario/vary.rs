//! The same scenario with one key changed, for what-if questions.

use super::error::{Fault, ScenarioError};
use super::path::{KeyPath, Step};
use serde_json::{Map, Value};

/// The text of a scenario with one key set, for [`super::parse`].
///
/// A list without a place, as in `beds.area`, means each of its elements. The value is JSON where it is valid JSON, else
/// a text: `0.3`, `120 lb/day`, `[0.7, 0.8]`.
///
/// # Errors
/// If the text is not JSON, or the key leads through something that is no object or list.
///
/// # Panics
/// Never: a value read from JSON can be written as JSON.
pub fn varied(name: &str, text: &str, key: &str, value: &str) -> Result<String, ScenarioError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let wrong = |problem: String, allowed: &str| {
        let fault = Fault::new(text, &KeyPath::default(), 0..0, problem);
        ScenarioError::faulty(name, text, vec![fault.allowed(allowed)])
    };
    let mut root: Value = serde_json::from_str(text)
        .map_err(|e| wrong(format!("not JSON: {e}"), "a scenario that can be read"))?;
    let example = "a key path such as drums.count, beds[0].area or rates.bed.decay_rate_protein";
    let path = key_path(key).ok_or_else(|| wrong(format!("`{key}` is no key to vary"), example))?;
    let new = serde_json::from_str(value).unwrap_or_else(|_| Value::String(value.to_owned()));
    if set(&mut root, &path.0, &new) {
        Ok(serde_json::to_string_pretty(&root).expect("a value read from JSON can be written as JSON"))
    } else {
        Err(wrong(format!("`{key}` leads to nothing in this scenario"), example))
    }
}

/// Takes a key path apart.
fn key_path(key: &str) -> Option<KeyPath> {
    let mut path = KeyPath::default();
    let mut rest = key;
    while !rest.is_empty() {
        // keys of rates have dots
        if path == KeyPath::top("rates") {
            return Some(path.key(rest.trim_matches('"')));
        }
        let end = rest.find(['.', '[']).unwrap_or(rest.len());
        let name = &rest[..end];
        if name.is_empty() {
            return None;
        }
        path = path.key(name);
        rest = &rest[end..];
        while let Some(inner) = rest.strip_prefix('[') {
            let (place, after) = inner.split_once(']')?;
            path = path.index(place.parse().ok()?);
            rest = after;
        }
        rest = rest.strip_prefix('.').unwrap_or(rest);
    }
    (!path.0.is_empty()).then_some(path)
}

fn set(node: &mut Value, path: &[Step], new: &Value) -> bool {
    let Some((step, rest)) = path.split_first() else {
        new.clone_into(node);
        return true;
    };
    match (step, node) {
        (Step::Index(place), Value::Array(list)) => {
            list.get_mut(*place).is_some_and(|element| set(element, rest, new))
        }
        (Step::Key(_), Value::Array(list)) => {
            !list.is_empty() && list.iter_mut().all(|element| set(element, path, new))
        }
        (Step::Key(name), Value::Object(object)) => {
            let start = if rest.is_empty() { Value::Null } else { Value::Object(Map::new()) };
            set(object.entry(name.clone()).or_insert(start), rest, new)
        }
        _ => false,
    }
}
