//! Questions asked of the model.

pub mod answer;
pub mod check;
pub mod mix;
mod run;
pub mod sensitivity;
pub mod site_figures;
pub mod stock_growth;
mod warn;

pub use run::RunError;
pub use run::run;
