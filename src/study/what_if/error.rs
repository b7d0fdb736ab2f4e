//! Why nothing is compared.

use super::MOST_VARIANTS;
use crate::monte_carlo::StudyError;
use crate::scenario::ScenarioError;
use std::fmt;

/// Why nothing is compared.
#[derive(Debug, Clone, PartialEq)]
pub enum WhatIfError {
    /// The scenario or a variant of it is wrong.
    Scenario(ScenarioError),
    /// The unknowns of a variant cannot be drawn.
    Study(StudyError),
    /// No figure has this name.
    UnknownFigure {
        /// As given.
        given: String,
        /// The known one most like it. None if nothing is near.
        nearest: Option<&'static str>,
    },
    /// No key, more than two, or the same key twice, in words.
    Keys(String),
    /// More variants than allowed: their number.
    TooMany(usize),
    /// A stocking density that cannot be read, or no bed to hold it, in words.
    Density(String),
    /// Fewer than two draws, which have no spread: their number.
    TooFewDraws(u64),
    /// The work was stopped before all had draws to compare.
    Stopped,
    /// A variant in which no draw gives an answer.
    NoDraw {
        /// Values of the variant, or words for the base.
        variant: String,
        /// What went wrong in the first draw.
        message: String,
    },
}

impl fmt::Display for WhatIfError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Scenario(e) => e.fmt(f),
            Self::Study(e) => e.fmt(f),
            Self::UnknownFigure { given, .. } => write!(f, "no figure of a run is named `{given}`"),
            Self::Keys(problem) | Self::Density(problem) => f.write_str(problem),
            Self::TooMany(count) => {
                write!(f, "{count} variants are too many; at most {MOST_VARIANTS} are run")
            }
            Self::Stopped => write!(f, "stopped before the site and every variant had draws to compare"),
            Self::TooFewDraws(given) => write!(f, "{given} draws have no spread; at least 2 are needed"),
            Self::NoDraw { variant, message } => write!(f, "{variant}: no draw gives an answer: {message}"),
        }
    }
}

impl std::error::Error for WhatIfError {}

impl From<ScenarioError> for WhatIfError {
    fn from(e: ScenarioError) -> Self {
        Self::Scenario(e)
    }
}

impl From<StudyError> for WhatIfError {
    fn from(e: StudyError) -> Self {
        Self::Study(e)
    }
}
