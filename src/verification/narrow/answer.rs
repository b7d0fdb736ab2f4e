//! What `narrow` answers.

use super::cover::{Coverage, Foretold};
use super::outcome::{ModelError, Outcome};
use super::rows::{RowAnswer, rounded};
use super::sound::LeftOut;
use crate::literature::narrowed::{Narrowed, NarrowedPair, NarrowedPrint};
use crate::verification::Relation;
use serde::Serialize;

/// Least effective number of draws of ranges that may be shipped. Our choice: their 5 and 95 % points are known to a tenth of a standard
/// deviation.
pub const LEAST_EFFECTIVE: f64 = 1000.0;
/// Least rank correlation between rows that is shipped. Our choice: what is less lies within its error.
const LEAST_CORRELATION: f64 = 0.05;
/// What the shipped file says of itself.
const NOTE: &str = "Made by `loamledger narrow`; remake it with each version of the rates, do not edit it.";

/// The answer to *narrow*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NarrowAnswer {
    /// Version of the program.
    pub version: &'static str,
    /// Seed of the draws.
    pub seed: u64,
    /// Draws that could be run.
    pub draws: usize,
    /// Errors of the model.
    pub error: ModelError,
    /// Correlation of its errors within a source.
    pub within_source: f64,
    /// Effective number of draws.
    pub effective: f64,
    /// The rows.
    pub rows: Vec<RowAnswer>,
    /// Rank correlations between them, before and after.
    pub correlations: Vec<PairAnswer>,
    /// The sources, with their prints.
    pub sources: Vec<SourceAnswer>,
    /// Checks that no draw is weighed by.
    pub left_out: Vec<LeftOutCheck>,
    /// Coverage of the prints by draws that know none.
    pub before: Coverage,
    /// Coverage of the prints of each source by draws that know all others.
    pub after: Coverage,
}

/// A rank correlation between two rows.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PairAnswer {
    /// Key of one row.
    pub a: &'static str,
    /// Key of the other.
    pub b: &'static str,
    /// Among the ranges as printed.
    pub before: f64,
    /// After the prints.
    pub after: f64,
}

/// A source.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SourceAnswer {
    /// Key of the source.
    pub key: &'static str,
    /// Effective number of draws weighed by it alone.
    pub effective: f64,
    /// How far it alone moves each row, in standard deviations.
    pub pulls: Vec<f64>,
    /// Its prints.
    pub prints: Vec<PrintAnswer>,
}

/// A print that draws are weighed by.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PrintAnswer {
    /// Name of the check.
    pub key: &'static str,
    /// What it is of.
    pub outcome: Outcome,
    /// How it compares.
    pub relation: Relation,
    /// The published figure.
    pub printed: f64,
    /// Its unit.
    pub unit: &'static str,
    /// Standard deviation of model and print together, on the scale of its error.
    pub error: f64,
    /// Median of the model over the first block of draws.
    pub median: f64,
    /// What draws foretell that know all other sources.
    pub foretold: Foretold,
}

/// A check that no draw is weighed by.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftOutCheck {
    /// Name of the check.
    pub key: &'static str,
    /// Key of its source.
    pub source: &'static str,
    /// Why.
    #[serde(flatten)]
    pub why: LeftOut,
}

impl NarrowAnswer {
    /// Whether so few draws count that the ranges must not be shipped.
    pub fn is_too_thin(&self) -> bool {
        self.effective < LEAST_EFFECTIVE
    }

    /// The file of narrowed ranges.
    pub fn file(&self) -> Narrowed {
        let rows: Vec<&RowAnswer> = self.rows.iter().filter(|row| row.is_narrowed()).collect();
        let narrowed = |key: &str| rows.iter().any(|row| row.key == key);
        let shipped = |pair: &&PairAnswer| {
            narrowed(pair.a) && narrowed(pair.b) && pair.after.abs() >= LEAST_CORRELATION
        };
        let pair = |pair: &PairAnswer| NarrowedPair {
            a: pair.a.to_owned(),
            b: pair.b.to_owned(),
            rank: (pair.after * 100.0).round() / 100.0,
        };
        let prints = self.sources.iter().flat_map(|source| &source.prints);
        Narrowed {
            note: NOTE.to_owned(),
            program: self.version.to_owned(),
            seed: self.seed,
            draws: self.draws as u64,
            effective: self.effective.round(),
            model_error_losses: self.error.losses,
            model_error_worms: self.error.worms,
            rows: rows.iter().filter_map(|row| row.shipped()).collect(),
            correlations: self.correlations.iter().filter(shipped).map(pair).collect(),
            prints: prints
                .map(|print| NarrowedPrint { key: print.key.to_owned(), median: rounded(print.median) })
                .collect(),
        }
    }
}
