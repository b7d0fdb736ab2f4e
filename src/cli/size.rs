//! The command `size`.

use super::args::Shown;
use super::commands::read_with_text;
use super::draws::Threads;
use super::failure::Failure;
use super::fit::FittedArgument;
use super::{Output, progress, results};
use crate::report::chart::{size_chart_names, size_charts};
use crate::report::files;
use crate::report::pages::sizing::{SIZE_FILES, headline, sizing_tables, sizing_text};
use crate::study::{Draws, sizing};
use clap::Args;
use std::path::PathBuf;

/// Draws of each site in the first search, if none are asked for. Our choice.
pub(super) const SEARCH_DRAWS: u64 = 40;

/// Arguments of `size`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct SizeArguments {
    /// Scenario file, or - for standard input; its object `sizing` says which sizes may change and which targets must be met
    pub file: PathBuf,
    /// Number of draws of each site in the first search; fewer are made if the result is clear
    #[arg(long, value_name = "N", default_value_t = SEARCH_DRAWS, value_parser = clap::value_parser!(u64).range(1..=100_000))]
    pub draws: u64,
    /// Number of draws that settle the final choice, and of draws with another seed that verify it
    #[arg(long, value_name = "N", default_value_t = sizing::SETTLING_DRAWS, value_parser = clap::value_parser!(u64).range(1..=100_000))]
    pub verify: u64,
    /// Seed of the random numbers
    #[arg(long, value_name = "S", default_value = "1")]
    pub seed: u64,
    /// Threads.
    #[command(flatten)]
    pub threads: Threads,
    /// Sites of a fit.
    #[command(flatten)]
    pub fitted: FittedArgument,
    /// Folder for result files (sizes.csv, sites.csv, units.csv, start_up.csv, result.json, size.txt, charts); created if missing
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How the answer is shown.
    #[command(flatten)]
    pub shown: Shown,
}

/// Reads a plan, tests the result folder, finds the site, shows and writes it.
///
/// # Errors
/// When the file is wrong, the folder cannot be written, no site meets the targets (with the page of the nearest), or the work is stopped.
pub fn size(arguments: &SizeArguments) -> Result<Output, Failure> {
    let stop = progress::stop_on_interrupt();
    let (plan, text) = read_with_text(&arguments.file)?;
    let (plan, _) = arguments.fitted.put(plan, &text, String::new())?;
    let names = files::with_charts(&SIZE_FILES, &size_chart_names());
    let folder = results::folder(arguments.out.as_deref(), &names)?;
    let search = Draws::first(arguments.seed, arguments.draws, arguments.threads.count());
    let answer =
        progress::shown("draws", 0, &stop, |watch| sizing::size(&plan, &search, arguments.verify, watch))?;
    let page = sizing_text(&answer, arguments.shown.units.into());
    let written = results::written(
        folder.as_ref(),
        || {
            let [sizes, sites, units, start_up] =
                sizing_tables(&answer).map_err(|e| Failure::Broken(e.into()))?;
            let texts = [sizes, sites, units, start_up, results::json(&answer)?, page.clone()];
            Ok(SIZE_FILES.into_iter().zip(texts).collect())
        },
        || size_charts(&answer, arguments.shown.units.into()),
    );
    let output = results::output(&answer, page, arguments.shown.json, written)?;
    if answer.found {
        Ok(output)
    } else {
        Err(Failure::NoSite { output, answer: headline(&answer, arguments.shown.units.into()) })
    }
}
