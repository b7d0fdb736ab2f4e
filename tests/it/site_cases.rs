//! Floor, lifting, landfill, greenhouse gas and money against the printed and worked cases of facts `site`.

use loamledger::literature;
use loamledger::process::landfill::Climate;
use loamledger::process::landfill::Collection;
use loamledger::process::landfill::Decay;
use loamledger::quantity::Kind;
use loamledger::quantity::convert;
use loamledger::quantity::parse;
use loamledger::scenario;
use loamledger::scenario::Known;
use loamledger::scenario::Plan;
use loamledger::scenario::plan::Money;
use loamledger::study;
use loamledger::study::answer::RunAnswer;
use loamledger::study::site_figures::Yearly;
use loamledger::study::site_figures::finance;
use loamledger::study::site_figures::floor;
use loamledger::study::site_figures::greenhouse::Fifth;
use loamledger::study::site_figures::greenhouse::Potentials;
use loamledger::study::site_figures::greenhouse::Sixth;
use loamledger::study::site_figures::labour;
use loamledger::study::site_figures::lifting;
use loamledger::study::site_figures::money;
use loamledger::study::site_figures::money::Equipment;
use loamledger::study::site_figures::money::Line;
use loamledger::warning::Warning;

fn get(key: &str) -> f64 {
    literature::central(key).unwrap_or_else(|| panic!("no {key}"))
}

/// Half a unit in the last of so many decimals.
fn printed(have: f64, printed: f64, decimals: i32) {
    let tolerance = 0.5 * 10_f64.powi(-decimals) + 1e-9;
    assert!((have - printed).abs() <= tolerance, "have {have}, printed {printed}");
}

fn kilograms(text: &str) -> f64 {
    parse(Kind::Mass, text).unwrap()
}

fn food() -> Decay {
    Decay::from_values(Climate::TemperateWet, &get)
}

#[test]
fn landfill_decay_follows_its_table() {
    // site.md 3.1: 100 t of wet food waste placed once; DOC 0.15, DOCf 0.5, MCF 1, F 0.5, k 0.185, OX 0.1, none collected.
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
    // site.md 3.1: 45 kg CH4/t emitted, 1.26 t CO2e (28) or 1.215 (27); with DOCf 0.7, 70 kg made and 1.701 t (27).
    let d = food();
    printed(d.emitted_for_ever(1000.0), 45.0, 6);
    let fifth = Potentials::<Fifth>::published();
    let sixth = Potentials::<Sixth>::published();
    printed(fifth.of(d.emitted_for_ever(1.0), 0.0).kilograms(), 1.26, 6);
    printed(sixth.of(d.emitted_for_ever(1.0), 0.0).kilograms(), 1.215, 6);
    let quick = Decay { decomposed_share: 0.7, ..d };
    printed(quick.generated_for_ever(1000.0), 70.0, 6);
    printed(sixth.of(quick.emitted_for_ever(1.0), 0.0).kilograms(), 1.701, 6);
}

#[test]
fn food_waste_in_us_landfills_mostly_escapes() {
    // V7, EPA 600-R-23-064 with its App. D: half-life 3.6 years, collection by age, oxidation 25 %; printed: 61 % released.
    let k = std::f64::consts::LN_2 / get("site.landfill_half_life_food");
    printed(k, 0.1925, 4);
    let d = Decay { rate: k, oxidation: 0.25, ..food() };
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
    // The report sums many landfills and years of placing, this is one deposit: 3.4 points short of its 61 %, within the 8
    // points the case allows.
    let released = free * (1.0 - d.oxidation);
    assert!((released - 0.61).abs() < 0.04, "{released}");
}

