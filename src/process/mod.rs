//! What turns into what, and how fast. Knows nothing of equipment and looks nothing up.

pub mod reaction;
pub mod acidity;
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
