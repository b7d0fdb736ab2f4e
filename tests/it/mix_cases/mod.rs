//! Printed cases of composition and mix arithmetic (facts: feedstocks tables E1-E12 and findings, site table 3.1).
//!
//! Rows and helpers; the cases stand in `ingredients` and `recipes`.

#![allow(clippy::unwrap_used, reason = "a helper that fails fails its test")]

mod ingredients;
mod recipes;

use loamledger::component::Component;
use loamledger::component::Element;
use loamledger::ingredient::Ingredient;
use loamledger::ingredient::SolidKind;
use loamledger::ingredient::SplitRules;
use loamledger::ingredient::analysis::Analysis;
use loamledger::ingredient::analysis::Figure;
use loamledger::material::Material;
use loamledger::process::recipe::SolidDensities;
use serde_json::Value;

/// Feedstocks tables 1.1 and 1.2: central/low/high in percent (density in kg/m3), columns moisture, C, N, ash, P, K, bulk
/// density, protein, lipid, sugars and starch, cellulose and hemicellulose, lignin.
const ROWS: &str = "\
food_waste_household 70/50/80 48/45/50 2.6/1.9/3.2 10/5/17 0.5/0.2/0.7 0.9/0.6/1.5 455/235/900 16.3/12/20 15/10/25 35/25/45 18/10/25 5/2/11
food_waste_restaurant 68/53/75 52/48/54 3.3/2.9/3.8 8/3/11 0.5/0.2/0.7 0.9/0.6/1.5 455/235/900 20.9/18.3/23.5 29.5/25.7/33.2 22.8/16.2/29.4 12/5/18 3/1/6
fruit_and_vegetable_market 89.2/87/91 43/40/45 2/1.4/4 5.5/3/9 0.22/0.15/0.4 1.9/1.2/3 600/400/940 12.5/8.6/25 2.2/1/4 50/35/57 19/14/24 3/1/6
apple_pomace 80/60/85 45/42/48 0.81/0.5/1.1 2/1.4/3 0.06/0.05/0.14 0.68/0.58/0.76 700/400/1000 5.1/3/7 3/1.5/4.5 30/15/55 45/25/50 10/5/15
coffee_grounds 62/50/66 53/49/58 2.1/1.7/2.4 1.5/0.9/2.5 0.09/0.07/0.18 0.3/0.3/1.17 450/300/700 13/10.5/15 15/10/24 2/0/5 40/23/55 22.5/12/26
bread 35.3/30/40 45.8/44.5/47 2.4/2/2.5 1.7/1.5/4.1 0.15/0.12/0.33 0.19/0.17/0.3 250/150/350 14.2/12.1/14.8 2/0.9/10.7 78/61/82 4/2/8 0.5/0/1
wheat_bran 10/9/13 45.7/44.5/47 2.7/2.5/2.9 6.4/5.5/6.9 1.13/0.95/1.3 1.31/1.1/1.5 220/180/270 17.2/14.9/18 5/2.7/5.3 25/20/32 42/38/46 3.9/3/5
rice_bran 10.3/5/12 46/45/48.5 2.26/2.1/2.4 6.6/6.6/9.9 1.22/1.2/1.96 1.02/0.7/1.46 350/300/420 14.1/13.4/15 13/13/19.6 45.1/25.9/45.1 14.7/14.7/31 2.5/2/4
brewers_grain_wet 78/75/82 50/48/52 4.2/3.6/5.3 4.5/3.5/5.5 0.5/0.5/0.59 0.5/0.05/0.6 900/800/1000 26.2/26/33.1 7.3/7/8.6 8.3/4/9 48/45/52 5.6/4/12
cane_molasses 27/25/28 37/35/40 0.96/0.5/1 14/10/16 0.07/0.05/0.1 4/3/5 1400/1380/1430 6/3/6 0/0/0.5 64/60/70 0/0/0 0/0/0
cardboard_corrugated 8/5/10 44/43/47 0.1/0.1/0.3 5/1.5/8 0.01/0/0.03 0.02/0/0.05 63/30/154 0.6/0.5/1.9 0.5/0/1 2/0/4 67.2/62/72 20.8/15/24
newsprint 6/3/8 49.1/43.4/49.5 0.1/0.05/0.14 1.5/1.5/6 0.01/0/0.02 0.01/0/0.03 214/115/300 0.6/0.3/0.9 1/0/2 0/0/1 57.5/52/64 23.9/22/28
leaves_autumn 38/15/50 48/36.3/51.6 0.94/0.66/1.62 10/5/25 0.1/0.02/0.29 0.36/0.09/0.88 70/60/80 5.9/4/10 4/2/8 8/3/15 30/25/40 30/20/43.8
wheat_straw 10/8/14 45.5/43/47.5 0.4/0.3/0.5 7/3.3/11.2 0.06/0.03/0.1 0.61/0.5/1.5 135/58/222 2.8/1.9/3.5 1.5/1/2 2/1/3 70/59.4/79 16.4/8/17
sawdust 39/11.5/65 50/49.5/51.2 0.1/0.03/0.8 0.3/0.3/4.1 0.01/0/0.02 0.05/0.02/0.1 237/207/267 0.6/0.2/1 2/1/4 1/0/2 67/63.8/72 26/22/30
wood_chips 35/15/50 50.2/48.2/51 0.09/0.04/0.23 0.9/0.17/4 0.01/0/0.03 0.1/0.05/0.2 316/264/371 0.6/0.3/1.4 5/1/9.7 1/0/2 63.8/63.8/72 24.7/22/30
coconut_coir 20/10/85 44/44/48 0.45/0.2/0.7 7.1/0.8/8 0.03/0.01/0.06 0.9/0.3/2 80/40/120 2.8/1.5/4.4 8/0/15.8 1/0/3 43.9/43.9/73.6 31.2/17.8/42
compost_finished 45/40/50 22.2/15/33 1.53/0.5/3 57.7/35/70 0.59/0.3/1.5 1.13/0.5/1.8 590/475/710 - - - - -
horse_manure_bedded 67/59/79 40.5/30/47 1.5/0.9/2.3 15/8/30 0.35/0.2/0.5 1.2/0.8/2 840/725/960 9.4/6/14 2/1/3 2/0/4 52/40/60 14/10/20
cattle_manure_solid 79/68/85 38/30.6/45 1.7/1.3/2.4 18/12/30 0.31/0.25/0.8 1.2/0.6/2 710/650/990 10.6/8/15 3/2/5 2/0/5 42/30/50 12/8/18
grass_clippings 77/70/82 46/42/47 3.4/2.4/6 9/6/15 0.35/0.2/0.6 2/1/3 250/148/470 21/15/30 3/2/5 10/5/15 40/36/50 8/4/28";

