//! The organic matter of an analysis split over components.
//!
//! Weighted least squares close to the stated fractions, with the sum, nitrogen and (where it can be met) carbon exact,
//! inside bounds. The problem is tiny and dense: a primal active-set method from a start that is already feasible.

use crate::matter::{Component, Element, Property};
use crate::process::ingredient::analysis::Stated;
use crate::process::ingredient::content;
use nalgebra::{SMatrix, SVector};

/// Properties that the organic matter is split over, each with its component.
pub const FRACTIONS: [(Property, Component); 6] = [
    (Property::Sugars, Component::Sugars),
    (Property::Fibre, Component::Fibre),
    (Property::Lignin, Component::Lignin),
    (Property::Protein, Component::Protein),
    (Property::Fat, Component::Fat),
    (Property::Humus, Component::Humus),
];
/// Number of fractions.
pub const COUNT: usize = FRACTIONS.len();
const PROTEIN: usize = 3;
/// Index of humus among them.
pub const HUMUS: usize = 5;
/// Fractions other than protein and humus, by rising carbon content.
const REST: [usize; 4] = [0, 1, 2, 4];
/// Stated ranges are widened on both sides by these multiples of their width until a split fits; after the last, any
/// split is allowed.
const WIDENING: [f64; 7] = [0.0, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0];
/// A sum or content closer than this counts as met; rounding of a few terms of order one.
const CLOSE: f64 = 1e-12;

type Masses = [f64; COUNT];
type Rows = SMatrix<f64, 3, COUNT>;

/// The organic matter to split, per kilogram of dry mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SplitProblem {
    /// Organic matter to split, kg/kg dry mass.
    pub organic: f64,
    /// Nitrogen, all of it in protein and humus, kg/kg dry mass.
    pub nitrogen: f64,
    /// Carbon of this organic matter, kg/kg dry mass; None lets it follow from the fractions.
    pub carbon: Option<Stated>,
    /// Stated fractions in the order of [`FRACTIONS`], kg/kg dry mass.
    pub targets: [Stated; COUNT],
    /// Whether humus may be booked.
    pub humus_allowed: bool,
    /// Smallest half range given to a fraction, kg/kg dry mass.
    pub smallest_spread: f64,
}

/// A split.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrganicSplit {
    /// Masses in the order of [`FRACTIONS`], none negative, kg/kg dry mass.
    pub masses: Masses,
    /// Carbon they hold, kg/kg dry mass.
    pub carbon: f64,
}

/// Lower and upper bounds of the masses.
#[derive(Debug, Clone, Copy)]
struct MassBounds {
    low: Masses,
    high: Masses,
}

impl SplitProblem {
    /// Splits. The stated ranges hold if they can meet the sum, nitrogen, and the range of carbon; else they are widened step by
    /// step. Inside the ranges that hold, carbon is exact if it can be, else as near as possible: a
    /// carbon figure without a range of its own is met exactly, whatever the fractions.
    ///
    /// Expects `nitrogen` not above what `organic` holds as pure protein.
    pub fn solve(&self) -> OrganicSplit {
        WIDENING
            .iter()
            .find_map(|&step| self.within(&self.bounds(step), false))
            .or_else(|| self.within(&self.any_bounds(), true))
            .unwrap_or_else(|| self.plain())
    }

    /// Protein from nitrogen and the rest as sugars, for when rounding leaves no room at all.
    fn plain(&self) -> OrganicSplit {
        let mut masses = [0.0; COUNT];
        masses[PROTEIN] = self.nitrogen / content(Component::Protein, Element::Nitrogen);
        masses[0] = (self.organic - masses[PROTEIN]).max(0.0);
        OrganicSplit { masses, carbon: carbon_of(&masses) }
    }

    fn bounds(&self, step: f64) -> MassBounds {
        let any = self.any_bounds();
        let mut b = any;
        for (i, t) in self.targets.iter().enumerate().filter(|&(i, _)| i != PROTEIN) {
            if t.high <= 0.0 {
                // stated as zero: stays zero until nothing else fits
                (b.low[i], b.high[i]) = (0.0, 0.0);
                continue;
            }
            let by = step * (t.high - t.low).max(2.0 * self.smallest_spread);
            b.high[i] = (t.high + by).min(any.high[i]);
            b.low[i] = (t.low - by).clamp(0.0, b.high[i]);
        }
        b
    }

