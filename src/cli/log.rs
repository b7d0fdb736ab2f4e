//! `log`: what a log tells, against its plan.

use super::args::Shown;
use super::commands::read;
use super::failure::Failure;
use super::{Output, results};
use crate::report::chart::{log_chart_names, log_charts};
use crate::report::{files, pages};
use crate::scenario::log::{Log, LogKind, read_log};
use crate::scenario::{FileKind, Plan, read_text};
use crate::study::log::against;
use clap::Args;
use std::path::{Path, PathBuf};

/// Files of `log` but its charts.
const LOG_FILES: [&str; 2] = ["log.json", "log.txt"];

/// Arguments of `log`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct LogArguments {
    /// Log file: CSV with the columns date, what, value, unit, where, note
    pub file: PathBuf,
    /// Scenario file of the site; - reads it from standard input
    #[arg(long, value_name = "FILE")]
    pub scenario: PathBuf,
    /// Folder for result files (log.json, log.txt, charts); created if missing
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Leave the charts (chart_log_*.svg, chart_log_*.png) out of the result files
    #[arg(long)]
    pub no_charts: bool,
    /// How the answer is shown.
    #[command(flatten)]
    pub shown: Shown,
}

/// Help below the arguments of `log`.
pub(super) fn log_help() -> String {
    let mut text = "A line of the log tells one thing of one day:\n  \
                    date,what,value,unit,where,note\n  \
                    2027-03-01,scraps in,212,kg,market hall,\n  \
                    2027-03-01,bed temperature,66,F,hall beds 3,after rain\n\
                    Left out: `unit` is the one below; `where` is the whole site or all beds. Lines may come in any order; `#` begins a remark.\n\n\
                    What a line may tell:\n"
        .to_owned();
    for kind in LogKind::ALL {
        let row = kind.row();
        let unit = match row.quantity.unit() {
            "" => String::new(),
            unit => format!(" [{unit}]"),
        };
        text.extend(["  ", row.word, &unit, ": ", row.about, "\n"]);
    }
    text.push_str(
        "\nWhat arrived, room temperatures, worms bought, and days and beds of harvests are known and replace the plan's; all else is \
         measured and compared.\n\n\
         Exit status: 0 answered; 2 some lines are wrong (the answer is that of the others) or nothing can be read; 3 a fault of the program.",
    );
    text
}

/// A log of a plan, all of whose lines must be right, and its text.
///
/// # Errors
/// When the file cannot be read or a line is wrong.
pub(super) fn right_log(plan: &Plan, file: &Path) -> Result<(Log, String), Failure> {
    let text = read_text(file, FileKind::Log)?;
    let read = read_log(plan, &file.display().to_string(), &text)?;
    match read.faults {
        Some(faults) => Err(faults.into()),
        None => Ok((read.log, text)),
    }
}

/// Answers `log`.
///
/// # Errors
/// When a file or the folder is wrong, or some lines are: then with the answer of the others.
pub fn log(arguments: &LogArguments) -> Result<Output, Failure> {
    let plan = read(&arguments.scenario)?;
    let text = read_text(&arguments.file, FileKind::Log)?;
    let read = read_log(&plan, &arguments.file.display().to_string(), &text)?;
    let names = files::with_charts(&LOG_FILES, &log_chart_names(plan.streams.len()));
    let folder = results::folder(arguments.out.as_deref(), &names)?;
    let wrong = read.faults.as_ref().map_or(0, |faults| faults.faults().len());
    let answer = against(&plan, &read.log, wrong)?;
    let units = arguments.shown.units.into();
    let page = pages::log::log_text(&answer, units);
    let written = results::written(
        folder.as_ref(),
        || {
            let json = files::json_text(&answer).map_err(|e| Failure::Broken(e.into()))?;
            Ok(vec![(LOG_FILES[0], json), (LOG_FILES[1], page.clone())])
        },
        || if arguments.no_charts { Vec::new() } else { log_charts(&answer, units) },
    );
    let output = results::output(&answer, page.clone(), arguments.shown.json, written)?;
    match read.faults {
        Some(error) => Err(Failure::LogLines { output, error: Box::new(error) }),
        None => Ok(output),
    }
}
