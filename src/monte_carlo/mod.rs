//! Draws: values for the unknowns, and for what varies from day to day. A draw is one simulated year with its own set of uncertain
//! values.
//!
//! Two kinds are kept apart. What we do not know (a rate, a figure of an ingredient) is drawn once per draw, by a [`Study`]: stratified
//! ([`design`]), correlated where the literature says so ([`dependence`]), turned into values by inverse distribution
//! functions ([`distribution`]). Where published trials narrow a range, draws take it after the prints
//! ([`narrowed`](crate::literature::narrowed)). What varies (weather, intake, luck of a drum) is drawn for every day, by [`Days`].
//!
//! An [`ensemble`] runs a plan with [`Draws`]. It keeps the [`figures`](crate::trace::figures) of each draw and its counts in the [`bands`] by
//! day; a [`shard`] is any part of the draws as a file, and merges into exactly the whole. [`summary`] computes the statistics of
//! many draws and their standard errors. A [`smoother`] moves an ensemble towards measurements; their [`worth`] is what they
//! would leave of the spread of a forecast.
//!
//! Draw *i* depends on the seed and on *i* alone, so that any draw can be made anywhere: alone, in a shard, on any thread.
//! It does not depend on the list of quantities either: streams belong to names, so that a rate fixed or added in
//! a variant of a plan leaves the values of the others as they were.

pub mod bands;
pub mod composition;
mod days;
pub mod dependence;
pub mod design;
pub mod distribution;
mod draws;
pub mod ensemble;
pub mod generator;
mod sample;
pub mod shard;
mod shares;
pub mod smoother;
pub mod summary;
pub mod worth;

pub use days::Days;
pub use dependence::{Correlation, DependenceError};
pub use draws::{Answered, Draws, Watch, in_order, on_threads};
pub use generator::Purpose;
pub use sample::{Block, Draw, Study, StudyError, UncertainQuantity};
pub use shares::ShareSet;
