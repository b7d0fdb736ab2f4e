//! `drivers`: which unknowns move the answer, and what to measure first.

use super::args::Shown;
use super::commands::read_with_text;
use super::draws::{self, Threads};
use super::draws_failure::DrawsFailure;
use super::failure::Failure;
use super::fit::FittedArgument;
use super::merge::read_shard;
use super::{Output, progress, results};
use crate::report::chart::{DRIVERS_CHARTS, drivers_charts};
use crate::report::files::drivers::DRIVERS_FILES;
use crate::report::{files, pages};
use crate::scenario::Plan;
use crate::study::Draws;
use crate::study::drivers::{self, USUAL_RATES};
use crate::study::sobol::{SobolQuestion, check_sobol};
use crate::study::uncertainty::{self, Shard, text_hash};
use clap::Args;
use clap::error::ErrorKind;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// Draws where none are asked for. Our choice.
const USUAL_DRAWS: u64 = 1000;

/// Arguments of `drivers`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct DriversArguments {
    /// Scenario file; - reads it from standard input
    pub file: PathBuf,
    /// Number of draws (simulated years): at least 30 more than unknowns, at most 1000000, of which 10000 are used [default: 1000]
    #[arg(long, value_name = "N", conflicts_with = "from")]
    pub draws: Option<u64>,
    /// Use existing draws: a result folder of `run --draws` or `merge`, or a shard.json
    #[arg(long, value_name = "DIR")]
    pub from: Option<PathBuf>,
    /// Figure to explain, as named in draws.csv; repeat for more [default: six usual ones]
    #[arg(long, value_name = "NAME")]
    pub figure: Vec<String>,
    /// Also compute Sobol' indices of the leading unknowns, with this many base rows (16 to 65536; 512 is a good choice)
    ///
    /// This takes ROWS x (unknowns + 2) more runs.
    #[arg(long, value_name = "ROWS")]
    pub sobol: Option<usize>,
    /// Number of unknowns with Sobol' indices
    #[arg(long, value_name = "K", default_value_t = USUAL_RATES, requires = "sobol", value_parser = rates)]
    pub sobol_rates: usize,
    /// Seed of the random numbers [default: 1]
    #[arg(long, value_name = "S", conflicts_with = "from")]
    pub seed: Option<u64>,
    /// Threads.
    #[command(flatten)]
    pub threads: Threads,
    /// Sites of a fit.
    #[command(flatten)]
    pub fitted: FittedArgument,
    /// Folder for result files (drivers.csv, sobol.csv, unknowns.csv, drivers.json, drivers.txt, charts); created if missing
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How the answer is shown.
    #[command(flatten)]
    pub shown: Shown,
}

fn rates(text: &str) -> Result<usize, String> {
    match text.parse() {
        Ok(rates) if (1..=100).contains(&rates) => Ok(rates),
        _ => Err("allowed: 1 to 100".to_owned()),
    }
}

/// Answers `drivers`.
///
/// # Errors
/// When the question, the file, the draws or the folder are wrong, or the answer is partial.
pub fn drivers(arguments: &DriversArguments) -> Result<Output, Failure> {
    let chosen = drivers::chosen_figures(&arguments.figure).map_err(DrawsFailure::Drivers)?;
    let threads = arguments.threads.count();
    let sobol = arguments.sobol.map(|rows| SobolQuestion { rows, rates: arguments.sobol_rates, threads });
    check_sobol(sobol.as_ref()).map_err(DrawsFailure::Drivers)?;
    if arguments.fitted.fitted.is_some() && sobol.is_some() {
        let message = "--sobol: varies each rate over its range, which fitted sites do not have; leave out --sobol or --fitted\n";
        return Err(Failure::Usage(clap::Error::raw(ErrorKind::ArgumentConflict, message)));
    }
    let (plan, text) = read_with_text(&arguments.file)?;
    let (plan, hash) = arguments.fitted.put(plan, &text, text_hash(&text))?;
    if arguments.from.is_none() {
        drivers::check_draws(&plan, arguments.draws.unwrap_or(USUAL_DRAWS)).map_err(DrawsFailure::Drivers)?;
    }
    let folder =
        results::folder(arguments.out.as_deref(), &files::with_charts(&DRIVERS_FILES, &DRIVERS_CHARTS))?;
    let stop = progress::stop_on_interrupt();
    let shard = made(arguments, &plan, &hash, threads, &stop)?;
    let runs = sobol.map_or(0, |s| (s.rows * (s.rates + 2)) as u64);
    let answer = progress::shown("runs", runs, &stop, |watch| {
        drivers::drivers(&plan, &hash, &shard, &chosen, sobol.as_ref(), watch)
    });
    let answer = answer.map_err(DrawsFailure::Drivers)?;
    let page = pages::drivers::drivers_text(&answer, arguments.shown.units.into());
    let written = results::written(
        folder.as_ref(),
        || files::drivers::drivers_files(&answer, &page).map_err(|e| Failure::Broken(e.into())),
        || drivers_charts(&answer),
    );
    let output = results::output(&answer, page, arguments.shown.json, written)?;
    if answer.partial {
        let (what, made, asked, hint) = match &answer.sobol {
            Some(indices) if shard.missing().is_empty() => {
                let hint = "let it run longer, or request fewer rows with --sobol";
                ("rows of the Sobol' design", indices.rows_used, indices.rows as u64, hint)
            }
            _ => {
                let made = shard.ensemble.rows.len() + shard.ensemble.failed.len();
                let hint = "let it run longer; or make the draws in parts with `loamledger run --draws` and pass them with --from";
                ("draws", made, shard.head.draws, hint)
            }
        };
        return Err(DrawsFailure::Partial { output, what, made, asked, hint }.into());
    }
    Ok(output)
}

/// Draws made before, or now.
fn made(
    arguments: &DriversArguments,
    plan: &Plan,
    hash: &str,
    threads: usize,
    stop: &Arc<AtomicBool>,
) -> Result<Shard, DrawsFailure> {
    if let Some(from) = &arguments.from {
        return read_shard(from);
    }
    let of = arguments.draws.unwrap_or(USUAL_DRAWS);
    let draws = Draws::first(arguments.seed.unwrap_or(draws::USUAL_SEED), of, threads);
    let shard = progress::shown("draws", of, stop, |watch| uncertainty::shard(plan, hash, of, &draws, watch));
    shard.map_err(DrawsFailure::Question)
}