#[test]
fn factors_of_composting_on_dry_and_wet_mass_agree() {
    // V8, 2006 Guidelines Vol. 5 Table 4.1: wet = dry x (1 - 0.60).
    let entry = |id: &str| literature::entry(&format!("site.{id}")).unwrap().value;
    let (dry, wet) = (entry("compost_methane_dry"), entry("compost_methane_wet"));
    printed(1000.0 * 0.4 * dry.central(), 1000.0 * wet.central(), 6);
    printed(1000.0 * 0.4 * dry.low(), 0.032, 6);
    printed(1000.0 * 0.4 * dry.high(), 1000.0 * wet.high(), 6);
    let (dry, wet) = (entry("compost_nitrous_oxide_dry"), entry("compost_nitrous_oxide_wet"));
    // One copy prints 0.3 for nitrous oxide; its own note of 60 % water gives 0.24, which the table holds.
    printed(1000.0 * 0.4 * dry.central(), 0.24, 6);
    printed(wet.central(), 0.000_24, 9);
}

#[test]
fn warming_potentials_of_two_assessments_cannot_be_mixed() {
    // V8b: 4 g CH4 and 0.24 g N2O per kg wet; a public parameter file prints 179.52 kg/t, which is CH4 of AR6 with N2O of AR4.
    let fifth = Potentials::<Fifth>::published().of(4.0, 0.24).kilograms();
    let sixth = Potentials::<Sixth>::published().of(4.0, 0.24).kilograms();
    printed(fifth, 175.6, 1);
    printed(sixth, 173.5, 1);
    printed(27.0 * 4.0 + 298.0 * 0.24, 179.52, 2);
    for own in [fifth, sixth] {
        assert!((own - 179.52).abs() > 3.0, "{own}");
    }
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
    // site.md 1.11: Hub 2026 Table 9 per short ton; the tables hold them per tonne.
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
    // Evans 2012 gives 743 kg/t for landfill: 1 % from the factor of mixed food.
    assert!((get("site.landfill_factor_food_waste") / 0.743 - 1.0).abs() < 0.01);
}

/// A small site that works; `extra` stands in front of its streams.
fn plan(extra: &str, scraps: &str) -> Plan {
    let text = format!(
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
    );
    let ingredients: Vec<&str> = literature::ingredients().iter().map(|one| one.id.as_str()).collect();
    let rates: Vec<&str> = literature::entries().iter().map(|one| one.key.as_str()).collect();
    let known = Known { ingredients: &ingredients, rates: &rates };
    scenario::parse("small.json", &text, known).unwrap()
}

fn answer(extra: &str, scraps: &str) -> RunAnswer {
    study::run(&plan(extra, scraps)).unwrap()
}

#[test]
fn the_claim_follows_what_the_stream_is_made_of() {
    // site.md 1.11: fruit and vegetables earn a third of what mixed food does.
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
        // The default of composting: 4 g CH4 and 0.24 g N2O per kg wet (site.md 1.12).
        let default = site.yearly.accepted * (0.004 * methane + 0.000_24 * nitrous_oxide);
        printed(s.process_default, default, 6);
        printed(s.avoided_careful, s.landfill - s.process.max(s.process_default), 6);
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
    // 2.45 MJ/kg at the assumed efficiency, on the water the screen's drying floor gave off.
    assert!(a.site.yearly.dried > 0.0);
    let heat = a.site.yearly.dried * 2.45e6 / get("site.drying_efficiency") / 3.6e6;
    printed(a.site.energy.drying.unwrap(), heat, 6);
    assert!(a.site.labour.tasks.iter().all(|t| t.name != "making bran"), "bran is bought");
    assert!(a.site.money.is_none());
}

#[test]
fn made_up_site_of_drums_and_beds() {
    // site.md 3.1: 300 kg/d, 14 d, 150 kg a drum: 28 drums, 7 pallets, 10.4 m2 net, 26.0 m2 at 40 %, 705 kg, 4.65 kPa.
    let rates = floor::Rates::from_values(&get);
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
    // A full bulk bin, 590 kg on 1.394 m2 (site.md 1.16): 4.15 kPa.
    printed(floor::load(590.0, 1.394), 4.15, 2);
    printed(get("site.bulk_bin_floor_load") / 1000.0, 4.15, 2);
}

