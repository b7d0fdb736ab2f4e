//! What a set of draws says: spreads with their own uncertainty, and whether more draws would change them.
//!
//! Everything here is read off lists in the order of the draws, so that it does not depend on how they were made.

use super::design::{BLOCK, block_of};
use crate::quantity::whole;
use serde::Serialize;
use statrs::distribution::{Binomial, ContinuousCDF, DiscreteCDF, StudentsT};

/// Least number of full blocks whose means give the standard error. Our choice.
pub const LEAST_BLOCKS: usize = 4;
/// Shares of draws below the quantiles that are kept. Our choice.
pub const QUANTILES: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];
/// A mean is settled when half the width of its interval is at most this part of the span of the figure: from its 5 % to its
/// 95 % point, or two standard deviations where these are more (a few draws far off). Our choice.
pub const SETTLED_PART: f64 = 0.025;
/// A chance is settled when its interval reaches at most this far from its middle. Our choice.
pub const SETTLED_CHANCE: f64 = 0.05;
/// Deviations below this part of the mean are rounding. Our choice.
const ROUNDING: f64 = 1e-12;
/// Quantile 97.5 % of the standard normal distribution.
const NORMAL_975: f64 = 1.959_963_984_540_054;

/// An interval, in the unit of its figure; an end is none where there are too few draws to give one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Interval {
    /// Low end. None with too few draws.
    pub low: Option<f64>,
    /// High end. None with too few draws.
    pub high: Option<f64>,
}

/// Where a standard error comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ErrorRule {
    /// The scatter of the means of full blocks, each a stratified design of its own.
    BlockMeans,
    /// sd / sqrt(n), too wide on a stratified design.
    Independent,
}

/// The spread of a figure over the draws, in the unit of the figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spread {
    /// Mean over the draws.
    pub mean: f64,
    /// Standard deviation, from n - 1.
    pub standard_deviation: f64,
    /// Standard error of the mean.
    pub standard_error: f64,
    /// Where the standard error comes from.
    pub standard_error_from: ErrorRule,
    /// 95 % interval of the mean, by Student's t.
    pub mean_interval: Interval,
    /// Quantiles at [`QUANTILES`].
    pub quantiles: [f64; 5],
    /// 95 % interval of the 5 % point.
    pub low_interval: Interval,
    /// 95 % interval of the median.
    pub median_interval: Interval,
    /// 95 % interval of the 95 % point.
    pub high_interval: Interval,
    /// Whether more draws would not move the mean enough to be seen.
    pub settled: bool,
    /// Total number of draws that would settle it, n (half width / wanted half width)^2. None if it is settled, or if the draws or
    /// their spread are too few to estimate it.
    pub draws_to_settle: Option<u64>,
}

/// Quantile of sorted numbers: straight between order statistics at place (n - 1) p.
///
/// # Source
/// Rule 7 of Hyndman and Fan (1996).
///
/// # Panics
/// On an empty list.
pub fn quantile(sorted: &[f64], p: f64) -> f64 {
    let last = sorted.len() - 1;
    let place = p.clamp(0.0, 1.0) * last as f64;
    let below = (whole(place) as usize).min(last);
    let above = (below + 1).min(last);
    sorted[below] + (place - below as f64) * (sorted[above] - sorted[below])
}

/// Ranks, from 1, of the order statistics between which a quantile lies with 95 % confidence, whatever the distribution.
///
/// The number of draws below the quantile is binomial: low is the largest rank l with P(B < l) <= 2.5 %, high the smallest
/// u with P(B >= u) <= 2.5 %. An end that no draw reaches is missing.
///
/// # Source
/// The exact nonparametric interval (Conover 1999, section 3.2). It holds for independent draws; on stratified ones it is on the
/// wide side.
pub fn order_ranks(draws: usize, p: f64) -> (Option<usize>, Option<usize>) {
    let Ok(below) = Binomial::new(p, draws as u64) else { return (None, None) };
    let at_most = |k: usize| below.cdf(k as u64);
    // P(B < l) = cdf(l - 1); P(B >= u) = 1 - cdf(u - 1); both rise with the rank
    let ranks: Vec<usize> = (1..=draws).collect();
    let low = ranks.partition_point(|l| at_most(l - 1) <= 0.025);
    let high = ranks.partition_point(|u| 1.0 - at_most(u - 1) > 0.025) + 1;
    ((low > 0).then_some(low), (high <= draws).then_some(high))
}

/// Ranks of the intervals of the 5 %, 50 % and 95 % points, to be found once for all figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ranks([(Option<usize>, Option<usize>); 3]);

impl Ranks {
    /// Ranks for so many draws.
    pub fn of(draws: usize) -> Self {
        Self([0.05, 0.5, 0.95].map(|p| order_ranks(draws, p)))
    }
}

