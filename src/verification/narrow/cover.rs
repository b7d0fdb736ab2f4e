//! Whether draws weighed by some sources foretell the others.

use super::super::Relation;
use super::outcome::{ModelError, Print};
use super::rows::points;
use super::weights::{Source, weights};
use crate::monte_carlo::distribution::share_below;
use serde::Serialize;

/// Chances of the ends of a band.
const ENDS: [f64; 2] = [0.05, 0.95];

/// What draws that were weighed by all other sources foretell of a print.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Foretold {
    /// 5, 50 and 95 % points of the figure in the draws, in the unit of the check.
    pub points: [f64; 3],
    /// Whether the print lies within these points, or a bound is kept somewhere in them.
    pub in_draws: bool,
    /// The same with the error of model and print added to the draws: what the print of a trial may be.
    pub in_band: bool,
}

/// How many prints lie in the bands that did not know their source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Coverage {
    /// Prints.
    pub prints: usize,
    /// Those within the 5 to 95 % points of the draws.
    pub in_draws: usize,
    /// Those within these points with the error of model and print.
    pub in_band: usize,
    /// Mean log density of a print on its scale, with that error: the higher, the better foretold.
    pub log_score: f64,
}

/// One print under some weights, and its log density.
pub(super) fn foretold(
    print: &Print,
    figures: &[&[f64]],
    weights: &[f64],
    error: &ModelError,
) -> (Foretold, f64) {
    let own: Vec<f64> = figures.iter().map(|figures| figures[print.place]).collect();
    let kept: Vec<(f64, f64)> =
        own.iter().zip(weights).filter(|(figure, _)| figure.is_finite()).map(|(a, b)| (*a, *b)).collect();
    let all: f64 = kept.iter().map(|(_, weight)| weight).sum();
    let (numbers, shares): (Vec<f64>, Vec<f64>) = kept.iter().map(|(a, b)| (*a, b / all)).unzip();
    let ends = points(&numbers, &shares);
    let printed = print.case.printed;
    let sigma = print.error(error);
    let off = |figure: f64| (print.at - print.on_scale(figure)) / sigma;
    // the share of all that the trial might have printed which lies below the print
    let below: f64 = numbers.iter().zip(&shares).map(|(x, w)| w * share_below(off(*x))).sum();
    let density: f64 = numbers.iter().zip(&shares).map(|(x, w)| w * (-0.5 * off(*x).powi(2)).exp()).sum();
    let (in_draws, in_band) = match print.case.relation {
        Relation::Equal => (ends[0] <= printed && printed <= ends[2], (ENDS[0]..=ENDS[1]).contains(&below)),
        Relation::AtLeast => (ends[2] >= printed, below <= ENDS[1]),
        Relation::AtMost => (ends[0] <= printed, below >= ENDS[0]),
    };
    let normal = sigma * (2.0 * std::f64::consts::PI).sqrt();
    (Foretold { points: ends, in_draws, in_band }, (density / normal).ln())
}

/// The prints of each source under the weights of all others, with their coverage, and that of draws that know no source.
pub(super) fn each_left_out(
    sources: &[Source],
    log_likelihoods: &[Vec<f64>],
    figures: &[&[f64]],
    error: &ModelError,
) -> (Vec<Vec<Foretold>>, Coverage, Coverage) {
    let even = vec![1.0 / figures.len() as f64; figures.len()];
    let (mut all, mut before, mut after) = (Vec::new(), Vec::new(), Vec::new());
    for (place, source) in sources.iter().enumerate() {
        let others: Vec<&Vec<f64>> =
            log_likelihoods.iter().enumerate().filter(|(n, _)| *n != place).map(|(_, one)| one).collect();
        let left: Vec<f64> =
            (0..figures.len()).map(|draw| others.iter().map(|one| one[draw]).sum()).collect();
        let left = weights(&left);
        let of = |weights: &[f64]| -> Vec<(Foretold, f64)> {
            source.prints.iter().map(|print| foretold(print, figures, weights, error)).collect()
        };
        let known = of(&left);
        all.push(known.iter().map(|(one, _)| *one).collect());
        before.extend(of(&even));
        after.extend(known);
    }
    (all, coverage(&before), coverage(&after))
}

fn coverage(prints: &[(Foretold, f64)]) -> Coverage {
    let count = |holds: fn(&Foretold) -> bool| prints.iter().filter(|(one, _)| holds(one)).count();
    Coverage {
        prints: prints.len(),
        in_draws: count(|one| one.in_draws),
        in_band: count(|one| one.in_band),
        log_score: prints.iter().map(|(_, score)| score).sum::<f64>() / prints.len().max(1) as f64,
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::Case;
    use super::*;

    #[test]
    fn a_band_with_error_is_wider_than_that_of_the_draws() {
        let print =
            |printed| Print::of(&Case::of("beds.some", "recalled", "").printed(printed, 2, "kg/m2"), 0);
        let rows: Vec<Vec<f64>> = (0..=100).map(|n| vec![2.0 + 0.001 * f64::from(n)]).collect();
        let figures: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
        let even = vec![1.0 / 101.0; 101];
        let look = |printed| foretold(&print(printed), &figures, &even, &ModelError::USUAL).0;
        assert!(look(2.05).in_draws && look(2.05).in_band);
        // 1.645 x 0.427 in the logarithm: a factor of 2.02
        assert!(!look(3.9).in_draws && look(3.9).in_band && !look(4.4).in_band);
        assert!(!look(0.98).in_band);
    }
}
