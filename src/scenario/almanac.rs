//! What the calendar of a plan says of each day, which no draw moves.

use super::Plan;

/// Days of a plan, worked out once for all its draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Almanac {
    /// Wet mass by stream and day, contamination and all. # Units: kg
    pub(super) amounts: Vec<Vec<f64>>,
    /// Outdoor temperature of the season by day. # Units: °C
    pub(super) outdoors: Vec<f64>,
}

impl Almanac {
    /// The days of a plan.
    pub fn of(plan: &Plan) -> Self {
        Self {
            amounts: (0..plan.streams.len()).map(|stream| plan.daily_amounts(stream)).collect(),
            outdoors: plan.dates().map(|day| plan.climate.season.outdoors(day)).collect(),
        }
    }
}
