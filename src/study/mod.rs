//! Questions asked of the model.

pub mod answer;
pub mod mix;
