//! Which inputs move an outcome: rank correlations and variance-based indices, on plain lists of numbers.
//!
//! Rank correlations need no further runs but show only monotonic effects: an input with a hump-shaped effect, or one that acts only
//! together with others, seems to have none (of the Ishigami function they find the first input only). Sobol' indices show all
//! effects, need n (k + 2) runs, and hold for independent inputs.

use crate::monte_carlo::Purpose;
use crate::monte_carlo::design::Matrices;
use crate::monte_carlo::distribution::standard_normal;
use crate::monte_carlo::generator::{below, stream};
use nalgebra::DMatrix;
use serde::Serialize;
use std::fmt;

/// Why sensitivities cannot be computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SensitivityError {
    /// Lists that belong together are not equally long.
    Lengths {
        /// Length of the first.
        expected: usize,
        /// Length of another.
        given: usize,
    },
    /// Too few draws for so many inputs.
    TooFew {
        /// Draws given.
        given: usize,
        /// Draws needed at least.
        needed: usize,
    },
    /// A number is infinite or not a number.
    NotFinite,
    /// An outcome is the same in every draw: nothing moves it.
    ConstantOutcome,
    /// An input, by its place, is the same in every draw.
    ConstantInput(usize),
    /// The ranks of an input follow from those of others, so that its own part cannot be separated.
    Collinear,
}

impl fmt::Display for SensitivityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Lengths { expected, given } => {
                write!(f, "lists of {expected} and {given} numbers do not belong together")
            }
            Self::TooFew { given, needed } => write!(f, "{given} draws are too few; {needed} are needed"),
            Self::NotFinite => write!(f, "a number is infinite or not a number"),
            Self::ConstantOutcome => write!(f, "the outcome is the same in every draw"),
            Self::ConstantInput(input) => write!(f, "input {input} is the same in every draw"),
            Self::Collinear => write!(f, "the ranks of one input follow from those of others"),
        }
    }
}

impl std::error::Error for SensitivityError {}

/// Correlations with an outcome that follows exactly from the inputs are reduced by this part.
/// Our choice.
const SHRINK: f64 = 1e-8;
/// Largest inflation 1 / (1 - R^2) of an input's variance by the others at which its own part can still be separated.
/// Our choice.
const LARGEST_INFLATION: f64 = 1e9;

/// An estimate with its 95 % interval, all in the unit of the estimate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Estimate {
    /// The estimate.
    pub value: f64,
    /// Low end of the interval.
    pub low: f64,
    /// High end of the interval.
    pub high: f64,
}

/// Ranks from 1; equal numbers share the mean of their ranks.
pub fn ranks(numbers: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..numbers.len()).collect();
    order.sort_by(|&a, &b| numbers[a].total_cmp(&numbers[b]));
    let mut ranks = vec![0.0; numbers.len()];
    for tied in order.chunk_by(|&a, &b| numbers[a].total_cmp(&numbers[b]).is_eq()) {
        let before = order.partition_point(|&o| numbers[o].total_cmp(&numbers[tied[0]]).is_lt());
        let mean = before as f64 + f64::midpoint(tied.len() as f64, 1.0);
        for &place in tied {
            ranks[place] = mean;
        }
    }
    ranks
}

/// Rank correlation (Spearman) of two lists: the correlation of their ranks.
///
/// # Source
/// Interval by the z of Fisher with variance (1 + r^2 / 2) / (n - 3) (Bonett and Wright 2000). For stratified draws it is on the
/// wide side.
///
/// # Errors
/// [`SensitivityError`] for lists of different lengths, fewer than 4 draws, numbers that are not finite, and a list that is constant.
pub fn rank_correlation(input: &[f64], outcome: &[f64]) -> Result<Estimate, SensitivityError> {
    let matrix = rank_correlations(&[input], outcome, 4)?;
    Ok(with_interval(matrix[(0, 1)], input.len()))
}

/// A linear regression of the ranks of an outcome on those of all inputs.
#[derive(Debug, Clone, PartialEq)]
pub struct RankRegression {
    /// Partial rank correlation of each input: what is left between their ranks when a linear regression on the ranks of all other
    /// inputs is taken off both.
    pub partial: Vec<Estimate>,
    /// Part of the variance of the ranks of the outcome that each input explains; they sum to the whole that is explained,
    /// also where inputs are correlated. One may then be a little below 0.
    pub parts: Vec<f64>,
    /// The whole that is explained, less what so many inputs would explain by luck: 1 - (1 - R^2) (n - 1) / (n - k - 1), at
    /// least 0.
    pub explained: f64,
}

