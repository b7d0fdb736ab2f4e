//! Drums, starter and bran through their whole life: conservation, keeping, capacity, gas.

use crate::fermentation_values::{acids, practice, rates};
use loamledger::matter::{Component, Elements, Gas, Material};
use loamledger::process::acidity::{self, Surrounds};
use loamledger::process::fermentation::load::Load;
use loamledger::process::ingredient::Carbohydrates;
use loamledger::unit::drum_store::{DrumStore, DrumStoreSetup, DrumVent, Opened};
use loamledger::unit::starter::{BranMaker, StarterSetup};

/// A kilogram of wet matter from shares of dry matter, buffering capacity (mEq/kg dry matter) and pH.
fn matter(dry: f64, parts: &[(Component, f64)], buffering: f64, ph: f64) -> Material {
    let mut m = Material::of(Component::Water, 1.0 - dry);
    for &(c, share) in parts {
        m[c] += dry * share;
    }
    m[Component::Fibre] += dry - m.dry();
    *m.buffer_mut() = dry * buffering / 2000.0;
    *m.base_mut() = acidity::base_for(&m, &acids(), &Surrounds::acid_store(20.0), ph);
    m
}

/// Mixed food scraps with 2 % bran: pH 5.1 (fisgativa_2016), BC 300 (assumed), household scraps of the library.
fn mixed() -> Material {
    matter(
        0.23,
        &[
            (Component::Sugars, 0.35),
            (Component::Protein, 0.163),
            (Component::Fat, 0.15),
            (Component::Lignin, 0.05),
            (Component::Phosphorus, 0.005),
            (Component::Potassium, 0.009),
            (Component::Salt, 0.02),
            (Component::Minerals, 0.066),
        ],
        300.0,
        5.1,
    )
}

/// Scraps for a drum: a third of their sugars and starch is sugar, the starch is cooked, as of household scraps of the library.
fn load(scraps: Material) -> Load {
    rates().load(scraps, Carbohydrates { free_sugar: 0.343, cooked_starch: 1.0 })
}

fn setup() -> DrumStoreSetup {
    DrumStoreSetup {
        drums: 40,
        volume: 0.208,
        fill_share: 0.85,
        settled_density: 850.0,
        minimum_days: 14,
        maximum_days: 84,
        most_filling_days: 7,
        ready_progress: 0.9,
        vent: DrumVent::Valve { set_pressure: 300.0 },
        drain_liquor: true,
        tap_days: 7,
        scraps_ground_before: false,
        room_volume: 60.0,
        room_air: 60.0,
        leak: 0.0,
    }
}

/// Seals one drum on day 0, keeps it at a temperature for some days and opens it. Also whether it spoiled on day 14.
fn one_drum(setup: DrumStoreSetup, scraps: Material, temperature: f64, days: u32) -> (Opened, usize) {
    let mut store = DrumStore::new(setup, rates(), acids(), temperature);
    assert_eq!(store.receive(0, load(scraps * (setup.drum_mass() / scraps.wet())), 0.02, 0.5).sealed, 1);
    let mut spoiled = 0;
    for day in 1..=days {
        spoiled += store.ferment(day, temperature).spoiled;
    }
    let out = store.open(days, 1.0);
    assert_eq!(out.drums, 1);
    (out, spoiled)
}

#[test]
fn a_mixed_drum_ends_at_the_ph_of_practice_and_keeps() {
    // practice 3.5-4.5, centre 3.7; draws by other code give 3.55 / 3.81 / 4.13
    for (temperature, days) in [(22.0, 28), (25.0, 20), (22.0, 84)] {
        let (out, spoiled) = one_drum(setup(), mixed(), temperature, days);
        assert_eq!(spoiled, 0);
        assert!((3.5..4.2).contains(&out.ph), "{} after {days} d", out.ph);
    }
}

#[test]
fn carbon_dioxide_of_a_mixed_drum_is_in_the_printed_range() {
    // `fermentation` table: 0.5 (0.2 to 2.0) mol CO2 and 0.5 to 9 % of dry matter lost as gas, over 2-12 weeks
    let sealed = DrumStoreSetup { vent: DrumVent::Sealed, drain_liquor: false, ..setup() };
    let start = mixed() * (sealed.drum_mass() / mixed().wet());
    let (out, _) = one_drum(sealed, mixed(), 22.0, 42);
    let per_dry = out.gases[Gas::CarbonDioxide] / Gas::CarbonDioxide.molar_mass() / start.dry();
    assert!((0.2..2.0).contains(&per_dry), "{per_dry}");
    let lost = out.gases.total() / start.dry();
    assert!((0.005..0.09).contains(&lost), "{lost}");
    // ammonia 7 % of nitrogen in a batch of 30 % dry matter, 0.32 more for each point below: 9.2 % at 23 %
    let ammonia = out.paste_in.moles(Component::Ammonia) * 0.014_007;
    let nitrogen = out.paste_in.element(loamledger::matter::Element::Nitrogen);
    assert!((ammonia / nitrogen - 0.0924).abs() < 2e-3, "{}", ammonia / nitrogen);
}

