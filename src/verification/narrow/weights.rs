//! Weights of draws: the likelihood of what others have published, source by source.
//!
//! Errors of a source are correlated: two prints of one paper share its feed, its worms and its care. In a source with the distances d
//! of its values on their scales, log L = -d' S^-1 d / 2 with S = M C M + diag(r^2), M the errors of the model, r those of the prints,
//! and C 1 on its diagonal and +-0.7 elsewhere. The sign is that by which two figures move together in the draws: where more is lost,
//! C:N is lower. A bound that a draw breaks counts by the share of a normal curve beyond that distance; one that is kept weighs nothing.

use super::super::Relation;
use super::outcome::{ModelError, Print};
use super::rows::rank_correlation;
use crate::monte_carlo::distribution::share_below;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Correlation of the errors of the model within a source. Source: our choice.
pub(super) const WITHIN_SOURCE: f64 = 0.7;
/// Distance of a figure that there is not, in standard deviations. Our choice.
const NONE: f64 = 6.0;

/// The prints of a source.
#[derive(Debug, Clone)]
pub(super) struct Source {
    pub(super) key: &'static str,
    pub(super) prints: Vec<Print>,
}

impl Source {
    /// Log likelihood of the source in each draw, up to a constant; `figures` holds the figures of all checks by draw.
    pub(super) fn log_likelihoods(&self, figures: &[&[f64]], error: &ModelError) -> Vec<f64> {
        let values: Vec<Print> =
            self.prints.iter().filter(|print| print.case.relation == Relation::Equal).copied().collect();
        let factor = covariance(&values, figures, error).cholesky();
        let one = |figures: &&[f64]| {
            let bounds = self.prints.iter().filter(|print| print.case.relation != Relation::Equal);
            let of_bounds: f64 =
                bounds.map(|print| share_below(-print.distance_of(figures, error).abs()).ln()).sum();
            of_bounds + factor.as_ref().map_or(0.0, |factor| log_density(&values, figures, error, factor))
        };
        figures.iter().map(one).collect()
    }
}

impl Print {
    /// Distance of its figure in a draw; 6 standard deviations where there is none.
    pub(super) fn distance_of(&self, figures: &[f64], error: &ModelError) -> f64 {
        self.distance(figures[self.place], error).clamp(-NONE, NONE)
    }
}

/// Covariance of the errors of a source's values.
fn covariance(values: &[Print], figures: &[&[f64]], error: &ModelError) -> DMatrix<f64> {
    let of = |print: &Print| figures.iter().map(|figures| figures[print.place]).collect::<Vec<f64>>();
    let first = values.first().map(of).unwrap_or_default();
    // by the first value of the source, so that the signs of three agree
    let signs: Vec<f64> = values
        .iter()
        .map(|print| if rank_correlation(&first, &of(print)) < 0.0 { -1.0 } else { 1.0 })
        .collect();
    DMatrix::from_fn(values.len(), values.len(), |a, b| {
        let model = values[a].outcome.model(error) * values[b].outcome.model(error);
        if a == b { model + values[a].reading.powi(2) } else { WITHIN_SOURCE * signs[a] * signs[b] * model }
    })
}

fn log_density(values: &[Print], figures: &[f64], error: &ModelError, factor: &Cholesky<f64, Dyn>) -> f64 {
    let off = |print: &Print| print.distance_of(figures, error) * print.error(error);
    let off = DVector::from_iterator(values.len(), values.iter().map(off));
    -0.5 * off.dot(&factor.solve(&off))
}

/// Weights from log likelihoods, summing to 1.
pub(super) fn weights(log_likelihoods: &[f64]) -> Vec<f64> {
    let most = log_likelihoods.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let raw: Vec<f64> = log_likelihoods.iter().map(|one| (one - most).exp()).collect();
    let sum: f64 = raw.iter().sum();
    raw.into_iter().map(|one| one / sum).collect()
}

/// Effective number of draws: 1 / sum of the squares of their weights.
///
/// # Source
/// Kish 1965, of weighted samples.
pub(super) fn effective(weights: &[f64]) -> f64 {
    1.0 / weights.iter().map(|weight| weight * weight).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::super::super::Case;
    use super::*;

    fn print(place: usize, printed: f64) -> Print {
        Print::of(&Case::of("beds.some", "recalled", "").printed(printed, 2, "kg/m2"), place)
    }

    #[test]
    fn weights_of_one_print_are_those_of_a_normal_curve() {
        let source = Source { key: "recalled", prints: vec![print(0, 2.0)] };
        let rows: Vec<Vec<f64>> = [1.0, 2.0, 3.0].map(|figure| vec![figure]).into();
        let figures: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
        let found = weights(&source.log_likelihoods(&figures, &ModelError::USUAL));
        let variance = 0.4_f64.powi(2) + 0.15_f64.powi(2);
        let by_hand = [0.5_f64, 1.0, 1.5].map(|ratio| (-0.5 * ratio.ln().powi(2) / variance).exp());
        for (one, other) in found.iter().zip(by_hand) {
            assert!((one - other / by_hand.iter().sum::<f64>()).abs() < 1e-12, "{found:?}");
        }
        assert!((effective(&[0.25; 4]) - 4.0).abs() < 1e-12);
    }

    #[test]
    fn two_prints_of_a_source_count_less_than_two_sources() {
        // both prints move together in these draws, and a draw is off by as much in both
        let rows: Vec<Vec<f64>> = [1.0, 2.0, 4.0].map(|figure| vec![figure, figure]).into();
        let figures: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
        let log =
            |prints| Source { key: "recalled", prints }.log_likelihoods(&figures, &ModelError::USUAL)[2];
        let (one, both) = (log(vec![print(0, 2.0)]), log(vec![print(0, 2.0), print(1, 2.0)]));
        // by hand: S = [[s + r, 0.7 s], [0.7 s, s + r]], d = (d, d): -d^2 / (1.7 s + r)
        let (s, r) = (0.4_f64.powi(2), 0.15_f64.powi(2));
        let by_hand = -2.0_f64.ln().powi(2) / (1.7 * s + r);
        assert!((both - by_hand).abs() < 1e-12, "{both} {by_hand}");
        assert!(2.0 * one < both && both < one);
    }

    #[test]
    fn a_bound_that_is_broken_weighs_less() {
        let bound = Print { case: print(0, 2.0).case.bound(Relation::AtLeast), ..print(0, 2.0) };
        let rows: Vec<Vec<f64>> = [1.0, 2.0, 9.0].map(|figure| vec![figure]).into();
        let figures: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
        let found =
            Source { key: "recalled", prints: vec![bound] }.log_likelihoods(&figures, &ModelError::USUAL);
        assert!(found[0] < found[1] && (found[1] - found[2]).abs() < 1e-12, "{found:?}");
    }
}
