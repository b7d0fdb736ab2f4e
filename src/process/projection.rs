//! Projection matrices: growth rate, stable structure, reproductive value, elasticities; and the Euler-Lotka root.
//!
//! The dominant eigenvalue of a nonnegative matrix is found without complex numbers: `s I - A` has only positive pivots
//! exactly when `s` exceeds it, so bisection on the sign of the pivots brackets it, reducible or cyclic matrices
//! included. Inverse iteration just above it keeps vectors nonnegative; the two-sided Rayleigh quotient refines it.
//!
//! # Source
//! Berman & Plemmons, Nonnegative Matrices (M-matrices); Caswell 2001, Matrix Population Models (elasticities); recalled

use std::error::Error;
use std::fmt;

use nalgebra::{DMatrix, DVector};

/// Largest residual |A w - lambda w| over the largest row sum of A, with w summing to 1, that counts as solved.
pub const RESIDUAL_LIMIT: f64 = 1e-12;
/// Largest number of inverse iterations: each reduces the other directions about a hundred million times.
const INVERSE_ITERATIONS: usize = 12;
/// Largest number of Newton steps: convergence is one-sided and quadratic, so more means a faulty input.
const NEWTON_STEPS: usize = 200;

/// Why a matrix or life table cannot be analysed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ProjectionError {
    /// The matrix has no entry.
    Empty,
    /// Rows and columns differ in number.
    NotSquare {
        /// Rows.
        rows: usize,
        /// Columns.
        columns: usize,
    },
    /// An entry is negative or not finite.
    BadEntry {
        /// Row, from zero.
        row: usize,
        /// Column, from zero.
        column: usize,
        /// The entry.
        value: f64,
    },
    /// Every path through the stages ends: the dominant eigenvalue is zero.
    NoGrowth,
    /// The first stage leaves no lasting descendants, so reproductive value cannot be scaled to it.
    FirstStageWithoutValue,
    /// No single pair of structure and value belongs to the dominant eigenvalue (separate populations that tie).
    Ambiguous,
    /// The result is less accurate than [`RESIDUAL_LIMIT`].
    NotConverged {
        /// Relative residual reached.
        residual: f64,
    },
    /// A life-table figure is negative or not finite.
    BadLifeTable {
        /// Which figure.
        figure: &'static str,
        /// Its value.
        value: f64,
    },
}

impl fmt::Display for ProjectionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "the projection matrix has no entry"),
            Self::NotSquare { rows, columns } => {
                write!(f, "the projection matrix is {rows} by {columns}; it must be square")
            }
            Self::BadEntry { row, column, value } => {
                write!(
                    f,
                    "row {row}, column {column} of the projection matrix is {value}; it must be 0 or more"
                )
            }
            Self::NoGrowth => {
                write!(f, "no stage feeds back into itself, so the population dies out in a few steps")
            }
            Self::FirstStageWithoutValue => {
                write!(f, "the first stage has no lasting descendants, so reproductive value has no scale")
            }
            Self::Ambiguous => {
                write!(f, "separate populations grow equally fast, so there is no single structure")
            }
            Self::NotConverged { residual } => write!(f, "the eigenvalue is only good to {residual:e}"),
            Self::BadLifeTable { figure, value } => {
                write!(f, "{figure} is {value}; it must be finite and 0 or more")
            }
        }
    }
}

impl Error for ProjectionError {}

/// Growth and structure of a population by its projection matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct MatrixAnalysis {
    /// Dominant eigenvalue lambda, factor per step.
    pub growth: f64,
    /// Stable structure w, sum 1 (right eigenvector).
    pub stable: DVector<f64>,
    /// Reproductive value v, first stage 1 (left eigenvector).
    pub value: DVector<f64>,
    /// Elasticities e_ij = a_ij v_i w_j / (lambda v.w), sum 1.
    pub elasticities: DMatrix<f64>,
}

