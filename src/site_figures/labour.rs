//! Hours of work.

use super::Yearly;
use crate::literature;
use crate::matter::ratio;
use crate::scenario::Plan;
use schemars::JsonSchema;
use serde::Serialize;

/// Hours by task; no source gives them, all are assumed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabourRates {
    /// Receiving and sorting scraps. # Units: h/t
    pub intake: f64,
    /// Filling, strewing and sealing. # Units: h/drum
    pub filling: f64,
    /// Opening, tipping and washing. # Units: h/drum
    pub opening: f64,
    /// Making bran. # Units: h/t
    pub bran: f64,
    /// Loading and carrying feed. # Units: h/t
    pub feeding: f64,
    /// Spreading feed over a bed, each time. # Units: h/m2
    pub spreading: f64,
    /// Taking castings and spreading them to dry. # Units: h/t
    pub harvest: f64,
    /// Blending, bagging, loading. # Units: h/m3
    pub packing: f64,
    /// Looking after a site, whatever its size. # Units: h/d
    pub round: f64,
    /// Looking after beds. # Units: h/(m2 d)
    pub tending: f64,
}

impl LabourRates {
    /// Reads the rates by key. # Source: `site.labour_*` of own_site.json
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            intake: get("site.labour_intake"),
            filling: get("site.labour_drum_filling"),
            opening: get("site.labour_drum_opening"),
            bran: get("site.labour_bran_making"),
            feeding: get("site.labour_feeding"),
            spreading: get("site.labour_spreading"),
            harvest: get("site.labour_harvest"),
            packing: get("site.labour_packing"),
            round: get("site.labour_daily_round"),
            tending: get("site.labour_tending"),
        }
    }
}

/// Hours of one task.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Task {
    /// What is done, in words.
    pub name: &'static str,
    /// Hours it takes. # Units: h/a
    pub hours: f64,
    /// Key of the assumed rate, or "run" where the hours are those of a machine one person stands by.
    pub basis: &'static str,
}

/// A published figure to compare with. # Units: h/t
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct PublishedLabour {
    /// What kind of site, in words.
    pub name: &'static str,
    /// Literature key of the figure.
    pub key: &'static str,
    /// Least and most hours per tonne.
    pub hours: (f64, f64),
}

/// Work of a year.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LabourFigures {
    /// Tasks that take any time.
    pub tasks: Vec<Task>,
    /// Hours of all tasks. # Units: h/a
    pub hours: f64,
    /// Hours per tonne taken in; none without intake. # Units: h/t
    pub per_tonne: Option<f64>,
    /// Days in the week on which something is ground or fed.
    pub days_a_week: usize,
    /// Hours on each of them: hours x 7 / 365 / days a week, the rounds of the other days moved there. # Units: h/d
    pub on_a_working_day: f64,
    /// Hours the plan has on each; none where it does not say. # Units: h/d
    pub have: Option<f64>,
    /// What others report, to compare with.
    pub published: Vec<PublishedLabour>,
}

/// Hours of a year of these amounts by task, `bed_area` m2 of beds in all: amount x rate; tasks without hours are left out.
///
/// # Units
/// h/a
///
/// # Source
/// Machine hours of the run; rates assumed (`site.labour_*` of own_site.json).
pub fn tasks(yearly: &Yearly, makes_bran: bool, bed_area: f64, rates: &LabourRates) -> Vec<Task> {
    let task = |name, hours, basis| Task { name, hours, basis };
    let bran = if makes_bran { yearly.bran / 1000.0 * rates.bran } else { 0.0 };
    let mut tasks = vec![
        task("receiving and sorting", yearly.tonnes() * rates.intake, "site.labour_intake"),
        task("filling and sealing drums", yearly.sealed * rates.filling, "site.labour_drum_filling"),
        task("opening and washing drums", yearly.opened * rates.opening, "site.labour_drum_opening"),
        task("making bran", bran, "site.labour_bran_making"),
        task("grinding", yearly.grinder_hours, "run"),
        task("carrying feed", yearly.fed / 1000.0 * rates.feeding, "site.labour_feeding"),
        task("spreading feed", yearly.area_fed * rates.spreading, "site.labour_spreading"),
        task("harvest", yearly.harvested / 1000.0 * rates.harvest, "site.labour_harvest"),
        task("screening", yearly.screen_hours, "run"),
        task("blending, packing, loading", yearly.product() * rates.packing, "site.labour_packing"),
        task("daily rounds", Yearly::DAYS * rates.round, "site.labour_daily_round"),
        task("looking after beds", Yearly::DAYS * bed_area * rates.tending, "site.labour_tending"),
    ];
    tasks.retain(|t| t.hours > 0.0);
    tasks
}

/// What others report.
fn published() -> Vec<PublishedLabour> {
    [
        ("small community sites (memory)", "site.labour_small_site"),
        ("mechanised sites (memory)", "site.labour_mechanised_site"),
    ]
    .into_iter()
    .filter_map(|(name, key)| {
        let value = literature::entry(key)?.value;
        Some(PublishedLabour { name, key, hours: (value.low(), value.high()) })
    })
    .collect()
}

/// Labour figures of a plan and a year of it.
pub fn labour(yearly: &Yearly, plan: &Plan, rates: &LabourRates) -> LabourFigures {
    let tasks = tasks(yearly, !plan.bran.bought, plan.bed_area(), rates);
    let hours: f64 = tasks.iter().map(|t| t.hours).sum();
    let days = plan.grinder.weekdays.iter().zip(plan.feeding.weekdays).filter(|(a, b)| **a || *b).count();
    LabourFigures {
        tasks,
        hours,
        per_tonne: (yearly.accepted > 0.0).then(|| hours / yearly.tonnes()),
        days_a_week: days,
        on_a_working_day: ratio(hours, Yearly::DAYS * days as f64 / 7.0),
        have: plan.site.labour_hours,
        published: published(),
    }
}
