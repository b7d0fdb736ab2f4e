//! Ensembles: many draws on any threads and in any shards, what is said of them, and what is told when they fail.

use crate::cli::here;
use loamledger::monte_carlo::bands::SERIES;
use loamledger::monte_carlo::shard::{self, MergeError, Shard, text_hash};
use loamledger::monte_carlo::summary::{self, ErrorRule, Ranks};
use loamledger::monte_carlo::{Days, Study, distribution, ensemble};
use loamledger::quantity::Shape;
use loamledger::report::chart::DRAWS_CHARTS;
use loamledger::report::draw::ENDINGS;
use loamledger::scenario::{self, Plan};
use loamledger::study;
use loamledger::study::uncertainty::{self, UncertaintyError, central_draw};
use loamledger::study::{Draws, Watch};
use loamledger::trace::figures;
use serde_json::Value;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;
use std::{fs, thread};

const SITES: [&str; 3] = [
    include_str!("../../scenarios/harbour_hall.json"),
    include_str!("../../scenarios/mountain_school.json"),
    include_str!("../../scenarios/valley_packhouse.json"),
];

pub(crate) fn plan_of(text: &str) -> Plan {
    scenario::parse("test.json", text).unwrap_or_else(|e| panic!("{e}"))
}

/// A worked site with keys set.
pub(crate) fn site(text: &str, changes: &[(&str, &str)]) -> String {
    changes.iter().fold(text.to_owned(), |text, (key, value)| {
        scenario::varied("test.json", &text, key, value).unwrap_or_else(|e| panic!("{e}"))
    })
}

/// The harbour site over its first 45 days; worms come on day 28, or at once where the run is shorter.
pub(crate) fn short(changes: &[(&str, &str)]) -> String {
    let text = site(&site(SITES[0], &[("days", "45")]), changes);
    let days = serde_json::from_str::<Value>(&text).expect("JSON")["days"].as_u64().expect("days");
    if days > 28 { text } else { site(&text, &[("stock.arrives", "2027-01-05")]) }
}

/// The same with every drawn rate fixed at its central value but some, and no chance from day to day.
pub(crate) fn fixed_but(text: &str, free: &[&str]) -> String {
    let mut root: Value = serde_json::from_str(text).expect("JSON");
    let study = Study::of(&plan_of(text)).expect("a sound plan");
    let fixed = study.quantities().iter().filter(|q| !free.contains(&q.key));
    root["rates"] = fixed.map(|q| (q.key.to_owned(), Value::from(q.best))).collect();
    let text = serde_json::to_string(&root).expect("JSON");
    site(&text, &[("streams.daily_variation", "0"), ("climate.day_to_day", "0")])
}

pub(crate) fn first(draws: u64, threads: usize) -> Draws {
    Draws::first(5, draws, threads)
}

/// All draws of a study.
pub(crate) fn made(text: &str, draws: &Draws) -> Shard {
    part(text, draws.to, draws)
}

/// Some draws of a study of `of` draws.
fn part(text: &str, of: u64, draws: &Draws) -> Shard {
    uncertainty::shard(&plan_of(text), &text_hash(text), of, draws, &Watch::default()).expect("draws")
}

fn figure(row: &[impl Into<Option<f64>> + Copy], name: &str) -> f64 {
    row[figures::place(name).expect("a figure of the table")].into().expect("a figure that is there")
}

fn bits(values: &[impl Into<Option<f64>> + Copy]) -> Vec<Option<u64>> {
    values.iter().map(|x| (*x).into().map(f64::to_bits)).collect()
}

// ---- what the draws are ----

