//! `proposal`: the hand-over document.

use super::args::UnitsArgument;
use super::commands::read_with_text;
use super::draws::{self, Threads};
use super::draws_failure::DrawsFailure;
use super::failure::Failure;
use super::fit::FittedArgument;
use super::size::SEARCH_DRAWS;
use super::{Output, progress, results};
use crate::report::files::ResultFolder;
use crate::report::proposal::{self, PROPOSAL_FILE, ProposalInput};
use crate::scenario::Plan;
use crate::study::drivers::{self, DriversAnswer, DriversError};
use crate::study::rates_used::run_and_rates;
use crate::study::sizing::{self, SizingAnswer};
use crate::study::uncertainty::{self, Shard, UncertaintyAnswer, text_hash};
use crate::study::what_if::{self, VariedKey, WhatIf};
use crate::study::{Draws, Watch, check};
use clap::Args;
use clap::error::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Stocking densities compared if none are listed, kg/m2. Our choice: from a thin start to one that no bed keeps.
const DENSITIES: &str = "0.5,1,2,4,8,16";
/// Most draws of each stocking density. Our choice: enough for bands, few beside the draws of the site itself.
const DENSITY_DRAWS: u64 = 60;

/// Arguments of `proposal`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct ProposalArguments {
    /// Scenario file; - reads it from standard input
    pub file: PathBuf,
    /// Folder for proposal.html; created if missing
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Number of draws (simulated years, each with its own set of uncertain values), 0 to 1000000; 0 omits the uncertainty section
    #[arg(long, value_name = "N", default_value_t = 500)]
    pub draws: u64,
    /// Also compare variants: a key and its values, as for `compare`; once or twice
    #[arg(long, value_name = "KEY=VALUES", value_parser = what_if::axis)]
    pub vary: Vec<VariedKey>,
    /// Also compare stocking densities: worms bought at first, kg per m2 of bed, as a list; over 60 draws at most
    #[arg(long, value_name = "LIST", num_args = 0..=1, require_equals = true, default_missing_value = DENSITIES, value_parser = what_if::density_axis)]
    pub density: Option<VariedKey>,
    /// Also seek the sizes that meet the targets, as `size` does: a lean, a recommended and a cautious site
    #[arg(long)]
    pub size: bool,
    /// Sites of a fit.
    #[command(flatten)]
    pub fitted: FittedArgument,
    /// Seed of the random numbers
    #[arg(long, value_name = "S", default_value_t = draws::USUAL_SEED)]
    pub seed: u64,
    /// Threads.
    #[command(flatten)]
    pub threads: Threads,
    /// Units of the document
    #[arg(long, value_enum, default_value = "si")]
    pub units: UnitsArgument,
}

impl ProposalArguments {
    fn all_draws(&self) -> Draws {
        Draws::first(self.seed, self.draws, self.threads.count())
    }
}

/// What follows from the draws.
struct DrawnAnswers {
    uncertainty: UncertaintyAnswer,
    drivers: Option<DriversAnswer>,
}

