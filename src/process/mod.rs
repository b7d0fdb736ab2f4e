//! What turns into what, and how fast. Knows nothing of equipment and looks nothing up.

pub mod acidity;
pub mod fermentation;
pub mod projection;
pub mod reaction;
pub mod recipe;
pub mod screening;
pub mod worm;
