//! What varies from day to day: intake, weather, luck of drums.

use super::generator::{Purpose, named_stream, stream, uniform};
use crate::scenario::{Plan, central};
use rand_distr::{Distribution, LogNormal, StandardNormal};

/// Largest correlation of a day's weather with that of the day before; at 1 it would never change. Our choice.
const MOST_PERSISTENCE: f64 = 0.999;

/// What varies, for every day of a run; what `scenario::Chance` puts into a site.
///
/// Each of the three has streams of its own, so one more of anything moves no other number: intake by the name of the
/// stream, weather and luck one each.
#[derive(Debug, Clone, PartialEq)]
pub struct Days {
    /// Factor on the amount, by stream and day: exp(s z - s^2 / 2), lognormal with mean 1.
    pub intake: Vec<Vec<f64>>,
    /// Outdoor temperature less that of the season, by day, K: x = p x_before + sigma sqrt(1 - p^2) z, so that its standard deviation is
    /// sigma on every day.
    pub temperature: Vec<f64>,
    /// Luck of the drums sealed on a day, between 0 and 1: they spoil when it is below their chance.
    pub drum_luck: Vec<f64>,
}

impl Days {
    /// The days of a draw of that seed and number, as many as the plan may simulate.
    ///
    /// # Source
    /// Spreads: `streams.daily_variation` and `climate.day_to_day` of the plan. Persistence: `site.weather_persistence`.
    pub fn of(plan: &Plan, seed: u64, draw: u64) -> Self {
        let days = plan.most_days() as usize;
        let intake = plan
            .streams
            .iter()
            .map(|scraps| {
                let source = named_stream(seed, Purpose::Intake, &scraps.name, draw);
                intake_factors(scraps.daily_variation).sample_iter(source).take(days).collect()
            })
            .collect();
        let persistence = central(plan, "site.weather_persistence").clamp(0.0, MOST_PERSISTENCE);
        let mut luck = stream(seed, Purpose::Drums, draw);
        Self {
            intake,
            temperature: temperature(plan.climate.day_to_day, persistence, days, seed, draw),
            drum_luck: (0..days).map(|_| uniform(&mut luck)).collect(),
        }
    }

    /// The days of a draw without the chance of those before `day`, which are known.
    pub fn from_day(plan: &Plan, seed: u64, draw: u64, day: usize) -> Self {
        let (mut all, known) = (Self::of(plan, seed, draw), Self::without_chance(plan));
        let before = day.min(all.temperature.len());
        for (days, known) in all.intake.iter_mut().zip(&known.intake) {
            days[..before].copy_from_slice(&known[..before]);
        }
        all.temperature[..before].copy_from_slice(&known.temperature[..before]);
        all.drum_luck[..before].copy_from_slice(&known.drum_luck[..before]);
        all
    }

    /// As many days without chance: factors 1, the season's temperature, a luck of one half.
    pub fn without_chance(plan: &Plan) -> Self {
        let days = plan.most_days() as usize;
        Self {
            intake: vec![vec![1.0; days]; plan.streams.len()],
            temperature: vec![0.0; days],
            drum_luck: vec![0.5; days],
        }
    }
}

/// Factors with mean 1 whose logarithm has this standard deviation.
fn intake_factors(spread: f64) -> LogNormal<f64> {
    LogNormal::new(-0.5 * spread * spread, spread).expect("a checked plan has a finite variation")
}

fn temperature(spread: f64, persistence: f64, days: usize, seed: u64, draw: u64) -> Vec<f64> {
    let mut source = stream(seed, Purpose::Weather, draw);
    let fresh = spread * (1.0 - persistence * persistence).sqrt();
    let mut before: Option<f64> = None;
    (0..days)
        .map(|_| {
            let z: f64 = StandardNormal.sample(&mut source);
            let today = before.map_or(spread * z, |yesterday| persistence * yesterday + fresh * z);
            before = Some(today);
            today
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weather_follows_that_of_the_day_before_by_hand() {
        // persistence 0.6 leaves sqrt(1 - 0.36) = 0.8 of the spread to what is new
        let mut source = stream(5, Purpose::Weather, 3);
        let z: [f64; 3] = std::array::from_fn(|_| StandardNormal.sample(&mut source));
        let days = temperature(2.0, 0.6, 3, 5, 3);
        let mut by_hand = 2.0 * z[0];
        assert!((days[0] - by_hand).abs() < 1e-12);
        for day in 1..3 {
            by_hand = 0.6 * by_hand + 2.0 * 0.8 * z[day];
            assert!((days[day] - by_hand).abs() < 1e-12, "{day}");
        }
    }
}
