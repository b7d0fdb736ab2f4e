//! `fit`: moves the unknowns of a scenario towards the log of its site; `--fitted` of other commands takes the sites that are left.

use super::args::Shown;
use super::commands::read_with_hash;
use super::draws::{Threads, USUAL_SEED};
use super::failure::Failure;
use super::log::right_log;
use super::{Output, progress, results};
use crate::report::chart::{fit_chart_names, fit_charts};
use crate::report::files;
use crate::report::pages::fit::{fit_text, kind_words};
use crate::scenario::{FileKind, Plan, read_text};
use crate::study::fit::answer::FitVerdict;
use crate::study::fit::{FitLog, FitQuestion, check, fit as fit_log};
use crate::study::uncertainty::text_hash;
use clap::Args;
use std::path::PathBuf;

/// Files of `fit` but its charts.
const FIT_FILES: [&str; 2] = ["fit.json", "fit.txt"];
/// File of the sites that are left.
const FITTED_FILE: &str = "fitted.json";

/// Help below the arguments of `fit`.
pub(super) const FIT_HELP: &str = "\
What arrived, room temperatures, worms bought, and days and beds of harvests are known and replace the plan's; all else in the log is
measured. Each kind has an error of its reading and one of the model, both assumed: `loamledger facts log` lists them, and `rates` of the
scenario replaces them, such as \"log.model_error_drums_in_use\": 4.
A setting of the site that rates can imitate may be an unknown too: give it a range in `rates`, such as
  \"site.harvest_factor\": { \"central\": 1, \"low\": 0.77, \"high\": 1.3, \"shape\": \"lognormal\" }
Likewise site.drum_contents_factor, site.bed_room_offset and site.drum_room_offset.

Exit status: 0 answered; 1 the log cannot be reached within the ranges (fitted.json is not written), or the work was stopped; 2 the input is
wrong (nothing is written); 3 a fault of the program.";

/// Arguments of `fit`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct FitArguments {
    /// Scenario file; - reads it from standard input
    pub file: PathBuf,
    /// Log of the site: CSV with the columns date, what, value, unit, where, note
    #[arg(long, value_name = "FILE")]
    pub log: PathBuf,
    /// Folder for result files (fitted.json, fit.json, fit.txt, charts); created if missing
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Draws of the sample before the fit, from which the members are taken
    #[arg(long, value_name = "N", default_value = "5000")]
    pub prior: u64,
    /// Members: sites that are moved towards the log
    #[arg(long, value_name = "N", default_value = "200")]
    pub members: u64,
    /// Steps in which they are moved; the members are run again after each
    #[arg(long, value_name = "N", default_value = "4")]
    pub steps: u64,
    /// Days of the forecast after the last line of the log; fewer if the run of the scenario ends before
    #[arg(long, value_name = "DAYS", default_value = "60", value_parser = clap::value_parser!(u32).range(0..=366))]
    pub forecast: u32,
    /// Seed of the random numbers
    #[arg(long, value_name = "S", default_value_t = USUAL_SEED)]
    pub seed: u64,
    /// Threads.
    #[command(flatten)]
    pub threads: Threads,
    /// Leave the charts (chart_fit_*.svg, chart_fit_*.png) out of the result files
    #[arg(long)]
    pub no_charts: bool,
    /// How the answer is shown.
    #[command(flatten)]
    pub shown: Shown,
}

/// The sites of a fit, in place of the ranges of unknowns.
#[derive(Debug, Clone, Default, PartialEq, Args)]
pub struct FittedArgument {
    /// Draw the sites that `fit` left (fitted.json) in place of the ranges of unknowns; they take turns
    #[arg(long, value_name = "FILE")]
    pub fitted: Option<PathBuf>,
}

impl FittedArgument {
    /// The plan with fitted sites, if a file is given, and a hash of all that was read. `scenario` is the text of the scenario and `hash`
    /// that of all that was read before.
    ///
    /// # Errors
    /// [`Failure::Scenario`] when the file cannot be read or is of another scenario.
    pub(super) fn put(&self, plan: Plan, scenario: &str, hash: String) -> Result<(Plan, String), Failure> {
        let Some(file) = &self.fitted else { return Ok((plan, hash)) };
        let text = read_text(file, FileKind::Fitted)?;
        let plan = plan.with_fitted(&file.display().to_string(), &text, &text_hash(scenario))?;
        Ok((plan, text_hash(&format!("{hash}\n{text}"))))
    }
}

/// Answers `fit`.
///
/// # Errors
/// When the question, a file or the folder is wrong, a line of the log is wrong, the log cannot be reached, or the work is stopped.
pub fn fit(arguments: &FitArguments) -> Result<Output, Failure> {
    let question = FitQuestion {
        prior: arguments.prior,
        members: arguments.members,
        steps: arguments.steps,
        forecast: arguments.forecast,
        seed: arguments.seed,
        threads: arguments.threads.count(),
    };
    let (plan, scenario_hash) = read_with_hash(&arguments.file)?;
    let (log, text) = right_log(&plan, &arguments.log)?;
    check(&plan, &log, &question)?;
    let charts = fit_chart_names();
    let names = [FITTED_FILE, FIT_FILES[0], FIT_FILES[1]];
    let folder = results::folder(Some(&arguments.out), &files::with_charts(&names, &charts))?;
    let stop = progress::stop_on_interrupt();
    let of = FitLog { log: &log, scenario_hash: &scenario_hash, log_hash: &text_hash(&text) };
    let made =
        progress::shown("runs", question.runs(), &stop, |watch| fit_log(&plan, &of, &question, watch))?;
    let units = arguments.shown.units.into();
    let page = fit_text(&made.answer, units);
    let written = results::written(
        folder.as_ref(),
        || {
            let json = files::json_text(&made.answer).map_err(|e| Failure::Broken(e.into()))?;
            let mut all = vec![(FIT_FILES[0], json), (FIT_FILES[1], page.clone())];
            if let Some(fitted) = &made.fitted {
                let text = serde_json::to_string(fitted).map_err(|e| Failure::Broken(e.into()))?;
                all.push((FITTED_FILE, text));
            }
            Ok(all)
        },
        || if arguments.no_charts { Vec::new() } else { fit_charts(&made.answer, units) },
    );
    let output = results::output(&made.answer, page, arguments.shown.json, written)?;
    match &made.answer.verdict {
        FitVerdict::NotReached { kinds } => Err(Failure::LogNotReached { output, kinds: kind_words(kinds) }),
        FitVerdict::Reached | FitVerdict::TooThin => Ok(output),
    }
}
