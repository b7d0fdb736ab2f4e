//! Why a log is not fitted.

use super::data::measurements;
use super::{FitQuestion, LEAST_MEMBERS, LEAST_PRIOR, MOST_MEMBERS, MOST_PRIOR, MOST_STEPS};
use crate::monte_carlo::smoother::SmootherError;
use crate::monte_carlo::{Study, StudyError};
use crate::scenario::Plan;
use crate::scenario::log::Log;
use std::fmt;

/// Why a log is not fitted.
#[derive(Debug, Clone, PartialEq)]
pub enum FitError {
    /// A number of the question is out of its range.
    Range {
        /// The option.
        option: &'static str,
        /// The number given.
        given: u64,
        /// Smallest and largest allowed.
        allowed: (u64, u64),
    },
    /// The unknowns of the plan cannot be drawn.
    Study(StudyError),
    /// Nothing is unknown.
    NothingUnknown,
    /// No line of the log is a measurement.
    NoMeasurement {
        /// Lines that could be used.
        lines: usize,
    },
    /// The model has no figure beside any measurement.
    NothingBeside {
        /// Measurements.
        measurements: usize,
    },
    /// Runs failed, and too few are left.
    RunsFailed {
        /// Runs that gave an answer.
        left: usize,
        /// Runs made.
        made: usize,
        /// What went wrong in the first that failed.
        message: String,
    },
    /// The work was stopped.
    Stopped {
        /// Runs made.
        made: u64,
        /// Runs asked for.
        asked: u64,
    },
}

impl FitError {
    /// What would help.
    pub fn hint(&self) -> String {
        match self {
            Self::Range { option: "--members", .. } => {
                "200 members are sure of what they know; fewer are sure of more than they know".to_owned()
            }
            Self::Range { option: "--prior", .. } => {
                "5000 draws separate true correlations from chance; members are taken from them, so their number is the least".to_owned()
            }
            Self::Range { .. } => "4 steps are enough; more fit tighter and take longer".to_owned(),
            Self::Study(_) => "check `rates` in the scenario; `loamledger facts KEY` shows the published range".to_owned(),
            Self::NothingUnknown => "leave ranges in `rates`: a fixed rate cannot be fitted".to_owned(),
            Self::NoMeasurement { lines: 0 } => {
                "are its dates within the run of the scenario? `loamledger log LOG --scenario FILE` says what was read".to_owned()
            }
            Self::NoMeasurement { .. } => {
                "allowed: any kind that is measured, such as drums in use, castings taken or worms sampled; amounts of a day need two \
                 lines two weeks apart; `loamledger log --help` lists them"
                    .to_owned()
            }
            Self::NothingBeside { .. } => {
                "does the scenario begin when the site did? measure after the first drums are opened and castings are harvested".to_owned()
            }
            Self::RunsFailed { .. } => "the usual cause are ranges of `rates` too wide for the model".to_owned(),
            Self::Stopped { .. } => "let it run longer, or ask for less with --prior, --members and --steps".to_owned(),
        }
    }

    /// Exit status: 1 if the work was stopped, 2 if the input is wrong.
    pub fn status(&self) -> u8 {
        match self {
            Self::Stopped { .. } => 1,
            _ => 2,
        }
    }
}

impl fmt::Display for FitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Range { option, given, allowed: (low, high) } => {
                write!(f, "{option} {given}: is out of range; allowed: {low} to {high}")
            }
            Self::Study(error) => error.fmt(f),
            Self::NothingUnknown => write!(f, "the scenario fixes every rate, so nothing is unknown"),
            Self::NoMeasurement { lines: 0 } => write!(f, "the log has no line within the run"),
            Self::NoMeasurement { lines } => {
                write!(f, "none of the {lines} lines of the log is a measurement")
            }
            Self::NothingBeside { measurements } => {
                write!(f, "the model has no figure beside any of the {measurements} measurements of the log")
            }
            Self::RunsFailed { left, made, message } => {
                write!(f, "only {left} of {made} runs gave an answer; the first failed: {message}")
            }
            Self::Stopped { made, asked } => {
                write!(f, "stopped after {made} of {asked} runs; nothing is fitted")
            }
        }
    }
}

impl std::error::Error for FitError {}

impl From<StudyError> for FitError {
    fn from(error: StudyError) -> Self {
        Self::Study(error)
    }
}

impl From<SmootherError> for FitError {
    /// Runs have finite figures or none, so only their number can be wrong.
    fn from(error: SmootherError) -> Self {
        let left = match error {
            SmootherError::TooFewMembers { left } => left,
            SmootherError::NotFinite => 0,
        };
        Self::RunsFailed { left, made: left, message: error.to_string() }
    }
}

/// Checks one number of the question.
fn within(option: &'static str, given: u64, allowed: (u64, u64)) -> Result<(), FitError> {
    if (allowed.0..=allowed.1).contains(&given) {
        Ok(())
    } else {
        Err(FitError::Range { option, given, allowed })
    }
}

/// Whether a log can be fitted as asked, as far as that is seen without a run; to be found out before long work begins.
///
/// # Errors
/// [`FitError::Range`], [`FitError::Study`], [`FitError::NothingUnknown`], [`FitError::NoMeasurement`].
pub fn check(plan: &Plan, log: &Log, question: &FitQuestion) -> Result<(), FitError> {
    numbers(question)?;
    if Study::of(plan)?.quantities().is_empty() {
        return Err(FitError::NothingUnknown);
    }
    if measurements(plan, log).is_empty() {
        return Err(FitError::NoMeasurement { lines: log.lines.len() });
    }
    Ok(())
}

fn numbers(question: &FitQuestion) -> Result<(), FitError> {
    within("--members", question.members, (LEAST_MEMBERS, MOST_MEMBERS))?;
    within("--prior", question.prior, (LEAST_PRIOR.max(question.members), MOST_PRIOR))?;
    within("--steps", question.steps, (1, MOST_STEPS))
}
