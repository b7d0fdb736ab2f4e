//! Dependence between quantities: a Gaussian copula, laid over the strata by re-pairing.
//!
//! Rank correlations are turned into those of normal scores, r = 2 sin(pi s / 6); quantities that hang together form a group,
//! factored on its own (Cholesky). Inside a block the strata of a group are re-paired (Iman and Conover 1982): their normal
//! scores are freed of the correlation they happen to have, given the wanted one, and each quantity's strata are put into the
//! order of the result. So every stratum keeps exactly one draw and every block has the wanted rank correlations, where
//! transforming stratified normal numbers would give up the strata of all but the first quantity.

use crate::literature::narrowed::narrowed;
use nalgebra::{DMatrix, DVector};
use std::collections::BTreeSet;
use std::f64::consts::PI;
use std::fmt;

/// A rank correlation (Spearman) between two quantities.
#[derive(Debug, Clone, PartialEq)]
pub struct Correlation {
    /// Key of one quantity, of the literature.
    pub a: String,
    /// Key of the other.
    pub b: String,
    /// Rank correlation, -1 to 1.
    pub rank: f64,
}

impl Correlation {
    /// A rank correlation between the quantities of two keys.
    pub fn new(a: &str, b: &str, rank: f64) -> Self {
        Self { a: a.to_owned(), b: b.to_owned(), rank }
    }
}

/// Decay constants of the bed share one factor. Assumed.
const DECAY: (f64, [&str; 5]) = (
    0.7,
    [
        "bed.decay_rate_readily_degradable",
        "bed.decay_rate_protein",
        "bed.decay_rate_lipid",
        "bed.decay_rate_hemicellulose_and_cellulose",
        "bed.decay_rate_lignin",
    ],
);

/// Poor conditions worsen everything: few cocoons, slow growth, many deaths. The sign gives the direction. Assumed.
const WORMS: (f64, [(&str, f64); 4]) = (
    0.6,
    [
        ("worms.cocoon_rate_per_adult", -1.0),
        ("worms.juvenile_duration", 1.0),
        ("worms.subadult_duration", 1.0),
        ("worms.juvenile_death_rate", 1.0),
    ],
);

/// One worm bears salt well or badly in all it does. Assumed; below 1, as the group must stay positive definite.
const SALT: (f64, [&str; 4]) = (
    0.95,
    [
        "bed.salt_response_full_limit",
        "bed.salt_response_zero",
        "bed.salt_laying_half_effect",
        "bed.salt_lethal_level",
    ],
);

/// The rank correlations between rates that are drawn from their ranges as printed.
///
/// # Source
/// Assumed (`modelling_choice`). Those between figures of ingredients are in [`composition`](super::composition), except
/// one that is in neither: starter dose with the homolactic share, because the model itself makes that share grow with the dose
/// (`fermentation.starter_split_exponent`) and would count it twice.
pub fn published() -> Vec<Correlation> {
    let mut all = Vec::new();
    for (n, a) in DECAY.1.iter().enumerate() {
        all.extend(DECAY.1[n + 1..].iter().map(|b| Correlation::new(a, b, DECAY.0)));
    }
    for (n, a) in SALT.1.iter().enumerate() {
        all.extend(SALT.1[n + 1..].iter().map(|b| Correlation::new(a, b, SALT.0)));
    }
    for (n, (a, way)) in WORMS.1.iter().enumerate() {
        all.extend(WORMS.1[n + 1..].iter().map(|(b, other)| Correlation::new(a, b, WORMS.0 * way * other)));
    }
    all
}

/// The same after the prints: those that published trials left between the rows that they narrow, in place of the assumed ones.
pub fn after_prints() -> Vec<Correlation> {
    let known = narrowed();
    let is_narrowed = |key: &str| known.rows.iter().any(|row| row.key == key);
    let mut all = published();
    all.retain(|c| !(is_narrowed(&c.a) && is_narrowed(&c.b)));
    all.extend(known.correlations.iter().map(|pair| Correlation::new(&pair.a, &pair.b, pair.rank)));
    all
}

/// Pearson correlation of normal scores with a rank correlation: 2 sin(pi s / 6). Source: Pearson 1907.
pub fn pearson_of_rank(rank: f64) -> f64 {
    2.0 * (PI * rank / 6.0).sin()
}

/// Rank correlation of normal scores with a Pearson correlation: 6 / pi asin(r / 2). Source: Pearson 1907.
pub fn rank_of_pearson(pearson: f64) -> f64 {
    6.0 / PI * (pearson / 2.0).asin()
}

/// Why rank correlations cannot all hold.
#[derive(Debug, Clone, PartialEq)]
pub enum DependenceError {
    /// A rank correlation is no number from -1 to 1.
    OutOfRange(Correlation),
    /// A quantity is correlated with itself.
    WithItself(Correlation),
    /// A pair is listed twice.
    Twice(Correlation),
    /// No numbers can have these correlations together.
    NotPositiveDefinite {
        /// Keys of the group, in order.
        group: Vec<String>,
        /// The pair that fits the others least.
        pair: Correlation,
        /// What it may be at least and at most, given the others. None if the others do not fit either.
        allowed: Option<(f64, f64)>,
    },
}

