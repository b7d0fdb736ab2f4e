//! The answer to *fit*: verdict, misfit by kind, forecast before and after, and what was learnt.

use super::learnt::{self, UnknownFit};
use super::site::{FORECASTS, FitSite};
use super::{Ensemble, FitQuestion, measured, table};
use crate::monte_carlo::distribution::chi_square_limit;
use crate::monte_carlo::smoother::shares_left;
use crate::monte_carlo::summary::quantile;
use crate::scenario::central;
use crate::scenario::log::{LogErrors, LogKind, LogScale};
use crate::study::answer::inlined;
use jiff::civil::Date;
use nalgebra::DMatrix;
use schemars::JsonSchema;
use serde::Serialize;

/// Chance with which a log that the model can reach is said not to be reached, overall and for each kind. Source: our choice.
const FALSE_ALARM: f64 = 0.001;
/// Share of the members that must come near the log, or the fit is in doubt. Source: our choice; in trials with known truths and with models
/// that are wrong, a tenth tells them apart best.
const NEAREST: f64 = 0.1;
/// Share of its spread, by the linear estimate from the prior sample, below which a forecast is narrowed. Source: our choice.
const NARROWED: f64 = 0.9;
/// Share of its width below which it is narrowed in any case: fewer members hardly differ so much by chance. Source: our choice.
const CLEARLY_NARROWED: f64 = 0.6;
/// Quantiles of a figure.
const POINTS: [f64; 3] = [0.05, 0.5, 0.95];

/// 5 %, 50 % and 95 % points of a figure over an ensemble.
pub type Points = [f64; 3];

/// Whether the model can be the site of the log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(tag = "standing", rename_all = "snake_case")]
pub enum FitVerdict {
    /// The log is reached within its errors, and a forecast is narrowed.
    Reached,
    /// The log is reached, but teaches too little to narrow a forecast.
    TooThin,
    /// The log cannot be reached within the ranges of the unknowns.
    NotReached {
        /// Kinds whose misfit is above its limit; the one with the largest if only all together are.
        kinds: Vec<LogKind>,
    },
}

/// How far the mean of the members is from measurements.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Misfit {
    /// Mean square of log less model over its error, before the fit.
    pub before: f64,
    /// The same after the fit.
    pub after: f64,
    /// The same after the fit over the error and the spread of the members together: the mean of members that differ widely, such as
    /// some with full drums and some without, is like none of them.
    pub beyond: f64,
    /// Mean square of log less single members over its error after the fit: one member in ten is nearer to the log.
    pub nearest: f64,
    /// What each exceeds in one of a thousand logs that the model can reach.
    pub limit: f64,
}

impl Misfit {
    /// Whether the log lies among the members.
    pub fn is_reached(&self) -> bool {
        self.beyond <= self.limit
    }

    /// Whether the log lies among the members though hardly one comes near it.
    pub fn is_doubtful(&self) -> bool {
        self.is_reached() && self.nearest > self.limit
    }

    /// How near it is to its limit: above 1 where the log is not reached.
    pub fn part_of_limit(&self) -> f64 {
        self.beyond / self.limit
    }
}

/// Share of the spread of a forecast that measurements leave.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Left {
    /// Name of the forecast.
    pub forecast: &'static str,
    /// Share of its standard deviation that the kind alone leaves, on a linear model.
    pub alone: f64,
    /// Share that all other kinds together leave.
    pub without: f64,
}

/// The measurements of a kind.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct KindFit {
    /// The kind.
    pub what: LogKind,
    /// Number of measurements; lines of a week, and amounts of four weeks, are one.
    pub measurements: usize,
    /// Error of a reading, one standard deviation.
    pub reading_error: f64,
    /// Error of the model, one standard deviation.
    pub model_error: f64,
    /// Whether errors are parts of the value; else they are in the unit of the kind.
    pub relative: bool,
    /// Misfit.
    pub misfit: Misfit,
    /// Mean of log less model over its error, after the fit: above 0, the log is higher.
    pub lean: f64,
    /// What it does for each forecast.
    pub left: Vec<Left>,
}

