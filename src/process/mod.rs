//! Conversions of matter and their rates. No process knows equipment or looks up values.
//!
//! Rates are plain structs. `from_values` fills one: `get` yields the value of a key of the literature (central, of the plan,
//! or drawn) in the unit of its entry. The keys are the source of every number.
//!
//! [The model in equations](super::unit::equations) shows them together, in the order of a day, with symbols, units and keys.

pub mod reaction;
pub mod acidity;
pub mod ingredient;
pub mod fermentation;
pub mod recipe;
pub mod aeration;
pub mod ammonium;
pub mod composting;
pub mod drying;
pub mod worm;
pub mod projection;
pub mod screening;
pub mod quality;
pub mod landfill;