/// Regression on ranks, from the inverse P of the matrix of rank correlations of all inputs and the outcome y: partial
/// correlation -P_iy / sqrt(P_ii P_yy), coefficient b_i = -P_iy / P_yy, part b_i r_iy, R^2 = 1 - 1 / P_yy.
///
/// # Source
/// Iman and Helton (1988) for partial rank correlations, Pratt (1987) for the parts. Interval as in [`rank_correlation`] with one draw
/// less for each other input.
///
/// # Errors
/// [`SensitivityError`] as in [`rank_correlation`], with at least 4 draws more than there are other inputs, and for inputs whose ranks
/// follow from each other.
pub fn rank_regression(inputs: &[&[f64]], outcome: &[f64]) -> Result<RankRegression, SensitivityError> {
    let count = inputs.len();
    let mut correlations = rank_correlations(inputs, outcome, count + 3)?;
    let factor = correlations.clone().cholesky().or_else(|| {
        // the outcome may follow from the inputs exactly, as that of a model of one input does
        for i in 0..count {
            correlations[(i, count)] *= 1.0 - SHRINK;
            correlations[(count, i)] *= 1.0 - SHRINK;
        }
        correlations.clone().cholesky()
    });
    let inverse = factor.ok_or(SensitivityError::Collinear)?.inverse();
    // a diagonal entry is 1 / (1 - R^2); rounding may let an exact copy through the factorisation
    if inverse.diagonal().iter().take(count).any(|inflation| *inflation > LARGEST_INFLATION) {
        return Err(SensitivityError::Collinear);
    }
    let own = inverse[(count, count)];
    let estimate = |i: usize| {
        let partial = -inverse[(i, count)] / (inverse[(i, i)] * own).sqrt();
        with_interval(partial, outcome.len() + 1 - count)
    };
    let part = |i: usize| -inverse[(i, count)] / own * correlations[(i, count)];
    let freedom = outcome.len() as f64 - count as f64 - 1.0;
    Ok(RankRegression {
        partial: (0..count).map(estimate).collect(),
        parts: (0..count).map(part).collect(),
        explained: (1.0 - (outcome.len() as f64 - 1.0) / (own * freedom)).clamp(0.0, 1.0),
    })
}

/// Partial rank correlation of each input with the outcome, as in [`rank_regression`].
///
/// # Errors
/// As there.
pub fn partial_rank_correlations(
    inputs: &[&[f64]],
    outcome: &[f64],
) -> Result<Vec<Estimate>, SensitivityError> {
    rank_regression(inputs, outcome).map(|regression| regression.partial)
}

/// Correlations of the ranks of all inputs and, last, the outcome.
fn rank_correlations(
    inputs: &[&[f64]],
    outcome: &[f64],
    needed: usize,
) -> Result<DMatrix<f64>, SensitivityError> {
    let draws = outcome.len();
    if let Some(other) = inputs.iter().find(|input| input.len() != draws) {
        return Err(SensitivityError::Lengths { expected: draws, given: other.len() });
    }
    if draws < needed {
        return Err(SensitivityError::TooFew { given: draws, needed });
    }
    let mut standard = DMatrix::zeros(inputs.len() + 1, draws);
    for (row, numbers) in inputs.iter().copied().chain([outcome]).enumerate() {
        if numbers.iter().any(|x| !x.is_finite()) {
            return Err(SensitivityError::NotFinite);
        }
        let middle = f64::midpoint(draws as f64, 1.0);
        let centred: Vec<f64> = ranks(numbers).into_iter().map(|rank| rank - middle).collect();
        let length = centred.iter().map(|c| c * c).sum::<f64>().sqrt();
        if length <= 0.0 {
            let input = row < inputs.len();
            return Err(if input {
                SensitivityError::ConstantInput(row)
            } else {
                SensitivityError::ConstantOutcome
            });
        }
        for (draw, c) in centred.into_iter().enumerate() {
            standard[(row, draw)] = c / length;
        }
    }
    Ok(&standard * standard.transpose())
}

