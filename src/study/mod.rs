//! Questions asked of the model.

pub mod answer;
pub mod mix;
mod run;
pub mod sensitivity;
pub mod sizing;
mod warn;
pub mod what_if;

pub use run::RunError;
pub use run::run;