impl fmt::Display for DependenceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange(c) => {
                write!(
                    f,
                    "the rank correlation of {} with {} is {}; it lies between -1 and 1",
                    c.a, c.b, c.rank
                )
            }
            Self::WithItself(c) => write!(f, "{} is correlated with itself", c.a),
            Self::Twice(c) => write!(f, "the correlation of {} with {} is listed twice", c.a, c.b),
            Self::NotPositiveDefinite { group, pair, allowed } => {
                write!(
                    f,
                    "the rank correlations of {} cannot hold together: {} with {} is {}",
                    group.join(", "),
                    pair.a,
                    pair.b,
                    pair.rank
                )?;
                match allowed {
                    Some((low, high)) => {
                        write!(f, "; given the others it must be above {low:.3} and below {high:.3}")
                    }
                    None => Ok(()),
                }
            }
        }
    }
}

impl std::error::Error for DependenceError {}

/// Quantities that hang together, with the factor of their correlations.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrelatedGroup {
    members: Vec<usize>,
    /// Lower triangular Cholesky factor of the correlations of normal scores.
    factor: DMatrix<f64>,
}

/// Groups of the quantities with these keys; a quantity without a correlation is in none, a pair not among them is passed over.
///
/// # Errors
/// [`DependenceError`] for the first correlation or group that cannot hold.
pub fn groups(keys: &[&str], correlations: &[Correlation]) -> Result<Vec<CorrelatedGroup>, DependenceError> {
    let mut pairs: Vec<(usize, usize, f64)> = Vec::new();
    let mut met = BTreeSet::new();
    for c in correlations {
        if !(-1.0..=1.0).contains(&c.rank) {
            return Err(DependenceError::OutOfRange(c.clone()));
        }
        if c.a == c.b {
            return Err(DependenceError::WithItself(c.clone()));
        }
        if !met.insert((c.a.as_str().min(&c.b), c.a.as_str().max(&c.b))) {
            return Err(DependenceError::Twice(c.clone()));
        }
        let place = |key: &str| keys.iter().position(|k| *k == key);
        if let (Some(a), Some(b)) = (place(&c.a), place(&c.b)) {
            pairs.push((a.min(b), a.max(b), c.rank));
        }
    }
    connected(&pairs).into_iter().map(|members| CorrelatedGroup::new(keys, members, &pairs)).collect()
}

/// Sets of places that pairs tie together, each in order, by their first member.
fn connected(pairs: &[(usize, usize, f64)]) -> Vec<Vec<usize>> {
    let mut sets: Vec<BTreeSet<usize>> = Vec::new();
    for &(a, b, _) in pairs {
        let (touched, mut rest): (Vec<_>, Vec<_>) =
            sets.into_iter().partition(|set| set.contains(&a) || set.contains(&b));
        rest.push(touched.into_iter().flatten().chain([a, b]).collect());
        sets = rest;
    }
    let mut sets: Vec<Vec<usize>> = sets.into_iter().map(|set| set.into_iter().collect()).collect();
    sets.sort();
    sets
}

impl CorrelatedGroup {
    fn new(
        keys: &[&str],
        members: Vec<usize>,
        pairs: &[(usize, usize, f64)],
    ) -> Result<Self, DependenceError> {
        let size = members.len();
        let mut matrix = DMatrix::identity(size, size);
        let mut ranks = DMatrix::zeros(size, size);
        for &(a, b, rank) in pairs {
            if let (Ok(a), Ok(b)) = (members.binary_search(&a), members.binary_search(&b)) {
                matrix[(a, b)] = pearson_of_rank(rank);
                matrix[(b, a)] = matrix[(a, b)];
                ranks[(a, b)] = rank;
            }
        }
        if let Some(cholesky) = matrix.clone().cholesky() {
            return Ok(Self { members, factor: cholesky.l() });
        }
        let group: Vec<String> = members.iter().map(|&m| keys[m].to_owned()).collect();
        let (a, b, allowed) = worst_pair(&matrix);
        let pair = Correlation::new(&group[a], &group[b], ranks[(a, b)]);
        Err(DependenceError::NotPositiveDefinite { group, pair, allowed })
    }

    /// Places of the members among the quantities, in rising order; two or more.
    pub fn members(&self) -> &[usize] {
        &self.members
    }

    /// Re-pairs the strata of the members in a block, so that they have the wanted rank correlations. `strata` holds the stratum of
    /// every quantity (outer) and draw of the block (inner); only the order of the members' strata changes.
    pub fn pair_up(&self, strata: &mut [Vec<usize>]) {
        let (size, draws) = (self.members.len(), strata[self.members[0]].len());
        let score = normal_scores(draws);
        let scores = DMatrix::from_fn(size, draws, |m, draw| score[strata[self.members[m]][draw]]);
        // up to a factor, which moves no order
        let met = &scores * scores.transpose();
        // more members than draws leave no factor; the correlations they happen to have then stay in
        let freed = match met.cholesky() {
            Some(cholesky) => cholesky.l().solve_lower_triangular(&scores).unwrap_or(scores),
            None => scores,
        };
        let wanted = &self.factor * freed;
        for (m, &member) in self.members.iter().enumerate() {
            let row = wanted.row(m);
            let mut order: Vec<usize> = (0..draws).collect();
            order.sort_by(|&a, &b| row[a].total_cmp(&row[b]));
            for (stratum, draw) in order.into_iter().enumerate() {
                strata[member][draw] = stratum;
            }
        }
    }
}

