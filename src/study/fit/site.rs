//! The runs of a fit: values of the unknowns in, figures beside the log and a forecast out.

use super::data::Datum;
use crate::chain;
use crate::monte_carlo::{Days, Study, Watch, ensemble, on_threads};
use crate::process::quality::QualityRates;
use crate::scenario::log::{Log, with_log};
use crate::scenario::{Almanac, Chance, Plan, assemble_on, with_chance};
use crate::study::beside::Beside;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Figures that are forecast.
pub(super) const FORECASTS: usize = 3;

/// What all runs of a fit share.
pub(super) struct FitSite<'a> {
    /// A plan without later years.
    pub(super) plan: &'a Plan,
    pub(super) study: &'a Study,
    pub(super) almanac: Almanac,
    pub(super) log: &'a Log,
    pub(super) data: &'a [Datum],
    /// Day of the last line of the log.
    pub(super) last: usize,
    /// Days of a run: those of the log and of the forecast.
    pub(super) days: usize,
    pub(super) seed: u64,
    pub(super) threads: usize,
}

/// What a run leaves.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Outcome {
    /// Figure beside each measurement, on its scale. `None` where the model has none.
    pub(super) data: Vec<Option<f64>>,
    /// By day of the run: castings harvested since the last day of the log, live worms, feed laid since the last day of the log, kg.
    pub(super) curves: [Vec<f64>; FORECASTS],
}

impl Outcome {
    /// The forecast: castings, live worms and feed on the last day.
    pub(super) fn forecast(&self) -> [f64; FORECASTS] {
        self.curves.each_ref().map(|curve| curve.last().copied().unwrap_or(0.0))
    }
}

/// A run to be made: its number, which picks its days of the forecast, and its unknowns as standard normal numbers.
pub(super) type Job = (u64, Vec<f64>);

impl FitSite<'_> {
    /// Makes runs; one for each job, in their order. `None` for those that were not made because the work was stopped.
    pub(super) fn runs(&self, jobs: &[Job], watch: &Watch) -> Vec<Option<Result<Outcome, String>>> {
        let next = AtomicUsize::new(0);
        let work = || {
            let mut made = Vec::new();
            while !watch.is_stopped() {
                let place = next.fetch_add(1, Ordering::Relaxed);
                let Some((number, scores)) = jobs.get(place) else { break };
                made.push((place, ensemble::caught(|| self.run(*number, scores))));
                watch.count();
            }
            made
        };
        let threads = self.threads.min(jobs.len());
        let mut all: Vec<Option<Result<Outcome, String>>> = jobs.iter().map(|_| None).collect();
        for (place, outcome) in on_threads(threads, work).into_iter().flatten() {
            all[place] = Some(outcome);
        }
        all
    }

    /// One run: what the log knows in its place, no chance until its last line, chance of its own from then on. Chance that the
    /// smoother cannot move would be taken for an error of every step anew; the errors of the model stand for it while the log lasts.
    fn run(&self, number: u64, scores: &[f64]) -> Result<Outcome, String> {
        let Self { plan, study, almanac, log, .. } = self;
        let draw = study.at_scores(scores);
        let get = |key: &str| study.value(&draw, key);
        let (mut site, models) = assemble_on(plan, almanac, &get).map_err(|e| e.to_string())?;
        let days = Days::from_day(plan, self.seed, number, self.last + 1);
        let chance =
            Chance { intake: &days.intake, temperature: &days.temperature, drum_luck: &days.drum_luck };
        with_chance(plan, almanac, &mut site, &chance);
        with_log(plan, log, &mut site, &models, &get);
        let trace = chain::run_days(&site, &models, self.days).map_err(|e| e.to_string())?;
        let run = Beside { site, models, trace, rates: QualityRates::from_values(&get) };
        let since = |day: usize, amount: f64| if day > self.last { amount } else { 0.0 };
        let (mut castings, mut feed) = (0.0, 0.0);
        let mut curves: [Vec<f64>; FORECASTS] = Default::default();
        for (day, record) in run.trace.daily.iter().enumerate() {
            castings += since(day, record.harvested);
            feed += since(day, record.fed);
            for (curve, value) in curves.iter_mut().zip([castings, record.stock, feed]) {
                curve.push(value);
            }
        }
        Ok(Outcome { data: self.data.iter().map(|datum| datum.model(&run)).collect(), curves })
    }
}
