//! Rounds of the coming days agree with the run, and what is written down is the next log; what to weigh is said before anything is.

#![allow(clippy::unwrap_used, reason = "a helper that fails fails its test")]

use crate::cli::loamledger;
use crate::result_schema::faults;
use ical::IcalParser;
use loamledger::monte_carlo::{Study, Watch};
use loamledger::quantity::Units;
use loamledger::report::files::calendar::{calendar, next_log};
use loamledger::report::pages::rounds::rounds_text;
use loamledger::report::rounds::wall;
use loamledger::scenario::log::read_log;
use loamledger::scenario::{Fitted, Plan, parse};
use loamledger::study::rounds::answer::{RoundsAnswer, RoundsDay, schema};
use loamledger::study::rounds::{RoundsQuestion, rounds};
use loamledger::study::weigh::{WeighQuestion, answer, weigh};
use loamledger::study::{RunError, run};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::sync::Arc;

const SITES: [&str; 3] = ["harbour_hall", "mountain_school", "valley_packhouse"];

fn text(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name).with_extension("json");
    fs::read_to_string(path).unwrap()
}

fn site(name: &str) -> Plan {
    parse(name, &text(name)).unwrap()
}

fn week(from: u32, draws: u64, plan: &Plan) -> RoundsQuestion {
    RoundsQuestion { from: Some(plan.date(from)), days: 7, draws, seed: 1, threads: 2 }
}

fn planned(plan: &Plan, from: u32) -> RoundsAnswer {
    rounds(plan, None, &week(from, 0, plan), &Watch::default()).unwrap()
}

fn amount(day: &RoundsDay, job: &str) -> f64 {
    day.work.iter().find(|work| work.job == job).unwrap().planned
}

#[test]
fn a_week_agrees_with_the_run_to_the_kilogram_on_every_worked_site() -> Result<(), RunError> {
    for name in SITES {
        let plan = site(name);
        let whole = run(&plan)?;
        for from in [0, 120, plan.days - 7] {
            let answer = planned(&plan, from);
            assert_eq!((answer.from, answer.days.len()), (plan.date(from), 7));
            let page = rounds_text(&answer, Units::Si);
            let beds = plan.bed_names().count();
            for (n, day) in (from as usize..).zip(&answer.days) {
                let record = &whole.daily[n];
                let pairs = [
                    ("scraps", record.intake - record.turned_away),
                    ("bran", record.bran_used),
                    ("drums_opened", record.drums_opened),
                    ("ground", record.ground),
                    ("bulking", record.bulking),
                    ("feed", record.fed),
                    ("water", record.irrigation),
                    ("castings", record.harvested),
                ];
                for (job, wanted) in pairs {
                    let ours = amount(day, job);
                    assert!((ours - wanted).abs() < 1e-6, "{name} {}: {job} {ours} {wanted}", day.date);
                    // what a page shows is the same to the kilogram
                    let shown = format!("{wanted:.0}");
                    assert!(wanted < 10.0 || page.contains(&shown), "{name} {}: {job} {shown}", day.date);
                }
                let opened: usize = day.open.iter().map(|drums| drums.count).sum();
                assert!((opened as f64 - record.drums_opened).abs() < 1e-9);
                assert!(day.open.iter().all(|drums| drums.filled < day.date));
                for (bed, recorded) in day.beds.iter().zip(&whole.bed_daily[n * beds..]) {
                    assert!((bed.feed - recorded.fed).abs() < 1e-9, "{name} {} {}", day.date, bed.bed);
                }
            }
            let sum: f64 = answer.days.iter().map(|day| amount(day, "feed")).sum();
            let of_week = answer.weeks[0].work.iter().find(|work| work.job == "feed").unwrap();
            assert!((of_week.planned - sum).abs() < 1e-9 && of_week.range.is_none());
        }
    }
    Ok(())
}

