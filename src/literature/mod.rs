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
