//! From a file to a checked plan, with every way a file can be wrong told in the same shape.

use super::check::{Checker, allowed};
use super::error::{Fault, LARGEST_FILE, ScenarioError};
use super::field::{FIELDS, OBJECTS, field};
use super::locate::{DEEPEST, Located, Part, byte_at, chosen_keys, too_deep};
use super::path::{KeyPath, Step};
use super::plan::Plan;
use super::{build, raw};
use crate::quantity::{did_you_mean, nearest};
use serde::Deserialize;
use serde_json::error::Category;
use serde_path_to_error::Segment;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

/// Reads and checks a scenario file: [`parse`] of [`read_text`].
///
/// # Errors
/// As [`read_text`] and [`parse`].
pub fn read_scenario(path: &Path) -> Result<Plan, ScenarioError> {
    parse(&path.display().to_string(), &read_text(path)?)
}

/// Reads the text of a scenario file; a file that is too large is never read whole.
///
/// # Errors
/// [`ScenarioError::Unreadable`] when there is no such file, it is a folder or not UTF-8 text; [`ScenarioError::TooLarge`] above 8 MiB.
pub fn read_text(path: &Path) -> Result<String, ScenarioError> {
    let unreadable = |reason: &str, hint: &str| ScenarioError::Unreadable {
        path: path.to_owned(),
        reason: reason.to_owned(),
        hint: hint.to_owned(),
    };
    let opened = File::open(path).and_then(|file| file.metadata().map(|about| (file, about)));
    let (file, about) = opened.map_err(|e| match e.kind() {
        ErrorKind::NotFound => unreadable(
            "there is no such file",
            "check the spelling and the folder; `loamledger start FILE` writes a scenario to begin with",
        ),
        ErrorKind::PermissionDenied => unreadable("may not be read", "check the permissions of the file"),
        _ => unreadable(&format!("cannot be opened ({e})"), "check the path"),
    })?;
    if about.is_dir() {
        return Err(unreadable("is a folder, not a scenario file", "name a .json file inside it"));
    }
    if about.len() > LARGEST_FILE {
        return Err(ScenarioError::TooLarge { path: path.to_owned(), size: about.len() });
    }
    let mut bytes = Vec::new();
    // a pipe or a device tells no length: stop just past the limit
    file.take(LARGEST_FILE + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| unreadable(&format!("cannot be read ({e})"), "check the disk or the pipe"))?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(ScenarioError::TooLarge { path: path.to_owned(), size: bytes.len() as u64 });
    }
    String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let binary = e.as_bytes().contains(&0);
        let reason = format!("is not UTF-8 text (byte {} is wrong)", at + 1);
        let hint = if binary {
            "this looks like a picture, a spreadsheet or another binary file; a scenario is JSON text"
        } else {
            "save the file with the encoding UTF-8"
        };
        unreadable(&reason, hint)
    })
}

