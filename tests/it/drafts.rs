//! First drafts by `start`: they check clean, run, keep their worms and sell castings.

use crate::cli::loamledger;
use crate::sound;
use loamledger::scenario::{parse, varied};
use loamledger::study::verdict::Standing;
use std::fs;

/// Answers of five people.
const ANSWERS: [(&str, &[&str]); 5] = [
    ("school", &["--kind", "school", "--scraps", "25 kg/day", "--closed", "07-01..08-31"]),
    ("market", &["--kind", "market", "--scraps", "150 lb/day", "--place", "warm", "--currency", "USD"]),
    ("household", &["--kind", "household", "--people", "4", "--place", "cool"]),
    ("farm", &["--kind", "farm", "--scraps", "300 kg/day", "--floor", "2500 m2"]),
    ("city", &["--kind", "city", "--scraps", "1 t/day", "--place", "hot", "--weekdays", "monday-saturday"]),
];

fn drafted(name: &str, answers: &[&str]) -> (String, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = format!("{name}.json");
    let start = [&["start", file.as_str(), "--first-day", "2027-01-04"], answers].concat();
    let output = loamledger(folder.path(), &start);
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{name}: {told}");
    let checked = loamledger(folder.path(), &["check", &file]);
    assert_eq!(checked.status.code(), Some(0), "{name}");
    let text = fs::read_to_string(folder.path().join(&file)).expect("written");
    (text, String::from_utf8_lossy(&checked.stdout).into_owned())
}

#[test]
fn a_plan_from_answers_warns_of_heavy_drums_alone() {
    for (name, answers) in ANSWERS {
        let (_, page) = drafted(name, answers);
        let warnings = page.lines().skip_while(|line| !line.starts_with("Warnings of the plan"));
        let of = |line: &&str| ["serious: ", "caution: "].iter().any(|word| line.starts_with(word));
        for warning in warnings.take_while(|line| !line.starts_with("A run may raise")).filter(of) {
            assert!(warning.contains("full drum weighs"), "{name}: {warning}");
        }
    }
}

#[test]
fn a_site_from_answers_keeps_its_worms_and_sells_castings() {
    for (name, answers) in ANSWERS {
        let (text, _) = drafted(name, answers);
        let text = varied(name, &text, "settled_year.most_years", "1").unwrap_or_else(|e| panic!("{e}"));
        let run = sound::run(&parse(name, &text).unwrap_or_else(|e| panic!("{}", e.render(false))));
        let (bought, end) = (run.stock.bought, run.stock.end.total);
        assert!(end > 0.75 * bought, "{name}: {end} of {bought} kg of worms");
        let arrived = run.daily.iter().map(|day| day.intake).sum::<f64>();
        let sold: f64 = run.products.iter().map(|product| product.amounts.wet).sum();
        assert!((0.08..0.4).contains(&(sold / arrived)), "{name}: {sold} kg of castings from {arrived}");
        let turned_away: f64 = run.daily.iter().map(|day| day.turned_away).sum();
        assert!(turned_away < 0.02 * arrived, "{name}: {turned_away}");
    }
}

#[test]
fn a_hot_place_cools_its_beds() {
    for (name, answers) in ANSWERS {
        let (text, _) = drafted(name, answers);
        assert_eq!(text.contains("cooled_to"), name == "city", "{name}");
    }
    let (name, answers) = ANSWERS[4];
    let (text, _) = drafted(name, answers);
    let text = varied(name, &text, "settled_year.most_years", "1").unwrap_or_else(|e| panic!("{e}"));
    let hottest = |text: &str| {
        let run = sound::run(&parse(name, text).unwrap_or_else(|e| panic!("{}", e.render(false))));
        let cooled = run.site.energy.cooling();
        (run.beds.iter().map(|bed| bed.hottest).fold(f64::NEG_INFINITY, f64::max), cooled)
    };
    let (cooled, electricity) = hottest(&text);
    // above 33 °C worms die
    assert!(cooled < 33.0 && electricity > 0.0, "{cooled} °C, {electricity} kWh");
    let free = varied(name, &text, "climate.bed_room.cooled_to", "45").unwrap_or_else(|e| panic!("{e}"));
    let (free, electricity) = hottest(&free);
    assert!(free > cooled + 1.0 && electricity < 1.0, "{free} °C, {electricity} kWh");
}

#[test]
fn worms_that_wait_through_a_holiday_are_no_failure() {
    let (name, answers) = ANSWERS[0];
    let (text, _) = drafted(name, answers);
    let run = sound::run(&parse(name, &text).unwrap_or_else(|e| panic!("{}", e.render(false))));
    // they eat less than they need on many days of the two months, and on few others
    let starving: usize = run.beds.iter().map(|bed| bed.starving_days).sum();
    assert!(20 * starving > run.beds.len() * run.daily.len(), "{starving} bed-days");
    assert_eq!(run.verdict.standing, Standing::Works, "{:?}", run.verdict.weighed);
}

#[test]
fn answers_that_tell_too_little_or_are_wrong_write_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    for (answers, told) in [
        (&[][..], "give --scraps or --people"),
        (&["--kind", "school"], "give --scraps or --people"),
        (&["--kind", "farm", "--people", "3"], "give --scraps"),
        (&["--scraps", "3 m2"], "measures area"),
        (&["--scraps", "-3 kg/day"], "-3"),
        (&["--scraps", "3", "--people", "4"], "cannot be used with"),
        (&["--scraps", "3", "--weekdays", "workdays"], "monday-friday"),
        (&["--scraps", "3", "--closed", "13-40"], "is not a day or a span of days"),
        (&["--scraps", "3", "--place", "tropical"], "cold, cool, mild, warm, hot"),
        (&["--scraps", "3", "--room", "90 °C"], "between -10 and 35"),
        (&["--scraps", "3", "--drums", "two"], "two"),
        (&["--scraps", "3", "--floor", "3 kg"], "measures mass"),
        (&["--scraps", "3", "--first-day", "2027-13-01"], "2027-13-01"),
        (&["--from", "harbour_hall", "--scraps", "3"], "cannot be used with"),
    ] {
        let output = loamledger(folder.path(), &[&["start", "site.json"], answers].concat());
        let message = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{answers:?}: {message}");
        assert!(message.contains(told), "{answers:?}: {message}");
    }
    assert_eq!(fs::read_dir(folder.path()).expect("read").count(), 0);
}
