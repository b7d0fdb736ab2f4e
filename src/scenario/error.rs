//! What is wrong with a scenario file: where, what was given, what is allowed, what was probably meant.

use super::file_kind::FileKind;
use super::locate::line_and_column;
use super::path::KeyPath;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::fmt;
use std::ops::Range;
use std::path::PathBuf;

/// One thing wrong in a scenario text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Key path of the value, such as `beds[1].area`; empty if the text as a whole is wrong.
    pub key: String,
    /// What is wrong.
    pub problem: String,
    /// What was given; empty if nothing was.
    pub given: String,
    /// What is allowed; empty if the problem says it all.
    pub allowed: String,
    /// What was probably meant. None if nothing is near.
    pub hint: Option<String>,
    /// Line, from one.
    pub line: usize,
    /// Column in characters, from one.
    pub column: usize,
    range: Range<usize>,
}

impl Fault {
    /// A fault at a byte range of the text.
    pub(super) fn new(text: &str, key: &KeyPath, range: Range<usize>, problem: impl Into<String>) -> Self {
        let (line, column) = line_and_column(text, range.start);
        let given = text.get(range.clone()).unwrap_or("");
        let given: String =
            if matches!(given, "{" | "[") { String::new() } else { given.chars().take(60).collect() };
        Self {
            key: key.to_string(),
            problem: problem.into(),
            given,
            allowed: String::new(),
            hint: None,
            line,
            column,
            range,
        }
    }

    /// Says what is allowed.
    #[must_use]
    pub(super) fn allowed(mut self, allowed: impl Into<String>) -> Self {
        self.allowed = allowed.into();
        self
    }

    /// Says what was probably meant.
    #[must_use]
    pub(super) fn hint(mut self, hint: Option<String>) -> Self {
        self.hint = hint.or(self.hint);
        self
    }

    /// Says that nothing was given.
    #[must_use]
    pub(super) fn nothing_given(mut self) -> Self {
        self.given = String::new();
        self
    }
}

/// Why a scenario, or a file read beside it, could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ScenarioError {
    /// The file cannot be opened or read.
    Unreadable {
        /// The file.
        path: PathBuf,
        /// The reason, in words.
        reason: String,
        /// What to do.
        hint: String,
    },
    /// The file is larger than 8 MiB.
    TooLarge {
        /// The file.
        path: PathBuf,
        /// What it was read as.
        kind: FileKind,
        /// Its size, or a lower bound of it, bytes.
        size: u64,
    },
    /// The text is wrong in one or more places; at least one fault.
    Faulty {
        /// Name of the file, as shown.
        file: String,
        /// The text that was read.
        text: String,
        /// What is wrong, in the order of the text.
        faults: Vec<Fault>,
    },
}

/// Largest file that is read, bytes. Source: our choice.
pub(super) const LARGEST_FILE: u64 = 8 << 20;

/// Most faults printed at once.
const MOST_SHOWN: usize = 50;

impl ScenarioError {
    /// A faulty text; faults are put in the order of the text.
    pub(super) fn faulty(file: &str, text: &str, mut faults: Vec<Fault>) -> Self {
        faults.sort_by_key(|f| (f.range.start, f.range.end));
        Self::Faulty { file: file.to_owned(), text: text.to_owned(), faults }
    }

    /// The faults in the text; empty if the file could not be read at all.
    pub fn faults(&self) -> &[Fault] {
        match self {
            Self::Faulty { faults, .. } => faults,
            _ => &[],
        }
    }

    /// The whole message with excerpts of the text, with at most 50 faults, with or without terminal colours.
    pub fn render(&self, colour: bool) -> String {
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        match self {
            Self::Unreadable { path, reason, hint } => {
                let title = format!("{}: {reason}", path.display());
                renderer.render(&[Level::ERROR
                    .primary_title(title)
                    .element(Level::HELP.with_name("hint").message(hint))])
            }
            Self::TooLarge { path, kind, size } => {
                let title = format!(
                    "{}: is larger than {} may be (given {}, allowed at most {})",
                    path.display(),
                    kind.what(),
                    bytes(*size),
                    bytes(LARGEST_FILE)
                );
                renderer.render(&[Level::ERROR
                    .primary_title(title)
                    .element(Level::HELP.with_name("hint").message(kind.usual_size()))])
            }
            Self::Faulty { file, text, faults } => {
                let shown = faults.iter().take(MOST_SHOWN);
                let mut reports: Vec<String> = shown.map(|f| render(&renderer, file, text, f)).collect();
                if let Some(more) = faults.len().checked_sub(MOST_SHOWN).filter(|&more| more > 0) {
                    reports.push(format!("... and {more} more faults"));
                }
                reports.join("\n\n")
            }
        }
    }
}

fn bytes(size: u64) -> String {
    if size < 1 << 20 {
        format!("{size} bytes")
    } else {
        format!("{:.1} MiB", size as f64 / f64::from(1 << 20))
    }
}

fn render(renderer: &Renderer, file: &str, text: &str, fault: &Fault) -> String {
    let title = match fault.key.as_str() {
        "" => fault.problem.clone(),
        key => format!("{key}: {}", fault.problem),
    };
    // an empty range at the end of the text is drawn on its last line
    let range = fault.range.start.min(text.len())..fault.range.end.min(text.len());
    let label = if fault.given.is_empty() { "here".to_owned() } else { format!("given {}", fault.given) };
    let snippet = Snippet::source(text)
        .path(file)
        .fold(true)
        .annotation(AnnotationKind::Primary.span(range).label(label));
    let mut group = Level::ERROR.primary_title(title).element(snippet);
    if !fault.allowed.is_empty() {
        group = group.element(Level::NOTE.with_name("allowed").message(&fault.allowed));
    }
    if let Some(hint) = &fault.hint {
        group = group.element(Level::HELP.with_name("hint").message(hint));
    }
    renderer.render(&[group])
}

impl fmt::Display for ScenarioError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

impl std::error::Error for ScenarioError {}