/// Checks the text of a scenario; `name` stands for the file in messages.
///
/// # Errors
/// [`ScenarioError::Faulty`] when the text is no scenario or holds values that cannot be. All faulty values are told at once; a text
/// that is no JSON, keys given twice, and an unknown key or wrong type are told first, without the rest. [`ScenarioError::TooLarge`] above 8 MiB.
pub fn parse(name: &str, text: &str) -> Result<Plan, ScenarioError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let located_fault = |fault: Fault| ScenarioError::faulty(name, text, vec![fault]);
    if text.len() as u64 > LARGEST_FILE {
        return Err(ScenarioError::TooLarge { path: name.into(), size: text.len() as u64 });
    }
    let top = KeyPath::default();
    if text.trim().is_empty() {
        let fault =
            Fault::new(text, &top, 0..0, "the file is empty").allowed(SCENARIO).hint(Some(START.into()));
        return Err(located_fault(fault));
    }
    if let Some(byte) = too_deep(text) {
        let problem = format!("nested deeper than {DEEPEST} levels");
        let fault = Fault::new(text, &top, byte..byte + 1, problem);
        return Err(located_fault(fault.allowed(format!("at most {DEEPEST} levels; a scenario needs 7"))));
    }
    // syntax first, over the whole text: a misspelt key must not hide that the file is no JSON
    let mut reader = serde_json::Deserializer::from_str(text);
    let syntax = serde::de::IgnoredAny::deserialize(&mut reader).and_then(|_| reader.end());
    syntax.map_err(|e| located_fault(syntax_fault(text, &e)))?;
    let located = Located::new(text);
    let shape = shape_faults(text, &located);
    if !shape.is_empty() {
        return Err(ScenarioError::faulty(name, text, shape));
    }
    let mut reader = serde_json::Deserializer::from_str(text);
    let raw: raw::Scenario = serde_path_to_error::deserialize(&mut reader)
        .map_err(|e| located_fault(type_fault(text, &located, &e)))?;
    let own = raw.ingredients.keys().cloned().collect();
    let mut checker = Checker { text, located: &located, own, faults: Vec::new() };
    let choices = build::choices(&mut checker, raw);
    match choices {
        Some(choices) if checker.faults.is_empty() => Ok(Plan::checked(choices)),
        _ => Err(ScenarioError::faulty(name, text, checker.faults)),
    }
}

const SCENARIO: &str = "a JSON object with name, start, days, streams and what stands on the site";
const START: &str = "`loamledger start FILE` writes a scenario to begin with";

/// Keys given twice, and lists where an object is wanted (which the derived reader would take).
fn shape_faults(text: &str, located: &Located<'_>) -> Vec<Fault> {
    let twice = located.duplicates().into_iter().map(|(path, range)| {
        Fault::new(text, &path, range, "this key is given twice")
            .allowed("each key once")
            .hint(Some("remove one of the two".into()))
    });
    let lists = located.lists().into_iter().filter(|path| {
        let pattern = path.pattern();
        let of_list = OBJECTS.iter().find(|(name, _)| *name == pattern).map(|(_, list)| *list);
        of_list.is_some_and(|list| !list || matches!(path.0.last(), Some(Step::Index(_))))
    });
    let lists = lists.map(|path| {
        let range = located.range(&path, Part::Value);
        Fault::new(text, &path, range, "is a list").allowed("an object in braces: { ... }")
    });
    twice.chain(lists).collect()
}

/// The reader's message without its own line and column.
fn message(error: &serde_json::Error) -> String {
    let full = error.to_string();
    full.rsplit_once(" at line ").map_or(full.clone(), |(message, _)| message.to_owned())
}

fn syntax_fault(text: &str, error: &serde_json::Error) -> Fault {
    let message = message(error);
    let at = if error.classify() == Category::Eof {
        text.trim_end().len()
    } else {
        byte_at(text, error.line(), error.column())
    };
    let rest = &text[at..];
    let word: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '-').take(20).collect();
    let first = rest.chars().next().filter(|c| !c.is_control()).map_or(0, char::len_utf8);
    let end = at + first.max(word.len());
    let hint = if text.trim_start().starts_with(['{', '[']) {
        match () {
            () if message.contains("trailing characters") => "the file goes on after the closing brace",
            () if rest.starts_with(['}', ']']) => "remove the comma before the bracket",
            () if ["NaN", "nan", "Infinity", "-Infinity", "inf"].contains(&word.as_str()) => {
                "JSON has no NaN or infinity; leave the key out for the default"
            }
            () if message.contains("number out of range") => "the number is too large for a computer",
            () if rest.starts_with(['/', '#']) => "JSON has no comments; write a \"note\" key instead",
            () if rest.starts_with('\'') => "texts stand in double quotes",
            () if message.contains("EOF") => "a closing bracket or quote is missing",
            () if message.contains("control character") => "a closing quote is missing on this line",
            () if message.contains("expected `,` or") => "a comma is missing before this",
            () if message.contains("key must be a string") => "keys stand in double quotes",
            () => "look at this character and the one before it",
        }
    } else {
        START
    };
    Fault::new(text, &KeyPath::default(), at..end, format!("not JSON: {message}"))
        .allowed(SCENARIO)
        .hint(Some(hint.to_owned()))
}

