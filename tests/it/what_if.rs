//! Variants on the same draws: zero for equal ones, effects that a reckoning expects, density, bad input.

use assert_cmd::Command;
use loamledger::monte_carlo::{Study, ensemble};
use loamledger::scenario;
use loamledger::study::what_if::{
    self, Comparison, Densities, DensityFigure, VariedKey, WhatIf, WhatIfError,
};
use loamledger::study::{Draws, Watch};
use loamledger::trace::figures;
use std::process::Stdio;
use std::time::Duration;
use std::{fs, thread};

/// A worked site cut to so many days.
fn short(name: &str, days: u32) -> String {
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name);
    let text = fs::read_to_string(file).expect("a worked site");
    let mut site: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    site["days"] = days.into();
    // worms at once, so that a short run shows them; later purchases lie beyond it
    if let Some(stock) = site["stock"].as_object_mut() {
        stock.remove("arrives");
        stock.remove("top_up");
    }
    site.to_string()
}

fn ask(text: &str, vary: &[&str], figures: &[&str], draws: u64) -> Result<WhatIf, WhatIfError> {
    watched(text, vary, figures, draws, &Watch::default())
}

fn watched(
    text: &str,
    vary: &[&str],
    figures: &[&str],
    draws: u64,
    watch: &Watch,
) -> Result<WhatIf, WhatIfError> {
    let axes: Vec<VariedKey> = vary.iter().map(|v| what_if::axis(v).expect("a sound test")).collect();
    let figures: Vec<String> = figures.iter().map(|f| (*f).to_owned()).collect();
    let question = Comparison {
        fitted: None,
        name: "site.json",
        text,
        axes: &axes,
        figures: &figures,
        draws: Draws::first(5, draws, 2),
    };
    what_if::compare(&question, watch)
}

#[test]
fn equal_variants_differ_by_exactly_zero() {
    let text = short("harbour_hall.json", 60);
    // 56 is what the file says; the second writes the same hours in other words
    for vary in ["drums.count=56", "grinder.hours=120 min"] {
        let answer = ask(&text, &[vary], &[], 6).expect("a sound test");
        for figure in &answer.variants[0].figures {
            let d = figure.difference;
            assert!(d.mean == 0.0 && d.low == 0.0 && d.high == 0.0 && !d.clear, "{vary}: {d:?}");
        }
    }
}

#[test]
fn effects_are_clear_of_noise_and_no_effect_is_zero() {
    let text = short("harbour_hall.json", 90);
    let answer =
        ask(&text, &["drums.count=20,60,400"], &["turned_away_share", "intake"], 12).expect("a sound test");
    let difference = |variant: usize, figure: usize| answer.variants[variant].figures[figure].difference;
    // 20 drums hold 20 x 127 kg, ten days of 260 kg, and each is needed for 14 at least: much is turned away in every draw
    assert!(difference(0, 0).clear && difference(0, 0).low > 0.05, "{:?}", difference(0, 0));
    assert!(difference(2, 0).mean <= 0.0);
    // the weather and the intake of a draw do not depend on the drums
    assert!((0..3).all(|v| difference(v, 1).mean == 0.0));
    assert_eq!(answer.figures[0].figure, "turned_away_share");
}

#[test]
fn draws_that_drums_cannot_change_are_those_of_each_site_alone() {
    let text = short("harbour_hall.json", 90);
    let (vary, names) = (["drums.count=30,44,50,400"], ["turned_away_share", "opened_ph", "stock_end"]);
    let answer = ask(&text, &vary, &names, 25).expect("a sound test");
    for variant in &answer.variants {
        let own = scenario::varied("site", &text, "drums.count", &variant.values[0]).expect("a sound test");
        let plan = scenario::parse("site", &own).expect("a sound test").without_later_years();
        let study = Study::of(&plan).expect("a sound test");
        let run = ensemble::run(&plan, &study, &Draws::first(5, 25, 1), &Watch::default());
        for (figure, name) in variant.figures.iter().zip(names) {
            let place = figures::place(name).expect("a figure");
            let values: Vec<f64> = run.rows.iter().filter_map(|row| row.figures[place].value()).collect();
            let mean = values.iter().sum::<f64>() / values.len() as f64;
            assert_eq!(figure.mean.to_bits(), mean.to_bits(), "{name} with {:?} drums", variant.values);
        }
    }
}