#[test]
fn distributions_of_no_width_give_the_central_run_to_the_last_bit() {
    let text = short(&[]);
    let plain = study::run(&plan_of(&text)).unwrap();
    let fixed = fixed_but(&text, &[]);
    let plan = plan_of(&fixed);
    let study = Study::of(&plan).unwrap();
    assert!(study.quantities().is_empty());
    let alone = ensemble::figures_of(&plan, &study, &central_draw(&study)).unwrap();
    let sum = |of: fn(&loamledger::trace::DayRecord) -> f64| plain.daily.iter().map(of).sum::<f64>();
    let stock = plain.daily.last().unwrap().stock;
    for (name, expected) in [
        ("intake", sum(|d| d.intake)),
        ("fed", sum(|d| d.fed)),
        ("liquor", sum(|d| d.liquor)),
        ("irrigation", sum(|d| d.irrigation)),
        ("methane", plain.gases.methane),
        ("stock_end", stock),
    ] {
        assert_eq!(figure(&alone, name).to_bits(), expected.to_bits(), "{name}");
    }
    // the run of central values of the plan that draws everything is the same run
    let open = made(&text, &first(1, 1));
    assert_eq!(bits(&open.head.central), bits(&alone));
    // days of a spread of 0 are days without chance, but for the luck of drums, which are sound here
    let days = Days::of(&plan, 9, 3);
    let none = Days::without_chance(&plan);
    assert_eq!((days.intake, days.temperature), (none.intake, none.temperature));
    for row in made(&fixed, &first(4, 2)).ensemble.rows {
        assert_eq!(bits(&row.figures), bits(&alone), "draw {}", row.draw);
    }
}

