//! Uncertainty of a run, from many draws: the analysis behind `run --draws`.

use crate::monte_carlo::bands::SERIES;
use crate::monte_carlo::ensemble::{self, DrawFigures};
pub use crate::monte_carlo::shard::{MergeError, Shard, ShardFile, merge, text_hash};

use super::verdict::Verdict;
use crate::monte_carlo::shard::Head;
use crate::monte_carlo::summary::{self, QUANTILES, Ranks, Spread};
use crate::monte_carlo::{Draw, Draws, Study, StudyError, Watch};
use crate::scenario::Plan;
use crate::trace::failures::RunFailure;
use crate::trace::figures::{self, RunFigure, RunFigures};
use crate::warning::Severity;
use jiff::ToSpan;
use jiff::civil::Date;
use serde::Serialize;
use std::fmt;

/// Maximum number of draws of a study: their figures are kept in memory, some 500 bytes each. Our choice.
pub const MOST_DRAWS: u64 = 1_000_000;

/// Why draws give no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum UncertaintyError {
    /// No draw was asked for.
    NoDraws,
    /// More draws than can be kept.
    TooMany {
        /// Draws asked for.
        given: u64,
    },
    /// The draws to make are not among the draws of the study.
    Range {
        /// First draw.
        from: u64,
        /// One past the last.
        to: u64,
        /// Draws of the study.
        draws: u64,
    },
    /// The uncertain rates of the plan cannot be drawn.
    Study(StudyError),
    /// The run with central values failed.
    Central(String),
    /// Every draw failed.
    AllFailed {
        /// Number of draws made.
        made: usize,
        /// The first one and what went wrong.
        first: (u64, String),
    },
    /// The work was stopped before a draw was made.
    NothingMade,
}

impl UncertaintyError {
    /// What would help, for a reader at the command line.
    pub fn hint(&self) -> String {
        match self {
            Self::NoDraws => "100 draws give a first estimate, 1000 settle most figures".to_owned(),
            Self::TooMany { .. } => {
                format!(
                    "allowed: 1 to {MOST_DRAWS}; the figures of every draw are kept in memory, and 1000 settle most of them"
                )
            }
            Self::Range { draws, .. } => {
                format!(
                    "allowed: 0 <= --draws-from < --draws-to <= {draws}; draws are numbered from 0, the last one is not included"
                )
            }
            Self::Study(_) => {
                "check `rates` in the scenario; `loamledger facts KEY` shows the published range".to_owned()
            }
            Self::Central(_) => "`loamledger run` without --draws shows the cause".to_owned(),
            Self::AllFailed { first: (draw, _), .. } => {
                format!(
                    "run draw {draw} alone with --draws-from {draw} --draws-to {}; the usual cause are ranges of `rates` too wide for the model",
                    draw + 1
                )
            }
            Self::NothingMade => "let it run longer, or request fewer draws".to_owned(),
        }
    }
}

impl fmt::Display for UncertaintyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoDraws => write!(f, "0 draws give no answer"),
            Self::TooMany { given } => write!(f, "{given} draws are too many to keep in memory"),
            Self::Range { from, to, draws } => write!(f, "draws {from} to {to} are not within {draws} draws"),
            Self::Study(error) => error.fmt(f),
            Self::Central(message) => write!(f, "the best-estimate run failed: {message}"),
            Self::AllFailed { made, first: (draw, message) } => {
                write!(f, "all {made} draws failed; draw {draw}: {message}")
            }
            Self::NothingMade => write!(f, "stopped before the first draw was made"),
        }
    }
}

impl std::error::Error for UncertaintyError {}

impl From<StudyError> for UncertaintyError {
    fn from(error: StudyError) -> Self {
        Self::Study(error)
    }
}

/// Whether draws are part of a study of `of` draws that can be made; to be found out before a long study begins.
///
/// # Errors
/// [`UncertaintyError::NoDraws`], [`UncertaintyError::TooMany`], [`UncertaintyError::Range`].
pub fn check(of: u64, draws: &Draws) -> Result<(), UncertaintyError> {
    let Draws { from, to, .. } = *draws;
    if of == 0 {
        return Err(UncertaintyError::NoDraws);
    }
    if of > MOST_DRAWS {
        return Err(UncertaintyError::TooMany { given: of });
    }
    if from >= to || to > of {
        return Err(UncertaintyError::Range { from, to, draws: of });
    }
    Ok(())
}

