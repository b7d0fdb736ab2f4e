//! The command line: arguments in, text out, exit status. [`parse`] reads what was typed, [`answer()`] does it, [`print()`] or
//! [`explain`] report the outcome; a command with more than a few lines has a module of its own.
//!
//! Only results are written to standard output; messages to the user are written to standard error. Exit status: 0 answered; 1 no
//! answer or part of one, though the input is valid; 2 the input is wrong; 3 our fault.

pub mod ahead;
pub mod args;
pub mod commands;
pub mod draws;
pub mod draws_failure;
pub mod drivers;
pub mod explore;
pub mod compare;
pub mod facts;
pub mod failure;
pub mod fit;
pub mod log;
pub mod manual;
pub mod merge;
pub mod mix;
pub mod narrow;
pub mod progress;
pub mod proposal;
mod questions;
mod results;
pub mod rounds;
pub mod size;
pub mod start;
pub mod state;
pub mod verify;
pub mod weigh;

use crate::report::clean::printable;
use args::Arguments;
use clap::Parser;
use failure::Failure;
use std::error::Error;
use std::ffi::OsString;
use std::io::{self, Write};

/// What a command prints.
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

/// Does what was asked, without progress and notes if quiet.
///
/// # Errors
/// [`Failure`], which knows its exit status.
pub fn answer(arguments: &Arguments) -> Result<Output, Failure> {
    if arguments.quiet {
        progress::be_quiet();
    }
    commands::answer(&arguments.command)
}

/// Writes results to standard output and notes, unless quiet, to standard error, both without characters that steer a terminal. A reader who has gone
/// away is no failure.
///
/// # Errors
/// [`Failure::Output`] when standard output cannot be written for another reason.
pub fn print(output: &Output) -> Result<(), Failure> {
    let mut stderr = io::stderr().lock();
    for note in output.notes.iter().filter(|_| !progress::is_quiet()) {
        // nothing can be reported if standard error itself fails
        let _ = writeln!(stderr, "{}", printable(note));
    }
    let mut stdout = io::stdout().lock();
    match stdout.write_all(printable(&output.text).as_bytes()).and_then(|()| stdout.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(Failure::Output(error)),
        _ => Ok(()),
    }
}

/// Explains a failure on standard error: the chain of causes on one line, hints below. Returns the exit status.
pub fn explain(failure: &Failure) -> u8 {
    if let Failure::Usage(usage) = failure {
        // help and version go to standard output, the rest to standard error; clap knows which
        return match usage.print() {
            Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Failure::Output(error).status(),
            _ => failure.status(),
        };
    }
    if let Some(output) = failure.partial_output() {
        // a partial answer is an answer; if it cannot be written, the status shows a failure all the same
        if let Err(unwritten) = print(output) {
            let _ = io::stderr().lock().write_all(printable(&explanation(&unwritten)).as_bytes());
        }
    }
    let _ = io::stderr().lock().write_all(printable(&explanation(failure)).as_bytes());
    failure.status()
}

fn explanation(failure: &Failure) -> String {
    if let Failure::Scenario(error) = failure {
        // the reader of scenarios draws the place in the file itself
        return format!("{}\n", error.render(false));
    }
    let lines = match failure {
        Failure::LogLines { error, .. } => format!("{}\n\n", error.render(false)),
        _ => String::new(),
    };
    let mut text = format!("{lines}error: {failure}");
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
