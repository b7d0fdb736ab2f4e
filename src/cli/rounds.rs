//! `rounds`: the work of the coming days, as a page for the wall, text, JSON, a calendar and lines of the next log.

use super::ahead::{AheadArguments, date};
use super::args::Shown;
use super::failure::Failure;
use super::log::right_log;
use super::{Output, progress, results};
use crate::report::files;
use crate::report::files::calendar::{calendar, next_log};
use crate::report::pages::rounds::rounds_text;
use crate::report::rounds::{ROUNDS_FILES, wall};
use crate::study::rounds::answer::RoundsAnswer;
use crate::study::rounds::{RoundsQuestion, check, rounds as plan_rounds, runs};
use crate::study::uncertainty::text_hash;
use clap::Args;
use jiff::civil::Date;
use std::path::PathBuf;

/// Letters of the hash that tells the events of sites apart.
const SITE: usize = 12;

/// Help below the arguments of `rounds`.
pub(super) const ROUNDS_HELP: &str = "\
Amounts are those of the run with best estimates, to the kilogram. With --fitted each has a range as well: the fitted sites, each with weather
and intake of its own from the first of these days on. With --log what arrived, room temperatures, worms bought and harvests until the last
line of the log replace the plan's, and the rounds begin on the day after.
rounds.html is a page for the wall, an A4 for each week. What is written into its boxes are lines of the next log; rounds_log.csv holds the
same lines with empty values. rounds.ics is a calendar (RFC 5545) with an all-day event for each day of work.

Exit status: 0 answered; 1 the work was stopped; 2 the input is wrong (nothing is written); 3 a fault of the program.";

/// Arguments of `rounds`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct RoundsArguments {
    /// The site.
    #[command(flatten)]
    pub ahead: AheadArguments,
    /// First day, such as 2027-07-05 [default: the day after the log, or the first of the run]
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub from: Option<Date>,
    /// Days, 1 to 35
    #[arg(long, value_name = "N", default_value = "7")]
    pub days: u32,
    /// Log of the site: what it knows for certain replaces the plan's
    #[arg(long, value_name = "FILE")]
    pub log: Option<PathBuf>,
    /// Draws behind the advice on what to measure; 0 leaves it out
    #[arg(long, value_name = "N", default_value = "300")]
    pub draws: u64,
    /// Folder for rounds.html, rounds.txt, rounds.json, rounds.ics and rounds_log.csv; created if missing
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How the answer is shown.
    #[command(flatten)]
    pub shown: Shown,
}

/// Answers `rounds`.
///
/// # Errors
/// When the question, a file or the folder is wrong, the run fails, or the work is stopped.
pub fn rounds(arguments: &RoundsArguments) -> Result<Output, Failure> {
    let plan = arguments.ahead.plan()?;
    let log = arguments.log.as_deref().map(|file| right_log(&plan, file)).transpose()?.map(|(log, _)| log);
    let question = RoundsQuestion {
        from: arguments.from,
        days: arguments.days,
        draws: arguments.draws,
        seed: arguments.ahead.seed,
        threads: arguments.ahead.threads.count(),
    };
    check(&plan, log.as_ref(), &question)?;
    let folder = results::folder(arguments.out.as_deref(), &ROUNDS_FILES)?;
    let stop = progress::stop_on_interrupt();
    let total = runs(&plan, &question);
    let answer =
        progress::shown("runs", total, &stop, |watch| plan_rounds(&plan, log.as_ref(), &question, watch))?;
    let page = rounds_text(&answer, arguments.shown.units.into());
    let written = results::written(folder.as_ref(), || made(arguments, &answer, &page), Vec::new);
    results::output(&answer, page, arguments.shown.json, written)
}

/// Bytes of each file.
fn made(
    arguments: &RoundsArguments,
    answer: &RoundsAnswer,
    page: &str,
) -> Result<Vec<(&'static str, Vec<u8>)>, Failure> {
    let units = arguments.shown.units.into();
    let site: String = text_hash(&answer.name).chars().take(SITE).collect();
    let json = files::json_text(answer).map_err(|e| Failure::Broken(e.into()))?;
    let lines = next_log(answer, units).map_err(|e| Failure::Broken(e.into()))?;
    let [wall_file, text_file, json_file, calendar_file, log_file] = ROUNDS_FILES;
    Ok(vec![
        (wall_file, wall(answer, units).into_bytes()),
        (text_file, page.as_bytes().to_vec()),
        (json_file, json.into_bytes()),
        (calendar_file, calendar(answer, &site, units).into_bytes()),
        (log_file, lines),
    ])
}
