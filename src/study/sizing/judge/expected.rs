//! How the draws of a site that were not made are expected to go: as at the nearest site where they were made, moved by what lies between
//! the two sites in the draws made at both. Which of them are made next. The numbers below are choices of ours.
//!
//! A draw far from a limit goes alike at sites that differ by little; only those near it may go either way. The chance that one does is
//! that of a normal distribution, with the mean and the spread of the common draws. A draw is never counted as failing because such a
//! distribution says so where it holds at the other site: it is made, if the answer depends on it.

use super::{Judge, Known, Made};
use crate::quantity::whole;
use crate::study::sizing::search::{AXES, Point};
use statrs::distribution::{ContinuousCDF, Normal};

/// Fewest draws made at two sites by which those of one are expected from the other.
const COMMON: usize = 6;
/// Spread that is expected, over that of the common draws: they are few.
const WIDEN: f64 = 1.5;
/// Standard deviations by which the number of failing draws must be clear of the number that may fail, before any draw is made.
const CLEAR: f64 = 1.5;
/// Draws made at a site after which the number expected to fail decides alone; of fewer draws in all it decides nothing.
const ENOUGH: f64 = 40.0;
/// Part of the draws that may fail, from which on a question counts when the draws nearest to a limit are chosen.
const COUNTS: f64 = 0.25;
/// Places, as shares of the draws farther from a limit, of those made beside the nearest, on either side of it: what lies between two sites
/// may be another for them.
const FARTHER: [f64; 2] = [0.3, 0.8];

/// A draw that was not made at a site.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Expected {
    draw: usize,
    /// What is expected by question. None where the draw was made at no near site.
    questions: Option<Vec<Chance>>,
}

/// What is expected of a draw and a question.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Chance {
    /// Whether it fails at the other site.
    failed: bool,
    /// Chance that it goes otherwise here.
    other: f64,
}

impl Chance {
    fn fails(self) -> f64 {
        if self.failed { 1.0 - self.other } else { self.other }
    }

    /// How far it is from going one way for certain, 0 to a half.
    fn doubt(self) -> f64 {
        self.other.min(1.0 - self.other)
    }
}

/// What a look at a site has come to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Looked {
    /// Whether it meets its targets.
    Clear(bool),
    /// It is not clear: draws to make next.
    Open(Vec<usize>),
}

/// What lies between two sites in the distance of a question from its limit: a straight line over that distance at the other site.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Shift {
    mean: f64,
    /// Mean distance of the common draws from the limit.
    middle: f64,
    slope: f64,
    spread: f64,
}

impl Shift {
    /// Of the distances in the common draws at the other site and here, by least squares; draws that have none are left out.
    fn of(distances: impl Iterator<Item = (f64, f64)>) -> Self {
        let pairs: Vec<(f64, f64)> = distances
            .map(|(there, here)| (there, here - there))
            .filter(|(a, d)| (a + d).is_finite())
            .collect();
        let count = pairs.len() as f64;
        let mean_of = |of: fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>() / count.max(1.0);
        let (middle, mean) = (mean_of(|pair| pair.0), mean_of(|pair| pair.1));
        let square = pairs.iter().map(|(at, _)| (at - middle).powi(2)).sum::<f64>();
        let product = pairs.iter().map(|(at, by)| (at - middle) * (by - mean)).sum::<f64>();
        let slope = if square > 0.0 { product / square } else { 0.0 };
        let rest = pairs.iter().map(|(at, by)| (by - mean - slope * (at - middle)).powi(2)).sum::<f64>();
        Self { mean, middle, slope, spread: WIDEN * (rest / (count - 2.0).max(1.0)).sqrt() }
    }

    /// What is expected where the distance from the limit is so far at the other site.
    fn expects(self, beyond: f64) -> Chance {
        let failed = beyond > 0.0;
        let here = beyond + self.mean + self.slope * (beyond - self.middle);
        // no figure at the other site, or nothing to measure: as there
        let other = if !here.is_finite() {
            0.0
        } else if self.spread > 0.0 {
            Normal::standard().cdf(if failed { -here } else { here } / self.spread)
        } else {
            f64::from(u8::from((here > 0.0) != failed))
        };
        Chance { failed, other }
    }
}