#[test]
fn each_cause_spoils_a_drum_with_its_reason() {
    let base = [(Component::Protein, 0.163), (Component::Fat, 0.15), (Component::Minerals, 0.1)];
    let no_sugar = matter(0.23, &base, 300.0, 5.1);
    let meat = matter(
        0.30,
        &[
            (Component::Protein, 0.40),
            (Component::Fat, 0.40),
            (Component::Sugars, 0.05),
            (Component::Minerals, 0.06),
        ],
        600.0,
        6.0,
    );
    // 60 g eggshell lime per kg dry matter at 20 eq/kg
    let mut limed = mixed();
    limed[Component::Minerals] += 0.06 * limed.dry();
    *limed.calcium_mut() += 20.0 * 0.06 * limed.dry();
    // wet, leafy, little sugar
    let wet = matter(0.10, &[(Component::Protein, 0.25), (Component::Sugars, 0.06)], 450.0, 6.0);
    for (what, scraps, temperature) in [
        ("cold store", mixed(), 9.0),
        ("no sugar", no_sugar, 22.0),
        ("meat", meat, 22.0),
        ("lime", limed, 22.0),
        ("wet", wet, 22.0),
    ] {
        let (out, spoiled) = one_drum(setup(), scraps, temperature, 60);
        assert_eq!((spoiled, out.spoiled), (1, 1), "{what}");
        assert!(out.ph > 4.2, "{what}: pH {}", out.ph);
    }
    // the same scraps keep in a warm store
    assert_eq!(one_drum(setup(), mixed(), 22.0, 60).1, 0);
}

#[test]
fn a_spoiling_drum_turns_acid_into_butyric_acid_hydrogen_and_a_higher_ph() {
    let mut store = DrumStore::new(setup(), rates(), acids(), 22.0);
    // luck 0: spoils at the first check whatever its margin
    store.receive(0, load(mixed() * (setup().drum_mass() / mixed().wet())), 0.02, 0.0);
    let mut ph = [0.0; 2];
    let mut hydrogen = [0.0; 2];
    for day in 1..=60 {
        let out = store.ferment(day, 22.0);
        hydrogen[usize::from(day > 14)] += out.gases[Gas::Hydrogen];
        if day == 14 {
            assert_eq!((out.spoiled, store.drums_spoiled()), (1, 1));
            ph[0] = store.mean_ph().unwrap();
        }
    }
    let out = store.open(60, 1.0);
    ph[1] = out.ph;
    assert!(ph[1] > ph[0] + 0.5, "{ph:?}");
    // spoiled silage stands at pH 5-6 (mcdonald_1991, memory); low end here because well-soured scraps are at hand
    assert!((4.3..6.5).contains(&ph[1]), "{ph:?}");
    assert!(hydrogen[1] > 3.0 * hydrogen[0], "{hydrogen:?}");
    assert!(out.paste_in[Component::Butyric] > out.paste_in[Component::Lactic]);
    let ammonia = out.paste_in.moles(Component::Ammonia) * 0.014_007;
    let share = ammonia / out.paste_in.element(loamledger::matter::Element::Nitrogen);
    assert!((0.15..0.40).contains(&share), "{share}"); // printed range of a poor silage
}

#[test]
fn a_sealed_spoiled_drum_full_of_carbon_dioxide_does_not_turn_alkaline() {
    // rich in protein and hardly acid: ammonia alone would bring it to pH 9, as it does once the lid is off and the gas has left
    let parts = [(Component::Protein, 0.55), (Component::Fat, 0.2), (Component::Sugars, 0.08)];
    let scraps = matter(0.25, &parts, 250.0, 7.2);
    let sealed = DrumStoreSetup { vent: DrumVent::Sealed, drain_liquor: false, maximum_days: 200, ..setup() };
    let mut store = DrumStore::new(sealed, rates(), acids(), 22.0);
    store.receive(0, load(scraps * sealed.drum_mass()), 0.02, 0.0);
    let pressure = (1..=120).map(|day| store.ferment(day, 22.0).gauge_pressure).last().unwrap();
    let out = store.open(120, 1.0);
    assert_eq!(out.spoiled, 1);
    let without = Surrounds { temperature: 22.0, carbon_dioxide: 0.0 };
    let open = acidity::ph(&out.paste_in, &acids(), &without, 8.0);
    assert!((6.0..8.0).contains(&out.ph), "{}", out.ph);
    assert!(open > out.ph + 0.5, "{open} {}", out.ph);
    assert!(pressure > 0.0, "{pressure}");
}

