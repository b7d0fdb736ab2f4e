//! Numbers of the scenario file: unit, range, default and its basis. One row for each, made from the declarations of the sections.

use super::plan::Choices;
use super::section::{Section, Shape};
use crate::quantity::Kind;
use std::sync::LazyLock;

/// What holds if a number is left out of the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fallback {
    /// The key must be given.
    Required,
    /// Nothing: the plan has none, or another rule fills it in.
    Nothing,
    /// This value, in the documented unit.
    Value(f64),
}

/// What a number may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Number {
    /// What is measured; its unit is the documented one.
    pub kind: Kind,
    /// Smallest allowed value, in the documented unit.
    pub low: f64,
    /// Largest allowed value, in the documented unit.
    pub high: f64,
    /// What holds if it is left out.
    pub fallback: Fallback,
    /// Where the default comes from: a key of the literature tables (and which part of the entry), a key of the sources, or
    /// `choice`; empty without a default. The schema shows it.
    pub basis: &'static str,
}

impl Number {
    /// The allowed range and the units, in words.
    pub(super) fn allowed(&self) -> String {
        let unit = if self.kind.unit().is_empty() { String::new() } else { format!(" {}", self.kind.unit()) };
        format!("{} to {}{unit}; {}", self.low, self.high, self.kind.allowed())
    }
}

/// A number of the scenario file.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// Key path, such as `drums.count`; entries of a map as `*`, places in a list left out.
    pub path: String,
    /// What it is, in words.
    pub text: String,
    /// What it may be.
    pub number: Number,
}

static FIELDS: LazyLock<Vec<Field>> = LazyLock::new(|| {
    let mut all = Vec::new();
    gather("", "", Choices::shape(()), &mut all);
    all
});

/// Every number of a scenario, in the order of the declarations.
pub fn fields() -> &'static [Field] {
    &FIELDS
}

/// The number of a key path, written as [`Field::path`]. None if the key is no number.
pub fn field(path: &str) -> Option<&'static Number> {
    FIELDS.iter().find(|field| field.path == path).map(|field| &field.number)
}

/// A hint to the section that has a key of that name. None if no section has one.
pub(super) fn home(key: &str) -> Option<String> {
    let mut places = FIELDS.iter().filter_map(|field| field.path.rsplit_once('.'));
    let (section, _) = places.find(|(_, last)| *last == key)?;
    Some(format!("this key belongs to `{section}`"))
}

fn gather(path: &str, text: &str, shape: Shape, all: &mut Vec<Field>) {
    let below = |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
    match shape {
        Shape::Number(number) => all.push(Field { path: path.to_owned(), text: text.to_owned(), number }),
        Shape::List(inner) => gather(path, text, *inner, all),
        Shape::Map(inner) => gather(&below("*"), text, *inner, all),
        Shape::Section(_, keys) => {
            for key in keys {
                gather(&below(key.name), &key.text, key.shape, all);
            }
        }
        _ => {}
    }
}
