//! Differences of the same draws.

use super::draws::SiteDraws;
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Confidence of intervals.
const CONFIDENCE: f64 = 0.95;

/// Mean of paired differences with its 95 % interval, in the unit of what is compared.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Paired {
    /// Mean of the differences.
    pub mean: f64,
    /// Low end of the interval.
    pub low: f64,
    /// High end of the interval.
    pub high: f64,
    /// Whether the interval leaves zero out: an effect, not noise.
    pub clear: bool,
}

/// Mean of the differences `b - a` with its interval, mean -+ t sd / sqrt(n) by Student's t; one pair has no interval but its own value.
///
/// # Panics
/// Never: a t distribution with at least one degree of freedom exists.
pub fn paired(a: &[f64], b: &[f64]) -> Paired {
    let differences: Vec<f64> = a.iter().zip(b).map(|(a, b)| b - a).collect();
    let n = differences.len() as f64;
    let mean = differences.iter().sum::<f64>() / n.max(1.0);
    let half = if n < 2.0 {
        0.0
    } else {
        let squares: f64 = differences.iter().map(|d| (d - mean) * (d - mean)).sum();
        let t = StudentsT::new(0.0, 1.0, n - 1.0).expect("at least one degree of freedom");
        t.inverse_cdf(0.5 + 0.5 * CONFIDENCE) * (squares / (n - 1.0) / n).sqrt()
    };
    let (low, high) = (mean - half, mean + half);
    Paired { mean, low, high, clear: low > 0.0 || high < 0.0 }
}

/// Mean of a figure over the draws that have it.
pub(super) fn mean(run: &SiteDraws, place: usize) -> f64 {
    let there = || run.rows.iter().filter_map(|row| row.figures[place].value());
    there().sum::<f64>() / there().count().max(1) as f64
}

/// A figure in the draws that both have.
pub(super) fn common(a: &SiteDraws, b: &SiteDraws, place: usize) -> (Vec<f64>, Vec<f64>) {
    let other = |draw: u64| b.rows.binary_search_by_key(&draw, |row| row.draw).ok();
    let pairs = a.rows.iter().filter_map(|row| other(row.draw).map(|at| (row, &b.rows[at])));
    pairs.filter_map(|(a, b)| Some((a.figures[place].value()?, b.figures[place].value()?))).unzip()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paired_differences_are_those_of_students_t() {
        // differences 1, 2, 3: mean 2, standard error 1/sqrt(3), t(0.975, 2) = 4.302652729911275 (printed tables: 4.303)
        let p = paired(&[1.0, 2.0, 3.0], &[2.0, 4.0, 6.0]);
        let half = 4.302_652_729_911_275 / 3.0_f64.sqrt();
        assert!((p.mean - 2.0).abs() < 1e-12 && (p.low - (2.0 - half)).abs() < 1e-6, "{p:?}");
        assert!(!p.clear);
        let same = paired(&[0.1, 0.2, 0.3], &[0.1, 0.2, 0.3]);
        assert_eq!(same, Paired { mean: 0.0, low: 0.0, high: 0.0, clear: false });
    }
}
