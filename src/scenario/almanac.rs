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
        Self::of_days(plan, plan.days)
    }

    /// The days of a plan and those after it, as far as a settled year is sought.
    pub fn of_years(plan: &Plan) -> Self {
        Self::of_days(plan, plan.most_days())
    }

    fn of_days(plan: &Plan, days: u32) -> Self {
        Self {
            amounts: (0..plan.streams.len()).map(|stream| plan.amounts_of(stream, days)).collect(),
            outdoors: (0..days).map(|day| plan.climate.outdoors(plan.date(day))).collect(),
            starting_bran: plan.starting_bran(),
        }
    }

    /// Number of days.
    pub fn days(&self) -> usize {
        self.outdoors.len()
    }
}