/// A day of a forecast.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ForecastDay {
    /// Date.
    #[schemars(with = "String")]
    pub date: Date,
    /// Before the fit.
    pub before: Points,
    /// After the fit.
    pub after: Points,
}

/// A forecast.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ForecastFit {
    /// Name in files.
    pub name: &'static str,
    /// What it is.
    pub what: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// Before the fit.
    pub before: Points,
    /// After the fit.
    pub after: Points,
    /// Share of the width from the 5 % to the 95 % point that is left.
    pub width_left: f64,
    /// Share of its standard deviation that all measurements leave, by a linear estimate from the draws before the fit.
    pub left: f64,
    /// By day: of worms from the first day of the run, of amounts what has come together since the log ended.
    pub curve: Vec<ForecastDay>,
}

/// A measurement beside both ensembles.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FitPoint {
    /// Kind.
    pub what: LogKind,
    /// Date of its last line.
    #[schemars(with = "String")]
    pub date: Date,
    /// Numbers of its lines in the file.
    pub lines: Vec<usize>,
    /// Value in the unit of the kind.
    pub log: f64,
    /// The value less and plus two standard deviations of its error.
    pub error: [f64; 2],
    /// Before the fit.
    pub before: Points,
    /// After the fit.
    pub after: Points,
}

/// The answer to *fit*.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FitAnswer {
    /// Version of the program.
    pub version: &'static str,
    /// Name of the site.
    pub name: String,
    /// First day of the run.
    #[schemars(with = "String")]
    pub start: Date,
    /// Date of the last line of the log.
    #[schemars(with = "String")]
    pub until: Date,
    /// Days of the forecast after it; 0 if the run ends with the log.
    pub forecast_days: usize,
    /// Lines of the log.
    pub lines: usize,
    /// Measurements that were used.
    pub measurements: usize,
    /// Measurements left out because many runs have no figure beside them.
    pub left_out: usize,
    /// Runs of the prior sample that gave an answer.
    pub prior: usize,
    /// Members that are left.
    pub members: usize,
    /// Steps of the smoother.
    pub steps: u64,
    /// Seed.
    pub seed: u64,
    /// The verdict.
    pub verdict: FitVerdict,
    /// Misfit of all measurements.
    pub misfit: Misfit,
    /// Misfit and use of each kind, in the order of the chain.
    pub kinds: Vec<KindFit>,
    /// Forecasts; empty without days to forecast.
    pub forecasts: Vec<ForecastFit>,
    /// What was learnt about each unknown, the most first.
    pub unknowns: Vec<UnknownFit>,
    /// The measurements.
    pub points: Vec<FitPoint>,
}

impl FitAnswer {
    /// Kinds in doubt of a fit that is kept.
    pub fn in_doubt(&self) -> impl Iterator<Item = &KindFit> {
        let is_kept = !matches!(self.verdict, FitVerdict::NotReached { .. });
        self.kinds.iter().filter(move |kind| is_kept && kind.misfit.is_doubtful())
    }
}

/// JSON Schema of the answer, as in `fit.json`.
pub fn schema() -> serde_json::Value {
    inlined::<FitAnswer>()
}

/// Name, words and unit of each forecast, in the order of the outcomes.
pub(in crate::study) const FORECAST_TABLE: [(&str, &str, &str); FORECASTS] = [
    ("castings", "castings harvested", "kg"),
    ("stock", "live worms on the last day", "kg"),
    ("feed", "feed laid", "kg"),
];

pub(in crate::study) fn points(values: impl Iterator<Item = f64>) -> Points {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    POINTS.map(|p| quantile(&sorted, p))
}

/// Log less the mean of the model over its error.
#[derive(Clone, Copy)]
struct Gap {
    before: f64,
    after: f64,
    /// Over the error and the spread of the members together.
    beyond: f64,
}

