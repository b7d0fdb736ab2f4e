//! A small study made by hand, for the tests of this layer.

use crate::monte_carlo::summary::ErrorRule;
use crate::monte_carlo::summary::Interval;
use crate::monte_carlo::summary::Spread;
use crate::study::uncertainty::DayBand;
use crate::study::uncertainty::FailureChance;
use crate::study::uncertainty::FigureSpread;
use crate::study::uncertainty::RULES;
use crate::study::uncertainty::SeriesBands;
use crate::study::uncertainty::UncertaintyAnswer;
use jiff::civil::date;

fn figure(
    name: &'static str,
    unit: &'static str,
    what: &'static str,
    central: f64,
    quantiles: [f64; 5],
) -> FigureSpread {
    let unknown = Interval { low: None, high: None };
    let mean = quantiles[2];
    let spread = Spread {
        mean,
        standard_deviation: 1.0,
        standard_error: 0.1,
        standard_error_from: ErrorRule::Independent,
        mean_interval: Interval { low: Some(0.9 * mean), high: Some(1.1 * mean) },
        quantiles,
        low_interval: unknown,
        median_interval: unknown,
        high_interval: unknown,
        settled: true,
        draws_to_settle: None,
    };
    FigureSpread { name, unit, what, central: Some(central), draws: 20, spread: Some(spread) }
}

fn series(name: &'static str, unit: &'static str, middle: f64) -> SeriesBands {
    let quantiles = [0.5, 0.8, 1.0, 1.2, 1.5].map(|part| part * middle);
    let days = (1..=7).map(|n| DayBand { date: date(2031, 4, n), quantiles });
    SeriesBands { name, unit, days: days.collect() }
}

/// Twenty draws of the sample site; a bed overheats in six of them.
pub(crate) fn study() -> UncertaintyAnswer {
    UncertaintyAnswer {
        version: "0.0.0".to_owned(),
        name: "Sample Shed".to_owned(),
        scenario: "0123456789abcdef".to_owned(),
        start: date(2031, 4, 1),
        days: 1,
        seed: 1,
        draws: 20,
        answered: 20,
        partial: false,
        missing: Vec::new(),
        failed: Vec::new(),
        unknowns_drawn: 3,
        settled: true,
        draws_to_settle: None,
        failures: vec![FailureChance {
            name: "overheated",
            statement: "a bed passes 33 °C somewhere, where worms begin to die",
            count: 6,
            draws: 20,
            share: 0.3,
            low: 0.145_478,
            high: 0.518_972,
            in_central_run: false,
            settled: true,
        }],
        figures: vec![
            figure("intake", "kg", "scraps that arrived", 250.5, [200.0, 230.0, 250.0, 270.0, 300.0]),
            figure("fed", "kg", "paste with bulking laid", 216.0, [180.0, 200.0, 216.0, 230.0, 250.0]),
            figure("castings_screened", "kg", "castings through the screen", 0.0, [0.0; 5]),
            figure("stock_end", "kg", "worms at the end", 140.0, [90.0, 120.0, 140.0, 150.0, 180.0]),
            figure("drums_highest", "1", "most drums in use", 31.0, [25.0, 29.0, 31.0, 34.0, 40.0]),
            figure("bed_hottest", "°C", "hottest spot of any bed", 25.4, [22.0, 24.0, 26.0, 30.0, 34.0]),
            figure(
                "castings_carbon_to_nitrogen",
                "kg/kg",
                "C:N of castings",
                18.0,
                [15.0, 16.0, 18.0, 22.0, 24.0],
            ),
        ],
        bands: vec![
            series("fed_mean_of_7_days", "kg/d", 216.0),
            series("stock", "kg", 140.0),
            series("drums_in_use", "1", 31.0),
            series("bed_temperature", "°C", 16.0),
        ],
        rules: RULES,
    }
}
