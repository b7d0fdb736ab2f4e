//! Why the coming days are not planned, or what to measure in them is not said.

use crate::study::fit::FitError;
use crate::study::run::RunError;
use std::fmt;

/// Why a question about coming days has no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum AheadError {
    /// A part of the question is not allowed.
    Question {
        /// The option, with what was given.
        given: String,
        /// What is wrong with it.
        problem: &'static str,
        /// What is allowed.
        allowed: String,
        /// What would help.
        hint: &'static str,
    },
    /// The draws have no answer.
    Draws(FitError),
    /// The run has none.
    Run(RunError),
    /// The work was stopped.
    Stopped {
        /// Runs made.
        made: u64,
        /// Runs asked for.
        asked: u64,
    },
}

impl AheadError {
    /// What would help.
    pub fn hint(&self) -> String {
        match self {
            Self::Question { hint, .. } => (*hint).to_owned(),
            Self::Draws(FitError::NothingBeside { .. }) => {
                "begin later with --from, once drums are opened and castings are harvested, or measure for longer with --days".to_owned()
            }
            Self::Draws(error) => error.hint(),
            Self::Run(_) => "check the scenario with `loamledger check`".to_owned(),
            Self::Stopped { .. } => "let it run longer, or ask for less with --draws".to_owned(),
        }
    }

    /// Exit status: 1 if the work was stopped, 2 if the input is wrong, 3 if the program is.
    pub fn status(&self) -> u8 {
        match self {
            Self::Stopped { .. } => 1,
            Self::Question { .. } | Self::Run(RunError::Assemble(_)) => 2,
            Self::Draws(error) => error.status(),
            Self::Run(RunError::NotClosed(_)) => 3,
        }
    }
}

impl fmt::Display for AheadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Question { given, problem, allowed, .. } => {
                write!(f, "{given}: {problem}; allowed: {allowed}")
            }
            Self::Draws(FitError::NothingBeside { .. }) => {
                write!(
                    f,
                    "nothing can be measured in these days: the model has no figure beside any measurement"
                )
            }
            Self::Draws(error) => error.fmt(f),
            Self::Run(error) => error.fmt(f),
            Self::Stopped { made, asked } => write!(f, "stopped after {made} of {asked} runs"),
        }
    }
}

impl std::error::Error for AheadError {}

impl From<RunError> for AheadError {
    fn from(error: RunError) -> Self {
        Self::Run(error)
    }
}

impl From<FitError> for AheadError {
    fn from(error: FitError) -> Self {
        match error {
            FitError::Stopped { made, asked } => Self::Stopped { made, asked },
            error => Self::Draws(error),
        }
    }
}
