//! Electricity and heat of a year: grinder, drying, rooms that are heated or cooled.

use super::Yearly;
use super::cooling::{self, RoomCooling};
use super::floor::FloorFigures;
use super::heating::{self, RoomHeat};
use crate::matter::ratio;
use crate::scenario::Plan;
use crate::scenario::plan::DriedBy;
use schemars::JsonSchema;
use serde::Serialize;

/// Energy of a year. Ventilating rooms, light, the screen's motor, pumps and transport are not counted.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema, Default)]
pub struct EnergyFigures {
    /// Electricity of the grinder. # Units: kWh/a
    pub grinder: f64,
    /// Electricity of the grinder per mass ground: motor x load factor / rate; 0 without a grinder. # Units: kWh/t
    pub grinder_per_tonne: f64,
    /// Water dried off castings. # Units: kg/a
    pub dried: f64,
    /// What dries it off, in words.
    pub dried_by: &'static str,
    /// Electricity to dry it off; 0 where castings dry by the weather. # Units: kWh/a
    pub drying: f64,
    /// The same with a fan, a heat pump and electric heat, to compare. # Units: kWh/a
    pub drying_with: [f64; 3],
    /// Rooms that are heated.
    pub rooms: Vec<RoomHeat>,
    /// Rooms that are cooled.
    pub cooled: Vec<RoomCooling>,
    /// Electricity of all: grinder, drying, heating, cooling. # Units: kWh/a
    pub electricity: f64,
    /// Fuel burnt. # Units: kWh/a
    pub fuel: f64,
}

impl EnergyFigures {
    /// Electricity to heat rooms. # Units: kWh/a
    pub fn heating(&self) -> f64 {
        self.rooms.iter().map(|room| room.electricity).sum()
    }

    /// Electricity to cool rooms. # Units: kWh/a
    pub fn cooling(&self) -> f64 {
        self.cooled.iter().map(|room| room.electricity).sum()
    }

    /// Electricity and fuel of all. # Units: kWh/a
    pub fn total(&self) -> f64 {
        self.electricity + self.fuel
    }
}

/// Energy to dry off a mass of water with a fan, a heat pump and electric heat.
///
/// # Units
/// kg to kWh
///
/// # Source
/// `site.drying_energy_*` of own_site.json.
pub fn drying_energy(water: f64, get: &dyn Fn(&str) -> f64) -> [f64; 3] {
    ["site.drying_energy_fan", "site.drying_energy_heat_pump", "site.drying_energy_heat"]
        .map(|key| water * get(key))
}

/// Energy figures of a plan and a year of it.
pub fn energy(
    yearly: &Yearly,
    plan: &Plan,
    floor: &FloorFigures,
    get: &dyn Fn(&str) -> f64,
) -> EnergyFigures {
    let drying_with = drying_energy(yearly.dried, get);
    let [fan, heat_pump, heat] = drying_with;
    let (drying, dried_by) = match plan.screen.dried_by() {
        DriedBy::Air => (0.0, "the weather"),
        DriedBy::Fan => (fan, "a fan"),
        DriedBy::HeatPump => (heat_pump, "a heat pump"),
        DriedBy::Heat => (heat, "electric heat"),
    };
    let rooms = heating::heating(plan, floor, get);
    let mut figures = EnergyFigures {
        grinder: yearly.grinder_energy,
        grinder_per_tonne: ratio(plan.grinder.motor * plan.grinder.load_factor, plan.grinder.rate / 1000.0),
        dried: yearly.dried,
        dried_by,
        drying,
        drying_with,
        electricity: 0.0,
        fuel: rooms.iter().map(|room| room.fuel).sum(),
        rooms,
        cooled: cooling::cooling(plan, floor, yearly.bed_oxygen, get),
    };
    figures.electricity = figures.grinder + drying + figures.heating() + figures.cooling();
    figures
}
