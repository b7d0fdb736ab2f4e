//! Steps of a bed, days of a drum, a drying layer and a store room against the same equations solved to 1e-10.

use super::{close, list, material, number, numbers, rates, stepping};
use loamledger::literature;
use loamledger::matter::{Component, Gas, Gases, Material};
use loamledger::process::acidity::AcidConstants;
use loamledger::process::drying::DryingRates;
use loamledger::process::fermentation::FermentationRates;
use loamledger::process::fermentation::gas::room_after;
use loamledger::process::ingredient::Carbohydrates;
use loamledger::process::worm::Population;
use loamledger::unit::bed::{Bed, BedModel, BedSetup, MoistureBand, Weather};
use loamledger::unit::drum_store::{DrumStore, DrumStoreSetup, DrumVent};
use loamledger::verification::trial;
use serde_json::Value;

/// Figures of a bed after its days: dry matter of the layers, water, ammonia, nitrate, temperature, gases, drainage.
fn figures(layers: &[Material], temperature: f64, gases: &Gases, drained: &Material) -> [f64; 12] {
    let all: Material = layers.iter().copied().sum();
    [
        layers[0].dry(),
        layers[1].dry(),
        layers[2].dry(),
        all.water(),
        all[Component::Ammonia],
        all[Component::Nitrate],
        temperature,
        -gases[Gas::Oxygen],
        gases[Gas::CarbonDioxide],
        gases[Gas::AmmoniaGas],
        gases[Gas::WaterVapour],
        drained.wet(),
    ]
}

const NAMES: [&str; 12] = [
    "fresh",
    "ready",
    "castings",
    "water",
    "ammonia",
    "nitrate",
    "temperature",
    "oxygen",
    "carbon dioxide",
    "ammonia gas",
    "vapour",
    "drainage",
];

fn stepped(reference: &Value, steps: u32) -> [f64; 12] {
    let bed = &reference["bed"];
    let model = BedModel::from_values(&rates(reference)).unwrap();
    let made = BedSetup {
        moisture_band: MoistureBand { low: 0.0, high: 0.8 },
        surface_wetness: Some(number(&bed["wetness"])),
        ..trial::setup(number(&bed["area"]))
    };
    let start = &bed["start"];
    let layers: Vec<Material> = list(&start["layers"]).iter().map(material).collect();
    let volumes = numbers(&start["volumes"]);
    let mut held = Bed::new(made, layers[2], volumes[2], number(&start["temperature"]), Population::empty());
    held.fresh.add(layers[0], volumes[0]);
    held.ready.add(layers[1], volumes[1]);
    let air = Weather { temperature: number(&bed["room"]), humidity: number(&bed["humidity"]) };
    let (mut gases, mut drained) = (Gases::zero(), Material::zero());
    for _ in 0..bed["days"].as_u64().unwrap() {
        let out = held.day(&model, &air, steps);
        gases += out.gases;
        drained += out.drained;
    }
    figures(&[held.fresh.matter, held.ready.matter, held.castings.matter], held.temperature, &gases, &drained)
}

/// Relative errors of each figure at some steps a day.
fn errors(reference: &Value, steps: u32) -> [f64; 12] {
    let end = &reference["bed"]["end"];
    let layers: Vec<Material> = list(&end["layers"]).iter().map(material).collect();
    let mut gases = Gases::zero();
    for gas in Gas::ALL {
        gases[gas] = number(&end["gases"][gas.name()]);
    }
    let exact = figures(&layers, number(&end["temperature"]), &gases, &material(&end["drained"]));
    let found = stepped(reference, steps);
    std::array::from_fn(|i| (found[i] / exact[i] - 1.0).abs())
}

