//! Dependence of the properties of ingredients on each other and on rates.
//!
//! A range printed for a kind of material covers places and seasons. Where in it a site's own scraps lie is unknown until they
//! are analysed, so properties are drawn once per draw, for all streams that contain the ingredient.

use super::dependence::Correlation;
use crate::literature::{composition_key, composition_parts};
use crate::matter::Property;
use crate::scenario::Plan;
use std::collections::BTreeSet;

/// Rank correlations within an ingredient.
///
/// Ingredients rich in nitrogen buffer more (assumed; positive, about 0.6). Only the organic part contains carbon, so carbon falls
/// as ash rises: C = c (1 - ash) with c about 0.5 kg per kg organic matter. Over the published ranges of ash and carbon this
/// makes -0.5 (bread) to -1 (compost); the milder half is taken, since the two ranges were not measured together (derived here).
const TIED: [(Property, Property, f64); 2] =
    [(Property::Nitrogen, Property::BufferingCapacity, 0.6), (Property::Ash, Property::Carbon, -0.6)];

/// Rank correlation of the rates below with the moisture of the scraps: drier scraps give less liquor and stop souring at less
/// undissociated acid. The sign is known; the size is assumed.
const MOISTURE_OF_SCRAPS: f64 = 0.4;

/// Rates that rise with the moisture of the scraps.
const WITH_MOISTURE: [&str; 2] =
    ["fermentation.effluent_scale_food_waste", "fermentation.undissociated_lactic_stopping_production"];

/// Rank correlations between properties of ingredients among `keys`, the drawn ones of a plan.
///
/// Moisture is drawn for each ingredient, but the moisture of all scraps together matters: each of the n moistures of ingredients
/// in streams has r / sqrt(n), so that their even mix has r, whatever n.
pub fn correlations(plan: &Plan, keys: &[&str]) -> Vec<Correlation> {
    let drawn: BTreeSet<&str> = keys.iter().copied().collect();
    let mut all = Vec::new();
    let ingredients: BTreeSet<&str> = keys.iter().filter_map(|key| Some(composition_parts(key)?.0)).collect();
    for ingredient in ingredients {
        for (a, b, rank) in TIED {
            let pair = [a, b].map(|property| composition_key(ingredient, property));
            if pair.iter().all(|key| drawn.contains(key.as_str())) {
                all.push(Correlation::new(&pair[0], &pair[1], rank));
            }
        }
    }
    let wet: Vec<String> = scraps(plan)
        .into_iter()
        .map(|ingredient| composition_key(ingredient, Property::Moisture))
        .filter(|key| drawn.contains(key.as_str()))
        .collect();
    let rank = MOISTURE_OF_SCRAPS / (wet.len().max(1) as f64).sqrt();
    for rate in WITH_MOISTURE.into_iter().filter(|rate| drawn.contains(rate)) {
        all.extend(wet.iter().map(|key| Correlation::new(rate, key, rank)));
    }
    all
}

/// Ingredients of the literature behind the streams of a plan.
fn scraps(plan: &Plan) -> BTreeSet<&str> {
    let like = |name| plan.ingredients.iter().find(|own| own.id == name).map(|own| own.like.as_str());
    let names = plan.streams.iter().flat_map(|stream| stream.mix.iter().map(|part| part.ingredient.as_str()));
    names.map(|name| like(name).unwrap_or(name)).collect()
}
