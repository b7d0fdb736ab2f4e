//! State files: a site on an evening, from which a run goes on.

use super::calendar::{day_after, days_between};
use super::error::{Fault, ScenarioError};
use super::file_kind::FileKind;
use super::locate::{Located, Part, byte_at};
use super::path::KeyPath;
use super::plan::{Begins, Plan};
use super::read::bounded;
use super::read::message;
use crate::chain::SiteState;
use jiff::civil::Date;
use jsonc_parser::ast::Value;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// What the file says it is.
const FORMAT: &str = "loamledger state";
/// Version of the format; a change that older programs cannot read raises it.
pub const STATE_VERSION: u32 = 2;
/// Amounts below zero by less than this are rounding, kg. Source: our choice.
const ROUNDING: f64 = 1e-6;
/// Largest number that a state may hold; a site at the limits of its keys held 5e12 kg of bran. Source: our choice.
const LARGEST: f64 = 1e15;
/// Keys whose numbers may be below zero.
const SIGNED: [&str; 6] = ["base", "temperature", "margin", "amounts", "per_sugar", "made"];
/// Keys that count days, and the most of them: a hundred years.
const DAYS: [&str; 2] = ["age", "days_run"];
const MOST_DAYS: f64 = 36_525.0;

/// A state file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StateFile {
    format: String,
    version: u32,
    /// Version of the program that wrote it.
    program: String,
    /// Name of the site.
    pub name: String,
    /// The evening.
    pub evening: Date,
    /// The state.
    pub state: SiteState,
}

impl StateFile {
    /// The state of a site of that name on an evening.
    pub fn new(name: &str, evening: Date, state: SiteState) -> Self {
        Self {
            format: FORMAT.to_owned(),
            version: STATE_VERSION,
            program: env!("CARGO_PKG_VERSION").to_owned(),
            name: name.to_owned(),
            evening,
            state,
        }
    }
}

/// What every state file has, whatever its version.
#[derive(Deserialize)]
struct Head {
    format: String,
    version: u32,
}

impl Plan {
    /// The plan from the morning after a state to its last day. `file` and `text` are name and text of the state file.
    ///
    /// The state must be of an evening from the day before the first day of the plan to the day before its last, and fit its drums
    /// and beds. Streams grow from the first day of the scenario, harvests keep their
    /// turns, and worms that came before are in the state: those that the scenario gives no day of arrival are not bought again.
    ///
    /// # Errors
    /// [`ScenarioError`] if the text is no state file or does not fit the plan.
    pub fn continued(&self, file: &str, text: &str) -> Result<Self, ScenarioError> {
        let read = parse_state(file, text)?;
        let located = Located::new(text);
        let fault = |key: &str, problem: &str, allowed: &str, hint: Option<&str>| {
            let path = KeyPath::top(key);
            let fault = Fault::new(text, &path, located.range(&path, Part::Value), problem).allowed(allowed);
            ScenarioError::faulty(file, text, vec![fault.hint(hint.map(str::to_owned))])
        };
        let gone = days_between(self.start, read.evening) + 1;
        let left = i64::from(self.days) - i64::from(gone);
        let Some(gone) = u32::try_from(gone).ok().filter(|_| left > 0) else {
            let last = day_after(self.start, self.days.max(2) - 2);
            let first = self.start.yesterday().unwrap_or(self.start);
            return Err(fault(
                "evening",
                "is not an evening from which this run goes on",
                &format!("{first} to {last}"),
                Some("change `start` or `days` of the scenario, or save the state on another evening"),
            ));
        };
        let areas: Vec<f64> =
            self.beds.iter().flat_map(|b| std::iter::repeat_n(b.area, b.count as usize)).collect();
        if let Err(wrong) = read.state.fits(self.drums.count as usize, &areas) {
            let inner = KeyPath::top("state").key(wrong.key);
            let range = located.range(&inner, Part::Key);
            let hint =
                "does this state belong to this scenario? continue with the one that it was saved from";
            let fault = Fault::new(text, &inner, range, wrong.problem).allowed(wrong.allowed);
            return Err(ScenarioError::faulty(file, text, vec![fault.hint(Some(hint.to_owned()))]));
        }
        let mut next = self.clone();
        next.choices.start = day_after(self.start, gone);
        next.choices.days = self.days - gone;
        next.begins = Some(Begins { evening: read.evening, name: read.name, state: Arc::new(read.state) });
        Ok(next)
    }
}

