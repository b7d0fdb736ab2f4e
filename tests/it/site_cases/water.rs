//! Water taken, what runs off, the tank for it, and what they cost.

use super::{answer, get, printed};
use loamledger::warning::Warning;

#[test]
fn water_is_what_the_days_of_the_run_show() {
    let a = answer(r#""settled_year": { "most_years": 1 },"#, "food_waste_restaurant");
    let w = &a.site.water;
    let sum = |of: &dyn Fn(&loamledger::trace::DayRecord) -> f64| a.daily.iter().map(of).sum::<f64>();
    // 73 days are a fifth of a year; a drum of 60 L is washed with (60/208.2)^(2/3) of the water of a drum of 208 L
    let per_drum = get("site.wash_water_per_drum") * (0.06_f64 / 0.2082).powf(2.0 / 3.0);
    assert!((4.0..5.0).contains(&per_drum), "{per_drum}");
    printed(w.on_beds, 5.0 * sum(&|d| d.irrigation), 6);
    printed(w.washing, 5.0 * per_drum * a.drums.opened as f64, 6);
    printed(w.rinsing, 5.0 * 0.02 * a.grinder.ground, 6);
    printed(w.taken, w.on_beds + w.washing + w.rinsing, 6);
    printed(w.per_scraps.expect("scraps came"), w.taken / a.site.yearly.accepted, 9);
    // rinse water goes into the paste, so it does not run off
    printed(w.run_off, 5.0 * (sum(&|d| d.drainage) + sum(&|d| d.liquor)) + w.washing, 6);
    assert!(w.washing > 0.0 && w.rinsed_away <= 0.0 && w.goes_to.contains("does not say"));
}

#[test]
fn the_tank_holds_the_worst_days_between_two_emptyings() {
    let with = |site: &str| answer(&format!(r#""site": {{ {site} }},"#), "food_waste_restaurant");
    let weekly = with(r#""drains_to": "tanker", "drainage_tank": "10 L""#);
    let w = &weekly.site.water;
    let daily: Vec<f64> = weekly
        .daily
        .iter()
        .map(|d| d.drainage + d.liquor + w.washing / weekly.site.yearly.opened * d.drums_opened)
        .collect();
    let worst = daily.windows(7).map(|days| days.iter().sum::<f64>()).fold(0.0, f64::max);
    printed(w.tank, worst / 1000.0, 9);
    printed(w.most_run_off, daily.iter().copied().fold(0.0, f64::max), 6);
    assert_eq!((w.tank_of_plan, w.goes_to), (Some(0.01), "collected by tanker"));
    let small = |a: &loamledger::study::answer::RunAnswer| {
        a.warnings.iter().find_map(|w| match w.warning {
            Warning::TankSmall { need_m3, have_m3, days } => Some((need_m3, have_m3, days)),
            _ => None,
        })
    };
    assert_eq!(small(&weekly), Some((w.tank, 0.01, 7)));
    let daily_emptied = with(r#""drainage_tank": "5 m3", "tank_emptied_every": 1"#);
    assert_eq!(small(&daily_emptied), None);
    printed(daily_emptied.site.water.tank, w.most_run_off / 1000.0, 9);
}

#[test]
fn water_and_drainage_have_prices() {
    let priced = answer(
        r#""money": { "currency": "EUR", "water_price": 2.5, "drainage_price": "4 /m3" },"#,
        "food_waste_restaurant",
    );
    let (money, water) = (priced.site.money.expect("prices"), priced.site.water);
    let line = |name: &str| money.running.iter().find(|l| l.name == name).expect("it is booked").amount;
    printed(line("water"), 2.5 * water.taken / 1000.0, 9);
    printed(line("drainage"), 4.0 * water.run_off / 1000.0, 9);
    let unpriced = answer(r#""money": { "currency": "EUR" },"#, "food_waste_restaurant");
    let missing = unpriced.site.money.expect("a currency").not_counted;
    assert!(missing.contains(&"water") && missing.contains(&"drainage"), "{missing:?}");
}

#[test]
fn bulking_in_store_takes_floor() {
    let a = answer("", "food_waste_restaurant");
    let floor = &a.site.floor;
    let most =
        a.daily.windows(28).map(|days| days.iter().map(|d| d.bulking).sum::<f64>()).fold(0.0, f64::max);
    // 28 days if nothing is said; loose cardboard, 2 m high, on 0.4 of its floor
    let density = loamledger::literature::ingredient("cardboard_corrugated").expect("a row");
    let density = density.properties[loamledger::matter::Property::BulkDensity].as_ref().expect("a figure");
    printed(floor.bulking, most / density.value.central(), 9);
    let gross = floor.uses.iter().find(|u| u.name == "bulking").expect("it takes floor").gross;
    printed(gross, floor.bulking / 2.0 / 0.4, 9);
}