/// The draw in which every unknown has its best estimate.
pub fn central_draw(study: &Study) -> Draw {
    study.central()
}

/// Makes draws of a study of `of` draws. `scenario` is the hash of the scenario text ([`text_hash`]). When `watch` is stopped, the shard
/// holds what is done so far. A draw that fails is kept as failed.
///
/// # Errors
/// [`UncertaintyError`] when these draws cannot be made of this plan, or the run with central values gives no answer.
pub fn shard(
    plan: &Plan,
    scenario: &str,
    of: u64,
    draws: &Draws,
    watch: &Watch,
) -> Result<Shard, UncertaintyError> {
    check(of, draws)?;
    let study = Study::of(plan)?;
    let central =
        ensemble::figures_of(plan, &study, &central_draw(&study)).map_err(UncertaintyError::Central)?;
    let head = head(plan, &study, scenario, (draws.seed, of), &central);
    Ok(Shard { head, ensemble: ensemble::run(plan, &study, draws, watch) })
}

/// What all shards of a study have in common: of `of` draws of a seed of a plan, whose scenario has this hash, with the figures of the run
/// with central values.
pub(super) fn head(
    plan: &Plan,
    study: &Study,
    scenario: &str,
    (seed, of): (u64, u64),
    central: &RunFigures,
) -> Head {
    Head {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        scenario: scenario.to_owned(),
        name: plan.name.clone(),
        start: plan.start,
        days: plan.days as usize,
        seed,
        draws: of,
        unknowns_drawn: study.quantities().len(),
        central: central.to_vec(),
        judging: plan.judging(),
    }
}

/// One figure over the draws; name, unit and words are those of [`figures::TABLE`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FigureSpread {
    /// Name in files.
    pub name: &'static str,
    /// Unit, SI.
    pub unit: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// Value of the run with central values and without chance. None if there is nothing to measure.
    pub central: Option<f64>,
    /// Number of draws that have it; the others have nothing to measure.
    pub draws: usize,
    /// Its spread over the draws that have it. None if no draw has it.
    pub spread: Option<Spread>,
}

impl FigureSpread {
    /// Whether more draws would not move it. A figure that no draw has is settled.
    pub fn is_settled(&self) -> bool {
        self.spread.as_ref().is_none_or(|spread| spread.settled)
    }
}

/// The chance of a failure, one of [`FAILURES`](crate::trace::failures::FAILURES).
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FailureChance {
    /// Name in files.
    pub name: &'static str,
    /// When a draw counts as failed, in words.
    pub statement: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// Draws in which it happened.
    pub count: usize,
    /// Number of draws in which it could happen; castings can be off standard only in draws with castings.
    pub draws: usize,
    /// Share of these in which it happened; 0 without such draws.
    pub share: f64,
    /// Low end of the 95 % interval of the chance, by Wilson.
    pub low: f64,
    /// High end of that interval.
    pub high: f64,
    /// Whether it happens in the run with central values.
    pub in_central_run: bool,
    /// Whether more draws would not move it much: no end of the interval is more than 0.05 from its middle.
    pub settled: bool,
}

/// Quantiles of one series on one day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DayBand {
    /// The day.
    pub date: Date,
    /// Quantiles at [`QUANTILES`], in the unit of the series.
    pub quantiles: [f64; 5],
}

/// Bands of one series, one of [`SERIES`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeriesBands {
    /// Name in files.
    pub name: &'static str,
    /// Unit, SI.
    pub unit: &'static str,
    /// A band for each day of the run, in order.
    pub days: Vec<DayBand>,
}

/// A draw that gave no answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FailedDraw {
    /// Number of the draw.
    pub draw: u64,
    /// Seed of the draws.
    pub seed: u64,
    /// What went wrong, in words.
    pub message: String,
    /// Arguments of `run` that make it again alone.
    pub rerun: String,
}

/// The rules behind the numbers, in words, so that a file can be read by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SummaryRules {
    /// How figures that a draw does not have are treated.
    pub absent: &'static str,
    /// How quantiles are read off.
    pub quantiles: &'static str,
    /// Where the standard error of a mean comes from.
    pub standard_error: &'static str,
    /// Where the intervals of quantiles come from.
    pub quantile_intervals: &'static str,
    /// How bands are read off.
    pub bands: &'static str,
    /// Where the intervals of chances come from.
    pub chances: &'static str,
    /// When more draws are not needed.
    pub settled: &'static str,
}