#[test]
fn two_keys_make_a_grid() {
    let text = short("mountain_school.json", 60);
    let answer =
        ask(&text, &["drums.count=10,30", "stock.mass=60..180/3"], &["fed"], 4).expect("a sound test");
    assert_eq!(answer.variants.len(), 6);
    assert_eq!(answer.variants[1].values, ["10", "120"]);
    assert!(answer.density.is_none());
    // a density follows the beds of its own variant: twice the area, twice the worms
    let answer =
        ask(&text, &["stock.density=2", "beds.area=12,24"], &["stock_mean"], 4).expect("a sound test");
    let stock: Vec<f64> = answer.variants.iter().map(|v| v.figures[0].mean).collect();
    assert!((1.6..2.4).contains(&(stock[1] / stock[0])), "{stock:?}");
}

/// A figure of stocking densities.
fn figure<'a>(of: &'a Densities, name: &str) -> &'a DensityFigure {
    of.figures.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("no {name}"))
}

#[test]
fn stocking_density_reads_well_on_all_worked_sites() {
    for name in ["harbour_hall.json", "mountain_school.json", "valley_packhouse.json"] {
        let text = short(name, 75);
        // in any order, in any unit, twice
        let vary = "stock.density=8,0.5,2 kg/m2,12,8";
        let answer =
            ask(&text, &[vary], &["fed", "stock_end", "turned_away_share"], 6).expect("a sound test");
        let of = answer.density.as_ref().expect("density was varied");
        assert_eq!(of.densities.len(), 4, "{name}");
        for (density, wanted) in of.densities.iter().zip([0.5, 2.0, 8.0, 12.0]) {
            assert!((density - wanted).abs() < 1e-9, "{name}");
        }
        assert_eq!((of.first_days, of.settled_share.len(), of.meeting), (75, 0, None), "{name}");
        let means = |figure_name: &str| -> Vec<f64> {
            figure(of, figure_name).first.iter().map(|band| band.mean).collect()
        };
        let eaten = means("eaten");
        // four times the worms eat more
        assert!(eaten[1] > 1.5 * eaten[0], "{name}: {eaten:?}");
        // thin starts grow, and keep their worms better than overfull ones
        let (growth, survival) = (means("growth"), means("survival"));
        assert!(growth[0] > growth[3] && survival[0] > survival[3], "{name}: {growth:?} {survival:?}");
        // stock per area is that of the figure of a draw
        let area = of.bought[1] / of.densities[1];
        let two = answer.variants.iter().find(|v| v.values[0] == "2 kg/m2").expect("a variant");
        assert!(
            (means("stock_end")[1] * area - two.figures[1].mean).abs() < 1e-6 * two.figures[1].mean,
            "{name}"
        );
        assert!((means("turned_away_share")[1] - two.figures[2].mean).abs() < 1e-12, "{name}");
        for figure in &of.figures {
            assert!(figure.settled.is_empty(), "{name}: {}", figure.name);
            assert!(
                figure.first.iter().all(|b| b.low <= b.mean && b.mean <= b.high),
                "{name}: {}",
                figure.name
            );
        }
        let has_money = of.figures.iter().any(|f| f.name == "worth");
        assert_eq!(has_money, of.currency.is_some(), "{name}");
        if has_money {
            // by hand: worms bought to starve or to be sold again lose the year what they are worth at sale
            let surplus = means("surplus");
            assert!(surplus[3] < surplus[1] - 10.0, "{name}: {surplus:?}");
        }
    }
}

#[test]
fn starts_that_meet_are_said_to_change_only_the_years_before() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut site: serde_json::Value = serde_json::from_str(&short("harbour_hall.json", 365)).expect("JSON");
    // nothing sold at harvest, so that stocks find their own level
    site["screen"].as_object_mut().expect("a screen").remove("stocking_ceiling");
    fs::write(folder.path().join("site.json"), site.to_string()).expect("written");
    let compare = ["compare", "site.json", "--vary", "stock.density=1,4,16", "--draws", "2"];
    let more = ["--figure", "fed", "--out", "out"];
    let (status, page, told) = program(folder.path(), &[&compare[..], &more].concat());
    assert_eq!(status, 0, "{told}");
    let json = fs::read_to_string(folder.path().join("out/result.json")).expect("written");
    let of = &serde_json::from_str::<serde_json::Value>(&json).expect("JSON")["density"];
    let meeting = &of["meeting"];
    let (low, high) = (meeting["low"].as_f64().expect("met"), meeting["high"].as_f64().expect("met"));
    assert!(meeting["from"] == 1.0 && meeting["to"] == 16.0 && high - low <= 0.05 * high, "{meeting}");
    let by_year = |n: usize| of["stock_by_year"][n].as_array().expect("years").clone();
    // at the end of the first year they have not met yet
    let first = |n: usize| by_year(n)[0].as_f64().expect("a stock");
    assert!((first(2) - first(0)).abs() > 0.05 * first(0).max(first(2)) || meeting["year"] == 1, "{of}");
    for part in [
        "Stocking density",
        "settled year",
        "Starts from 1 to 16 kg/m2 meet at",
        "buying more than 1 kg/m2 changes",
        "The scenario itself stocks 1.85 kg/m2",
        "Net present value",
    ] {
        // lines are wrapped
        let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(part), "{part}: {page}");
    }
    assert!(page.lines().all(|line| line.chars().count() <= 120), "{page}");
    let table = fs::read_to_string(folder.path().join("out/density.csv")).expect("written");
    // a line for each figure of each density
    assert_eq!(table.lines().count(), 1 + 3 * of["figures"].as_array().expect("figures").len());
    assert!(folder.path().join("out/chart_density.svg").is_file());
}