#[test]
fn the_calendar_is_read_by_another_library() {
    for name in SITES {
        let plan = site(name);
        let answer = planned(&plan, 150);
        for units in [Units::Si, Units::Us] {
            let text = calendar(&answer, "abc", units);
            assert!(
                text.split_inclusive("\r\n").all(|line| line.ends_with("\r\n") && line.len() <= 77),
                "{text}"
            );
            let read: Vec<_> = IcalParser::new(text.as_bytes()).collect::<Result<_, _>>().unwrap();
            assert_eq!(read.len(), 1);
            let worked = answer.days.iter().filter(|day| day.work.iter().any(|work| work.planned > 0.0));
            assert!(read[0].events.len() >= worked.count() && read[0].events.len() <= 7);
            let mut names = BTreeSet::new();
            for event in &read[0].events {
                let property = |key: &str| {
                    let found = event.properties.iter().find(|property| property.name == key).unwrap();
                    found.value.clone().unwrap()
                };
                let date: jiff::civil::Date = property("DTSTART").parse().unwrap();
                assert!(answer.days.iter().any(|day| day.date == date));
                assert_eq!(property("DTEND").parse::<jiff::civil::Date>().unwrap(), date.tomorrow().unwrap());
                assert_eq!(property("DTSTAMP"), answer.from.strftime("%Y%m%dT000000Z").to_string());
                assert!(names.insert(property("UID")), "two events have one name");
                let day = answer.days.iter().find(|day| day.date == date).unwrap();
                let feed = amount(day, "feed");
                if feed > 10.0 && units == Units::Si {
                    // this reader drops blanks at the ends of folded lines
                    let wanted = format!("feedtolay:{feed:.0}kg");
                    let said = property("DESCRIPTION").replace(' ', "");
                    assert!(said.contains(&wanted), "{wanted}: {said}");
                }
            }
            assert_eq!(text, calendar(&answer, "abc", units), "the same question gives the same bytes");
        }
    }
}

#[test]
fn what_is_written_into_the_boxes_is_the_next_log() {
    for name in SITES {
        let plan = site(name);
        let answer = planned(&plan, 196);
        for units in [Units::Si, Units::Us] {
            let empty = String::from_utf8(next_log(&answer, units).unwrap()).unwrap();
            // a person writes a possible value into each box
            let mut filled = String::new();
            for (n, line) in empty.lines().enumerate() {
                let mut cells: Vec<&str> = line.split(',').collect();
                if n > 0 {
                    assert_eq!(cells[2], "", "{line}");
                    cells[2] = if cells[1].contains("moisture") { "60" } else { "20" };
                }
                filled.push_str(&cells.join(","));
                filled.push('\n');
            }
            let read = read_log(&plan, "next.csv", &filled).unwrap();
            assert!(read.faults.is_none(), "{}", read.faults.unwrap());
            assert_eq!(read.log.lines.len(), answer.lines.len(), "{name}: {filled}");
            for (line, wanted) in read.log.lines.iter().zip(&answer.lines) {
                assert_eq!((line.date, line.kind), (wanted.date, wanted.what));
            }
        }
        assert!(answer.lines.iter().any(|line| line.place == plan.streams[0].name), "{name}");
    }
}

/// A plan with a few sites in place of its ranges.
fn fitted(plan: &Plan, count: u64) -> Plan {
    let study = Study::of(plan).unwrap();
    let keys = study.quantities().iter().map(|q| q.key.to_owned()).collect();
    let members = (0..count).map(|n| study.draw(5, n).values).collect();
    let sites = Fitted { keys, central: study.central().values, members };
    plan.clone().fitted_by(Some(&Arc::new(sites)))
}

#[test]
fn fitted_sites_give_ranges_and_advice_the_same_on_any_number_of_threads() {
    let plan = fitted(&site("harbour_hall"), 60);
    let question = week(100, 60, &plan);
    let ask =
        |threads| rounds(&plan, None, &RoundsQuestion { threads, ..question }, &Watch::default()).unwrap();
    let answer = ask(1);
    assert_eq!(answer, ask(2));
    assert_eq!(answer.sites, Some(60));
    let feed = answer.weeks[0].work.iter().find(|work| work.job == "feed").unwrap();
    let [low, high] = feed.range.unwrap();
    assert!(low < feed.planned && feed.planned < high, "{feed:?}");
    assert!(answer.days.iter().flat_map(|day| &day.work).all(|work| work.range.is_some()));
    // central values are those of the plan without chance
    let alone = planned(&plan, 100);
    assert!((amount(&alone.days[1], "feed") - amount(&answer.days[1], "feed")).abs() < 1e-9);
    let advice = answer.advice.as_ref().unwrap();
    assert!(!advice.routines.is_empty() && advice.draws == 60);
    let most = answer.weeks[0].most_useful.unwrap();
    assert!(answer.lines.iter().any(|line| line.routine == Some(most)), "its lines are on the page");
    let page = wall(&answer, Units::Us);
    assert!(page.contains("Worth most this week") && page.contains("\u{25b6}"), "{page}");
    let found = faults(&serde_json::to_value(&answer).unwrap(), &schema(), "");
    assert!(found.is_empty(), "{found:?}");
}