impl MatrixAnalysis {
    /// Analyses a nonnegative projection matrix; columns are "from".
    ///
    /// The eigenvalue is accurate to about 1e-13 relative if structure and value overlap well (v.w not tiny against |v||w|).
    ///
    /// # Units
    /// entries per step
    /// # Errors
    /// [`ProjectionError`]: not square, an entry negative or not finite, no growth, no value in the first stage, a tie,
    /// a residual above [`RESIDUAL_LIMIT`].
    pub fn of(matrix: &DMatrix<f64>) -> Result<Self, ProjectionError> {
        let scale = check(matrix)?;
        let bracket = dominant_above(matrix, scale);
        if bracket <= scale * 1e-12 {
            return Err(ProjectionError::NoGrowth);
        }
        let stable = direction(matrix, bracket, scale)?;
        let transposed = matrix.transpose();
        let mut value = direction(&transposed, bracket, scale)?;

        let overlap = value.dot(&stable);
        if overlap <= 1e-12 * value.norm() * stable.norm() {
            return Err(ProjectionError::Ambiguous);
        }
        let growth = value.dot(&(matrix * &stable)) / overlap;
        let residual = ((matrix * &stable - &stable * growth).amax() / stable.sum())
            .max((&transposed * &value - &value * growth).amax() / value.sum())
            / scale;
        // written so that a residual that is not a number fails too
        if !matches!(residual.partial_cmp(&RESIDUAL_LIMIT), Some(std::cmp::Ordering::Less)) {
            return Err(ProjectionError::NotConverged { residual });
        }
        let first = value[0];
        if first <= value.amax() * 1e-14 {
            return Err(ProjectionError::FirstStageWithoutValue);
        }
        let elasticities = DMatrix::from_fn(matrix.nrows(), matrix.ncols(), |i, j| {
            matrix[(i, j)] * value[i] * stable[j] / (growth * overlap)
        });
        value /= first;
        Ok(Self { growth, stable, value, elasticities })
    }

    /// Growth rate per step, `r = ln lambda`.
    pub fn log_growth(&self) -> f64 {
        self.growth.ln()
    }

    /// Steps until the population has doubled, `ln 2 / ln lambda`; None if it does not grow.
    pub fn doubling_steps(&self) -> Option<f64> {
        doubling_steps(self.growth)
    }

    /// Share of total reproductive value held by each stage at the stable structure, sum 1.
    pub fn value_shares(&self) -> DVector<f64> {
        let shares = self.value.component_mul(&self.stable);
        let total = shares.sum();
        shares / total
    }
}

/// Steps until a population with this factor per step has doubled; None if it does not grow.
pub fn doubling_steps(growth: f64) -> Option<f64> {
    (growth > 1.0).then(|| std::f64::consts::LN_2 / growth.ln())
}

/// Root r of the Euler-Lotka equation with a fixed delay, F exp(-r a) = r + mu.
///
/// The left side less the right falls and is convex, so Newton's steps from r = -mu rise to the root and never pass it. A
/// step that rounding turns back ends the search. The result is accurate to a few units of rounding.
///
/// # Units
/// births F: offspring per adult and day; delay a: days from egg to first egg; deaths mu: adults per day; result 1/d
/// # Source
/// Euler-Lotka with one age at first laying and constant births and deaths after it (`derived_here`)
/// # Errors
/// [`ProjectionError::BadLifeTable`] for a figure that is negative or not finite, [`ProjectionError::NotConverged`]
/// when births, delay and deaths are so large that exp overflows.
pub fn euler_lotka(births: f64, delay: f64, deaths: f64) -> Result<f64, ProjectionError> {
    for (figure, value) in
        [("births per adult and day", births), ("delay to first birth", delay), ("deaths of adults", deaths)]
    {
        if !value.is_finite() || value < 0.0 {
            return Err(ProjectionError::BadLifeTable { figure, value });
        }
    }
    let mut rate = -deaths;
    for _ in 0..NEWTON_STEPS {
        let born = births * (-rate * delay).exp();
        let step = (born - rate - deaths) / (born * delay + 1.0);
        if !step.is_finite() {
            break;
        }
        let next = rate + step;
        if next <= rate {
            return Ok(rate);
        }
        rate = next;
    }
    let residual = births * (-rate * delay).exp() - rate - deaths;
    if residual.abs() <= RESIDUAL_LIMIT * (births + deaths) {
        return Ok(rate);
    }
    Err(ProjectionError::NotConverged { residual })
}

