//! Electricity for rooms that are cooled, by what comes through the building and what beds give off.

use super::floor::FloorFigures;
use super::heating::{DAYS, KILOWATT_HOUR, SPELL, Shell, heat, mean_gap, shells};
use crate::monte_carlo::distribution::share_below;
use crate::scenario::Plan;
use schemars::JsonSchema;
use serde::Serialize;

/// Cooling of one room in a year of mean weather with its day-to-day spread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct RoomCooling {
    /// Which room, in words.
    pub room: &'static str,
    /// Temperature it is kept at or below. # Units: °C
    pub set_point: f64,
    /// Days on which it would be warmer without cooling. # Units: d/a
    pub days: f64,
    /// Heat taken out of it, that of beds included. # Units: kWh/a
    pub heat: f64,
    /// Of this, heat that beds give off on these days. # Units: kWh/a
    pub of_beds: f64,
    /// Cooler needed in a hot spell. # Units: kW
    pub cooler: f64,
    /// Electricity used for it. # Units: kWh/a
    pub electricity: f64,
}

/// Cooling of the rooms with a highest temperature, in a year from the first day of the plan.
///
/// Heat comes through walls, roof and floor and with the air on days on which the room would be warmer than its highest temperature, and on
/// these days all that decay in the beds gives off must go too. Sun on the roof is not counted. Where `warmer_than_outdoors` holds the
/// heat of beds as well, it is counted twice, on the safe side.
///
/// `bed_oxygen` is the oxygen that beds use, kg/a.
///
/// # Source
/// Steady heat balance; heat of decay: `bed.oxidation_heat`; heat taken out per electricity: `site.cooler_performance`, from memory.
pub fn cooling(
    plan: &Plan,
    floor: &FloorFigures,
    bed_oxygen: f64,
    get: &dyn Fn(&str) -> f64,
) -> Vec<RoomCooling> {
    let of_beds = [bed_oxygen * get("bed.oxidation_heat") / KILOWATT_HOUR, 0.0];
    let rooms = shells(plan, floor, get);
    rooms.iter().zip(of_beds).filter_map(|(shell, beds)| of_room(plan, shell, beds, get)).collect()
}

/// `beds` is the heat of the beds in the room, kWh/a.
fn of_room(plan: &Plan, shell: &Shell<'_>, beds: f64, get: &dyn Fn(&str) -> f64) -> Option<RoomCooling> {
    let (climate, room) = (&plan.climate, shell.room);
    let set_point = room.cooled_to?;
    let above = |outdoors: f64| room.unheated(climate.mean_temperature, outdoors) - set_point;
    let spread = room.share_of_outdoor_swing * climate.day_to_day;
    let gaps = || plan.days_from_first(DAYS).map(|day| above(climate.outdoors(day)));
    let days: f64 = gaps().map(|gap| share_above(gap, spread)).sum();
    let degree_days: f64 = gaps().map(|gap| mean_gap(gap, spread)).sum();
    let hottest = above(climate.mean_temperature + climate.seasonal_swing + SPELL * climate.day_to_day);
    let loss = shell.loss(get).total();
    let of_beds = beds * days / f64::from(DAYS);
    let heat = heat(loss, degree_days) + of_beds;
    let beds_watts = beds * 1000.0 / (24.0 * f64::from(DAYS));
    Some(RoomCooling {
        room: shell.name,
        set_point,
        days,
        heat,
        of_beds,
        cooler: if hottest > 0.0 { (loss * hottest + beds_watts) / 1000.0 } else { 0.0 },
        electricity: heat / get("site.cooler_performance"),
    })
}

/// Share of days that lie above a limit, of days that vary by a standard deviation about a mean that lies `gap` above it.
fn share_above(gap: f64, spread: f64) -> f64 {
    if spread > 0.0 { share_below(gap / spread) } else { f64::from(u8::from(gap > 0.0)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::literature::central;
    use crate::scenario::parse;
    use crate::site_figures::planned_floor;

    #[test]
    fn a_room_without_walls_to_speak_of_is_cooled_of_the_heat_of_its_beds() {
        let text = r#"{ "name": "n", "start": "2027-01-04", "days": 1, "streams": [], "drums": { "count": 0 },
            "beds": [{ "name": "b", "count": 1, "area": "10 m2" }],
            "climate": { "mean_temperature": 30, "seasonal_swing": 0, "day_to_day": 0,
                "bed_room": { "cooled_to": 25, "heat_transfer": 0.05, "floor_area": "1 m2" } } }"#;
        let plan = parse("n", text).unwrap_or_else(|e| panic!("{}", e.render(false)));
        let (site, _) = crate::scenario::assemble(&plan).unwrap_or_else(|e| panic!("{e}"));
        let get = |key: &str| central(key).unwrap_or_else(|| panic!("no value for {key}"));
        let of = |oxygen: f64| {
            let all = cooling(&plan, &planned_floor(&plan, &site), oxygen, &get);
            assert_eq!(all.len(), 1);
            all[0]
        };
        // 257 kg of oxygen at 14 MJ/kg are 1000 kWh
        let oxygen = 1000.0 * 3.6e6 / get("bed.oxidation_heat");
        let (without, with) = (of(0.0), of(oxygen));
        assert!((with.days - 365.0).abs() < 1e-9 && (with.of_beds - 1000.0).abs() < 1e-9);
        assert!((with.heat - without.heat - 1000.0).abs() < 1e-9);
        assert!((with.electricity * get("site.cooler_performance") - with.heat).abs() < 1e-9);
        // 1000 kWh in a year are 114 W
        assert!((with.cooler - without.cooler - 1000.0 / 8760.0).abs() < 1e-9);
        // 5 K above for a year
        assert!((without.heat - without.cooler * 8760.0).abs() < 1e-9 * without.heat);
    }
}