#[test]
fn a_range_of_no_width_is_a_fixed_rate() {
    let key = "rates.bed.decay_rate_protein";
    let number = short(&[(key, "0.05")]);
    let range = short(&[(key, r#"{ "low": 0.05, "central": 0.05, "high": 0.05 }"#)]);
    let [a, b] = [number, range].map(|text| made(&text, &first(3, 1)).ensemble.rows);
    assert_eq!(a, b);
}

#[test]
fn the_mean_of_a_linear_toy_is_that_of_closed_form() {
    // y = sum of x / E(x) over every rate that is drawn alone, so E(y) is their number, whatever their shapes and correlations
    let study = Study::of(&plan_of(SITES[0])).unwrap();
    let alone: Vec<_> = (study.quantities().iter().enumerate())
        .filter(|(_, q)| q.value.shape() != Shape::Dirichlet)
        .map(|(n, q)| (n, distribution::mean(&q.value), distribution::variance(&q.value).sqrt()))
        // a thousand draws seldom see the tails that make the mean of the most skewed ones
        .filter(|(_, mean, deviation)| *deviation < 0.6 * mean)
        .map(|(n, mean, _)| (n, mean))
        .collect();
    assert!(alone.len() > 90, "{}", alone.len());
    let mut mean = 0.0;
    for number in 0..4 {
        let block = study.block(3, number);
        for place in 0..250 {
            let draw = block.draw(&study, place);
            mean += alone.iter().map(|(n, mean)| draw.values[*n] / mean).sum::<f64>() / 1000.0;
        }
    }
    // independent draws would scatter by some 3 / sqrt(1000) = 0.1; strata leave a hundredth of it
    let expected = alone.len() as f64;
    assert!((mean - expected).abs() < 0.01, "{mean} against {expected}");
}

#[test]
fn the_intake_of_a_chain_has_the_mean_and_scatter_of_closed_form() {
    // intake is linear in lognormal factors of mean 1: E = sum of amounts, Var = sum of amount^2 (exp(s^2) - 1)
    let text = short(&[("days", "14")]);
    let plan = plan_of(&text);
    let (mut mean, mut variance) = (0.0, 0.0);
    for (n, stream) in plan.streams.iter().enumerate() {
        let spread = stream.daily_variation.powi(2).exp_m1();
        for amount in plan.daily_amounts(n) {
            let amount = amount * (1.0 - stream.contamination);
            mean += amount;
            variance += amount * amount * spread;
        }
    }
    let rows = made(&text, &first(600, 2)).ensemble.rows;
    let values: Vec<f64> = rows.iter().map(|row| figure(&row.figures, "intake")).collect();
    let draws: Vec<u64> = rows.iter().map(|row| row.draw).collect();
    let found = summary::spread(&draws, &values, &Ranks::of(values.len()));
    assert_eq!(found.standard_error_from, ErrorRule::Independent);
    assert!((found.mean - mean).abs() < 3.5 * found.standard_error, "{} against {mean}", found.mean);
    // sd of a sample of 600: about 3 % off; four times that
    let ratio = found.standard_deviation / variance.sqrt();
    assert!((ratio - 1.0).abs() < 0.12, "{ratio}");
}

#[test]
fn intervals_of_block_means_cover_the_exact_mean_nineteen_times_in_twenty() {
    // product of two independent rates over their means: mean 1, not additive, so strata do not take all scatter out
    let keys = ["bed.solid_density", "worms.adult_death_rate"];
    let study = Study::of(&plan_of(&fixed_but(&short(&[]), &keys))).unwrap();
    let means: Vec<f64> = study.quantities().iter().map(|q| distribution::mean(&q.value)).collect();
    assert_eq!(means.len(), 2);
    let draws: Vec<u64> = (0..1000).collect();
    let ranks = Ranks::of(1000);
    let (trials, mut covered, mut narrower) = (200_u32, 0_u32, 0_u32);
    for seed in 0..u64::from(trials) {
        let values: Vec<f64> = (0..4)
            .flat_map(|number| {
                let block = study.block(seed, number);
                (0..250).map(|place| block.draw(&study, place).values).collect::<Vec<_>>()
            })
            .map(|v| v[0] / means[0] * v[1] / means[1])
            .collect();
        let found = summary::spread(&draws, &values, &ranks);
        let (low, high) = (found.mean_interval.low.unwrap(), found.mean_interval.high.unwrap());
        covered += u32::from(low <= 1.0 && 1.0 <= high);
        narrower += u32::from(found.standard_error < found.standard_deviation / 1000_f64.sqrt());
    }
    // binomial: 190 of 200, give or take three times 3.1
    assert!((180..=199).contains(&covered), "{covered} of {trials}");
    assert!(narrower > 190, "strata should narrow nearly every one: {narrower}");
}

#[test]
fn every_draw_of_every_worked_site_closes() {
    for text in SITES {
        // worms that come later than the run is long are left out
        let text = site(text, &[("days", "100")]);
        let text = if text.contains("top_up") { site(&text, &[("stock.top_up", "[]")]) } else { text };
        let shard = made(&text, &first(60, 2));
        assert_eq!(shard.ensemble.failed, []);
        assert_eq!(shard.ensemble.rows.len(), 60);
        assert!(!shard.ensemble.is_partial() && shard.missing().is_empty());
    }
}

// ---- what is said of them ----

#[test]
fn bands_agree_with_the_exact_quantiles_of_a_kept_figure() {
    let shard = made(&short(&[]), &first(300, 2));
    let answer = uncertainty::answer(&shard).unwrap();
    let exact = answer.figures[figures::place("stock_end").unwrap()].spread.as_ref().unwrap().quantiles;
    let series = SERIES.iter().position(|s| s.name == "stock").unwrap();
    let band = &answer.bands[series].days.last().unwrap().quantiles;
    for (found, expected) in band.iter().zip(&exact) {
        // a bin is 2 % wide; neighbours of the exact point lie a little apart as well
        assert!((found / expected - 1.0).abs() < 0.015, "{found} against {expected}");
    }
}

#[test]
fn the_answer_counts_failures_and_sets_the_central_run_beside() {
    // half the drums it takes: intake is turned away in every draw
    let shard = made(&short(&[("drums.count", "20")]), &first(40, 2));
    let answer = uncertainty::answer(&shard).unwrap();
    let turned = answer.failures.iter().find(|f| f.name == "turned_away_at_start").unwrap();
    assert_eq!((turned.count, turned.in_central_run), (40, true));
    let (low, high) = summary::wilson(40, 40);
    assert_eq!((turned.low.to_bits(), turned.high.to_bits()), (low.to_bits(), high.to_bits()));
    assert!(!answer.settled && !answer.partial);
    let intake = &answer.figures[figures::place("intake").unwrap()];
    let (central, spread) = (intake.central.unwrap(), intake.spread.as_ref().unwrap());
    assert!(central > spread.quantiles[0] && central < spread.quantiles[4]);
}

// ---- failures, partial work, shards ----

/// Values that no worm has: with the larger of them worms fall below nothing.
const BEYOND: (&str, &str) = (
    "rates.worms.starvation_loss_rate",
    r#"{ "low": 0.001, "central": 0.006, "high": 1e6, "shape": "log_triangular" }"#,
);

#[test]
fn draws_that_fail_are_named_and_can_be_rerun_alone() {
    let text = short(&[BEYOND]);
    let shard = made(&text, &first(12, 2));
    let answer = uncertainty::answer(&shard).unwrap();
    assert!(!answer.failed.is_empty() && answer.answered + answer.failed.len() == 12);
    assert!(!answer.partial, "a failed draw was made");
    let first = &answer.failed[0];
    assert!(answer.failed.iter().all(|failed| failed.message.contains("below zero")), "{:?}", answer.failed);
    assert_eq!(first.seed, 5);
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("site.json"), &text).unwrap();
    let mut arguments = vec!["run", "site.json"];
    arguments.extend(first.rerun.split(' '));
    let alone = crate::cli::loamledger(folder.path(), &arguments);
    let said = String::from_utf8_lossy(&alone.stdout).into_owned();
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains(&format!("FAILED draw {}: {}", first.draw, first.message)), "{said}");
}

#[test]
fn a_panic_in_the_model_ends_only_its_draw() {
    // a drum cannot give more phosphorus than it holds, and asserts so
    let beyond = r#"{ "low": 0.5, "central": 0.7, "high": 1e9, "shape": "log_triangular" }"#;
    let shard = made(&short(&[("rates.fermentation.soluble_phosphorus_in_drum", beyond)]), &first(12, 2));
    let broken: Vec<_> = shard.ensemble.failed.iter().map(|f| f.message.as_str()).collect();
    assert!(broken.iter().any(|message| message.starts_with("the model stopped: ")), "{broken:?}");
    assert!(!shard.ensemble.rows.is_empty());
}

#[test]
fn work_ended_early_is_partial_and_can_be_completed() {
    let text = short(&[("days", "30")]);
    let (plan, hash) = (plan_of(&text), text_hash(&text));
    let all = first(60, 2);
    let watch = Watch::default();
    let early = thread::scope(|scope| {
        scope.spawn(|| {
            while watch.done() < 3 {
                thread::yield_now();
            }
            watch.stop();
        });
        uncertainty::shard(&plan, &hash, 60, &all, &watch).unwrap()
    });
    assert!(early.ensemble.is_partial(), "60 draws cannot be done by then");
    let answer = uncertainty::answer(&early).unwrap();
    assert!(answer.partial && answer.answered >= 3 && answer.missing == early.missing());
    let mut parts = vec![Ok(("early".to_owned(), early.clone()))];
    for (from, to) in early.missing() {
        parts.push(Ok((format!("{from}"), part(&text, 60, &all.between(from, to)))));
    }
    assert_eq!(shard::merge::<MergeError>(parts).unwrap(), made(&text, &all));
    // stopped before the first draw
    let none = uncertainty::shard(&plan, &hash, 60, &all, &watch).unwrap();
    assert_eq!(uncertainty::answer(&none), Err(UncertaintyError::NothingMade));
}

fn everything_in(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut all: Vec<_> = fs::read_dir(folder)
        .expect("readable")
        .map(|entry| {
            let path = entry.expect("readable").path();
            (
                path.file_name().expect("readable").to_string_lossy().into_owned(),
                fs::read(&path).expect("readable"),
            )
        })
        .collect();
    all.sort();
    all
}

#[test]
fn draws_are_made_on_one_thread_when_the_system_refuses_more() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("site.json"), short(&[])).unwrap();
    let pages = [&[][..], &[("RUST_MIN_STACK", (1_u64 << 60).to_string())][..]].map(|environment| {
        // no thread can have a stack of 2^60 bytes, so none starts but the first
        let mut program = assert_cmd::Command::new(env!("CARGO_BIN_EXE_loamledger"));
        program.current_dir(folder.path()).envs(environment.iter().cloned());
        let output = program.args(["run", "site.json", "--draws", "6", "--threads", "3"]).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        output.stdout
    });
    assert_eq!(pages[0], pages[1]);
}

