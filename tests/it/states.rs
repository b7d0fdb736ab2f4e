//! A site that goes on from a saved state equals the uninterrupted one; files that are no state of it are refused with place and remedy.

use crate::cli::loamledger;
use jiff::civil::Date;
use loamledger::scenario::plan::Plan;
use loamledger::scenario::{StateFile, parse, varied};
use loamledger::study::answer::RunAnswer;
use loamledger::study::{run, run_saving};
use std::fs;
use std::path::Path;

fn plan(name: &str) -> Plan {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name).with_extension("json");
    let text = fs::read_to_string(path).expect("the scenario is readable");
    parse(name, &text).unwrap_or_else(|e| panic!("{e}"))
}

/// A plan of three weeks with beds, worms, drums and bran in use.
fn short(changes: &[(&str, &str)]) -> Plan {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/mountain_school.json");
    let text = fs::read_to_string(path).expect("the scenario is readable");
    let usual = [("stock", r#"{ "mass": 60 }"#), ("days", "21"), ("streams[0].yearly_growth", "0")];
    let text = usual.iter().chain(changes).fold(text, |text, (key, value)| {
        varied("short", &text, key, value).unwrap_or_else(|e| panic!("{e}"))
    });
    parse("short", &text).unwrap_or_else(|e| panic!("{e}"))
}

fn json(state: &StateFile) -> String {
    serde_json::to_string_pretty(state).expect("a state is JSON")
}

fn saved(plan: &Plan, days: &[u32]) -> (RunAnswer, Vec<StateFile>) {
    let evenings: Vec<Date> = days.iter().map(|&day| plan.date(day)).collect();
    run_saving(plan, &evenings).unwrap_or_else(|e| panic!("{e}"))
}

fn goes_on(name: &str) {
    let plan = plan(name);
    // days by a linear congruential generator
    let mut number = 20_27_u64;
    let mut days: Vec<u32> = (0..20)
        .map(|_| {
            number = number.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((number >> 33) % u64::from(plan.days - 1)) as u32
        })
        .collect();
    days.sort_unstable();
    days.dedup();
    let last = plan.days - 1;
    days.push(last);
    let (whole, states) = saved(&plan, &days);
    let end = json(states.last().expect("the last evening was saved"));
    assert_eq!(states.len(), days.len());
    let beds = whole.beds.len();
    for (&day, state) in days.iter().zip(&states).filter(|(day, _)| **day < last) {
        let next = plan.continued("state.json", &json(state)).unwrap_or_else(|e| panic!("{name} {day}: {e}"));
        assert_eq!((next.start, next.days), (plan.date(day + 1), last - day));
        let (rest, ends) =
            run_saving(&next, &[plan.date(last)]).unwrap_or_else(|e| panic!("{name} {day}: {e}"));
        let done = day as usize + 1;
        let differs = rest.daily.iter().zip(&whole.daily[done..]).find(|(a, b)| a != b);
        assert_eq!(differs, None, "{name} from day {day}");
        assert!(rest.bed_daily == whole.bed_daily[beds * done..], "{name} from day {day}");
        assert!(json(&ends[0]) == end, "{name} from day {day}");
        assert!(rest.balance.largest_relative_residual < 1e-9);
    }
}

#[test]
fn harbour_hall_goes_on_from_any_of_twenty_evenings_to_the_last_bit() {
    goes_on("harbour_hall");
}

#[test]
fn mountain_school_goes_on_from_any_of_twenty_evenings_to_the_last_bit() {
    goes_on("mountain_school");
}

#[test]
fn valley_packhouse_goes_on_from_any_of_twenty_evenings_to_the_last_bit() {
    goes_on("valley_packhouse");
}

#[test]
fn a_new_plan_begins_on_the_morning_after_a_state() {
    // the next season: another first day, streams that do not grow
    let first = short(&[]);
    let (whole, states) = saved(&first, &[9, 20]);
    let text = json(&states[0]);
    let next = short(&[("start", &format!("\"{}\"", first.date(10))), ("days", "11")]);
    let (rest, ends) = run_saving(&next.continued("state.json", &text).unwrap(), &[first.date(20)]).unwrap();
    // bran is planned from the day the site was new
    assert!(rest.daily[..] == whole.daily[10..]);
    assert!(json(&ends[0]) == json(&states[1]));
    assert_eq!(rest.stock.start.total.to_bits(), whole.daily[9].stock.to_bits());
    assert_eq!(rest.goes_on_from.as_deref(), Some(first.name.as_str()));
}

#[test]
fn worms_that_arrive_on_the_morning_after_a_state_are_not_lost() {
    let day = short(&[]).date(10).to_string();
    let plan = short(&[("stock.arrives", &format!("\"{day}\""))]);
    let (whole, states) = saved(&plan, &[9, 10]);
    for (state, bought) in states.iter().zip([whole.stock.bought, 0.0]) {
        let rest = run(&plan.continued("state.json", &json(state)).unwrap()).unwrap();
        assert_eq!(rest.stock.bought.to_bits(), bought.to_bits());
        assert_eq!(rest.stock.end, whole.stock.end);
    }
}

#[test]
fn files_that_are_no_state_of_the_site_are_refused_with_place_and_remedy() {
    let plan = short(&[]);
    let (_, states) = saved(&plan, &[9]);
    let text = json(&states[0]);
    let evening = format!("\"evening\": \"{}\"", plan.date(9));
    let with = |from: &str, to: &str| {
        assert!(text.contains(from), "{from}");
        text.replacen(from, to, 1)
    };
    let water = text.find("\"water\": ").expect("there is water") + 9;
    let negative = format!("{}-{}", &text[..water], &text[water..]);
    let cases = [
        (String::new(), "not a state file", "--save-state"),
        ("{".to_owned(), "not a state file", "--save-state"),
        ("[1]".to_owned(), "not a state file", "--save-state"),
        ("{\"name\": \"a scenario\"}".to_owned(), "missing field `format`", "--save-state"),
        (with("loamledger state", "a page"), "is not that of a state file", "\"loamledger state\""),
        (with("\"version\": 2", "\"version\": 1"), "another version", "allowed: 2"),
        (with(&evening, "\"evening\": \"soon\""), "not a state file", "--save-state"),
        (
            with(&evening, "\"evening\": \"2020-01-01\""),
            "is not an evening from which this run goes on",
            "change `start`",
        ),
        (
            with(&evening, &format!("\"evening\": \"{}\"", plan.date(20))),
            "is not an evening",
            "change `start`",
        ),
        (with("\"hopper\"", "\"hoper\""), "unknown field `hoper`", "--save-state"),
        (with("\"matter\": {", "\"matter\": { \"gravel\": 1,"), "unknown component `gravel`", "--save-state"),
        (negative, "is negative", "0 to"),
        (with("\"days_run\": 10", "\"days_run\": 1e9"), "not a state file", "--save-state"),
        (with("\"days_run\": 10", "\"days_run\": 1000000"), "is out of range", "0 to 36525"),
    ];
    for (text, problem, remedy) in cases {
        let refused = plan.continued("state.json", &text).expect_err(problem);
        let said = refused.to_string();
        assert!(said.contains(problem) && said.contains(remedy), "{problem}: {said}");
        let fault = &refused.faults()[0];
        assert!(fault.line >= 1 && fault.column >= 1);
    }
    let other = short(&[("drums.count", "2")]).continued("state.json", &text).expect_err("too few drums");
    assert!(
        other.to_string().contains("drums are in use") && other.to_string().contains("at most 2"),
        "{other}"
    );
    let other = short(&[("beds[0].area", "3")]).continued("state.json", &text).expect_err("other beds");
    assert!(other.to_string().contains("bed 1 has an area of"), "{other}");
    let other = short(&[("beds[0].count", "1000")]).continued("state.json", &text).expect_err("more beds");
    assert!(other.to_string().contains("as the scenario has"), "{other}");
}

#[test]
fn castings_of_more_lots_than_a_floor_holds_are_refused() {
    let plan = short(&[]);
    let (_, states) = saved(&plan, &[9]);
    let with_lots = |count: usize| {
        let mut state = serde_json::to_value(&states[0]).expect("a state is JSON");
        let lot = serde_json::json!({ "material": { "water": 1.0 }, "days_left": 0.0, "days_drying": 3 });
        state["state"]["screen"]["lots"] = vec![lot; count].into();
        plan.continued("state.json", &state.to_string()).map(|_| ()).map_err(|e| e.to_string())
    };
    assert_eq!(with_lots(12), Ok(()));
    let refused = with_lots(13).expect_err("thirteen lots");
    assert!(refused.contains("has 13 lots") && refused.contains("at most 12"), "{refused}");
}

#[test]
fn the_program_saves_states_and_goes_on_from_them() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    let said = |output: &std::process::Output| {
        let text = [&output.stdout, &output.stderr].map(|bytes| String::from_utf8_lossy(bytes).into_owned());
        (output.status.code(), text.concat())
    };
    assert_eq!(loamledger(path, &["start", "site.json", "--from", "mountain_school"]).status.code(), Some(0));
    let both = ["--save-state", "2027-09-10=early.json", "--save-state", "2027-12-31=late.json"];
    let asked: Vec<&str> =
        ["run", "site.json", "--no-charts", "--out", "whole"].into_iter().chain(both).collect();
    let (status, text) = said(&loamledger(path, &asked));
    // 1 where the site fails by its verdict
    assert!(matches!(status, Some(0 | 1)), "{text}");
    // an existing state is not overwritten
    let (status, text) =
        said(&loamledger(path, &["run", "site.json", "--save-state", "2027-09-10=early.json"]));
    assert!(status == Some(2) && text.contains("exists already"), "{text}");
    let (status, text) = said(&loamledger(
        path,
        &["run", "site.json", "--from-state", "early.json", "--no-charts", "--out", "rest"],
    ));
    assert!(
        matches!(status, Some(0 | 1))
            && text.contains("goes on from")
            && text.contains("on the evening before"),
        "{text}"
    );
    let daily =
        |folder: &str| fs::read_to_string(path.join(folder).join("daily.csv")).expect("it was written");
    let (whole, rest) = (daily("whole"), daily("rest"));
    let days: Vec<&str> = rest.lines().skip(1).collect();
    assert!(days[0].starts_with("2027-09-11,"));
    assert!(
        whole.ends_with(&days.join("\n")) || whole.trim_end().ends_with(&days.join("\n")),
        "the same rows"
    );
    // draws go on from it too, and a wrong date or file is answered
    let (status, text) = said(&loamledger(
        path,
        &["run", "site.json", "--from-state", "early.json", "--draws", "3", "--threads", "1"],
    ));
    assert_eq!(status, Some(0), "{text}");
    for (given, wanted) in [
        (["--save-state", "2020-01-01=x.json"], "is outside the run; allowed: 2027-08-"),
        (["--save-state", "2027-10-01"], "has no file"),
        (["--from-state", "site.json"], "not a state file"),
        (["--from-state", "nowhere.json"], "--save-state DATE=FILE` writes the state of an evening"),
    ] {
        let (status, text) = said(&loamledger(path, &["run", "site.json", given[0], given[1]]));
        assert!(status == Some(2) && text.contains(wanted), "{text}");
    }
}
