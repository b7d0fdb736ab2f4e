//! From a uniform number to the value of an uncertain quantity: inverse distribution functions.
//!
//! One code path serves plain, stratified and quasi-random designs. Values grow with the uniform number, so ranks and
//! strata carry over. The meaning of `low` and `high` by shape is that of [`Shape`]; these rules apply where three
//! numbers leave a choice:
//!
//! - **Lognormal**: median central, one spread from both ends, sigma = ln(high / low) / (2 x 1.645). Where central is not the
//!   geometric mean of the ends, their chances are not exactly 5 % and 95 %, but their ratio is that of the points.
//! - **Normal**: mean central, sigma = (high - low) / (2 x 1.645). Where low is not negative the quantity cannot be
//!   either: the curve is cut at 0 and, to keep the mean at central, at twice central.
//! - **Dirichlet**: one share of a set is beta-distributed; its concentration is chosen here from its own range, in a
//!   [`ShareSet`](super::ShareSet) from the ranges of all.

use crate::quantity::{Shape, Uncertain};
use statrs::distribution::{Beta, ChiSquared, Continuous, ContinuousCDF, Normal};
use std::sync::LazyLock;

/// The 95 % point of the standard normal curve.
pub const POINT_95: f64 = 1.644_853_626_951_472_2;

static STANDARD: LazyLock<Normal> =
    LazyLock::new(|| Normal::new(0.0, 1.0).expect("0 and 1 are mean and spread of a normal curve"));

/// Smallest share that counts as more than 0. Source: our choice, that of a value 7 standard deviations out.
const LEAST_SHARE: f64 = 1e-12;

/// Sum of the two parameters of [`Shape::Beta`] and of [`Shape::Pert`].
const CONCENTRATION: f64 = 6.0;

/// Minimum concentration of a share, used for a range wider than any share can have. Our choice.
const LEAST_CONCENTRATION: f64 = 1.0;

/// The standard normal value below which a share `u` lies; `u` strictly between 0 and 1.
pub fn standard_normal(u: f64) -> f64 {
    STANDARD.inverse_cdf(u)
}

/// The share below a standard normal value, kept inside 0 and 1 so that every inverse distribution function takes it. The inverse of
/// [`standard_normal`].
pub fn share_below(z: f64) -> f64 {
    STANDARD.cdf(z).clamp(LEAST_SHARE, 1.0 - LEAST_SHARE)
}

/// The sum of `count` squares of standard normal values that is exceeded with a chance of `tail`.
///
/// # Panics
/// On a count of 0 or a chance that is not between 0 and 1.
pub fn chi_square_limit(count: usize, tail: f64) -> f64 {
    let curve = ChiSquared::new(count as f64).expect("a count above 0 makes a chi-square curve");
    curve.inverse_cdf(1.0 - tail)
}

/// A normal curve cut to `low` to `high`, at `u`: x = mean + sigma Phi^-1(Phi(a) + u (Phi(b) - Phi(a))), a and b the cuts in
/// units of sigma; computed from the other side if both are above the mean, since the upper tail has no digits left.
pub fn cut_normal(mean: f64, sigma: f64, low: f64, high: f64, u: f64) -> f64 {
    let (a, b) = ((low - mean) / sigma, (high - mean) / sigma);
    let inside = |a: f64, b: f64, u: f64| {
        let (from, to) = (STANDARD.cdf(a), STANDARD.cdf(b));
        STANDARD.inverse_cdf(from + u * (to - from))
    };
    let z = if a > 0.0 { -inside(-b, -a, 1.0 - u) } else { inside(a, b, u) };
    (mean + sigma * z).clamp(low, high)
}

