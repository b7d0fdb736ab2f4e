//! Every warning, raised by a scenario.

use crate::sound::{read, run, run_varied};
use loamledger::quantity::Units;
use loamledger::report::pages::run::run_text;
use loamledger::study::answer::{Reported, RunAnswer};
use loamledger::trace::DayRecord;
use loamledger::warning::{Spell, Warning};
use std::collections::BTreeSet;

/// A worked site, what is changed in it, and warnings this raises.
type Case = (&'static str, &'static [(&'static str, &'static str)], &'static [&'static str]);

const SCHOOL: &str = "mountain_school";
/// Beds that take more feed than they can bear.
const OVERFED: [(&str, &str); 6] = [
    ("feeding.fresh_share_limit", "0.9"),
    ("feeding.largest_layer", "0.5"),
    ("feeding.ration", "2"),
    ("beds[0].depth", "3"),
    ("beds[0].count", "2"),
    ("stock.arrives", "\"2027-01-04\""),
];

/// Restaurant waste alone.
const RICH: &str =
    r#"[{ "name": "kitchen", "amount": "300 kg/day", "mix": { "food_waste_restaurant": 1 } }]"#;

/// Short runs that raise every warning between them.
const CASES: &[Case] = &[
    (HALL, &[("streams", "[]"), ("days", "150")], &["no_intake", "worms_starving"]),
    (HALL, &[("drums.count", "0"), ("days", "40")], &["no_drums", "intake_turned_away"]),
    (HALL, &[("beds.count", "0"), ("days", "40")], &["no_beds"]),
    (HALL, &[("stock.mass", "0"), ("days", "40")], &["no_worms"]),
    (
        HALL,
        &[("days", "250"), ("rules", r#"["india", "trade", "iowa"]"#)],
        &["no_hygiene_step", "drum_too_heavy", "product_off_standard", "permit_threshold"],
    ),
    (HALL, &[("bran.weekly_capacity", "1"), ("days", "60")], &["bran_short"]),
    (
        HALL,
        &[("drums.vent", "\"sealed\""), ("drums.room_air", "1"), ("days", "60")],
        &["valve_missing", "drum_pressure", "room_carbon_dioxide"],
    ),
    (
        HALL,
        &[
            ("drums.count", "0"),
            ("feeding.scraps", "\"ground\""),
            ("feeding.most_waiting", "50"),
            ("stock.mass", "30"),
            (
                "ingredients",
                r#"{ "our_bread": { "like": "bread", "carbon": 0.30, "ash": 0.02, "nitrogen": 0.024 } }"#,
            ),
            ("days", "40"),
        ],
        &["fresh_scraps_turned_away", "own_carbon_does_not_fit"],
    ),
    (HALL, &[("grinder.hours", "0"), ("days", "100")], &["drums_past_maximum", "grinder_bottleneck"]),
    (HALL, &[("bulking.most_per_paste", "0.01"), ("days", "60")], &["bulking_short", "layer_too_thick"]),
    (HALL, &[("stock.mass", "50"), ("days", "60")], &["stock_below_need"]),
    // 20 t on 27 m2: 2 m of coir and more
    (HALL, &[("beds[0].bedding", r#"{ "mass": "20 t" }"#), ("days", "20")], &["bed_too_high"]),
    (
        HALL,
        &[("stock.mass", "100000"), ("stock.arrives", "\"2027-01-04\""), ("days", "2")],
        &["worms_find_no_room"],
    ),
    (
        HALL,
        &[
            ("screen.method", "\"trommel\""),
            ("harvest.every_days", "20"),
            ("harvest.share", "1"),
            ("harvest.first_day", "60"),
            ("days", "200"),
        ],
        &["cocoons_lost"],
    ),
    (HALL, &[("beds[0].moisture_band", "[0.3, 0.4]"), ("days", "150")], &["bed_too_dry", "stock_dying_out"]),
    (HALL, &[("beds[0].moisture_band", "[0.9, 0.95]"), ("days", "150")], &["bed_too_wet", "band_missed_dry"]),
    (
        HALL,
        &[
            ("beds[0].moisture_band", "[0.5, 0.6]"),
            ("beds[0].cover", "0"),
            ("stock.arrives", "\"2027-01-04\""),
            ("days", "120"),
        ],
        &["band_missed_wet"],
    ),
    (
        HALL,
        &[
            ("site.floor_area", "20"),
            ("site.floor_load", "0.5"),
            ("stock.arrives", "\"2027-01-04\""),
            ("days", "2"),
        ],
        &["floor_short", "floor_overloaded"],
    ),
    (
        SCHOOL,
        &[("climate.bed_room.heated_to", "2"), ("stock.top_up", "[]"), ("days", "150")],
        &["bed_too_cold", "drum_store_cold", "drum_spoiled"],
    ),
    (
        "valley_packhouse",
        &[
            ("screen.drying_area", "\"600 ft2\""),
            ("bulking.ingredient", "\"wheat_straw\""),
            ("bulking.air_filled_porosity", "0.28"),
            ("streams[2].amount", "0"),
        ],
        &["drying_short", "feed_lean_in_nitrogen", "castings_held_up"],
    ),
    (SCHOOL, &[], &["water_large"]),
    (HALL, &[("days", "250")], &["nitrogen_loss_low"]),
    (
        HALL,
        &[("screen.rate", "2"), ("beds[0].leaching", "0.6"), ("days", "250")],
        &["screen_bottleneck", "drainage_large"],
    ),
    // a tank of 10 litres for what runs off in a week
    (HALL, &[("site.drainage_tank", "0.01"), ("days", "60")], &["tank_small"]),
    // beds that neither drain nor are harvested keep their salt from year to year
    (
        HALL,
        &[("beds[0].leaching", "0"), ("harvest.first_day", "700"), ("settled_year.most_years", "2")],
        &["salt_gathers"],
    ),
];

/// Rates outside their published ranges; the published castings hold more nitrogen than this.
const RATES: &str =
    r#"{ "bed.castings_nitrogen_warning": { "central": 0.001, "low": 0.0005, "high": 0.002 } }"#;

#[test]
fn every_warning_is_raised_by_some_scenario() {
    let mut raised = BTreeSet::new();
    let mut take = |answer: &RunAnswer, expected: &[&str]| {
        let later = answer.later_years.last.iter().flat_map(|last| &last.warnings);
        let all: Vec<&Reported> = answer.warnings.iter().chain(later).collect();
        for reported in &all {
            let warning = &reported.warning;
            assert!(warning.message().len() > 15 && warning.hint().ends_with('.'), "{}", reported.code);
            let file = serde_json::to_value(warning).expect("a warning is data");
            assert_eq!(file["code"], reported.code);
            assert_eq!(warning.spell().is_some(), file.get("spell").is_some(), "{}", reported.code);
            raised.insert(reported.code);
        }
        for code in expected {
            assert!(all.iter().any(|w| w.code == *code), "{code} is not raised");
        }
    };
    for (site, changes, expected) in CASES {
        take(&run_varied(site, changes), expected);
    }
    let overfed = |more: &[(&'static str, &'static str)]| run_varied(HALL, &[&OVERFED, more].concat());
    let hungry = [
        ("feeding.hottest", "60"),
        ("beds[0].area", "5"),
        ("stock.mass", "500"),
        ("drums.minimum_days", "7"),
        ("bulking.ingredient", "none"),
        ("streams", RICH),
        ("days", "30"),
    ];
    take(&overfed(&hungry), &["bed_overloaded", "ammonia_stress"]);
    take(&run_varied(HALL, &[("climate.bed_room.heated_to", "35"), ("days", "60")]), &["bed_too_hot"]);
    let bare = [("beds[0].area", "10"), ("bulking.ingredient", "none"), ("days", "200")];
    take(&overfed(&bare), &["bed_soured", "crowded", "no_bulking"]);
    take(
        &run_varied(HALL, &[("rates", RATES), ("days", "250")]),
        &["castings_nitrogen_high", "outside_published_range"],
    );
    let missing: Vec<&&str> = Warning::CODES.iter().filter(|code| !raised.contains(**code)).collect();
    assert!(missing.is_empty(), "raised by no scenario: {missing:?}");
}

/// The days of a site's warning of this code.
fn spell(answer: &RunAnswer, code: &str) -> Option<Spell> {
    answer.warnings.iter().find(|w| w.code == code).and_then(|w| w.warning.spell().copied())
}

const HALL: &str = "harbour_hall";

#[test]
fn castings_that_cannot_dry_are_reported() {
    // without a floor nothing dries, so nothing is screened or sold
    let wet = run_varied(HALL, &[("screen.drying_area", "0")]);
    assert!(wet.products.iter().all(|p| p.amounts.wet <= 0.0));
    let short = spell(&wet, "drying_short").expect("no castings are sold, and nothing says why");
    // the first harvest is on day 150, and castings may take 30 days to dry
    let day = |n: usize| wet.daily[n].date;
    assert!(short.first >= day(180) && short.first <= day(190), "{short:?}");
    let most = wet.daily.iter().map(|d| d.castings_drying).fold(0.0, f64::max);
    assert!((short.worst - most).abs() < 1e-9 && most > 1000.0, "{short:?}");
    assert_eq!(spell(&run_varied(HALL, &[]), "drying_short"), None);
}

#[test]
fn the_settled_year_has_warnings_of_its_own() {
    let answer = run_varied("valley_packhouse", &[("screen.drying_area", "\"600 ft2\"")]);
    let last = answer.later_years.last.as_ref().expect("it is followed");
    let warning = |list: &[Reported], code: &str| list.iter().find(|w| w.code == code).cloned();
    let held_up = warning(&last.warnings, "castings_held_up").expect("castings are held up for good");
    let Warning::CastingsHeldUp { harvested_dry_kg, screened_dry_kg } = held_up.warning else {
        panic!("{held_up:?}")
    };
    assert!((harvested_dry_kg - answer.later_years.years[last.year - 1].castings_dry).abs() < 1e-6);
    assert!(screened_dry_kg < 0.5 * harvested_dry_kg);
    let dated: Vec<&Spell> = last.warnings.iter().filter_map(|w| w.warning.spell()).collect();
    assert!(!dated.is_empty() && dated.iter().all(|spell| spell.first >= last.start), "{dated:?}");
    // what holds for the plan alone is said once, with the run
    assert!(warning(&answer.warnings, "drum_too_heavy").is_some());
    assert!(warning(&last.warnings, "drum_too_heavy").is_none());
    // the page says which last, and that people come first
    let page = run_text(&answer, Units::Si);
    let also = format!("also in year {} (settled)", last.year);
    assert!(page.contains(&also), "{page}");
    let place = |words: &str| page.find(words).unwrap_or_else(|| panic!("no {words}: {page}"));
    assert!(place("neither acid fermentation") < place("castings lay wet"), "{page}");
}

#[test]
fn a_minimal_scenario_dries_screens_and_sells() {
    let site = |scale: f64| {
        format!(
            r#"{{ "name": "Small shed", "start": "2027-03-01", "days": 365,
                "streams": [{{ "name": "kitchen", "amount": {}, "mix": {{ "food_waste_household": 1 }} }}],
                "drums": {{ "count": {} }},
                "bulking": {{}},
                "grinder": {{ "rate": {} }},
                "beds": [{{ "name": "beds", "count": {}, "area": 4 }}],
                "stock": {{ "mass": {} }},
                "settled_year": {{ "most_years": 1 }} }}"#,
            25.0 * scale,
            20.0 * scale,
            300.0 * scale,
            10.0 * scale,
            60.0 * scale
        )
    };
    let answers = [1.0, 10.0].map(|scale| run(&read(&site(scale)).unwrap_or_else(|e| panic!("{e}"))));
    let sold = |answer: &RunAnswer| answer.products.iter().map(|p| p.amounts.wet).sum::<f64>();
    for answer in &answers {
        let codes: Vec<&str> = answer.warnings.iter().map(|w| w.code).collect();
        for waits in ["castings_held_up", "drying_short", "screen_bottleneck", "no_bulking"] {
            assert!(!codes.contains(&waits), "{waits}: {codes:?}");
        }
        assert!(sold(answer) > 300.0, "{codes:?}");
    }
    // what suits a small site suits a large one; at twenty times, the usual grinder would be the limit
    assert!((sold(&answers[1]) / sold(&answers[0]) / 10.0 - 1.0).abs() < 0.05);
}

#[test]
fn carbon_dioxide_of_a_shift_is_its_mean() {
    // drums just opened fill the room for minutes; the mean of eight hours with fresh air stays below the limit
    let aired = run_varied(HALL, &[("days", "120")]);
    let highest =
        |answer: &RunAnswer, of: fn(&DayRecord) -> f64| answer.daily.iter().map(of).fold(0.0, f64::max);
    assert!(highest(&aired, |d| d.room_carbon_dioxide) > 5000.0);
    assert!(highest(&aired, |d| d.room_carbon_dioxide_shift) < 2000.0);
    assert!(spell(&aired, "room_carbon_dioxide").is_none());
    assert!(
        aired.daily.iter().all(|d| d.room_carbon_dioxide_shift <= d.room_carbon_dioxide.max(420.0) * 1.001)
    );
}

#[test]
fn a_screen_that_is_too_slow_is_reported() {
    for rate in ["2", "0"] {
        let slow = run_varied(HALL, &[("screen.rate", rate)]);
        let waiting = spell(&slow, "screen_bottleneck").expect("castings wait, and nothing says so");
        let most = slow.daily.iter().map(|d| d.castings_waiting).fold(0.0, f64::max);
        assert!((waiting.worst - most).abs() < 1e-6, "{waiting:?}");
        assert!(waiting.days > 100, "{waiting:?}");
    }
    assert_eq!(spell(&run_varied(HALL, &[]), "screen_bottleneck"), None);
}

#[test]
fn drums_past_their_age_are_reported_with_their_days_and_age() {
    // a grinder without hours opens no drum; the first is sealed within a day or two
    let answer = run_varied(HALL, &[("grinder.hours", "0"), ("days", "120")]);
    let Some(Warning::DrumsPastMaximum { maximum_days, spell }) =
        answer.warnings.iter().map(|w| &w.warning).find(|w| w.code() == "drums_past_maximum")
    else {
        panic!("drums are 120 days old, and nothing says so")
    };
    let sealed = answer.daily.iter().position(|d| d.oldest_drum > 0.0).expect("drums are sealed") - 1;
    let over = sealed + 84 + 1;
    assert!((maximum_days - 84.0).abs() < 1e-12);
    assert_eq!(spell.first, answer.daily[over].date);
    assert_eq!(spell.days as usize, answer.days - over);
    assert!((spell.worst - (answer.days - 1 - sealed) as f64).abs() < 1e-12, "{spell:?}");
}
