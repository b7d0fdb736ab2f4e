//! The worm bed against check values, tables computed by other code, and further results of published trials.
//!
//! The printed figures of the trials are in `verification`; these tests use the same trials.

#![allow(clippy::unwrap_used, reason = "a helper that fails fails its test")]

mod algebra;
mod beside;
mod conservation;
mod functions;
mod heat;
mod losses;
mod stock;
mod worms_and_decay;

use loamledger::literature;
use loamledger::matter::Material;
use loamledger::unit::bed::BedModel;
use loamledger::verification::trial::{self, DECAY, Decay, Shelf, setup, wetted};

fn central(key: &str) -> f64 {
    literature::central(key).unwrap_or_else(|| panic!("no entry {key}"))
}

fn model_with(changed: &[(&str, f64)]) -> BedModel {
    trial::model_with(changed).unwrap()
}

fn model(decay: Decay) -> BedModel {
    trial::model(decay).unwrap()
}

/// A library ingredient, one kilogram wet.
fn food(id: &str) -> Material {
    Shelf::full().unwrap().food(id)
}

/// Bulk density of a library ingredient, kg/m3.
fn density(id: &str) -> f64 {
    Shelf::full().unwrap().density(id)
}

#[track_caller]
fn close(what: &str, found: f64, printed: f64, tolerance: f64) {
    assert!((found - printed).abs() <= tolerance, "{what}: {found} against {printed} +- {tolerance}");
}
