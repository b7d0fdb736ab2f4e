//! Every kind of bad input through the real program: exit 2, what is wrong and where, nothing half-written, no panic.

use assert_cmd::Command;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// What the program did in a folder.
struct Answered {
    status: i32,
    stdout: String,
    stderr: String,
}

fn run_in(folder: &Path, arguments: &[&str]) -> Answered {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loamledger"));
    let output = command.current_dir(folder).args(arguments).output().expect("the program starts");
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("output is UTF-8");
    let answered = Answered {
        status: output.status.code().expect("it exits by itself"),
        stdout: text(&output.stdout),
        stderr: text(&output.stderr),
    };
    for word in ["panicked", "RUST_BACKTRACE", "unwrap()"] {
        assert!(!answered.stderr.contains(word), "{}", answered.stderr);
    }
    answered
}

fn folder() -> TempDir {
    tempfile::tempdir().expect("a folder")
}

/// A small sound scenario whose fourth line is given.
fn with(line: &str) -> String {
    let comma = if line.is_empty() { "" } else { "," };
    format!(
        r#"{{
  "name": "Small", "start": "2027-01-04", "days": 30,
  "streams": [ {{ "name": "kitchen", "amount": 50, "mix": {{ "bread": 0.4, "coffee_grounds": 0.6 }} }} ]{comma}
  {line}
}}"#
    )
}

/// Names in a folder.
fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .expect("the folder is there")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// `check` and `run` refuse `site.json` with these words and leave nothing behind.
fn refused_file(folder: &Path, parts: &[&str]) {
    let before = names(folder);
    for arguments in [&["check", "site.json"][..], &["run", "site.json", "--out", "out"]] {
        let answered = run_in(folder, arguments);
        assert_eq!(answered.status, 2, "{arguments:?}: {}", answered.stderr);
        assert!(answered.stdout.is_empty(), "{arguments:?}: {}", answered.stdout);
        for part in parts {
            assert!(answered.stderr.contains(part), "`{part}` is not in\n{}", answered.stderr);
        }
        assert_eq!(names(folder), before, "{arguments:?} left something behind");
    }
}

fn refused(text: &[u8], parts: &[&str]) {
    let folder = folder();
    fs::write(folder.path().join("site.json"), text).expect("written");
    refused_file(folder.path(), parts);
}

/// A wrong fourth line: file, line, column, key, given, allowed and hint.
fn refused_line(line: &str, parts: &[&str]) {
    refused(with(line).as_bytes(), &[&["--> site.json:4:", "allowed: "], parts].concat());
}

#[test]
fn a_sound_file_is_what_the_others_are_held_against() {
    let folder = folder();
    fs::write(folder.path().join("site.json"), with("")).expect("written");
    for arguments in [&["check", "site.json"][..], &["run", "site.json", "--out", "out"]] {
        let answered = run_in(folder.path(), arguments);
        assert_eq!(answered.status, 0, "{}", answered.stderr);
        assert!(!answered.stdout.is_empty());
    }
    // six files of figures, a workbook, and nine charts as SVG and PNG
    assert_eq!(names(&folder.path().join("out")).len(), 7 + 2 * 9);
}

