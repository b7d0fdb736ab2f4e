//! The command `narrow`: ranges of rates after published trials.

use super::draws::{Threads, USUAL_SEED};
use super::failure::Failure;
use super::{Output, progress, results};
use crate::report::files;
use crate::report::pages::narrow::narrow_text;
use crate::verification::narrow::{ModelError, NarrowQuestion, narrow as narrow_rows};
use clap::Args;
use std::path::PathBuf;

/// File of the narrowed ranges.
const NARROWED_FILE: &str = "narrowed.json";

/// Help below the arguments of `narrow`.
pub(super) const NARROW_HELP: &str = "\
Draws every rate and every figure of an ingredient from its range as printed, runs the checks of `verify` at each draw, and weighs the draw by
how well it gives what was published. The rates of decay, denitrification and intake are narrowed, those of worms never.
The program is built with the file that this command wrote last; to use another, in a copy of the sources:
  cargo run --release -- narrow --out src/literature

Exit status: 0 answered; 1 too few draws count (narrowed.json is not written), or the work was stopped; 2 the input is wrong; 3 a fault of the
program.";

/// Arguments of `narrow`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct NarrowArguments {
    /// Folder for narrowed.json; created if missing
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Draws to weigh
    #[arg(long, value_name = "N", default_value_t = 30_000, value_parser = clap::value_parser!(u64).range(100..=1_000_000))]
    pub draws: u64,
    /// Seed of the random numbers
    #[arg(long, value_name = "S", default_value_t = USUAL_SEED)]
    pub seed: u64,
    /// Error of the model for losses and contents, in the logarithm
    #[arg(long, value_name = "E", default_value_t = ModelError::USUAL.losses, value_parser = error)]
    pub error_of_losses: f64,
    /// Error of the model for worms and castings, in the logarithm
    #[arg(long, value_name = "E", default_value_t = ModelError::USUAL.worms, value_parser = error)]
    pub error_of_worms: f64,
    /// Threads.
    #[command(flatten)]
    pub threads: Threads,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

/// An error of the model: below 0.05 none has ever been shown, beyond 3 nothing is learnt.
fn error(given: &str) -> Result<f64, String> {
    let number: f64 = given.parse().map_err(|_| "is no number".to_owned())?;
    if (0.05..=3.0).contains(&number) { Ok(number) } else { Err("lies outside 0.05 to 3".to_owned()) }
}

/// Narrows the ranges.
///
/// # Errors
/// [`Failure::TooThin`] when too few draws count, [`Failure::Narrowing`] when nothing is narrowed, and when the file cannot be written.
pub fn narrow(arguments: &NarrowArguments) -> Result<Output, Failure> {
    let question = NarrowQuestion {
        draws: arguments.draws,
        seed: arguments.seed,
        threads: arguments.threads.count(),
        error: ModelError { losses: arguments.error_of_losses, worms: arguments.error_of_worms },
    };
    let folder = results::folder(arguments.out.as_deref(), &[NARROWED_FILE])?;
    let stop = progress::stop_on_interrupt();
    let answer = progress::shown("draws", question.runs(), &stop, |watch| narrow_rows(&question, watch))
        .map_err(Failure::Narrowing)?;
    let page = narrow_text(&answer);
    if answer.is_too_thin() {
        let output = results::output(&answer, page, arguments.json, Ok(Vec::new()))?;
        return Err(Failure::TooThin { output, effective: answer.effective });
    }
    let file = || {
        let text = files::json_text(&answer.file()).map_err(|error| Failure::Broken(error.into()))?;
        Ok(vec![(NARROWED_FILE, text)])
    };
    let written = results::written(folder.as_ref(), file, Vec::new);
    results::output(&answer, page, arguments.json, written)
}