/// The rules in use; `summary` and `bands` hold them.
pub const RULES: SummaryRules = SummaryRules {
    absent: "a figure is absent in draws with nothing to measure (no castings, no drum opened); its mean and quantiles are those of the draws that have it, and their number is given",
    quantiles: "linear interpolation between order statistics at place (n - 1) p (rule 7 of Hyndman and Fan 1996)",
    standard_error: "from the means of full blocks of 250 draws, each a Latin hypercube of its own, where there are 4 or more; else sd / sqrt(n), which is too wide because the draws are stratified; the interval of the mean is Student's t",
    quantile_intervals: "order statistics at exact binomial ranks, 95 %; too wide rather than too narrow because the draws are stratified; an end is missing where too few draws lie beyond",
    bands: "linear interpolation within the bin of the quantile; bins grow by 2 % (temperature: steps of 0.1 K, moisture: of 0.001, drums: whole numbers); feed, intake and harvest are means over the 7 days up to the day",
    chances: "Wilson 95 % interval, over the draws in which the failure could happen",
    settled: "a figure is settled when half the 95 % interval of its mean is at most 2.5 % of the span from its 5 % to its 95 % point (or of two standard deviations, where these are more); a chance when no end of its interval is more than 0.05 from its middle",
};

/// The answer to *run* with draws.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UncertaintyAnswer {
    /// Version of the program that made the draws.
    pub version: String,
    /// Name of the site.
    pub name: String,
    /// Hash of the scenario text.
    pub scenario: String,
    /// First day of the run.
    pub start: Date,
    /// Number of days of the run.
    pub days: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Draws of the whole study.
    pub draws: u64,
    /// Draws that gave figures.
    pub answered: usize,
    /// Whether draws are missing: the work was stopped early, or shards are missing.
    pub partial: bool,
    /// Missing draws, as ranges from the first to one past the last.
    pub missing: Vec<(u64, u64)>,
    /// Draws that gave no answer.
    pub failed: Vec<FailedDraw>,
    /// Number of the rates and figures of ingredients that are drawn.
    pub unknowns_drawn: usize,
    /// Whether every figure and chance is settled.
    pub settled: bool,
    /// Draws that would settle all of them. None if all are settled, or if this cannot be estimated.
    pub draws_to_settle: Option<u64>,
    /// The verdict: each failure weighed by severity and chance.
    pub verdict: Verdict,
    /// Chances of failures that are asked about, in the order of [`FAILURES`](crate::trace::failures::FAILURES).
    pub failures: Vec<FailureChance>,
    /// Figures, in the order of [`figures::TABLE`].
    pub figures: Vec<FigureSpread>,
    /// Bands by day, in the order of [`SERIES`].
    pub bands: Vec<SeriesBands>,
    /// The rules behind the numbers.
    pub rules: SummaryRules,
}

/// The answer from these draws, all of the study or a part of it.
///
/// # Errors
/// [`UncertaintyError::AllFailed`], [`UncertaintyError::NothingMade`] when no draw has figures.
pub fn answer(shard: &Shard) -> Result<UncertaintyAnswer, UncertaintyError> {
    let (head, made) = (&shard.head, &shard.ensemble);
    if made.rows.is_empty() {
        return Err(made.failed.first().map_or(UncertaintyError::NothingMade, |first| {
            UncertaintyError::AllFailed {
                made: made.failed.len(),
                first: (first.draw, first.message.clone()),
            }
        }));
    }
    let missing = shard.missing();
    let failed = made.failed.iter().map(|failed| FailedDraw {
        draw: failed.draw,
        seed: head.seed,
        message: failed.message.clone(),
        rerun: rerun(head, failed.draw),
    });
    let figures = spreads(shard);
    let failures = chances(shard);
    let verdict = verdict(shard, &failures);
    let settled = figures.iter().all(FigureSpread::is_settled) && failures.iter().all(|f| f.settled);
    Ok(UncertaintyAnswer {
        version: head.version.clone(),
        name: head.name.clone(),
        scenario: head.scenario.clone(),
        start: head.start,
        days: head.days,
        seed: head.seed,
        draws: head.draws,
        answered: made.rows.len(),
        partial: !missing.is_empty(),
        missing,
        failed: failed.collect(),
        unknowns_drawn: head.unknowns_drawn,
        settled,
        draws_to_settle: draws_to_settle(&figures, &failures),
        verdict,
        failures,
        figures,
        bands: bands(shard),
        rules: RULES,
    })
}

