//! What turns into what, and how fast. Knows nothing of equipment and looks nothing up.

pub mod acidity;
pub mod aeration;
pub mod composting;
pub mod drying;
pub mod fermentation;
pub mod projection;
pub mod quality;
pub mod reaction;
pub mod recipe;
pub mod screening;
pub mod worm;
