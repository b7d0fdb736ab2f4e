//! Mirror of the object `sizing` of the scenario file.

use super::given::Given;
use schemars::JsonSchema;
use serde::Deserialize;

/// What is asked when the site is sized: what may change, what must be met, what is cheap.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sizing {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Number of drums. Left out: sought.
    pub drums: Option<Extent>,
    /// Area of all beds. Left out: sought.
    pub bed_area: Option<Extent>,
    /// Live worms bought first. Left out: sought.
    pub stock: Option<Extent>,
    /// Grinding hours on a working day. Left out: as the plan has it.
    pub grinder_hours: Option<Extent>,
    /// Most bran made in a week. Left out: as the plan has it.
    pub bran_weekly_capacity: Option<Extent>,
    /// What the site must meet, each with its chance. Left out: with a chance of 0.9 each, at most 2 % of the intake is turned
    /// away, no bed is above 33 degrees Celsius, at most 15 % of a year's intake waits at the end, and half of the worms put in are
    /// there at the end.
    pub targets: Option<Vec<Target>>,
    /// Confidence with which the draws of the search must show each chance.
    pub confidence: Option<Given>,
    /// What makes a site dear. Left out: the prices of `money`, or assumed weights.
    pub cost: Option<Cost>,
}

/// Whether a size is sought, and between which bounds.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Extent {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// False holds it at the plan's value. Left out: sought.
    pub free: Option<bool>,
    /// Least value tried. Left out: well below what a reckoning by hand gives.
    pub low: Option<Given>,
    /// Largest value tried. Left out: well above what a reckoning by hand gives.
    pub high: Option<Given>,
    /// Step between the values tried. Left out: one drum, about a hundredth of the range of the others.
    pub step: Option<Given>,
}

/// A statement that must hold in a share of all draws.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Target {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Figure of a draw, such as turned_away_share.
    pub figure: String,
    /// The figure is at most this, in its own unit. Give this, `at_least` or both.
    pub at_most: Option<Given>,
    /// The figure is at least this, in its own unit. Give this, `at_most` or both.
    pub at_least: Option<Given>,
    /// Share of draws in which it must hold.
    pub chance: Option<Given>,
}

/// What makes a site dear, in any one currency or weight; a key left out takes the price of `money`, or an assumed weight.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cost {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Cost of one drum.
    pub drum: Option<Given>,
    /// Cost of beds, by area.
    pub bed: Option<Given>,
    /// Cost of worms bought, by live mass.
    pub worms: Option<Given>,
    /// Cost of one hour of grinding on every working day.
    pub grinder_hour: Option<Given>,
    /// Cost of one kilogram of bran made a week.
    pub bran: Option<Given>,
}
