//! Heat for rooms with a set point, by what the building loses.

use super::floor::FloorFigures;
use crate::monte_carlo::distribution::share_below;
use crate::quantity::constant::SECONDS_PER_DAY;
use crate::scenario::Plan;
use crate::scenario::plan::{Building, HeatedBy, Room};
use schemars::JsonSchema;
use serde::Serialize;
use std::f64::consts::PI;

/// Joules of a kilowatt hour. # Units: J/kWh # Source: by definition
pub(super) const KILOWATT_HOUR: f64 = 3.6e6;
/// Walls of a room over the square root of its floor and its height: a floor twice as long as wide. # Source: our choice
const WALLS: f64 = 4.242_640_687_119_285;
/// Cold and hot spells that heater and cooler must meet, in standard deviations of the daily mean. # Source: our choice, one day in forty
/// of the coldest or hottest month
pub(super) const SPELL: f64 = 2.0;
/// Days of a year.
pub(super) const DAYS: u32 = 365;

/// Heat of one room in a year of mean weather with its day-to-day spread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct RoomHeat {
    /// Which room, in words.
    pub room: &'static str,
    /// Temperature it is kept at or above. # Units: °C
    pub set_point: f64,
    /// Its floor. # Units: m2
    pub floor_area: f64,
    /// Its volume. # Units: m3
    pub volume: f64,
    /// What walls, roof and floor let through, per kelvin. # Units: W/K
    pub through_walls: f64,
    /// What the exchange of air takes along, per kelvin. # Units: W/K
    pub by_air: f64,
    /// Kelvin below the set point summed over the days on which the unheated room would be colder. # Units: K d/a
    pub degree_days: f64,
    /// Heat given to the room. # Units: kWh/a
    pub heat: f64,
    /// Heater needed in a cold spell. # Units: kW
    pub heater: f64,
    /// Electricity used for it. # Units: kWh/a
    pub electricity: f64,
    /// Fuel burnt for it. # Units: kWh/a
    pub fuel: f64,
    /// What the building is taken as, in words.
    pub building: &'static str,
    /// What heats it, in words.
    pub heated_by: &'static str,
}

/// Heat that a room takes in a year: loss x 24/1000 x degree days.
///
/// # Units
/// W/K, K d to kWh
///
/// # Source
/// Steady heat balance; a room of 100 W/K takes 4800 kWh over 2000 K d.
pub fn heat(loss: f64, degree_days: f64) -> f64 {
    loss * degree_days * SECONDS_PER_DAY / KILOWATT_HOUR
}

/// Mean of what is missing to a temperature over days that vary about a mean by a standard deviation: d Phi(d/s) + s phi(d/s), d the
/// distance of the mean below the set point.
///
/// # Units
/// K, K to K
///
/// # Source
/// Mean of a normal curve cut at 0.
pub fn mean_gap(below: f64, spread: f64) -> f64 {
    if spread <= 0.0 {
        return below.max(0.0);
    }
    let z = below / spread;
    below * share_below(z) + spread * (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Heat transfer of walls and roof by class of building, and its words.
fn class(building: Building) -> (&'static str, &'static str) {
    match building {
        Building::Insulated => ("site.heat_transfer_insulated_panel", "insulated panels"),
        Building::Brick => ("site.heat_transfer_brick", "brick walls and roof alike"),
        Building::SheetMetal => ("site.heat_transfer_sheet_metal", "single sheet metal"),
        Building::DoubleFilm => ("site.heat_transfer_double_film", "double film"),
        Building::SingleFilm => ("site.heat_transfer_single_film", "single film"),
    }
}

/// Electricity and fuel for a unit of heat, in words and numbers.
fn source(by: HeatedBy, get: &dyn Fn(&str) -> f64) -> (f64, f64, &'static str) {
    match by {
        HeatedBy::Electricity => (1.0, 0.0, "electric heaters"),
        HeatedBy::HeatPump => (1.0 / get("site.heat_pump_performance"), 0.0, "a heat pump"),
        HeatedBy::Gas => (0.0, 1.0 / get("site.boiler_efficiency"), "a gas boiler"),
        HeatedBy::WasteHeat => (0.0, 0.0, "waste heat of neighbours"),
    }
}

/// A room as heat sees it.
pub(super) struct Shell<'a> {
    pub(super) name: &'static str,
    pub(super) room: &'a Room,
    floor_area: f64,
    volume: f64,
    /// Fresh air. # Units: m3/h
    air: f64,
}

/// What a room lets through for each kelvin between it and outdoors, W/K.
pub(super) struct Loss {
    through_walls: f64,
    by_air: f64,
    building: &'static str,
}

impl Loss {
    pub(super) fn total(&self) -> f64 {
        self.through_walls + self.by_air
    }
}

impl Shell<'_> {
    pub(super) fn loss(&self, get: &dyn Fn(&str) -> f64) -> Loss {
        let Self { room, floor_area, air, .. } = *self;
        let (key, building) = class(room.building);
        let walls = WALLS * floor_area.sqrt() * room.height;
        let transfer = room.heat_transfer.unwrap_or_else(|| get(key));
        Loss {
            through_walls: transfer * (walls + floor_area) + get("site.heat_transfer_floor") * floor_area,
            by_air: get("site.heat_capacity_of_air") * air,
            building: if room.heat_transfer.is_some() { "heat transfer of the plan" } else { building },
        }
    }
}

