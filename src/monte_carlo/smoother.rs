//! Ensemble smoother with multiple data assimilation (ES-MDA): moves an ensemble of unknowns towards measurements.
//!
//! # Formula
//! With members x_j, the model's d_j = g(x_j) and measurements d of diagonal error variances R, each of n steps moves
//! x_j += K (d + sqrt(n) e_j - d_j), K = C_xd (C_dd + n R)^-1, e_j drawn from R and n the inflation, equal in all steps so that
//! the inverse inflations sum to 1; C_xd and C_dd are covariances of the ensemble. On a linear model with normal unknowns
//! that is the Kalman formula up to sampling error.
//!
//! The gain is tapered ([`taper`]): a small ensemble has chance correlations between unknowns and measurements that have none.
//!
//! # Source
//! Emerick and Reynolds 2013, Computers & Geosciences 55:3-15. The taper is our choice, tried on synthetic twins of
//! this model.

use super::generator::{Purpose, named_stream};
use nalgebra::{Cholesky, DMatrix, DVector};
use rand_distr::{Distribution, StandardNormal};
use std::fmt;

/// Squared correlation below which a prior sample of n says nothing: this over n. Source: our choice; by chance one in two thousand lies
/// above.
const NOISE: f64 = 12.0;

/// Measurements on a scale on which their errors are normal.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Values.
    pub values: Vec<f64>,
    /// Standard deviations of their errors, above 0.
    pub errors: Vec<f64>,
}

/// An ensemble: a column for each member.
#[derive(Debug, Clone, PartialEq)]
pub struct Members {
    /// Numbers of the members, which pick their random numbers.
    pub numbers: Vec<u64>,
    /// Unknowns by member, each a standard normal number in the prior.
    pub unknowns: DMatrix<f64>,
}

/// Why an ensemble cannot be moved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SmootherError {
    /// Fewer than two members are left, so there is no spread.
    TooFewMembers {
        /// Members left.
        left: usize,
    },
    /// The covariance of the measurements cannot be solved: a value is not finite.
    NotFinite,
}

impl fmt::Display for SmootherError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFewMembers { left } => write!(f, "{left} members are left, which have no spread"),
            Self::NotFinite => write!(f, "a value of the model at a measurement is not finite"),
        }
    }
}

impl std::error::Error for SmootherError {}

/// Factors on the gain, by unknown (row) and measurement (column), from a prior sample of n draws: r^2 / (r^2 + (1 + r^2) / m) for an
/// ensemble of m members, with r the correlation of unknown and measurement in the sample; 0 where r^2 is below 12 / n, which is
/// sampling noise.
///
/// # Panics
/// If the two samples do not have the same draws.
pub fn taper(unknowns: &DMatrix<f64>, model: &DMatrix<f64>, members: usize) -> DMatrix<f64> {
    assert_eq!(unknowns.ncols(), model.ncols(), "one column for each draw of the sample");
    let draws = unknowns.ncols() as f64;
    let (x, d) = (standardised(unknowns), standardised(model));
    (x * d.transpose() / draws).map(|r| {
        let square = r * r;
        tapered(square, draws, members as f64)
    })
}

/// The factor of a squared correlation in a sample of so many draws, for an ensemble of so many members.
pub(super) fn tapered(square: f64, draws: f64, members: f64) -> f64 {
    if square < NOISE / draws { 0.0 } else { square / (square + (1.0 + square) / members) }
}

/// Share of the standard deviation of each figure that measurements leave, by a linear estimate from the sample: the root of the mean of
/// (f - K d)^2 + K R K' over the variance of f, with K = C_fd (C_dd + R)^-1. K is taken from one half of the sample and judged on the
/// other, and the other way round, so that what is chance in a half counts for nothing. At most 1, and 1 for a figure that does not
/// vary. `figures` has a row for each figure, `model` one for each measurement, both a column for each draw.
///
/// # Panics
/// If the sizes of the tables do not fit together.
pub fn shares_left(figures: &DMatrix<f64>, model: &DMatrix<f64>, errors: &[f64]) -> Vec<f64> {
    assert_eq!((figures.ncols(), errors.len()), (model.ncols(), model.nrows()), "one column for each draw");
    let figures = anomalies(figures);
    let mut spread = anomalies(model);
    for (mut row, error) in spread.row_iter_mut().zip(errors) {
        row /= *error;
    }
    let half = |which: usize| (which..figures.ncols()).step_by(2).collect::<Vec<usize>>();
    let halves = [half(0), half(1)]
        .map(|half| Half { figures: figures.select_columns(&half), spread: spread.select_columns(&half) });
    let [one, other] = &halves;
    let missed = [one.missed(other), other.missed(one)];
    let left = |(n, figure): (usize, f64)| {
        let sum = missed.iter().map(|missed| missed.as_ref().map_or(figure, |missed| missed[n])).sum::<f64>();
        if figure > 0.0 { (sum / figure).min(1.0).sqrt() } else { 1.0 }
    };
    figures.row_iter().map(|row| row.norm_squared()).enumerate().map(left).collect()
}

/// One half of a sample: figures, and measurements in units of their errors, less their means.
struct Half {
    figures: DMatrix<f64>,
    spread: DMatrix<f64>,
}

