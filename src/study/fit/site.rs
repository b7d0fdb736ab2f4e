//! The runs of a fit: values of the unknowns in, figures beside the log and a forecast out.

use super::data::Datum;
use crate::chain;
use crate::monte_carlo::{Days, Draw, Study, Watch, ensemble, in_order};
use crate::process::quality::QualityRates;
use crate::scenario::log::{Log, with_log};
use crate::scenario::{Almanac, Chance, Plan, assemble_on, with_chance};
use crate::study::beside::Beside;

/// Figures that are forecast.
pub(in crate::study) const FORECASTS: usize = 3;

/// What all runs of a fit share.
pub(in crate::study) struct FitSite<'a> {
    /// A plan without later years.
    pub(in crate::study) plan: &'a Plan,
    pub(in crate::study) study: &'a Study,
    pub(in crate::study) almanac: Almanac,
    pub(in crate::study) log: &'a Log,
    pub(in crate::study) data: &'a [Datum],
    /// Day of the last line of the log.
    pub(in crate::study) last: usize,
    /// Days of a run: those of the log and of the forecast.
    pub(in crate::study) days: usize,
    pub(in crate::study) seed: u64,
    pub(in crate::study) threads: usize,
}

/// What a run leaves.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::study) struct Outcome {
    /// Figure beside each measurement, on its scale. `None` where the model has none.
    pub(in crate::study) data: Vec<Option<f64>>,
    /// By day of the run: castings harvested since the last day of the log, live worms, feed laid since the last day of the log, kg.
    pub(in crate::study) curves: [Vec<f64>; FORECASTS],
}

impl Outcome {
    /// The forecast: castings, live worms and feed on the last day.
    pub(in crate::study) fn forecast(&self) -> [f64; FORECASTS] {
        self.curves.each_ref().map(|curve| curve.last().copied().unwrap_or(0.0))
    }
}

/// A run to be made: its number, which picks its days of the forecast, and its unknowns as standard normal numbers.
pub(in crate::study) type Job = (u64, Vec<f64>);

impl FitSite<'_> {
    /// Makes runs; one for each job, in their order. `None` for those that were not made because the work was stopped.
    pub(in crate::study) fn runs(&self, jobs: &[Job], watch: &Watch) -> Vec<Option<Result<Outcome, String>>> {
        in_order(self.threads, jobs.len(), watch, |place| {
            let (number, scores) = &jobs[place];
            ensemble::caught(|| self.run(*number, &self.study.at_scores(scores)))
        })
    }

    /// One run: what the log knows in its place, no chance until its last line, chance of its own from then on. Chance that the
    /// smoother cannot move would be taken for an error of every step anew; the errors of the model stand for it while the log lasts.
    pub(in crate::study) fn run(&self, number: u64, draw: &Draw) -> Result<Outcome, String> {
        let Self { plan, study, almanac, log, .. } = self;
        let get = |key: &str| study.value(draw, key);
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