#[test]
fn bed_loads_come_from_their_printed_inputs() {
    // site.md 1.14, each printed in two figures.
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
    // V6: 30 lb/day on 5 days, 1 lb a week per ft2: 150 ft2; five bins of 4 x 8 ft are 160; the rule is 0.6975 kg/m2/d.
    let rule = kilograms("1 lb") / 7.0 / parse(Kind::Area, "1 ft2").unwrap();
    printed(rule, 0.6975, 4);
    printed(get("site.bed_load_home_rule"), rule, 1);
    let intake = 5.0 * kilograms("30 lb") / 7.0;
    let needed = convert(Kind::Area, floor::area_for(intake, rule), "ft2").unwrap();
    printed(needed, 150.0, 6);
    let built = parse(Kind::Area, "160 ft2").unwrap();
    let home = floor::area_rules(intake, built).into_iter().find(|r| r.key == "site.bed_load_home_rule");
    // 150 of 160 ft2: 6 % under the rule.
    assert_eq!(home.unwrap().verdict, "below");
    assert!(floor::area_rules(intake, 0.0).is_empty());
}

#[test]
fn harbour_hall_agrees_with_passive_beds() {
    // 260 kg/d on 324 m2: the load the plan says it aims for, 0.8 kg/m2/d.
    let rules = floor::area_rules(260.0, 324.0);
    let verdict = |key: &str| rules.iter().find(|r| r.key == key).unwrap().verdict;
    assert_eq!(verdict("site.bed_load_passive"), "agrees");
    assert_eq!(verdict("site.bed_load_site_b"), "agrees");
    // The gap of site.md 4: two orders of magnitude between the lowest and the highest published load.
    assert_eq!(verdict("site.bed_load_trough"), "below");
    let (low, high) = (rules[0].published.0, rules.last().unwrap().published.1);
    assert!(high / low > 100.0);
}