/// The value below which a share `u` of the distribution lies.
///
/// A fixed number is its central value whatever `u`.
///
/// # Units
/// Those of the quantity; `u` strictly between 0 and 1.
///
/// # Source
/// Closed forms; beta and normal by statrs, tested against other software in `tests/it/sampler_cases.rs`.
pub fn quantile(value: &Uncertain, u: f64) -> f64 {
    let (low, central, high) = (value.low(), value.central(), value.high());
    match value.shape() {
        Shape::Fixed => central,
        Shape::Uniform => (low + u * (high - low)).clamp(low, high),
        Shape::Triangular => triangular(low, central, high, u),
        Shape::LogTriangular => triangular(low.ln(), central.ln(), high.ln(), u).exp().clamp(low, high),
        Shape::Lognormal => central * (log_sigma(low, high) * standard_normal(u)).exp(),
        Shape::Normal => {
            let sigma = normal_sigma(low, high);
            if low < 0.0 {
                central + sigma * standard_normal(u)
            } else {
                cut_normal(central, sigma, 0.0, 2.0 * central, u)
            }
        }
        Shape::Beta | Shape::Pert => {
            let (a, b) = beta_parameters(value);
            (low + (high - low) * beta(a, b, u)).clamp(low, high)
        }
        Shape::Dirichlet => {
            let concentration = share_concentration(central, low, high);
            beta(concentration * central, concentration * (1.0 - central), u)
        }
    }
}

/// Expected value.
///
/// # Units
/// Those of the quantity.
pub fn mean(value: &Uncertain) -> f64 {
    let (low, central, high) = (value.low(), value.central(), value.high());
    match value.shape() {
        Shape::Fixed | Shape::Normal | Shape::Beta | Shape::Dirichlet => central,
        Shape::Uniform => f64::midpoint(low, high),
        Shape::Triangular => (low + central + high) / 3.0,
        Shape::LogTriangular => log_triangular_moment(value, 1.0),
        Shape::Lognormal => central * (0.5 * log_sigma(low, high).powi(2)).exp(),
        Shape::Pert => {
            let (a, b) = beta_parameters(value);
            low + (high - low) * a / (a + b)
        }
    }
}

/// Variance.
///
/// # Units
/// The square of those of the quantity.
pub fn variance(value: &Uncertain) -> f64 {
    let (low, central, high) = (value.low(), value.central(), value.high());
    let width = high - low;
    match value.shape() {
        Shape::Fixed => 0.0,
        Shape::Uniform => width * width / 12.0,
        Shape::Triangular => {
            let (below, above) = (central - low, high - central);
            (below * below + below * above + above * above) / 18.0
        }
        Shape::LogTriangular => log_triangular_moment(value, 2.0) - log_triangular_moment(value, 1.0).powi(2),
        Shape::Lognormal => {
            let square = log_sigma(low, high).powi(2);
            central * central * square.exp() * square.exp_m1()
        }
        Shape::Normal => {
            let sigma = normal_sigma(low, high);
            let cut = central / sigma;
            let kept = if low < 0.0 { 1.0 } else { 2.0 * STANDARD.cdf(cut) - 1.0 };
            let lost = if low < 0.0 { 0.0 } else { 2.0 * cut * STANDARD.pdf(cut) };
            sigma * sigma * (1.0 - lost / kept)
        }
        Shape::Beta | Shape::Pert => {
            let (a, b) = beta_parameters(value);
            width * width * a * b / ((a + b).powi(2) * (a + b + 1.0))
        }
        Shape::Dirichlet => central * (1.0 - central) / (share_concentration(central, low, high) + 1.0),
    }
}

/// Concentration a + b of the beta curve of one share: its variance m (1 - m) / (a + b + 1) is that of a normal curve with 90 % of
/// its mass between `low` and `high`; at least 1.
pub fn share_concentration(mean: f64, low: f64, high: f64) -> f64 {
    (mean * (1.0 - mean) / normal_sigma(low, high).powi(2) - 1.0).max(LEAST_CONCENTRATION)
}

/// A beta curve at `u`; the limit where one parameter is 0.
pub(super) fn beta(a: f64, b: f64, u: f64) -> f64 {
    if a <= 0.0 {
        return 0.0;
    }
    if b <= 0.0 {
        return 1.0;
    }
    Beta::new(a, b).expect("two positive parameters make a beta curve").inverse_cdf(u).clamp(0.0, 1.0)
}