#[test]
fn threads_and_shards_write_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    // with draws that fail among them
    fs::write(folder.path().join("site.json"), short(&[BEYOND])).unwrap();
    let program = |arguments: &[&str]| {
        let output = crate::cli::loamledger(folder.path(), arguments);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        output
    };
    let run = ["run", "site.json", "--draws", "23", "--seed", "77"];
    let with = |more: &[&'static str]| [&run[..], more].concat();
    let page = program(&with(&["--threads", "1", "--out", "one"]));
    program(&with(&["--threads", "2", "--out", "two"]));
    program(&with(&["--draws-to", "7", "--out", "a"]));
    program(&with(&["--draws-from", "7", "--draws-to", "16", "--threads", "2", "--out", "b"]));
    program(&with(&["--draws-from", "16", "--out", "c"]));
    program(&["merge", "c/shard.json", "a", "b", "--scenario", "site.json", "--out", "merged"]);
    let one = everything_in(&folder.path().join("one"));
    let (charts, names): (Vec<&str>, Vec<&str>) =
        one.iter().map(|(name, _)| name.as_str()).partition(|name| name.starts_with("chart_"));
    assert_eq!(charts.len(), ENDINGS.len() * DRAWS_CHARTS.len());
    let wanted = [
        "bands.csv",
        "draws.csv",
        "failures.csv",
        "shard.json",
        "totals.csv",
        "uncertainty.json",
        "uncertainty.txt",
        "workbook.xlsx",
    ];
    assert_eq!(names, wanted);
    for other in ["two", "merged"] {
        for (ours, theirs) in one.iter().zip(everything_in(&folder.path().join(other))) {
            assert_eq!(ours.0, theirs.0);
            assert!(ours.1 == theirs.1, "{} of {other} differs", ours.0);
        }
    }
    assert_eq!(page.stdout, one.iter().find(|(name, _)| name == "uncertainty.txt").unwrap().1);
    let json = program(&["merge", "a", "b", "c", "--json"]);
    assert_eq!(json.stdout, one.iter().find(|(name, _)| name == "uncertainty.json").unwrap().1);
    let text = String::from_utf8(page.stdout).unwrap();
    assert!(text.lines().all(|line| line.chars().count() <= 120), "{text}");
    // wherever the lines break
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("of seed 77:") && words.contains("--draws 23 --seed 77 --draws-from"), "{text}");
}