#[test]
fn a_stopped_comparison_has_the_same_draws_of_all() {
    let text = short("harbour_hall.json", 20);
    let vary = ["drums.count=20,72"];
    let stopped = Watch::default();
    stopped.stop();
    assert_eq!(watched(&text, &vary, &["fed"], 40, &stopped), Err(WhatIfError::Stopped));
    let watch = Watch::default();
    // past the first turn of 20 draws of the base and two variants
    let partial = thread::scope(|scope| {
        scope.spawn(|| {
            while watch.done() < 70 {
                thread::yield_now();
            }
            watch.stop();
        });
        watched(&text, &vary, &["fed"], 4000, &watch).expect("a partial answer")
    });
    assert!(partial.partial && partial.asked == 4000 && partial.draws < 4000 && partial.draws % 20 == 0);
    // the same as if so many had been asked for
    let whole = ask(&text, &vary, &["fed"], partial.draws).expect("a sound test");
    assert_eq!((&whole.variants, &whole.figures), (&partial.variants, &partial.figures));
    assert!(!whole.partial);
}

#[test]
fn wrong_comparisons_are_reported() {
    let text = short("harbour_hall.json", 10);
    let told = |vary: &[&str], figures: &[&str], part: &str| {
        let error = ask(&text, vary, figures, 4).expect_err(part).to_string();
        assert!(error.contains(part), "{vary:?}: {error}");
    };
    told(&["drums.cuont=3"], &[], "did you mean `count`?");
    told(&["drums.count=-3"], &[], "drums.count: is negative");
    told(&["beds[9].area=3"], &[], "leads to nothing");
    told(&["drums.count=3", "drums.count=4"], &[], "varied twice");
    told(&["drums.count=1..400/400", "stock.mass=1,2"], &[], "800 variants");
    for density in ["3 kg", "0", "-1", "nan", "1e9"] {
        told(&[&format!("stock.density={density}")], &[], "stock.density");
    }
    let error = ask(&text, &["drums.count=3"], &["feed"], 4).unwrap_err();
    assert!(matches!(error, WhatIfError::UnknownFigure { nearest: Some("fed"), .. }), "{error:?}");
    assert!(matches!(ask(&text, &["drums.count=3"], &[], 1), Err(WhatIfError::TooFewDraws(1))));
}

/// The program in a folder that holds a short worked site.
fn program(folder: &std::path::Path, arguments: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loamledger"));
    let output = command.current_dir(folder).args(arguments).output().expect("it starts");
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("UTF-8");
    (output.status.code().expect("it exits"), text(&output.stdout), text(&output.stderr))
}

