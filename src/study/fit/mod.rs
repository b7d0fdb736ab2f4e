//! *fit*: moves the unknowns of a plan towards the log of its site, by an ensemble smoother with multiple data assimilation.
//!
//! 1. A large prior sample is run beside the log (module `site`): what the log knows for certain is known in every run.
//! 2. Its first draws are the members. In a few equal steps they are moved towards the measurements (module `data`) and run again
//!    ([`smoother`](crate::monte_carlo::smoother)); gains are tapered by the correlations of the sample.
//! 3. The members left are equally likely sites. The [`answer`] says how well they meet the log, what it taught about which unknown, and
//!    what it does to the forecast.
//!
//! # Source
//! The method: Emerick and Reynolds 2013. Settings (200 members, 4 steps, taper by 5000 draws, 99.9 % limits): our choice, by trial
//! on synthetic twins.

pub mod answer;
pub(super) mod data;
mod error;
mod learnt;
pub(super) mod site;

pub use error::{FitError, check};

use crate::monte_carlo::smoother::{Measured, Members, smooth, taper};
use crate::monte_carlo::{Answered, Study, Watch, design};
use crate::scenario::log::Log;
use crate::scenario::{Almanac, Fitted, FittedFile, Plan};
use answer::{FitAnswer, FitVerdict};
use data::{Datum, measurements};
use nalgebra::{DMatrix, DVector};
use site::{FORECASTS, FitSite, Job, Outcome};

/// Members: fewest, as the smoother takes them, and most, as a file holds them.
const LEAST_MEMBERS: u64 = 20;
const MOST_MEMBERS: u64 = 1000;
/// Draws of the prior sample. Source: our choice.
const LEAST_PRIOR: u64 = 50;
const MOST_PRIOR: u64 = 20_000;
/// Most steps. Source: our choice.
const MOST_STEPS: u64 = 16;
/// Share of the runs that must have a figure beside a measurement. Source: our choice.
const BESIDE: f64 = 0.9;

/// How a log is fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FitQuestion {
    /// Draws of the prior sample.
    pub prior: u64,
    /// Members, taken from the sample.
    pub members: u64,
    /// Steps of the smoother.
    pub steps: u64,
    /// Days of the forecast after the last line of the log; fewer if the run ends before.
    pub forecast: u32,
    /// Seed of all draws.
    pub seed: u64,
    /// Threads; the answer is the same with any number.
    pub threads: usize,
}

impl FitQuestion {
    /// Runs that it takes.
    pub const fn runs(&self) -> u64 {
        self.prior + self.steps * self.members
    }
}

/// A log and the files behind it.
#[derive(Debug, Clone, Copy)]
pub struct FitLog<'a> {
    /// What was read.
    pub log: &'a Log,
    /// Hash of the text of the scenario.
    pub scenario_hash: &'a str,
    /// Hash of the text of the log.
    pub log_hash: &'a str,
}

/// The answer, and the sites as a file. `None` if the log cannot be reached within the ranges: it is said to be so, not fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The answer.
    pub answer: FitAnswer,
    /// The equally likely sites.
    pub fitted: Option<FittedFile>,
    /// Castings, live worms and feed at the end of the forecast, by run: before the fit and after.
    pub forecasts: [Vec<[f64; FORECASTS]>; 2],
}

/// An ensemble with what its runs left.
struct Ensemble {
    /// Unknowns as standard normal numbers, a column for each run.
    unknowns: DMatrix<f64>,
    outcomes: Vec<Outcome>,
}

/// Fits a log.
///
/// # Errors
/// [`FitError`] when the question is out of range, the log has nothing to fit to, too few runs give an answer, or the work is stopped.
pub fn fit(plan: &Plan, of: &FitLog<'_>, question: &FitQuestion, watch: &Watch) -> Result<Fit, FitError> {
    check(plan, of.log, question)?;
    let plan = &plan.without_later_years();
    let study = Study::of(plan)?;
    let all = measurements(plan, of.log);
    let Some(end) = of.log.lines.last() else { return Err(FitError::NoMeasurement { lines: 0 }) };
    let last = usize::try_from((end.date - plan.start).get_days()).unwrap_or(0);
    let days = (last + 1 + question.forecast as usize).min(plan.days as usize);
    let almanac = Almanac::of(plan);
    let FitQuestion { seed, threads, .. } = *question;
    let site = FitSite { plan, study: &study, almanac, log: of.log, data: &all, last, days, seed, threads };
    let mut prior = sample(&site, question, watch)?;
    let kept = beside(&prior.outcomes, all.len());
    if kept.is_empty() {
        return Err(FitError::NothingBeside { measurements: all.len() });
    }
    for outcome in &mut prior.outcomes {
        outcome.data = kept.iter().map(|&n| outcome.data[n]).collect();
    }
    let left_out = all.len() - kept.len();
    let data: Vec<Datum> = kept.iter().map(|&n| all[n].clone()).collect();
    let site = FitSite { data: &data, ..site };
    let fitted = moved(&site, question, &prior, watch)?;
    let answer = answer::answer(&site, question, &prior, &fitted, left_out);
    let sites = (!matches!(answer.verdict, FitVerdict::NotReached { .. })).then(|| {
        let sites = sites(&study, &fitted.unknowns);
        FittedFile::new([of.scenario_hash, of.log_hash, &plan.name], end.date, seed, sites)
    });
    let forecasts = [&prior, &fitted].map(|of| of.outcomes.iter().map(Outcome::forecast).collect());
    Ok(Fit { answer, fitted: sites, forecasts })
}

