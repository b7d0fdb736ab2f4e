//! Drums over weeks and 200 days of a bed with worms against a second program that was written from the chapter "The model in
//! equations" alone. A gap here means that the chapter and the code no longer say the same.

use super::{by_the_book, list, material, number, numbers, rates};
use loamledger::matter::{Component, Gas, Gases, Material};
use loamledger::process::acidity::AcidConstants;
use loamledger::process::fermentation::FermentationRates;
use loamledger::process::fermentation::load::Load;
use loamledger::process::ingredient::Carbohydrates;
use loamledger::process::worm::Population;
use loamledger::unit::bed::{Bed, BedModel, BedSetup, MoistureBand, Weather};
use loamledger::unit::drum_store::{DrumStore, DrumStoreSetup, DrumVent};
use serde_json::Value;

/// Largest gap of a figure.
const GAP: f64 = 0.005;
/// Largest gap of a pH.
const PH_GAP: f64 = 0.005;

/// Collects figures that lie apart, so that one run shows all of them.
#[derive(Default)]
struct Compared {
    apart: Vec<String>,
    figures: usize,
}

impl Compared {
    /// Within 0.5 %; figures below `least` count as that large.
    fn figure(&mut self, what: &str, day: u64, found: f64, expected: f64, least: f64) {
        let gap = (found - expected).abs() / expected.abs().max(least);
        self.figures += 1;
        if gap > GAP {
            self.apart.push(format!("day {day} {what}: {found} against {expected}, {:.2} %", 100.0 * gap));
        }
    }

    fn ph(&mut self, what: &str, day: u64, found: f64, expected: f64) {
        self.figures += 1;
        if (found - expected).abs() > PH_GAP {
            self.apart.push(format!("day {day} {what}: pH {found} against {expected}"));
        }
    }

    /// Every component; a trace below `least` kg counts as that much.
    fn matter(&mut self, what: &str, day: u64, found: &Material, expected: &Material, least: f64) {
        for c in Component::ALL {
            self.figure(&format!("{what} {}", c.name()), day, found[c], expected[c], least);
        }
    }

    fn gases(&mut self, day: u64, found: &Gases, expected: &Value, least: f64) {
        for gas in Gas::ALL {
            if let Some(kilograms) = expected[gas.name()].as_f64() {
                self.figure(gas.name(), day, found[gas], kilograms, least);
            }
        }
    }

    #[track_caller]
    fn agree(self, figures: usize) {
        assert!(self.apart.is_empty(), "{} apart:\n{}", self.apart.len(), self.apart.join("\n"));
        assert!(self.figures >= figures, "{} figures", self.figures);
    }
}

fn days(of: &Value) -> u64 {
    of.as_u64().unwrap()
}

/// The store that the script describes, with room for one drum.
fn store(row: &Value, wet: f64, get: &dyn Fn(&str) -> f64) -> DrumStore {
    let plan = &row["plan"];
    let volume = number(&plan["volume"]);
    let setup = DrumStoreSetup {
        drums: 1,
        volume,
        fill_share: 0.8,
        settled_density: wet / (0.8 * volume),
        minimum_days: 14,
        maximum_days: 365,
        most_filling_days: 7,
        ready_progress: 0.9,
        vent: plan["valve"]
            .as_f64()
            .map_or(DrumVent::Sealed, |set_pressure| DrumVent::Valve { set_pressure }),
        drain_liquor: plan["drain"].as_bool().unwrap(),
        tap_days: u32::try_from(days(&plan["tap_days"])).unwrap(),
        scraps_ground_before: plan["slurry"].as_bool().unwrap(),
        room_volume: 60.0,
        room_air: 60.0,
        leak: number(&plan["leak"]),
    };
    let constants = AcidConstants::from_values(get);
    DrumStore::new(setup, FermentationRates::from_values(get), constants, number(&row["start"]))
}

