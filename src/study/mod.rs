//! Questions asked of the model.

pub mod answer;
pub mod mix;
mod run;
mod warn;

pub use run::RunError;
pub use run::run;