#[test]
fn gas_made_is_that_vented_and_held() {
    let mut store = DrumStore::new(setup(), rates(), acids(), 22.0);
    store.receive(0, load(mixed() * (setup().drum_mass() / mixed().wet())), 0.02, 1.0);
    let vented: f64 = (1..=30).map(|day| store.ferment(day, 22.0).gases.total()).sum();
    let out = store.open(30, 1.0);
    assert!((out.made.total() / (vented + out.gases.total()) - 1.0).abs() < 1e-9);
    let sealed = mixed().dry() * setup().drum_mass() / mixed().wet();
    assert!((out.sealed_dry / sealed - 1.0).abs() < 1e-12);
    // 0.2 to 2.0 mol per kg of dry matter, 0.5 to 9 % of it lost as gas (`fermentation` table)
    let moles = out.made[Gas::CarbonDioxide] / Gas::CarbonDioxide.molar_mass() / out.sealed_dry;
    assert!((0.2..2.0).contains(&moles), "{moles}");
    assert!((0.005..0.09).contains(&(out.made.total() / out.sealed_dry)));
}

#[test]
fn temperature_sets_the_days_to_acid() {
    // by other code with growth of bacteria in time: two weeks are enough only at 20 °C and above; below 12 °C a batch stalls
    let days_to = |temperature: f64| {
        let mut store = DrumStore::new(setup(), rates(), acids(), temperature);
        store.receive(0, load(mixed() * (setup().drum_mass() / mixed().wet())), 0.02, 1.0);
        (1..=60).find(|&day| {
            store.ferment(day, temperature);
            store.mean_ph().unwrap() < 4.0
        })
    };
    // Growth of bacteria solved in time, by other code, gives 9.6-13.6 d at 20 °C and 20-28 d at 15 °C for whole scraps. The
    // closed form with its central rate (0.3/d) and lag (2 d) is 1.5 times faster at every temperature; its lower rates
    // (0.12/d) cover tier B.
    let at_20 = days_to(20.0).unwrap();
    assert!((6..=14).contains(&at_20), "{at_20}");
    assert!(days_to(25.0).unwrap() < at_20);
    let at_15 = days_to(15.0).unwrap();
    assert!((12..=28).contains(&at_15), "{at_15}");
    assert!((1.8..2.5).contains(&(f64::from(at_15) / f64::from(at_20)))); // 20/9.6 = 2.1 in tier B
    assert!(days_to(10.0).is_none_or(|d| d > 30));
}

#[test]
fn a_warm_store_of_ground_scraps_is_faster() {
    let clock = |ground| {
        let mut store = DrumStore::new(
            DrumStoreSetup { scraps_ground_before: ground, ..setup() },
            rates(),
            acids(),
            25.0,
        );
        store.receive(0, load(mixed() * (setup().drum_mass() / mixed().wet())), 0.02, 1.0);
        (1..=30).find(|&day| {
            store.ferment(day, 25.0);
            store.mean_ph().unwrap() < 4.0
        })
    };
    // the same: slurry 1.5 to 2.1 d, whole scraps 6.0 to 8.5 d at 25 °C; a day's step, Gompertz form
    assert!(clock(true).unwrap() <= 3);
    assert!((4..=9).contains(&clock(false).unwrap()));
}