fn largest(numbers: impl Iterator<Item = f64>) -> f64 {
    numbers.fold(0.0, f64::max)
}

/// So many draws, those of the highest rank first; `unknown` is the rank of a draw of which nothing is expected.
fn first(expected: &[Expected], most: usize, unknown: f64, rank: impl Fn(&[Chance]) -> f64) -> Vec<usize> {
    let mut ranked: Vec<(f64, usize)> =
        expected.iter().map(|e| (e.questions.as_deref().map_or(unknown, &rank), e.draw)).collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    ranked.into_iter().take(most).map(|(_, draw)| draw).collect()
}

/// Draws that are expected to fail a question.
pub(super) fn failing(expected: &[Expected], question: usize) -> f64 {
    expected.iter().filter_map(|draw| Some(draw.questions.as_ref()?[question].fails())).sum()
}

impl Judge<'_> {
    /// How far two sites are apart: the sum of the differences of their sizes, as shares of the first.
    fn apart(&self, point: &Point, other: &Point) -> f64 {
        let share = |n: usize| {
            let axis = &self.grid.axes[n];
            f64::from(point[n].abs_diff(other[n])) * axis.step / axis.value(point[n]).max(axis.step)
        };
        (0..AXES).map(share).sum()
    }

    /// Other sites, the nearest first.
    fn others(&self, point: &Point) -> Vec<&Known> {
        let mut others: Vec<_> = self.seen.iter().filter(|(other, _)| *other != point).collect();
        others.sort_by(|a, b| self.apart(point, a.0).total_cmp(&self.apart(point, b.0)));
        others.into_iter().map(|(_, known)| known).collect()
    }

    /// What lies between a site and another, by question. None where too few draws were made at both.
    fn shifts(&self, known: &Known, other: &Known) -> Option<Vec<Shift>> {
        let common: Vec<(&Made, &Made)> =
            known.iter().zip(other).filter_map(|(a, b)| a.as_ref().zip(b.as_ref())).collect();
        let shift = |n: usize| {
            let beyond = |made: &Made| self.wanted[n].beyond(made.values[n]);
            Shift::of(common.iter().map(|(here, there)| (beyond(there), beyond(here))))
        };
        (common.len() >= COMMON).then(|| (0..self.wanted.len()).map(shift).collect())
    }

    /// What is expected of the draws of a look that were not made at a site.
    pub(super) fn expected(&self, point: &Point) -> Vec<Expected> {
        let known = &self.seen[point];
        let unmade: Vec<usize> = (0..self.look()).filter(|n| known[*n].is_none()).collect();
        if unmade.is_empty() {
            return Vec::new();
        }
        let near: Vec<(&Known, Vec<Shift>)> = self
            .others(point)
            .into_iter()
            .filter_map(|other| Some((other, self.shifts(known, other)?)))
            .collect();
        let expected = |draw: usize| {
            let found = near.iter().find_map(|(other, shifts)| Some((other[draw].as_ref()?, shifts)));
            let of = |(made, shifts): (&Made, &Vec<Shift>)| {
                let beyond =
                    self.wanted.iter().zip(&made.values).map(|(wanted, value)| wanted.beyond(*value));
                beyond.zip(shifts).map(|(beyond, shift)| shift.expects(beyond)).collect()
            };
            Expected { draw, questions: found.map(of) }
        };
        unmade.into_iter().map(expected).collect()
    }

    /// Whether a question is met at a site by the draws made there and what is expected of the others. None if it is not clear.
    pub(super) fn answered(&self, point: &Point, question: usize, expected: &[Expected]) -> Option<bool> {
        let most = self.most(point, question) as f64 + 0.5;
        let failed = self.failed(point, question, 0..self.look()) as f64;
        // so few draws are all made
        if (self.look() as f64) < ENOUGH && !expected.is_empty() {
            return (failed > most).then_some(false);
        }
        let (mut unknown, mut fail, mut may_fail, mut spread) = (0.0, 0.0, 0.0, [0.0, 0.0]);
        for draw in expected {
            let Some(chance) = draw.questions.as_ref().map(|questions| questions[question]) else {
                unknown += 1.0;
                continue;
            };
            let sum = if chance.failed { &mut fail } else { &mut may_fail };
            *sum += chance.fails();
            spread[usize::from(chance.failed)] += chance.other * (1.0 - chance.other);
        }
        let [holding, failing] = spread;
        let made = (self.look() - expected.len()) as f64;
        let clear = CLEAR * (1.0 - made / ENOUGH).max(0.0);
        if failed > most || failed + fail - clear * failing.sqrt() > most {
            return Some(false);
        }
        let all = failed + fail + may_fail + unknown;
        if all + clear * (holding + failing).sqrt() <= most {
            return Some(true);
        }
        (made >= ENOUGH && unknown == 0.0).then_some(false)
    }

    /// Draws of all in which each question fails at a site or is likelier to than not.
    pub(in crate::study::sizing) fn likely_failed(&self, point: &Point) -> Vec<usize> {
        let expected = self.expected(point);
        let likely = |n: usize| {
            let fails = |chances: &&Vec<Chance>| chances[n].fails() > 0.5;
            expected.iter().filter_map(|draw| draw.questions.as_ref()).filter(fails).count()
        };
        (0..self.wanted.len()).map(|n| self.failed(point, n, 0..self.look()) + likely(n)).collect()
    }

    /// What the draws made at a site show, or the draws to make next: those that may go either way in a question that is open.
    pub(super) fn looked(&self, point: &Point, most: usize) -> Looked {
        if !self.seen.contains_key(point) {
            return Looked::Open(self.first_draws(point, most));
        }
        let expected = self.expected(point);
        let mut open = Vec::new();
        for question in 0..self.wanted.len() {
            match self.answered(point, question, &expected) {
                Some(false) => return Looked::Clear(false),
                Some(true) => {}
                None => open.push(question),
            }
        }
        if open.is_empty() {
            return Looked::Clear(true);
        }
        Looked::Open(first(&expected, most, 0.5, |all| largest(open.iter().map(|n| all[*n].doubt()))))
    }

    /// The draws of a look to make next at a site for its shares of draws: those that may go either way in any question.
    pub(super) fn doubtful(&self, point: &Point, most: usize) -> Vec<usize> {
        self.to_make(point, most, 0.5, |all| largest(all.iter().map(|chance| chance.doubt())))
    }

    /// The draws of a look to make next at a site that is to be known by all: the likeliest to fail.
    pub(super) fn likeliest(&self, point: &Point, most: usize) -> Vec<usize> {
        self.to_make(point, most, 1.0, |all| largest(all.iter().map(|chance| chance.fails())))
    }

    /// Draws to make next at a site, by [`first`].
    fn to_make(
        &self,
        point: &Point,
        most: usize,
        unknown: f64,
        rank: impl Fn(&[Chance]) -> f64,
    ) -> Vec<usize> {
        if !self.seen.contains_key(point) {
            return self.first_draws(point, most);
        }
        first(&self.expected(point), most, unknown, rank)
    }

    /// The first draws to make at a site: those nearest to a limit at the nearest site that is known by all draws of a look, and some farther
    /// from it on either side. Where no site is, the first by number.
    fn first_draws(&self, point: &Point, most: usize) -> Vec<usize> {
        let all_made = |known: &Known| known[..self.look()].iter().all(Option::is_some);
        let sites = self.seen.iter().filter(|(_, known)| all_made(known));
        let nearest = sites.min_by(|a, b| self.apart(point, a.0).total_cmp(&self.apart(point, b.0)));
        let Some((nearest, known)) = nearest else { return (0..self.look().min(most)).collect() };
        let holds = |n: &usize| known[*n].as_ref().is_some_and(|made| self.holds(made));
        let order = self.by_nearness(nearest);
        let near = order.len().min(most.saturating_sub(2 * FARTHER.len()));
        let (holding, failing): (Vec<usize>, Vec<usize>) = order[near..].iter().partition(|n| holds(n));
        let farther = [failing, holding].into_iter().flat_map(|side| {
            FARTHER
                .map(|share| side.get(whole(share * side.len() as f64) as usize).copied())
                .into_iter()
                .flatten()
        });
        let mut chosen: Vec<usize> = order[..near].iter().copied().chain(farther).collect();
        chosen.dedup();
        chosen
    }

    /// Whether a draw meets every question.
    fn holds(&self, made: &Made) -> bool {
        self.wanted.iter().zip(&made.values).all(|(wanted, value)| wanted.holds(*value))
    }

    /// The draws of a look that were made at a site, those nearest to a limit first, on either side of it: by the distance over the mean
    /// distance from the middle draw, of the question where that is least. Questions that hardly ever fail do not count, unless all do.
    pub(super) fn by_nearness(&self, point: &Point) -> Vec<usize> {
        let known = &self.seen[point];
        let made: Vec<(usize, &Made)> =
            (0..self.look()).filter_map(|n| Some((n, known[n].as_ref()?))).collect();
        let counts = |n: &usize| {
            let failed = made.iter().filter(|(_, m)| !self.wanted[*n].holds(m.values[*n])).count() as f64;
            failed >= COUNTS * (1.0 - self.chance(&self.wanted[*n])) * made.len() as f64
        };
        let mut questions: Vec<usize> = (0..self.wanted.len()).filter(counts).collect();
        if questions.is_empty() {
            questions = (0..self.wanted.len()).collect();
        }
        let mut nearest = vec![f64::INFINITY; made.len()];
        for n in questions {
            let beyond: Vec<f64> = made.iter().map(|(_, m)| self.wanted[n].beyond(m.values[n])).collect();
            let mut finite: Vec<f64> = beyond.iter().copied().filter(|b| b.is_finite()).collect();
            finite.sort_by(f64::total_cmp);
            let Some(middle) = finite.get(finite.len() / 2) else { continue };
            let spread = finite.iter().map(|b| (b - middle).abs()).sum::<f64>() / finite.len() as f64;
            for (nearest, beyond) in nearest.iter_mut().zip(beyond) {
                *nearest = nearest.min(beyond.abs() / spread.max(f64::MIN_POSITIVE));
            }
        }
        let mut order: Vec<usize> = (0..made.len()).collect();
        order.sort_by(|a, b| nearest[*a].total_cmp(&nearest[*b]));
        order.into_iter().map(|place| made[place].0).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draw_near_its_limit_may_go_either_way_and_one_far_from_it_goes_on_as_it_did() {
        // by hand: mean 0.5, slope 0.1, rests 0.5, -0.5, -0.5, 0.5 with 2 degrees of freedom: 1.5 x sqrt(1/2) = 1.0607
        let pairs =
            [(-3.0, -2.3), (-1.0, -1.1), (1.0, 1.1), (3.0, 4.3), (0.0, f64::NAN), (f64::INFINITY, 1.0)];
        let shift = Shift::of(pairs.into_iter());
        assert!((shift.mean - 0.5).abs() < 1e-12 && (shift.slope - 0.1).abs() < 1e-12, "{shift:?}");
        assert!((shift.spread - 1.5 * 0.5_f64.sqrt()).abs() < 1e-12, "{shift:?}");
        // 1.1 x + 0.5 = 0 lies at the limit; one deviation below it, 0.1587 by the table of the normal distribution
        assert!((shift.expects(-0.5 / 1.1).fails() - 0.5).abs() < 1e-12);
        assert!((shift.expects((-0.5 - shift.spread) / 1.1).fails() - 0.158_66).abs() < 1e-4);
        assert!(shift.expects(-20.0).fails() < 1e-12 && shift.expects(20.0).fails() > 1.0 - 1e-12);
        // what cannot happen there cannot here; a draw that failed to run fails
        assert!(shift.expects(f64::NEG_INFINITY).fails() < 1e-12);
        assert!(shift.expects(f64::INFINITY).fails() > 1.0 - 1e-12);
        // sites that do not differ in a question
        let same = Shift::of([-1.0, 0.5, 2.0].into_iter().map(|at| (at, at)));
        assert!(same.expects(-1e-9).fails() < 1e-12 && same.expects(1e-9).fails() > 1.0 - 1e-12);
    }
}
