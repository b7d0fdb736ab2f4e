//! `run --draws`: many draws, whole or a shard of them.

use super::args::{RunArguments, Shown};
use super::draws_failure::DrawsFailure;
use super::failure::Failure;
use super::{Output, progress, results, state};
use crate::report::chart::{DRAWS_CHARTS, draws_charts};
use crate::report::files::uncertainty::{SHARD_FILE, UNCERTAINTY_FILES, write_shard};
use crate::report::files::{self, RUN_FILES, ResultFolder, Stream};
use crate::report::pages;
use crate::report::workbook::{WORKBOOK_FILE, WorkbookContents};
use crate::scenario::Plan;
use crate::study::uncertainty::{self, Shard};
use crate::study::{self, Draws};
use clap::Args;
use std::num::NonZeroUsize;
use std::ops::RangeInclusive;
use std::thread;

/// Seed where none is given. Our choice.
pub(super) const USUAL_SEED: u64 = 1;

/// Range of the number of threads: each keeps counts of its own.
const THREADS: RangeInclusive<i64> = 1..=256;

/// Arguments of `run` about draws.
#[derive(Debug, Clone, Default, PartialEq, Args)]
pub struct DrawsArguments {
    /// Make N draws (1 to 1000000) and report ranges instead of single numbers
    ///
    /// A draw is one simulated year with its own set of uncertain values: rates, composition of ingredients, weather, intake and
    /// chance spoilage of drums. Files under --out are then totals.csv, failures.csv, bands.csv, draws.csv, uncertainty.json, uncertainty.txt,
    /// shard.json, workbook.xlsx and charts. The same seed gives the same bytes on any number of threads. Ctrl-C stops early:
    /// the result holds what is done so far and is marked as partial, and the exit status is 1.
    #[arg(long, value_name = "N")]
    pub draws: Option<u64>,
    /// Seed of the random numbers [default: 1]
    #[arg(long, value_name = "S", requires = "draws")]
    pub seed: Option<u64>,
    /// Threads, 1 to 256 [default: as many as the machine has]
    #[arg(long, value_name = "T", requires = "draws", value_parser = clap::value_parser!(u16).range(THREADS))]
    pub threads: Option<u16>,
    /// Make only part of the draws: the first one, counted from 0; shard.json holds the part for `merge`
    #[arg(long, value_name = "A", requires = "draws")]
    pub draws_from: Option<u64>,
    /// Make only part of the draws: one past the last
    #[arg(long, value_name = "B", requires = "draws")]
    pub draws_to: Option<u64>,
}

/// Threads to work on.
#[derive(Debug, Clone, Default, PartialEq, Args)]
pub struct Threads {
    /// Threads, 1 to 256 [default: as many as the machine has]
    #[arg(long = "threads", value_name = "T", value_parser = clap::value_parser!(u16).range(THREADS))]
    pub given: Option<u16>,
}

impl Threads {
    /// As many threads as asked for, or as the machine has; at least 1.
    pub fn count(&self) -> usize {
        self.given.map_or_else(|| thread::available_parallelism().map_or(1, NonZeroUsize::get), usize::from)
    }
}

impl DrawsArguments {
    /// The draws to make here, of a study of `of` draws.
    fn here(&self, of: u64) -> Draws {
        Draws {
            seed: self.seed.unwrap_or(USUAL_SEED),
            from: self.draws_from.unwrap_or(0),
            to: self.draws_to.unwrap_or(of),
            threads: Threads { given: self.threads }.count(),
        }
    }
}

