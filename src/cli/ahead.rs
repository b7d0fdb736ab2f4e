//! What `rounds` and `weigh` ask about: a site from one of its days on.

use super::draws::{Threads, USUAL_SEED};
use super::failure::Failure;
use super::fit::FittedArgument;
use super::state;
use crate::scenario::Plan;
use clap::Args;
use jiff::civil::Date;
use std::path::PathBuf;

/// Arguments of both.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct AheadArguments {
    /// Scenario file; - reads it from standard input
    pub file: PathBuf,
    /// Go on from a state that `run --save-state` wrote: the site as it was on that evening
    #[arg(long, value_name = "FILE")]
    pub from_state: Option<PathBuf>,
    /// Sites of a fit.
    #[command(flatten)]
    pub fitted: FittedArgument,
    /// Seed of the random numbers
    #[arg(long, value_name = "S", default_value_t = USUAL_SEED)]
    pub seed: u64,
    /// Threads.
    #[command(flatten)]
    pub threads: Threads,
}

impl AheadArguments {
    /// The plan from the morning after its state, with fitted sites, where these are given.
    ///
    /// # Errors
    /// [`Failure::Scenario`] when a file cannot be read, is wrong or is of another scenario.
    pub(super) fn plan(&self) -> Result<Plan, Failure> {
        let (plan, text, hash) = state::read(&self.file, self.from_state.as_deref())?;
        self.fitted.put(plan, &text, hash).map(|(plan, _)| plan)
    }
}

/// Reads a date.
pub(super) fn date(text: &str) -> Result<Date, String> {
    text.trim().parse().map_err(|_| "is no date; write such as 2027-07-05".to_owned())
}
