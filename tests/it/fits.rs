//! Fits of logs: synthetic twins, logs that teach nothing or cannot be reached, bad input, and the sites that are left in other commands.

#![allow(clippy::unwrap_used, reason = "a helper that fails fails its test")]

use crate::cli::loamledger;
use crate::result_schema::faults;
use loamledger::monte_carlo::{Draws, Study, Watch, ensemble};
use loamledger::quantity::Shape;
use loamledger::scenario::log::{Log, read_log};
use loamledger::scenario::{Plan, parse};
use loamledger::study::fit::answer::{FitVerdict, schema};
use loamledger::study::fit::{Fit, FitLog, FitQuestion, fit};
use loamledger::study::uncertainty::text_hash;
use serde_json::{Value, json};
use std::fmt::Write;
use std::fs;
use std::path::Path;

mod many;
mod twin;
mod wrong;
use twin::{Keeping, TWINS, twin};

const HEAD: &str = "date,what,value,unit,where,note\n";

/// The first worked site with fewer beds and days.
fn scenario(beds: u32, days: u32, more: &[(&str, Value)]) -> String {
    let mut site: Value = serde_json::from_str(include_str!("../../scenarios/harbour_hall.json")).unwrap();
    site["days"] = days.into();
    site["beds"][0]["count"] = beds.into();
    site["beds"][0]["area"] = json!(540.0 / f64::from(beds));
    site["harvest"] = json!({ "every_days": 60, "share": 0.5, "first_day": 60 });
    for (key, value) in more {
        site[*key] = value.clone();
    }
    site.to_string()
}

fn read(plan: &Plan, text: &str) -> Log {
    let read = read_log(plan, "log.csv", text).unwrap_or_else(|e| panic!("{e}"));
    let said = read.faults.as_ref().map(ToString::to_string);
    assert!(said.is_none(), "{said:?}");
    read.log
}

fn fitted(plan: &Plan, scenario: &str, log: &str, question: &FitQuestion) -> Fit {
    let read = read(plan, log);
    let of = FitLog { log: &read, scenario_hash: &text_hash(scenario), log_hash: &text_hash(log) };
    fit(plan, &of, question, &Watch::default()).unwrap_or_else(|e| panic!("{e}"))
}

/// Fewer runs than usual, for a small site.
const QUICK: FitQuestion =
    FitQuestion { prior: 400, members: 100, steps: 4, forecast: 20, seed: 3, threads: 2 };

#[test]
fn a_twin_is_met_on_any_number_of_threads_and_its_sites_are_drawn_in_turn() {
    let text = scenario(1, 140, &[]);
    let plan = parse("twin", &text).unwrap();
    let twin = twin(&plan, (TWINS, 4), Keeping::well(120));
    let made = fitted(&plan, &text, &twin.log, &QUICK);
    let answer = &made.answer;
    let threaded = fitted(&plan, &text, &twin.log, &FitQuestion { threads: 1, ..QUICK });
    let bytes = |fit: &Fit| {
        (serde_json::to_string(&fit.answer).unwrap(), serde_json::to_string(&fit.fitted).unwrap())
    };
    assert_eq!(bytes(&made), bytes(&threaded));
    assert!(answer.misfit.after < 0.6 * answer.misfit.before, "{:?}", answer.misfit);
    assert!(!matches!(answer.verdict, FitVerdict::NotReached { .. }), "{:?}", answer.kinds);
    assert!(answer.forecasts.iter().any(|forecast| forecast.width_left < 0.8), "{answer:?}");
    assert_eq!((answer.forecast_days, answer.forecasts[1].curve.len()), (20, 140));
    // the most that was learnt stands first, and no spread grows beyond sampling: 1 + 5 / sqrt(2 x 100)
    let left: Vec<f64> = answer.unknowns.iter().map(|unknown| unknown.left).collect();
    assert!(left.is_sorted() && left[0] < 0.8 && left[left.len() - 1] < 1.35, "{left:?}");
    // JSON keeps to its schema
    let found = faults(&serde_json::to_value(answer).unwrap(), &schema(), "");
    assert!(found.is_empty(), "{found:#?}");
    // the file, read back, is drawn in turn and has their mean as best estimate
    let file = serde_json::to_string(&made.fitted).unwrap();
    let plan = plan.with_fitted("fitted.json", &file, &text_hash(&text)).unwrap();
    let sites = made.fitted.unwrap().sites;
    let study = Study::of(&plan).unwrap();
    for draw in [0, 99, 100, 307] {
        assert_eq!(study.draw(9, draw).values, sites.members[usize::try_from(draw % 100).unwrap()]);
    }
    assert_eq!(study.central().values, sites.central);
    let shares: f64 =
        sites.keys.iter().zip(&sites.members[3]).filter(|(key, _)| is_share(key)).map(|(_, v)| v).sum();
    assert!((shares - 1.0).abs() < 1e-9, "{shares}");
    let drawn = ensemble::run(&plan, &study, &Draws::first(1, 2, 1), &Watch::default());
    assert!(drawn.rows.len() == 2 && drawn.failed.is_empty(), "{:?}", drawn.failed);
}

