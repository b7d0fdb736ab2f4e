//! Floor, lifting, landfill, greenhouse gas and money against the printed and worked cases.

mod energy;
mod money;
mod water;

use loamledger::process::landfill::{Collection, LandfillClimate, LandfillDecay};
use loamledger::quantity::{Kind, parse};
use loamledger::scenario::{self, Plan};
use loamledger::site_figures::floor::LoadVerdict;
use loamledger::site_figures::greenhouse::{Fifth, Potentials, Sixth};
use loamledger::site_figures::{Yearly, floor, labour, lifting};
use loamledger::study::answer::RunAnswer;
use loamledger::warning::Warning;
use loamledger::{literature, study};

fn get(key: &str) -> f64 {
    literature::central(key).unwrap_or_else(|| panic!("no {key}"))
}

/// Half a unit in the last of so many decimals.
fn printed(have: f64, printed: f64, decimals: i32) {
    let tolerance = 0.5 * 10_f64.powi(-decimals) + 1e-9;
    assert!((have - printed).abs() <= tolerance, "have {have}, printed {printed}");
}

fn kilograms(text: &str) -> f64 {
    parse(Kind::Mass, text).expect("a mass")
}

fn food() -> LandfillDecay {
    LandfillDecay::from_values(LandfillClimate::TemperateWet, &get)
}

#[test]
fn landfill_decay_follows_its_table() {
    // by hand: 100 t of wet food waste placed once; DOC 0.15, DOCf 0.5, MCF 1, F 0.5, k 0.185, OX 0.1, none collected.
    let d = food();
    for (year, decomposed, generated, emitted, cumulative) in [
        (1, 1.2667, 0.8445, 0.7600, 0.8445),
        (2, 1.0528, 0.7018, 0.6317, 1.5463),
        (3, 0.8750, 0.5833, 0.5250, 2.1296),
        (4, 0.7272, 0.4848, 0.4363, 2.6144),
        (5, 0.6044, 0.4029, 0.3626, 3.0173),
        (10, 0.2397, 0.1598, 0.1438, 4.2138),
    ] {
        printed(d.decomposed_in(100.0, year), decomposed, 4);
        printed(d.generated_in(100.0, year), generated, 4);
        printed(d.emitted_in(100.0, year, 0.0), emitted, 4);
        printed(d.generated_by(100.0, year), cumulative, 4);
    }
    printed(d.decomposable(100.0), 7.5, 4);
    printed(d.generated_for_ever(100.0), 5.0, 4);
    printed(d.half_life(), 3.747, 3);
    printed(d.share_decomposed(10.0), 0.843, 3);
    printed(d.share_decomposed(20.0), 0.975, 3);
}

#[test]
fn a_tonne_in_a_landfill_for_ever() {
    // by hand: 45 kg CH4/t emitted, 1.26 t CO2e (28) or 1.215 (27); with DOCf 0.7, 70 kg made and 1.701 t (27).
    let d = food();
    printed(d.emitted_for_ever(1000.0), 45.0, 6);
    let fifth = Potentials::<Fifth>::published();
    let sixth = Potentials::<Sixth>::published();
    printed(fifth.of(d.emitted_for_ever(1.0), 0.0).kilograms(), 1.26, 6);
    printed(sixth.of(d.emitted_for_ever(1.0), 0.0).kilograms(), 1.215, 6);
    let quick = LandfillDecay { decomposed_share: 0.7, ..d };
    printed(quick.generated_for_ever(1000.0), 70.0, 6);
    printed(sixth.of(quick.emitted_for_ever(1.0), 0.0).kilograms(), 1.701, 6);
}

#[test]
fn food_waste_in_us_landfills_mostly_escapes() {
    // V7, EPA 600-R-23-064 with its App. D: half-life 3.6 years, collection by age; steps by hand. The printed share
    // released stands in study::verification.
    let k = std::f64::consts::LN_2 / get("site.landfill_half_life_food");
    printed(k, 0.1925, 4);
    let d = LandfillDecay { rate: k, oxidation: 0.25, ..food() };
    let span = |from, until, share| Collection { from, until, share };
    let schedule = [
        span(0.0, 5.0, 0.0),
        span(5.0, 10.0, 0.5),
        span(10.0, 15.0, 0.75),
        span(15.0, 21.0, 0.825),
        span(21.0, 35.0, 0.9),
    ];
    printed(d.share_decomposed(5.0), 0.618, 3);
    let free = d.uncollected_share(&schedule);
    printed(free, 0.768, 3);
    printed(free * 0.75, 0.576, 3);
    printed(free * 0.9, 0.691, 3);
}