fn key_path(path: &serde_path_to_error::Path) -> KeyPath {
    path.iter().fold(KeyPath::default(), |so_far, segment| match segment {
        Segment::Seq { index } => so_far.index(*index),
        Segment::Map { key } if chosen_keys(&so_far) => so_far.entry(key),
        Segment::Map { key } => so_far.key(key),
        Segment::Enum { .. } | Segment::Unknown => so_far,
    })
}

/// Names in backticks, in order.
fn quoted(message: &str) -> Vec<&str> {
    message.split('`').skip(1).step_by(2).collect()
}

fn type_fault(
    text: &str,
    located: &Located<'_>,
    error: &serde_path_to_error::Error<serde_json::Error>,
) -> Fault {
    // a number too large for a computer is found only when it is read as a number
    if error.inner().classify() == Category::Syntax {
        return syntax_fault(text, error.inner());
    }
    let path = key_path(error.path());
    let message = message(error.inner());
    let (problem, expected) = message.split_once(", expected ").unwrap_or((&message, ""));
    if let Some(name) = problem.strip_prefix("missing field ").map(|n| n.trim_matches('`')) {
        let missing = path.key(name);
        let allowed = field(&missing.pattern()).map_or_else(|| "this key must be given".into(), allowed);
        let fault = Fault::new(text, &missing, located.range(&path, Part::Value), "is missing");
        return fault.nothing_given().allowed(allowed);
    }
    if problem.starts_with("unknown field") {
        let known = quoted(expected);
        let given = quoted(problem).first().copied().unwrap_or_default();
        let hint = nearest(given, known.iter().copied()).map(did_you_mean).or_else(|| home(given));
        let fault = Fault::new(text, &path, located.range(&path, Part::Key), "unknown key");
        return fault.allowed(known.join(", ")).hint(hint);
    }
    let range = located.range(&path, Part::Value);
    if problem.starts_with("unknown variant") {
        let known = quoted(expected);
        let given = quoted(problem).first().copied().unwrap_or_default();
        let fault = Fault::new(text, &path, range, "unknown word");
        return fault.allowed(known.join(", ")).hint(nearest(given, known.iter().copied()).map(did_you_mean));
    }
    let found = problem.strip_prefix("invalid type: ").unwrap_or(problem).replace('`', "");
    let found = found.split(' ').next().map_or("value", plain_type);
    let allowed = field(&path.pattern()).map_or_else(|| plain_expected(expected), allowed);
    Fault::new(text, &path, range, format!("wrong type: {found}")).allowed(allowed)
}

/// Where a key of another object belongs.
fn home(key: &str) -> Option<String> {
    let path = FIELDS.iter().find_map(|f| f.path.rsplit_once('.').filter(|(_, last)| *last == key))?.0;
    Some(format!("this key belongs to `{path}`"))
}

fn plain_type(word: &str) -> &str {
    match word {
        "string" => "a text",
        "integer" | "floating" => "a number",
        "boolean" => "true or false",
        "sequence" => "a list",
        "map" => "an object",
        "null" => "null",
        other => other,
    }
}

fn plain_expected(expected: &str) -> String {
    match expected {
        "a string" => "a text in double quotes".into(),
        "a boolean" => "true or false".into(),
        "a sequence" => "a list in brackets: [ ... ]".into(),
        "a map" => "an object in braces: { ... }".into(),
        other if other.starts_with("struct ") => "an object in braces: { ... }".into(),
        "f64" => "a number".into(),
        other if other.starts_with("enum ") || other.contains("variant") => {
            "one of the words of this key".into()
        }
        other => other.to_owned(),
    }
}