    fn any_bounds(&self) -> MassBounds {
        let mut high = [self.organic; COUNT];
        if !self.humus_allowed {
            high[HUMUS] = 0.0;
        }
        MassBounds { low: [0.0; COUNT], high }
    }

    fn weights(&self) -> Masses {
        self.targets.map(|t| (0.5 * (t.high - t.low)).max(self.smallest_spread).powi(-2))
    }

    fn aims(&self) -> Masses {
        self.targets.map(|t| t.central)
    }

    /// The best split inside bounds; None if none exists, or if carbon leaves its range, unless `last`.
    fn within(&self, bounds: &MassBounds, last: bool) -> Option<OrganicSplit> {
        let humus = self.humus_interval(bounds)?;
        let start = self.extreme(bounds, humus, false);
        let (aims, weights) = (self.aims(), self.weights());
        let free = nearest(&aims, &weights, &rows(false), bounds, start);
        let Some(stated) = self.carbon else {
            return Some(OrganicSplit { masses: free, carbon: carbon_of(&free) });
        };
        let have = carbon_of(&free);
        let end = self.extreme(bounds, humus, stated.central > have);
        let reach = carbon_of(&end);
        let in_range = reach >= stated.low - CLOSE && reach <= stated.high + CLOSE;
        let along = if (reach - have).abs() > CLOSE { (stated.central - have) / (reach - have) } else { 0.0 };
        let masses = if (stated.central - have).abs() <= CLOSE {
            free
        } else if along > 0.0 && along <= 1.0 {
            let mut between = free;
            for (x, e) in between.iter_mut().zip(end) {
                *x += along * (e - *x);
            }
            nearest(&aims, &weights, &rows(true), bounds, between)
        } else if last || in_range {
            // carbon is as near as can be; sugars and fibre hold the same carbon and share out what they have
            let mut held = MassBounds { low: end, high: end };
            for i in [0, 1] {
                held.low[i] = bounds.low[i];
                held.high[i] = bounds.high[i];
            }
            nearest(&aims, &weights, &rows(false), &held, end)
        } else {
            return None;
        };
        Some(OrganicSplit { masses, carbon: carbon_of(&masses) })
    }

    /// Protein that brings nitrogen to its value beside so much humus.
    fn protein(&self, humus: f64) -> f64 {
        (self.nitrogen - humus * content(Component::Humus, Element::Nitrogen))
            / content(Component::Protein, Element::Nitrogen)
    }

    /// Humus masses with which sum and nitrogen can be met inside bounds.
    fn humus_interval(&self, b: &MassBounds) -> Option<(f64, f64)> {
        let in_humus = content(Component::Humus, Element::Nitrogen);
        let in_protein = content(Component::Protein, Element::Nitrogen);
        let rest = |ends: &Masses| REST.iter().map(|&i| ends[i]).sum::<f64>();
        let left = self.organic - self.nitrogen / in_protein;
        let per_humus = 1.0 - in_humus / in_protein;
        let low = b.low[HUMUS]
            .max((self.nitrogen - in_protein * b.high[PROTEIN]) / in_humus)
            .max((left - rest(&b.high)) / per_humus);
        let high = b.high[HUMUS]
            .min((self.nitrogen - in_protein * b.low[PROTEIN]) / in_humus)
            .min((left - rest(&b.low)) / per_humus);
        if low <= high {
            Some((low, high))
        } else if low <= high + 1e-14 {
            Some((high.max(0.0), high.max(0.0)))
        } else {
            None
        }
    }

    /// The split with least or most carbon: carbon is concave (convex) in humus, so thirds of the interval are cut off.
    fn extreme(&self, b: &MassBounds, (mut low, mut high): (f64, f64), most: bool) -> Masses {
        let better = |x: f64, y: f64| {
            let (cx, cy) = (carbon_of(&self.at_humus(b, x, most)), carbon_of(&self.at_humus(b, y, most)));
            if most { cx >= cy } else { cx <= cy }
        };
        for _ in 0..80 {
            if high - low < 1e-15 {
                break;
            }
            let (x, y) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if better(x, y) { high = y } else { low = x }
        }
        self.at_humus(b, 0.5 * (low + high), most)
    }

