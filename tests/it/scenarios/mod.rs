//! The worked sites and their variants, from file to closed balance.

mod books;
mod convergence;
mod scaling;
mod senseless;
mod what_if;
mod worked;

use crate::sound;
use loamledger::scenario::varied;
use loamledger::study::answer::{Amounts, RunAnswer};
use loamledger::warning::Severity;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

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

/// Reads and runs the text of a scenario; every answer must be sound.
fn run_text(text: &str) -> RunAnswer {
    sound::run(&sound::read(text).unwrap_or_else(|e| panic!("{e}")))
}

/// Runs a worked scenario with keys set, in turn.
fn run(name: &str, changes: &[(&str, &str)]) -> RunAnswer {
    run_text(&text(name, changes))
}

fn codes(answer: &RunAnswer) -> BTreeSet<&str> {
    answer.warnings.iter().map(|w| w.code).collect()
}

fn serious(answer: &RunAnswer) -> BTreeSet<&str> {
    answer.warnings.iter().filter(|w| w.severity == Severity::Serious).map(|w| w.code).collect()
}

/// A movement of the run.
fn flow(answer: &RunAnswer, name: &str) -> Amounts {
    answer
        .balance
        .flows
        .iter()
        .find(|f| f.flow.name() == name)
        .unwrap_or_else(|| panic!("no flow {name}"))
        .amounts
}

/// What a stage holds at the start and at the end.
fn held(answer: &RunAnswer, stage: &str) -> (Amounts, Amounts) {
    let held = answer.balance.held.iter().find(|h| h.stage.name() == stage);
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