/// Column "C check" of feedstocks table 1.2, in the order of [`ROWS`].
const CARBON_CHECK: [Option<f64>; 21] = [
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
];

/// Central values: own feedstock entries, and the fermentation and bed constants that acidity asks for.
fn value(key: &str) -> f64 {
    match key {
        "fermentation.lactic_acid_dissociation_constant" => 3.857,
        "fermentation.acetic_acid_dissociation_constant" => 4.76,
        "fermentation.butyric_acid_dissociation_constant" => 4.83,
        "fermentation.calcium_carbonate_neutralising_power" => 20.0,
        "bed.ammonium_pka_constant" => 0.09018,
        "bed.ammonium_pka_slope" => 2729.92,
        "bed.carbonic_acid_pka" => 6.35,
        "bed.carbon_dioxide_solubility" => 0.0384,
        _ => own(key.strip_prefix("feedstocks.").unwrap()).central,
    }
}

fn own(id: &str) -> Figure {
    let all: Vec<Value> =
        serde_json::from_str(include_str!("../../../src/literature/own_feedstocks.json")).unwrap();
    let entry = all.iter().find(|e| e["id"] == id).unwrap_or_else(|| panic!("no entry {id}"));
    let end = |k: &str| entry[k].as_f64().unwrap();
    Figure::new(end("central"), end("low"), end("high"))
}

fn rules() -> SplitRules {
    SplitRules::from_values(&value)
}

fn densities() -> SolidDensities {
    SolidDensities::from_values(&value)
}

fn published() -> Vec<(&'static str, Analysis)> {
    ROWS.lines()
        .map(|line| {
            let mut words = line.split_whitespace();
            let id = words.next().unwrap();
            let mut next = |scale: f64| {
                let mut ends = words.next().unwrap().split('/').map(str::parse::<f64>);
                let mut end = || ends.next().and_then(Result::ok);
                Some(Figure::new(end()?, end()?, end()?).times(scale))
            };
            let analysis = Analysis {
                moisture: next(0.01),
                carbon: next(0.01),
                nitrogen: next(0.01),
                ash: next(0.01),
                phosphorus: next(0.01),
                potassium: next(0.01),
                bulk_density: next(1.0),
                protein: next(0.01),
                fat: next(0.01),
                sugars: next(0.01),
                fibre: next(0.01),
                lignin: next(0.01),
                humus: None,
                initial_ph: Some(own(&format!("{id}_initial_ph"))),
                buffering_capacity: Some(own(&format!("{id}_buffering_capacity"))),
                salt: Some(own(&format!("{id}_salt"))),
                lime: None,
            };
            (id, analysis)
        })
        .collect()
}

fn analysis(id: &str) -> Analysis {
    published().into_iter().find(|(i, _)| *i == id).unwrap().1
}

fn kind(id: &str) -> SolidKind {
    match id {
        "compost_finished" => SolidKind::Humified,
        "cardboard_corrugated"
        | "newsprint"
        | "leaves_autumn"
        | "wheat_straw"
        | "sawdust"
        | "wood_chips"
        | "coconut_coir" => SolidKind::Bulking,
        _ => SolidKind::Food,
    }
}

fn ingredient(id: &str) -> Ingredient {
    Ingredient::from_analysis(id, &analysis(id), None, kind(id), &rules()).unwrap()
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
