//! Readers of results: tables, pages and files. Nothing here computes a kilogram; units are chosen and figures rounded.
//!
//! - For people, in the units they ask for: [`pages`] of text, one for each question, with their [`table`]s; [`chart`]s as data, which
//!   [`draw`] turns into pictures; the [`workbook`]; the [`proposal`], one document of all of it;
//!   [`rounds`](mod@rounds) for the wall; the live page of [`explore`](mod@explore).
//! - [`cautions`] of safety, whatever the figures say, for all of them.
//! - For programs, always in SI with all digits: [`files`].

pub mod cautions;
pub mod chart;
pub mod clean;
pub mod draw;
pub mod explore;
pub mod files;
mod head;
pub mod number;
pub mod pages;
pub mod proposal;
pub mod rounds;
pub mod table;
pub mod workbook;
#[cfg(test)]
#[path = "../../tests/fixtures/answer.rs"]
pub(crate) mod sample;
#[cfg(test)]
#[path = "../../tests/fixtures/draws.rs"]
pub(crate) mod sample_draws;