#[test]
fn a_floor_too_small_or_too_weak_is_told() {
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
fn a_pail_and_a_drum_for_one_person() {
    // site.md 1.10: 13.6 kg from 15 cm, reach 40 cm, raised 85 cm, once a minute, fair grip: RWL 9.19 kg, LI 1.48.
    let l = lifting::lifting(186.9 - 20.0, get("site.drum_volume_55_gallon"), &get);
    printed(l.limit, 9.19, 2);
    printed(l.pail_index, 1.48, 2);
    printed(l.drum, 186.9, 6);
    // "a 187 kg drum is 8 load constants"
    printed(l.drum / get("site.niosh_load_constant"), 8.0, 0);
    assert!(l.drum_index > 20.0);
}

#[test]
fn printed_interest_factors() {
    // V2, factor table at 8 %.
    printed(finance::annuity(1.0, 0.08, 5), 0.2505, 4);
    printed(finance::present_per_annuity(0.08, 5), 3.9927, 4);
    printed(1.0 / finance::future_per_annuity(0.08, 5), 0.1705, 4);
    printed(finance::annuity(1.0, 0.08, 10), 0.1490, 4);
    printed(finance::present_per_annuity(0.08, 10), 6.7101, 4);
    printed(finance::future_per_annuity(0.08, 10), 14.4866, 4);
    // V2c: 500 at 4.25 % over 5.
    printed(finance::annuity(1.0, 0.0425, 5), 0.226_207, 6);
    printed(finance::annuity(500.0, 0.0425, 5), 113.1035, 4);
}

#[test]
fn printed_internal_rate() {
    // V3: -100,000; 55,000 - 20,000 a year for 5; 20,000 at the end; printed 25.3 %.
    let flows = [-100_000.0, 35_000.0, 35_000.0, 35_000.0, 35_000.0, 55_000.0];
    let rate = finance::internal_rate(&flows).unwrap();
    printed(100.0 * rate, 25.31, 2);
    printed(100.0 * rate, 25.3, 1);
    assert!(finance::net_present_value(&flows, rate).abs() < 1e-6);
    printed(finance::net_present_value(&flows, 0.08), 53_356.5, 1);
    printed(finance::payback(&flows, 0.0).unwrap(), 2.857, 3);
    let before = [-100_000.0, 35_000.0, 35_000.0, 35_000.0, 35_000.0, 35_000.0];
    let sums = finance::cumulative(&before, 0.08);
    for (have, recomputed) in sums[1..].iter().zip([-67_592.6, -37_585.7, -9_801.6, 15_924.4, 39_744.9]) {
        printed(*have, recomputed, 1);
    }
    // A straight line between -9,801.6 and 15,924.4.
    printed(finance::payback(&flows, 0.08).unwrap(), 3.0 + 9_801.6 / 25_726.0, 4);
}

#[test]
fn made_up_loan() {
    // site.md 3.1: 60,000 at 7 % in 7 yearly payments.
    printed(finance::annuity(60_000.0, 0.07, 7), 11_133.19, 2);
    let first = finance::payment(60_000.0, 0.07, 7, 1);
    printed(first.interest, 4200.0, 2);
    printed(first.principal, 6933.19, 2);
    let last = finance::payment(60_000.0, 0.07, 7, 7);
    printed(last.interest, 728.34, 2);
    printed(last.principal, 10_404.85, 2);
    let payments = || (1..=7).map(|n| finance::payment(60_000.0, 0.07, 7, n));
    printed(payments().map(|p| p.interest).sum(), 17_932.35, 2);
    printed(payments().map(|p| p.principal).sum(), 60_000.0, 6);
    printed(finance::annuity(60_000.0, 0.07 / 12.0, 84), 905.56, 2);
    let mut flows = vec![-60_000.0];
    flows.resize(8, 14_000.0);
    printed(finance::net_present_value(&flows, 0.07), 15_450.05, 2);
}

#[test]
fn printed_cost_lines_add_up() {
    // V5, Deyle & Hanks 1991 Tables 8.1 and 8.2: capital per daily ton 11,478; operating 8.61 to 8.80 a ton.
    let line = |price: f64| Line { name: "", quantity: 1.0, unit: "", price, amount: price, basis: "" };
    let sum = |prices: &[f64]| money::total(&prices.iter().map(|p| line(*p)).collect::<Vec<_>>());
    let capital = sum(&[915.0, 1296.0, 2288.0, 4958.0, 1907.0, 114.0]);
    printed(capital, 11_478.0, 6);
    printed(get("site.compost_capital_per_daily_ton"), capital, 6);
    let operating = sum(&[1.92, 2.98, 1.19, 0.67, 0.13, 0.08, 1.33]);
    let range = literature::entry("site.compost_operating_per_ton").unwrap().value;
    printed(operating + 0.31, range.low(), 2);
    printed(operating + 0.50, range.high(), 2);
    printed(range.low(), 8.61, 6);
    printed(range.high(), 8.80, 6);
}

#[test]
fn printed_weights_and_prices() {
    // V4: 100,000 dry gallons at 173.57 a yd3 and 138 lb/yd3: 576.14 yd3, 79,506.83 lb, 39.75 short tons.
    let yards = 100_000.0 / get("site.dry_gallons_per_cubic_yard");
    printed(yards, 576.14, 2);
    let volume = parse(Kind::Volume, &format!("{yards} yd3")).unwrap();
    let mass = volume * parse(Kind::Density, "138 lb/yd3").unwrap();
    printed(convert(Kind::Mass, mass, "lb").unwrap(), 79_506.83, 2);
    printed(convert(Kind::Mass, mass, "ton").unwrap(), 39.75, 2);
    printed(get("site.density_mixed_trash"), mass / volume, 1);
    // V14: 124 lb a day all year is 45,260 lb; printed 45,000, rounded to two figures.
    let year = 124.0 * Yearly::DAYS;
    printed(year, 45_260.0, 6);
    assert!((year / 45_000.0 - 1.0).abs() < 0.006);
    printed(get("site.institutional_site_d_feed"), kilograms("124 lb"), 1);
    // V15: 58.47 to 56.80 a short ton is -2.86 %, printed as 3 %; the table holds 62.61 a tonne.
    printed(100.0 * (56.80 / 58.47 - 1.0), -2.86, 2);
    printed(get("site.landfill_gate_fee"), parse(Kind::MoneyPerMass, "56.80 /ton").unwrap(), 2);
    // V16: 2.5 bn over 920,000 t is 2,717 a tonne; "around 2,800" is 3 % more, as the sum itself is rounded.
    let cost = finance::per_unit(2.5e9, 920_000.0).unwrap();
    printed(cost, 2717.0, 0);
    assert!((2800.0 / cost - 1.0).abs() < 0.031);
}

#[test]
fn hours_of_a_made_up_year() {
    // By hand from the assumed rates, 100 t a year: 50 + 150 + 150 + 30 + 100 + 60 + 25 + 182.5 h, and 300 + 40 h of machines.
    let year = Yearly {
        accepted: 100_000.0,
        sealed: 1000.0,
        opened: 1000.0,
        bran: 2000.0,
        grinder_hours: 300.0,
        fed: 100_000.0,
        harvested: 40_000.0,
        screen_hours: 40.0,
        blend: 50.0,
        ..Yearly::default()
    };
    let rates = labour::Rates::from_values(&get);
    let sum = |bran| labour::tasks(&year, bran, &rates).iter().map(|t| t.hours).sum::<f64>();
    printed(sum(true), 1087.5, 6);
    printed(sum(false), 1057.5, 6);
    // 1 t of water at 2.45 MJ/kg and 40 %: 1701.4 kWh.
    printed(labour::drying_energy(1000.0, 2.45e6, 0.4), 1701.4, 1);
}

#[test]
fn money_of_a_made_up_year() {
    // By hand. Capital 30 x 50 + 100 x 80 + 2 t x 15,000 = 39,500; at 7 % over 7 years x 0.185553 = 7,329.35.
    // Year: 800 h x 20 + 1,000 kWh x 0.2 + 2 t x 500 = 17,200; income 100 t x 90 + 60 m3 x 300 + 0.5 t x 10,000 = 32,000.
    let prices = Money {
        currency: "EUR".to_owned(),
        gate_fee: Some(90.0),
        castings_price: Some(300.0),
        worm_sale_price: Some(10_000.0),
        drum_price: Some(50.0),
        bed_price: Some(80.0),
        worm_price: Some(15_000.0),
        wage: Some(20.0),
        power_price: Some(0.2),
        bran_price: Some(500.0),
        interest: 0.07,
        years: 7,
        ..Money::default()
    };
    let equipment = Equipment { drums: 30.0, bed_area: 100.0, grinders: 1.0, screens: 0.0, worms: 2000.0 };
    let year =
        Yearly { accepted: 100_000.0, bran: 2000.0, castings: 60.0, worms_sold: 500.0, ..Yearly::default() };
    let m = money::money(&prices, &equipment, &year, 800.0, 1000.0);
    printed(m.capital_total, 39_500.0, 6);
    printed(m.annuity, 7329.35, 2);
    printed(m.running_total, 17_200.0, 6);
    printed(m.income_total, 32_000.0, 6);
    // 14,800 a year: x 5.389289 - 39,500 = 40,261.48; payback 39,500/14,800 = 2.669.
    printed(m.net_present_value, 40_261.48, 2);
    printed(m.payback.unwrap(), 2.6689, 4);
    assert!(m.discounted_payback > m.payback);
    // (7,329.35 + 17,200 - 18,000 - 5,000)/100 and (7,329.35 + 17,200 - 9,000 - 5,000)/60.
    printed(m.cost_per_tonne.unwrap(), 15.29, 2);
    printed(m.cost_per_cubic_metre.unwrap(), 175.49, 2);
    assert_eq!(m.not_counted, ["grinder", "other capital", "other"]);
    let rate = m.internal_rate.unwrap();
    printed(finance::present_per_annuity(rate, 7), 39_500.0 / 14_800.0, 6);
}
