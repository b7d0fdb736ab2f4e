//! Published facts: rates, ingredients, curves, sources.
//!
//! The tables are JSON files of our own form, built into the library and read once. Rates are in four tables (`fermentation`,
//! `bed`, `worms`, `site`), each with a second file `own_<table>.json` for numbers that this project added, and in a fifth,
//! `feedstocks`, that is all our own. A rate is found by its key `<table>.<id>`, a property of an ingredient by
//! `ingredients.<ingredient>.<property>`. Every number has a unit, a range, a shape, its [`Evidence`] and keys into the
//! bibliography of [`sources()`]. [`narrowed`] holds the ranges that published trials left of some of them.

mod curves;
mod entry;
mod ingredients;
pub mod narrowed;
mod sources;

pub use curves::{LifeTable, PublishedCurve, ScreeningRecovery, SpeciesFacts};
pub use curves::{curve, curves, life_tables, recoveries, recovery, species};
pub use entry::{Entry, Evidence, TableError};
pub use entry::{central, entries, entry, nearest_key};
pub use ingredients::{IngredientFacts, composition, composition_key, composition_parts};
pub use ingredients::{ingredient, ingredients, nearest_ingredient};
pub use sources::{Source, SourceAccess, source, sources};