/// The prior sample that gave answers.
fn sample(site: &FitSite<'_>, question: &FitQuestion, watch: &Watch) -> Result<Ensemble, FitError> {
    let mut jobs: Vec<Job> = Vec::new();
    for number in 0..question.prior.div_ceil(design::BLOCK as u64) {
        let block = site.study.block(question.seed, number);
        for place in 0..design::BLOCK {
            let draw = block.first() + place as u64;
            if draw < question.prior {
                jobs.push((draw, block.scores(site.study, place)));
            }
        }
    }
    let Some(Answered { answers, failed }) = Answered::of(site.runs(&jobs, watch)) else {
        return Err(FitError::Stopped { made: watch.done(), asked: question.runs() });
    };
    let (columns, outcomes): (Vec<_>, Vec<Outcome>) = answers
        .into_iter()
        .map(|(place, outcome)| (DVector::from_column_slice(&jobs[place].1), outcome))
        .unzip();
    if (outcomes.len() as u64) < question.members {
        let message = failed.unwrap_or_default();
        return Err(FitError::RunsFailed { left: outcomes.len(), made: jobs.len(), message });
    }
    Ok(Ensemble { unknowns: DMatrix::from_columns(&columns), outcomes })
}

/// Measurements that nearly all runs have a figure beside.
pub(super) fn beside(outcomes: &[Outcome], measurements: usize) -> Vec<usize> {
    let there = |n: usize| outcomes.iter().filter(|outcome| outcome.data[n].is_some()).count();
    (0..measurements).filter(|&n| there(n) as f64 >= BESIDE * outcomes.len() as f64).collect()
}

/// Figures beside the measurements, a column for each run; one that is missing is the mean of those that are there, and says nothing.
pub(super) fn table(outcomes: &[Outcome]) -> DMatrix<f64> {
    let rows = outcomes.first().map_or(0, |outcome| outcome.data.len());
    let mean = |n: usize| {
        let there: Vec<f64> = outcomes.iter().filter_map(|outcome| outcome.data[n]).collect();
        there.iter().sum::<f64>() / there.len().max(1) as f64
    };
    let means: Vec<f64> = (0..rows).map(mean).collect();
    DMatrix::from_fn(rows, outcomes.len(), |n, run| outcomes[run].data[n].unwrap_or(means[n]))
}

/// The measurements on their scales.
fn measured(data: &[Datum]) -> Measured {
    Measured {
        values: data.iter().map(|datum| datum.scaled(datum.value)).collect(),
        errors: data.iter().map(|datum| datum.error).collect(),
    }
}

/// The members moved towards the measurements, and their runs.
fn moved(
    site: &FitSite<'_>,
    question: &FitQuestion,
    prior: &Ensemble,
    watch: &Watch,
) -> Result<Ensemble, FitError> {
    let count = usize::try_from(question.members).unwrap_or(usize::MAX).min(prior.outcomes.len());
    let sample = table(&prior.outcomes);
    let taper = taper(&prior.unknowns, &sample, count);
    let mut members = Members {
        numbers: (0..count as u64).collect(),
        unknowns: prior.unknowns.columns(0, count).into_owned(),
    };
    let mut outcomes = Vec::new();
    let forward = |members: &Members, _: usize| {
        let columns = members.numbers.iter().zip(members.unknowns.column_iter());
        let jobs: Vec<Job> = columns.map(|(number, x)| (*number, x.iter().copied().collect())).collect();
        outcomes = Vec::with_capacity(jobs.len());
        let mut answered = Vec::with_capacity(jobs.len());
        for run in site.runs(&jobs, watch) {
            let run = run.ok_or(FitError::Stopped { made: watch.done(), asked: question.runs() })?;
            answered.push(run.is_ok());
            outcomes.extend(run);
        }
        let mut columns =
            table(&outcomes).column_iter().map(Into::into).collect::<Vec<DVector<f64>>>().into_iter();
        Ok::<_, FitError>(answered.into_iter().map(|is| if is { columns.next() } else { None }).collect())
    };
    let steps = usize::try_from(question.steps).unwrap_or(1);
    let first = sample.columns(0, count).into_owned();
    smooth(&mut members, first, &measured(site.data), (steps, question.seed), Some(&taper), forward)?;
    Ok(Ensemble { unknowns: members.unknowns, outcomes })
}

/// The members as sites.
fn sites(study: &Study, scores: &DMatrix<f64>) -> Fitted {
    let at = |column: Vec<f64>| study.at_scores(&column).values;
    Fitted {
        keys: study.quantities().iter().map(|q| q.key.to_owned()).collect(),
        central: at(scores.column_mean().iter().copied().collect()),
        members: scores.column_iter().map(|x| at(x.iter().copied().collect())).collect(),
    }
}
