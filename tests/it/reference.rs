//! Answers of other libraries, kept as JSON beside the scripts in `tests/reference` that made them. No test needs Python.
//!
//! Each file names its script, the libraries with their versions (none in one case), the calls, and the rates it was made with. The tests use those
//! rates, so that a change of a published rate does not touch them.

#![allow(clippy::unwrap_used, reason = "a helper that fails fails its test")]

mod by_the_book;
mod chemistry;
mod estimates;
mod stepping;

use loamledger::literature;
use loamledger::matter::Material;
use serde_json::Value;

/// Distributions, intervals, sensitivity indices, money.
pub(crate) fn estimates() -> Value {
    serde_json::from_str(include_str!("../reference/estimates.json")).unwrap()
}

fn chemistry() -> Value {
    serde_json::from_str(include_str!("../reference/chemistry.json")).unwrap()
}

/// Drums and a bed by a program written from the chapter "The model in equations"; plain Python, without libraries.
fn by_the_book() -> Value {
    serde_json::from_str(include_str!("../reference/by_the_book.json")).unwrap()
}

fn stepping() -> Value {
    serde_json::from_str(include_str!("../reference/stepping.json")).unwrap()
}

/// The entries of a list.
pub(crate) fn list(of: &Value) -> &[Value] {
    of.as_array().unwrap()
}

/// A list of numbers.
pub(crate) fn numbers(of: &Value) -> Vec<f64> {
    list(of).iter().map(number).collect()
}

fn number(of: &Value) -> f64 {
    of.as_f64().unwrap()
}

/// A booked vector.
fn material(of: &Value) -> Material {
    let mut m = Material::zero();
    m.0.copy_from_slice(&numbers(of));
    m
}

/// Rates of the script; those that it does not use are the library's.
fn rates(reference: &Value) -> impl Fn(&str) -> f64 {
    let reference = reference["rates"].clone();
    move |key: &str| reference[key].as_f64().or_else(|| literature::central(key)).unwrap()
}

#[track_caller]
fn close(what: &str, found: f64, expected: f64, relative: f64) {
    let gap = (found - expected).abs();
    assert!(
        gap <= relative * expected.abs(),
        "{what}: {found} against {expected}, {:.2e}",
        gap / expected.abs()
    );
}

#[test]
fn every_reference_answer_names_its_source() {
    for reference in [estimates(), chemistry(), stepping()] {
        let script = reference["script"].as_str().unwrap();
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(script);
        assert!(path.exists(), "{script}");
        assert!(reference["libraries"].as_object().unwrap().len() >= 3, "{script}");
    }
    let plain = by_the_book();
    let script = plain["script"].as_str().unwrap();
    assert!(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(script).exists(), "{script}");
    assert!(plain["rates"].as_object().unwrap().len() >= 150);
}
