//! The rows that may be narrowed: their ranges before and after, from weighted draws.

use crate::literature;
use crate::literature::narrowed::{NarrowedRow, PrintedRange};
use crate::monte_carlo::distribution::{quantile, share_below};
use crate::quantity::{Shape, Uncertain};
use crate::study::sensitivity::ranks;
use serde::Serialize;

/// Rows that may be narrowed: what losses and castings show of any bed. Rows of worms stay as they are but for the intake: what a trial
/// shows of deaths, laying and salt is of its own bed, and the spread from bed to bed remains however many papers there are.
pub(super) const ROWS: [&str; 7] = [
    "bed.decay_rate_readily_degradable",
    "bed.decay_rate_protein",
    "bed.decay_rate_lipid",
    "bed.decay_rate_hemicellulose_and_cellulose",
    "bed.decay_rate_lignin",
    "bed.denitrification_rate",
    "worms.maximum_intake",
];
/// Standard deviation left below which a row is narrowed. Our choice: what is taken off otherwise is within the error of the draws.
const NARROWED: f64 = 0.95;
/// Significant digits of the shipped numbers. Our choice: far finer than what is known, so that rounding adds nothing.
const DIGITS: i32 = 4;

/// A row before and after.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RowAnswer {
    /// Key of the literature.
    pub key: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// 5, 50 and 95 % points of the range as printed.
    pub before: [f64; 3],
    /// The same points after the prints.
    pub after: [f64; 3],
    /// How far the mean moved, in standard deviations of the range as printed.
    pub pull: f64,
    /// Standard deviation that is left, in those of the range as printed.
    pub left: f64,
}

impl RowAnswer {
    /// Whether the prints narrow the row; else it keeps its range as printed.
    pub fn is_narrowed(&self) -> bool {
        self.left < NARROWED
    }

    /// A row from its scores in the draws and their weights. None for a key that is in no table.
    pub(super) fn of(key: &'static str, scores: &[f64], weights: &[f64]) -> Option<Self> {
        let entry = literature::entry(key)?;
        let at = |score: f64| quantile(&entry.value, share_below(score));
        let (pull, left) = moments(scores, weights);
        Some(Self {
            key,
            unit: &entry.unit,
            before: POINTS.map(|point| quantile(&entry.value, point)),
            after: points(scores, weights).map(at),
            pull,
            left,
        })
    }

    /// The row as it is shipped: a range of the same shape through its three points.
    pub(super) fn shipped(&self) -> Option<NarrowedRow> {
        let value = &literature::entry(self.key)?.value;
        let [low, central, high] = match value.shape() {
            Shape::Triangular => triangle(self.after, value),
            _ => self.after,
        }
        .map(rounded);
        let printed = PrintedRange::of(value);
        Some(NarrowedRow {
            key: self.key.to_owned(),
            central,
            low,
            high,
            printed,
            pull: self.pull,
            left: self.left,
        })
    }
}

const POINTS: [f64; 3] = [0.05, 0.5, 0.95];

/// A number with the digits of the shipped ones.
pub(super) fn rounded(number: f64) -> f64 {
    if number == 0.0 {
        return 0.0;
    }
    // divided, not multiplied by a tenth, so that the nearest decimal results
    let scale = 10.0_f64.powf(f64::from(DIGITS) - 1.0 - number.abs().log10().floor());
    (number * scale).round() / scale
}

/// Weighted mean and standard deviation.
pub(super) fn moments(numbers: &[f64], weights: &[f64]) -> (f64, f64) {
    let mean: f64 = numbers.iter().zip(weights).map(|(x, w)| x * w).sum();
    let variance: f64 = numbers.iter().zip(weights).map(|(x, w)| w * (x - mean).powi(2)).sum();
    (mean, variance.sqrt())
}

/// Weighted 5, 50 and 95 % points: each number stands in the middle of its weight.
pub(super) fn points(numbers: &[f64], weights: &[f64]) -> [f64; 3] {
    let mut order: Vec<usize> = (0..numbers.len()).collect();
    order.sort_by(|&a, &b| numbers[a].total_cmp(&numbers[b]));
    POINTS.map(|point| {
        let (mut below, mut last) = (0.0, None);
        for &n in &order {
            let middle = below + 0.5 * weights[n];
            if middle >= point {
                let Some((at, number)) = last else { return numbers[n] };
                let part: f64 = (point - at) / (middle - at);
                return number + part * (numbers[n] - number);
            }
            below += weights[n];
            last = Some((middle, numbers[n]));
        }
        last.map_or(f64::NAN, |(_, number)| number)
    })
}