/// Runs a store and checks the balance of every element and charge each day; returns the drums opened.
fn run_and_close(setup: DrumStoreSetup, days: u32) -> usize {
    let mut store = DrumStore::new(setup, rates(), acids(), 20.0);
    let (mut balance, mut base, mut buffer) = (Elements::zeros(), 0.0, 0.0);
    let (mut through, mut opened) = (Elements::zeros(), 0);
    for day in 0..days {
        let season = 18.0 + 7.0 * (f64::from(day) / 58.0).sin();
        let intake =
            if day % 7 < 5 { mixed() * (60.0 + f64::from(day % 11) * 9.0) } else { Material::zero() };
        let luck = f64::from((day * 37) % 100) / 100.0;
        let received = store.receive(day, load(intake), 0.02, luck);
        let fermented = store.ferment(day, season);
        let out = if day % 2 == 0 { store.open(day, 150.0) } else { store.open(day, 0.0) };
        opened += out.drums;
        assert!((received.accepted + received.turned_away - intake).largest() < 1e-12);
        assert!(store.drums_in_use() <= setup.drums);
        through += received.accepted.elements();
        let left = fermented.liquor + out.paste_in;
        balance += received.accepted.elements()
            - left.elements()
            - fermented.gases.elements()
            - out.gases.elements();
        base += received.accepted.base() - left.base();
        buffer += received.accepted.buffer() - left.buffer();
        let held = store.contents();
        let gap = balance - held.elements() - store.held_gases().elements();
        for e in 0..gap.len() {
            assert!(gap[e].abs() <= 1e-12 * through[e].max(1e-9), "day {day} element {e}: {}", gap[e]);
        }
        assert!((base - held.base()).abs() < 1e-9 && (buffer - held.buffer()).abs() < 1e-9);
        assert!(held.smallest() > -1e-12 && left.smallest() > -1e-12, "day {day}");
    }
    opened
}

#[test]
fn every_element_closes_through_the_life_of_the_drums() {
    assert!(run_and_close(setup(), 400) > 100);
    let leaky = DrumStoreSetup { leak: 0.002, vent: DrumVent::Sealed, drain_liquor: false, ..setup() };
    assert!(run_and_close(leaky, 200) > 50);
}

#[test]
fn a_full_store_turns_intake_away() {
    let small = DrumStoreSetup { drums: 2, ..setup() };
    let mut store = DrumStore::new(small, rates(), acids(), 20.0);
    let full = small.drum_mass();
    let first = store.receive(0, load(mixed() * (1.5 * full)), 0.02, 0.5);
    assert_eq!((first.sealed, store.drums_in_use()), (1, 2));
    let second = store.receive(1, load(mixed() * full), 0.02, 0.5);
    assert!((second.accepted.wet() - 0.5 * full).abs() < 1e-9);
    assert!((second.turned_away.wet() - 0.5 * full).abs() < 1e-9);
    assert_eq!((second.sealed, store.drums_in_use(), store.drums_sealed()), (1, 2, 2));
    // nothing may be opened before its time
    for day in 1..14 {
        store.ferment(day, 22.0);
        assert_eq!(store.open(day, 1e6).drums, 0);
    }
    for day in 14..40 {
        store.ferment(day, 22.0);
    }
    let out = store.open(40, 1.0);
    assert_eq!((out.drums, store.drums_sealed()), (1, 1));
    assert!((out.age - 40.0).abs() < 1e-12); // the older of the two
}

#[test]
fn a_part_filled_drum_is_sealed_after_its_longest_filling_time() {
    let mut store = DrumStore::new(setup(), rates(), acids(), 20.0);
    assert_eq!(store.receive(0, load(mixed() * 20.0), 0.02, 0.5).sealed, 0);
    let mut sealed = 0;
    let mut oldest = 0;
    for day in 1..=100 {
        sealed += store.receive(day, Load::default(), 0.0, 0.5).sealed;
        assert_eq!(sealed, usize::from(day >= 7));
        oldest = store.ferment(day, 20.0).oldest;
    }
    // sealed on day 7
    assert_eq!(oldest, 93);
    assert!((store.open(100, 1.0).age - 93.0).abs() < 1e-12);
}

#[test]
fn a_drum_waits_its_longest_filling_time_from_its_own_first_scraps() {
    // both stores stand empty until day 9; one has sealed a whole drum on day 2
    let setup = setup();
    let scraps = load(mixed() * 5.0);
    let full = load(mixed() * setup.drum_mass());
    let nothing = load(Material::zero());
    for used in [false, true] {
        let mut store = DrumStore::new(setup, rates(), acids(), 20.0);
        let sealed = |day: u32| {
            let intake = if day == 2 && used {
                full
            } else if day == 9 {
                scraps
            } else {
                nothing
            };
            store.receive(day, intake, 0.02, 0.5).sealed
        };
        let days: Vec<u32> =
            (0..30).zip((0..30).map(sealed)).filter(|(_, n)| *n > 0).map(|(day, _)| day).collect();
        assert_eq!(days, if used { vec![2, 16] } else { vec![16] });
    }
}