#[test]
fn shards_with_a_gap_or_an_overlap_are_reported() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("site.json"), short(&[("days", "20")])).unwrap();
    let program = |arguments: &[&str]| crate::cli::loamledger(folder.path(), arguments);
    let shard = |from: &str, to: &str, seed: &str, out: &str| {
        let arguments =
            ["run", "site.json", "--draws", "9", "--seed", seed, "--draws-from", from, "--draws-to", to];
        assert!(program(&[&arguments[..], &["--out", out]].concat()).status.success());
    };
    shard("0", "4", "1", "a");
    shard("3", "9", "1", "b");
    shard("6", "9", "1", "c");
    shard("4", "9", "2", "d");
    let gap = program(&["merge", "a", "c", "--out", "whole"]);
    assert_eq!(gap.status.code(), Some(1));
    let page = String::from_utf8_lossy(&gap.stdout).into_owned();
    assert!(page.contains("PARTIAL") && page.contains("draws 4 to 5"), "{page}");
    assert_eq!(fs::read(folder.path().join("whole/uncertainty.txt")).unwrap(), gap.stdout);
    for (parts, said) in [
        (["a", "b"], "draw 3 is in"),
        (["a", "d"], "the seed is 1 and 2"),
        (["a", "site.json"], "is no shard"),
        (["a", "nowhere"], "cannot be read"),
    ] {
        let refused = program(&[&["merge"], &parts[..]].concat());
        let told = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert_eq!(refused.status.code(), Some(2), "{told}");
        assert!(told.contains(said) && told.contains("hint:") && refused.stdout.is_empty(), "{told}");
    }
}