#[test]
fn warming_potentials_of_two_assessments_cannot_be_mixed() {
    // V8b: 4 g CH4 and 0.24 g N2O per kg wet. A public parameter file, told of in study::verification, prints 179.52 kg/t, which
    // is CH4 of AR6 with N2O of AR4.
    let fifth = Potentials::<Fifth>::published().of(4.0, 0.24).kilograms();
    let sixth = Potentials::<Sixth>::published().of(4.0, 0.24).kilograms();
    printed(fifth, 175.6, 1);
    printed(sixth, 173.5, 1);
    printed(27.0 * 4.0 + 298.0 * 0.24, 179.52, 2);
    // That amounts of two sets cannot be added is shown by the example that must not compile in the module's documentation.
}

#[test]
fn a_plan_cannot_smuggle_in_another_warming_potential() {
    // 298 is nitrous oxide of AR4.
    let with =
        plan(r#""rates": { "site.warming_potential_nitrous_oxide_ar6": 298 },"#, "food_waste_restaurant");
    let without = plan("", "food_waste_restaurant");
    let claims = |plan: &Plan| study::run(plan).unwrap().site.greenhouse.statements;
    assert_eq!(claims(&with), claims(&without));
}

#[test]
fn published_landfill_factors_per_tonne() {
    // epa_hub_2026 Table 9 per short ton; the tables hold them per tonne.
    let ton = kilograms("1 ton") / 1000.0;
    for (id, per_ton) in [
        ("landfill_factor_food_waste", 0.68),
        ("landfill_factor_non_meat", 0.67),
        ("landfill_factor_fruit_and_vegetables", 0.28),
        ("landfill_factor_bread", 1.49),
        ("compost_factor_food", 0.11),
    ] {
        printed(get(&format!("site.{id}")), per_ton / ton, 3);
    }
    printed(get("site.avoided_food_waste"), (0.68 - 0.11) / ton, 3);
    printed(get("site.avoided_fruit_and_vegetables"), (0.28 - 0.11) / ton, 3);
}

/// A small site that works; `extra` stands in front of its streams.
fn plan(extra: &str, scraps: &str) -> Plan {
    read("small.json", &text_of(extra, scraps))
}

/// The same with another `screen`.
fn plan_with_screen(screen: &str) -> Plan {
    read(
        "small.json",
        &text_of("", "bread").replace(r#""screen": { "drying_days": 5 }"#, screen.trim_end_matches(',')),
    )
}

fn text_of(extra: &str, scraps: &str) -> String {
    format!(
        r#"{{
  "name": "Small", "start": "2027-01-04", "days": 73, {extra}
  "streams": [ {{ "name": "kitchen", "amount": 20, "mix": {{ "{scraps}": 1 }} }} ],
  "bran": {{ "bought": true }},
  "drums": {{ "count": 30, "volume": "60 L" }},
  "grinder": {{ "rate": 80 }},
  "bulking": {{ "ingredient": "cardboard_corrugated", "air_filled_porosity": 0.25, "carbon_to_nitrogen": 22 }},
  "beds": [ {{ "name": "bed", "area": 20, "bedding": {{ "ingredient": "leaves_autumn", "depth": 0.1 }} }} ],
  "stock": {{ "mass": 60, "structure": "mixed" }},
  "harvest": {{ "every_days": 20, "first_day": 40 }},
  "screen": {{ "drying_days": 5 }}
}}"#
    )
}

fn read(name: &str, text: &str) -> Plan {
    scenario::parse(name, text).expect("a plan")
}

fn answer(extra: &str, scraps: &str) -> RunAnswer {
    study::run(&plan(extra, scraps)).expect("it runs")
}

#[test]
fn the_claim_follows_what_the_stream_is_made_of() {
    // epa_hub_2026: fruit and vegetables earn a third of what mixed food does.
    let claim = |scraps| {
        let site = answer("", scraps).site;
        let statement = site.greenhouse.statements[0].clone();
        assert_eq!(statement.potentials, "AR6", "the published factors are of the sixth assessment");
        statement.landfill / site.yearly.accepted
    };
    printed(claim("food_waste_restaurant"), 0.75, 6);
    printed(claim("fruit_and_vegetable_market"), 0.309, 6);
    printed(claim("leaves_autumn"), 0.0, 6);
}