/// The interval of a correlation of ranks from so many independent draws.
fn with_interval(correlation: f64, draws: usize) -> Estimate {
    let value = correlation.clamp(-1.0, 1.0);
    // z is not defined for a perfect correlation; just below 1 the interval has no width either
    let z = value.clamp(-1.0 + 1e-15, 1.0 - 1e-15).atanh();
    let half = standard_normal(0.975) * ((1.0 + 0.5 * value * value) / (draws as f64 - 3.0)).sqrt();
    Estimate { value, low: (z - half).tanh().min(value), high: (z + half).tanh().max(value) }
}

/// Rows of a Saltelli design: for each base row the row of A, that of B, and for each input i that of A with input i from B.
#[derive(Debug, Clone, PartialEq)]
pub struct Saltelli {
    matrices: Matrices,
    inputs: usize,
}

/// Outcomes of a Saltelli design, each list by base row.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcomes {
    /// Of the rows of A, by base row.
    pub a: Vec<f64>,
    /// Of the rows of B, by base row.
    pub b: Vec<f64>,
    /// Of the rows of A with one input from B, by input (outer) and base row (inner).
    pub mixed: Vec<Vec<f64>>,
}

impl Saltelli {
    /// A design from its two matrices.
    ///
    /// # Errors
    /// [`SensitivityError::Lengths`] where rows are missing or not equally long.
    pub fn new(matrices: Matrices) -> Result<Self, SensitivityError> {
        let wrong = |expected, given| Err(SensitivityError::Lengths { expected, given });
        if matrices.a.len() != matrices.b.len() {
            return wrong(matrices.a.len(), matrices.b.len());
        }
        let inputs = matrices.a.first().map_or(0, Vec::len);
        if let Some(row) = matrices.a.iter().chain(&matrices.b).find(|row| row.len() != inputs) {
            return wrong(inputs, row.len());
        }
        Ok(Self { matrices, inputs })
    }

    /// Runs that the design needs: base rows x (inputs + 2).
    pub fn runs(&self) -> usize {
        self.matrices.a.len() * (self.inputs + 2)
    }

    /// The inputs of one run; the runs of a base row follow each other: A, B, then A with one input after the other from B.
    ///
    /// # Panics
    /// On a run that the design has not.
    pub fn row(&self, run: usize) -> Vec<f64> {
        let (base, kind) = (run / (self.inputs + 2), run % (self.inputs + 2));
        if kind == 1 {
            return self.matrices.b[base].clone();
        }
        let mut row = self.matrices.a[base].clone();
        if let Some(input) = kind.checked_sub(2) {
            row[input] = self.matrices.b[base][input];
        }
        row
    }

    /// Sorts the outcomes of all runs, in the order of the runs.
    ///
    /// # Errors
    /// [`SensitivityError::Lengths`] where they are not as many as the runs.
    pub fn sort(&self, outcomes: &[f64]) -> Result<Outcomes, SensitivityError> {
        if outcomes.len() != self.runs() {
            return Err(SensitivityError::Lengths { expected: self.runs(), given: outcomes.len() });
        }
        let pick = |kind: usize| outcomes.iter().copied().skip(kind).step_by(self.inputs + 2).collect();
        Ok(Outcomes { a: pick(0), b: pick(1), mixed: (0..self.inputs).map(|i| pick(i + 2)).collect() })
    }
}

impl Outcomes {
    /// The same outcomes less the mean of those of A and B.
    ///
    /// Indices do not change by a constant, but the first-order estimator's noise grows with the mean; where the mean is
    /// large against the spread, as with most masses, take it off first.
    #[must_use]
    pub fn centred(&self) -> Self {
        let count = (self.a.len() + self.b.len()).max(1) as f64;
        let mean = self.a.iter().chain(&self.b).sum::<f64>() / count;
        let shifted = |list: &Vec<f64>| list.iter().map(|f| f - mean).collect();
        Self { a: shifted(&self.a), b: shifted(&self.b), mixed: self.mixed.iter().map(shifted).collect() }
    }
}

/// Sobol' indices of an outcome, by input; mean and variance in its unit.
#[derive(Debug, Clone, PartialEq)]
pub struct SobolIndices {
    /// Mean of the outcome over A and B.
    pub mean: f64,
    /// Variance of the outcome over A and B.
    pub variance: f64,
    /// Share of the variance that each input explains alone. Small negative ones are noise and are kept.
    pub first: Vec<Estimate>,
    /// Share of the variance that would be left if all but this input were known.
    pub total: Vec<Estimate>,
}

