//! Scenario files: the worked ones are read, every kind of bad file is told with place, cause and cure.

use loamledger::scenario::field::fields;
use loamledger::scenario::plan::BeddingAmount;
use loamledger::scenario::{Plan, ScenarioError, assemble, parse, read_scenario, schema, varied};
use loamledger::unit::grinder::RinseTo;
use proptest::prelude::*;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;

fn read(text: &str) -> Result<Plan, ScenarioError> {
    parse("site.json", text)
}

fn message(text: &str) -> String {
    let error = read(text).expect_err("this scenario is wrong");
    error.to_string()
}

/// A small sound scenario with one more line at the end.
fn with(line: &str) -> String {
    let comma = if line.is_empty() { "" } else { "," };
    format!(
        r#"{{
  "name": "Small", "start": "2027-01-04", "days": 365,
  "streams": [ {{ "name": "kitchen", "amount": 50, "mix": {{ "bread": 0.4, "coffee_grounds": 0.6 }} }} ]{comma}
  {line}
}}"#
    )
}

/// The first fault must say file, line:column, key, given, allowed and hint.
fn told(line: &str, parts: &[&str]) {
    let text = message(&with(line));
    assert!(text.contains("--> site.json:4:") || text.contains("--> site.json:3:"), "no place in\n{text}");
    for part in parts {
        assert!(text.contains(part), "`{part}` is not in\n{text}");
    }
}

fn file(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name)
}

