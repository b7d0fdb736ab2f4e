//! Choices of a site, read from a scenario file.
//!
//! 1. [`plan`] (and [`sizing`]) declare each key once: text, unit, range, default, type. From the declarations follow the reader,
//!    the table of numbers ([`field`]) and the published [`schema()`].
//! 2. [`parse`] (or [`read_scenario`], from a file) checks everything and yields a [`Plan`], or a [`ScenarioError`] with every fault:
//!    file, line, column, key, given, allowed, hint.
//! 3. [`assemble()`] turns a plan into the [`Site`](crate::chain::Site) and the [`Models`](crate::chain::Models) that a chain runs;
//!    [`assemble_with`] does so with drawn values, [`with_chance`] with drawn days. Its ingredients are split in a [`Larder`].
//! 4. [`varied`] writes the text of the same scenario with one key changed; [`Plan::resized`] makes the same site in other sizes.

mod almanac;
mod assemble;
pub mod calendar;
mod check;
pub mod draft;
pub mod error;
pub mod field;
mod file_kind;
mod filled;
mod fitted_file;
mod fresh;
mod larder;
mod locate;
pub mod log;
pub mod own_ingredient;
mod path;
pub mod plan;
mod rates;
mod read;
mod rule;
mod schema;
mod section;
mod size;
mod state_file;
pub mod sizing;
mod standing;
mod vary;
mod words;

pub use almanac::Almanac;
pub use assemble::{
    AssembleError, Chance, assemble, assemble_on, assemble_with, central, narrowed, with_chance,
};
pub use error::{Fault, ScenarioError};
pub use file_kind::FileKind;
pub use fitted_file::{FITTED_VERSION, Fitted, FittedFile};
pub use larder::{Larder, LarderError, ingredients_used, library, published_analysis};
pub use plan::Plan;
pub use read::{parse, read_scenario, read_text};
pub use schema::schema;
pub use size::{Size, SizeError};
pub use state_file::{STATE_VERSION, StateFile, parse_state};
pub use vary::varied;
pub use words::weekday_names;