/// The gaps by measurement, from figures beside the log before and after the fit.
fn gaps(site: &FitSite<'_>, tables: &[DMatrix<f64>; 2]) -> Vec<Gap> {
    let measured = measured(site.data);
    let [before, after] = tables.each_ref().map(DMatrix::column_mean);
    // a difference of squares: below zero by rounding where members are alike
    let spread = tables[1].column_variance().map(|variance| variance.max(0.0).sqrt());
    let one = |(n, (value, error)): (usize, (&f64, &f64))| Gap {
        before: (value - before[n]) / error,
        after: (value - after[n]) / error,
        beyond: (value - after[n]) / error.hypot(spread[n]),
    };
    measured.values.iter().zip(&measured.errors).enumerate().map(one).collect()
}

/// The misfit of some measurements, from all gaps and the figures of the members beside the log.
fn misfit(site: &FitSite<'_>, gaps: &[Gap], members: &DMatrix<f64>, of: &[usize]) -> Misfit {
    let measured = measured(site.data);
    let count = of.len().max(1);
    let mean = |square: &dyn Fn(usize) -> f64| of.iter().map(|&n| square(n)).sum::<f64>() / count as f64;
    let mut by_member: Vec<f64> = members
        .column_iter()
        .map(|member| mean(&|n| ((measured.values[n] - member[n]) / measured.errors[n]).powi(2)))
        .collect();
    by_member.sort_by(f64::total_cmp);
    Misfit {
        before: mean(&|n| gaps[n].before.powi(2)),
        after: mean(&|n| gaps[n].after.powi(2)),
        beyond: mean(&|n| gaps[n].beyond.powi(2)),
        nearest: quantile(&by_member, NEAREST),
        limit: chi_square_limit(count, FALSE_ALARM) / count as f64,
    }
}

pub(super) fn answer(
    site: &FitSite<'_>,
    question: &FitQuestion,
    prior: &Ensemble,
    fitted: &Ensemble,
    left_out: usize,
) -> FitAnswer {
    let tables = [table(&prior.outcomes), table(&fitted.outcomes)];
    let gaps = gaps(site, &tables);
    let mut forecasts = forecasts(site, prior, fitted);
    let kinds = kinds(site, prior, &tables, &gaps, &mut forecasts);
    let every: Vec<usize> = (0..site.data.len()).collect();
    let all = misfit(site, &gaps, &tables[1], &every);
    FitAnswer {
        version: env!("CARGO_PKG_VERSION"),
        name: site.plan.name.clone(),
        start: site.plan.start,
        until: date(site, site.last),
        forecast_days: site.days - site.last - 1,
        lines: site.log.lines.len(),
        measurements: site.data.len(),
        left_out,
        prior: prior.outcomes.len(),
        members: fitted.outcomes.len(),
        steps: question.steps,
        seed: question.seed,
        verdict: verdict(&all, &kinds, &forecasts),
        misfit: all,
        kinds,
        forecasts,
        unknowns: learnt::unknowns(site.study, &prior.unknowns, &fitted.unknowns),
        points: fit_points(site, &tables),
    }
}

fn date(site: &FitSite<'_>, day: usize) -> Date {
    site.plan.date(u32::try_from(day).unwrap_or(u32::MAX))
}

fn verdict(all: &Misfit, kinds: &[KindFit], forecasts: &[ForecastFit]) -> FitVerdict {
    let mut off: Vec<LogKind> = kinds.iter().filter(|k| !k.misfit.is_reached()).map(|k| k.what).collect();
    if off.is_empty() && !all.is_reached() {
        let worst = kinds.iter().max_by(|a, b| a.misfit.part_of_limit().total_cmp(&b.misfit.part_of_limit()));
        off.extend(worst.map(|kind| kind.what));
    }
    if !off.is_empty() {
        return FitVerdict::NotReached { kinds: off };
    }
    let is_narrowed = |f: &ForecastFit| f.left < NARROWED || f.width_left < CLEARLY_NARROWED;
    let narrowed = forecasts.iter().any(is_narrowed);
    if narrowed || forecasts.is_empty() { FitVerdict::Reached } else { FitVerdict::TooThin }
}

