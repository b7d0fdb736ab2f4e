//! Readers of results: tables, pages and files. Nothing here computes a kilogram; units are chosen and figures rounded.
//!
//! - For people, in the units they ask for: a page of text for each question (`*_text`), made of the parts of a page and of
//!   [`table`]s; [`chart`]s as data, which [`draw`] turns into pictures; the [`workbook`]; the [`proposal`], one document of all of it.
//!   [`cautions`] are what must be told whatever the figures say.
//! - For programs, always in SI with all digits: [`files`], [`uncertainty_files`], [`drivers_files`].

pub mod cautions;
pub mod drivers_files;
pub mod drivers_text;
pub mod compare_text;
pub mod chart;
pub mod draw;
pub mod facts_text;
mod fields;
pub mod files;
pub mod mix_text;
pub mod number;
mod page;
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
