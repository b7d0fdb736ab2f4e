//! The command `compare`.

use super::args::Shown;
use super::draws::Threads;
use super::failure::Failure;
use super::fit::FittedArgument;
use super::{Output, progress, results};
use crate::report::chart::{compare_chart_names, compare_charts};
use crate::report::files;
use crate::report::pages::compare::{COMPARE_FILES, compare_csv, compare_text};
use crate::report::pages::density::{DENSITY_FILE, density_csv};
use crate::scenario::{self, FileKind};
use crate::study::what_if::{self, Comparison, VariedKey};
use crate::study::{self, Draws};
use clap::Args;
use std::path::PathBuf;

/// Help below the arguments of `compare`.
pub(super) const COMPARE_HELP: &str = "\
A key is one of the scenario file; a list without an index means each of its elements:
  drums.count=40,60,80                 a list
  feeding.ration=0.1..0.4/4            a range: four values from 0.1 to 0.4
  beds.moisture_band=[0.72,0.8],[0.78,0.85]
  screen.method=trommel,two_decks      words, and texts with units such as drums.volume=120 L,55 gal
  climate.mean_temperature=9,13        a colder and a warmer year; streams.yearly_growth=0,0.3 for more intake
  stock.density=1,2,4,8,16             worms bought at first, kg per m2 of bed (or texts such as 0.5 lb/ft2): feed eaten, castings,
                                       growth, survival and money per m2 in the first and the settled year, and advice on buying
Give --vary twice for a grid of two keys. Ctrl-C stops early: the result uses the draws that all
variants have, is marked as partial, and the exit status is 1. A draw is one simulated year with its own set of uncertain values.
Example: loamledger compare site.json --vary drums.count=40,60,80";

/// Arguments of `compare`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct CompareArguments {
    /// Scenario file; - reads it from standard input
    pub file: PathBuf,
    /// Key to vary and its values; once or twice
    #[arg(long, value_name = "KEY=VALUES", required = true, value_parser = what_if::axis)]
    pub vary: Vec<VariedKey>,
    /// Figure of a run to compare, such as fed; repeat for more [default: six usual ones]
    #[arg(long, value_name = "NAME")]
    pub figure: Vec<String>,
    /// Number of draws (simulated years) of the site and of each variant
    #[arg(long, value_name = "N", default_value = "100", value_parser = clap::value_parser!(u64).range(2..=1_000_000))]
    pub draws: u64,
    /// Seed of the random numbers
    #[arg(long, value_name = "S", default_value = "1")]
    pub seed: u64,
    /// Threads.
    #[command(flatten)]
    pub threads: Threads,
    /// Sites of a fit.
    #[command(flatten)]
    pub fitted: FittedArgument,
    /// Folder for result files (compare.csv, result.json, compare.txt, charts; density.csv with stock.density); created if missing
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How the answer is shown.
    #[command(flatten)]
    pub shown: Shown,
}

/// Reads base and variants, tests the result folder, runs them on the same draws, shows and writes the answer.
///
/// # Errors
/// When the file or a variant is wrong, the folder cannot be written, or the answer is partial.
pub fn compare(arguments: &CompareArguments) -> Result<Output, Failure> {
    let stop = progress::stop_on_interrupt();
    let text = scenario::read_text(&arguments.file, FileKind::Scenario)?;
    let name = arguments.file.display().to_string();
    let (base, _) = arguments.fitted.put(scenario::parse(&name, &text)?, &text, String::new())?;
    let figures = if arguments.figure.is_empty() {
        [&what_if::USUAL[..], &what_if::USUAL_LATER].concat()
    } else {
        arguments.figure.iter().map(String::as_str).collect()
    };
    let of_density = what_if::is_of_density(&arguments.vary);
    let mut names = files::with_charts(&COMPARE_FILES, &compare_chart_names(figures, of_density));
    names.extend(of_density.then(|| DENSITY_FILE.to_owned()));
    let folder = results::folder(arguments.out.as_deref(), &names)?;
    let total = what_if::sites(&arguments.vary) * arguments.draws;
    let question = Comparison {
        name: &name,
        text: &text,
        fitted: base.fitted(),
        axes: &arguments.vary,
        figures: &arguments.figure,
        draws: Draws::first(arguments.seed, arguments.draws, arguments.threads.count()),
    };
    // draws keep figures alone: what the cautions need is in the best-estimate run, which shows a fault before the long work
    let run = study::run(&base.without_later_years())?;
    let answer = progress::shown("draws", total, &stop, |watch| what_if::compare(&question, watch))?;
    let page = compare_text(&answer, &run, arguments.shown.units.into());
    let written = results::written(
        folder.as_ref(),
        || {
            let csv = compare_csv(&answer).map_err(|e| Failure::Broken(e.into()))?;
            let usual = COMPARE_FILES.into_iter().zip([csv, results::json(&answer)?, page.clone()]);
            let by_density = density_csv(&answer).transpose().map_err(|e| Failure::Broken(e.into()))?;
            Ok(usual.chain(by_density.map(|csv| (DENSITY_FILE, csv))).collect())
        },
        || compare_charts(&answer, arguments.shown.units.into()),
    );
    let output = results::output(&answer, page, arguments.shown.json, written)?;
    if answer.partial {
        return Err(Failure::Partial { output, made: answer.draws, asked: answer.asked });
    }
    Ok(output)
}
