//! The worked sites and their variants, from file to closed balance.

mod convergence;
mod scaling;
mod senseless;
mod what_if;
mod worked;

use loamledger::literature;
use loamledger::scenario::Known;
use loamledger::scenario::parse;
use loamledger::scenario::varied;
use loamledger::study;
use loamledger::study::answer::Amounts;
use loamledger::study::answer::RunAnswer;
use loamledger::trace::CLOSURE_TOLERANCE;
use loamledger::warning::Severity;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::path::PathBuf;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios")
}

/// Names of the files in the folder of worked scenarios.
fn names() -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder())
        .expect("the folder is readable")
        .map(|entry| entry.expect("the folder is readable").path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .map(|path| path.file_stem().expect("a file has a name").to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// Text of a worked scenario with keys set, in turn.
fn text(name: &str, changes: &[(&str, &str)]) -> String {
    let path = folder().join(name).with_extension("json");
    let start = fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    changes.iter().fold(start, |text, (key, value)| {
        varied(name, &text, key, value).unwrap_or_else(|e| panic!("{key} = {value}: {e}"))
    })
}

/// Reads and runs the text of a scenario; every run must close.
fn run_text(text: &str) -> RunAnswer {
    let ingredients: Vec<&str> = literature::ingredients().iter().map(|i| i.id.as_str()).collect();
    let rates: Vec<&str> = literature::entries().iter().map(|e| e.key.as_str()).collect();
    let known = Known { ingredients: &ingredients, rates: &rates };
    let plan = parse("variant.json", text, known).unwrap_or_else(|e| panic!("{e}"));
    let answer = study::run(&plan).unwrap_or_else(|e| panic!("{e}"));
    closes(&answer);
    all_finite(&answer);
    answer
}

/// Runs a worked scenario with keys set, in turn.
fn run(name: &str, changes: &[(&str, &str)]) -> RunAnswer {
    run_text(&text(name, changes))
}

/// Every holder and day closes (the run stops otherwise), and so does each element over the gate.
fn closes(answer: &RunAnswer) {
    let balance = &answer.balance;
    let residual = balance.largest_relative_residual;
    assert!((0.0..=CLOSURE_TOLERANCE).contains(&residual), "{residual:e}");
    assert_eq!(balance.elements.len(), 8);
    for e in &balance.elements {
        let scale = e.into_site.abs() + e.out_of_site.abs() + e.change.abs();
        let gap = e.into_site - e.out_of_site - e.change;
        assert!(gap.abs() <= CLOSURE_TOLERANCE * scale.max(1e-6), "{}: {gap:e} of {scale:e} kg", e.element);
    }
}

/// Figures of the site that may be absent: not in the plan, without intake or product, or with no such rate or year.
const SITE_OPTIONS: [&str; 11] = [
    ".site.floor.have",
    ".site.floor.load_limit",
    ".site.labour.have",
    ".site.labour.per_tonne",
    ".site.energy.drying",
    ".site.money",
    ".site.money.internal_rate",
    ".site.money.payback",
    ".site.money.discounted_payback",
    ".site.money.cost_per_tonne",
    ".site.money.cost_per_cubic_metre",
];

/// Every number of the answer is finite: JSON has no other, they would be written as null.
fn all_finite(answer: &RunAnswer) {
    let json = serde_json::to_value(answer).expect("an answer is data");
    let mut nulls = Vec::new();
    find_nulls(&json, "", &mut nulls);
    // what may be absent: documented as Option in the answer
    let allowed = |path: &str| {
        ["opened_ph", "opened_age", "place", "quality", "value", "below_4_mm"]
            .iter()
            .any(|name| path.ends_with(name))
            || path.contains(".allowed[")
            || path.contains(".warning")
            || SITE_OPTIONS.contains(&path)
    };
    nulls.retain(|path| !allowed(path));
    assert!(nulls.is_empty(), "no number at {nulls:?}");
}

fn find_nulls(value: &serde_json::Value, path: &str, into: &mut Vec<String>) {
    match value {
        serde_json::Value::Null => into.push(path.to_owned()),
        serde_json::Value::Array(list) => {
            for (n, inner) in list.iter().enumerate() {
                find_nulls(inner, &format!("{path}[{n}]"), into);
            }
        }
        serde_json::Value::Object(map) => {
            for (key, inner) in map {
                find_nulls(inner, &format!("{path}.{key}"), into);
            }
        }
        _ => {}
    }
}

fn codes(answer: &RunAnswer) -> BTreeSet<&str> {
    answer.warnings.iter().map(|w| w.code).collect()
}

fn serious(answer: &RunAnswer) -> BTreeSet<&str> {
    answer.warnings.iter().filter(|w| w.severity == Severity::Serious).map(|w| w.code).collect()
}

/// A movement of the run.
fn flow(answer: &RunAnswer, name: &str) -> Amounts {
    answer.balance.flows.iter().find(|f| f.flow == name).unwrap_or_else(|| panic!("no flow {name}")).amounts
}

/// What a stage holds at the start and at the end.
fn held(answer: &RunAnswer, stage: &str) -> (Amounts, Amounts) {
    let held = answer.balance.held.iter().find(|h| h.stage == stage);
    held.map_or_else(|| panic!("no stage {stage}"), |h| (h.start, h.end))
}

fn turned_away(answer: &RunAnswer) -> f64 {
    answer.streams.iter().map(|s| s.turned_away).sum()
}

fn delivered(answer: &RunAnswer) -> f64 {
    answer.streams.iter().map(|s| s.delivered.wet).sum()
}

fn eaten(answer: &RunAnswer) -> f64 {
    answer.daily.iter().map(|d| d.eaten).sum()
}

fn dead(answer: &RunAnswer, cause: &str) -> f64 {
    answer.stock.deaths.iter().find(|d| d.0 == cause).unwrap_or_else(|| panic!("no cause {cause}")).1
}

/// Carbon the beds gave to the air over carbon fed.
fn carbon_loss(answer: &RunAnswer) -> f64 {
    flow(answer, "bed_gas").carbon / flow(answer, "feed_to_beds").carbon
}

#[track_caller]
fn within(what: &str, value: f64, low: f64, high: f64) {
    assert!((low..=high).contains(&value), "{what}: {value} is not in {low} to {high}");
}
