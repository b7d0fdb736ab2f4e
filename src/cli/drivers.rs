//! `drivers`: which unknowns move the answer, and what to measure first.

use super::args::Shown;
use super::commands::read_with_hash;
use super::draws::{self, Threads};
use super::draws_failure::DrawsFailure;
use super::failure::Failure;
use super::merge::read_shard;
use super::{Output, progress, results};
use crate::monte_carlo::shard::Shard;
use crate::report::chart::{DRIVERS_CHARTS, drivers_charts};
use crate::report::files::drivers::DRIVERS_FILES;
use crate::report::{files, pages};
use crate::scenario::Plan;
use crate::study::drivers::{self, USUAL_RATES};
use crate::study::sobol::{SobolQuestion, check_sobol};
use crate::study::uncertainty::{self, Question};
use clap::Args;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

/// Draws where none are asked for. Our choice.
const USUAL_DRAWS: u64 = 1000;

/// Arguments of `drivers`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct DriversArguments {
    /// Scenario file
    pub file: PathBuf,
    /// Draws to make (30 more than there are unknowns, to 1000000; the first 10000 are used) [default: 1000]
    #[arg(long, value_name = "N", conflicts_with = "from")]
    pub draws: Option<u64>,
    /// Use draws made before: a folder of `run --draws` or `merge`, or a shard.json
    #[arg(long, value_name = "DIR")]
    pub from: Option<PathBuf>,
    /// Figure to look at, as named in draws.csv; may be given more than once [default: six usual ones]
    #[arg(long, value_name = "NAME")]
    pub figure: Vec<String>,
    /// Find Sobol' indices of the leading unknowns too, with so many base rows (16 to 65536; 512 is a good number)
    ///
    /// They cost ROWS x (unknowns + 2) runs more.
    #[arg(long, value_name = "ROWS")]
    pub sobol: Option<usize>,
    /// Unknowns of the Sobol' indices
    #[arg(long, value_name = "K", default_value_t = USUAL_RATES, requires = "sobol", value_parser = rates)]
    pub sobol_rates: usize,
    /// Seed of the draws [default: 1]
    #[arg(long, value_name = "S", conflicts_with = "from")]
    pub seed: Option<u64>,
    /// Threads.
    #[command(flatten)]
    pub threads: Threads,
    /// Folder for result files (drivers.csv, sobol.csv, unknowns.csv, drivers.json, drivers.txt, charts); made if missing
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
    let (plan, hash) = read_with_hash(&arguments.file)?;
    if arguments.from.is_none() {
        drivers::check_draws(&plan, arguments.draws.unwrap_or(USUAL_DRAWS)).map_err(DrawsFailure::Drivers)?;
    }
    let folder =
        results::folder(arguments.out.as_deref(), &files::with_charts(&DRIVERS_FILES, &DRIVERS_CHARTS))?;
    let stop = progress::stop_on_interrupt();
    let shard = made(arguments, &plan, &hash, threads, &stop)?;
    let runs = sobol.map_or(0, |s| (s.rows * (s.rates + 2)) as u64);
    let answer = progress::shown("runs", runs, |done| {
        drivers::drivers(&plan, &hash, &shard, &chosen, sobol.as_ref(), done, &stop)
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
                let hint = "let it run on, or ask for fewer with --sobol";
                ("rows of the Sobol' design", indices.rows_used, indices.rows as u64, hint)
            }
            _ => {
                let made = shard.ensemble.rows.len() + shard.ensemble.failed.len();
                let hint = "let it run on; or make draws in parts with `loamledger run --draws`, and give them with --from";
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
    stop: &AtomicBool,
) -> Result<Shard, DrawsFailure> {
    if let Some(from) = &arguments.from {
        return read_shard(from);
    }
    let draws = arguments.draws.unwrap_or(USUAL_DRAWS);
    let seed = arguments.seed.unwrap_or(draws::USUAL_SEED);
    let question = Question { draws, seed, from: 0, to: draws, threads };
    let shard = progress::shown("draws", draws, |done| uncertainty::shard(plan, hash, &question, done, stop));
    shard.map_err(DrawsFailure::Question)
}
