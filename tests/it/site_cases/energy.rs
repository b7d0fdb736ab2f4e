//! Electricity, heat, and the greenhouse gas of both; work by vessel and area.

use super::{answer, get, printed, read};
use loamledger::quantity::Uncertain;
use loamledger::scenario;
use loamledger::site_figures::{Yearly, energy, labour};
use loamledger::study::{self, answer::RunAnswer};

/// A drum room of 250 m3 with 100 m3/h of fresh air in a climate that is always 10 °C.
fn heated(more: &str) -> RunAnswer {
    let text = format!(
        r#"{{
  "name": "Heated", "start": "2027-01-04", "days": 14,
  "climate": {{
    "mean_temperature": 10, "seasonal_swing": 0, "day_to_day": 0,
    "drum_room": {{ "heated_to": 20, "share_of_outdoor_swing": 1, "height": 2.5 {more} }}
  }},
  "streams": [ {{ "name": "kitchen", "amount": 20, "mix": {{ "bread": 1 }} }} ],
  "bran": {{ "bought": true }},
  "drums": {{ "count": 20, "volume": "60 L", "room_volume": 250, "room_air": 100 }},
  "site": {{ "power_carbon": "400 g/kWh" }}
}}"#
    );
    study::run(&read("heated.json", &text)).expect("it runs")
}

/// Rates of a table at one end of their ranges.
fn at_an_end(end: fn(&Uncertain) -> f64) -> impl Fn(&str) -> f64 {
    move |key| end(&loamledger::literature::entry(key).expect("it is in the tables").value)
}

#[test]
fn hours_of_buckets_that_volunteers_printed() {
    // juneau_co_op: 75 h for 486 buckets of 2.5 kg in six months, to fetch, swap, log, tip and wash. Rates by vessel reach it; by the
    // tonne alone the same 1.2 t would be a few hours.
    let buckets = Yearly { accepted: 1215.0, sealed: 486.0, opened: 486.0, ..Yearly::default() };
    let hours = |get: &dyn Fn(&str) -> f64| {
        let of_vessels = ["receiving and sorting", "filling and sealing drums", "opening and washing drums"];
        let tasks = labour::tasks(&buckets, false, 0.0, &labour::LabourRates::from_values(get));
        tasks.iter().filter(|t| of_vessels.contains(&t.name)).map(|t| t.hours).sum::<f64>()
    };
    let (least, most) = (hours(&at_an_end(Uncertain::low)), hours(&at_an_end(Uncertain::high)));
    assert!(least < 75.0 && 75.0 < most, "{least} to {most} h");
    let usual = hours(&get);
    assert!((usual / 75.0 - 1.0).abs() < 0.35, "{usual} h");
}

#[test]
fn drying_takes_what_machines_are_printed_to_take() {
    // low_temperature_energy_systems: 154 kg of water in 5.75 h at 18.4 kW, 105.8 kWh; ours is rounded up
    let [fan, heat_pump, heat] = energy::drying_energy(154.0, &get);
    assert!((heat_pump / (5.75 * 18.4) - 1.0).abs() < 0.03, "{heat_pump} kWh");
    // evaporation alone takes 2.45 MJ/kg: electric heat cannot do with less, the other two must
    let evaporation = 154.0 * 2.45 / 3.6;
    assert!(heat > evaporation && heat_pump < 1.1 * evaporation && fan < 0.1 * heat_pump);
}

