//! Ranges after the prints: rows whose ranges were narrowed by what others have published of whole trials.
//!
//! The file is made by `loamledger narrow`, once for each version of the rates; draws of a site use it. Nobody edits it.

use crate::quantity::{Shape, Uncertain, UncertainError};
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

/// Ranges after the prints, with what they were made of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Narrowed {
    /// What the file is, for whoever opens it.
    pub note: String,
    /// Version of the program that made it.
    pub program: String,
    /// Seed of the draws.
    pub seed: u64,
    /// Draws that were weighed.
    pub draws: u64,
    /// Effective number of them.
    pub effective: f64,
    /// Error of the model for losses and contents, in the logarithm.
    pub model_error_losses: f64,
    /// Error of the model for worms and castings, in the logarithm.
    pub model_error_worms: f64,
    /// The rows.
    pub rows: Vec<NarrowedRow>,
    /// Rank correlations between them.
    pub correlations: Vec<NarrowedPair>,
    /// The prints that the draws were weighed by.
    pub prints: Vec<NarrowedPrint>,
}

/// A row after the prints: a range of the shape of the printed one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NarrowedRow {
    /// Key of the table.
    pub key: String,
    /// Central value, as the shape means it.
    pub central: f64,
    /// Low value, likewise.
    pub low: f64,
    /// High value, likewise.
    pub high: f64,
    /// The range that the draws were made from: that of the table at that time.
    pub printed: PrintedRange,
    /// How far the mean moved, in standard deviations of the range as printed.
    pub pull: f64,
    /// Standard deviation that is left, in those of the range as printed.
    pub left: f64,
}

/// A range as the table has it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrintedRange {
    /// Central value.
    pub central: f64,
    /// Low value.
    pub low: f64,
    /// High value.
    pub high: f64,
    /// Name of the shape.
    pub shape: String,
}

/// A rank correlation between two rows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NarrowedPair {
    /// Key of one row.
    pub a: String,
    /// Key of the other.
    pub b: String,
    /// Rank correlation.
    pub rank: f64,
}

/// A print, with what the model gave for it: by this a changed model is found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NarrowedPrint {
    /// Name of the check.
    pub key: String,
    /// Median of the model's figure over the first block of draws, in the unit of the check.
    pub median: f64,
}

impl PrintedRange {
    /// The range of a number.
    pub fn of(value: &Uncertain) -> Self {
        let shape = value.shape().name().to_owned();
        Self { central: value.central(), low: value.low(), high: value.high(), shape }
    }
}

impl NarrowedRow {
    /// The range.
    ///
    /// # Errors
    /// [`UncertainError`] if its numbers do not fit its shape; a shape that there is not counts as fixed.
    pub fn value(&self) -> Result<Uncertain, UncertainError> {
        let shape = Shape::from_name(&self.printed.shape).unwrap_or(Shape::Fixed);
        Uncertain::new(self.central, self.low, self.high, shape)
    }
}

static NARROWED: LazyLock<Narrowed> = LazyLock::new(|| {
    serde_json::from_str(include_str!("narrowed.json"))
        .unwrap_or_else(|error| panic!("the narrowed ranges built into the library are faulty: {error}"))
});

/// Ranges after the prints, as shipped.
pub fn narrowed() -> &'static Narrowed {
    &NARROWED
}

/// The range of a rate after the prints. `None` if the prints do not narrow it.
///
/// # Panics
/// If the shipped range does not fit its shape (a fault of ours).
pub fn after_prints(key: &str) -> Option<Uncertain> {
    let row = NARROWED.rows.iter().find(|row| row.key == key)?;
    Some(row.value().unwrap_or_else(|error| panic!("the narrowed range of {key}: {error}")))
}
