//! Hours of work and energy.

use super::Yearly;
use crate::literature;
use crate::matter::ratio;
use crate::scenario::Plan;
use schemars::JsonSchema;
use serde::Serialize;

/// Joules of a kilowatt hour. # Units: J/kWh # Source: by definition
const KILOWATT_HOUR: f64 = 3.6e6;

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
    /// Carrying and spreading feed. # Units: h/t
    pub feeding: f64,
    /// Taking castings and spreading them to dry. # Units: h/t
    pub harvest: f64,
    /// Blending, bagging, loading. # Units: h/m3
    pub packing: f64,
    /// Looking after beds and drums. # Units: h/d
    pub round: f64,
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
            harvest: get("site.labour_harvest"),
            packing: get("site.labour_packing"),
            round: get("site.labour_daily_round"),
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

/// Hours of a year of these amounts by task: amount x rate; tasks without hours are left out.
///
/// # Units
/// h/a
///
/// # Source
/// Machine hours of the run; rates assumed (`site.labour_*` of own_site.json).
pub fn tasks(yearly: &Yearly, makes_bran: bool, rates: &LabourRates) -> Vec<Task> {
    let task = |name, hours, basis| Task { name, hours, basis };
    let bran = if makes_bran { yearly.bran / 1000.0 * rates.bran } else { 0.0 };
    let mut tasks = vec![
        task("receiving and sorting", yearly.tonnes() * rates.intake, "site.labour_intake"),
        task("filling and sealing drums", yearly.sealed * rates.filling, "site.labour_drum_filling"),
        task("opening and washing drums", yearly.opened * rates.opening, "site.labour_drum_opening"),
        task("making bran", bran, "site.labour_bran_making"),
        task("grinding", yearly.grinder_hours, "run"),
        task("feeding beds", yearly.fed / 1000.0 * rates.feeding, "site.labour_feeding"),
        task("harvest", yearly.harvested / 1000.0 * rates.harvest, "site.labour_harvest"),
        task("screening", yearly.screen_hours, "run"),
        task("blending, packing, loading", yearly.product() * rates.packing, "site.labour_packing"),
        task("daily rounds", Yearly::DAYS * rates.round, "site.labour_daily_round"),
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
    let tasks = tasks(yearly, !plan.bran.bought, rates);
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

/// Energy of a year. Room heating and cooling, ventilation, the screen's motor, water and transport are not modelled.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema, Default)]
pub struct EnergyFigures {
    /// Electricity of the grinder. # Units: kWh/a
    pub grinder: f64,
    /// Electricity of the grinder per mass ground: motor x load factor / rate; 0 without a grinder. # Units: kWh/t
    pub grinder_per_tonne: f64,
    /// Water dried off castings. # Units: kg/a
    pub dried: f64,
    /// Heat to dry that water off; none where castings dry on a floor, by the weather. # Units: kWh/a
    pub drying: Option<f64>,
    /// Heat of evaporation over energy used, assumed.
    pub drying_efficiency: f64,
}

/// Energy to dry off water, m L/efficiency.
///
/// # Units
/// kg, J/kg, 1 to kWh
///
/// # Source
/// Latent heat: `bed.latent_heat_of_evaporation`; the efficiency is assumed.
pub fn drying_energy(water: f64, latent_heat: f64, efficiency: f64) -> f64 {
    water * latent_heat / efficiency / KILOWATT_HOUR
}

/// Energy figures of a plan and a year of it.
pub fn energy(yearly: &Yearly, plan: &Plan, get: &dyn Fn(&str) -> f64) -> EnergyFigures {
    let efficiency = get("site.drying_efficiency");
    let heat = || drying_energy(yearly.dried, get("bed.latent_heat_of_evaporation"), efficiency);
    EnergyFigures {
        grinder: yearly.grinder_energy,
        grinder_per_tonne: ratio(plan.grinder.motor * plan.grinder.load_factor, plan.grinder.rate / 1000.0),
        dried: yearly.dried,
        drying: plan.screen.dried_within().map(|_| heat()),
        drying_efficiency: efficiency,
    }
}