    /// The split with so much humus and least or most carbon: the rest is filled up in the order of carbon content.
    fn at_humus(&self, b: &MassBounds, humus: f64, most: bool) -> Masses {
        let mut masses = b.low;
        masses[HUMUS] = humus;
        masses[PROTEIN] = self.protein(humus);
        let mut left = self.organic - masses.iter().sum::<f64>();
        let mut order = REST;
        if most {
            order.reverse();
        }
        for i in order {
            let add = left.clamp(0.0, b.high[i] - b.low[i]);
            masses[i] += add;
            left -= add;
        }
        masses
    }
}

/// Carbon in masses of the fractions, kg.
fn carbon_of(masses: &Masses) -> f64 {
    FRACTIONS.iter().zip(masses).map(|((_, c), m)| m * content(*c, Element::Carbon)).sum()
}

/// Rows that are held: sum, nitrogen and, if asked, carbon.
fn rows(carbon: bool) -> Rows {
    let mut rows = Rows::zeros();
    for (i, (_, c)) in FRACTIONS.into_iter().enumerate() {
        rows[(0, i)] = 1.0;
        rows[(1, i)] = content(c, Element::Nitrogen);
        rows[(2, i)] = if carbon { content(c, Element::Carbon) } else { 0.0 };
    }
    rows
}

/// Minimises `sum w (x - aim)^2` with `rows x` held at its value for `start`, inside bounds, from a start inside them.
fn nearest(aims: &Masses, weights: &Masses, rows: &Rows, b: &MassBounds, start: Masses) -> Masses {
    let mut x = start;
    let mut held = [false; COUNT];
    for (i, h) in held.iter_mut().enumerate() {
        *h = b.high[i] - b.low[i] <= 0.0;
    }
    // each pass holds or frees one bound; more passes than bound patterns are only seen on ties, where x is good already
    for _ in 0..100 {
        let wish = wishes(aims, weights, rows, &x, held);
        let moves = (0..COUNT).filter(|&i| !held[i]).map(|i| wish[i].abs()).fold(0.0, f64::max);
        if moves < 1e-15 {
            let Some(i) = to_free(&wish, &x, b, held) else { break };
            held[i] = false;
            continue;
        }
        let mut step = 1.0;
        let mut block = None;
        for i in (0..COUNT).filter(|&i| !held[i]) {
            let room = if wish[i] > 0.0 { b.high[i] - x[i] } else { b.low[i] - x[i] };
            if wish[i] != 0.0 && (room / wish[i]).max(0.0) < step {
                step = (room / wish[i]).max(0.0);
                block = Some(i);
            }
        }
        for i in (0..COUNT).filter(|&i| !held[i]) {
            x[i] = (x[i] + step * wish[i]).clamp(b.low[i], b.high[i]);
        }
        if let Some(i) = block {
            held[i] = true;
        }
    }
    x
}

/// The move of each mass: to its aim, projected so that the free ones keep the rows.
fn wishes(aims: &Masses, weights: &Masses, rows: &Rows, x: &Masses, held: [bool; COUNT]) -> Masses {
    let mut normal = SMatrix::<f64, 3, 3>::zeros();
    let mut right = SVector::<f64, 3>::zeros();
    for i in (0..COUNT).filter(|&i| !held[i]) {
        let a = rows.column(i);
        normal += a * a.transpose() / weights[i];
        right -= a * (aims[i] - x[i]);
    }
    let size = normal.diagonal().max();
    // rows may depend on each other over the few masses left free
    let inverse = normal.pseudo_inverse(1e-11 * size).expect("the tolerance is not negative");
    let mut turn = inverse * right;
    for _ in 0..2 {
        // refined, so that sum, nitrogen and carbon keep to rounding
        turn += inverse * (right - normal * turn);
    }
    let mut wish = [0.0; COUNT];
    for (i, v) in wish.iter_mut().enumerate() {
        *v = aims[i] - x[i] + rows.column(i).dot(&turn) / weights[i];
    }
    wish
}

