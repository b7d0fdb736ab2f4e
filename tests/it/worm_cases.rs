//! Published matrices and life tables (V1 to V14), and tables of growth, rationing and screening computed by other code.
//!
//! The tolerance is half a unit of the last printed digit unless a test states another.

use loamledger::process::worm::{
    Population, Surroundings, WormDay, WormParameters, WormRates, WormRecovery, day,
};

mod chains;
mod invariants;
mod matrices;
mod tables;
mod trajectories;

/// Checks a value against a printed one to half a unit of its last decimal.
#[track_caller]
fn printed(what: &str, value: f64, expected: f64, decimals: i32) {
    let half = 0.5 * 10.0_f64.powi(-decimals);
    assert!(
        (value - expected).abs() <= half * (1.0 + 1e-6),
        "{what}: {value} against the printed {expected}"
    );
}

/// Central values, `worms.json`.
fn central_value(key: &str) -> f64 {
    match key {
        "worms.cocoon_rate_per_adult" => 0.25,
        "worms.cocoon_hatch_share" => 0.73,
        "worms.hatchlings_per_hatched_cocoon" => 2.7,
        "worms.cocoon_duration" => 25.0,
        "worms.juvenile_duration" => 36.0,
        "worms.subadult_duration" => 29.0,
        "worms.cocoon_death_rate" | "worms.adult_death_rate" => 0.003,
        "worms.juvenile_death_rate" | "worms.heat_extra_death_rate_per_kelvin" => 0.010,
        "worms.subadult_death_rate" => 0.004,
        "worms.maximum_intake" => 0.75,
        "worms.maintenance_intake" => 0.14,
        "worms.starvation_loss_rate" => 0.006,
        "worms.condition_time_constant" => 10.0,
        "worms.laying_density_half_effect" => 8.0,
        // the tables were computed without crowding of intake
        "worms.intake_density_half_effect" => 1e12,
        // the tables were computed with adults of one mass, which worms have as they mature
        "worms.adult_mass" | "worms.mass_at_maturity" => 5e-4,
        "worms.adult_size_at_maintenance" | "worms.adult_size_at_full_food" => 1.0,
        "worms.adult_growth_time" => 18.0,
        "worms.hatchling_mass_in_model" => 3e-6,
        "worms.juvenile_end_mass_in_model" => 1.2e-4,
        "worms.subadult_end_mass_in_model" => 3e-4,
        "worms.cocoon_mass_measured" => 1.43e-5,
        // nor did juveniles die of a crowd
        "worms.crowding_juvenile_death_rate" => 0.0,
        "worms.growth_temperature_base" => -9.0,
        "worms.growth_temperature_maximum" => 37.5,
        "worms.low_condition_threshold" => 0.4,
        "worms.low_condition_extra_death_rate" | "worms.cold_extra_death_rate_below_0_celsius" => 0.02,
        "worms.heat_extra_death_rate_above_38_celsius" => 0.3,
        "worms.acid_death_rate_without_refuge" | "worms.alkali_death_rate" => 0.35,
        "worms.largest_allowed_conversion" => 0.1,
        other => panic!("{other} is not in the table"),
    }
}

/// "bed_central" of `worms.parameter_sets`.
fn central() -> WormParameters {
    WormParameters::from_values(&central_value)
}

/// A set of `worms.parameter_sets`: cocoons per adult and day, hatch share, days per stage, deaths per day.
fn set(cocoon_rate: f64, hatch_share: f64, durations: [f64; 3], deaths: [f64; 4]) -> WormParameters {
    let [cocoon_duration, juvenile_duration, subadult_duration] = durations;
    let [cocoon_death, juvenile_death, subadult_death, adult_death] = deaths;
    WormParameters {
        cocoon_rate,
        hatch_share,
        cocoon_duration,
        juvenile_duration,
        subadult_duration,
        cocoon_death,
        juvenile_death,
        subadult_death,
        adult_death,
        ..central()
    }
}

/// "lab": Venter & Reinecke 1988.
fn lab() -> WormParameters {
    set(0.35, 0.73, [23.0, 30.0, 24.0], [0.001, 0.003, 0.002, 0.002])
}

/// "bed_poor".
fn poor() -> WormParameters {
    set(0.116, 0.73, [28.0, 45.0, 36.0], [0.005, 0.020, 0.006, 0.006])
}

/// "bed_high".
fn high() -> WormParameters {
    set(0.42, 0.80, [21.0, 24.0, 20.0], [0.001, 0.002, 0.001, 0.001])
}

/// Recovery vectors of `worms` section 1.8.
const TROMMEL: WormRecovery = WormRecovery { cocoon: 0.05, juvenile: 0.35, subadult: 0.85, adult: 0.95 };
const TWO_DECKS: WormRecovery = WormRecovery { cocoon: 0.80, juvenile: 0.80, subadult: 0.93, adult: 0.97 };
const MIGRATION: WormRecovery = WormRecovery { cocoon: 0.15, juvenile: 0.60, subadult: 0.85, adult: 0.90 };
const BOTTOM_CUT: WormRecovery = WormRecovery { cocoon: 0.60, juvenile: 0.97, subadult: 0.99, adult: 0.99 };

/// A bed without crowding: so large that density has no effect.
fn roomy() -> Surroundings {
    Surroundings::ideal(1e30)
}

/// A bed with its feed pool.
struct Bed {
    worms: Population,
    rates: WormRates,
    here: Surroundings,
    feed: f64,
}

impl Bed {
    fn stocked(adults: f64, parameters: &WormParameters, here: Surroundings) -> Self {
        Self {
            worms: Population::from_adult_count(adults),
            rates: WormRates::new(*parameters),
            here,
            feed: 0.0,
        }
    }

    /// 2000 adults on one square metre at 25 °C, the start of V9, V10 and V12.
    fn square_metre() -> Self {
        Self::stocked(2000.0, &central(), Surroundings::ideal(1.0))
    }

    /// One day with fresh feed on top of what lies there.
    fn day(&mut self, fresh: f64) -> WormDay {
        self.feed += fresh;
        let what = day(&mut self.worms, &self.rates, &self.here, self.feed);
        self.feed -= what.eaten;
        what
    }

    fn biomass(&self) -> f64 {
        self.worms.biomass(&self.rates)
    }
}