fn forecasts(site: &FitSite<'_>, prior: &Ensemble, fitted: &Ensemble) -> Vec<ForecastFit> {
    if site.days == site.last + 1 {
        return Vec::new();
    }
    let day_points =
        |of: &Ensemble, n: usize, day: usize| points(of.outcomes.iter().map(|o| o.curves[n][day]));
    let one = |(n, (name, what, unit)): (usize, &(&'static str, &'static str, &'static str))| {
        let last = site.days - 1;
        let [before, after] = [prior, fitted].map(|of| day_points(of, n, last));
        let width = |points: &Points| points[2] - points[0];
        let width_left = if width(&before) > 0.0 { width(&after) / width(&before) } else { 1.0 };
        let first = if *name == "stock" { 0 } else { site.last };
        let curve = (first..site.days).map(|day| ForecastDay {
            date: date(site, day),
            before: day_points(prior, n, day),
            after: day_points(fitted, n, day),
        });
        ForecastFit { name, what, unit, before, after, width_left, left: 1.0, curve: curve.collect() }
    };
    FORECAST_TABLE.iter().enumerate().map(one).collect()
}

/// The kinds; also puts into the forecasts what all kinds together leave of them.
fn kinds(
    site: &FitSite<'_>,
    prior: &Ensemble,
    tables: &[DMatrix<f64>; 2],
    gaps: &[Gap],
    forecasts: &mut [ForecastFit],
) -> Vec<KindFit> {
    let get = |key: &str| central(site.plan, key);
    let errors = measured(site.data).errors;
    let figures =
        DMatrix::from_fn(forecasts.len(), prior.outcomes.len(), |n, run| prior.outcomes[run].forecast()[n]);
    let left_by = |rows: &[usize]| {
        let errors: Vec<f64> = rows.iter().map(|&n| errors[n]).collect();
        shares_left(&figures, &tables[0].select_rows(rows), &errors)
    };
    let every: Vec<usize> = (0..site.data.len()).collect();
    for (forecast, left) in forecasts.iter_mut().zip(left_by(&every)) {
        forecast.left = left;
    }
    let mut all = Vec::new();
    for kind in LogKind::ALL {
        let (of, others): (Vec<usize>, Vec<usize>) =
            (0..site.data.len()).partition(|&n| site.data[n].kind == kind);
        let Some(errors) = LogErrors::from_values(kind, &get).filter(|_| !of.is_empty()) else { continue };
        let left = FORECAST_TABLE
            .iter()
            .zip(left_by(&of))
            .zip(left_by(&others))
            .map(|(((forecast, ..), alone), without)| Left { forecast, alone, without });
        all.push(KindFit {
            what: kind,
            measurements: of.len(),
            reading_error: errors.reading,
            model_error: errors.model,
            relative: kind.scale() == LogScale::Logarithm,
            misfit: misfit(site, gaps, &tables[1], &of),
            lean: of.iter().map(|&n| gaps[n].after).sum::<f64>() / of.len() as f64,
            left: left.collect(),
        });
    }
    all
}

fn fit_points(site: &FitSite<'_>, tables: &[DMatrix<f64>; 2]) -> Vec<FitPoint> {
    let one = |(n, datum): (usize, &super::Datum)| {
        let scaled = datum.scaled(datum.value);
        let ends = [-2.0, 2.0].map(|deviations| datum.plain(scaled + deviations * datum.error));
        let [before, after] =
            tables.each_ref().map(|model| points(model.row(n).iter().map(|x| datum.plain(*x))));
        FitPoint {
            what: datum.kind,
            date: datum.date,
            lines: datum.lines.clone(),
            log: datum.value,
            error: ends,
            before,
            after,
        }
    };
    site.data.iter().enumerate().map(one).collect()
}