fn worked(name: &str) -> Plan {
    read_scenario(&file(name)).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn the_worked_sites_are_sane() {
    // bed_load_passive in site.json: 0.4 to 1.2 kg/m2/day; stocking from somewhat below the trade start of 2.4, as the worms
    // grow into their feed, to the target of worms.json
    let hall = worked("harbour_hall.json");
    assert!((hall.mean_intake() - 260.0).abs() < 15.0, "{}", hall.mean_intake());
    let load = hall.mean_intake() / hall.bed_area();
    assert!((0.4..1.2).contains(&load), "{load}");
    let stocking = hall.stock_bought() / hall.bed_area();
    assert!((1.8..9.8).contains(&stocking), "{stocking}");
    // drums needed: intake x (fermenting + a week) / contents
    let needed = |plan: &Plan, intake: f64| {
        intake * (f64::from(plan.drums.minimum_days) + 7.0) / plan.drums.drum_mass()
    };
    assert!(needed(&hall, hall.mean_intake()) < f64::from(hall.drums.count));

    let school = worked("mountain_school.json");
    let term = school.open_amount(0, school.date(8));
    assert!((term - 45.0).abs() < 5.0, "{term}");
    assert!(school.open_amount(0, jiff::civil::date(2027, 12, 25)).abs() < 1e-12);
    let cold = jiff::civil::date(2028, 1, 15);
    let outdoors = school.climate.outdoors(cold);
    // the planted weakness: drums near freezing while the beds can still be fed
    assert!(school.climate.drum_room.temperature(5.0, outdoors) < 0.0);
    assert!(school.climate.bed_room.temperature(5.0, outdoors) > school.feeding.coldest);

    let packhouse = worked("valley_packhouse.json");
    let autumn = packhouse.date(0).with().month(10).day(6).build().unwrap();
    let peak = packhouse.open_amount(0, autumn) + packhouse.open_amount(1, autumn);
    assert!((1100.0..1250.0).contains(&peak), "{peak}");
    // the planted weakness: enough drums for the mean, too few for the peak
    assert!(needed(&packhouse, packhouse.mean_intake()) < f64::from(packhouse.drums.count));
    assert!(needed(&packhouse, peak) > 1.5 * f64::from(packhouse.drums.count));
    // 55 gal and 45 lb/ft3
    assert!((packhouse.drums.volume - 0.208_197_65).abs() < 1e-8);
    assert!((packhouse.drums.settled_density - 720.83).abs() < 0.01);
}

#[test]
fn defaults_are_applied() {
    let plan = read(&with("")).unwrap();
    assert_eq!(plan.drums.count, 0);
    assert!(plan.beds.is_empty() && plan.stock.is_none() && plan.bulking.is_none());
    assert!((plan.bran.dose - 0.02).abs() < 1e-12);
    // demand of 14 + 14 + 14 days at 50 kg/day and 0.02
    assert!((plan.starting_bran() - 42.0).abs() < 1e-9);
    assert!((plan.castings.sold_alone() - 1.0).abs() < 1e-12);
    assert!((plan.drums.room_air() - 50.0).abs() < 1e-12);
    let plan = read(&with(r#""beds": [ { "name": "a", "area": 2, "depth": 0.2 } ]"#)).unwrap();
    assert_eq!(plan.beds[0].bedding_amount(), BeddingAmount::Depth(0.1));
}

#[test]
fn choices_of_drums_and_grinder_reach_the_site() {
    let site = |line: &str| assemble(&read(&with(line)).unwrap()).unwrap().0;
    let usual = site("");
    assert!(usual.drums.drain_liquor && !usual.liquor_returned && !usual.drums.scraps_ground_before);
    assert!(usual.drums.leak.abs() < 1e-12 && usual.grinder.rinse_to == RinseTo::Beds);
    let other = site(
        r#""drums": { "count": 1, "liquor": "kept", "scraps_ground": true, "leak": "0.7 %" },
        "grinder": { "rinse_to": "drain" }"#,
    );
    assert!(!other.drums.drain_liquor && !other.liquor_returned && other.drums.scraps_ground_before);
    assert!((other.drums.leak - 0.007).abs() < 1e-12 && other.grinder.rinse_to == RinseTo::Drain);
    assert!(site(r#""drums": { "count": 1, "liquor": "returned" }"#).liquor_returned);
}

#[test]
fn legal_though_senseless_sites_are_read() {
    for line in [
        r#""drums": { "count": 0 }"#,
        r#""stock": { "mass": 0 }, "beds": [ { "name": "a", "area": 5, "count": 0 } ]"#,
        r#""beds": []"#,
        r#""feeding": { "ration": 0, "weekdays": [] }"#,
    ] {
        read(&with(line)).unwrap_or_else(|e| panic!("{e}"));
    }
    assert!(read(r#"{ "name": "n", "start": "2027-01-04", "days": 1, "streams": [] }"#).is_ok());
}

#[test]
fn a_misspelt_key() {
    insta::assert_snapshot!(message(&with(r#""drums": { "count": 60, "fil_share": 0.9 }"#)), @r#"
    error: drums.fil_share: unknown key
     --> site.json:4:27
      |
    4 |   "drums": { "count": 60, "fil_share": 0.9 }
      |                           ^^^^^^^^^^^ given "fil_share"
      |
      = allowed: note, count, volume, fill_share, settled_density, minimum_days, maximum_days, most_filling_days, vent, leak, scraps_ground, liquor, room_volume, room_air
      = hint: did you mean `fill_share`?
    "#);
    told(r#""drums": { "count": 6, "moisture_band": [0.7, 0.8] }"#, &["this key belongs to `beds`"]);
    told(r#""grindr": {}"#, &["unknown key", "grindr", "did you mean `grinder`?"]);
    told(
        r#""beds": [ { "name": "a", "area": 3, "moistur_band": [0.7, 0.8] } ]"#,
        &["beds[0].moistur_band", "did you mean `moisture_band`?"],
    );
    told(
        r#""drums": { "count": 6, "vent": "valv" }"#,
        &["drums.vent", "valve, sealed", "did you mean `valve`?"],
    );
}

#[test]
fn a_wrong_type() {
    insta::assert_snapshot!(message(&with(r#""drums": { "count": true }"#)), @r#"
    error: drums.count: wrong type: true or false
     --> site.json:4:23
      |
    4 |   "drums": { "count": true }
      |                       ^^^^ given true
      |
      = allowed: 0 to 20000; a plain number (whole number)
    "#);
    told(r#""drums": [60]"#, &["drums: wrong type: a list", "an object in braces"]);
    told(r#""beds": { "name": "a", "area": 3 }"#, &["beds: wrong type: an object", "a list in brackets"]);
    told(
        r#""bran": { "bought": "yes" }"#,
        &["bran.bought: wrong type: a text", "given \"yes\"", "true or false"],
    );
    told(
        r#""rates": { "bed.decay_rate_protein": "fast" }"#,
        &["rates.\"bed.decay_rate_protein\"", "a number in the unit of the table"],
    );
}

#[test]
fn a_wrong_type_of_a_word_names_the_key_and_the_words() {
    insta::assert_snapshot!(message(&with(r#""drums": { "count": 1, "vent": true }"#)), @r#"
    error: drums.vent: wrong type: true or false
     --> site.json:4:34
      |
    4 |   "drums": { "count": 1, "vent": true }
      |                                  ^^^^ given true
      |
      = allowed: valve, sealed
    "#);
    told(
        r#""grinder": { "weekdays": [1, "tusday"] }"#,
        &[
            "grinder.weekdays[0]: wrong type: a number",
            "given 1",
            "monday, tuesday, wednesday",
            "grinder.weekdays[1]: unknown word",
            "did you mean `tuesday`?",
        ],
    );
    told(
        r#""feeding": { "weekdays": "monday" }"#,
        &["feeding.weekdays: wrong type: a text", "a list in brackets of words: monday, tuesday"],
    );
    told(
        r#""screen": { "overs": { "to": "beds" } }"#,
        &["screen.overs: wrong type: an object", "to_beds, out"],
    );
}

#[test]
fn an_extra_comma_is_called_an_extra_comma() {
    for (line, place) in [
        (r#""drums": { "count": 60, }"#, "site.json:4:25"),
        (r#""drums": { "count": 60,, "volume": 0.2 }"#, "site.json:4:26"),
        (r#""drums": {, "count": 60 }"#, "site.json:4:13"),
        (r#""feeding": { "weekdays": ["monday",, "friday"] }"#, "site.json:4:38"),
        (r#""feeding": { "weekdays": ["monday", ] }"#, "site.json:4:37"),
    ] {
        told(line, &["not JSON: an extra comma", "remove this comma", place]);
    }
    told(r#""drums": { "count": }"#, &["not JSON", "a value is missing before this"]);
}

#[test]
fn a_missing_key() {
    insta::assert_snapshot!(message(&with(r#""beds": [ { "name": "a" } ]"#)), @r#"
    error: beds[0].area: is missing
     --> site.json:4:13
      |
    4 |   "beds": [ { "name": "a" } ]
      |             ^ here
      |
      = allowed: 0.05 to 10000 m2; a number in m2 or a text with m2, ft2, sq ft, yd2 (area)
    "#);
    assert!(message(r#"{ "name": "n", "start": "2027-01-04", "days": 3 }"#).contains("streams: is missing"));
}

#[test]
fn numbers_out_of_range_all_at_once() {
    insta::assert_snapshot!(message(&with(r#""drums": { "count": -3, "fill_share": 75, "volume": "5000 gal" }, "screen": { "rate": "120 lb/m" }"#)), @r#"
    error: drums.count: is negative
     --> site.json:4:23
      |
    4 |   "drums": { "count": -3, "fill_share": 75, "volume": "5000 gal" }, "screen": { "rate": "120 lb/m" }
      |                       ^^ given -3
      |
      = allowed: 0 to 20000; a plain number (whole number)

    error: drums.fill_share: is out of range
     --> site.json:4:41
      |
    4 |   "drums": { "count": -3, "fill_share": 75, "volume": "5000 gal" }, "screen": { "rate": "120 lb/m" }
      |                                         ^^ given 75
      |
      = allowed: 0.05 to 1; a plain number or a text with % (share of a whole)
      = hint: percent given? write 0.75 or "75 %"

    error: drums.volume: is out of range (it is 18.9271 m3)
     --> site.json:4:55
      |
    4 |   "drums": { "count": -3, "fill_share": 75, "volume": "5000 gal" }, "screen": { "rate": "120 lb/m" }
      |                                                       ^^^^^^^^^^ given "5000 gal"
      |
      = allowed: 0.005 to 5 m3; a number in m3 or a text with m3, L, gal (US), ft3, yd3 (volume)

    error: screen.rate: unknown unit `lb/m`, wanted is machine rate
     --> site.json:4:89
      |
    4 |   "drums": { "count": -3, "fill_share": 75, "volume": "5000 gal" }, "screen": { "rate": "120 lb/m" }
      |                                                                                         ^^^^^^^^^^ given "120 lb/m"
      |
      = allowed: 0 to 1000000 kg/h; a number in kg/h or a text with kg/h, t/h, lb/h (machine rate)
      = hint: did you mean `lb/h`?
    "#);
}

#[test]
fn an_unknown_unit() {
    told(
        r#""grinder": { "rate": "300 kgs/hr", "hours": "2 hrz" }"#,
        &["grinder.hours", "given \"2 hrz\"", "unknown unit", "did you mean `hr`?"],
    );
    told(r#""stock": { "mass": "3 yd3" }"#, &["stock.mass", "`yd3` measures volume"]);
}

#[test]
fn an_unknown_ingredient() {
    told(
        r#""bulking": { "ingredient": "cardbord" }"#,
        &[
            "error: bulking.ingredient: unknown ingredient\n --> site.json:4:30",
            "given \"cardbord\"",
            "= allowed: ",
            "bread, ",
            "= hint: did you mean `cardboard_corrugated`?",
        ],
    );
    let text = message(&with("").replace("\"bread\"", "\"brede\""));
    assert!(
        text.contains("streams[0].mix.brede: unknown ingredient") && text.contains("did you mean `bread`?"),
        "{text}"
    );
    told(
        r#""ingredients": { "a": { "like": "b" }, "b": { "like": "bread" } }"#,
        &["ingredients.a.like", "unknown ingredient"],
    );
}

#[test]
fn shares_that_do_not_sum() {
    insta::assert_snapshot!(message(&with("").replace("0.6", "0.5")), @r#"
    error: streams[0].mix: the shares sum to 0.900000
     --> site.json:3:51
      |
    3 |   "streams": [ { "name": "kitchen", "amount": 50, "mix": { "bread": 0.4, "coffee_grounds": 0.5 } } ]
      |                                                   ^^^^^ here
      |
      = allowed: shares of wet mass that sum to 1
      = hint: in the same proportions: bread 0.4444, coffee_grounds 0.5556
    "#);
    // a difference of rounding is none
    let plan = read(&with("").replace("0.6", "0.6000001")).unwrap();
    let sum: f64 = plan.streams[0].parts().map(|part| part.1).sum();
    assert!((sum - 1.0).abs() < 1e-15, "{sum}");
    told(
        r#""ingredients": { "a": { "like": "bread", "protein": 0.5, "sugars": 0.6 } }"#,
        &["sum to 1.1000", "at most 1"],
    );
}

#[test]
fn cross_field_faults() {
    told(r#""feeding": { "hottest": 3 }"#, &["feeding.hottest", "no bed could ever be fed"]);
    told(
        r#""drums": { "count": 1, "minimum_days": 90 }"#,
        &["drums.minimum_days", "too old before it is ready"],
    );
    told(
        r#""harvest": { "every_days": 90, "depth": 0.4 }"#,
        &["harvest: has both", "either `every_days` or `depth`"],
    );
    told(
        r#""stock": { "mass": 1, "arrives": "2031-01-01" }"#,
        &["outside the run", "2027-01-04 to 2028-01-03"],
    );
    told(r#""stock": { "mass": 1, "arrives": "2027-02-30" }"#, &["is not a date", "given \"2027-02-30\""]);
    told(r#""castings": { "sold_alone": 0.4 }"#, &["castings.sold_alone", "nowhere to go"]);
    told(r#""beds": [ { "name": "a", "area": 1 }, { "name": "a", "area": 1 } ]"#, &["beds[1].name", "taken"]);
    told(
        r#""beds": [ { "name": "a", "area": 1, "depth": 0.3, "bedding": { "depth": 0.4 } } ]"#,
        &["does not fit"],
    );
    told(
        r#""climate": { "bed_room": { "heated_to": 20, "cooled_to": 10 } }"#,
        &["climate.bed_room.cooled_to"],
    );
    told(r#""climate": { "coldest_day": "02-30" }"#, &["is not a day of the year"]);
    told(
        r#""rates": { "bed.decay_rate_protien": 1 }"#,
        &["unknown rate", "did you mean `bed.decay_rate_protein`?"],
    );
    told(
        r#""rates": { "bed.decay_rate_protein": { "central": 1, "low": 2, "high": 3 } }"#,
        &["out of order"],
    );
    told(
        r#""rates": { "bed.decay_rate_protein": { "central": 2, "low": 1, "high": 3, "shape": "triangle" } }"#,
        &["unknown shape", "did you mean `triangular`?"],
    );
    let both =
        with("").replace("\"amount\": 50,", "\"amount\": 50, \"generation\": { \"count\": 3, \"rate\": 1 },");
    assert!(message(&both).contains("streams[0]: has both amount and generation"));
    let week = with("").replace("\"amount\": 50,", "\"amount\": 50, \"weekday_factors\": [1, 1],");
    assert!(message(&week).contains("streams[0].weekday_factors: has 2 numbers"));
}

#[test]
fn a_duplicate_key() {
    insta::assert_snapshot!(message(&with(r#""drums": { "count": 60, "count": 6 }"#)), @r#"
    error: drums.count: this key is given twice
     --> site.json:4:27
      |
    4 |   "drums": { "count": 60, "count": 6 }
      |                           ^^^^^^^ given "count"
      |
      = allowed: each key once
      = hint: remove one of the two
    "#);
    let mix = with("").replace("\"bread\": 0.4,", "\"bread\": 0.4, \"bread\": 0.4,");
    assert!(message(&mix).contains("streams[0].mix.bread: this key is given twice"));
}

#[test]
fn not_json() {
    insta::assert_snapshot!(message(&with(r#""days_off": NaN"#)), @r#"
    error: not JSON: expected value
     --> site.json:4:15
      |
    4 |   "days_off": NaN
      |               ^^^ given NaN
      |
      = allowed: a JSON object with name, start, days, streams and the equipment of the site
      = hint: JSON has no NaN or infinity; leave the key out for the default
    "#);
    told("// a remark", &["not JSON", "JSON has no comments"]);
    told(r#""place": 'here'"#, &["double quotes"]);
    told(
        r#""screen": { "rate": 1e999 }"#,
        &["screen.rate: is out of range", "given 1e999", "0 to 1000000 kg/h"],
    );
    assert!(message(&format!("{} x", with(""))).contains("goes on after the closing brace"));
    assert!(message("name: Small\n").contains("loamledger start FILE"));
    assert!(message("").contains("the file is empty"));
    assert!(message(" \n\t").contains("the file is empty"));
    assert!(message("{ \"name\": \"Sm").contains("missing"));
    assert!(message("[1, 2]").contains("wrong type: a list"));
    assert!(message("3").contains("wrong type: a number"));
    let deep = format!("{}{}", "[".repeat(100_000), "]".repeat(100_000));
    assert!(message(&deep).contains("nested deeper than 32 levels"));
    // a byte order mark is no fault
    assert!(read(&format!("\u{feff}{}", with(""))).is_ok());
}

#[test]
fn files_that_are_no_scenario() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.json");
    let tell = |path: &Path| read_scenario(path).unwrap_err().to_string();
    assert!(tell(&path).contains("there is no such file"));
    assert!(tell(folder.path()).contains("is a folder"));
    std::fs::write(&path, b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR").unwrap();
    let text = tell(&path);
    assert!(text.contains("site.json") && text.contains("not UTF-8") && text.contains("binary"), "{text}");
    std::fs::write(&path, b"{ \"name\": \"caf\xe9\" }").unwrap();
    assert!(tell(&path).contains("save the file with the encoding UTF-8"));
    // a sparse file of 100 MB is refused by its length, not read
    std::fs::File::create(&path).unwrap().set_len(100 << 20).unwrap();
    let text = tell(&path);
    assert!(text.contains("given 100.0 MiB, allowed at most 8.0 MiB"), "{text}");
    assert!(!text.contains("UTF-8"));
}

#[test]
#[cfg(unix)]
fn an_endless_file_is_not_read_to_its_end() {
    let text = read_scenario(Path::new("/dev/zero")).unwrap_err().to_string();
    assert!(text.contains("larger than a scenario file may be"), "{text}");
}

#[test]
fn faults_are_data_too() {
    let error = read(&with(r#""drums": { "count": 60, "fill_share": 75 }"#)).unwrap_err();
    let fault = &error.faults()[0];
    assert_eq!((fault.key.as_str(), fault.given.as_str()), ("drums.fill_share", "75"));
    assert_eq!((fault.line, fault.column), (4, 41));
    assert!(fault.allowed.starts_with("0.05 to 1"));
    assert_eq!(fault.hint.as_deref(), Some("percent given? write 0.75 or \"75 %\""));
}

#[test]
fn a_plan_is_resized_within_its_ranges() {
    let plan = worked("harbour_hall.json");
    let mut size = plan.size();
    size.beds *= 2;
    size.drums = 10;
    let other = plan.resized(&size).unwrap();
    assert!((other.bed_area() - 2.0 * plan.bed_area()).abs() < 1e-9);
    assert_eq!(other.drums.count, 10);
    size.grinder_hours = 30.0;
    insta::assert_snapshot!(plan.resized(&size).unwrap_err().to_string(), @"grinder.hours: given 30, allowed 0 to 24");
}

#[test]
fn beds_more_or_fewer_are_shared_between_groups_as_they_were() {
    // 12 and 4 beds
    let plan = worked("valley_packhouse.json");
    for (beds, shared) in
        [(16, [12, 4]), (32, [24, 8]), (17, [13, 4]), (15, [11, 4]), (2, [2, 0]), (0, [0, 0])]
    {
        assert_eq!(plan.shared_beds(beds), shared, "{beds}");
        let size = loamledger::scenario::Size { beds, ..plan.size() };
        let other = plan.resized(&size).unwrap();
        assert!((other.bed_area() - plan.area_of_beds(beds)).abs() < 1e-9);
    }
}

/// Walks the schema and calls with path, node for each property.
fn walk(node: &Value, path: &str, seen: &mut dyn FnMut(&str, &Value)) {
    let below = |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
    for (name, property) in node["properties"].as_object().into_iter().flatten() {
        seen(&below(name), property);
        walk(property, &below(name), seen);
    }
    if node["items"].is_object() {
        walk(&node["items"], path, seen);
    }
    if node["additionalProperties"].is_object() {
        seen(&below("*"), &node["additionalProperties"]);
        walk(&node["additionalProperties"], &below("*"), seen);
    }
    for choice in node["anyOf"].as_array().into_iter().flatten() {
        walk(choice, path, seen);
    }
}

#[test]
fn the_schema_describes_every_key() {
    let schema = schema();
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    let mut numbers = BTreeSet::new();
    walk(&schema, "", &mut |path, node| {
        let own = node["description"].as_str().unwrap_or("");
        assert!(!own.is_empty() || path.ends_with('*'), "{path} has no description: {node}");
        let item = if node["items"].is_object() { &node["items"] } else { node };
        let is_number = item["type"]
            .as_array()
            .is_some_and(|t| t.contains(&"number".into()) && t.contains(&"string".into()));
        if is_number {
            assert!(
                item["minimum"].is_number() && item["maximum"].is_number(),
                "{path} has no range: {node}"
            );
            numbers.insert(path.to_owned());
        }
    });
    let table: BTreeSet<String> = fields().iter().map(|f| f.path.clone()).collect();
    assert_eq!(numbers, table, "the table of fields and the schema have different numbers");
    for field in fields() {
        assert!(field.number.low < field.number.high, "{}", field.path);
    }
}

#[test]
fn the_worked_sites_hold_only_known_keys_of_the_schema() {
    let schema = schema();
    let mut paths = BTreeSet::new();
    walk(&schema, "", &mut |path, _| {
        paths.insert(path.to_owned());
    });
    for name in ["harbour_hall.json", "mountain_school.json", "valley_packhouse.json"] {
        let site: Value = serde_json::from_str(&std::fs::read_to_string(file(name)).unwrap()).unwrap();
        assert!(site["note"].as_str().is_some_and(|n| n.len() > 100), "{name} has no note");
        for key in site.as_object().unwrap().keys() {
            assert!(paths.contains(key), "{name}: {key}");
        }
    }
}

#[test]
fn a_key_is_varied_as_the_file_would_say_it() {
    let text = std::fs::read_to_string(file("valley_packhouse.json")).unwrap();
    let plan = |key: &str, value: &str| parse("varied", &varied("site.json", &text, key, value).unwrap());
    assert_eq!(plan("drums.count", "170").unwrap().drums.count, 170);
    assert!((plan("drums.volume", "30 gal").unwrap().drums.volume - 0.113_562_353_52).abs() < 1e-12);
    // without a place, every group of the list
    let wide = plan("beds.area", "20").unwrap();
    assert!(wide.beds.iter().all(|b| (b.area - 20.0).abs() < 1e-12));
    assert!((plan("beds[1].area", "20").unwrap().beds[0].area - 360.0 * 0.092_903_04).abs() < 1e-9);
    // a key that is not in the file yet, and one with a dot in its name
    assert!(
        (plan("feeding.fresh_share_limit", "0.2").unwrap().feeding.fresh_share_limit - 0.2).abs() < 1e-12
    );
    let rates = plan("rates.bed.decay_rate_protein", "0.05").unwrap().rates.clone();
    assert!(rates.iter().any(|r| r.key == "bed.decay_rate_protein" && (r.central - 0.05).abs() < 1e-12));
    let error = plan("drums.cuont", "3").unwrap_err().to_string();
    assert!(error.contains("drums.cuont: unknown key") && error.contains("did you mean `count`?"), "{error}");
    assert!(varied("site.json", &text, "beds[7].area", "3").is_err());
    assert!(varied("site.json", &text, "name.first", "3").is_err());
    assert!(varied("site.json", &text, "", "3").is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn a_damaged_file_is_read_or_told(at in 0usize..6000, cut in 0usize..40, put in "[ -~\\n\u{e9}]{0,6}") {
        let mut text = std::fs::read_to_string(file("harbour_hall.json")).unwrap();
        let start = at.min(text.len());
        let end = (start + cut).min(text.len());
        text.replace_range(start..end, &put);
        if let Err(error) = read(&text) {
            prop_assert!(!error.faults().is_empty());
            let lines = text.lines().count() + 1;
            for fault in error.faults() {
                prop_assert!((1..=lines).contains(&fault.line), "{fault:?}");
            }
            prop_assert!(error.to_string().contains("--> site.json:"), "{error}");
        }
    }
}