/// Checks shape and entries; returns the largest row sum, a bound on every eigenvalue.
fn check(matrix: &DMatrix<f64>) -> Result<f64, ProjectionError> {
    let (rows, columns) = matrix.shape();
    if rows == 0 || columns == 0 {
        return Err(ProjectionError::Empty);
    }
    if rows != columns {
        return Err(ProjectionError::NotSquare { rows, columns });
    }
    for row in 0..rows {
        for column in 0..columns {
            let value = matrix[(row, column)];
            if !value.is_finite() || value < 0.0 {
                return Err(ProjectionError::BadEntry { row, column, value });
            }
        }
    }
    let scale = matrix.row_iter().map(|row| row.sum()).fold(0.0, f64::max);
    if scale > 0.0 { Ok(scale) } else { Err(ProjectionError::NoGrowth) }
}

/// Smallest `s` found for which every pivot of `s I - A` is positive: the dominant eigenvalue from just above.
fn dominant_above(matrix: &DMatrix<f64>, scale: f64) -> f64 {
    let mut low = matrix.diagonal().amax();
    let mut high = scale * (1.0 + 1e-12);
    let mut work = matrix.clone();
    while high - low > f64::EPSILON * scale {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if exceeds_dominant(matrix, middle, &mut work) {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}

/// Gaussian elimination of `shift I - A` without exchanges; true when every pivot stays positive.
fn exceeds_dominant(matrix: &DMatrix<f64>, shift: f64, work: &mut DMatrix<f64>) -> bool {
    work.copy_from(matrix);
    work.neg_mut();
    let size = work.nrows();
    for i in 0..size {
        work[(i, i)] += shift;
    }
    for pivot in 0..size {
        let lead = work[(pivot, pivot)];
        if lead <= 0.0 {
            return false;
        }
        for row in pivot + 1..size {
            let factor = work[(row, pivot)] / lead;
            if factor == 0.0 {
                continue;
            }
            for column in pivot + 1..size {
                let taken = factor * work[(pivot, column)];
                work[(row, column)] -= taken;
            }
        }
    }
    true
}

/// Nonnegative eigenvector of the dominant eigenvalue, sum 1, by inverse iteration just above it.
fn direction(matrix: &DMatrix<f64>, bracket: f64, scale: f64) -> Result<DVector<f64>, ProjectionError> {
    let size = matrix.nrows();
    let shift = bracket + 1e-9 * scale;
    let solver = (DMatrix::identity(size, size) * shift - matrix).lu();
    let mut vector = DVector::from_element(size, 1.0 / size as f64);
    for _ in 0..INVERSE_ITERATIONS {
        vector = solver.solve(&vector).ok_or(ProjectionError::Ambiguous)?;
        // the inverse is nonnegative; negative entries are rounding
        vector.apply(|entry| *entry = entry.max(0.0));
        let total = vector.sum();
        if !(total.is_finite() && total > 0.0) {
            return Err(ProjectionError::Ambiguous);
        }
        vector /= total;
    }
    Ok(vector)
}

#[cfg(test)]
mod tests {
    use nalgebra::dmatrix;

    use super::*;

    #[test]
    fn golden_ratio_and_its_doubling() {
        // Fibonacci's rabbits: lambda = (1 + sqrt 5)/2
        let analysis = MatrixAnalysis::of(&dmatrix![0.0, 1.0; 1.0, 1.0]).unwrap();
        let golden = f64::midpoint(1.0, 5.0_f64.sqrt());
        assert!((analysis.growth - golden).abs() < 1e-14);
        assert!((analysis.value[1] - golden).abs() < 1e-12);
        assert!((analysis.elasticities.sum() - 1.0).abs() < 1e-12);
        assert!((analysis.value_shares().sum() - 1.0).abs() < 1e-14);
        let steps = analysis.doubling_steps().unwrap();
        assert!((golden.powf(steps) - 2.0).abs() < 1e-12);
        assert!(doubling_steps(0.99).is_none());
    }

    #[test]
    fn cyclic_matrix_has_its_real_root() {
        // three stages in a ring, product 8: lambda = 2, with two complex roots of the same size
        let analysis = MatrixAnalysis::of(&dmatrix![0.0, 0.0, 8.0; 1.0, 0.0, 0.0; 0.0, 1.0, 0.0]).unwrap();
        assert!((analysis.growth - 2.0).abs() < 1e-12);
        assert!((analysis.stable[0] - 4.0 / 7.0).abs() < 1e-12);
    }

    #[test]
    fn faulty_matrices_are_refused_by_name() {
        assert_eq!(MatrixAnalysis::of(&DMatrix::zeros(0, 0)), Err(ProjectionError::Empty));
        assert_eq!(
            MatrixAnalysis::of(&DMatrix::zeros(2, 3)),
            Err(ProjectionError::NotSquare { rows: 2, columns: 3 })
        );
        let negative = ProjectionError::BadEntry { row: 1, column: 0, value: -0.5 };
        assert_eq!(MatrixAnalysis::of(&dmatrix![1.0, 0.0; -0.5, 1.0]), Err(negative));
        assert!(MatrixAnalysis::of(&dmatrix![f64::NAN]).is_err());
        assert_eq!(MatrixAnalysis::of(&DMatrix::zeros(3, 3)), Err(ProjectionError::NoGrowth));
        // every stage only passes on, so the population dies out
        assert_eq!(MatrixAnalysis::of(&dmatrix![0.0, 0.0; 0.7, 0.0]), Err(ProjectionError::NoGrowth));
        // the first stage is a dead end beside a growing second
        assert_eq!(
            MatrixAnalysis::of(&dmatrix![0.1, 1.0; 0.0, 1.2]),
            Err(ProjectionError::FirstStageWithoutValue)
        );
        // a chain of two equal stages without return: structure and value do not overlap
        assert!(MatrixAnalysis::of(&dmatrix![1.0, 0.0; 1.0, 1.0]).is_err());
        assert!(negative.to_string().contains("row 1, column 0"));
    }

    #[test]
    fn euler_lotka_without_delay_is_births_less_deaths() {
        assert!((euler_lotka(0.3, 0.0, 0.1).unwrap() - 0.2).abs() < 1e-15);
        assert!((euler_lotka(0.0, 50.0, 0.1).unwrap() + 0.1).abs() < 1e-15);
        assert!(euler_lotka(-0.1, 50.0, 0.1).is_err());
        assert!(euler_lotka(0.1, f64::INFINITY, 0.1).is_err());
    }

    #[test]
    fn the_euler_lotka_root_satisfies_its_equation() {
        for (births, delay, deaths) in
            [(0.69, 77.0, 0.0), (1.5, 117.0, 0.01), (0.01, 200.0, 0.02), (5.0, 10.0, 0.5)]
        {
            let rate = euler_lotka(births, delay, deaths).unwrap();
            assert!((births * (-rate * delay).exp() - rate - deaths).abs() < 1e-13, "{births}");
        }
    }

    #[test]
    fn a_life_table_that_overflows_is_refused() {
        // exp overflows, so no root can be found
        let told = euler_lotka(1e300, 1e300, 1e300).unwrap_err();
        assert!(matches!(told, ProjectionError::NotConverged { .. }), "{told}");
        for bad in [-1.0, f64::NAN, f64::INFINITY] {
            for (b, a, m) in [(bad, 1.0, 1.0), (1.0, bad, 1.0), (1.0, 1.0, bad)] {
                assert!(matches!(euler_lotka(b, a, m), Err(ProjectionError::BadLifeTable { .. })));
            }
        }
    }

    #[test]
    fn a_matrix_without_rows_or_columns_is_empty() {
        for (rows, columns) in [(0, 0), (0, 3), (3, 0)] {
            let empty = MatrixAnalysis::of(&DMatrix::zeros(rows, columns));
            assert!(matches!(empty, Err(ProjectionError::Empty)), "{rows} {columns}");
        }
    }
}
