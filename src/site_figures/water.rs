//! Water that a site takes, what runs off it, and the tank that holds what runs off.

use super::Yearly;
use super::floor::{self, FloorRates};
use crate::matter::ratio;
use crate::quantity::constant::WATER_DENSITY;
use crate::scenario::Plan;
use crate::scenario::plan::{DrainsTo, Liquor, Rinse};
use crate::trace::{DayRecord, Trace};
use schemars::JsonSchema;
use serde::Serialize;

/// Water of a year and of the worst days. Water for starter and bran, people and rain is not counted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema, Default)]
pub struct WaterFigures {
    /// Water put on the beds. # Units: kg/a
    pub on_beds: f64,
    /// Water that rinses the grinder. # Units: kg/a
    pub rinsing: f64,
    /// Water that washes drums, by an assumed amount for each. # Units: kg/a
    pub washing: f64,
    /// All of it. # Units: kg/a
    pub taken: f64,
    /// All of it per mass of scraps taken in; none without intake. # Units: kg/kg
    pub per_scraps: Option<f64>,
    /// Most of it on one day. # Units: kg
    pub most_taken: f64,
    /// What drains from the beds. # Units: kg/a
    pub drained: f64,
    /// Liquor of the drums that leaves the site. # Units: kg/a
    pub liquor: f64,
    /// Rinse water that leaves by a drain, what it washes out left out. # Units: kg/a
    pub rinsed_away: f64,
    /// All that runs off: drainage, liquor, rinse and washing water. # Units: kg/a
    pub run_off: f64,
    /// Most of it on one day. # Units: kg
    pub most_run_off: f64,
    /// Days from one emptying of the tank to the next. # Units: d
    pub emptied_every: u32,
    /// Most that runs off in as many days in a row: the tank needed. # Units: m3
    pub tank: f64,
    /// Tank of the plan, if it says. # Units: m3
    pub tank_of_plan: Option<f64>,
    /// Where it goes, in words.
    pub goes_to: &'static str,
}

/// Where what runs off goes, in words.
const fn words(to: DrainsTo) -> &'static str {
    match to {
        DrainsTo::Undecided => "the plan does not say where it goes",
        DrainsTo::Sewer => "to the sewer, with the consent of its operator",
        DrainsTo::Tanker => "collected by tanker",
        DrainsTo::Land => "spread on land, as far as salt, nitrogen and the authority allow",
    }
}

/// What washes and rinses on a day.
struct Cleaning {
    per_drum: f64,
    per_ground: f64,
    rinse_leaves: bool,
    liquor_leaves: bool,
}

impl Cleaning {
    /// Water to wash a drum follows its surface, as its mass does. # Source: `site.wash_water_per_drum`
    fn of(plan: &Plan, get: &dyn Fn(&str) -> f64) -> Self {
        let known = get("site.wash_water_per_drum");
        Self {
            per_drum: known * FloorRates::from_values(get).surface_factor(plan.drums.volume),
            per_ground: plan.grinder.rinse_water,
            rinse_leaves: plan.grinder.rinse_to == Rinse::Drain,
            liquor_leaves: plan.drums.liquor == Liquor::Drained,
        }
    }

    fn washing(&self, day: &DayRecord) -> f64 {
        self.per_drum * day.drums_opened
    }

    fn rinsing(&self, day: &DayRecord) -> f64 {
        self.per_ground * day.ground
    }

    fn rinsed_away(&self, day: &DayRecord) -> f64 {
        if self.rinse_leaves { self.rinsing(day) } else { 0.0 }
    }

    fn liquor(&self, day: &DayRecord) -> f64 {
        if self.liquor_leaves { day.liquor } else { 0.0 }
    }

    fn taken(&self, day: &DayRecord) -> f64 {
        day.irrigation + self.rinsing(day) + self.washing(day)
    }

    fn run_off(&self, day: &DayRecord) -> f64 {
        day.drainage + self.liquor(day) + self.rinsed_away(day) + self.washing(day)
    }
}

/// Water of a plan and a run of it.
///
/// # Source
/// Amounts of the run; washing water assumed (`site.wash_water_per_drum`).
pub fn water(plan: &Plan, trace: &Trace, yearly: &Yearly, get: &dyn Fn(&str) -> f64) -> WaterFigures {
    let cleaning = Cleaning::of(plan, get);
    let daily = &trace.daily;
    let a_year =
        |of: &dyn Fn(&DayRecord) -> f64| daily.iter().map(of).sum::<f64>() * Yearly::DAYS / yearly.run_days;
    let most = |of: &dyn Fn(&DayRecord) -> f64| daily.iter().map(of).fold(0.0, f64::max);
    let taken = a_year(&|d| cleaning.taken(d));
    let emptied_every = plan.site.tank_emptied_every;
    WaterFigures {
        on_beds: a_year(&|d| d.irrigation),
        rinsing: a_year(&|d| cleaning.rinsing(d)),
        washing: a_year(&|d| cleaning.washing(d)),
        taken,
        per_scraps: (yearly.accepted > 0.0).then(|| ratio(taken, yearly.accepted)),
        most_taken: most(&|d| cleaning.taken(d)),
        drained: a_year(&|d| d.drainage),
        liquor: a_year(&|d| cleaning.liquor(d)),
        rinsed_away: a_year(&|d| cleaning.rinsed_away(d)),
        run_off: a_year(&|d| cleaning.run_off(d)),
        most_run_off: most(&|d| cleaning.run_off(d)),
        emptied_every,
        tank: floor::largest_sum(daily, emptied_every as usize, |d| cleaning.run_off(d)) / WATER_DENSITY,
        tank_of_plan: plan.site.drainage_tank,
        goes_to: words(plan.site.drains_to),
    }
}

impl WaterFigures {
    /// All water taken. # Units: m3/a
    pub fn taken_volume(&self) -> f64 {
        self.taken / WATER_DENSITY
    }

    /// All that runs off, taken as water: salt and acid add about 1 % to its density. # Units: m3/a
    pub fn run_off_volume(&self) -> f64 {
        self.run_off / WATER_DENSITY
    }
}
