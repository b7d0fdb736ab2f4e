//! The command line: arguments in, text out, exit status. [`parse`] reads what was typed, [`commands::answer`] does it, [`print()`] or
//! [`explain`] tell what came of it; a command has a module of its own where it needs more than a few lines.
//!
//! Results go to standard output and nothing else does; what is said to the user goes to standard error. Exit status: 0
//! answered; 1 the question was sound but the answer is no; 2 the input is wrong; 3 our fault.

pub mod args;
pub mod commands;
pub mod draws;
pub mod draws_failure;
pub mod drivers;
pub mod compare;
pub mod facts;
pub mod failure;
pub mod merge;
pub mod mix;
pub mod progress;
pub mod proposal;
mod results;
pub mod size;
pub mod verify;

use args::Arguments;
use clap::Parser;
use failure::Failure;
use std::error::Error;
use std::ffi::OsString;
use std::io::{self, Write};

/// What a command has to say.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Output {
    /// Results, for standard output.
    pub text: String,
    /// What was done, for standard error, a line each.
    pub notes: Vec<String>,
}

impl Output {
    /// Results without notes.
    pub fn text(text: String) -> Self {
        Self { text, notes: Vec::new() }
    }
}

/// Reads the command line.
///
/// # Errors
/// [`Failure::Usage`] when it is wrong, or when help or the version is asked for.
pub fn parse(given: impl IntoIterator<Item = OsString>) -> Result<Arguments, Failure> {
    Arguments::try_parse_from(given).map_err(Failure::Usage)
}

/// Writes results to standard output and notes to standard error. A reader who has gone away is no failure.
///
/// # Errors
/// [`Failure::Output`] when standard output cannot be written for another reason.
pub fn print(output: &Output) -> Result<(), Failure> {
    let mut stderr = io::stderr().lock();
    for note in &output.notes {
        // standard error is the last place to tell anything: if it fails there is nowhere else
        let _ = writeln!(stderr, "{note}");
    }
    let mut stdout = io::stdout().lock();
    match stdout.write_all(output.text.as_bytes()).and_then(|()| stdout.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(Failure::Output(error)),
        _ => Ok(()),
    }
}

/// Tells a failure on standard error: the chain of causes on one line, hints below. Gives the exit status.
pub fn explain(failure: &Failure) -> u8 {
    if let Failure::Usage(usage) = failure {
        // help and version go to standard output, the rest to standard error; clap knows which
        return match usage.print() {
            Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Failure::Output(error).status(),
            _ => failure.status(),
        };
    }
    if let Some(output) = failure.partial_output() {
        // a partial answer is an answer; where it cannot be written the status tells of a failure all the same
        if let Err(unwritten) = print(output) {
            let _ = io::stderr().lock().write_all(explanation(&unwritten).as_bytes());
        }
    }
    let _ = io::stderr().lock().write_all(explanation(failure).as_bytes());
    failure.status()
}

fn explanation(failure: &Failure) -> String {
    if let Failure::Scenario(error) = failure {
        // the reader of scenarios draws the place in the file itself
        return format!("{}\n", error.render(false));
    }
    let mut text = format!("error: {failure}");
    let mut cause = failure.source();
    while let Some(error) = cause {
        text.push_str(": ");
        text.push_str(&error.to_string());
        cause = error.source();
    }
    text.push('\n');
    for hint in failure.hints() {
        text.push_str("hint: ");
        text.push_str(&hint);
        text.push('\n');
    }
    text
}
