//! Acid fermentation in a closed drum: end point, pathways, course in time, liquor, gas and keeping.
//!
//! The end point is found once by closure (the first of sugar, undissociated lactic acid and
//! lowest pH), sugar splits over fixed pathways, and the share of the end point reached follows a Gompertz curve on a clock
//! that runs at the speed of the temperature. A batch therefore needs only a clock reading.

pub mod ammonia;
pub mod closed;
pub mod closure;
pub mod course;
pub mod formula;
pub mod gas;
pub mod liquor;
pub mod load;
pub mod pathway;
pub mod stability;

use ammonia::AmmoniaRates;
use closure::EndPointLimits;
use course::{CardinalTemperatures, CourseRates, StarterEffect};
use gas::GasRates;
use liquor::LiquorRates;
use load::FermentableShares;
use pathway::PathwaySplit;
use stability::StabilityRates;

/// Every parameter of drum fermentation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FermentationRates {
    /// Split of fermented sugar at the reference dose of starter.
    pub split: PathwaySplit,
    /// Limits of the bacteria.
    pub limits: EndPointLimits,
    /// Rate and lag.
    pub course: CourseRates,
    /// Temperature curve.
    pub cardinal: CardinalTemperatures,
    /// Effects of the starter.
    pub starter: StarterEffect,
    /// What ferments within weeks, by class of carbohydrate.
    pub fermentable: FermentableShares,
    /// Slow release of the cooked starch that is left, 1/d at 25 °C.
    pub hydrolysis_rate: f64,
    /// Late conversion of lactic acid, P9, 1/d at 25 °C.
    pub late_rate: f64,
    /// Ammonia of a good batch.
    pub ammonia: AmmoniaRates,
    /// Liquor.
    pub liquor: LiquorRates,
    /// Gas.
    pub gas: GasRates,
    /// Keeping.
    pub stability: StabilityRates,
}

impl FermentationRates {
    /// Reads every parameter by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            split: PathwaySplit::from_values(get),
            limits: EndPointLimits::from_values(get),
            course: CourseRates::from_values(get),
            cardinal: CardinalTemperatures::from_values(get),
            starter: StarterEffect::from_values(get),
            fermentable: FermentableShares::from_values(get),
            hydrolysis_rate: get("fermentation.slow_starch_hydrolysis_rate"),
            late_rate: get("fermentation.late_lactic_to_acetic_rate"),
            ammonia: AmmoniaRates::from_values(get),
            liquor: LiquorRates::from_values(get),
            gas: GasRates::from_values(get),
            stability: StabilityRates::from_values(get),
        }
    }
}

/// Trade practice of making starter and bran.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StarterPractice {
    /// Mother culture, L per L of starter.
    pub mother_culture: f64,
    /// Molasses, L per L of starter.
    pub molasses: f64,
    /// Water, L per L of starter.
    pub water: f64,
    /// Days to activate starter.
    pub activation_days: f64,
    /// Days for which activated starter keeps.
    pub starter_keeps: f64,
    /// Highest pH of good starter; above it, it has failed.
    pub highest_ph: f64,
    /// Starter per carrier, L/kg.
    pub starter_per_carrier: f64,
    /// Molasses per carrier, kg/kg.
    pub molasses_per_carrier: f64,
    /// Days of bran fermentation.
    pub bran_days: f64,
    /// Days for which dry bran keeps.
    pub bran_keeps: f64,
    /// Water share of dried bran, kg/kg.
    pub bran_moisture: f64,
}

impl StarterPractice {
    /// Reads the practice by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        const DAYS_PER_MONTH: f64 = 365.25 / 12.0;
        let share = |key| 0.01 * get(key);
        Self {
            mother_culture: share("fermentation.activation_mother_culture_share"),
            molasses: share("fermentation.activation_molasses_share"),
            water: share("fermentation.activation_water_share"),
            activation_days: get("fermentation.activation_time"),
            starter_keeps: get("fermentation.starter_shelf_life"),
            highest_ph: get("fermentation.starter_highest_ph"),
            starter_per_carrier: get("fermentation.activated_liquid_per_bran"),
            molasses_per_carrier: get("fermentation.molasses_per_bran"),
            bran_days: get("fermentation.starter_ferment_time"),
            bran_keeps: DAYS_PER_MONTH * get("fermentation.bran_shelf_life"),
            bran_moisture: 1.0 - get("fermentation.bran_dry_matter"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bran_keeps_for_a_year() {
        // the table gives 12 months
        let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
        assert!((StarterPractice::from_values(&get).bran_keeps - 365.25).abs() < 1e-9);
    }
}
