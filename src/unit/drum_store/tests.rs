//! Drums filled, sealed, judged and opened by hand.

use super::*;
use crate::matter::Component;
use crate::process::ingredient::Carbohydrates;

/// Scraps whose sugars and starch are a third sugar, and cooked.
fn a_third_sugar(matter: Material, rates: &FermentationRates) -> Load {
    rates.load(matter, Carbohydrates { free_sugar: 1.0 / 3.0, cooked_starch: 1.0 })
}

pub(super) fn setup() -> DrumStoreSetup {
    DrumStoreSetup {
        drums: 1,
        volume: 0.208,
        fill_share: 0.85,
        settled_density: 850.0,
        minimum_days: 14,
        maximum_days: 84,
        most_filling_days: 7,
        ready_progress: 0.9,
        vent: DrumVent::Sealed,
        drain_liquor: false,
        tap_days: 7,
        scraps_ground_before: false,
        room_volume: 1.0,
        room_air: 0.0,
        leak: 0.0,
    }
}

#[test]
fn a_full_drum_weighs_its_filled_volume_times_density() {
    // 208 L, 85 % filled at 850 kg/m3 is 150 kg
    assert!((setup().drum_mass() - 150.3).abs() < 0.05);
}

#[test]
fn identical_drums_have_the_mean_ph_of_one() {
    let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
    let (rates, k) = (FermentationRates::from_values(&get), AcidConstants::from_values(&get));
    let mean = |drums: usize| {
        let mut store = DrumStore::new(DrumStoreSetup { drums, ..setup() }, rates, k, 20.0);
        assert_eq!(store.mean_ph(), None);
        let mut scraps = Material::of(Component::Water, 0.8) + Material::of(Component::Sugars, 0.2);
        *scraps.buffer_mut() = 0.03;
        let scraps = a_third_sugar(scraps, &rates);
        let full = setup().drum_mass() * drums as f64;
        assert_eq!(store.receive(0, scraps * full, 0.02, 0.5).sealed, drums);
        for day in 0..5 {
            store.ferment(day, 25.0);
        }
        store.mean_ph().expect("drums are sealed")
    };
    assert!(mean(1) < 6.5 && (mean(3) - mean(1)).abs() < 1e-9, "{} {}", mean(1), mean(3));
}

#[test]
fn drums_that_do_not_sour_are_watched_on_the_days_they_are_judged() {
    let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
    let (rates, k) = (FermentationRates::from_values(&get), AcidConstants::from_values(&get));
    let every = rates.stability.check_age;
    for (sugars, buffer, watched) in [(0.3, 0.01, 0), (0.0, 0.03, 3)] {
        let mut store = DrumStore::new(DrumStoreSetup { drums: 3, ..setup() }, rates, k, 25.0);
        let mut scraps = Material::of(Component::Water, 1.0) + Material::of(Component::Sugars, sugars);
        scraps[Component::Fibre] = 0.3 - sugars;
        *scraps.buffer_mut() = buffer;
        let scraps = a_third_sugar(scraps, &rates);
        // luck of 1: none spoils, whatever its margin
        store.receive(0, scraps * (3.0 * setup().drum_mass() / scraps.wet()), 0.02, 1.0);
        for day in 1..30 {
            let judged = f64::from(day) % every < 1.0;
            let out = store.ferment(day, 25.0);
            assert_eq!((out.watch, out.spoiled), (if judged { watched } else { 0 }, 0), "{sugars} {day}");
        }
    }
}

#[test]
fn drums_are_never_judged_at_a_check_age_of_nothing() {
    let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
    let (mut rates, k) = (FermentationRates::from_values(&get), AcidConstants::from_values(&get));
    // without sugar nothing sours: with a luck of 0 a drum is found spoiled as soon as it is judged
    let mut scraps = Material::of(Component::Water, 1.0) + Material::of(Component::Fibre, 0.3);
    *scraps.buffer_mut() = 0.03;
    for (check_age, found) in [(rates.stability.check_age, 1), (0.0, 0)] {
        rates.stability.check_age = check_age;
        let mut store = DrumStore::new(setup(), rates, k, 25.0);
        let full = a_third_sugar(scraps, &rates) * (setup().drum_mass() / scraps.wet());
        assert_eq!(store.receive(0, full, 0.02, 0.0).sealed, 1);
        let found_on = |day: u32| {
            let out = store.ferment(day, 25.0);
            out.spoiled + out.watch
        };
        assert_eq!((0..30).map(found_on).sum::<usize>(), found, "{check_age}");
    }
}

