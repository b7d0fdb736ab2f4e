//! `weigh`: what to measure, in order, before anything is measured.

use super::ahead::{AheadArguments, date};
use super::args::Shown;
use super::failure::Failure;
use super::{Output, progress, results};
use crate::report::chart::{WEIGH_CHART, weigh_chart};
use crate::report::files;
use crate::report::pages::weigh::weigh_text;
use crate::study::weigh::{FORECAST_DAYS, WeighQuestion, check, runs, weigh as what_to_weigh};
use clap::Args;
use jiff::civil::Date;
use std::path::PathBuf;

/// Files of `weigh` but its chart.
const WEIGH_FILES: [&str; 2] = ["weigh.json", "weigh.txt"];

/// Help below the arguments of `weigh`.
pub(super) const WEIGH_HELP: &str = "\
No log is needed. Each kind of line that a log may hold is judged by how much it would narrow the forecasts of castings, live worms and feed
for a minute of work, given what was chosen before it: a second measurement of the same thing adds little. Errors of readings and the work
are assumed; `loamledger facts log` lists them, and `rates` of the scenario replaces them, such as \"log.minutes_feed_laid\": 8.

Exit status: 0 answered; 1 the work was stopped; 2 the input is wrong (nothing is written); 3 a fault of the program.";

/// Arguments of `weigh`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct WeighArguments {
    /// The site.
    #[command(flatten)]
    pub ahead: AheadArguments,
    /// First day of measuring, such as 2027-07-05 [default: the first of the run]
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub from: Option<Date>,
    /// Days of measuring, 15 or more [default: as many as leave room for the forecast, 180 at most]
    #[arg(long, value_name = "N")]
    pub days: Option<u32>,
    /// Days of the forecast after them
    #[arg(long, value_name = "N", default_value_t = FORECAST_DAYS)]
    pub forecast: u32,
    /// Draws, 50 to 20000; of a fit at most as many as it left sites
    #[arg(long, value_name = "N", default_value = "1000")]
    pub draws: u64,
    /// Folder for result files (weigh.json, weigh.txt, chart); created if missing
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Leave the chart (chart_weigh.svg, chart_weigh.png) out of the result files
    #[arg(long)]
    pub no_charts: bool,
    /// How the answer is shown.
    #[command(flatten)]
    pub shown: Shown,
}

/// Answers `weigh`.
///
/// # Errors
/// When the question, a file or the folder is wrong, draws fail, or the work is stopped.
pub fn weigh(arguments: &WeighArguments) -> Result<Output, Failure> {
    let plan = arguments.ahead.plan()?;
    let question = WeighQuestion {
        from: arguments.from,
        days: arguments.days,
        forecast: arguments.forecast,
        draws: arguments.draws,
        seed: arguments.ahead.seed,
        threads: arguments.ahead.threads.count(),
    };
    check(&plan, &question)?;
    let folder =
        results::folder(arguments.out.as_deref(), &files::with_charts(&WEIGH_FILES, &[WEIGH_CHART]))?;
    let stop = progress::stop_on_interrupt();
    let total = runs(&plan, &question);
    let answer = progress::shown("runs", total, &stop, |watch| what_to_weigh(&plan, &question, watch))?;
    let page = weigh_text(&answer, arguments.shown.units.into());
    let written = results::written(
        folder.as_ref(),
        || {
            let json = files::json_text(&answer).map_err(|e| Failure::Broken(e.into()))?;
            Ok(vec![(WEIGH_FILES[0], json), (WEIGH_FILES[1], page.clone())])
        },
        || if arguments.no_charts { Vec::new() } else { vec![weigh_chart(&answer)] },
    );
    results::output(&answer, page, arguments.shown.json, written)
}
