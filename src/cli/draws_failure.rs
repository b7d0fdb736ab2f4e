//! Why a command about draws gave no whole answer.

use super::Output;
use super::failure::Failure;
use crate::report::files::uncertainty::SHARD_FILE;
use crate::study::drivers::DriversError;
use crate::study::uncertainty::{MergeError, UncertaintyError};
use std::error::Error;
use std::path::PathBuf;
use std::{fmt, io};

/// Why a command about draws gave no whole answer.
#[derive(Debug)]
pub enum DrawsFailure {
    /// The draws cannot be made as asked, or give no answer.
    Question(UncertaintyError),
    /// The drivers cannot be found.
    Drivers(DriversError),
    /// Shards make no whole.
    Merge(MergeError),
    /// A shard cannot be read.
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        error: io::Error,
    },
    /// The draws of a shard would be lost.
    NowhereToPut,
    /// The answer is partial: draws are missing from it.
    Partial {
        /// The part of the answer that exists.
        output: Output,
        /// What is missing: draws, or rows of another design.
        what: &'static str,
        /// How many of them were made.
        made: usize,
        /// How many were asked for.
        asked: u64,
        /// What would help.
        hint: &'static str,
    },
}

impl DrawsFailure {
    /// Exit status: 1 for an answer that is partial or none, 2 for wrong input, 3 for our fault.
    pub fn status(&self) -> u8 {
        match self {
            Self::Partial { .. }
            | Self::Drivers(
                DriversError::NothingDrawn
                | DriversError::TooFewDraws { .. }
                | DriversError::TooFewSites { .. },
            ) => 1,
            Self::Question(error) | Self::Drivers(DriversError::Draws(error)) => match error {
                UncertaintyError::AllFailed { .. } | UncertaintyError::NothingMade => 1,
                UncertaintyError::Central(_) => 3,
                _ => 2,
            },
            Self::Drivers(DriversError::Sensitivity(_)) => 3,
            Self::Drivers(_) | Self::Merge(_) | Self::Unreadable { .. } | Self::NowhereToPut => 2,
        }
    }

    /// What would help, a line each.
    pub fn hints(&self) -> Vec<String> {
        let hint = match self {
            Self::Question(error) => error.hint(),
            Self::Drivers(error) => error.hint(),
            Self::Merge(MergeError::Overlap { .. }) => {
                "leave one of the two out; shards of one study must not share draws".to_owned()
            }
            Self::Merge(MergeError::Differs { .. }) => {
                "make all shards with one program, scenario file, seed and --draws".to_owned()
            }
            Self::Merge(_) => {
                format!("give folders with a {SHARD_FILE}, or such files, as `run --draws` writes them")
            }
            Self::Unreadable { .. } => format!("check the spelling; a folder must hold a {SHARD_FILE}"),
            Self::NowhereToPut => "add --out DIR, or --json for standard output".to_owned(),
            Self::Partial { hint, .. } => (*hint).to_owned(),
        };
        vec![hint]
    }
}

impl fmt::Display for DrawsFailure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Question(error) => error.fmt(f),
            Self::Drivers(error) => error.fmt(f),
            Self::Merge(error) => error.fmt(f),
            Self::Unreadable { path, .. } => write!(f, "{}: cannot be read", path.display()),
            Self::NowhereToPut => write!(f, "no place is given for a shard of several draws"),
            Self::Partial { what, made, asked, .. } => {
                write!(f, "the answer is partial: {made} of {asked} {what} were made")
            }
        }
    }
}

impl Error for DrawsFailure {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        match self {
            Self::Unreadable { error, .. } => Some(error),
            _ => None,
        }
    }
}

impl From<MergeError> for DrawsFailure {
    fn from(error: MergeError) -> Self {
        Self::Merge(error)
    }
}

impl From<DrawsFailure> for Failure {
    fn from(failure: DrawsFailure) -> Self {
        Self::Draws(Box::new(failure))
    }
}
