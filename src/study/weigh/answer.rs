//! The answer to *weigh*: what would narrow which forecast, in order, per minute of work.

use super::routine::ROUTINES;
use super::{Done, Span, WeighQuestion};
use crate::monte_carlo::worth::Worth;
use crate::scenario::central;
use crate::scenario::log::{LogErrors, LogKind, LogScale};
use crate::study::answer::inlined;
use crate::study::fit::answer::{FORECAST_TABLE, Points, points};
use crate::study::fit::site::{FitSite, Outcome};
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

/// A forecast of the draws, before anything is measured.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct WeighForecast {
    /// Name in files.
    pub name: &'static str,
    /// What it is.
    pub what: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// 5 %, 50 % and 95 % points.
    pub points: Points,
    /// Name of the routine that alone leaves the least of it. `null` if none leaves less than all.
    pub best: Option<&'static str>,
}

/// Errors of a kind, one standard deviation.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct KindError {
    /// The kind.
    pub what: LogKind,
    /// Of the reading.
    pub reading: f64,
    /// Of the model.
    pub model: f64,
    /// Whether they are parts of the value; else they are in the unit of the kind.
    pub relative: bool,
}

/// A routine of measuring.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Weighing {
    /// Its name.
    pub name: &'static str,
    /// What to do.
    pub how: &'static str,
    /// Kinds of line that it gives, with their errors.
    pub kinds: Vec<KindError>,
    /// How often in the days of measuring.
    pub times: usize,
    /// Work of all of them, min.
    pub minutes: f64,
    /// Number of measurements that a fit would make of its lines.
    pub measurements: usize,
    /// Place in the order, from 1. `null` if it takes too little of the variance after those before it.
    pub place: Option<usize>,
    /// Share of the standard deviation of each forecast that it alone leaves.
    pub alone: Vec<f64>,
    /// Share that it and all before it in the order leave; empty without a place.
    pub together: Vec<f64>,
}

impl Weighing {
    /// What is measured, in words: as a log names it, where it is of one kind.
    pub fn what(&self) -> String {
        match self.kinds.as_slice() {
            [only] => only.what.row().word.to_owned(),
            _ => self.name.replace('_', " "),
        }
    }
}

/// The answer to *weigh*.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct WeighAnswer {
    /// Version of the program.
    pub version: &'static str,
    /// Name of the site.
    pub name: String,
    /// First day of measuring.
    #[schemars(with = "String")]
    pub from: Date,
    /// Last day of measuring.
    #[schemars(with = "String")]
    pub until: Date,
    /// Days of the forecast after it.
    pub forecast_days: u32,
    /// Draws that gave an answer.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
    /// Whether the draws are sites of a fit.
    pub fitted: bool,
    /// The forecasts.
    pub forecasts: Vec<WeighForecast>,
    /// Routines: those with a place in their order, then the others, those that leave less first.
    pub routines: Vec<Weighing>,
    /// Routines that give nothing in these days, in words.
    pub nothing: Vec<&'static str>,
}

/// JSON Schema of the answer.
pub fn schema() -> serde_json::Value {
    inlined::<WeighAnswer>()
}

fn mean(shares: &[f64]) -> f64 {
    shares.iter().sum::<f64>() / shares.len().max(1) as f64
}

fn roots(shares: &[f64]) -> Vec<f64> {
    shares.iter().map(|share| share.sqrt()).collect()
}

/// Order of routines: place in `done` and shares of variance left.
type Order = [(usize, Vec<f64>)];

pub(super) fn answer(
    site: &FitSite<'_>,
    (question, span): (&WeighQuestion, &Span),
    outcomes: &[Outcome],
    (worth, done, order): (&Worth, &[Done], &Order),
) -> WeighAnswer {
    let mut routines: Vec<Weighing> = done
        .iter()
        .enumerate()
        .filter(|(_, routine)| !routine.rows.is_empty())
        .map(|(n, routine)| weighing(site, routine, roots(&worth.left(&routine.rows)), (n, order)))
        .collect();
    routines.sort_by(|a, b| {
        let places = (a.place.unwrap_or(usize::MAX), b.place.unwrap_or(usize::MAX));
        places.0.cmp(&places.1).then(mean(&a.alone).total_cmp(&mean(&b.alone)))
    });
    let forecast = |(n, (name, what, unit)): (usize, &(&'static str, &'static str, &'static str))| {
        let best = routines.iter().min_by(|a, b| a.alone[n].total_cmp(&b.alone[n]));
        WeighForecast {
            name,
            what,
            unit,
            points: points(outcomes.iter().map(|outcome| outcome.forecast()[n])),
            best: best.filter(|routine| routine.alone[n] < 1.0).map(|routine| routine.name),
        }
    };
    let date = |day: usize| site.plan.date(u32::try_from(day).unwrap_or(u32::MAX));
    let given = |name: &str| routines.iter().any(|routine| routine.name == name);
    WeighAnswer {
        version: env!("CARGO_PKG_VERSION"),
        name: site.plan.name.clone(),
        from: date(span.from),
        until: date(span.last),
        forecast_days: question.forecast,
        draws: outcomes.len(),
        seed: question.seed,
        fitted: site.plan.fitted().is_some(),
        forecasts: FORECAST_TABLE.iter().enumerate().map(forecast).collect(),
        nothing: ROUTINES.iter().filter(|routine| !given(routine.name)).map(|routine| routine.how).collect(),
        routines,
    }
}

fn weighing(site: &FitSite<'_>, of: &Done, alone: Vec<f64>, (n, order): (usize, &Order)) -> Weighing {
    let routine = &ROUTINES[of.place];
    let get = |key: &str| central(site.plan, key);
    let kind = |kind: &LogKind| {
        let LogErrors { reading, model } = LogErrors::from_values(*kind, &get)?;
        Some(KindError { what: *kind, reading, model, relative: kind.scale() == LogScale::Logarithm })
    };
    let place = order.iter().position(|(chosen, _)| *chosen == n);
    Weighing {
        name: routine.name,
        how: routine.how,
        kinds: routine.kinds.iter().filter_map(kind).collect(),
        times: of.times,
        minutes: of.minutes,
        measurements: of.rows.len(),
        place: place.map(|place| place + 1),
        alone,
        together: place.map_or(Vec::new(), |place| roots(&order[place].1)),
    }
}