#[test]
fn each_statement_weighs_the_gas_of_the_run_by_one_set() {
    let site = answer("", "food_waste_restaurant").site;
    let g = &site.greenhouse;
    assert!(g.methane > 0.0 && g.nitrous_oxide > 0.0, "the run gives off both");
    assert_eq!(g.statements.len(), 3);
    for s in &g.statements {
        let (methane, nitrous_oxide) = if s.potentials == "AR5" { (28.0, 265.0) } else { (27.0, 273.0) };
        printed(s.process, methane * g.methane + nitrous_oxide * g.nitrous_oxide, 6);
        // The default of composting: 4 g CH4 and 0.24 g N2O per kg wet (ipcc_2006).
        let default = site.yearly.accepted * (0.004 * methane + 0.000_24 * nitrous_oxide);
        printed(s.process_default, default, 6);
        // 0.3 kg/kWh where the plan does not say: grinder and electric heat for drying, no room with a set point
        printed(s.energy, 0.3 * (site.energy.grinder + site.energy.drying), 6);
        printed(s.avoided, s.landfill - s.process - s.energy, 6);
        printed(s.avoided_careful, s.landfill - s.process.max(s.process_default) - s.energy, 6);
    }
    printed(g.statements[1].landfill / site.yearly.accepted, 1.215, 6);
    printed(g.statements[2].landfill / site.yearly.accepted, 1.26, 6);
}

#[test]
fn amounts_are_scaled_to_a_year() {
    let a = answer("", "food_waste_restaurant");
    // 73 days are a fifth of a year.
    let accepted: f64 = a.streams.iter().map(|s| s.delivered.wet - s.turned_away).sum();
    printed(a.site.yearly.accepted, 5.0 * accepted, 6);
    printed(a.site.yearly.methane, 5.0 * a.gases.methane, 9);
    printed(a.site.energy.grinder, 5.0 * a.grinder.energy, 6);
    // e = P load/throughput, on what the run ground.
    printed(a.grinder.energy / a.grinder.ground * 1000.0, a.site.energy.grinder_per_tonne, 6);
    // electric heat, as nothing is said but days, on the water dried off before the screen.
    assert!(a.site.yearly.dried > 0.0);
    printed(a.site.energy.drying, a.site.yearly.dried * get("site.drying_energy_heat"), 6);
    assert!(a.site.labour.tasks.iter().all(|t| t.name != "making bran"), "bran is bought");
    assert!(a.site.money.is_none());
}

#[test]
fn made_up_site_of_drums_and_beds() {
    // by hand: 300 kg/d, 14 d, 150 kg a drum: 28 drums, 7 pallets, 10.4 m2 net, 26.0 m2 at 40 %, 705 kg, 4.65 kPa.
    let rates = floor::FloorRates::from_values(&get);
    let drums = 300.0 * 14.0 / 150.0;
    printed(drums, 28.0, 6);
    let needs = floor::Needs {
        drums,
        drum_volume: get("site.drum_volume_55_gallon"),
        drum_contents: 150.0,
        ..floor::Needs::default()
    };
    let f = floor::floor(&needs, &rates);
    printed(f.pallets, 7.0, 6);
    printed(f.uses[0].net, 10.4, 1);
    printed(f.uses[0].gross, 26.0, 1);
    printed(f.pallet_mass, 705.0, 6);
    printed(f.pallet_load, 4.65, 2);
    // Beds at 0.45 / 0.8 / 1.2 / 3.5 kg/m2/d and the whole site at 3.47 times; all printed without decimals.
    for (load, beds, site) in
        [(0.45, 667.0, 2313.0), (0.8, 375.0, 1301.0), (1.2, 250.0, 868.0), (3.5, 86.0, 297.0)]
    {
        let area = floor::area_for(300.0, load);
        printed(area, beds, 0);
        let f = floor::floor(&floor::Needs { bed_area: area, ..floor::Needs::default() }, &rates);
        printed(f.published_site, site, 0);
    }
    // Our own aisles, 0.45 net, ask for 2.2 times the beds: below the published 3.47, which holds the yard as well.
    let f = floor::floor(&floor::Needs { bed_area: 100.0, ..floor::Needs::default() }, &rates);
    assert!(f.total < f.published_site && f.total > 200.0);
    // A full bulk bin, 590 kg on 1.394 m2 (trade_practice): 4.15 kPa.
    printed(floor::load(590.0, 1.394), 4.15, 2);
    printed(get("site.bulk_bin_floor_load") / 1000.0, 4.15, 2);
}