#[test]
fn impossible_numbers_of_draws_are_status_two() {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/harbour_hall.json");
    for (arguments, said) in [
        (&["--draws", "0"][..], "0 draws give no answer"),
        (&["--draws", "1000000000"], "allowed: 1 to 1000000"),
        (&["--draws", "-5"], "-5"),
        (&["--draws", "many"], "many"),
        (
            &["--draws", "10", "--draws-from", "5", "--draws-to", "5", "--json"],
            "draws 5 to 5 are not within 10 draws",
        ),
        (&["--draws", "10", "--draws-to", "11", "--json"], "--draws-to <= 10"),
        (&["--draws", "10", "--draws-from", "5"], "no place is given"),
        (&["--draws", "10", "--threads", "0"], "1..=256"),
        (&["--draws", "10", "--threads", "100000"], "1..=256"),
        (&["--seed", "4"], "--draws"),
    ] {
        let output = here(&[&["run", file], arguments].concat());
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{arguments:?} {told}");
        assert!(output.stdout.is_empty() && told.contains(said), "{arguments:?} {told}");
    }
}

#[test]
fn rates_that_cannot_be_drawn_are_reported_before_the_work() {
    let folder = tempfile::tempdir().unwrap();
    let write = |rates: &str| {
        let mut root: Value = serde_json::from_str(&short(&[])).unwrap();
        root["rates"] = serde_json::from_str(rates).unwrap();
        fs::write(folder.path().join("site.json"), root.to_string()).unwrap();
    };
    for (rates, said) in [
        (r#"{ "bed.decay_rate_protein": { "low": 0.2, "central": 0.1, "high": 0.05 } }"#, "out of order"),
        (r#"{ "bed.decay_rate_protien": 0.1 }"#, "bed.decay_rate_protein"),
        (
            r#"{ "bed.decay_rate_protein": { "low": 0.1, "central": 0.1, "high": 0.2, "shape": "lognormal" } }"#,
            "lognormal",
        ),
    ] {
        write(rates);
        let output = crate::cli::loamledger(folder.path(), &["run", "site.json", "--draws", "3"]);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{told}");
        assert!(output.stdout.is_empty() && told.contains(said), "{told}");
    }
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_with_what_is_done_marked_as_partial() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("site.json"), short(&[("days", "20")])).unwrap();
    let child = Command::new(env!("CARGO_BIN_EXE_loamledger"))
        .current_dir(folder.path())
        .args(["run", "site.json", "--draws", "90000", "--threads", "1", "--out", "results"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    for _ in 0..1500 {
        if folder.path().join("results").exists() {
            break;
        }
        thread::sleep(Duration::from_millis(20));
    }
    // time for some draws, far too little for all
    thread::sleep(Duration::from_millis(700));
    let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status().expect("kill is there");
    assert!(sent.success());
    let output = child.wait_with_output().expect("it ends");
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{told}");
    assert!(told.contains("the answer is partial"), "{told}");
    let page = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(page.contains("PARTIAL") && page.contains("to 89999"), "{page}");
    assert_eq!(fs::read(folder.path().join("results/uncertainty.txt")).unwrap(), output.stdout);
}