#[test]
fn one_of_four_ready_drums_is_opened_and_its_gas_goes_to_the_room() {
    let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
    let (rates, k) = (FermentationRates::from_values(&get), AcidConstants::from_values(&get));
    let mut store = DrumStore::new(DrumStoreSetup { drums: 4, ..setup() }, rates, k, 25.0);
    let mut scraps = Material::of(Component::Water, 0.8) + Material::of(Component::Sugars, 0.2);
    *scraps.buffer_mut() = 0.03;
    let scraps = a_third_sugar(scraps, &rates);
    store.receive(0, scraps * (4.0 * setup().drum_mass()), 0.02, 1.0);
    let mut room = 0.0;
    for day in 1..60 {
        // a closed lid keeps all gas, so the air of the room stays as it is outdoors
        room = store.ferment(day, 25.0).room_carbon_dioxide;
        assert!(day >= 14 || store.ready(day) == 0.0, "not before its days: {day}");
    }
    let (all, held) = (store.ready(60), store.held_gases()[Gas::CarbonDioxide]);
    assert!((all - store.contents().wet()).abs() < 1e-9 && all > 500.0, "{all}");
    let opened = store.open(60, 1.0);
    assert_eq!((opened.drums, opened.spoiled, store.drums_sealed()), (1, 0, 3));
    assert!((opened.age - 60.0).abs() < 1e-12);
    assert!((store.ready(60) - 0.75 * all).abs() < 1e-9);
    let moles = opened.gases[Gas::CarbonDioxide] / Gas::CarbonDioxide.molar_mass();
    assert!((opened.gases[Gas::CarbonDioxide] - 0.25 * held).abs() < 1e-12 && moles > 0.0);
    // by hand: 0.02446 m3 a mole at 25 °C, in a room of 1 m3
    // the gas mixes into the cubic metre of the room and as much air leaves
    let mixed = 1.0 - (1.0 - room) * (-moles * 0.024_46).exp();
    assert!((opened.room_carbon_dioxide - mixed).abs() < 1e-4 * moles);
    assert_eq!(store.room_carbon_dioxide().to_bits(), opened.room_carbon_dioxide.to_bits());
}

/// A store at 20 °C, and a kilogram of scraps.
fn store(setup: DrumStoreSetup) -> (DrumStore, Load) {
    let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
    let (rates, k) = (FermentationRates::from_values(&get), AcidConstants::from_values(&get));
    let mut scraps = Material::of(Component::Water, 0.8) + Material::of(Component::Sugars, 0.2);
    *scraps.buffer_mut() = 0.03;
    (DrumStore::new(setup, rates, k, 20.0), a_third_sugar(scraps, &rates))
}

#[test]
fn half_a_millionth_of_a_drum_is_not_a_drum() {
    let full = setup().drum_mass();
    for (drums, sealed) in [(0.999_999_5, 1), (1.000_000_5, 1), (0.999_998, 0), (1.000_002, 1)] {
        let (mut store, scraps) = store(DrumStoreSetup { drums: 3, ..setup() });
        let received = store.receive(0, scraps * (drums * full), 0.02, 0.5);
        assert_eq!(received.sealed, sealed, "{drums}");
        assert!((store.contents().wet() - drums * full).abs() < 1e-9, "{drums}");
        // two millionths short is a drum being filled, two millionths more fill the next one
        assert_eq!(store.drums_in_use(), if drums > 1.000_001 { 2 } else { 1 }, "{drums}");
    }
}

