//! Readers of results: tables, pages and files. Nothing here computes a kilogram; units are chosen and figures rounded.

pub mod cautions;
pub mod drivers_files;
pub mod drivers_text;
pub mod compare_text;
pub mod chart;
pub mod draw;
pub mod facts_text;
pub mod fields;
pub mod files;
pub mod mix_text;
pub mod number;
pub mod page;
pub mod plan_text;
pub mod proposal;
pub mod run_text;
#[cfg(test)]
pub(crate) mod sample;
#[cfg(test)]
pub(crate) mod sample_draws;
pub mod sizing_text;
pub mod table;
pub mod uncertainty_files;
pub mod uncertainty_text;
pub mod workbook;
pub mod verification_text;