#[test]
fn compare_and_size_answer_on_the_command_line() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("site.json"), short("mountain_school.json", 40)).expect("written");
    let compare = ["compare", "site.json", "--vary", "stock.density=1,3", "--draws", "4"];
    let (status, page, _) = program(folder.path(), &compare);
    assert_eq!(status, 0);
    for part in ["Stocking density", "What follows from these tables", "of the base", "clear"] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert!(page.lines().all(|line| line.chars().count() <= 120), "{page}");
    let (_, json, notes) = program(folder.path(), &[&compare[..], &["--json", "--out", "results"]].concat());
    let file = |name: &str| fs::read_to_string(folder.path().join("results").join(name)).expect("written");
    assert_eq!(json, file("result.json"));
    assert_eq!(page, file("compare.txt"));
    assert_eq!(file("compare.csv").lines().count(), 1 + 2 * 6);
    assert!(notes.contains("compare.csv"));

    let (status, _, told) = program(folder.path(), &["compare", "site.json", "--vary", "drums.count=2..8/0"]);
    assert!(status == 2 && told.contains("no points"), "{told}");
    let (status, _, told) =
        program(folder.path(), &["compare", "site.json", "--vary", "drums.count=3", "--figure", "feed"]);
    assert!(status == 2 && told.contains("did you mean `fed`?"), "{told}");
    // forty days have no settled year, by which a site without targets is sized
    let (status, _, told) = program(folder.path(), &["size", "site.json"]);
    assert!(status == 2 && told.contains("settled_year.most_years"), "{told}");

    // what forty days can tell of a site
    let mut asked: serde_json::Value =
        serde_json::from_str(&short("mountain_school.json", 40)).expect("JSON");
    asked["sizing"] = serde_json::json!({ "targets": [{ "figure": "turned_away_share", "at_most": 0.02 }] });
    fs::write(folder.path().join("asked.json"), asked.to_string()).expect("written");
    let (status, _, told) = program(folder.path(), &["size", "asked.json", "--verify", "5"]);
    assert!(status == 2 && told.contains("--draws"), "{told}");
    let size = ["size", "asked.json", "--draws", "20", "--verify", "30", "--out", "sized"];
    let (status, page, told) = program(folder.path(), &size);
    assert_eq!(status, 0, "{told}");
    for part in [
        "Sizes",
        "Targets",
        "Other risks",
        "Three sites",
        "One step more or less",
        "Cautions",
        "Buying or growing the stock",
        "Comparison with published rules",
    ] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert!(page.lines().all(|line| line.chars().count() <= 125), "{page}");
    for name in ["sizes.csv", "sites.csv", "units.csv", "start_up.csv", "result.json", "size.txt"] {
        assert!(folder.path().join("sized").join(name).is_file(), "{name}");
    }
    // no bed is colder than the room: an answer of no, with the nearest
    let mut cold: serde_json::Value = serde_json::from_str(&short("mountain_school.json", 40)).expect("JSON");
    cold["sizing"] = serde_json::json!({ "targets": [{ "figure": "bed_hottest", "at_most": 1 }] });
    fs::write(folder.path().join("cold.json"), cold.to_string()).expect("written");
    let cold = ["size", "cold.json", "--draws", "20", "--verify", "30", "--units", "us", "--out", "cold"];
    let (status, page, told) = program(folder.path(), &cold);
    assert!(status == 1 && told.contains("no site that was tried meets the targets"), "{told}");
    for part in ["Why not, and what would help", "this can be promised instead", "°F", "Cautions"] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert!(!page.contains("°C") && !page.contains(" kg"), "{page}");
    let file = fs::read_to_string(folder.path().join("cold/size.txt")).expect("a no has files too");
    assert_eq!(page, file);
}

/// The program with Ctrl-C once its result folder is there and it has worked a little.
#[cfg(unix)]
fn interrupted(folder: &std::path::Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let child = std::process::Command::new(env!("CARGO_BIN_EXE_loamledger"))
        .current_dir(folder)
        .args(arguments)
        .args(["--out", arguments[0]])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    for _ in 0..1500 {
        if folder.join(arguments[0]).exists() {
            break;
        }
        thread::sleep(Duration::from_millis(20));
    }
    // time for some draws, far too little for all
    thread::sleep(Duration::from_millis(1500));
    let sent = std::process::Command::new("kill").args(["-INT", &child.id().to_string()]).status();
    assert!(sent.expect("kill is there").success());
    let output = child.wait_with_output().expect("it ends");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code(), text(&output.stdout), text(&output.stderr))
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_both_with_a_partial_answer() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut site: serde_json::Value = serde_json::from_str(&short("harbour_hall.json", 20)).expect("JSON");
    site["sizing"] = serde_json::json!({ "targets": [{ "figure": "turned_away_share", "at_most": 0.02 }] });
    fs::write(folder.path().join("site.json"), site.to_string()).expect("written");
    let compare = ["compare", "site.json", "--vary", "drums.count=20,60", "--draws", "90000"];
    let (status, page, told) = interrupted(folder.path(), &compare);
    assert_eq!(status, Some(1), "{told}");
    assert!(page.contains("PARTIAL") && told.contains("of 90000 draws of each site"), "{told}{page}");
    let json = fs::read_to_string(folder.path().join("compare/result.json")).expect("written");
    assert!(json.contains("\"partial\": true"));
    let size = ["size", "site.json", "--draws", "90000", "--verify", "90000"];
    let (status, page, told) = interrupted(folder.path(), &size);
    assert_eq!(status, Some(1), "{told}");
    assert!(
        page.is_empty() && told.contains("stopped before the answer") && told.contains("hint:"),
        "{told}"
    );
}