#[test]
fn a_drum_filled_in_two_days_has_the_mean_of_their_doses() {
    // by hand: half a drum at 2 %, left of a drum and a half, and half a drum at 6 % make a drum at 4 %
    let full = setup().drum_mass();
    let reached = |loads: &[(f64, f64)]| {
        let (mut store, scraps) = store(DrumStoreSetup { drums: 3, ..setup() });
        let days = loads.iter().zip(0..);
        days.for_each(|((drums, dose), day)| {
            store.receive(day, scraps * (drums * full), *dose, 0.5);
        });
        for day in 1..4 {
            store.ferment(day, 20.0);
        }
        store.cohorts.back().expect("a drum is sealed").reached
    };
    let (mixed, at_once) = (reached(&[(1.5, 0.02), (0.5, 0.06)]), reached(&[(1.0, 0.04)]));
    assert!((mixed - at_once).abs() < 1e-12, "{mixed} {at_once}");
    assert!((reached(&[(1.0, 0.06)]) - at_once).abs() > 1e-4, "the dose matters");
}

#[test]
fn a_drum_found_half_full_has_the_dose_that_is_stated_of_it() {
    let full = setup().drum_mass();
    let reached = |half: &dyn Fn(&mut DrumStore, Load)| {
        let (mut store, scraps) = store(DrumStoreSetup { drums: 3, ..setup() });
        half(&mut store, scraps * (0.5 * full));
        assert_eq!(store.receive(1, scraps * (0.5 * full), 0.02, 0.5).sealed, 1);
        for day in 2..5 {
            store.ferment(day, 20.0);
        }
        store.cohorts.back().expect("a drum is sealed").reached
    };
    let found = |store: &mut DrumStore, load: Load| {
        let mut state = store.state(0);
        state.set_filling(load, 0.06);
        store.restore(&state, 0);
    };
    let filled = |dose: f64| {
        move |store: &mut DrumStore, load: Load| {
            store.receive(0, load, dose, 0.5);
        }
    };
    let (found, filled_so, filled_less) = (reached(&found), reached(&filled(0.06)), reached(&filled(0.02)));
    assert!((found - filled_so).abs() < 1e-12, "{found} {filled_so}");
    assert!((found - filled_less).abs() > 1e-4, "the dose matters");
}

#[test]
fn the_highest_carbon_dioxide_of_a_day_is_that_of_its_morning_when_air_comes_in() {
    let (mut store, _) = store(DrumStoreSetup { room_air: 1.0, ..setup() });
    store.room_carbon_dioxide = 0.02;
    let outdoors = store.rates.gas.outdoors;
    let day = store.ferment(1, 20.0);
    // by hand: 24 changes of air in a day leave exp(-24) of what was above the air outdoors
    assert!((day.room_carbon_dioxide - 0.02).abs() < 1e-15);
    assert!((store.room_carbon_dioxide() - outdoors).abs() < 1e-9);
    // and in its first shift of 8 changes, on average, (1 - exp(-8)) / 8 of it
    let mean = outdoors + (0.02 - outdoors) * (1.0 - (-8.0_f64).exp()) / 8.0;
    assert!((day.room_carbon_dioxide_shift - mean).abs() < 1e-12);
}

#[test]
fn liquor_runs_on_the_days_of_tapping() {
    let (mut store, scraps) = store(DrumStoreSetup { drain_liquor: true, tap_days: 5, ..setup() });
    store.receive(0, scraps * setup().drum_mass(), 0.02, 1.0);
    for day in 0..30 {
        let tapped = store.ferment(day, 20.0).liquor.wet() > 0.0;
        assert_eq!(tapped, [5, 10, 15, 20, 25].contains(&day), "{day}");
    }
}

#[test]
fn an_unfinished_drum_may_be_opened_at_its_maximum_age() {
    // in frost nothing ferments; with a luck of 1 nothing spoils, with 0 all of two drums do
    for (luck, spoiled, from) in [(1.0, 0, 84), (0.0, 2, 14)] {
        let (mut store, scraps) = store(DrumStoreSetup { drums: 2, ..setup() });
        store.receive(0, scraps * (2.0 * setup().drum_mass()), 0.02, luck);
        for day in 1..90 {
            store.ferment(day, -5.0);
            assert_eq!(store.ready(day) > 0.0, day >= from, "{luck} {day}");
        }
        assert_eq!(store.drums_spoiled(), spoiled);
    }
}