#[test]
fn a_heated_room_takes_what_its_building_loses() {
    let room = |more: &str| heated(more).site.energy.rooms;
    let rooms = room("");
    assert_eq!(rooms.len(), 1);
    let insulated = &rooms[0];
    // by hand: 250 m3 of 2.5 m are 100 m2, walls of 4.243 x 10 x 2.5 = 106.1 m2; 0.33 x 206.1 + 0.65 x 100 W/K; 0.33 x 100 W/K of air
    printed(insulated.floor_area, 100.0, 6);
    printed(insulated.through_walls, 0.33 * (100.0 + 106.066) + 65.0, 2);
    printed(insulated.by_air, 33.0, 6);
    // 10 K on every day of a year
    printed(insulated.degree_days, 3650.0, 6);
    let loss = insulated.through_walls + insulated.by_air;
    printed(insulated.heat, loss * 3650.0 * 0.024, 3);
    printed(insulated.electricity, insulated.heat, 6);
    printed(insulated.heater, loss * 10.0 / 1000.0, 6);
    let sheet = room(r#", "building": "sheet_metal", "heated_by": "heat_pump""#);
    assert!(sheet[0].heat > 4.0 * insulated.heat);
    printed(sheet[0].electricity, sheet[0].heat / 3.0, 6);
    let gas = room(r#", "heat_transfer": "0.5 W/m2K", "heated_by": "gas", "floor_area": 50"#);
    printed(gas[0].through_walls, 0.5 * (50.0 + 4.242_64 * 50_f64.sqrt() * 2.5) + 32.5, 2);
    printed(gas[0].fuel, gas[0].heat / 0.9, 6);
    assert!(room(r#", "heated_by": "waste_heat""#)[0].electricity <= 0.0);
}

#[test]
fn energy_that_is_priced_is_in_the_greenhouse_statement() {
    // 400 g/kWh as the plan says; gas burnt at 0.2 kg/kWh
    for (more, key) in [(r#", "heated_by": "electricity""#, 0.4), (r#", "heated_by": "gas""#, 0.2)] {
        let site = heated(more).site;
        let room = &site.energy.rooms[0];
        let used = site.greenhouse.energy.iter().find(|one| one.name.ends_with("to heat rooms"));
        let used = used.expect("heating is booked");
        printed(used.gas, key * (room.electricity + room.fuel), 6);
        for s in &site.greenhouse.statements {
            printed(s.energy, site.greenhouse.energy.iter().map(|one| one.gas).sum(), 6);
        }
    }
    let counted = |a: &RunAnswer| a.site.greenhouse.energy.iter().map(|one| one.energy).sum::<f64>();
    for a in [heated(""), answer("", "food_waste_restaurant")] {
        printed(counted(&a), a.site.energy.total(), 6);
        assert!(a.site.greenhouse.not_counted.iter().all(|what| !what.contains("heat")));
    }
}

#[test]
fn what_dries_castings_decides_the_energy() {
    let dried = |screen: &str| {
        let text = format!(r#""screen": {{ {screen} }},"#);
        let plan = super::plan_with_screen(&text);
        study::run(&plan).expect("it runs").site.energy
    };
    let heat = dried(r#""drying_days": 5"#);
    let fan = dried(r#""drying_days": 5, "dried_by": "fan""#);
    let pump = dried(r#""drying_days": 5, "dried_by": "heat_pump""#);
    assert!(heat.dried > 0.0);
    for other in [&fan, &pump] {
        printed(other.dried, heat.dried, 9);
        assert_eq!(other.drying_with.map(f64::to_bits), heat.drying_with.map(f64::to_bits));
    }
    assert_eq!([fan.drying, pump.drying, heat.drying].map(f64::to_bits), heat.drying_with.map(f64::to_bits));
    // spread on a floor, castings dry for nothing; a fan over the floor is counted
    let floor = dried(r#""drying_area": 30"#);
    let stirred = dried(r#""drying_area": 30, "dried_by": "fan""#);
    assert!(floor.dried > 0.0 && floor.drying <= 0.0 && stirred.drying > 0.0);
    printed(stirred.drying, 0.06 * stirred.dried, 9);
}

#[test]
fn a_floor_is_not_dried_with_heat_nor_racks_by_air() {
    for (screen, allowed) in [
        (r#""drying_area": 30, "dried_by": "heat""#, "allowed: air or fan"),
        (r#""drying_days": 5, "dried_by": "air""#, "allowed: fan, heat_pump or heat"),
        (r#""dried_by": "air""#, "allowed: fan, heat_pump or heat"),
    ] {
        let text = super::text_of("", "bread").replace(r#""drying_days": 5"#, screen);
        let fault = scenario::parse("small.json", &text).expect_err(screen).to_string();
        assert!(fault.contains("screen.dried_by") && fault.contains(allowed), "{fault}");
    }
}