/// The rooms of a plan. The drum room has the air and volume of its drums; the bed room holds whatever else the floor is
/// counted for, unless the plan says how large it is.
pub(super) fn shells<'a>(plan: &'a Plan, floor: &FloorFigures, get: &dyn Fn(&str) -> f64) -> [Shell<'a>; 2] {
    let (beds, drums) = (&plan.climate.bed_room, &plan.climate.drum_room);
    let drum_floor: f64 = floor.uses.iter().filter(|u| u.name == super::floor::DRUMS).map(|u| u.gross).sum();
    let bed_floor = beds.floor_area.unwrap_or(floor.total - drum_floor);
    let bed_volume = bed_floor * beds.height;
    [
        Shell {
            name: "bed room",
            room: beds,
            floor_area: bed_floor,
            volume: bed_volume,
            air: bed_volume * get("site.air_changes"),
        },
        Shell {
            name: "drum room",
            room: drums,
            floor_area: drums.floor_area.unwrap_or(plan.drums.room_volume / drums.height),
            volume: plan.drums.room_volume,
            air: plan.drums.room_air(),
        },
    ]
}

/// Heat of the rooms with a set point, in a year from the first day of the plan.
///
/// The room that would be warmer than outdoors without heating, by what the plan says of it, takes less: what warms it for nothing, the
/// beds above all, is in its own temperature.
///
/// # Source
/// Heat transfer by class of building, exchange of air, machines: `site.heat_transfer_*` and others of own_site.json, from memory.
pub fn heating(plan: &Plan, floor: &FloorFigures, get: &dyn Fn(&str) -> f64) -> Vec<RoomHeat> {
    shells(plan, floor, get).iter().filter_map(|shell| of_room(plan, shell, get)).collect()
}

fn of_room(plan: &Plan, shell: &Shell<'_>, get: &dyn Fn(&str) -> f64) -> Option<RoomHeat> {
    let Shell { name, room, floor_area, volume, .. } = *shell;
    let set_point = room.heated_to?;
    let climate = &plan.climate;
    let loss = shell.loss(get);
    let below = |outdoors: f64| set_point - room.unheated(climate.mean_temperature, outdoors);
    let spread = room.share_of_outdoor_swing * climate.day_to_day;
    let days = plan.days_from_first(DAYS);
    let degree_days: f64 = days.map(|day| mean_gap(below(climate.outdoors(day)), spread)).sum();
    let coldest = climate.mean_temperature - climate.seasonal_swing - SPELL * climate.day_to_day;
    let heat = heat(loss.total(), degree_days);
    let (electricity, fuel, heated_by) = source(room.heated_by, get);
    Some(RoomHeat {
        room: name,
        set_point,
        floor_area,
        volume,
        through_walls: loss.through_walls,
        by_air: loss.by_air,
        degree_days,
        heat,
        heater: loss.total() * below(coldest).max(0.0) / 1000.0,
        electricity: electricity * heat,
        fuel: fuel * heat,
        building: loss.building,
        heated_by,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hundred_watts_per_kelvin_over_two_thousand_degree_days() {
        // 100 W/K x 2000 K d x 24 h/d / 1000
        assert!((heat(100.0, 2000.0) - 4800.0).abs() < 1e-9);
    }

    #[test]
    fn days_that_vary_are_below_a_set_point_more_often_than_their_mean() {
        assert!((mean_gap(3.0, 0.0) - 3.0).abs() < 1e-12 && mean_gap(-3.0, 0.0).abs() < 1e-12);
        // a mean at the set point: s / sqrt(2 pi), the mean of half a normal curve
        assert!((mean_gap(0.0, 2.0) - 2.0 * 0.398_942_280_401_432_7).abs() < 1e-9);
        // by hand over equally likely parts of a normal curve
        let parts = 20_000;
        let mean: f64 = (0..parts)
            .map(|n| {
                let z = crate::monte_carlo::distribution::standard_normal(
                    (f64::from(n) + 0.5) / f64::from(parts),
                );
                (1.0 + 1.5 * z).max(0.0)
            })
            .sum::<f64>()
            / f64::from(parts);
        assert!((mean_gap(1.0, 1.5) - mean).abs() < 1e-4, "{mean}");
        // far above and below the set point the spread is nothing
        assert!((mean_gap(20.0, 1.0) - 20.0).abs() < 1e-9 && mean_gap(-20.0, 1.0) < 1e-9);
    }
}