/// Answers `run --draws` for a study of `of` draws.
///
/// # Errors
/// When the question, the file or the folder is wrong, or the answer is partial.
pub fn run(arguments: &RunArguments, of: u64) -> Result<Output, Failure> {
    let draws = arguments.draws.here(of);
    uncertainty::check(of, &draws).map_err(DrawsFailure::Question)?;
    let whole = draws.count() == of;
    if !whole && arguments.out.is_none() && !arguments.shown.json && draws.count() > 1 {
        return Err(DrawsFailure::NowhereToPut.into());
    }
    // before the folder is made: who sees it may interrupt
    let stop = progress::stop_on_interrupt();
    let (plan, text, hash) = state::read(&arguments.file, arguments.state.from_state.as_deref())?;
    let (plan, hash) = arguments.fitted.put(plan, &text, hash)?;
    let site = DrawnSite { plan: &plan, text: &text, charts: !arguments.no_charts };
    let names = if whole { DrawnSite::names() } else { vec![SHARD_FILE.to_owned()] };
    let folder = results::folder(arguments.out.as_deref(), &names)?;
    let shard = progress::shown("draws", draws.count(), &stop, |watch| {
        uncertainty::shard(&plan, &hash, of, &draws, watch)
    });
    let shard = shard.map_err(DrawsFailure::Question)?;
    if whole {
        return show(&shard, Some(&site), &arguments.shown, folder.as_ref());
    }
    let text = if arguments.shown.json {
        let mut bytes = Vec::new();
        write_shard(&shard, &mut bytes).map_err(|e| Failure::Broken(e.into()))?;
        String::from_utf8_lossy(&bytes).into_owned()
    } else {
        pages::uncertainty::shard_text(&shard)
    };
    let file = || Ok(vec![(SHARD_FILE, Stream::new(|to| write_shard(&shard, to)))]);
    let written = results::written(folder.as_ref(), file, Vec::new);
    let output = results::shown(text, written)?;
    let made = shard.ensemble.rows.len() + shard.ensemble.failed.len();
    finished(output, shard.ensemble.is_partial(), made, draws.count())
}

/// The site that draws were made of; its workbook and charts show its run with central values too.
pub struct DrawnSite<'a> {
    /// Its plan.
    pub plan: &'a Plan,
    /// Text of its scenario.
    pub text: &'a str,
    /// Whether charts are drawn.
    pub charts: bool,
}

impl DrawnSite<'_> {
    /// Names of all files that a study may have.
    pub fn names() -> Vec<String> {
        let mut names = files::with_charts(&UNCERTAINTY_FILES, &DRAWS_CHARTS);
        names.push(WORKBOOK_FILE.to_owned());
        names
    }
}

/// A study as text, and its files where a folder is given; with workbook and charts where the site is known.
///
/// # Errors
/// When no draw gave an answer, files cannot be written, or draws are missing.
pub fn show(
    shard: &Shard,
    site: Option<&DrawnSite<'_>>,
    how: &Shown,
    folder: Option<&ResultFolder>,
) -> Result<Output, Failure> {
    let units = how.units.into();
    let answer = uncertainty::answer(shard).map_err(DrawsFailure::Question)?;
    let page = pages::uncertainty::uncertainty_text(&answer, units);
    let site = site.filter(|_| folder.is_some());
    let central = site.map(|site| study::run(site.plan)).transpose()?;
    let shown = site.zip(central.as_ref());
    let written = results::written(
        folder,
        || {
            let mut made = files::uncertainty::study_files(shard, &answer, &page);
            if let Some((site, central)) = shown {
                let contents = WorkbookContents { central, study: Some(&answer), scenario: site.text, units };
                let book = results::book(&contents)?;
                made.push((WORKBOOK_FILE, Stream::new(move |to| to.write_all(&book.bytes))));
            }
            Ok(made)
        },
        || match shown {
            Some((site, central)) if site.charts => draws_charts(central, &answer, units),
            _ => Vec::new(),
        },
    );
    let written = written.map(|mut notes| {
        notes.extend(results::beside(folder, &RUN_FILES, "`run`"));
        notes
    });
    let output = results::output(&answer, page, how.json, written)?;
    let made = answer.answered + answer.failed.len();
    let output = finished(output, answer.partial, made, answer.draws)?;
    results::judged(output, &answer.verdict, units)
}

/// The output, or the same as a partial answer.
fn finished(output: Output, partial: bool, made: usize, asked: u64) -> Result<Output, Failure> {
    let hint = "make the missing draws with --draws-from and --draws-to, then merge the parts with `loamledger merge`";
    if partial {
        Err(DrawsFailure::Partial { output, what: "draws", made, asked, hint }.into())
    } else {
        Ok(output)
    }
}