fn is_share(key: &str) -> bool {
    loamledger::literature::entry(key).unwrap().value.shape() == Shape::Dirichlet
}

#[test]
fn a_log_of_noise_teaches_nothing() {
    // errors a hundred times those of a careful reader: the values say nothing
    let kinds = ["drums_in_use", "bed_temperature", "feed_laid", "young_share"];
    let loud: serde_json::Map<String, Value> = kinds
        .iter()
        .map(|kind| {
            (format!("log.model_error_{kind}"), json!(if *kind == "young_share" { 1.0 } else { 100.0 }))
        })
        .collect();
    let text = scenario(1, 140, &[("rates", Value::Object(loud))]);
    let plan = parse("noise", &text).unwrap();
    let mut log = HEAD.to_owned();
    for week in 0..14 {
        let day = plan.date(20 + 7 * week);
        let wild = f64::from(week * 37 % 14);
        writeln!(log, "{day},drums in use,{wild},,,\n{day},bed temperature,{},,,", 15.0 + wild).unwrap();
        writeln!(log, "{day},young worms,{},,,\n{day},feed laid,{},,,", wild / 20.0, 50.0 + wild).unwrap();
    }
    let mut thin = 0;
    for seed in 3..6 {
        let answer = fitted(&plan, &text, &log, &FitQuestion { seed, members: 90, ..QUICK }).answer;
        thin += usize::from(answer.verdict == FitVerdict::TooThin);
        let worst = answer.unknowns.iter().map(|unknown| unknown.moved.abs()).fold(0.0, f64::max);
        // ninety members differ from their sample by chance: 5 / sqrt(90)
        assert!(worst < 0.53, "{worst}");
        let unknowns = answer.unknowns.len() as f64;
        let mean = answer.unknowns.iter().map(|unknown| unknown.left).sum::<f64>() / unknowns;
        assert!((mean - 1.0).abs() < 0.03, "{mean}");
        for forecast in &answer.forecasts {
            let [before, after] = [forecast.before, forecast.after];
            // four standard errors of a median, 1.25 / sqrt(90) of a standard deviation, which is the width over 3.29
            let allowed = 4.0 * 1.25 / 90.0_f64.sqrt() * (before[2] - before[0]) / 3.29;
            assert!((after[1] - before[1]).abs() < allowed, "{} {before:?} {after:?}", forecast.name);
        }
    }
    // the spread of ninety members is now and then a tenth less by chance
    assert!(thin >= 2, "{thin} of 3");
}

/// Exit status, standard output and standard error.
type Answered = (Option<i32>, String, String);

/// Every question that draws takes the sites of `out/fitted.json` and says so.
fn takes_fitted_sites(folder: &Path, run: &dyn Fn(&[&str]) -> Answered) {
    let fitted = ["--fitted", "out/fitted.json", "--out", "asked"];
    for (question, names) in [
        (&["compare", "site.json", "--draws", "2", "--vary", "drums.count=40,60"][..], "result.json"),
        (&["weigh", "site.json", "--draws", "50"], "weigh.json"),
        (&["rounds", "site.json"], "rounds.json"),
    ] {
        let (status, _, said) = run(&[question, &fitted[..]].concat());
        assert!(status.is_some_and(|status| status < 2), "{question:?} {status:?} {said}");
        let answer = fs::read_to_string(folder.join("asked").join(names)).unwrap();
        assert!(answer.contains("fitted"), "{names}");
    }
    let (status, _, said) = run(&[&["proposal", "site.json", "--draws", "2"], &fitted[..]].concat());
    assert!(status.is_some_and(|status| status < 2), "{status:?} {said}");
    let document = fs::read_to_string(folder.join("asked/proposal.html")).unwrap();
    let (first, rest) = document.split_once("</header>").unwrap();
    assert!(first.contains("Fitted to the log of this site") && first.contains("fitted.json"), "{first}");
    assert!(rest.contains("--fitted fitted.json"));
    // 100 sites are too few for so many unknowns
    let (status, _, said) = run(&[&["drivers", "site.json", "--draws", "40"], &fitted[..]].concat());
    assert!(status != Some(0) && said.contains("fitted sites are too few"), "{status:?} {said}");
}