/// The held mass that most wants back inside its bounds.
fn to_free(wish: &Masses, x: &Masses, b: &MassBounds, held: [bool; COUNT]) -> Option<usize> {
    (0..COUNT)
        .filter(|&i| held[i] && b.high[i] > b.low[i])
        .filter(|&i| {
            let at_low = x[i] - b.low[i] <= b.high[i] - x[i];
            if at_low { wish[i] > CLOSE } else { wish[i] < -CLOSE }
        })
        .max_by(|&i, &j| wish[i].abs().total_cmp(&wish[j].abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every pattern of low, free and high, each solved by eliminating the held masses: the independent answer.
    fn by_enumeration(aims: &Masses, weights: &Masses, rows: &Rows, b: &MassBounds, start: &Masses) -> f64 {
        let kept = rows * SVector::from(*start);
        let mut best = f64::INFINITY;
        for pattern in 0..3_usize.pow(6) {
            let mut x = [0.0; COUNT];
            let mut held = [false; COUNT];
            let mut code = pattern;
            for i in 0..COUNT {
                held[i] = code % 3 != 0;
                x[i] = match code % 3 {
                    0 => aims[i],
                    1 => b.low[i],
                    _ => b.high[i],
                };
                code /= 3;
            }
            let mut normal = SMatrix::<f64, 3, 3>::zeros();
            for i in (0..COUNT).filter(|&i| !held[i]) {
                normal += rows.column(i) * rows.column(i).transpose() / weights[i];
            }
            let gap = kept - rows * SVector::from(x);
            let turn = normal.pseudo_inverse(1e-12).unwrap() * gap;
            for i in (0..COUNT).filter(|&i| !held[i]) {
                x[i] += rows.column(i).dot(&turn) / weights[i];
            }
            let fits = (kept - rows * SVector::from(x)).amax() < 1e-10
                && (0..COUNT).all(|i| x[i] > b.low[i] - 1e-10 && x[i] < b.high[i] + 1e-10);
            if fits {
                best = best.min(objective(aims, weights, &x));
            }
        }
        best
    }

    fn objective(aims: &Masses, weights: &Masses, x: &Masses) -> f64 {
        (0..COUNT).map(|i| weights[i] * (x[i] - aims[i]).powi(2)).sum()
    }

    #[test]
    fn fractions_give_way_by_the_square_of_their_ranges() {
        // by hand: 0.10 kg are missing; half ranges of 0.20 and 0.10 kg take 4 and 1 fifths of them
        let nothing = Stated::new(0.0, 0.0, 0.0);
        let mut targets = [nothing; COUNT];
        (targets[0], targets[1]) = (Stated::new(0.5, 0.3, 0.7), Stated::new(0.3, 0.2, 0.4));
        let (carbon, humus_allowed) = (None, false);
        let problem = SplitProblem {
            organic: 0.9,
            nitrogen: 0.0,
            carbon,
            targets,
            humus_allowed,
            smallest_spread: 0.005,
        };
        let masses = problem.solve().masses;
        assert!((masses[0] - 0.58).abs() < 1e-9 && (masses[1] - 0.32).abs() < 1e-9, "{masses:?}");
        assert!(masses[2..].iter().all(|kg| kg.abs() < 1e-12), "{masses:?}");
    }

    #[test]
    fn the_active_set_finds_the_optimum_of_full_enumeration() {
        // a small linear congruence gives 60 varied problems; half of them hold carbon too
        let mut state = 12_345_u32;
        let mut draw = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 8) / f64::from(1_u32 << 24)
        };
        for case in 0..60 {
            let low: Masses = std::array::from_fn(|_| 0.1 * draw());
            let high: Masses = std::array::from_fn(|i| low[i] + 0.3 * draw());
            let start: Masses = std::array::from_fn(|i| low[i] + draw() * (high[i] - low[i]));
            let aims: Masses = std::array::from_fn(|_| 0.5 * draw());
            let weights: Masses = std::array::from_fn(|_| (0.01 + 0.1 * draw()).powi(-2));
            let b = MassBounds { low, high };
            let rows = rows(case % 2 == 0);
            let x = nearest(&aims, &weights, &rows, &b, start);
            assert!((rows * (SVector::from(x) - SVector::from(start))).amax() < 1e-12, "case {case}");
            let (found, best) =
                (objective(&aims, &weights, &x), by_enumeration(&aims, &weights, &rows, &b, &start));
            assert!((found - best).abs() < 1e-7 * (1.0 + best), "case {case}: {found} against {best}");
        }
    }
}