/// The 95 % interval of a share seen `count` times in `draws`, both ends 0 to 1.
///
/// # Source
/// Wilson (1927), without continuity correction.
pub fn wilson(count: usize, draws: usize) -> (f64, f64) {
    if draws == 0 {
        return (0.0, 1.0);
    }
    let (n, z) = (draws as f64, NORMAL_975);
    let share = count as f64 / n;
    let scale = 1.0 + z * z / n;
    let middle = (share + z * z / (2.0 * n)) / scale;
    let half = z / scale * (share * (1.0 - share) / n + z * z / (4.0 * n * n)).sqrt();
    // the ends are exactly 0 and 1 there; rounding must not leave the unit interval
    let low = if count == 0 { 0.0 } else { (middle - half).max(0.0) };
    let high = if count == draws { 1.0 } else { (middle + half).min(1.0) };
    (low, high)
}

/// Draws at which the Wilson interval of a share is as narrow as [`SETTLED_CHANCE`]: z^2 p (1 - p) / h^2, of the normal form.
pub fn draws_for_chance(share: f64) -> u64 {
    // a share of 0 or 1 may be any near it
    let spread = (share * (1.0 - share)).max(0.02);
    ceiling(NORMAL_975 * NORMAL_975 * spread / (SETTLED_CHANCE * SETTLED_CHANCE))
}

fn ceiling(value: f64) -> u64 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "held below 2^52 and above 0"
    )]
    let whole = value.ceil().clamp(0.0, 4.5e15) as u64;
    whole
}

/// The spread of a figure; `draws` are the numbers of the draws of `values`, rising.
///
/// The standard error is that of the means of full blocks if there are [`LEAST_BLOCKS`] or more, s(block means) / sqrt(blocks),
/// with Student's t of blocks - 1 degrees of freedom: blocks are independent repeats of a stratified design. With fewer it
/// is sd / sqrt(n), which is too wide on a stratified design, since strata take out most of what single rates do.
///
/// # Source
/// Replicated Latin hypercubes: Owen (1992), Iman and Conover (1982) for their use.
///
/// # Panics
/// On an empty list.
pub fn spread(draws: &[u64], values: &[f64], ranks: &Ranks) -> Spread {
    let n = values.len();
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let mean = mean_of(values);
    let deviation = deviation_of(values, mean);
    let blocks = block_means(draws, values);
    let (error, from, freedom) = if blocks.len() >= LEAST_BLOCKS {
        let scatter = deviation_of(&blocks, mean_of(&blocks));
        (scatter / (blocks.len() as f64).sqrt(), ErrorRule::BlockMeans, blocks.len() - 1)
    } else {
        (deviation / (n as f64).sqrt(), ErrorRule::Independent, n - 1)
    };
    let half = student(freedom).map(|t| t * error);
    let quantiles = QUANTILES.map(|p| quantile(&sorted, p));
    let between = |(low, high): (Option<usize>, Option<usize>)| Interval {
        low: low.map(|rank| sorted[rank - 1]),
        high: high.map(|rank| sorted[rank - 1]),
    };
    let wanted = SETTLED_PART * (quantiles[4] - quantiles[0]).max(2.0 * deviation);
    let settled = half.is_some_and(|half| half <= wanted);
    let needed = half.filter(|_| !settled && wanted > 0.0).map(|h| n as f64 * (h / wanted).powi(2));
    Spread {
        mean,
        standard_deviation: deviation,
        standard_error: error,
        standard_error_from: from,
        mean_interval: Interval { low: half.map(|h| mean - h), high: half.map(|h| mean + h) },
        quantiles,
        low_interval: between(ranks.0[0]),
        median_interval: between(ranks.0[1]),
        high_interval: between(ranks.0[2]),
        settled,
        draws_to_settle: needed.map(ceiling),
    }
}

fn mean_of(values: &[f64]) -> f64 {
    // about the first value, so that equal numbers have exactly themselves as their mean
    let first = values[0];
    first + values.iter().map(|x| x - first).sum::<f64>() / values.len() as f64
}

fn deviation_of(values: &[f64], mean: f64) -> f64 {
    if values.len() < 2 {
        return 0.0;
    }
    let squares: f64 = values.iter().map(|x| (x - mean) * (x - mean)).sum();
    let deviation = (squares / (values.len() - 1) as f64).sqrt();
    // numbers that are the same up to rounding do not spread
    if deviation <= ROUNDING * mean.abs() { 0.0 } else { deviation }
}

/// Means of the blocks with every draw.
fn block_means(draws: &[u64], values: &[f64]) -> Vec<f64> {
    let mut means = Vec::new();
    let mut at = 0;
    for block in draws.chunk_by(|a, b| block_of(*a) == block_of(*b)) {
        if block.len() == BLOCK {
            means.push(mean_of(&values[at..at + BLOCK]));
        }
        at += block.len();
    }
    means
}

