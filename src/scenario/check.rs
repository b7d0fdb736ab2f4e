//! Reads values of the scenario file and gathers everything that is wrong.

use super::error::Fault;
use super::field::Number;
use super::locate::{Located, Part};
use super::path::KeyPath;
use super::section::{At, Shape};
use crate::literature;
use crate::quantity::{self, Kind, did_you_mean, format_input, nearest};
use jsonc_parser::ast::Value;

/// Gathers faults while values are read.
pub(super) struct Checker<'a> {
    pub(super) text: &'a str,
    pub(super) located: &'a Located<'a>,
    /// Names of the user's own ingredients.
    pub(super) own: Vec<String>,
    pub(super) faults: Vec<Fault>,
}

impl Checker<'_> {
    /// A fault at a key or value, to be completed and kept.
    pub(super) fn at(&self, path: &KeyPath, part: Part, problem: impl Into<String>) -> Fault {
        Fault::new(self.text, path, self.located.range(path, part), problem)
    }

    /// Keeps a fault at a value.
    pub(super) fn wrong(&mut self, path: &KeyPath, problem: &str, allowed: &str, hint: Option<String>) {
        let fault = self.at(path, Part::Value, problem).allowed(allowed).hint(hint);
        self.faults.push(fault);
    }

    /// Keeps a fault at a value of another shape.
    pub(super) fn wrong_type(&mut self, path: &KeyPath, value: &Value<'_>, wanted: &Shape) {
        let found = match value {
            Value::StringLit(_) => "a text",
            Value::NumberLit(_) => "a number",
            Value::BooleanLit(_) => "true or false",
            Value::Object(_) => "an object",
            Value::Array(_) => "a list",
            Value::NullKeyword(_) => "null",
        };
        self.wrong(path, &format!("wrong type: {found}"), &wanted.allowed(), None);
    }

    /// Whether a value has a fault, or something in it.
    pub(super) fn is_faulty(&self, path: &KeyPath) -> bool {
        let name = path.to_string();
        let inside = |key: &str| key.strip_prefix(&name).is_some_and(|rest| rest.starts_with(['.', '[']));
        self.faults.iter().any(|fault| fault.key == name || inside(&fault.key))
    }

    /// The elements of a list. None if the key is left out or holds something else.
    pub(super) fn list<'n>(&mut self, at: &At<'n>, wanted: &Shape) -> Option<&'n [Value<'n>]> {
        match at.value? {
            Value::Array(list) => Some(&list.elements),
            other => {
                self.wrong_type(&at.path, other, wanted);
                None
            }
        }
    }

    /// A text. None if the value is something else.
    pub(super) fn text_of<'n>(
        &mut self,
        path: &KeyPath,
        value: &'n Value<'n>,
        wanted: &Shape,
    ) -> Option<&'n str> {
        if let Value::StringLit(text) = value {
            return Some(&text.value);
        }
        self.wrong_type(path, value, wanted);
        None
    }

    /// A number in the documented unit, within its range. None after a fault.
    pub(super) fn number(&mut self, path: &KeyPath, value: &Value<'_>, number: &Number) -> Option<f64> {
        let (read, in_unit) = match value {
            Value::NumberLit(given) => (given.value.parse().unwrap_or(f64::NAN), String::new()),
            Value::StringLit(given) => match quantity::parse(number.kind, &given.value) {
                Ok(read) => (read, format!(" (it is {} {})", ascii(read), number.kind.unit())),
                Err(e) => {
                    self.wrong(path, &e.reason, &number.allowed(), e.hint);
                    return None;
                }
            },
            other => {
                self.wrong_type(path, other, &Shape::Number(*number));
                return None;
            }
        };
        if number.low <= read && read <= number.high {
            return Some(read);
        }
        let problem = if read < 0.0 && number.low >= 0.0 { "is negative" } else { "is out of range" };
        self.wrong(path, &format!("{problem}{in_unit}"), &number.allowed(), percent(number, read));
        None
    }

    /// A number in the unit of a literature table. None after a fault.
    pub(super) fn plain_number(&mut self, path: &KeyPath, value: &Value<'_>, wanted: &Shape) -> Option<f64> {
        if let Value::NumberLit(given) = value {
            return Some(given.value.parse().unwrap_or(f64::NAN));
        }
        self.wrong_type(path, value, wanted);
        None
    }

    /// Refuses an ingredient that is neither in the library nor, where it may be, the user's own. In a mix its name is the key.
    pub(super) fn ingredient(&mut self, path: &KeyPath, part: Part, name: &str, own_too: bool) {
        let own = if own_too { self.own.as_slice() } else { &[] };
        if literature::ingredient(name).is_some() || own.iter().any(|own| own == name) {
            return;
        }
        let library = literature::ingredients().iter().map(|i| i.id.as_str());
        let all: Vec<&str> = library.chain(own.iter().map(String::as_str)).collect();
        let hint = nearest(name, all.iter().copied()).map(did_you_mean);
        let fault = self.at(path, part, "unknown ingredient").allowed(all.join(", ")).hint(hint);
        self.faults.push(fault);
    }
}

/// A number for messages, which are plain ASCII.
fn ascii(value: f64) -> String {
    format_input(value, 6)
}

/// A share above one is most often a percentage.
fn percent(number: &Number, value: f64) -> Option<String> {
    let share = value / 100.0;
    let fits = matches!(number.kind, Kind::Share | Kind::Ratio)
        && value > 1.0
        && number.low <= share
        && share <= number.high;
    fits.then(|| format!("percent given? write {} or \"{} %\"", ascii(share), ascii(value)))
}