impl Half {
    /// Sum of the squares that the gain of this half misses in the other, by figure, with what errors of the measurements add. `None` without
    /// a solution.
    fn missed(&self, other: &Self) -> Option<Vec<f64>> {
        let (draws, size) = (self.figures.ncols() as f64, self.spread.nrows());
        let covariance = &self.spread * self.spread.transpose() / draws + DMatrix::identity(size, size);
        let gain = Cholesky::new(covariance)?.solve(&(&self.spread * self.figures.transpose() / draws));
        let missed = &other.figures - gain.transpose() * &other.spread;
        let added = other.figures.ncols() as f64;
        let parts = missed.row_iter().zip(gain.column_iter());
        Some(parts.map(|(missed, gain)| missed.norm_squared() + gain.norm_squared() * added).collect())
    }
}

/// Rows less their mean, over their standard deviation; 0 where there is none.
fn standardised(rows: &DMatrix<f64>) -> DMatrix<f64> {
    let mut centred = anomalies(rows);
    let columns = rows.ncols() as f64;
    for mut row in centred.row_iter_mut() {
        let deviation = (row.norm_squared() / columns).sqrt();
        if deviation > 0.0 && deviation.is_finite() {
            row /= deviation;
        } else {
            row.fill(0.0);
        }
    }
    centred
}

/// Rows less their mean.
pub(super) fn anomalies(rows: &DMatrix<f64>) -> DMatrix<f64> {
    let means: DVector<f64> = rows.column_mean();
    let mut less = rows.clone();
    for mut column in less.column_iter_mut() {
        column -= &means;
    }
    less
}

/// Standard normal numbers by measurement and member of a step, less their mean over the members, so that the step moves the ensemble's
/// mean by the measurements alone.
fn noise(seed: u64, step: usize, measurements: usize, numbers: &[u64]) -> DMatrix<f64> {
    let name = format!("step {step}");
    let mut made = DMatrix::zeros(measurements, numbers.len());
    for (mut column, &number) in made.column_iter_mut().zip(numbers) {
        let mut source = named_stream(seed, Purpose::Smoother, &name, number);
        column.iter_mut().for_each(|value| *value = StandardNormal.sample(&mut source));
    }
    anomalies(&made)
}

/// One step: moves members whose model values are `model`, a column for each.
///
/// # Errors
/// [`SmootherError`] with fewer than two members or a value that is not finite.
///
/// # Panics
/// If the sizes of the tables do not fit together.
pub fn step(
    members: &mut Members,
    model: &DMatrix<f64>,
    measured: &Measured,
    inflation: f64,
    taper: Option<&DMatrix<f64>>,
    (seed, number): (u64, usize),
) -> Result<(), SmootherError> {
    let count = members.numbers.len();
    if count < 2 {
        return Err(SmootherError::TooFewMembers { left: count });
    }
    let size = measured.values.len();
    if size == 0 {
        return Ok(());
    }
    // all in units of the errors
    let errors = DVector::from_column_slice(&measured.errors);
    let scaled = |mut rows: DMatrix<f64>| {
        rows.column_iter_mut().for_each(|mut column| column.component_div_assign(&errors));
        rows
    };
    let spread = scaled(anomalies(model));
    let freedom = (count - 1) as f64;
    let covariance = &spread * spread.transpose() / freedom + DMatrix::identity(size, size) * inflation;
    let solver = Cholesky::new(covariance).ok_or(SmootherError::NotFinite)?;
    let across = &spread * anomalies(&members.unknowns).transpose() / freedom;
    let mut gain = solver.solve(&across).transpose();
    if let Some(taper) = taper {
        gain.component_mul_assign(taper);
    }
    let values = DVector::from_column_slice(&measured.values);
    let mut gap = -model;
    gap.column_iter_mut().for_each(|mut column| column += &values);
    let gap = scaled(gap) + noise(seed, number, size, &members.numbers) * inflation.sqrt();
    members.unknowns += gain * gap;
    if members.unknowns.iter().all(|x| x.is_finite()) { Ok(()) } else { Err(SmootherError::NotFinite) }
}

/// Moves members towards measurements in `steps` equal steps. `model` holds the model's values of the members as they are; `forward`
/// gives those of moved members, a column for each; `None` if a member has no answer, which leaves the ensemble then.
///
/// Returns the model's values of the members in the end. They come from `forward`, as those between the steps do.
///
/// # Errors
/// [`SmootherError`], or the error of `forward`.
///
/// # Panics
/// If the sizes of the tables do not fit together.
pub fn smooth<E: From<SmootherError>>(
    members: &mut Members,
    mut model: DMatrix<f64>,
    measured: &Measured,
    (steps, seed): (usize, u64),
    taper: Option<&DMatrix<f64>>,
    mut forward: impl FnMut(&Members, usize) -> Result<Vec<Option<DVector<f64>>>, E>,
) -> Result<DMatrix<f64>, E> {
    for number in 1..=steps {
        step(members, &model, measured, steps as f64, taper, (seed, number))?;
        let made = forward(members, number)?;
        let kept: Vec<usize> = (0..made.len()).filter(|&n| made[n].is_some()).collect();
        if kept.len() < 2 {
            return Err(SmootherError::TooFewMembers { left: kept.len() }.into());
        }
        if kept.len() < made.len() {
            members.numbers = kept.iter().map(|&n| members.numbers[n]).collect();
            members.unknowns = members.unknowns.select_columns(&kept);
        }
        model = DMatrix::from_columns(&made.into_iter().flatten().collect::<Vec<_>>());
    }
    Ok(model)
}