impl UncertaintyAnswer {
    /// Whether a drum was in use in any draw or in the run with central values.
    pub fn uses_drums(&self) -> bool {
        let in_use = self.figures.iter().filter(|f| f.name == "drums_highest");
        in_use.flat_map(|f| [f.central, f.spread.as_ref().map(|s| s.mean)]).flatten().any(|n| n > 0.0)
    }
}

fn rerun(head: &Head, draw: u64) -> String {
    format!("--draws {} --seed {} --draws-from {draw} --draws-to {}", head.draws, head.seed, draw + 1)
}

fn spreads(shard: &Shard) -> Vec<FigureSpread> {
    let rows = &shard.ensemble.rows;
    let all = Ranks::of(rows.len());
    let one = |(n, figure): (usize, &RunFigure)| {
        let there = rows.iter().filter_map(|row| Some((row.draw, row.figures[n].value()?)));
        let (draws, values): (Vec<u64>, Vec<f64>) = there.unzip();
        let ranks = if values.len() == rows.len() { all } else { Ranks::of(values.len()) };
        FigureSpread {
            name: figure.name,
            unit: figure.unit,
            what: figure.what,
            central: shard.head.central[n],
            draws: values.len(),
            spread: (!values.is_empty()).then(|| summary::spread(&draws, &values, &ranks)),
        }
    };
    figures::TABLE.iter().enumerate().map(one).collect()
}

/// In how many draws a failure happened, and in how many it could.
pub(super) fn occurrences(rows: &[DrawFigures], failure: &RunFailure) -> (usize, usize) {
    let could = rows.iter().filter_map(|row| failure.happened(&row.figures));
    could.fold((0, 0), |(count, draws), happened| (count + usize::from(happened), draws + 1))
}

/// The failures weighed that could happen in some draw.
fn verdict(shard: &Shard, failures: &[FailureChance]) -> Verdict {
    let could = shard.head.judging.asked().zip(failures).filter(|(_, found)| found.draws > 0);
    let chances = could.map(|(failure, found)| (failure, found.share));
    Verdict::of(chances, shard.ensemble.rows.len(), shard.head.judging.rule)
}

fn chances(shard: &Shard) -> Vec<FailureChance> {
    let rows = &shard.ensemble.rows;
    shard
        .head
        .judging
        .asked()
        .map(|failure| {
            let (count, draws) = occurrences(rows, failure);
            let (low, high) = summary::wilson(count, draws);
            FailureChance {
                name: failure.name,
                statement: failure.statement,
                severity: failure.severity,
                count,
                draws,
                share: count as f64 / draws.max(1) as f64,
                low,
                high,
                in_central_run: failure.happened(&shard.head.central) == Some(true),
                settled: draws == 0 || 0.5 * (high - low) <= summary::SETTLED_CHANCE,
            }
        })
        .collect()
}

/// The largest number of draws that any figure or chance needs. None if all are settled or one cannot be estimated.
fn draws_to_settle(figures: &[FigureSpread], failures: &[FailureChance]) -> Option<u64> {
    let spreads = figures.iter().filter_map(|f| f.spread.as_ref());
    let figures = spreads.filter(|spread| !spread.settled).map(|spread| spread.draws_to_settle);
    let failures = failures.iter().filter(|f| !f.settled).map(|f| Some(summary::draws_for_chance(f.share)));
    let all: Option<Vec<u64>> = figures.chain(failures).collect();
    all?.into_iter().max()
}

fn bands(shard: &Shard) -> Vec<SeriesBands> {
    let counts = &shard.ensemble.bands;
    SERIES
        .iter()
        .enumerate()
        .map(|(n, series)| SeriesBands {
            name: series.name,
            unit: series.unit,
            days: (0..shard.head.days)
                .zip(0_i64..)
                .map(|(day, number)| DayBand {
                    date: shard.head.start.saturating_add(number.days()),
                    quantiles: counts.quantiles(n, day, QUANTILES),
                })
                .collect(),
        })
        .collect()
}
