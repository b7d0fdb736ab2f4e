//! From a file to a checked plan, or to a report of everything that is wrong with the file.

use super::check::Checker;
use super::error::{Fault, LARGEST_FILE, ScenarioError};
use super::file_kind::FileKind;
use super::locate::{DEEPEST, Located, byte_at, too_deep};
use super::path::KeyPath;
use super::plan::{Choices, Plan};
use super::section::Section;
use serde::Deserialize;
use serde_json::error::Category;
use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::ops::Range;
use std::path::Path;

/// The path that stands for standard input.
const STANDARD_INPUT: &str = "-";

/// Reads and checks a scenario file: [`parse`] of [`read_text`].
///
/// # Errors
/// As [`read_text`] and [`parse`].
pub fn read_scenario(path: &Path) -> Result<Plan, ScenarioError> {
    parse(&path.display().to_string(), &read_text(path, FileKind::Scenario)?)
}

/// Reads the text of a file, or of standard input for the path `-`; a file that is too large is never read whole. `kind` is what it is
/// read as, for messages.
///
/// # Errors
/// [`ScenarioError::Unreadable`] if there is no such file, or it is a folder or not UTF-8 text; [`ScenarioError::TooLarge`] above 8 MiB.
pub fn read_text(path: &Path, kind: FileKind) -> Result<String, ScenarioError> {
    let unreadable = |reason: &str, hint: &str| unreadable(path, reason, hint);
    if path == Path::new(STANDARD_INPUT) {
        return text_of(path, kind, io::stdin().lock());
    }
    let opened = File::open(path).and_then(|file| file.metadata().map(|about| (file, about)));
    let (file, about) = opened.map_err(|e| match e.kind() {
        ErrorKind::NotFound => unreadable(
            "there is no such file",
            &format!("check the spelling and the folder; {}", kind.origin()),
        ),
        ErrorKind::PermissionDenied => unreadable("may not be read", "check the permissions of the file"),
        _ => unreadable(&format!("cannot be opened ({e})"), "check the path"),
    })?;
    if about.is_dir() {
        return Err(unreadable(&format!("is a folder, not {}", kind.what()), kind.in_folder()));
    }
    if about.len() > LARGEST_FILE {
        return Err(ScenarioError::TooLarge { path: path.to_owned(), kind, size: about.len() });
    }
    text_of(path, kind, file)
}

/// A text without its byte order mark, if it is no larger than a file may be. `file` is its name, for messages.
///
/// # Errors
/// [`ScenarioError::TooLarge`].
pub(super) fn bounded<'a>(file: &str, text: &'a str, kind: FileKind) -> Result<&'a str, ScenarioError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let size = text.len() as u64;
    if size > LARGEST_FILE {
        return Err(ScenarioError::TooLarge { path: file.into(), kind, size });
    }
    Ok(text)
}

fn unreadable(path: &Path, reason: &str, hint: &str) -> ScenarioError {
    ScenarioError::Unreadable { path: path.to_owned(), reason: reason.to_owned(), hint: hint.to_owned() }
}

/// The whole text of an open file.
fn text_of(path: &Path, kind: FileKind, file: impl Read) -> Result<String, ScenarioError> {
    let unreadable = |reason: &str, hint: &str| unreadable(path, reason, hint);
    let mut bytes = Vec::new();
    // a pipe or a device has no length: stop just past the limit
    file.take(LARGEST_FILE + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| unreadable(&format!("cannot be read ({e})"), "check the disk or the pipe"))?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(ScenarioError::TooLarge { path: path.to_owned(), kind, size: bytes.len() as u64 });
    }
    String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let binary = e.as_bytes().contains(&0);
        let reason = format!("is not UTF-8 text (byte {} is wrong)", at + 1);
        let hint = if binary { kind.as_text() } else { "save the file with the encoding UTF-8" };
        unreadable(&reason, hint)
    })
}