/// Quantile 97.5 % of Student's t. None without a degree of freedom.
fn student(freedom: usize) -> Option<f64> {
    let t = StudentsT::new(0.0, 1.0, freedom as f64).ok()?;
    Some(t.inverse_cdf(0.975))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_lie_straight_between_order_statistics() {
        // rule 7 on 1..5: the median is 3, the quarter point 2, 5 % lies a fifth of a step above 1
        let list = [1.0, 2.0, 3.0, 4.0, 5.0];
        assert!((quantile(&list, 0.25) - 2.0).abs() < 1e-12);
        assert!((quantile(&list, 0.05) - 1.2).abs() < 1e-12);
        assert!((quantile(&[7.0], 0.95) - 7.0).abs() < 1e-12);
    }

    #[test]
    fn equal_numbers_have_no_spread_and_are_settled() {
        let draws: Vec<u64> = (0..40).collect();
        let found = spread(&draws, &[0.1; 40], &Ranks::of(40));
        assert!(found.settled && found.standard_deviation.abs() < 1e-300);
        assert_eq!(found.mean.to_bits(), 0.1_f64.to_bits());
    }

    #[test]
    fn full_blocks_give_the_error_of_a_stratified_mean() {
        // x = (stratum + 1/2) / 250 in every block: the block means are equal, so the error is 0 where sd / sqrt(n) is 0.009
        let draws: Vec<u64> = (0..1000).collect();
        let values: Vec<f64> = draws.iter().map(|d| ((d * 7 % 250) as f64 + 0.5) / 250.0).collect();
        let found = spread(&draws, &values, &Ranks::of(1000));
        assert_eq!(found.standard_error_from, ErrorRule::BlockMeans);
        assert!(found.standard_error < 1e-12 && found.settled && found.draws_to_settle.is_none());
        let fewer = spread(&draws[..999], &values[..999], &Ranks::of(999));
        assert_eq!(fewer.standard_error_from, ErrorRule::Independent);
        assert!((fewer.standard_error - (1.0_f64 / 12.0 / 999.0).sqrt()).abs() < 1e-4);
    }

    #[test]
    fn intervals_by_hand() {
        // four blocks with means of 1 to 4 about which nothing scatters: sd 1.29099 over 2, t of 3 degrees of freedom 3.18245
        let draws: Vec<u64> = (0..1000).collect();
        let values: Vec<f64> = draws.iter().map(|d| (d / 250 + 1) as f64).collect();
        let found = spread(&draws, &values, &Ranks::of(1000));
        let half = found.mean_interval.high.unwrap() - found.mean;
        assert!((half - 3.182_446 * 1.290_994 / 2.0).abs() < 1e-5, "{half}");
        assert!((found.standard_deviation - (1250.0_f64 / 999.0).sqrt()).abs() < 1e-12);
        // 100 numbers from 0.005 to 0.995: t of 99 degrees of freedom 1.98422; ranks 40 and 61 (Conover) hold the median
        let draws: Vec<u64> = (0..100).collect();
        let values: Vec<f64> = draws.iter().map(|d| ((d * 37 % 100) as f64 + 0.5) / 100.0).collect();
        let found = spread(&draws, &values, &Ranks::of(100));
        let half = found.mean_interval.high.unwrap() - found.mean;
        assert!((half - 1.984_217 * 0.290_115 / 10.0).abs() < 1e-6, "{half}");
        let median = found.median_interval;
        assert!((median.low.unwrap() - 0.395).abs() < 1e-12 && (median.high.unwrap() - 0.605).abs() < 1e-12);
    }

    #[test]
    fn numbers_that_differ_by_rounding_do_not_spread() {
        // a millionth is a part in 10^12 of a million
        let deviation = |gap: f64| deviation_of(&[1e6, 1e6 + gap], 1e6);
        assert!(deviation(1e-7) == 0.0 && deviation(1e-4) > 7e-5);
    }

    #[test]
    fn draws_for_a_chance_are_those_of_the_normal_form() {
        // 1.96^2 p (1 - p) / 0.05^2: 384.1 and 138.3; at the ends p (1 - p) is taken as 0.02: 30.7
        assert_eq!([0.5, 0.1, 0.9, 0.0, 1.0].map(draws_for_chance), [385, 139, 139, 31, 31]);
    }

    #[test]
    fn the_estimated_number_of_draws_settles_a_mean() {
        let draws: Vec<u64> = (0..100).collect();
        let values: Vec<f64> = draws.iter().map(|d| ((d * 37 % 100) as f64 + 0.5) / 100.0).collect();
        let found = spread(&draws, &values, &Ranks::of(100));
        // uniform: half width 1.984 x 0.2902 / 10 = 0.0576 against 0.025 x 0.9 = 0.0223, so (0.0576 / 0.0223)^2 = 6.7 times as many
        assert!(!found.settled);
        let needed = found.draws_to_settle.unwrap();
        assert!((650..700).contains(&needed), "{needed}");
    }
}
