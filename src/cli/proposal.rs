//! `proposal`: the hand-over document.

use super::args::UnitsArgument;
use super::commands::read_with_text;
use super::draws::{self, Threads};
use super::draws_failure::DrawsFailure;
use super::failure::Failure;
use super::{Output, progress, results};
use crate::monte_carlo::shard::{Shard, text_hash};
use crate::report::files::ResultFolder;
use crate::report::proposal::{self, PROPOSAL_FILE, ProposalInput};
use crate::scenario::Plan;
use crate::study::check;
use crate::study::drivers::{self, DriversAnswer, DriversError};
use crate::study::rates_used::run_and_rates;
use crate::study::uncertainty::{self, Question, UncertaintyAnswer};
use crate::study::what_if::{self, Axis, WhatIf};
use clap::Args;
use clap::error::ErrorKind;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// Arguments of `proposal`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct ProposalArguments {
    /// Scenario file
    pub file: PathBuf,
    /// Folder for proposal.html; made if missing
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Draws of the unknown rates, the weather, the intake and luck (0 to 1000000); 0 tells nothing of how sure it is
    #[arg(long, value_name = "N", default_value_t = 500)]
    pub draws: u64,
    /// What if: key and values to compare with the site, as for `compare`; once or twice
    #[arg(long, value_name = "KEY=VALUES", value_parser = what_if::axis)]
    pub vary: Vec<Axis>,
    /// Seed of the draws
    #[arg(long, value_name = "S", default_value_t = draws::USUAL_SEED)]
    pub seed: u64,
    /// Threads.
    #[command(flatten)]
    pub threads: Threads,
    /// Units of the document
    #[arg(long, value_enum, default_value = "si")]
    pub units: UnitsArgument,
}

/// What the draws tell.
struct Told {
    uncertainty: UncertaintyAnswer,
    drivers: Option<DriversAnswer>,
}

/// Answers `proposal`.
///
/// # Errors
/// When the question, the file or the folder is wrong, or the draws are partial.
pub fn proposal(arguments: &ProposalArguments) -> Result<Output, Failure> {
    if !arguments.vary.is_empty() && arguments.draws < 2 {
        let message =
            format!("--vary compares draws, --draws {} are too few; allowed: 2 or more\n", arguments.draws);
        return Err(Failure::Usage(clap::Error::raw(ErrorKind::ValueValidation, message)));
    }
    let (plan, text) = read_with_text(&arguments.file)?;
    let hash = text_hash(&text);
    let folder = ResultFolder::prepare(&arguments.out, &[PROPOSAL_FILE])?;
    let meaning = check::check(&plan)?;
    let (answer, rates) = run_and_rates(&plan)?;
    let stop = progress::stop_on_interrupt();
    let told = if arguments.draws > 0 { Some(drawn(arguments, &plan, &hash, &stop)?) } else { None };
    let compared = compared(arguments, &text, &stop)?;
    let varied: Vec<String> =
        arguments.vary.iter().map(|axis| format!("{}={}", axis.key, axis.values.join(","))).collect();
    let file =
        arguments.file.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let page = proposal::proposal(&ProposalInput {
        scenario: &text,
        hash: &hash,
        file: &file,
        plan: &plan,
        meaning: &meaning,
        answer: &answer,
        rates: &rates,
        uncertainty: told.as_ref().map(|t| &t.uncertainty),
        drivers: told.as_ref().and_then(|t| t.drivers.as_ref()),
        compared: compared.as_ref(),
        varied: &varied,
        seed: arguments.seed,
        draws: arguments.draws,
        units: arguments.units.into(),
    });
    folder.write(&[(PROPOSAL_FILE, page)])?;
    let output = Output { text: String::new(), notes: vec![results::note(&folder, &[PROPOSAL_FILE], 0)] };
    if let Some(Told { uncertainty: u, .. }) = told.filter(|told| told.uncertainty.partial) {
        let made = u.answered + u.failed.len();
        let hint = "let it run on, or ask for fewer with --draws";
        return Err(DrawsFailure::Partial { output, what: "draws", made, asked: u.draws, hint }.into());
    }
    match compared.filter(|answer| answer.partial) {
        Some(answer) => Err(Failure::Partial { output, made: answer.draws, asked: answer.asked }),
        None => Ok(output),
    }
}

/// The site against variants of it, where some are asked for and the draws before were not stopped.
fn compared(arguments: &ProposalArguments, text: &str, stop: &AtomicBool) -> Result<Option<WhatIf>, Failure> {
    if arguments.vary.is_empty() || stop.load(Ordering::Relaxed) {
        return Ok(None);
    }
    let name = arguments.file.display().to_string();
    let total = what_if::sites(&arguments.vary) * arguments.draws;
    let question = what_if::Question {
        name: &name,
        text,
        axes: &arguments.vary,
        figures: &[],
        draws: arguments.draws,
        seed: arguments.seed,
        threads: arguments.threads.count(),
    };
    let answer = progress::shown("draws of variants", total, |done| what_if::compare(&question, done, stop))?;
    Ok(Some(answer))
}

fn drawn(
    arguments: &ProposalArguments,
    plan: &Plan,
    hash: &str,
    stop: &AtomicBool,
) -> Result<Told, DrawsFailure> {
    let (draws, seed) = (arguments.draws, arguments.seed);
    let threads = arguments.threads.count();
    let question = Question { draws, seed, from: 0, to: draws, threads };
    let shard = progress::shown("draws", draws, |done| uncertainty::shard(plan, hash, &question, done, stop));
    let shard = shard.map_err(DrawsFailure::Question)?;
    let uncertainty = uncertainty::answer(&shard).map_err(DrawsFailure::Question)?;
    Ok(Told { uncertainty, drivers: moved_by(plan, hash, &shard)? })
}

/// What moves the answer; nothing where the draws are too few to tell, which the document says.
fn moved_by(plan: &Plan, hash: &str, shard: &Shard) -> Result<Option<DriversAnswer>, DrawsFailure> {
    let usual = drivers::chosen_figures(&[]).map_err(DrawsFailure::Drivers)?;
    let (done, stop) = (AtomicU64::new(0), AtomicBool::new(false));
    match drivers::drivers(plan, hash, shard, &usual, None, &done, &stop) {
        Ok(answer) => Ok(Some(answer)),
        Err(DriversError::TooFewDraws { .. } | DriversError::NothingDrawn) => Ok(None),
        Err(error) => Err(DrawsFailure::Drivers(error)),
    }
}
