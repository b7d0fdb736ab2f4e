//! What one person may lift, beside a pail and a drum.

use super::floor;
use crate::process::quality::safety::{Lift, Lifting};
use schemars::JsonSchema;
use serde::Serialize;

/// The lift of a pail from the floor, and what the same lift would mean for a drum. # Source: revised NIOSH equation
/// (`process::quality::safety`)
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct LiftingFigures {
    /// Recommended weight limit of the lift, once a minute for an hour. # Units: kg
    pub limit: f64,
    /// Mass of a full pail. # Units: kg
    pub pail: f64,
    /// Lifting index of the pail, mass / limit; above 1 is more than most people may lift.
    pub pail_index: f64,
    /// Mass of a full drum, its own included; 0 without drums. # Units: kg
    pub drum: f64,
    /// Lifting index of the drum, likewise.
    pub drum_index: f64,
}

/// Lifting figures of a drum's contents and volume. # Units: kg, m3
pub fn lifting(contents: f64, volume: f64, get: &dyn Fn(&str) -> f64) -> LiftingFigures {
    let equation = Lifting::from_values(get);
    let lift = Lift {
        reach: get("site.lift_reach"),
        height: get("site.lift_height"),
        raised: get("site.lift_raised"),
        twist: 0.0,
        frequency: get("site.niosh_frequency_1_per_min"),
        grip: get("site.niosh_coupling_fair"),
    };
    let pail = get("site.pail_mass");
    let drum =
        if contents > 0.0 { contents + floor::FloorRates::from_values(get).drum_tare(volume) } else { 0.0 };
    LiftingFigures {
        limit: equation.recommended_weight(&lift),
        pail,
        pail_index: equation.index(&lift, pail),
        drum,
        drum_index: equation.index(&lift, drum),
    }
}