#[test]
fn bed_steps_converge_to_the_solved_equations_with_first_order() {
    let reference = stepping();
    let runs = [1, 2, 4, 8, 16, 32, 64, 256].map(|steps| errors(&reference, steps));
    for (i, name) in NAMES.iter().enumerate() {
        let course = runs.map(|run| run[i]);
        // from 16 to 64 steps a day the error falls fourfold, and at 256 there is next to nothing left: the limit is the solution
        let order = (course[4] / course[6]).ln() / 4.0_f64.ln();
        assert!((0.95..1.05).contains(&order), "{name}: order {order}, {course:?}");
        assert!(course[7] < 7e-4, "{name}: {course:?}");
        // one step a day: castings 0.02 %, carbon dioxide 0.5 %, oxygen 0.8 %, ammonia gas 10 %, drainage 9 %
        assert!(course[0] < 0.14, "{name}: {course:?}");
    }
}

#[test]
fn drum_days_approach_the_solved_equations() {
    let reference = stepping();
    let get = rates(&reference);
    for row in list(&reference["drums"]) {
        let load = material(&row["load"]);
        let setup = DrumStoreSetup {
            drums: 1,
            volume: 0.208,
            fill_share: 0.85,
            settled_density: load.wet() / (0.208 * 0.85),
            minimum_days: 14,
            maximum_days: 365,
            most_filling_days: 7,
            ready_progress: 0.9,
            vent: DrumVent::Sealed,
            drain_liquor: false,
            tap_days: 7,
            scraps_ground_before: false,
            room_volume: 60.0,
            room_air: 60.0,
            leak: 0.0,
        };
        let warmth = number(&row["temperature"]);
        let mut store = DrumStore::new(
            setup,
            FermentationRates::from_values(&get),
            AcidConstants::from_values(&get),
            warmth,
        );
        let classes = Carbohydrates {
            free_sugar: number(&row["free_sugar"]),
            cooked_starch: number(&row["cooked_starch"]),
        };
        let load = FermentationRates::from_values(&get).load(load, classes);
        assert_eq!(store.receive(0, load, number(&row["dose"]), 1.0).sealed, 1);
        let days = u32::try_from(row["days"].as_u64().unwrap()).unwrap();
        for day in 1..=days {
            assert_eq!(store.ferment(day, warmth).spoiled, 0);
        }
        let out = store.open(days, 1.0);
        let exact = material(&row["matter"]);
        // what late bacteria take is worked out from the acid of the morning, of first order in the day; the course itself is exact,
        // and its end but for the little water made, which the dissolved part of calcium does not follow
        for (component, gap) in [
            (Component::Lactic, 2e-3),
            (Component::Acetic, 7e-3),
            (Component::Butyric, 1e-8),
            (Component::Ethanol, 3e-3),
            (Component::Sugars, 1e-8),
            (Component::Ammonia, 1e-11),
            (Component::Water, 1e-8),
        ] {
            close(component.name(), out.paste_in[component], exact[component], gap);
        }
        let gas = |gas: Gas| number(&row["gases"][gas.name()]);
        close("carbon dioxide", out.gases[Gas::CarbonDioxide], gas(Gas::CarbonDioxide), 3e-3);
        close("hydrogen", out.gases[Gas::Hydrogen], gas(Gas::Hydrogen), 1e-8);
        assert!((out.ph - number(&row["ph"])).abs() < 2e-3, "{} {}", out.ph, row["ph"]);
    }
}

#[test]
fn closed_forms_equal_the_solved_equations() {
    let reference = stepping();
    let d = &reference["drying"];
    let of = |key: &str| number(&d[key]);
    let floor = DryingRates::from_values(&|key| literature::central(key).unwrap());
    let left = floor.water_after(of("water"), of("dry"), of("rate"), of("days"));
    close("drying", left, of("left"), 1e-8);
    let r = &reference["room"];
    let of = |key: &str| number(&r[key]);
    let end = room_after(of("outdoors"), of("outdoors"), of("made"), of("air"), of("volume"), of("hours"));
    close("room", end, of("end"), 1e-9);
}
