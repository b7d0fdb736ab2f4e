//! Questions asked of the model.

pub mod answer;
pub mod check;
pub mod drivers;
mod measurements;
pub mod mix;
pub mod rates_used;
mod run;
pub mod sensitivity;
pub mod sobol;
pub mod site_figures;
pub mod stock_growth;
pub mod uncertainty;
pub mod sizing;
pub mod verification;
mod warn;
pub mod what_if;

pub use run::RunError;
pub use run::run;
