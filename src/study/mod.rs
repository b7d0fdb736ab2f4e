//! Questions asked of the model.

pub mod mix;
