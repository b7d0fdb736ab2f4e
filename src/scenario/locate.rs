//! Finds keys and values in the text of a scenario file.

use super::path::{KeyPath, Step};
use jsonc_parser::ParseOptions;
use jsonc_parser::ast::{ObjectProp, Value};
use jsonc_parser::common::Ranged;
use std::collections::BTreeSet;
use std::ops::Range;

/// Deepest nesting that is read; a scenario needs seven.
pub(super) const DEEPEST: usize = 32;

/// A scenario text taken apart, with byte ranges.
pub(super) struct Located<'a> {
    root: Option<Value<'a>>,
}

/// What of a path is pointed at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// The key.
    Key,
    /// The value.
    Value,
}

impl<'a> Located<'a> {
    /// Takes the text apart; an unreadable text gives no places.
    pub(super) fn new(text: &'a str) -> Self {
        let strict = ParseOptions {
            allow_comments: false,
            allow_loose_object_property_names: false,
            allow_trailing_commas: false,
            allow_missing_commas: false,
            allow_single_quoted_strings: false,
            allow_hexadecimal_numbers: false,
            allow_unary_plus_numbers: false,
            allow_bare_decimal_point_numbers: false,
            allow_non_finite_numbers: false,
            allow_extended_string_escapes: false,
        };
        let root = jsonc_parser::parse_to_ast(text, &jsonc_parser::CollectOptions::default(), &strict)
            .ok()
            .and_then(|parsed| parsed.value);
        Self { root }
    }

    /// Byte range of the key or value at a path. A path that is not there gives the brace of its nearest parent.
    pub(super) fn range(&self, path: &KeyPath, part: Part) -> Range<usize> {
        let Some(mut value) = self.root.as_ref() else { return 0..0 };
        let mut key: Option<&ObjectProp<'_>> = None;
        for step in &path.0 {
            match below(value, step) {
                Some((property, inner)) => (key, value) = (property, inner),
                None => return opening(key, value),
            }
        }
        match (part, key) {
            (Part::Key, Some(prop)) => {
                let start = prop.start();
                // the range of a property begins at its quoted name
                start..start + prop.name.as_str().len() + 2
            }
            _ => whole(value),
        }
    }

    /// Keys given twice, each with the path of its object and the range of the later key.
    pub(super) fn duplicates(&self) -> Vec<(KeyPath, Range<usize>)> {
        let mut found = Vec::new();
        if let Some(root) = &self.root {
            find_duplicates(root, &KeyPath::default(), &mut found);
        }
        found
    }

    /// The whole file. None if the text is no JSON.
    pub(super) fn root(&self) -> Option<&Value<'a>> {
        self.root.as_ref()
    }

    /// Whether a path leads to a value that is not null.
    pub(super) fn holds(&self, path: &KeyPath) -> bool {
        let Some(root) = self.root.as_ref() else { return false };
        let found = path.0.iter().try_fold(root, |value, step| below(value, step).map(|f| f.1));
        found.is_some_and(|value| !matches!(value, Value::NullKeyword(_)))
    }
}

/// The value one step deeper, with its property if it has a name.
fn below<'v, 'a>(value: &'v Value<'a>, step: &Step) -> Option<(Option<&'v ObjectProp<'a>>, &'v Value<'a>)> {
    match step {
        Step::Key(name) => {
            let property = value.as_object()?.properties.iter().rev().find(|p| p.name.as_str() == name)?;
            Some((Some(property), &property.value))
        }
        Step::Index(place) => Some((None, value.as_array()?.elements.get(*place)?)),
    }
}

fn whole(value: &Value<'_>) -> Range<usize> {
    match value {
        // a long list or object is pointed at by its first character
        Value::Object(_) | Value::Array(_) => value.start()..value.start() + 1,
        _ => value.start()..value.end(),
    }
}

fn opening(key: Option<&ObjectProp<'_>>, value: &Value<'_>) -> Range<usize> {
    match key {
        Some(prop) if !matches!(value, Value::Object(_) | Value::Array(_)) => prop.start()..value.end(),
        _ => whole(value),
    }
}

fn find_duplicates(value: &Value<'_>, path: &KeyPath, found: &mut Vec<(KeyPath, Range<usize>)>) {
    match value {
        Value::Object(object) => {
            let mut seen = BTreeSet::new();
            for prop in &object.properties {
                let name = prop.name.as_str();
                let inner = path.key(name);
                if !seen.insert(name) {
                    found.push((inner.clone(), prop.start()..prop.start() + name.len() + 2));
                }
                find_duplicates(&prop.value, &inner, found);
            }
        }
        Value::Array(array) => {
            for (i, element) in array.elements.iter().enumerate() {
                find_duplicates(element, &path.index(i), found);
            }
        }
        _ => {}
    }
}

/// Byte at which the nesting becomes deeper than [`DEEPEST`].
pub(super) fn too_deep(text: &str) -> Option<usize> {
    let (mut depth, mut in_text, mut escaped) = (0usize, false, false);
    for (i, byte) in text.bytes().enumerate() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' if in_text => escaped = true,
            b'"' => in_text = !in_text,
            b'{' | b'[' if !in_text => {
                depth += 1;
                if depth > DEEPEST {
                    return Some(i);
                }
            }
            b'}' | b']' if !in_text => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    None
}

/// Byte of a line and column, both from one, where the column counts bytes as the JSON reader does.
pub(super) fn byte_at(text: &str, line: usize, column: usize) -> usize {
    let start = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum::<usize>();
    let mut byte = (start + column.saturating_sub(1)).min(text.len());
    while !text.is_char_boundary(byte) {
        byte -= 1;
    }
    byte
}

/// Line and column of a byte, both from one, where the column counts characters.
pub(super) fn line_and_column(text: &str, byte: usize) -> (usize, usize) {
    let before = &text[..byte.min(text.len())];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    (line, column)
}
