//! Days of a plan, the same in every draw.

use super::Plan;

/// Days of a plan, worked out once for all its draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Almanac {
    /// Wet mass by stream and day, contamination included, kg.
    pub(super) amounts: Vec<Vec<f64>>,
    /// Outdoor temperature of the season by day, °C.
    pub(super) outdoors: Vec<f64>,
    /// Bran in store on the first day, kg.
    pub(super) starting_bran: f64,
}

impl Almanac {
    /// The days of a plan.
    pub fn of(plan: &Plan) -> Self {
        Self {
            amounts: (0..plan.streams.len()).map(|stream| plan.daily_amounts(stream)).collect(),
            outdoors: plan.dates().map(|day| plan.climate.outdoors(day)).collect(),
            starting_bran: plan.starting_bran(),
        }
    }
}
