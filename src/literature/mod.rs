//! Published facts: rates, ingredients, curves, sources.
//!
//! The tables are JSON of our own shape, built into the library and read once. Rates stand in four tables
//! (`fermentation`, `bed`, `worms`, `site`), each with a second file `own_<table>.json` for numbers this project had to add,
//! and in a fifth, `feedstocks`, that is all our own; a rate is found by its key `<table>.<id>`. Ingredients hold fractions in kg/kg (the prints give percent); their figures are found in the same way, by `ingredients.<ingredient>.<figure>`. Every number
//! carries unit, range, shape, [`Evidence`] and source keys into the bibliography of [`sources()`].

mod composition;
mod curves;
mod entry;
mod ingredients;
mod sources;

pub use composition::{composition, composition_key, composition_parts};
pub use curves::{Curve, LifeTable, Recovery, RecoveryFacts, SpeciesFacts};
pub use curves::{curve, curves, life_tables, recoveries, recovery, species};
pub use entry::{Entry, Evidence, TableError};
pub use entry::{central, entries, entry, nearest_key};
pub use ingredients::{Cell, IngredientFacts, SolidKind};
pub use ingredients::{ingredient, ingredients, nearest_ingredient};
pub use sources::{Seen, Source};
pub use sources::{source, sources};

/// The known name most like a mistyped one, if any is near enough to be worth a hint.
///
/// Nearness is one less the Damerau-Levenshtein distance over the longer length; for a dotted name its last part alone
/// counts too, so that a forgotten table name still finds its key.
fn nearest<'a>(wrong: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    /// Below this the hint would be noise: more than half of the letters differ.
    const NEAR_ENOUGH: f64 = 0.5;
    let mut best: Option<(f64, &str)> = None;
    for name in known {
        let whole = strsim::normalized_damerau_levenshtein(wrong, name);
        let last = name.rsplit('.').next().unwrap_or(name);
        let likeness = whole.max(strsim::normalized_damerau_levenshtein(wrong, last));
        if best.is_none_or(|(best_likeness, _)| likeness > best_likeness) {
            best = Some((likeness, name));
        }
    }
    best.filter(|(likeness, _)| *likeness >= NEAR_ENOUGH).map(|(_, name)| name)
}