/// The normal score of each stratum: that of its middle.
fn normal_scores(strata: usize) -> Vec<f64> {
    (0..strata)
        .map(|stratum| super::distribution::standard_normal((stratum as f64 + 0.5) / strata as f64))
        .collect()
}

/// The pair that breaks a matrix that is not positive definite, and its allowed range of rank correlations if there is one.
///
/// The first leading minor that is not positive names the later quantity, which fits those before it; of its pairs that
/// stands out whose correlation lies furthest from the middle of what the others leave it, in units of half that range.
fn worst_pair(matrix: &DMatrix<f64>) -> (usize, usize, Option<(f64, f64)>) {
    let last = (2..=matrix.nrows())
        .find(|&size| matrix.view((0, 0), (size, size)).into_owned().cholesky().is_none())
        .unwrap_or(matrix.nrows())
        - 1;
    let mut worst: Option<(f64, usize, (f64, f64))> = None;
    for first in 0..last {
        let others: Vec<usize> = (0..last).filter(|&o| o != first).collect();
        let Some((middle, half)) = range_left(matrix, first, last, &others) else { continue };
        let excess = (matrix[(first, last)] - middle).abs() / half.max(f64::MIN_POSITIVE);
        if worst.is_none_or(|(most, ..)| excess > most) {
            let ends = (rank_of_pearson(middle - half), rank_of_pearson(middle + half));
            worst = Some((excess, first, ends));
        }
    }
    if let Some((_, first, ends)) = worst {
        return (first, last, Some(ends));
    }
    let extreme = |&a: &usize, &b: &usize| matrix[(a, last)].abs().total_cmp(&matrix[(b, last)].abs());
    ((0..last).max_by(extreme).unwrap_or(0), last, None)
}

/// Middle and half width of what the correlation of a and b may be, given their correlations with the others: r_aS R^-1 r_Sb
/// and the root of the product of the variances the others leave to a and to b. None if they leave nothing.
fn range_left(matrix: &DMatrix<f64>, a: usize, b: usize, others: &[usize]) -> Option<(f64, f64)> {
    let between = DMatrix::from_fn(others.len(), others.len(), |i, j| matrix[(others[i], others[j])]);
    let with = |x: usize| DVector::from_iterator(others.len(), others.iter().map(|&o| matrix[(o, x)]));
    let (with_a, with_b) = (with(a), with(b));
    let (solved_a, solved_b) = if others.is_empty() {
        (with_a.clone(), with_b.clone())
    } else {
        let cholesky = between.cholesky()?;
        (cholesky.solve(&with_a), cholesky.solve(&with_b))
    };
    let (left_a, left_b) = (1.0 - with_a.dot(&solved_a), 1.0 - with_b.dot(&solved_b));
    (left_a > 0.0 && left_b > 0.0).then(|| (with_a.dot(&solved_b), (left_a * left_b).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn matrix<const N: usize>(upper: [[f64; N]; N]) -> DMatrix<f64> {
        DMatrix::from_fn(N, N, |i, j| if i == j { 1.0 } else { upper[i.min(j)][i.max(j)] })
    }

    #[test]
    fn the_pair_furthest_out_of_its_range_is_named() {
        // by hand: 1 with 3 is left -0.4 +- 0.6 x 0.866 and is 2.5 times that off its middle; 2 with 3 is left 0.72 +- 0.6 x 0.436
        // and is 4.7 times that off
        let (a, b, allowed) = worst_pair(&matrix([[1.0, 0.8, 0.9], [0.0, 1.0, -0.5], [0.0; 3]]));
        assert_eq!((a, b), (1, 2));
        let half = 0.6 * (1.0_f64 - 0.81).sqrt();
        let (low, high) = allowed.expect("the others fit");
        assert!((pearson_of_rank(low) - (0.72 - half)).abs() < 1e-12);
        assert!((pearson_of_rank(high) - (0.72 + half)).abs() < 1e-12);
    }

    #[test]
    fn a_pair_whose_others_fit_neither_has_no_range() {
        // the last cannot be alike to the second and unlike to the third, which are alike; the first is all but free of all
        let matrix = matrix([[1.0, 0.0, 0.0, 0.1], [0.0, 1.0, 0.9, 0.9], [0.0, 0.0, 1.0, -0.9], [0.0; 4]]);
        assert_eq!(range_left(&matrix, 0, 3, &[1, 2]), None);
        assert_eq!(range_left(&matrix, 3, 0, &[1, 2]), None);
        let (a, b, allowed) = worst_pair(&matrix);
        assert!((a == 1 || a == 2) && b == 3 && allowed.is_some(), "{a} {b}");
    }
}