/// Checks the text of a scenario; `name` is that of the file in messages.
///
/// # Errors
/// [`ScenarioError::Faulty`] if the text is no scenario or holds values that cannot be. All faults are reported at once, except that
/// a text that is no JSON, and keys given twice, are reported first, without the rest. [`ScenarioError::TooLarge`] above 8 MiB.
pub fn parse(name: &str, text: &str) -> Result<Plan, ScenarioError> {
    let text = bounded(name, text, FileKind::Scenario)?;
    let located_fault = |fault: Fault| ScenarioError::faulty(name, text, vec![fault]);
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
    let twice = located.duplicates();
    if !twice.is_empty() {
        let fault = |(path, range): (KeyPath, Range<usize>)| {
            Fault::new(text, &path, range, "this key is given twice")
                .allowed("each key once")
                .hint(Some("remove one of the two".into()))
        };
        return Err(ScenarioError::faulty(name, text, twice.into_iter().map(fault).collect()));
    }
    let Some(root) = located.root() else {
        let fault = Fault::new(text, &top, 0..0, "not JSON").allowed(SCENARIO).hint(Some(START.into()));
        return Err(located_fault(fault));
    };
    let ingredients = root.as_object().and_then(|object| object.get_object("ingredients"));
    let own =
        ingredients.into_iter().flat_map(|all| all.properties.iter().map(|p| p.name.as_str().to_owned()));
    let mut checker = Checker { text, located: &located, own: own.collect(), faults: Vec::new() };
    let mut choices = Choices::read(&mut checker, &top, Some(root), ());
    choices.bulking.take_if(|bulking| bulking.ingredient == "none");
    if checker.faults.is_empty() {
        let first_day = choices.start;
        Ok(Plan { choices, begins: None, fitted: None, first_day })
    } else {
        Err(ScenarioError::faulty(name, text, checker.faults))
    }
}

const SCENARIO: &str = "a JSON object with name, start, days, streams and the equipment of the site";
const START: &str = FileKind::Scenario.origin();

/// The reader's message without its own line and column.
pub(super) fn message(error: &serde_json::Error) -> String {
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
    let before = text[..at].trim_end();
    let extra_comma = (rest.starts_with(',') && before.ends_with([',', '{', '[']))
        || (rest.starts_with(['}', ']']) && before.ends_with(','));
    // a comma before a bracket is itself pointed at
    let at = if extra_comma && !rest.starts_with(',') { before.len() - 1 } else { at };
    let rest = &text[at..];
    let word: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '-').take(20).collect();
    let first = rest.chars().next().filter(|c| !c.is_control()).map_or(0, char::len_utf8);
    let end = at + first.max(word.len());
    let hint = if extra_comma {
        "remove this comma"
    } else if text.trim_start().starts_with(['{', '[']) {
        syntax_hint(&message, before, rest, &word)
    } else {
        START
    };
    let problem = if extra_comma { "an extra comma" } else { message.as_str() };
    Fault::new(text, &KeyPath::default(), at..end, format!("not JSON: {problem}"))
        .allowed(SCENARIO)
        .hint(Some(hint.to_owned()))
}

/// What to do about a fault of syntax, by the reader's message and the text around it.
fn syntax_hint(message: &str, before: &str, rest: &str, word: &str) -> &'static str {
    match () {
        () if message.contains("trailing characters") => "the file goes on after the closing brace",
        () if rest.starts_with(['}', ']', ',']) && before.ends_with(':') => "a value is missing before this",
        () if ["NaN", "nan", "Infinity", "-Infinity", "inf"].contains(&word) => {
            "JSON has no NaN or infinity; leave the key out for the default"
        }
        () if rest.starts_with(['/', '#']) => "JSON has no comments; write a \"note\" key instead",
        () if rest.starts_with('\'') => "write texts in double quotes",
        () if message.contains("EOF") => "a closing bracket or quote is missing",
        () if message.contains("control character") => "a closing quote is missing on this line",
        () if message.contains("expected `,` or") => "a comma is missing before this",
        () if message.contains("key must be a string") => "write keys in double quotes",
        () => "look at this character and the one before it",
    }
}