#[test]
fn a_closed_lid_builds_pressure_and_a_valve_does_not() {
    let pressure = |vent| {
        let mut store = DrumStore::new(DrumStoreSetup { vent, ..setup() }, rates(), acids(), 22.0);
        store.receive(0, load(mixed() * (setup().drum_mass() / mixed().wet())), 0.02, 1.0);
        (1..=28).map(|day| store.ferment(day, 22.0).gauge_pressure).fold(0.0, f64::max)
    };
    assert!(pressure(DrumVent::Sealed) > 5.0 * rates().gas.red_pressure);
    let valve = pressure(DrumVent::Valve { set_pressure: 300.0 });
    assert!((valve - 300.0).abs() < 1e-9);
}

#[test]
fn an_unventilated_room_of_drums_becomes_dangerous() {
    let peak = |room_air: f64| {
        let mut store = DrumStore::new(DrumStoreSetup { room_air, ..setup() }, rates(), acids(), 25.0);
        store.receive(0, load(mixed() * (40.0 * setup().drum_mass())), 0.02, 1.0);
        (1..=20).map(|day| store.ferment(day, 25.0).room_carbon_dioxide).fold(0.0, f64::max)
    };
    // The worked example lets all 12,750 L of 40 drums into 60 m3: 212,500 ppm. Here drums keep what their water and headspace hold
    // (two thirds in the first weeks), and still the room passes 40,000 ppm; 60 m3/h holds it under 5,000.
    assert!(peak(0.0) > 1.5 * rates().gas.limit_danger, "{}", peak(0.0));
    assert!(peak(60.0) < rates().gas.limit_average, "{}", peak(60.0));
}

#[test]
fn liquor_of_wet_scraps_follows_the_effluent_equation() {
    let store_setup = DrumStoreSetup { maximum_days: 200, ..setup() };
    let parts = [(Component::Sugars, 0.5), (Component::Protein, 0.16), (Component::Potassium, 0.01)];
    let wet = matter(0.18, &parts, 300.0, 5.1);
    let mut store = DrumStore::new(store_setup, rates(), acids(), 22.0);
    let mass = store_setup.drum_mass();
    store.receive(0, load(wet * mass), 0.02, 1.0);
    let liquor: Material = (1..=84).map(|day| store.ferment(day, 22.0).liquor).sum();
    // one ingredient: 109 L/t at 18 % dry matter, times the scale of 1.2, all of it by day 79
    let expected = 0.109 * 1.2 * mass;
    assert!((liquor.wet() / expected - 1.0).abs() < 0.005, "{} {expected}", liquor.wet());
    let ph = acidity::ph(&liquor, &acids(), &Surrounds::acid_store(22.0), 4.0);
    assert!((3.6..4.5).contains(&ph), "{ph}"); // printed 3.6-4.5
}

#[test]
fn wet_ingredients_drain_although_the_mix_is_dry() {
    // liquor of two weeks, % of the mass. Mean dry matter of the first mix is 26 %, at which grass gives 1 %: bands assumed
    let drained = |parts: &[(f64, f64)]| {
        let one = |dry: f64| matter(dry, &[(Component::Sugars, 0.4), (Component::Protein, 0.15)], 300.0, 5.1);
        let all: Load = parts.iter().map(|&(dry, share)| load(one(dry)) * share).sum();
        let mut store = DrumStore::new(setup(), rates(), acids(), 20.0);
        store.receive(0, all * (setup().drum_mass() / all.wet()), 0.02, 1.0);
        let run: f64 = (1..=14).map(|day| store.ferment(day, 20.0).liquor.wet()).sum();
        100.0 * run / setup().drum_mass()
    };
    // vegetables, cooked food, bread, coffee grounds
    let mixed = drained(&[(0.108, 0.5), (0.35, 0.3), (0.65, 0.1), (0.38, 0.1)]);
    assert!((3.0..15.0).contains(&mixed), "{mixed}");
    let vegetables = drained(&[(0.11, 1.0)]);
    assert!((15.0..45.0).contains(&vegetables), "{vegetables}");
    assert!(drained(&[(0.35, 1.0)]) == 0.0);
}

