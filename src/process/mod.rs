//! What turns into what, and how fast. Knows nothing of equipment and looks nothing up.
//!
//! Rates stand in plain structs. `from_values` fills one: `get` yields the value of a key of the literature (central, of the plan,
//! or drawn) in the unit of its entry; the keys asked for are the source of every number.

pub mod reaction;
pub mod acidity;
pub mod ingredient;
pub mod fermentation;
pub mod recipe;
pub mod aeration;
pub mod composting;
pub mod drying;
pub mod worm;
pub mod projection;
pub mod screening;
pub mod quality;
pub mod landfill;
