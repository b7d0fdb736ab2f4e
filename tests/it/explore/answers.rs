//! What the page is sent: the figures of the library, draws that end when they are overtaken, and scenarios that give the same again.

use super::{Served, school};
use crate::cli::loamledger;
use loamledger::study::explore::{Base, Changes, Setting};
use serde_json::Value;
use std::fs;
use std::thread;
use std::time::{Duration, Instant};

fn json(reply: &super::Reply) -> Value {
    assert_eq!(reply.status, 200, "{reply:?}");
    serde_json::from_str(&reply.body).unwrap_or_else(|error| panic!("{error}: {}", reply.body))
}

/// The entry of a list whose `key` is this name.
fn one<'a>(list: &'a Value, key: &str, name: &str) -> &'a Value {
    let list = list.as_array().expect("a list");
    list.iter().find(|one| one[key] == name).unwrap_or_else(|| panic!("no {name}"))
}

fn figure(moved: &Value, name: &str) -> f64 {
    let one = one(&moved["figures"], "name", name);
    one["value"].as_f64().unwrap_or_else(|| panic!("{one}"))
}

#[test]
fn a_move_is_answered_with_the_figures_of_the_library_in_both_units() {
    let served = Served::of(&school(60));
    let moved = json(&served.post("figures", &served.question(1, "{\"drums.count\":3}")));
    let base = Base::new("school.json", &school(60)).expect("a scenario");
    let changes = Changes::from([("drums.count".to_owned(), Setting::Number(3.0))]);
    let outcome = base.variant(&changes).expect("a variant").outcome().expect("an outcome");
    for one in outcome.named(&["intake", "turned_away_share", "fed", "stock_end"]) {
        let sent = figure(&moved, one.name);
        assert!((sent - one.value.expect("a value")).abs() < 1e-9, "{}: {sent}", one.name);
    }
    assert!(figure(&moved, "turned_away_share") > 0.1);
    let stock = one(&moved["figures"], "name", "stock_end");
    let [si, us] = ["si", "us"].map(|units| stock["text"][units].as_str().expect("a text").to_owned());
    assert!(si.ends_with("kg") && us.ends_with("lb"), "{si}, {us}");
    let drums = one(&moved["choices"], "key", "drums.count");
    assert_eq!((drums["value"].as_f64(), drums["said"]["si"].as_str()), (Some(3.0), Some("3")));
}

#[test]
fn a_saved_variant_gives_the_same_answer_from_the_command_line() {
    let served = Served::of(&school(60));
    let question = served
        .question(1, "{\"drums.count\":3,\"drums.volume\":\"55 gal\",\"climate.drum_room.heated_to\":20}");
    let settled = json(&served.post("settled", &question));
    let bands = json(&served.post("draws", &question));
    assert_eq!((bands["made"].as_u64(), bands["most"].as_u64()), (Some(10), Some(400)));
    let saved = json(&served.post("save", &question));
    assert_eq!(saved["file"], settled["file"]);
    let command = settled["command"].as_str().expect("a command");
    assert_eq!(command, "loamledger run school_explored.json --draws 400 --seed 1");
    let file = served.folder.path().join("school_explored.json");
    fs::write(file, saved["text"].as_str().expect("a text")).expect("written");
    let run = loamledger(
        served.folder.path(),
        &["run", "school_explored.json", "--draws", "10", "--seed", "1", "--json"],
    );
    let run: Value = serde_json::from_slice(&run.stdout).expect("JSON");
    let band =
        bands["bands"].as_array().expect("a list").iter().find(|one| one["name"] == "stock_end").expect("it");
    let printed =
        run["figures"].as_array().expect("a list").iter().find(|one| one["name"] == "stock_end").expect("it");
    let quantile = |n: usize| printed["spread"]["quantiles"][n].as_f64().expect("a number");
    for (sent, wanted) in [(&band["low"], quantile(0)), (&band["high"], quantile(4))] {
        assert!((sent.as_f64().expect("a number") - wanted).abs() < 1e-9 * wanted, "{sent} {wanted}");
    }
}

#[test]
fn overtaken_work_ends_and_late_questions_are_refused() {
    let served = Served::of(&school(365));
    let [draws, move_on] =
        [(1, "{}"), (2, "{\"drums.count\":20}")].map(|(n, changes)| served.question(n, changes));
    let draws = draws.replace("\"draws\":10", "\"draws\":400");
    thread::scope(|scope| {
        let first = scope.spawn(|| served.post("draws", &draws));
        thread::sleep(Duration::from_millis(600));
        let start = Instant::now();
        assert_eq!(served.post("figures", &move_on).status, 200);
        let overtaken = first.join().expect("it ends");
        assert_eq!(overtaken.status, 409, "{overtaken:?}");
        assert!(start.elapsed() < Duration::from_secs(20), "{:?}", start.elapsed());
    });
    assert_eq!(served.post("figures", &draws).status, 409);
}

