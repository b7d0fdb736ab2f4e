//! The command `facts`: which rates and ingredients are meant.

use super::Output;
use super::args::FactsArguments;
use super::failure::Failure;
use super::results::json;
use crate::literature::{self, Entry, IngredientFacts};
use crate::report::pages;

/// What a key or word stands for.
enum Found {
    Rate(&'static Entry),
    Ingredient(&'static IngredientFacts),
    Rates(Vec<&'static Entry>),
    Ingredients(Vec<&'static IngredientFacts>),
}

/// Whether every word of the filter is in the text.
fn mentions(text: &str, filter: &str) -> bool {
    let text = text.to_lowercase();
    filter.to_lowercase().split_whitespace().all(|word| text.contains(word))
}

fn unknown(given: &str) -> Failure {
    let nearest = literature::nearest_key(given).or_else(|| literature::nearest_ingredient(given));
    Failure::UnknownFact { given: given.to_owned(), nearest: nearest.map(str::to_owned) }
}

fn ingredients(filter: Option<&str>) -> Result<Found, Failure> {
    let Some(filter) = filter else {
        return Ok(Found::Ingredients(literature::ingredients().iter().collect()));
    };
    if let Some(one) = literature::ingredient(filter) {
        return Ok(Found::Ingredient(one));
    }
    let some: Vec<_> = literature::ingredients()
        .iter()
        .filter(|i| mentions(&format!("{} {}", i.id, i.name), filter))
        .collect();
    if some.is_empty() { Err(unknown(filter)) } else { Ok(Found::Ingredients(some)) }
}

fn find(filter: Option<&str>) -> Result<Found, Failure> {
    let Some(filter) = filter else { return Ok(Found::Rates(literature::entries().iter().collect())) };
    if let Some(rate) = literature::entry(filter) {
        return Ok(Found::Rate(rate));
    }
    if let Some(one) = literature::ingredient(filter) {
        return Ok(Found::Ingredient(one));
    }
    let some: Vec<_> = literature::entries()
        .iter()
        .filter(|rate| {
            mentions(&format!("{} {} {} {}", rate.key, rate.name, rate.note, rate.sources.join(" ")), filter)
        })
        .collect();
    if some.is_empty() { Err(unknown(filter)) } else { Ok(Found::Rates(some)) }
}

/// Lists published numbers, or tells one in full.
///
/// # Errors
/// [`Failure::UnknownFact`] when nothing is named so or mentions it.
pub fn facts(arguments: &FactsArguments) -> Result<Output, Failure> {
    let filter = arguments.key.as_deref();
    let found = if arguments.ingredients { ingredients(filter)? } else { find(filter)? };
    let text = match (found, arguments.json) {
        (Found::Rate(rate), false) => pages::facts::rate_text(rate),
        (Found::Rate(rate), true) => json(&pages::facts::rates_out(&[rate]))?,
        (Found::Rates(rates), false) => pages::facts::rates_text(&rates),
        (Found::Rates(rates), true) => json(&pages::facts::rates_out(&rates))?,
        (Found::Ingredient(one), false) => pages::facts::ingredient_text(one),
        (Found::Ingredient(one), true) => json(&pages::facts::ingredients_out(&[one]))?,
        (Found::Ingredients(some), false) => pages::facts::ingredients_text(&some),
        (Found::Ingredients(some), true) => json(&pages::facts::ingredients_out(&some))?,
    };
    Ok(Output::text(text))
}
