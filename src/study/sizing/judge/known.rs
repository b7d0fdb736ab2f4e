//! What a judge knows of the sites it has seen. The numbers below are choices of ours.

use super::{Judge, Values};
use crate::study::sizing::answer::Missed;
use crate::study::sizing::search::{AXES, Point, Sites, within};

/// Share of draws in which a larger site loses a target, from which on the larger site is reported as worse.
const REVERSAL: f64 = 0.05;
/// Draws from which on a site counts as looked at when the work is stopped.
const LOOKED_AT: usize = 20;

/// A target that a larger site meets less often.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::study::sizing) struct Reversal {
    /// Place among the questions.
    pub(in crate::study::sizing) target: usize,
    /// Sizes of the smaller site.
    pub(in crate::study::sizing) smaller: [f64; AXES],
    /// Sizes of the larger site.
    pub(in crate::study::sizing) larger: [f64; AXES],
    /// Share of common draws that hold in the smaller site and not in the larger one.
    pub(in crate::study::sizing) lost: f64,
}

impl Judge<'_> {
    /// The site judged that is least short of its targets by the draws that it has in common with the one of most draws, the cheapest of equal
    /// ones.
    ///
    /// # Panics
    /// Before any site was judged.
    pub(in crate::study::sizing) fn nearest(&self) -> Point {
        let made = |point: &&Point| self.seen[*point].iter().flatten().count();
        let most = *self.seen.keys().max_by_key(made).expect("a site was judged");
        let by = |point: &Point| (self.farther(point, &most), self.grid.cost(point));
        let among = self.seen.keys().map(|point| (by(point), *point));
        let nearest = among.min_by(|(a, _), (b, _)| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        nearest.expect("a site was judged").1
    }

    /// The cheapest site whose draws, no fewer than a few, hold as often as asked, with those draws.
    pub(in crate::study::sizing) fn cheapest_so_far(&self) -> Option<(Point, Values)> {
        let values = |point: &Point| -> Values {
            let of = |n: usize| self.seen[point].iter().flatten().map(|m| m.values[n]).collect();
            (0..self.wanted.len()).map(of).collect()
        };
        let good = |point: &&Point| {
            self.wanted.iter().zip(values(point)).all(|(wanted, values)| {
                values.len() >= self.quick.min(LOOKED_AT)
                    && wanted.met(&values) as f64 >= wanted.target.chance * values.len() as f64
            })
        };
        let by_cost = |a: &&Point, b: &&Point| self.grid.cost(a).total_cmp(&self.grid.cost(b));
        self.seen.keys().filter(good).min_by(by_cost).map(|point| (*point, values(point)))
    }

    /// The targets that a site misses by all draws; those not made are taken to go as expected.
    pub(in crate::study::sizing) fn misses(&self, point: &Point) -> Vec<Missed> {
        let draws = self.count();
        let all = self.wanted.iter().zip(self.likely_failed(point));
        let missed = all.filter(|(wanted, failed)| *failed > self.allowed(wanted, draws, self.confidence));
        missed
            .map(|(wanted, failed)| Missed {
                figure: wanted.name().to_owned(),
                draws,
                share: 1.0 - failed as f64 / draws as f64,
                needed: self.needed_share(wanted),
            })
            .collect()
    }

    /// Numbers of the draws in which a question fails at a site, the nearest to passing last; those that gave no figure are left out.
    pub(in crate::study::sizing) fn failing(&self, point: &Point, question: usize) -> Vec<u64> {
        let wanted = &self.wanted[question];
        let values = self.seen[point].iter().enumerate();
        let mut failing: Vec<(f64, u64)> = values
            .filter_map(|(n, made)| Some((wanted.beyond(made.as_ref()?.values[question]), n as u64)))
            .filter(|(beyond, _)| *beyond > 0.0 && beyond.is_finite())
            .collect();
        failing.sort_by(|a, b| b.0.total_cmp(&a.0));
        failing.into_iter().map(|(_, n)| n).collect()
    }

    /// For each target the pair of sites, one within the other, where the larger loses most. None if a larger site never does worse.
    pub(in crate::study::sizing) fn reversals(&self) -> Vec<Reversal> {
        let mut worst: Vec<Option<Reversal>> = vec![None; self.wanted.len()];
        for small in self.seen.keys() {
            for large in self.seen.keys().filter(|large| *large != small && within(small, large)) {
                for (n, worst) in worst.iter_mut().enumerate() {
                    let (lost, gained, common) = self.differ(small, large, n, self.count());
                    let share = lost as f64 / common.max(1) as f64;
                    let known = worst.as_ref().map_or(REVERSAL, |w| w.lost);
                    if lost > gained && share > known && self.worse(large, small, n) {
                        *worst = Some(Reversal {
                            target: n,
                            smaller: self.grid.values(small),
                            larger: self.grid.values(large),
                            lost: share,
                        });
                    }
                }
            }
        }
        worst.into_iter().flatten().collect()
    }
}