/// First-order and total Sobol' indices of a Saltelli design.
///
/// S_i = mean(f_B (f_ABi - f_A)) / V and T_i = mean((f_A - f_ABi)^2) / (2 V), V the population variance of f_A and f_B together,
/// nothing centred (see [`Outcomes::centred`]). Intervals: 2.5 % and 97.5 % points over `resamples` samples of the base rows with replacement; none
/// (the estimate itself) with 0. They hold for independent rows and are on the wide side for stratified ones.
///
/// # Source
/// Saltelli et al. (2010) for the first order, Jansen (1999) for the total.
///
/// # Errors
/// [`SensitivityError`] for lists of different lengths, fewer than 2 base rows, numbers that are not finite, and a constant outcome.
pub fn sobol_indices(
    outcomes: &Outcomes,
    resamples: usize,
    seed: u64,
) -> Result<SobolIndices, SensitivityError> {
    let rows = outcomes.a.len();
    let lists = || std::iter::once(&outcomes.b).chain(&outcomes.mixed);
    if let Some(other) = lists().find(|list| list.len() != rows) {
        return Err(SensitivityError::Lengths { expected: rows, given: other.len() });
    }
    if rows < 2 {
        return Err(SensitivityError::TooFew { given: rows, needed: 2 });
    }
    if lists().chain([&outcomes.a]).flatten().any(|x| !x.is_finite()) {
        return Err(SensitivityError::NotFinite);
    }
    let all: Vec<usize> = (0..rows).collect();
    let found = Plain::of(outcomes, &all).ok_or(SensitivityError::ConstantOutcome)?;
    let again: Vec<Plain> = (0..resamples as u64)
        .filter_map(|sample| {
            let mut source = stream(seed, Purpose::Bootstrap, sample);
            let picked: Vec<usize> = (0..rows).map(|_| below(&mut source, rows)).collect();
            Plain::of(outcomes, &picked)
        })
        .collect();
    let estimates = |of: fn(&Plain) -> &Vec<f64>| {
        (of(&found).iter().enumerate())
            .map(|(input, &value)| {
                between_points(value, again.iter().map(|plain| of(plain)[input]).collect())
            })
            .collect()
    };
    Ok(SobolIndices {
        mean: found.mean,
        variance: found.variance,
        first: estimates(|plain| &plain.first),
        total: estimates(|plain| &plain.total),
    })
}

/// Indices without intervals.
struct Plain {
    mean: f64,
    variance: f64,
    first: Vec<f64>,
    total: Vec<f64>,
}

impl Plain {
    /// Indices over some of the rows. None if the outcome does not vary over them.
    fn of(outcomes: &Outcomes, rows: &[usize]) -> Option<Self> {
        let count = rows.len() as f64;
        let both = || rows.iter().flat_map(|&row| [outcomes.a[row], outcomes.b[row]]);
        let mean = both().sum::<f64>() / (2.0 * count);
        let variance = both().map(|f| (f - mean) * (f - mean)).sum::<f64>() / (2.0 * count);
        // a relative spread below 1e-12 is the rounding of a constant
        if variance <= (1e-12 * mean).powi(2) {
            return None;
        }
        let sum = |mixed: &[f64], term: fn(f64, f64, f64) -> f64| {
            rows.iter().map(|&row| term(outcomes.a[row], outcomes.b[row], mixed[row])).sum::<f64>() / count
        };
        let first = |mixed: &Vec<f64>| sum(mixed, |a, b, ab| b * (ab - a)) / variance;
        let total = |mixed: &Vec<f64>| sum(mixed, |a, _, ab| (a - ab) * (a - ab)) / (2.0 * variance);
        Some(Self {
            mean,
            variance,
            first: outcomes.mixed.iter().map(first).collect(),
            total: outcomes.mixed.iter().map(total).collect(),
        })
    }
}

/// An estimate between the 2.5 % and 97.5 % points of its repeats.
fn between_points(value: f64, mut repeats: Vec<f64>) -> Estimate {
    if repeats.is_empty() {
        return Estimate { value, low: value, high: value };
    }
    repeats.sort_by(f64::total_cmp);
    Estimate { value, low: point(&repeats, 0.025), high: point(&repeats, 0.975) }
}

/// A point of sorted numbers, straight between neighbours.
fn point(sorted: &[f64], share: f64) -> f64 {
    let last = sorted.len() - 1;
    let place = share * last as f64;
    let below = (0..last).rfind(|&n| n as f64 <= place).unwrap_or(0);
    let above = (below + 1).min(last);
    sorted[below] + (place - below as f64) * (sorted[above] - sorted[below])
}