#[test]
fn the_program_fits_and_says_no_where_it_cannot() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    let text = scenario(1, 140, &[]);
    let plan = parse("twin", &text).unwrap();
    fs::write(path.join("site.json"), &text).unwrap();
    fs::write(path.join("other.json"), scenario(1, 141, &[])).unwrap();
    let log = twin(&plan, (TWINS, 4), Keeping::well(120)).log;
    fs::write(path.join("log.csv"), &log).unwrap();
    let run = |asked: &[&str]| {
        let output = loamledger(path, asked);
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        (output.status.code(), text(&output.stdout), text(&output.stderr))
    };
    let ask = |log: &'static str, out: &'static str, members: &'static str, steps: &'static str| {
        let files = ["fit", "site.json", "--log", log, "--out", out, "--seed", "3"];
        [&files[..], &["--prior", "400", "--members", members, "--steps", steps, "--forecast", "20"]].concat()
    };
    let (status, page, said) = run(&ask("log.csv", "out", "100", "4"));
    assert_eq!(status, Some(0), "{said}");
    for words in
        ["Verdict", "Forecast of the 20 days", "What the log taught", "Log and model", "What each kind does"]
    {
        assert!(page.contains(words), "{words}: {page}");
    }
    for file in [
        "fitted.json",
        "fit.json",
        "fit.txt",
        "chart_fit_drums.svg",
        "chart_fit_forecast.png",
        "chart_fit_unknowns.svg",
    ] {
        assert!(path.join("out").join(file).exists(), "{file}");
    }
    let (status, page, said) = run(&["run", "site.json", "--draws", "2", "--fitted", "out/fitted.json"]);
    assert!(
        status.is_some_and(|status| status < 2) && page.contains("Harbour Hall, fitted"),
        "{status:?} {said}"
    );
    assert_ne!(page, run(&["run", "site.json", "--draws", "2"]).1);
    takes_fitted_sites(path, &run);
    // sites of another scenario, or no sites
    for (file, scenario, wanted) in [
        ("out/fitted.json", "other.json", &["is that of another scenario", "fit the log again"][..]),
        ("out/fit.json", "site.json", &["not a file of fitted sites", "loamledger fit"]),
        ("nowhere.json", "site.json", &["no such file", "writes it as fitted.json"]),
    ] {
        let (status, page, said) = run(&["run", scenario, "--fitted", file]);
        assert!(status == Some(2) && page.is_empty(), "{status:?} {page}");
        assert!(wanted.iter().all(|words| said.contains(words)), "{said}");
    }
    // fifty times the drums there are
    let wild = log
        .lines()
        .map(|line| if line.contains("drums in use") { "2027-04-01,drums in use,9000,,," } else { line });
    fs::write(path.join("wild.csv"), wild.collect::<Vec<_>>().join("\n")).unwrap();
    let (status, page, said) = run(&ask("wild.csv", "no", "20", "1"));
    assert_eq!(status, Some(1), "{said}");
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("cannot reach the log") && page.contains("higher than the model"), "{page}");
    assert!(said.contains("drums in use") && said.contains("hint:"), "{said}");
    assert!(path.join("no/fit.json").exists() && !path.join("no/fitted.json").exists());
}

#[test]
fn bad_questions_are_answered_before_any_work_and_nothing_is_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    fs::write(path.join("site.json"), scenario(1, 140, &[])).unwrap();
    let logs = [
        ("good.csv", "2027-03-01,drums in use,30,,,\n"),
        ("known.csv", "2027-03-01,scraps in,300,kg,market hall,\n2027-03-01,bed room,18,,,\n"),
        ("once.csv", "2027-03-01,feed laid,300,kg,,\n"),
        ("late.csv", "2029-03-01,drums in use,30,,,\n"),
        ("wrong.csv", "2027-03-01,drums in use,-3,,,\n"),
        ("early.csv", "2027-01-05,castings nitrogen,2,%,,\n"),
    ];
    for (name, lines) in logs {
        fs::write(path.join(name), format!("{HEAD}{lines}")).unwrap();
    }
    let cases: [(&str, &[&str], &[&str]); 10] = [
        ("good.csv", &["--members", "5"], &["--members 5", "allowed: 20 to 1000", "fewer are sure"]),
        ("good.csv", &["--prior", "100"], &["--prior 100", "allowed: 200 to", "members are taken from them"]),
        ("good.csv", &["--steps", "0"], &["--steps 0", "allowed: 1 to 16", "4 steps"]),
        ("good.csv", &["--forecast", "999"], &["--forecast", "0..=366"]),
        (
            "known.csv",
            &[],
            &["none of the 2 lines of the log is a measurement", "drums in use, castings taken"],
        ),
        ("once.csv", &[], &["none of the 1 lines", "two lines two weeks apart"]),
        ("late.csv", &[], &["no line within the run", "dates within the run"]),
        ("wrong.csv", &[], &["wrong.csv:2:25", "is negative", "0 to 20000"]),
        ("nowhere.csv", &[], &["no such file", "a log is a CSV file that you keep"]),
        (
            "early.csv",
            &["--prior", "50", "--members", "20"],
            &["no figure beside any", "first drums are opened"],
        ),
    ];
    for (log, more, wanted) in cases {
        let asked = [&["fit", "site.json", "--log", log, "--out", "out"][..], more].concat();
        let output = loamledger(path, &asked);
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{log} {more:?}: {said}");
        assert!(wanted.iter().all(|words| said.contains(words)), "{log}: {said}");
        assert!(output.stdout.is_empty() && !path.join("out/fit.json").exists(), "{log}");
    }
}
