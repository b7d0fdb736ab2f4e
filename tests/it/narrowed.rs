//! Ranges after published trials: the shipped file fits the rates, draws use it, and the command makes it.

use loamledger::literature::narrowed::{PrintedRange, after_prints, narrowed};
use loamledger::literature::{self, central};
use loamledger::monte_carlo::distribution::quantile;
use loamledger::monte_carlo::{Study, Watch, dependence};
use loamledger::quantity::Uncertain;
use loamledger::scenario::{self, Plan};
use loamledger::verification::narrow::{
    LEAST_EFFECTIVE, ModelError, NarrowQuestion, Outcome, drifts, narrow,
};
use std::thread::available_parallelism;

const HALL: &str = include_str!("../../scenarios/harbour_hall.json");
/// What to do when the file is out of date.
const REMAKE: &str = "make it again: cargo run --release -- narrow --out src/literature";
/// Rows that trials may narrow; no row of worms but the intake.
const ROWS: [&str; 7] = [
    "bed.decay_rate_readily_degradable",
    "bed.decay_rate_protein",
    "bed.decay_rate_lipid",
    "bed.decay_rate_hemicellulose_and_cellulose",
    "bed.decay_rate_lignin",
    "bed.denitrification_rate",
    "worms.maximum_intake",
];

fn threads() -> usize {
    available_parallelism().map_or(1, usize::from)
}

fn hall_with(set: &[(&str, &str)]) -> Plan {
    let text = set.iter().fold(HALL.to_owned(), |text, (key, value)| {
        scenario::varied("test.json", &text, key, value).expect("a key can be set")
    });
    scenario::parse("test.json", &text).unwrap_or_else(|e| panic!("{e}"))
}

fn drawn(plan: &Plan, key: &str) -> Uncertain {
    let study = Study::of(plan).expect("a plan that can be drawn");
    study.quantities()[study.place(key).expect("a drawn rate")].value
}

#[test]
fn the_shipped_ranges_are_of_these_rates() {
    let file = narrowed();
    assert_eq!(file.program, env!("CARGO_PKG_VERSION"), "the ranges are of another version: {REMAKE}");
    assert!(file.effective >= LEAST_EFFECTIVE, "too few draws count: {}", file.effective);
    assert!(!file.rows.is_empty());
    for row in &file.rows {
        assert!(ROWS.contains(&row.key.as_str()), "{} must not be narrowed", row.key);
        let table = literature::entry(&row.key).expect("a row of the tables").value;
        assert_eq!(row.printed, PrintedRange::of(&table), "{} has another range now: {REMAKE}", row.key);
        let value = row.value().unwrap();
        let [low, high] = [0.05, 0.95].map(|point| quantile(&value, point));
        let [before, after] = [0.05, 0.95].map(|point| quantile(&table, point));
        let width =
            |low: f64, high: f64| if value.shape().is_logarithmic() { (high / low).ln() } else { high - low };
        assert!(width(low, high) < width(before, after), "{} is no narrower", row.key);
        // a best estimate outside would contradict the draws, and the row would have to be looked at
        assert!(low < table.central() && table.central() < high, "{}: {low} to {high}", row.key);
    }
}

/// The first block of the draws gives nearly the medians that the file holds. Outcomes of worms are not asked about: what changes them need not
/// change the rows of decay.
#[test]
fn the_model_still_gives_what_the_ranges_were_made_of() {
    let found = drifts(narrowed(), threads()).unwrap();
    assert_eq!(found.len(), narrowed().prints.len());
    for one in found.iter().filter(|one| one.outcome != Some(Outcome::Worms)) {
        // half of the error of the model moves a row by about a tenth of its range
        assert!(one.moved.abs() < 0.5, "{} moved by {:.2} errors of the model: {REMAKE}", one.key, one.moved);
    }
}

#[test]
fn draws_use_the_narrowed_ranges_unless_the_plan_says_otherwise() {
    let key = "bed.decay_rate_hemicellulose_and_cellulose";
    let (table, after) = (literature::entry(key).unwrap().value, after_prints(key).expect("a narrowed row"));
    assert_eq!(drawn(&hall_with(&[]), key), after);
    assert_eq!(drawn(&hall_with(&[("ranges", "\"as_printed\"")]), key), table);
    let own = r#"{ "central": 0.02, "low": 0.01, "high": 0.03 }"#;
    let plan = hall_with(&[("rates.bed.decay_rate_hemicellulose_and_cellulose", own)]);
    let value = drawn(&plan, key);
    assert_eq!(vec![value.low(), value.central(), value.high()], [0.01, 0.02, 0.03]);
    // rows of worms keep their ranges
    for key in ["worms.juvenile_death_rate", "worms.cocoon_rate_per_adult", "bed.salt_response_zero"] {
        assert_eq!(drawn(&hall_with(&[]), key), literature::entry(key).unwrap().value, "{key}");
        assert!(after_prints(key).is_none());
    }
}

#[test]
fn best_estimates_do_not_move() {
    let plan = hall_with(&[]);
    let study = Study::of(&plan).unwrap();
    let best = study.central();
    for row in &narrowed().rows {
        assert_eq!(
            study.value(&best, &row.key).to_bits(),
            central(&row.key).unwrap().to_bits(),
            "{}",
            row.key
        );
        assert_eq!(scenario::central(&plan, &row.key).to_bits(), central(&row.key).unwrap().to_bits());
    }
}

#[test]
fn correlations_after_the_prints_replace_those_assumed() {
    let [before, after] = [dependence::published(), dependence::after_prints()];
    let file = narrowed();
    let narrowed = |key: &str| file.rows.iter().any(|row| row.key == key);
    for pair in &file.correlations {
        assert!(narrowed(&pair.a) && narrowed(&pair.b) && pair.rank.abs() < 1.0);
        let found =
            after.iter().filter(|c| (c.a == pair.a && c.b == pair.b) || (c.a == pair.b && c.b == pair.a));
        assert_eq!(found.map(|c| c.rank).collect::<Vec<f64>>(), [pair.rank]);
    }
    for c in before.iter().filter(|c| !(narrowed(&c.a) && narrowed(&c.b))) {
        assert!(after.contains(c), "{} with {}", c.a, c.b);
    }
}

/// Too few draws for ranges that may be used, yet enough to show that the answer does not depend on threads, and that nothing is
/// written.
#[test]
fn a_small_narrowing_is_the_same_on_any_number_of_threads() {
    let ask = |threads| {
        let question = NarrowQuestion { draws: 100, seed: 3, threads, error: ModelError::USUAL };
        narrow(&question, &Watch::default()).unwrap()
    };
    let one = ask(1);
    assert_eq!(one, ask(3));
    assert!(one.is_too_thin() && one.effective >= 1.0 && one.effective <= 100.0);
    assert_eq!(one.rows.iter().map(|row| row.key).collect::<Vec<&str>>(), ROWS);
    for row in &one.rows {
        assert!(row.after[0] < row.after[1] && row.after[1] < row.after[2], "{row:?}");
    }
    let prints: usize = one.sources.iter().map(|source| source.prints.len()).sum();
    assert_eq!((one.before.prints, one.after.prints), (prints, prints));
    assert!(prints > 5 && one.left_out.len() > 90, "{prints} {}", one.left_out.len());
    let stopped = Watch::default();
    stopped.stop();
    let question = NarrowQuestion { draws: 100, seed: 3, threads: 1, error: ModelError::USUAL };
    assert!(narrow(&question, &stopped).is_err());
}