#[test]
fn drums_over_their_weeks_follow_the_written_equations() {
    let reference = by_the_book();
    let get = rates(&reference);
    let fermentation = FermentationRates::from_values(&get);
    for row in list(&reference["drums"]) {
        let load: Load = list(&row["ingredients"])
            .iter()
            .map(|one| {
                let classes = Carbohydrates {
                    free_sugar: number(&one["free_sugar"]),
                    cooked_starch: number(&one["cooked_starch"]),
                };
                fermentation.load(material(&one["matter"]), classes)
            })
            .sum();
        let mut store = store(row, load.wet(), &get);
        let sealed = store.receive(0, load, number(&row["dose"]), number(&row["luck"])).sealed;
        assert_eq!(sealed, 1);
        let (mut gases, mut liquor, mut highest) = (Gases::zero(), Material::zero(), 0.0_f64);
        let mut marks = list(&row["marks"]).iter().peekable();
        let mut compared = Compared::default();
        for (day, warmth) in (0_u32..).zip(numbers(&row["temperatures"])) {
            let out = store.ferment(day, warmth);
            gases += out.gases;
            liquor += out.liquor;
            highest = highest.max(out.gauge_pressure);
            let Some(mark) = marks.next_if(|mark| days(&mark["day"]) == u64::from(day)) else { continue };
            let day = u64::from(day);
            compared.ph("drum", day, store.mean_ph().unwrap(), number(&mark["ph"]));
            compared.matter("drum", day, &store.contents(), &material(&mark["matter"]), 1e-3);
            compared.matter("liquor", day, &liquor, &material(&mark["liquor"]), 1e-4);
            compared.gases(day, &gases, &mark["gases"], 1e-4);
            compared.figure("pressure", day, out.gauge_pressure, number(&mark["gauge"]), 1.0);
            compared.figure("highest pressure", day, highest, number(&mark["highest"]), 1.0);
            assert_eq!(store.drums_spoiled(), usize::from(mark["spoiled"].as_bool().unwrap()), "day {day}");
        }
        assert!(marks.next().is_none());
        compared.agree(200);
    }
}

/// The bed that the script describes, before its first day.
fn start(row: &Value, model: &BedModel) -> Bed {
    let of = |key: &str| number(&row["plan"][key]);
    let setup = BedSetup {
        area: of("area"),
        depth: of("depth"),
        surface_wetness: None,
        heat_transfer: None,
        moisture_band: MoistureBand { low: of("low"), high: of("high") },
        leaching: of("leaching"),
        watered_without_worms: false,
        fresh_share_limit: of("fresh_share_limit"),
        largest_layer: of("largest_layer"),
        hottest: of("hottest"),
        coldest: of("coldest"),
        overfeed_days: of("overfeed_days"),
    };
    let mut worms = Population::from_adults(number(&row["adults"]), &model.worms);
    worms.merge(&Population::at_stable_structure(number(&row["stable"]), &model.worms), &model.worms);
    Bed::new(setup, material(&row["bedding"]), number(&row["volume"]), number(&row["start"]), worms)
}

#[test]
fn two_hundred_days_of_a_bed_follow_the_written_equations() {
    let reference = by_the_book();
    let row = &reference["bed"];
    let model = BedModel::from_values(&rates(&reference)).unwrap();
    let mut bed = start(row, &model);
    let paste = material(&row["paste"]);
    let steps = u32::try_from(days(&row["steps"])).unwrap();
    let (ration, density) = (number(&row["ration"]), number(&row["density"]));
    let (mut gases, mut drained, mut irrigated, mut fed) = (Gases::zero(), Material::zero(), 0.0, 0.0);
    let mut marks = list(&row["marks"]).iter().peekable();
    let mut compared = Compared::default();
    for (day, air) in (1_u64..).zip(list(&row["air"])) {
        let air = numbers(air);
        let (amount, _) = bed.room_for_feed(&model, ration, density);
        bed.feed(paste * amount, amount / density);
        fed += amount;
        let out = bed.day(&model, &Weather { temperature: air[0], humidity: air[1] }, steps);
        gases += out.gases;
        drained += out.drained;
        irrigated += out.irrigated;
        let Some(mark) = marks.next_if(|mark| days(&mark["day"]) == day) else { continue };
        let of = |key: &str| number(&mark[key]);
        let layers = [&bed.fresh, &bed.ready, &bed.castings];
        let expected = list(&mark["layers"]).iter().zip(numbers(&mark["volumes"]));
        for ((name, layer), (matter, volume)) in
            ["fresh", "ready", "castings"].iter().zip(layers).zip(expected)
        {
            compared.matter(name, day, &layer.matter, &material(matter), 1e-3);
            compared.figure(&format!("{name} volume"), day, layer.volume, volume, 1e-6);
        }
        compared.gases(day, &gases, &mark["gases"], 1e-6);
        compared.matter("drained", day, &drained, &material(&mark["drained"]), 1e-4);
        compared.ph("zone", day, out.zone_ph, of("zone_ph"));
        let counts = bed.worms.counts();
        for (what, found) in [
            ("fed", fed),
            ("irrigated", irrigated),
            ("temperature", bed.temperature),
            ("stock", bed.worms.biomass(&model.worms)),
            ("cocoons", counts.cocoons),
            ("juveniles", counts.juveniles),
            ("subadults", counts.subadults),
            ("adults", counts.adults),
            ("condition", bed.worms.condition),
            ("body", bed.worms.body),
            ("size", bed.worms.adult_size),
            ("zone_porosity", out.zone_porosity),
            ("zone_units", out.zone_ammonia_units),
        ] {
            compared.figure(what, day, found, of(what), 1e-6);
        }
    }
    assert!(marks.next().is_none());
    compared.agree(700);
}