/// Reads the text of a state file; `file` is its name in messages.
///
/// # Errors
/// [`ScenarioError::Faulty`] if the text is no state file, or holds numbers that cannot be; [`ScenarioError::TooLarge`] above 8 MiB.
pub fn parse_state(file: &str, text: &str) -> Result<StateFile, ScenarioError> {
    let text = bounded(file, text, FileKind::State)?;
    let located = Located::new(text);
    let wrong = |error: &serde_json::Error| {
        let at = byte_at(text, error.line(), error.column()).min(text.len());
        let fault =
            Fault::new(text, &KeyPath::default(), at..at, format!("not a state file: {}", message(error)));
        ScenarioError::faulty(file, text, vec![fault.allowed(ALLOWED).hint(Some(SAVE.to_owned()))])
    };
    let at_key = |key: &str, problem: &str, allowed: String| {
        let path = KeyPath::top(key);
        let fault = Fault::new(text, &path, located.range(&path, Part::Value), problem);
        ScenarioError::faulty(file, text, vec![fault.allowed(allowed).hint(Some(SAVE.to_owned()))])
    };
    let head: Head = serde_json::from_str(text).map_err(|e| wrong(&e))?;
    if head.format != FORMAT {
        return Err(at_key("format", "is not that of a state file", format!("\"{FORMAT}\"")));
    }
    if head.version != STATE_VERSION {
        return Err(at_key(
            "version",
            "was written by another version of the program",
            STATE_VERSION.to_string(),
        ));
    }
    let read: StateFile = serde_json::from_str(text).map_err(|e| wrong(&e))?;
    let mut faults = Vec::new();
    if let Some(root) = located.root() {
        numbers(text, &located, root, &KeyPath::default(), "", &mut faults);
    }
    if faults.is_empty() { Ok(read) } else { Err(ScenarioError::faulty(file, text, faults)) }
}

const ALLOWED: &str = "a file written by `loamledger run SCENARIO --save-state DATE=FILE`";
const SAVE: &str = FileKind::State.origin();

/// Refuses numbers that no state has: amounts below zero, and what is larger than any site. `key` is the nearest key above.
fn numbers(
    text: &str,
    located: &Located<'_>,
    value: &Value<'_>,
    path: &KeyPath,
    key: &str,
    faults: &mut Vec<Fault>,
) {
    match value {
        Value::Object(object) => {
            for property in &object.properties {
                let name = property.name.as_str();
                numbers(text, located, &property.value, &path.key(name), name, faults);
            }
        }
        Value::Array(list) => {
            for (place, element) in list.elements.iter().enumerate() {
                numbers(text, located, element, &path.index(place), key, faults);
            }
        }
        Value::NumberLit(number) => {
            let read: f64 = number.value.parse().unwrap_or(f64::NAN);
            let low = if SIGNED.contains(&key) { -LARGEST } else { -ROUNDING };
            let high = if DAYS.contains(&key) { MOST_DAYS } else { LARGEST };
            if !(low..=high).contains(&read) {
                let problem = if read < 0.0 { "is negative" } else { "is out of range" };
                let fault = Fault::new(text, path, located.range(path, Part::Value), problem);
                let least = if low < -1.0 { low } else { 0.0 };
                faults.push(fault.allowed(format!("{least} to {high}")));
            }
        }
        _ => {}
    }
}
