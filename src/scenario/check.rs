//! Reads numbers, dates and names out of the raw scenario and gathers everything that is wrong.

use super::calendar;
use super::error::Fault;
use super::field::{Fallback, Field, field};
use super::given::Given;
use super::locate::{Located, Part};
use super::path::KeyPath;
use crate::literature;
use crate::quantity::{self, Kind, did_you_mean, nearest, unparted, whole};
use jiff::civil::Date;

/// Gathers faults while values are read.
pub(super) struct Checker<'a> {
    pub(super) text: &'a str,
    pub(super) located: &'a Located<'a>,
    pub(super) own: Vec<String>,
    pub(super) faults: Vec<Fault>,
}

impl Checker<'_> {
    /// A fault at a key or value; to be finished and pushed.
    pub(super) fn at(&self, path: &KeyPath, part: Part, problem: impl Into<String>) -> Fault {
        Fault::new(self.text, path, self.located.range(path, part), problem)
    }

    /// Keeps a fault at a value.
    pub(super) fn wrong(&mut self, path: &KeyPath, problem: &str, allowed: &str, hint: Option<String>) {
        let fault = self.at(path, Part::Value, problem).allowed(allowed).hint(hint);
        self.faults.push(fault);
    }

    /// A number that may be left out: read, put in its unit, checked against its range.
    pub(super) fn number(&mut self, path: &KeyPath, raw: Option<&Given>) -> Option<f64> {
        let pattern = path.pattern();
        let row = field(&pattern).unwrap_or_else(|| panic!("no row for {pattern} in the table of fields"));
        let Some(raw) = raw else {
            return match row.fallback {
                Fallback::Value(v) => Some(v),
                Fallback::Nothing => None,
                Fallback::Required => {
                    let fault =
                        self.at(path, Part::Value, "is missing").allowed(allowed(row)).nothing_given();
                    self.faults.push(fault);
                    None
                }
            };
        };
        let value = match raw {
            Given::Number(v) => *v,
            Given::Text(text) => match quantity::parse(row.kind, text) {
                Ok(v) => v,
                Err(e) => {
                    self.wrong(path, &e.reason, &allowed(row), e.hint);
                    return None;
                }
            },
        };
        if row.low <= value && value <= row.high {
            return Some(value);
        }
        let in_unit = match raw {
            Given::Number(_) => String::new(),
            Given::Text(_) => format!(" (it is {} {})", ascii(value), row.kind.unit()),
        };
        let problem = if value < 0.0 && row.low >= 0.0 { "is negative" } else { "is out of range" };
        self.wrong(path, &format!("{problem}{in_unit}"), &allowed(row), percent(row, value));
        None
    }

    /// A number that has a default or must be given. Not a number after a fault, which discards the plan.
    pub(super) fn value(&mut self, path: &KeyPath, raw: Option<&Given>) -> f64 {
        self.number(path, raw).unwrap_or(f64::NAN)
    }

    /// A whole number.
    pub(super) fn count(&mut self, path: &KeyPath, raw: Option<&Given>) -> u32 {
        let Some(value) = self.number(path, raw) else { return 0 };
        // a text such as "4 months" means its nearest whole day
        if value.fract() != 0.0 && !matches!(raw, Some(Given::Text(_))) {
            self.wrong(path, "is not a whole number", "a whole number", None);
            return 0;
        }
        whole(value.round_ties_even())
    }

    /// A list of numbers of a fixed length; left out, all one.
    pub(super) fn factors<const N: usize>(
        &mut self,
        path: &KeyPath,
        raw: Option<&Vec<Given>>,
        each: &str,
    ) -> [f64; N] {
        let Some(raw) = raw else { return [1.0; N] };
        if raw.len() != N {
            let problem = format!("has {} numbers", raw.len());
            self.wrong(path, &problem, &format!("a list of {N} numbers, {each}"), None);
            return [f64::NAN; N];
        }
        std::array::from_fn(|i| self.value(&path.index(i), Some(&raw[i])))
    }

    /// A date.
    pub(super) fn date(&mut self, path: &KeyPath, text: &str) -> Option<Date> {
        let found = calendar::date(text).filter(|d| (1900..2200).contains(&d.year()));
        if found.is_none() {
            self.wrong(path, "is not a date", "a date from 1900 to 2199 such as \"2027-01-04\"", None);
        }
        found
    }

    /// A name that must not be empty.
    pub(super) fn name(&mut self, path: &KeyPath, text: &str) -> String {
        if text.trim().is_empty() {
            self.wrong(path, "is empty", "a name", None);
        }
        text.trim().to_owned()
    }

    /// A reference to an ingredient, at the value or, in a mix, at the key.
    pub(super) fn ingredient(&mut self, path: &KeyPath, part: Part, name: &str) -> String {
        if literature::ingredient(name).is_none() && !self.own.iter().any(|o| o == name) {
            let library = literature::ingredients().iter().map(|i| i.id.as_str());
            let all: Vec<&str> = library.chain(self.own.iter().map(String::as_str)).collect();
            let hint = nearest(name, all.iter().copied()).map(did_you_mean);
            let fault = self.at(path, part, "unknown ingredient").allowed(all.join(", ")).hint(hint);
            self.faults.push(fault);
        }
        name.to_owned()
    }
}

/// The allowed range of a field and its units, in words.
pub(super) fn allowed(row: &Field) -> String {
    let (low, high) = (row.low, row.high);
    let unit = if row.kind.unit().is_empty() { String::new() } else { format!(" {}", row.kind.unit()) };
    format!("{low} to {high}{unit}; {}", row.kind.allowed())
}

/// A number for messages, which stay plain ASCII.
fn ascii(value: f64) -> String {
    unparted(value, 6)
}

/// A share above one is most often a percentage.
fn percent(row: &Field, value: f64) -> Option<String> {
    let share = value / 100.0;
    let fits =
        matches!(row.kind, Kind::Share | Kind::Ratio) && value > 1.0 && row.low <= share && share <= row.high;
    fits.then(|| format!("percent given? write {} or \"{} %\"", ascii(share), ascii(value)))
}