/// Rank correlation of two lists; 0 if one of them is constant.
pub(super) fn rank_correlation(a: &[f64], b: &[f64]) -> f64 {
    correlation(&ranks(a), &ranks(b), &vec![1.0 / a.len().max(1) as f64; a.len()])
}

/// Weighted correlation; 0 if one of the lists is constant.
pub(super) fn correlation(a: &[f64], b: &[f64], weights: &[f64]) -> f64 {
    let ((mean_a, left_a), (mean_b, left_b)) = (moments(a, weights), moments(b, weights));
    let both: f64 = a.iter().zip(b).zip(weights).map(|((x, y), w)| w * (x - mean_a) * (y - mean_b)).sum();
    if left_a > 0.0 && left_b > 0.0 { both / (left_a * left_b) } else { 0.0 }
}

/// The triangle with these 5, 50 and 95 % points, as far as its ends stay within the range as printed: low end, mode, high end.
///
/// With f the share below the mode and W the width, the points lie at W sqrt(u f) from the low end below the mode, at
/// W (1 - sqrt((1 - u)(1 - f))) above it. Where the middle point lies between the others fixes f.
fn triangle([low, middle, high]: [f64; 3], printed: &Uncertain) -> [f64; 3] {
    let point = |u: f64, f: f64| if u < f { (u * f).sqrt() } else { 1.0 - ((1.0 - u) * (1.0 - f)).sqrt() };
    let [p5, p50, p95] = POINTS;
    let place = |f: f64| (point(p50, f) - point(p5, f)) / (point(p95, f) - point(p5, f));
    let wanted = (middle - low) / (high - low);
    let (mut below, mut above) = (0.0, 1.0);
    for _ in 0..60 {
        let f = f64::midpoint(below, above);
        if place(f) < wanted { below = f } else { above = f }
    }
    let f = f64::midpoint(below, above);
    let width = (high - low) / (point(p95, f) - point(p5, f));
    let start = low - width * point(p5, f);
    let (from, to) = (printed.low(), printed.high());
    [start, start + f * width, start + width].map(|end| end.clamp(from, to))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_triangle_of_its_own_points_is_itself() {
        let value = Uncertain::new(0.1, 0.02, 0.3, Shape::Triangular).unwrap();
        let found = triangle(POINTS.map(|point| quantile(&value, point)), &value);
        for (one, other) in found.iter().zip([0.02, 0.1, 0.3]) {
            assert!((one - other).abs() < 1e-9, "{found:?}");
        }
    }

    #[test]
    fn weighted_points_and_moments_are_those_of_repeated_numbers() {
        let (numbers, weights) = ([3.0, 1.0, 2.0], [0.25, 0.25, 0.5]);
        let (mean, left) = moments(&numbers, &weights);
        assert!((mean - 2.0).abs() < 1e-12 && (left - 0.5_f64.sqrt()).abs() < 1e-12);
        assert_eq!(points(&numbers, &weights).to_vec(), [1.0, 2.0, 3.0]);
        // evenly weighted numbers 0 to 1000 have their points at 5, 50 and 95 % of the way
        let even: Vec<f64> = (0..=1000).map(f64::from).collect();
        let found = points(&even, &vec![1.0 / 1001.0; 1001]);
        for (one, other) in found.iter().zip([50.0, 500.0, 950.0]) {
            assert!((one - other).abs() < 1.0, "{found:?}");
        }
    }

    #[test]
    fn rank_correlations_are_those_of_the_definition() {
        // ranks 1 2 3 4 against 2 1 4 3: 1 - 6 * 4 / (4 * 15)
        assert!((rank_correlation(&[1.0, 5.0, 7.0, 9.0], &[2.0, 1.0, 40.0, 3.0]) - 0.6).abs() < 1e-12);
        assert!(rank_correlation(&[1.0, 2.0], &[3.0, 3.0]).abs() < 1e-12);
    }
}