fn bran_setup() -> StarterSetup {
    // wheat bran and cane molasses of the feedstocks table; mother culture as a sour sugar-free liquid
    let carrier = matter(
        0.90,
        &[
            (Component::Sugars, 0.25),
            (Component::Protein, 0.172),
            (Component::Fat, 0.05),
            (Component::Lignin, 0.039),
            (Component::Minerals, 0.064),
        ],
        200.0,
        6.3,
    );
    let mut molasses = matter(
        0.73,
        &[(Component::Sugars, 0.64), (Component::Potassium, 0.04), (Component::Protein, 0.06)],
        0.0,
        7.0,
    );
    // strong-ion difference of 0.055 mol/L in a starter with 0.07 kg of molasses per litre (derived)
    *molasses.base_mut() = 0.055 / 0.07;
    let mut mother = Material::of(Component::Water, 0.985) + Material::of(Component::Lactic, 0.015);
    *mother.base_mut() = acidity::base_for(&mother, &acids(), &Surrounds::acid_store(20.0), 3.5);
    let classes = |free_sugar| Carbohydrates { free_sugar, cooked_starch: 0.0 };
    StarterSetup {
        carrier: rates().load(carrier, classes(0.28)),
        molasses: rates().load(molasses, classes(1.0)),
        mother_culture: mother,
        molasses_density: 1.4,
        practice: practice(),
        activation_temperature: 32.0,
        least_starter: 5.0,
        safety_weeks: 1.0,
        starting_bran: 25.0,
        weekly_capacity: 40.0,
    }
}

#[test]
fn starter_and_bran_are_ready_in_time_and_conserve_every_element() {
    let setup = bran_setup();
    let mut maker = BranMaker::new(setup, &rates(), &acids());
    assert!((3.3..3.9).contains(&maker.starter_ph()), "{}", maker.starter_ph()); // by hand: 3.2-3.9, centre 3.56
    let bran = maker.bran();
    assert!((bran.wet() - 1.0).abs() < 1e-12 && (bran.matter.moisture() - 0.12).abs() < 1e-9);
    let mut balance = maker.contents().elements();
    let mut through = balance;
    let mut most: f64 = 0.0;
    for day in 0..400 {
        let step = maker.step(day, &[7.0, 7.0]);
        let drawn = maker.draw(1.0);
        assert!(drawn.short.abs() < 1e-12, "short on day {day}");
        assert!(step.beyond_capacity.abs() < 1e-12 && step.starter_failed.abs() < 1e-12);
        through += step.drawn.elements();
        balance += step.drawn.elements()
            - step.gases.elements()
            - step.discarded.elements()
            - drawn.bran.matter.elements();
        let gap = balance - maker.contents().elements();
        for e in 0..gap.len() {
            assert!(gap[e].abs() <= 1e-12 * through[e].max(1e-9), "day {day} element {e}: {}", gap[e]);
        }
        most = most.max(maker.bran_in_stock());
    }
    // order-up-to: never more than the horizon (3 weeks' lead, 1 review, 1 safety) in stock
    assert!(most <= 7.0 * 5.0 + 1e-9, "{most}");
}

#[test]
fn bran_runs_out_when_production_is_too_small() {
    // no stock at the start: the first bran comes after activation and bran fermentation, 21 d
    let mut maker = BranMaker::new(StarterSetup { starting_bran: 0.0, ..bran_setup() }, &rates(), &acids());
    let mut short_days = 0;
    for day in 0..60 {
        maker.step(day, &[7.0]);
        let drawn = maker.draw(1.0);
        if drawn.short > 0.0 {
            short_days += 1;
            assert!(day < 21, "{day}");
        }
    }
    assert_eq!(short_days, 21);
    // a weekly capacity below demand shows before the stock ends
    let small = StarterSetup { weekly_capacity: 3.0, ..bran_setup() };
    let mut maker = BranMaker::new(small, &rates(), &acids());
    let (mut beyond, mut first_short) = (None, None);
    for day in 0..200 {
        if maker.step(day, &[7.0]).beyond_capacity > 0.0 {
            beyond = beyond.or(Some(day));
        }
        if maker.draw(1.0).short > 0.0 {
            first_short = first_short.or(Some(day));
        }
    }
    assert!(beyond.unwrap() < first_short.unwrap());
}

#[test]
fn cold_starter_fails_its_ph_and_yields_no_bran() {
    let cold = StarterSetup { activation_temperature: 8.0, ..bran_setup() };
    let mut maker = BranMaker::new(cold, &rates(), &acids());
    assert!(maker.starter_ph() > 4.0);
    let mut failed = 0.0;
    for day in 0..120 {
        let step = maker.step(day, &[7.0]);
        failed += step.starter_failed;
        assert!(step.bran_ready.abs() < 1e-12);
        maker.draw(1.0);
    }
    assert!(failed > 0.0 && maker.bran_in_stock() < 1e-9);
}
