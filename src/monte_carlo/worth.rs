//! What measurements would be worth, before any is made: the spread of a forecast that they would leave.
//!
//! # Formula
//! Over a sample of draws with figures f and measurements d, in units of their errors and less their means, the gain of some measurements is
//! K = T (C_dd + I)^-1 C_df, entry by entry times the taper T of the [`smoother`](super::smoother) by the correlations of f and d. What it
//! leaves of the variance of f is the mean of (f - K d)^2 + K K'. On a linear model with normal unknowns that is the closed form of the variance after
//! the measurements, C_ff - C_fd (C_dd + R)^-1 C_df, up to sampling error. K is taken from one half of the sample and judged on the other, and
//! the other way round, so that what is chance in a half counts for nothing.
//!
//! # Source
//! The linear-Gaussian update of Kalman; halves and taper are our choice, as for the fit.

use super::smoother::{anomalies, tapered};
use nalgebra::{Cholesky, DMatrix, DVector};

/// A sample of figures and measurements as its second moments, by halves.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    halves: [Half; 2],
}

/// Sums over one half of a sample.
#[derive(Debug, Clone, PartialEq)]
struct Half {
    draws: f64,
    /// Products of measurements, by measurement twice.
    model: DMatrix<f64>,
    /// Products of measurements and figures.
    across: DMatrix<f64>,
    /// Squares of figures.
    figures: Vec<f64>,
    /// Factors on the gain, by measurement and figure.
    taper: DMatrix<f64>,
}

impl Half {
    fn of(figures: &DMatrix<f64>, spread: &DMatrix<f64>) -> Self {
        let draws = figures.ncols() as f64;
        let model = spread * spread.transpose();
        let across = spread * figures.transpose();
        let squares: Vec<f64> = figures.row_iter().map(|row| row.norm_squared()).collect();
        let taper = DMatrix::from_fn(across.nrows(), across.ncols(), |d, f| {
            let both = model[(d, d)] * squares[f];
            if both > 0.0 { tapered(across[(d, f)].powi(2) / both, draws, draws) } else { 0.0 }
        });
        Self { draws, model, across, figures: squares, taper }
    }

    /// Sum of squares by figure that the gain of this half on some measurements leaves in the other. `None` without a solution.
    fn left(&self, rows: &[usize], other: &Self) -> Option<Vec<f64>> {
        let of = |model: &DMatrix<f64>| model.select_rows(rows).select_columns(rows);
        let across = |half: &Self| half.across.select_rows(rows);
        let covariance = of(&self.model) / self.draws + DMatrix::identity(rows.len(), rows.len());
        let mut gain = Cholesky::new(covariance)?.solve(&(across(self) / self.draws));
        gain.component_mul_assign(&self.taper.select_rows(rows));
        let noisy = of(&other.model) + DMatrix::identity(rows.len(), rows.len()) * other.draws;
        let (theirs, spread) = (across(other), noisy * &gain);
        let left = |(n, figure): (usize, &f64)| {
            let column = gain.column(n);
            figure - 2.0 * column.dot(&theirs.column(n)) + column.dot(&spread.column(n))
        };
        Some(other.figures.iter().enumerate().map(left).collect())
    }
}

impl Worth {
    /// A sample: `figures` has a row for each figure, `model` one for each measurement, both a column for each draw; errors of the
    /// measurements as standard deviations.
    ///
    /// # Panics
    /// If the sizes of the tables do not fit together.
    pub fn of(figures: &DMatrix<f64>, model: &DMatrix<f64>, errors: &[f64]) -> Self {
        assert_eq!(
            (figures.ncols(), errors.len()),
            (model.ncols(), model.nrows()),
            "one column for each draw"
        );
        let figures = anomalies(figures);
        let mut spread = anomalies(model);
        let errors = DVector::from_column_slice(errors);
        spread.column_iter_mut().for_each(|mut column| column.component_div_assign(&errors));
        let halves = [0, 1].map(|which| {
            let draws: Vec<usize> = (which..figures.ncols()).step_by(2).collect();
            Half::of(&figures.select_columns(&draws), &spread.select_columns(&draws))
        });
        Self { halves }
    }

    /// Share of the variance of each figure that some measurements leave, at most 1; 1 for a figure that does not vary.
    ///
    /// # Panics
    /// On a measurement that is not in the sample.
    pub fn left(&self, rows: &[usize]) -> Vec<f64> {
        let [one, other] = &self.halves;
        let found = [(one, other), (other, one)].map(|(from, on)| (from.left(rows, on), &on.figures));
        let share = |n: usize| {
            let left: f64 =
                found.iter().map(|(left, whole)| left.as_ref().map_or(whole[n], |left| left[n])).sum();
            let whole: f64 = found.iter().map(|(_, whole)| whole[n]).sum();
            if whole > 0.0 { (left / whole).clamp(0.0, 1.0) } else { 1.0 }
        };
        (0..one.figures.len()).map(share).collect()
    }

    /// Sets of measurements in the order in which they are worth most for their cost: each is the one that takes most of the mean share of
    /// variance left, per cost, after those before it. A set that takes less than `least` is left out, and so are sets that cost nothing
    /// to name: those without measurements. With each its place in `sets` and the shares left by it and all before it.
    ///
    /// # Panics
    /// If there is not a cost for each set.
    pub fn in_order(&self, sets: &[Vec<usize>], costs: &[f64], least: f64) -> Vec<(usize, Vec<f64>)> {
        assert_eq!(sets.len(), costs.len(), "a cost for each set");
        let mean = |shares: &[f64]| shares.iter().sum::<f64>() / shares.len().max(1) as f64;
        let (mut chosen, mut rows): (Vec<(usize, Vec<f64>)>, Vec<usize>) = (Vec::new(), Vec::new());
        let mut now = 1.0;
        loop {
            let open = (0..sets.len()).filter(|n| !sets[*n].is_empty() && chosen.iter().all(|(c, _)| c != n));
            let gain = |n: usize| {
                let left = self.left(&rows.iter().chain(&sets[n]).copied().collect::<Vec<_>>());
                (n, now - mean(&left), left)
            };
            let best = open
                .map(gain)
                .filter(|(_, gain, _)| *gain >= least)
                .max_by(|a, b| (a.1 / costs[a.0]).total_cmp(&(b.1 / costs[b.0])));
            let Some((n, _, left)) = best else { return chosen };
            now = mean(&left);
            rows.extend(&sets[n]);
            chosen.push((n, left));
        }
    }
}