/// Answers `proposal`.
///
/// # Errors
/// When the question, the file or the folder is wrong, or the draws are partial.
pub fn proposal(arguments: &ProposalArguments) -> Result<Output, Failure> {
    let compares = if arguments.vary.is_empty() { "--density" } else { "--vary" };
    if !(arguments.vary.is_empty() && arguments.density.is_none()) && arguments.draws < 2 {
        let message = format!(
            "{compares} compares draws, and --draws {} is too few; allowed: 2 or more\n",
            arguments.draws
        );
        return Err(Failure::Usage(clap::Error::raw(ErrorKind::ValueValidation, message)));
    }
    let (plan, text) = read_with_text(&arguments.file)?;
    let hash = text_hash(&text);
    // shards of draws are of all that was read
    let (plan, drawn_from) = arguments.fitted.put(plan, &text, hash.clone())?;
    let folder = ResultFolder::prepare(&arguments.out, &[PROPOSAL_FILE])?;
    let meaning = check::check(&plan)?;
    let (answer, rates) = run_and_rates(&plan)?;
    let stop = progress::stop_on_interrupt();
    let made = if arguments.draws > 0 { Some(drawn(arguments, &plan, &drawn_from, &stop)?) } else { None };
    let compared = compared(arguments, (&arguments.vary, arguments.draws), (&plan, &text), &stop)?;
    let axis = arguments.density.as_slice();
    let few = arguments.draws.min(DENSITY_DRAWS);
    let density = self::compared(arguments, (axis, few), (&plan, &text), &stop)?;
    let sized = sized(arguments, &plan, &stop)?;
    let densities = arguments.density.as_ref().map(|axis| axis.values.join(","));
    let varied: Vec<String> =
        arguments.vary.iter().map(|axis| format!("{}={}", axis.key, axis.values.join(","))).collect();
    let file = file_name(&arguments.file);
    let fitted = arguments.fitted.fitted.as_deref().map(file_name);
    let page = proposal::proposal(&ProposalInput {
        scenario: &text,
        hash: &hash,
        file: &file,
        fitted: fitted.as_deref(),
        plan: &plan,
        meaning: &meaning,
        answer: &answer,
        rates: &rates,
        uncertainty: made.as_ref().map(|t| &t.uncertainty),
        drivers: made.as_ref().and_then(|t| t.drivers.as_ref()),
        compared: compared.as_ref(),
        varied: &varied,
        density: density.as_ref(),
        densities: densities.as_deref(),
        sizing: sized.as_ref(),
        seed: arguments.seed,
        draws: arguments.draws,
        units: arguments.units.into(),
    });
    folder.write(&[(PROPOSAL_FILE, &page)])?;
    let verdict = made.as_ref().map_or(answer.verdict, |made| made.uncertainty.verdict.clone());
    let output = Output { text: String::new(), notes: vec![results::note(&folder, &[PROPOSAL_FILE], 0)] };
    if let Some(DrawnAnswers { uncertainty: u, .. }) = made.filter(|made| made.uncertainty.partial) {
        let made = u.answered + u.failed.len();
        let hint = "let it run longer, or request fewer with --draws";
        return Err(DrawsFailure::Partial { output, what: "draws", made, asked: u.draws, hint }.into());
    }
    match [compared, density].into_iter().flatten().find(|answer| answer.partial) {
        Some(answer) => Err(Failure::Partial { output, made: answer.draws, asked: answer.asked }),
        None => results::judged(output, &verdict, arguments.units.into()),
    }
}

/// Name of a file without its folders.
fn file_name(path: &Path) -> String {
    path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

/// The site against variants of it over so many draws, where some are asked for and the draws before were not stopped.
fn compared(
    arguments: &ProposalArguments,
    (axes, draws): (&[VariedKey], u64),
    (plan, text): (&Plan, &str),
    stop: &Arc<AtomicBool>,
) -> Result<Option<WhatIf>, Failure> {
    if axes.is_empty() || stop.load(Ordering::Relaxed) {
        return Ok(None);
    }
    let name = arguments.file.display().to_string();
    let total = what_if::sites(axes) * draws;
    let draws = Draws::first(arguments.seed, draws, arguments.threads.count());
    let question =
        what_if::Comparison { name: &name, text, fitted: plan.fitted(), axes, figures: &[], draws };
    let answer =
        progress::shown("draws of variants", total, stop, |watch| what_if::compare(&question, watch))?;
    Ok(Some(answer))
}

/// Sizes that meet the targets, where they are asked for and the draws before were not stopped.
fn sized(
    arguments: &ProposalArguments,
    plan: &Plan,
    stop: &Arc<AtomicBool>,
) -> Result<Option<SizingAnswer>, Failure> {
    if !arguments.size || stop.load(Ordering::Relaxed) {
        return Ok(None);
    }
    let search = Draws::first(arguments.seed, SEARCH_DRAWS, arguments.threads.count());
    let sought = |watch: &Watch| sizing::size(plan, &search, sizing::SETTLING_DRAWS, watch);
    Ok(Some(progress::shown("draws of sizes", 0, stop, sought)?))
}

fn drawn(
    arguments: &ProposalArguments,
    plan: &Plan,
    hash: &str,
    stop: &Arc<AtomicBool>,
) -> Result<DrawnAnswers, DrawsFailure> {
    let draws = arguments.all_draws();
    let shard = progress::shown("draws", draws.count(), stop, |watch| {
        uncertainty::shard(plan, hash, draws.count(), &draws, watch)
    });
    let shard = shard.map_err(DrawsFailure::Question)?;
    let uncertainty = uncertainty::answer(&shard).map_err(DrawsFailure::Question)?;
    Ok(DrawnAnswers { uncertainty, drivers: moved_by(plan, hash, &shard)? })
}

/// What drives the results. None if the draws are too few to say, which the document states.
fn moved_by(plan: &Plan, hash: &str, shard: &Shard) -> Result<Option<DriversAnswer>, DrawsFailure> {
    let usual = drivers::chosen_figures(&[]).map_err(DrawsFailure::Drivers)?;
    match drivers::drivers(plan, hash, shard, &usual, None, &Watch::default()) {
        Ok(answer) => Ok(Some(answer)),
        Err(
            DriversError::TooFewDraws { .. } | DriversError::TooFewSites { .. } | DriversError::NothingDrawn,
        ) => Ok(None),
        Err(error) => Err(DrawsFailure::Drivers(error)),
    }
}