#[test]
fn bed_loads_come_from_their_printed_inputs() {
    // appelhof, biocycle_may_2014, nc_state_news and others, each printed in two figures.
    let square_feet = |feet: f64| parse(Kind::Area, &format!("{feet} ft2")).unwrap();
    let value = |id: &str| literature::entry(&format!("site.bed_load_{id}")).unwrap().value;
    let month = 365.0 / 12.0;
    let ton = kilograms("1 ton");
    let pound = kilograms("1 lb");
    let b = 12.0 * square_feet(4.0 * 45.0);
    let cases = [
        ("site_b", 3.0 * ton / month / b, 6.0 * ton / month / b),
        (
            "site_b_by_bed",
            500.0 * pound / 21.0 / square_feet(180.0),
            600.0 * pound / 14.0 / square_feet(180.0),
        ),
        ("site_b_promised", 100.0 * ton / 365.0 / b, 100.0 * ton / 365.0 / b),
        ("site_c", 300.0 * pound / 7.0 / square_feet(500.0), 900.0 * pound / 7.0 / square_feet(500.0)),
        (
            "bulk_bin",
            800.0 * parse(Kind::Volume, "5 gal").unwrap() / 7.0 / square_feet(15.0),
            800.0 * parse(Kind::Volume, "5 gal").unwrap() / 7.0 / square_feet(15.0),
        ),
        ("windrow", 15.0 * ton / square_feet(55_000.0), 20.0 * ton / square_feet(55_000.0)),
        ("trough", 5.0 * ton / square_feet(960.0), 8.0 * ton / square_feet(960.0)),
    ];
    for (id, low, high) in cases {
        let table = value(id);
        assert!((table.low() / low - 1.0).abs() < 0.011, "{id}: {low} {}", table.low());
        assert!((table.high() / high - 1.0).abs() < 0.011, "{id}: {high} {}", table.high());
    }
}

#[test]
fn school_beds_by_the_home_rule() {
    // V6: 30 lb/day on 5 days, 1 lb a week per ft2; five bins of 4 x 8 ft are 160 ft2; the rule is 0.6975 kg/m2/d.
    let rule = kilograms("1 lb") / 7.0 / parse(Kind::Area, "1 ft2").unwrap();
    printed(rule, 0.6975, 4);
    printed(get("site.bed_load_home_rule"), rule, 1);
    let intake = 5.0 * kilograms("30 lb") / 7.0;
    let built = parse(Kind::Area, "160 ft2").unwrap();
    let home = floor::area_rules(intake, built).into_iter().find(|r| r.key == "site.bed_load_home_rule");
    // 150 of 160 ft2: 6 % under the rule.
    assert_eq!(home.unwrap().verdict, LoadVerdict::Below);
    assert!(floor::area_rules(intake, 0.0).is_empty());
}

#[test]
fn harbour_hall_agrees_with_passive_beds() {
    // 248.5 kg/d on 594 m2, 0.42 kg/m2/d.
    let rules = floor::area_rules(248.5, 594.0);
    let verdict = |key: &str| rules.iter().find(|r| r.key == key).unwrap().verdict;
    assert_eq!(verdict("site.bed_load_passive"), LoadVerdict::Agrees);
    assert_eq!(verdict("site.bed_load_site_b"), LoadVerdict::Below);
    // a range is taken as printed, 0.45 to 0.89; one number is met within 5 %
    let at = |load: f64, key: &str| {
        floor::area_rules(load, 1.0).into_iter().find(|r| r.key == key).unwrap().verdict
    };
    assert_eq!(at(0.438, "site.bed_load_site_b"), LoadVerdict::Below);
    assert_eq!(at(0.451, "site.bed_load_site_b"), LoadVerdict::Agrees);
    assert_eq!(at(0.891, "site.bed_load_site_b"), LoadVerdict::Above);
    assert_eq!(at(0.67, "site.bed_load_home_rule"), LoadVerdict::Agrees);
    // A gap of the prints: two orders of magnitude between the lowest and the highest published load.
    assert_eq!(verdict("site.bed_load_trough"), LoadVerdict::Below);
    let (low, high) = (rules[0].published.0, rules.last().unwrap().published.1);
    assert!(high / low > 100.0);
}