#[test]
fn wrong_keys_and_types() {
    refused_line(
        r#""drums": { "count": 6, "fil_share": 0.9 }"#,
        &[
            "drums.fil_share: unknown key",
            "site.json:4:26",
            "given \"fil_share\"",
            "hint: did you mean `fill_share`?",
        ],
    );
    refused_line(
        r#""drums": { "count": true }"#,
        &["drums.count: wrong type", "site.json:4:23", "given true", "0 to 20000"],
    );
    refused_line(r#""drums": { "count": "many" }"#, &["drums.count", "given \"many\""]);
    refused_line(r#""beds": { "name": "a", "area": 3 }"#, &["beds: wrong type: an object"]);
    refused_line(
        r#""drums": { "count": 6, "vent": true }"#,
        &["drums.vent: wrong type: true or false", "given true", "allowed: valve, sealed"],
    );
    refused_line(
        r#""drums": { "count": 6, "liquor": "kep" }"#,
        &["drums.liquor: unknown word", "drained, returned, kept", "did you mean `kept`?"],
    );
    refused_line(
        r#""drums": { "count": 6, "leak": 0.5, "scraps_ground": "yes" }"#,
        &[
            "drums.leak: is out of range",
            "0 to 0.02",
            "drums.scraps_ground: wrong type: a text",
            "true or false",
        ],
    );
    refused_line(
        r#""grinder": { "rinse_to": "drains" }"#,
        &["grinder.rinse_to: unknown word", "beds, drain", "did you mean `drain`?"],
    );
    refused_line(
        r#""drums": { "count": 60, "count": 6 }"#,
        &["drums.count: this key is given twice", "hint: remove one"],
    );
}

#[test]
fn wrong_numbers_and_units() {
    refused_line(r#""drums": { "count": -3 }"#, &["drums.count: is negative", "given -3", "0 to 20000"]);
    refused_line(
        r#""drums": { "count": 6, "fill_share": 75 }"#,
        &["drums.fill_share: is out of range", "given 75", "0.05 to 1", "hint: percent given? write 0.75"],
    );
    refused_line(
        r#""drums": { "count": 1e999 }"#,
        &["drums.count: is out of range", "given 1e999", "0 to 20000"],
    );
    refused_line(
        r#""grinder": { "rate": "300 kgs/hrz" }"#,
        &["grinder.rate: unknown unit `kgs/hrz`", "given \"300 kgs/hrz\"", "hint: did you mean `kgs/hr`?"],
    );
    refused_line(r#""stock": { "mass": "3 yd3" }"#, &["stock.mass", "measures volume"]);
}

#[test]
fn wrong_names_and_shares() {
    refused_line(
        r#""bulking": { "ingredient": "cardbord_corrugated" }"#,
        &["bulking.ingredient: unknown ingredient", "hint: did you mean `cardboard_corrugated`?"],
    );
    let shares = with("").replace("0.6", "0.5");
    refused(
        shares.as_bytes(),
        &[
            "streams[0].mix: the shares sum to 0.9",
            "site.json:3:",
            "allowed: shares of wet mass that sum to 1",
            "hint: ",
        ],
    );
}

#[test]
fn wrong_leaching_and_bound_protein() {
    refused_line(
        r#""beds": [ { "name": "bed", "area": 10, "leaching": 0.9 } ]"#,
        &["leaching: is out of range", "given 0.9", "0 to 0.8"],
    );
    refused_line(
        r#""beds": [ { "name": "bed", "area": 10, "leaching": "a lot" } ]"#,
        &["leaching", "given \"a lot\""],
    );
    refused_line(
        r#""beds": [ { "name": "bed", "area": 10, "leeching": 0.2 } ]"#,
        &["leeching: unknown key", "hint: did you mean `leaching`?"],
    );
    refused_line(
        r#""ingredients": { "own": { "like": "bread", "bound_protein": 1.4 } }"#,
        &["bound_protein: is out of range", "given 1.4"],
    );
    refused_line(
        r#""ingredients": { "own": { "like": "bread", "calcium": -1 } }"#,
        &["calcium: is negative", "given -1"],
    );
}

#[test]
fn wrong_classes_of_carbohydrate() {
    refused_line(
        r#""ingredients": { "own": { "like": "bread", "free_sugar": 1.4 } }"#,
        &["free_sugar: is out of range", "given 1.4", "0 to 1", "hint: "],
    );
    refused_line(
        r#""ingredients": { "own": { "like": "bread", "free_sugar": "12 kg" } }"#,
        &["free_sugar", "given \"12 kg\""],
    );
    refused_line(
        r#""ingredients": { "own": { "like": "bread", "cooked_starch": -0.1 } }"#,
        &["cooked_starch: is negative", "given -0.1"],
    );
    refused_line(
        r#""ingredients": { "own": { "like": "bread", "cooked_starch": true } }"#,
        &["cooked_starch", "given true"],
    );
    refused_line(
        r#""ingredients": { "own": { "like": "bread", "cooked_strach": 1 } }"#,
        &["cooked_strach: unknown key", "hint: did you mean `cooked_starch`?"],
    );
    refused_line(
        r#""rates": { "fermentation.fermentable_cooked_starch_share": 1.2 }"#,
        &["fermentable_cooked_starch_share\": is out of range", "given 1.2", "published are 0.03 to 0.35"],
    );
    refused_line(
        r#""rates": { "ingredients.bread.free_sugar": 1.2 }"#,
        &["ingredients.bread.free_sugar\": is out of range", "given 1.2"],
    );
    refused_line(
        r#""rates": { "fermentation.fermentable_share_of_sugars": 0.3 }"#,
        &["fermentable_share_of_sugars\": unknown rate", "allowed: keys of the literature tables"],
    );
}

#[test]
fn wrong_rates_of_liquor_and_ammonia() {
    refused_line(
        r#""rates": { "fermentation.liquor_met_share": 1.5 }"#,
        &["liquor_met_share\": is out of range", "given 1.5", "published are 0.2 to 0.9"],
    );
    refused_line(
        r#""rates": { "fermentation.liquor_balanced_moisture": -0.1 }"#,
        &["liquor_balanced_moisture\": is negative", "given -0.1"],
    );
    refused_line(
        r#""rates": { "fermentation.ammonia_nitrogen_rise_when_wet": "much" }"#,
        &["ammonia_nitrogen_rise_when_wet", "given \"much\""],
    );
    refused_line(
        r#""rates": { "fermentation.liquor_meets_share": 0.5 }"#,
        &["liquor_meets_share\": unknown rate", "hint: did you mean `fermentation.liquor_met_share`?"],
    );
}

#[test]
fn wrong_drains_heat_and_drying() {
    for (text, wanted) in [
        (
            r#""site": { "drains_to": "river" }"#,
            &["site.drains_to: unknown word", "undecided, sewer, tanker, land"][..],
        ),
        (r#""site": { "drains_to": "sewr" }"#, &["site.drains_to", "hint: did you mean `sewer`?"]),
        (r#""site": { "drainage_tank": -1 }"#, &["site.drainage_tank: is negative", "given -1"]),
        (r#""site": { "drainage_tank": "3 kg" }"#, &["site.drainage_tank", "given \"3 kg\"", "m3"]),
        (r#""site": { "tank_emptied_every": 0 }"#, &["site.tank_emptied_every: is out of range", "given 0"]),
        (
            r#""site": { "power_carbon": 400 }"#,
            &["site.power_carbon: is out of range", "given 400", "kg/kWh"],
        ),
        (r#""site": { "power_carbon": "0.3 kg" }"#, &["site.power_carbon", "given \"0.3 kg\"", "g/kWh"]),
        (
            r#""money": { "currency": "EUR", "water_price": -2 }"#,
            &["money.water_price: is negative", "given -2"],
        ),
        (
            r#""money": { "currency": "EUR", "drainage_price": "3 EUR" }"#,
            &["money.drainage_price", "given \"3 EUR\""],
        ),
        (
            r#""money": { "currency": "EUR", "fuel_price": "0.1 /h" }"#,
            &["money.fuel_price", "given \"0.1 /h\"", "/kWh"],
        ),
        (
            r#""screen": { "dried_by": "sun" }"#,
            &["screen.dried_by: unknown word", "air, fan, heat_pump, heat"],
        ),
        (r#""screen": { "dried_by": 3 }"#, &["screen.dried_by", "given 3"]),
        (
            r#""bulking": { "ingredient": "cardboard_corrugated", "stored_days": -1 }"#,
            &["bulking.stored_days: is negative", "given -1"],
        ),
    ] {
        refused_line(text, wanted);
    }
    let drum_room = |text: &str| format!(r#""climate": {{ "drum_room": {{ {text} }} }}"#);
    for (text, wanted) in [
        (
            r#""heated_by": "wood""#,
            &["climate.drum_room.heated_by: unknown word", "electricity, heat_pump, gas, waste_heat"][..],
        ),
        (r#""building": "insulted""#, &["climate.drum_room.building", "hint: did you mean `insulated`?"]),
        (r#""heat_transfer": 50"#, &["climate.drum_room.heat_transfer: is out of range", "given 50"]),
        (r#""floor_area": "20 m""#, &["climate.drum_room.floor_area", "given \"20 m\"", "m2"]),
        (r#""height": 0.3"#, &["climate.drum_room.height: is out of range", "given 0.3"]),
    ] {
        refused_line(&drum_room(text), wanted);
    }
}

#[test]
fn wrong_grit_and_bedding() {
    refused_line(
        r#""grit": { "mix": { "limestone": 1 } }"#,
        &["grit.mix.limestone: unknown ingredient", "hint: did you mean `ground_limestone`?"],
    );
    refused_line(
        r#""grit": { "mix": { "sand": 0.5, "soil": 0.4 } }"#,
        &[
            "grit.mix: the shares sum to 0.900000",
            "allowed: shares of wet mass that sum to 1",
            "hint: in the same proportions: sand 0.5556, soil 0.4444",
        ],
    );
    refused_line(r#""grit": { "per_dry_feed": 0.02 }"#, &["grit.mix: is missing"]);
    refused_line(r#""grit": { "mix": {} }"#, &["grit.mix: the shares sum to 0"]);
    refused_line(r#""grit": "lime""#, &["grit", "an object in braces"]);
    refused_line(
        r#""grit": { "mix": { "sand": 1 }, "per_dry_feed": 3 }"#,
        &["grit.per_dry_feed: is out of range", "given 3", "hint: "],
    );
    refused_line(
        r#""grit": { "mix": { "sand": 1 }, "per_dry_fed": 0.03 }"#,
        &[
            "grit.per_dry_fed: unknown key",
            "allowed: note, mix, per_dry_feed",
            "hint: did you mean `per_dry_feed`?",
        ],
    );
    refused_line(
        r#""money": { "currency": "EUR", "grit_price": "3 EUR" }"#,
        &["money.grit_price", "given \"3 EUR\""],
    );
    let bedding = |text: &str| format!(r#""beds": [ {{ "name": "a", "area": 1, "bedding": {text} }} ]"#);
    refused_line(
        &bedding(r#"{ "ingredient": "coconut_coir", "mix": { "soil": 1 } }"#),
        &["beds[0].bedding: has both ingredient and mix", "allowed: either `ingredient` or `mix`"],
    );
    refused_line(
        &bedding(r#"{ "mix": { "coconut_coir": 0.7, "soil": 0.4 } }"#),
        &["beds[0].bedding.mix: the shares sum to 1.1", "hint: in the same proportions: coconut_coir 0.6364"],
    );
    refused_line(
        &bedding(r#"{ "mix": { "coconut_coir": 0.7, "soli": 0.3 } }"#),
        &["beds[0].bedding.mix.soli: unknown ingredient", "hint: did you mean `soil`?"],
    );
    refused_line(&bedding(r#"{ "mix": {} }"#), &["beds[0].bedding.mix: the shares sum to 0"]);
    refused_line(
        &bedding(r#"{ "mix": { "soil": "0.3 kg" } }"#),
        &["beds[0].bedding.mix.soil", "measures mass"],
    );
}

#[test]
fn figures_of_calcium_that_cannot_be() {
    refused_line(
        r#""ingredients": { "mine": { "like": "leaves_autumn", "calcium": 0.5 } }"#,
        &["ingredients.mine.calcium: is out of range", "given 0.5", "0 to 0.41"],
    );
    refused_line(
        r#""ingredients": { "mine": { "like": "leaves_autumn", "ash": 0.05, "calcium": 0.06 } }"#,
        &["ingredients.mine.ash: ash is 0.0500", "allowed: ash of at least"],
    );
}

#[test]
fn rates_that_cannot_be() {
    refused_line(
        r#""rates": { "bed.decay_rate_protien": 1 }"#,
        &["unknown rate", "hint: did you mean `bed.decay_rate_protein`?"],
    );
    refused_line(
        r#""rates": { "bed.decay_rate_protein": -0.1 }"#,
        &[
            "rates.\"bed.decay_rate_protein\": is negative",
            "given -0.1",
            "allowed: above 0, in 1/d",
            "published are",
            "hint: ",
        ],
    );
    refused_line(
        r#""rates": { "bed.decay_rate_protein": 0 }"#,
        &["is out of range", "given 0", "hint: for next to nothing write"],
    );
    refused_line(
        r#""rates": { "worms.cocoon_hatch_share": 73 }"#,
        &["is out of range", "above 0 to 1", "hint: percent given? write 0.73"],
    );
    refused_line(
        r#""rates": { "worms.cocoon_hatch_share": { "central": 0.7, "low": 0.5, "high": 1.5 } }"#,
        &["rates.\"worms.cocoon_hatch_share\".high: is out of range", "given 1.5"],
    );
    refused_line(
        r#""rates": { "bed.decay_rate_protein": { "central": 1, "low": 0, "high": 2, "shape": "lognormal" } }"#,
        &[
            "shape lognormal needs values above zero",
            "given \"lognormal\"",
            "allowed: three numbers that suit the shape",
        ],
    );
    refused_line(
        r#""rates": { "bed.decay_rate_protein": { "central": 1, "low": 0.5, "high": 2, "shape": "triangel" } }"#,
        &["unknown shape", "hint: did you mean `triangular`?"],
    );
}

#[test]
fn a_run_whose_records_would_not_fit_into_memory() {
    let beds = r#""beds": [ { "name": "a", "count": 2000, "area": 1 } ]"#;
    let long = with(beds).replace("\"days\": 30,", "\"days\": 3650,");
    let said = ["days: 2000 beds over 3650 days make 7300000 records", "at most 5000000", "hint: equal beds"];
    refused(long.as_bytes(), &said);
}

#[test]
fn own_ingredients_that_contradict_themselves() {
    // the ash of bread, 0.041 at most, would have to hold this salt
    refused_line(
        r#""ingredients": { "rolls": { "like": "bread", "salt": 0.05 } }"#,
        &[
            "ingredients.rolls.salt: ash is 0.0410",
            "site.json:4:56",
            "given 0.05",
            "allowed: ash of at least",
            "hint: what is left out is filled from `bread`",
        ],
    );
    // 0.159 kg N per kg protein: 0.2 would be 1.26 kg protein per kg dry mass
    refused_line(
        r#""ingredients": { "rolls": { "like": "bread", "nitrogen": 0.19 } }"#,
        &["ingredients.rolls.nitrogen", "given 0.19", "allowed: nitrogen of at most"],
    );
    refused_line(
        r#""ingredients": { "rolls": { "like": "bread", "protein": 0.7, "sugars": 0.6 } }"#,
        &["ingredients.rolls", "sum to 1.3", "at most 1"],
    );
    // a figure of the library replaced by one that cannot be, and by one that does not fit the others
    refused_line(
        r#""rates": { "ingredients.bread.moisture": 1 }"#,
        &["moisture is 1; it can be 0 to 0.9998", "site.json:4:", "hint: `loamledger facts bread`"],
    );
    refused_line(
        r#""rates": { "ingredients.bread.nitrogen": 0.9 }"#,
        &["nitrogen is 0.9000 kg per kg dry mass, pure protein would hold", "hint: "],
    );
    // ranges that some draw cannot have: soil of 2 % organic matter holds 0.0032, compost of 30 % holds 0.048
    let drawn = ", with ash and nitrogen drawn at the high ends of their ranges";
    refused_line(
        r#""ingredients": { "loam": { "like": "soil", "nitrogen": 0.004 } }"#,
        &["ingredients.loam.nitrogen: nitrogen is 0.0040", drawn, "given 0.004", "hint: "],
    );
    refused_line(
        r#""rates": { "ingredients.compost_finished.nitrogen": { "low": 0.01, "central": 0.02, "high": 0.06 } }"#,
        &["nitrogen is 0.0600", drawn, "figures that fit together"],
    );
    // one fault is told once, and other faults beside it
    let folder = folder();
    let text =
        with(r#""ingredients": { "rolls": { "like": "bread", "salt": 0.05 } }, "drums": { "count": -1 }"#);
    fs::write(folder.path().join("site.json"), text).expect("written");
    let answered = run_in(folder.path(), &["check", "site.json"]);
    assert_eq!(answered.stderr.matches("error: ").count(), 2, "{}", answered.stderr);
}

#[test]
fn files_that_are_no_scenario() {
    refused(b"", &["the file is empty", "site.json:1:1", "allowed: ", "hint: `loamledger start FILE`"]);
    refused(b" \n\t\n", &["the file is empty"]);
    refused(
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
        &["site.json: is not UTF-8 text", "hint: this looks like a picture"],
    );
    refused(b"name: Small\ndays: 3\n", &["not JSON", "site.json:1:", "hint: "]);
    refused(
        format!("{} x", with("")).as_bytes(),
        &["trailing characters", "site.json:5:3", "hint: the file goes on"],
    );
    let deep = format!("{}1{}", "[".repeat(50_000), "]".repeat(50_000));
    refused(deep.as_bytes(), &["nested deeper than 32 levels", "site.json:1:33", "at most 32 levels"]);
    refused(&with("").as_bytes()[..60], &["not JSON", "hint: a closing bracket or quote is missing"]);
    refused(b"[]", &["wrong type: a list", "an object in braces"]);
    refused(b"null", &["wrong type: null"]);
}

#[test]
fn a_huge_file_is_refused_without_being_read() {
    let folder = folder();
    let file = fs::File::create(folder.path().join("site.json")).expect("made");
    // sparse: takes no room on the disk
    file.set_len(100_000_000).expect("lengthened");
    refused_file(
        folder.path(),
        &["larger than a scenario file may be", "given 95.4 MiB, allowed at most 8.0 MiB", "hint: "],
    );
}

#[test]
fn one_long_line_is_not_printed_whole() {
    let folder = folder();
    let long = "x".repeat(2_000_000);
    let text = with(&format!(r#""note": "{long}", "dais": 3"#));
    fs::write(folder.path().join("site.json"), text).expect("written");
    let answered = run_in(folder.path(), &["check", "site.json"]);
    assert_eq!(answered.status, 2);
    assert!(answered.stderr.contains("dais: unknown key"));
    assert!(answered.stderr.len() < 20_000, "{} bytes", answered.stderr.len());
}

#[test]
fn missing_files_and_folders() {
    let folder = folder();
    refused_file(folder.path(), &["site.json: there is no such file", "hint: check the spelling"]);
    fs::create_dir(folder.path().join("site.json")).expect("made");
    refused_file(folder.path(), &["site.json: is a folder", "hint: name a .json file inside it"]);
}

#[test]
fn folders_that_cannot_take_results() {
    let folder = folder();
    fs::write(folder.path().join("site.json"), with("")).expect("written");
    fs::write(folder.path().join("taken"), "mine").expect("written");
    for (out, parts) in [
        ("taken", &["taken: is a file, not a folder", "hint: name another folder"]),
        (
            "taken/deep/er",
            &["taken/deep/er: cannot be a folder, taken is a file", "hint: name another folder"],
        ),
    ] {
        let answered = run_in(folder.path(), &["run", "site.json", "--out", out]);
        assert_eq!(answered.status, 2, "{}", answered.stderr);
        assert!(answered.stdout.is_empty());
        for part in parts {
            assert!(answered.stderr.contains(part), "{}", answered.stderr);
        }
    }
    assert_eq!(names(folder.path()), ["site.json", "taken"]);
    assert_eq!(fs::read_to_string(folder.path().join("taken")).expect("read"), "mine");
    // a folder where a result file goes
    fs::create_dir_all(folder.path().join("out/result.json")).expect("made");
    let answered = run_in(folder.path(), &["run", "site.json", "--out", "out"]);
    assert_eq!(answered.status, 2, "{}", answered.stderr);
    assert_eq!(names(&folder.path().join("out")), ["result.json"]);
}

/// The small scenario with a few drums, beds and worms, less one of them, and with something else.
fn site_without(left_out: &str, put: &str) -> String {
    let parts = [
        ("drums", r#""drums": { "count": 20 }"#),
        ("beds", r#""beds": [ { "name": "bed", "count": 2, "area": 10 } ]"#),
        ("stock", r#""stock": { "mass": 40 }"#),
    ];
    let kept = parts.iter().filter(|(name, _)| *name != left_out).map(|(_, text)| *text);
    let lines: Vec<&str> = kept.chain([put]).filter(|text| !text.is_empty()).collect();
    with(&lines.join(", "))
}

/// A legal site runs, and page and object carry this serious warning.
fn warned(text: &str, code: &str, words: &str) {
    let folder = folder();
    fs::write(folder.path().join("site.json"), text).expect("written");
    for command in ["check", "run"] {
        let answered = run_in(folder.path(), &[command, "site.json"]);
        assert_eq!(answered.status, 0, "{code}: {}", answered.stderr);
        let page = &answered.stdout;
        assert!(page.contains(&format!("serious: {words}")), "{command} {code}: {page}");
        assert!(!page.contains("NaN") && !page.contains("inf "), "{command} {code}: {page}");
    }
    let answered = run_in(folder.path(), &["run", "site.json", "--json"]);
    let whole: serde_json::Value = serde_json::from_str(&answered.stdout).expect("JSON");
    let warnings = whole["warnings"].as_array().expect("a list");
    assert!(warnings.iter().any(|w| w["code"] == code), "{code}: {warnings:?}");
    assert!(whole["balance"]["largest_relative_residual"].as_f64().expect("a number") <= 1e-9);
}

#[test]
fn legal_though_senseless_sites_run_and_say_what_follows() {
    let no_worms = "the site has no worms";
    warned(&site_without("stock", ""), "no_worms", no_worms);
    warned(&site_without("stock", r#""stock": { "mass": 0 }"#), "no_worms", no_worms);
    let no_beds = "the site has no beds";
    warned(&site_without("beds", ""), "no_beds", no_beds);
    let none = r#""beds": [ { "name": "bed", "count": 0, "area": 5 } ]"#;
    warned(&site_without("beds", none), "no_beds", no_beds);
    let no_drums = "the site has no drums";
    warned(&site_without("drums", ""), "no_drums", no_drums);
    warned(&site_without("drums", r#""drums": { "count": 0 }"#), "no_drums", no_drums);
    let no_intake = "no stream brings any scraps";
    let idle = site_without("", "").replace("\"amount\": 50", "\"amount\": 0");
    warned(&idle, "no_intake", no_intake);
    let empty = r#"{ "name": "n", "start": "2027-01-04", "days": 1, "streams": [] }"#;
    warned(empty, "no_intake", no_intake);
}

#[test]
fn drums_that_leak_spoil_by_air() {
    let folder = folder();
    let page = |drums: &str| {
        let text =
            site_without("drums", &format!(r#""drums": {{ "count": 20, "minimum_days": 28{drums} }}"#));
        fs::write(folder.path().join("site.json"), text.replace("\"days\": 30", "\"days\": 120"))
            .expect("written");
        let answered = run_in(folder.path(), &["run", "site.json"]);
        assert_eq!(answered.status, 0, "{}", answered.stderr);
        answered.stdout
    };
    assert!(!page("").contains("air got in"));
    let leaking = page(r#", "leak": 0.02"#);
    assert!(leaking.contains("spoiled (air got in)"), "{leaking}");
}
