//! Shares of one set that sum to a constant: a Dirichlet distribution by stick-breaking.

use super::distribution::{beta, share_concentration};
use crate::quantity::Uncertain;

/// Shares that are drawn together.
///
/// The largest is broken off first, x_1 = Beta(A m_1, A (1 - m_1)) of its uniform number, then the next off the rest, and so
/// on; the last gets what is left. This is exactly a Dirichlet distribution with means m and concentration A (Wilks 1962), it
/// takes one uniform number for each share but the last, and the largest share keeps its strata.
///
/// The mean of each share is its central value. One concentration cannot match six ranges: log (A + 1) is the mean of
/// those that single shares ask for, m (1 - m) / sigma^2 with sigma = (high - low) / (2 x 1.645).
#[derive(Debug, Clone, PartialEq)]
pub struct ShareSet {
    /// Places among the quantities, largest mean first.
    members: Vec<usize>,
    /// Mean of each member as a part of the sum.
    means: Vec<f64>,
    sum: f64,
    concentration: f64,
}

impl ShareSet {
    /// A set from the places of its members and their ranges. None if no member has a mean above 0.
    ///
    /// The sum of a set is that of the central values: 1, less what a plan has fixed.
    pub fn new(members: &[(usize, Uncertain)]) -> Option<Self> {
        let sum: f64 = members.iter().map(|(_, value)| value.central()).sum();
        if sum <= 0.0 {
            return None;
        }
        let mut sorted = members.to_vec();
        sorted.sort_by(|a, b| b.1.central().total_cmp(&a.1.central()).then(a.0.cmp(&b.0)));
        let asked: Vec<f64> = sorted
            .iter()
            .filter(|(_, value)| value.central() > 0.0 && value.central() < sum)
            .map(|(_, v)| share_concentration(v.central() / sum, v.low() / sum, v.high() / sum))
            .collect();
        let logs: f64 = asked.iter().map(|concentration| concentration.ln_1p()).sum();
        Some(Self {
            members: sorted.iter().map(|(place, _)| *place).collect(),
            means: sorted.iter().map(|(_, value)| value.central() / sum).collect(),
            sum,
            concentration: (logs / asked.len().max(1) as f64).exp_m1(),
        })
    }

    /// Places of the members among the quantities, largest mean first; the last has no uniform number of its own.
    pub fn members(&self) -> &[usize] {
        &self.members
    }

    /// What the shares sum to, at most 1.
    pub fn sum(&self) -> f64 {
        self.sum
    }

    /// A, the sum of the Dirichlet parameters; the variance of a share is m (1 - m) / (A + 1).
    pub fn concentration(&self) -> f64 {
        self.concentration
    }

    /// Puts the shares of uniform numbers into values; both by place among the quantities.
    pub fn fill(&self, uniforms: &[f64], values: &mut [f64]) {
        let mut rest = 1.0;
        let mut taken = 0.0;
        let Some((last, broken)) = self.members.split_last() else { return };
        for (&member, mean) in broken.iter().zip(&self.means) {
            let (a, b) = (self.concentration * mean, self.concentration * (1.0 - taken - mean).max(0.0));
            let share = rest * beta(a, b, uniforms[member]);
            values[member] = share * self.sum;
            rest -= share;
            taken += mean;
        }
        values[*last] = rest.max(0.0) * self.sum;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Shape;

    #[test]
    fn what_is_left_of_a_fixed_share_is_split_by_hand() {
        // half is fixed elsewhere: 0.2 and 0.3 are 0.4 and 0.6 of the rest, a share of nothing is no share
        let share = |central, low, high| Uncertain::new(central, low, high, Shape::Dirichlet).unwrap();
        let nothing = share(0.0, 0.0, 0.05);
        let set =
            ShareSet::new(&[(0, share(0.2, 0.1, 0.3)), (1, share(0.3, 0.15, 0.4)), (2, nothing)]).unwrap();
        // m (1 - m) / s^2 - 1 with s = range / (2 x 1.645), range 0.4 and 0.5 of the rest; the mean of log (A + 1)
        let asked = |m: f64, range: f64| m * (1.0 - m) / (range / (2.0 * 1.644_853_627)).powi(2);
        let by_hand = (asked(0.4, 0.4) * asked(0.6, 0.5)).sqrt() - 1.0;
        assert!((set.concentration() / by_hand - 1.0).abs() < 1e-6, "{} {by_hand}", set.concentration());
        assert_eq!(set.members(), [1, 0, 2]);
        let mut values = [9.0; 3];
        set.fill(&[0.3, 0.8, 0.0], &mut values);
        assert!((values.iter().sum::<f64>() - 0.5).abs() < 1e-12 && values[2].abs() < 1e-12, "{values:?}");
        let both = ShareSet::new(&[(0, share(0.2, 0.1, 0.3)), (1, share(0.3, 0.15, 0.4))]).unwrap();
        both.fill(&[0.3, 0.8, 0.0], &mut values);
        assert!((values[0] + values[1] - 0.5).abs() < 1e-12 && values[0] > 0.05, "{values:?}");
        // a share alone takes all and asks for no concentration
        let alone = ShareSet::new(&[(0, share(0.5, 0.3, 0.7)), (1, nothing)]).unwrap();
        assert!(alone.concentration().abs() < 1e-12);
    }
}