fn question(draws: u64) -> WeighQuestion {
    WeighQuestion { from: None, days: None, forecast: 60, draws, seed: 1, threads: 2 }
}

#[test]
fn what_to_weigh_is_said_before_anything_is_weighed() {
    let mut site: Value = serde_json::from_str(&text("harbour_hall")).unwrap();
    (site["days"], site["beds"][0]["count"]) = (260.into(), 4.into());
    let plan = parse("site", &site.to_string()).unwrap();
    let ask = |threads| weigh(&plan, &WeighQuestion { threads, ..question(200) }, &Watch::default()).unwrap();
    let found = ask(2);
    assert_eq!(found, ask(1), "the same on any number of threads");
    assert_eq!((found.draws, found.forecasts.len()), (200, 3));
    let placed: Vec<_> = found.routines.iter().filter(|routine| routine.place.is_some()).collect();
    assert!(!placed.is_empty());
    for (n, routine) in placed.iter().enumerate() {
        assert_eq!(routine.place, Some(n + 1));
        assert!(routine.times > 0 && routine.minutes > 0.0 && routine.measurements > 0);
    }
    // what is left falls from one to the next
    let mean = |shares: &[f64]| shares.iter().map(|share| share * share).sum::<f64>();
    assert!(placed.windows(2).all(|pair| mean(&pair[1].together) < mean(&pair[0].together)));
    // worms are known best by counting them
    let best = found.forecasts.iter().find(|forecast| forecast.name == "stock").unwrap().best;
    assert!(best.is_some_and(|name| name.starts_with("worm_")), "{best:?}");
    let wrong = faults(&serde_json::to_value(&found).unwrap(), &answer::schema(), "");
    assert!(wrong.is_empty(), "{wrong:?}");
}

#[test]
fn work_of_a_measurement_decides_with_its_worth() {
    let mut site: Value = serde_json::from_str(&text("harbour_hall")).unwrap();
    (site["days"], site["beds"][0]["count"]) = (260.into(), 4.into());
    let first = |site: &Value| {
        let plan = parse("site", &site.to_string()).unwrap();
        weigh(&plan, &question(100), &Watch::default()).unwrap().routines[0].name
    };
    let cheap = first(&site);
    site["rates"] = serde_json::json!({ format!("log.minutes_{cheap}"): 100_000 });
    assert_ne!(first(&site), cheap);
}

#[test]
fn the_program_writes_rounds_and_what_to_weigh() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("site.json"), text("harbour_hall")).unwrap();
    let given =
        ["rounds", "site.json", "--from", "2027-06-07", "--days", "9", "--draws", "60", "--out", "out"];
    let output = loamledger(folder.path(), &given);
    let note = String::from_utf8(output.stderr).unwrap();
    assert!(output.status.success() && note.contains("rounds.ics"), "{note}");
    let page = fs::read_to_string(folder.path().join("out/rounds.txt")).unwrap();
    assert_eq!(page, String::from_utf8(output.stdout).unwrap());
    assert!(page.contains("Take care") && page.contains("Local codes"), "{page}");
    let wall = fs::read_to_string(folder.path().join("out/rounds.html")).unwrap();
    assert_eq!(wall.matches("<main>").count(), 2, "a page for each week");
    for file in ["rounds.json", "rounds.ics", "rounds_log.csv"] {
        assert!(folder.path().join("out").join(file).metadata().unwrap().len() > 100, "{file}");
    }
    let given = ["weigh", "site.json", "--days", "120", "--draws", "60", "--out", "out"];
    let output = loamledger(folder.path(), &given);
    let page = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success() && page.contains("In this order"), "{page}");
    assert!(folder.path().join("out/chart_weigh.svg").exists());
}