fn log_sigma(low: f64, high: f64) -> f64 {
    (high / low).ln() / (2.0 * POINT_95)
}

fn normal_sigma(low: f64, high: f64) -> f64 {
    (high - low) / (2.0 * POINT_95)
}

/// The two parameters of [`Shape::Beta`] (mean central) or [`Shape::Pert`] (mode central).
fn beta_parameters(value: &Uncertain) -> (f64, f64) {
    let place = (value.central() - value.low()) / (value.high() - value.low());
    if value.shape() == Shape::Beta {
        (CONCENTRATION * place, CONCENTRATION * (1.0 - place))
    } else {
        let weight = CONCENTRATION - 2.0;
        (1.0 + weight * place, 1.0 + weight * (1.0 - place))
    }
}

fn triangular(low: f64, mode: f64, high: f64, u: f64) -> f64 {
    let width = high - low;
    let value = if u * width < mode - low {
        low + (u * width * (mode - low)).sqrt()
    } else {
        high - ((1.0 - u) * width * (high - mode)).sqrt()
    };
    value.clamp(low, high)
}

/// Mean of the power `t` of a log-triangular quantity: with d and e the distances of the mode of the logarithm from its ends,
/// central^t 2 (d g(-t d) + e g(t e)) / (d + e), g(x) = (exp x - 1 - x) / x^2.
fn log_triangular_moment(value: &Uncertain, t: f64) -> f64 {
    let (below, above) = ((value.central() / value.low()).ln(), (value.high() / value.central()).ln());
    let sum = below * rest_of_exponential(-t * below) + above * rest_of_exponential(t * above);
    value.central().powf(t) * 2.0 * sum / (below + above)
}

/// (exp x - 1 - x) / x^2, by its series near 0 where the difference has no digits left.
fn rest_of_exponential(x: f64) -> f64 {
    if x.abs() < 0.05 {
        // the next term is below 1e-16 of the first
        let terms =
            [1.0 / 2.0, 1.0 / 6.0, 1.0 / 24.0, 1.0 / 120.0, 1.0 / 720.0, 1.0 / 5040.0, 1.0 / 40_320.0];
        terms.iter().rev().fold(0.0, |sum, term| sum * x + term)
    } else {
        (x.exp_m1() - x) / (x * x)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scores_and_shares_are_inverse_and_the_chi_square_limit_is_that_of_the_tables() {
        for z in [-6.5, -1.0, 0.0, 0.3, 4.0] {
            assert!((standard_normal(share_below(z)) - z).abs() < 1e-6, "{z}");
        }
        assert!(share_below(-40.0) > 0.0 && share_below(40.0) < 1.0);
        // printed tables of the chi-square distribution at 0.999
        for (count, printed) in [(1, 10.828), (10, 29.588), (100, 149.449)] {
            let ours = chi_square_limit(count, 0.001);
            assert!((ours - printed).abs() < 1e-3, "{count}: {ours}");
        }
    }

    #[test]
    fn the_rest_of_an_exponential_is_what_its_definition_says_on_both_sides_of_the_series() {
        // (exp x - 1 - x) / x^2 = integral of (1 - t) exp(x t) over t from 0 to 1: Simpson's rule on 64 parts is exact to 1e-12 here
        for x in [-0.06, -0.049_9, -0.01, -1e-9, 0.0, 1e-9, 0.02, 0.049_9, 0.051, 0.08] {
            let part = |n: u32| (1.0 - f64::from(n) / 64.0) * (x * f64::from(n) / 64.0).exp();
            let weight = |n: u32| {
                if n == 0 || n == 64 {
                    1.0
                } else if n % 2 == 1 {
                    4.0
                } else {
                    2.0
                }
            };
            let by_hand = (0..=64).map(|n| weight(n) * part(n)).sum::<f64>() / 192.0;
            let ours = rest_of_exponential(x);
            assert!((ours - by_hand).abs() < 1e-11, "{x}: {ours} {by_hand}");
        }
    }
}