#[test]
fn a_floor_too_small_or_too_weak_is_reported() {
    let codes = |site: &str| -> Vec<&'static str> {
        answer(site, "food_waste_restaurant").warnings.iter().map(|t| t.code).collect()
    };
    let tight = codes(r#""site": { "floor_area": 20, "floor_load": 0.5 },"#);
    assert!(tight.contains(&"floor_short") && tight.contains(&"floor_overloaded"), "{tight:?}");
    let roomy = codes(r#""site": { "floor_area": 2000, "floor_load": 50 },"#);
    let silent = codes("");
    for warnings in [roomy, silent] {
        assert!(
            !warnings.contains(&"floor_short") && !warnings.contains(&"floor_overloaded"),
            "{warnings:?}"
        );
    }
    let told = answer(r#""site": { "floor_area": 20 },"#, "food_waste_restaurant");
    let short = told.warnings.iter().find_map(|t| match t.warning {
        Warning::FloorShort { need_m2, have_m2 } => Some((need_m2, have_m2)),
        _ => None,
    });
    assert_eq!(short, Some((told.site.floor.total, 20.0)));
}

#[test]
fn exceeded_permit_thresholds_are_reported() {
    let passed = |answer: &RunAnswer| -> Vec<(String, f64, f64, &'static str)> {
        let exceeded = |t: &study::answer::Reported| match &t.warning {
            Warning::PermitThreshold { key, value, threshold, .. } => {
                assert!(!t.message.contains("site."), "a page shows words, not keys: {}", t.message);
                Some((key.clone(), *value, *threshold, t.hint))
            }
            _ => None,
        };
        answer.warnings.iter().filter_map(exceeded).collect()
    };
    assert_eq!(passed(&answer("", "food_waste_restaurant")), [], "20 kg a day on 20 m2 is below all of them");
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/harbour_hall.json");
    let text = std::fs::read_to_string(file).expect("a worked site");
    let unnamed = passed(&study::run(&read("hall.json", &text)).expect("it runs"));
    assert_eq!(unnamed, [], "no law is applied that the scenario does not name");
    let named = text.replacen("\"streams\"", r#""rules": ["iowa", "wisconsin", "california"], "streams""#, 1);
    let hall = study::run(&read("hall.json", &named));
    let all = passed(&hall.expect("it runs"));
    // ilsr_iowa: 259 kg/d (its busiest week has more than its mean of 249); wisconsin_nr_502: 38.2 m3 (594 m2 of beds hold
    // more); california_sb_279: 69.7 m2
    for (key, printed) in [
        ("site.threshold_iowa_rate", 259.0),
        ("site.threshold_wisconsin_volume", 38.2),
        ("site.threshold_california_area", 69.7),
    ] {
        let (_, value, threshold, hint) = all.iter().find(|(known, ..)| known == key).expect(key);
        assert!((threshold - printed).abs() < 1e-9 && *value > printed, "{key}: {value} {threshold}");
        assert!(hint.contains("your local authority decides"), "{hint}");
    }
}

#[test]
fn a_pail_and_a_drum_for_one_person() {
    // teaching_example (niosh_94_110): 13.6 kg from 15 cm, reach 40 cm, raised 85 cm, once a minute, fair grip: RWL 9.19 kg, LI 1.48.
    let l = lifting::lifting(186.9 - 20.0, get("site.drum_volume_55_gallon"), &get);
    printed(l.limit, 9.19, 2);
    printed(l.pail_index, 1.48, 2);
    printed(l.drum, 186.9, 6);
    // "a 187 kg drum is 8 load constants"
    printed(l.drum / get("site.niosh_load_constant"), 8.0, 0);
    assert!(l.drum_index > 20.0);
}

#[test]
fn hours_of_a_made_up_year() {
    // By hand from the assumed rates, 100 t a year on 100 m2: 50 + 100 + 100 + 30 + 50 + 60 + 25 h, 50 h to spread over 20,000 m2,
    // 36.5 and 25.55 h of rounds, and 300 + 40 h of machines.
    let year = Yearly {
        accepted: 100_000.0,
        sealed: 1000.0,
        opened: 1000.0,
        bran: 2000.0,
        grinder_hours: 300.0,
        fed: 100_000.0,
        area_fed: 20_000.0,
        harvested: 40_000.0,
        screen_hours: 40.0,
        blend: 50.0,
        ..Yearly::default()
    };
    let rates = labour::LabourRates::from_values(&get);
    let sum = |bran| labour::tasks(&year, bran, 100.0, &rates).iter().map(|t| t.hours).sum::<f64>();
    printed(sum(true), 867.05, 6);
    printed(sum(false), 837.05, 6);
}