#[test]
fn rounds_go_on_from_a_state_and_from_a_log() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("site.json"), text("harbour_hall")).unwrap();
    let log = "date,what,value,unit,where,note\n2027-06-06,scraps in,100,kg,market hall,\n";
    fs::write(folder.path().join("log.csv"), log).unwrap();
    let json = |given: &[&str]| -> Value {
        let output = loamledger(folder.path(), &[given, &["--draws", "0", "--json"]].concat());
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        serde_json::from_slice(&output.stdout).unwrap()
    };
    let saved = loamledger(folder.path(), &["run", "site.json", "--save-state", "2027-06-06=june.json"]);
    assert!(folder.path().join("june.json").exists(), "{}", String::from_utf8_lossy(&saved.stderr));
    let whole = json(&["rounds", "site.json", "--from", "2027-06-07"]);
    let goes_on = json(&["rounds", "site.json", "--from-state", "june.json"]);
    assert_eq!(whole["days"][0]["date"], goes_on["days"][0]["date"]);
    assert_eq!(whole["days"][2]["work"], goes_on["days"][2]["work"]);
    assert_eq!(whole["days"][2]["open"], goes_on["days"][2]["open"]);
    let logged = json(&["rounds", "site.json", "--log", "log.csv"]);
    assert_eq!((&logged["from"], &logged["log_until"]), (&"2027-06-07".into(), &"2027-06-06".into()));
}

#[test]
fn bad_questions_about_coming_days_are_answered_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("site.json"), text("harbour_hall")).unwrap();
    fs::write(folder.path().join("taken"), "a file").unwrap();
    fs::write(folder.path().join("bad.csv"), "date,what,value\n2027-06-06,scraps out,1\n").unwrap();
    let cases: [(&[&str], &str); 18] = [
        (&["rounds", "site.json", "--days", "0"], "--days 0: is out of range; allowed: 1 to 35"),
        (&["rounds", "site.json", "--days", "36"], "hint: a page holds a week"),
        (&["rounds", "site.json", "--days=-1"], "--days"),
        (
            &["rounds", "site.json", "--from", "2026-12-31"],
            "--from 2026-12-31: is outside the run; allowed: 2027-01-0",
        ),
        (&["rounds", "site.json", "--from", "2035-01-01"], "hint: let `days` of the scenario be larger"),
        (&["rounds", "site.json", "--from", "tomorrow"], "is no date; write such as 2027-07-05"),
        (
            &["rounds", "site.json", "--from", "2027-12-30", "--days", "14"],
            "ends after the run; allowed: 1 to ",
        ),
        (&["rounds", "site.json", "--out", "taken"], "is a file, not a folder"),
        (&["rounds", "site.json", "--draws", "3"], "--draws 3: is out of range; allowed: 50 to 20000"),
        (&["rounds", "site.json", "--log", "none.csv"], "none.csv"),
        (&["rounds", "site.json", "--log", "bad.csv"], "scraps out"),
        (&["rounds", "site.json", "--fitted", "site.json"], "site.json"),
        (&["rounds", "site.json", "--from-state", "none.json"], "none.json"),
        (&["weigh", "site.json", "--days", "14"], "--days 14: is out of range; allowed: 15 to "),
        (&["weigh", "site.json", "--forecast", "0"], "--forecast 0: leaves no days to measure in"),
        (&["weigh", "site.json", "--forecast", "900"], "hint: let `days` of the scenario be larger"),
        (&["weigh", "site.json", "--from", "2027-12-01"], "too near its end for a forecast"),
        (&["weigh", "site.json", "--draws", "5", "--out", "new"], "--draws 5: is out of range"),
    ];
    for (given, wanted) in cases {
        let output = loamledger(folder.path(), given);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{given:?}: {said}");
        assert!(said.contains(wanted), "{given:?}: {said}");
        assert!(output.stdout.is_empty(), "{given:?}");
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3, "nothing is written");
}