#[test]
fn work_ends_when_its_page_is_closed() {
    use std::io::Write;
    let served = Served::of(&school(365));
    let (host, path) = (&served.host, &served.path);
    let body = served.question(1, "{}").replace("\"draws\":10", "\"draws\":400");
    let length = body.len();
    let mut stream = served.connect();
    let head = format!(
        "POST {path}draws HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nContent-Type: application/json"
    );
    stream.write_all(format!("{head}\r\nContent-Length: {length}\r\n\r\n{body}").as_bytes()).expect("sent");
    thread::sleep(Duration::from_millis(500));
    drop(stream);
    // the thread of draws is free again long before 400 draws are made
    let other = served.question(1, "{\"drums.count\":20}").replace("\"tab\":\"t\"", "\"tab\":\"u\"");
    let start = Instant::now();
    assert_eq!(served.post("settled", &other).status, 200);
    assert!(start.elapsed() < Duration::from_secs(15), "{:?}", start.elapsed());
}

#[test]
fn every_number_leads_to_its_rates_and_their_sources() {
    let served = Served::of(&school(60));
    let question = served.question(1, "{}").replace("\"draws\":10", "\"draws\":400");
    let moved = json(&served.post("figures", &question));
    let of = moved["of"].as_str().expect("a name").to_owned();
    assert_eq!(served.get("number/stock_end?of=0123456789abcdef").status, 404, "no such variant");
    let before = served.get(&format!("number/stock_end?of={of}")).body;
    assert!(before.contains("No draws are made yet") && before.contains("best estimate"), "{before}");
    assert_eq!(served.post("draws", &question).status, 200);
    let after = served.get(&format!("number/stock_end?of={of}&units=us")).body;
    assert!(
        after.contains("nine of ten draws") && after.contains("lb") && after.contains("evidence"),
        "{after}"
    );
    let rate =
        after.split("../rate/").nth(1).and_then(|rest| rest.split('"').next()).expect("a rate").to_owned();
    let rate = served.get(&format!("rate/{rate}")).body;
    assert!(rate.contains("<dt>evidence</dt>") && rate.contains("<dt>source</dt>"), "{rate}");
    let rates = served.get(&format!("rates?of={of}")).body;
    assert!(rates.matches("href=\"rate/").count() > 100 && rates.contains("Ingredients"), "{}", rates.len());
    // a range that published trials narrow is shown beside the published one
    assert!(rates.contains("draws take"));
    assert!(served.get("rate/bed.decay_rate_protein").body.contains("range in draws"));
    for (n, choice) in moved["choices"].as_array().expect("a list").iter().enumerate() {
        let page = served.get(&format!("choice/{n}?of={of}"));
        assert!(page.status == 200 && page.body.contains(choice["key"].as_str().expect("a key")), "{choice}");
    }
    for chart in ["chart_stock", "chart_drums", "chart_throughput"] {
        let picture = served.get(&format!("chart/{chart}?of={of}&units=us"));
        assert!(picture.status == 200 && picture.body.starts_with("<svg"), "{chart}");
        assert!(picture.head.contains("default-src 'none'"), "{chart}");
    }
}

#[test]
fn draws_need_no_settled_year_and_are_kept_while_a_choice_moves_past_others() {
    let served = Served::of(&school(60));
    let pinned = served.question(1, "{\"drums.count\":30}");
    let bands = json(&served.post("draws", &pinned));
    let of = bands["of"].as_str().expect("a name").to_owned();
    for drums in 1..=10 {
        let moved = served.question(1, &format!("{{\"drums.count\":{drums}}}"));
        assert_eq!(served.post("figures", &moved).status, 200, "{drums}");
    }
    let number = served.get(&format!("number/stock_end?of={of}"));
    assert!(number.status == 200 && number.body.contains("nine of ten draws"), "{number:?}");
}

#[test]
fn the_page_loads_nothing_from_elsewhere_and_opens_other_scenarios() {
    let served = Served::of(&school(60));
    for path in ["", "page.js", "page.css", "rate/bed.decay_rate_protein"] {
        let reply = served.get(path);
        assert_eq!(reply.status, 200, "{path}");
        assert!(!reply.body.contains("//") || path == "page.js" || path.starts_with("rate"), "{path}");
        assert!(!reply.body.contains("innerHTML") && !reply.body.contains("http://"), "{path}");
        assert!(reply.head.contains("content-security-policy: default-src 'none'"), "{path}: {}", reply.head);
        assert!(reply.head.contains("cache-control: no-store"), "{path}");
    }
    let other = include_str!("../../../scenarios/harbour_hall.json");
    let body = serde_json::json!({ "name": "hall.json", "text": other }).to_string();
    let opened = json(&served.post("open", &body));
    let page = served.get(&format!("?of={}", opened["of"].as_str().expect("a name"))).body;
    assert!(page.contains("hall.json") && page.contains("Scraps on an open day"), "{page}");
}
