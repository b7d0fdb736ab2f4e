//! Printed cases of composition and mix arithmetic (E1 to E12), and mixes worked by hand.
//!
//! Rows and helpers; the cases stand in `ingredients` and `recipes`, those of the program itself in `command`.

#![allow(clippy::unwrap_used, reason = "a helper that fails fails its test")]

mod command;
mod ingredients;
mod recipes;

use loamledger::literature;
use loamledger::matter::{Component, Element, Material};
use loamledger::process::ingredient::analysis::StatedAnalysis;
use loamledger::process::ingredient::{Ingredient, SplitRules};
use loamledger::process::recipe::SolidDensities;
use loamledger::scenario::{library, published_analysis};

/// Column "C check" of feedstocks table 1.2, in the order of the ingredients.
const CARBON_CHECK: [Option<f64>; 25] = [
    Some(47.1),
    Some(53.0),
    Some(44.1),
    Some(46.6),
    Some(53.7),
    Some(45.3),
    Some(45.5),
    Some(47.3),
    Some(48.5),
    Some(38.3),
    Some(46.0),
    Some(48.2),
    Some(46.7),
    Some(45.0),
    Some(49.4),
    Some(49.9),
    Some(49.3),
    None,
    Some(41.8),
    Some(40.6),
    Some(44.9),
    None,
    None,
    None,
    None,
];

/// Central values of the literature.
fn value(key: &str) -> f64 {
    literature::central(key).unwrap_or_else(|| panic!("no entry {key}"))
}

fn rules() -> SplitRules {
    SplitRules::from_values(&value)
}

fn densities() -> SolidDensities {
    SolidDensities::from_values(&value)
}

/// Every published row, as the program splits it.
fn published() -> Vec<(&'static str, StatedAnalysis)> {
    literature::ingredients().iter().map(|facts| (facts.id.as_str(), published_analysis(facts))).collect()
}

fn analysis(id: &str) -> StatedAnalysis {
    published_analysis(literature::ingredient(id).unwrap())
}

/// An ingredient as a plan gets it from its larder.
fn ingredient(id: &str) -> Ingredient {
    library(&rules(), &|key| literature::central(key).unwrap()).unwrap().remove(id).unwrap()
}

fn on_dry(m: &Material, e: Element) -> f64 {
    m.element(e) / m.dry()
}

/// A material with stated moisture, and C, N, P, K on dry mass: protein for N, fat for the rest of C, minerals to fill.
fn stuff(moisture: f64, carbon: f64, nitrogen: f64, phosphorus: f64, potassium: f64) -> Material {
    let share = |c: Component, e: Element| c.elements()[e.index()];
    let protein = nitrogen / share(Component::Protein, Element::Nitrogen);
    let fat = (carbon - protein * share(Component::Protein, Element::Carbon))
        / share(Component::Fat, Element::Carbon);
    let minerals = 1.0 - protein - fat - phosphorus - potassium;
    let dry = Material::of(Component::Protein, protein)
        + Material::of(Component::Fat, fat)
        + Material::of(Component::Phosphorus, phosphorus)
        + Material::of(Component::Potassium, potassium)
        + Material::of(Component::Minerals, minerals);
    assert!(dry.smallest() >= 0.0);
    Material::of(Component::Water, moisture) + dry * (1.0 - moisture)
}

fn close(found: f64, printed: f64, tolerance: f64) {
    assert!((found - printed).abs() <= tolerance, "{found} against {printed} +- {tolerance}");
}
