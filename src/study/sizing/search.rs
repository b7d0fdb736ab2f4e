//! The cheapest point of a grid that meets a condition, for a condition that more of anything never spoils.
//!
//! Points that meet it then reach upwards and points that miss it downwards, so one answer settles many points. The search keeps
//! the least points not yet settled; the cheapest of them bounds the cost from below, and the line from there to the
//! cheapest point found is halved until the border is met, which cuts the bound away. Lines are halved down to a grain, for
//! conditions that few draws know no better than that.
//!
//! # Source
//! Outer approximation of monotonic optimisation by polyblocks (Tuy 2000, SIAM J. Optim. 11:464-494, recalled), on a grid.

/// Number of sizes.
pub const AXES: usize = 5;

/// Parts of a range that are given up for another size, from large pieces to small ones. Our choice.
const PIECES: [u32; 4] = [8, 16, 32, 100];

/// A point of the grid: steps above the least value of each size.
pub type Point = [u32; AXES];

/// A grain of one step: the border itself.
pub const FINE: Point = [1; AXES];

/// What a step costs on each axis, those of cost.
pub type Slopes = [f64; AXES];

/// The answer of a search.
#[derive(Debug, Clone, PartialEq)]
pub struct Optimum {
    /// Cheapest point found that meets the condition.
    pub point: Point,
    /// Least value of each axis with all others as at the start.
    pub least: Point,
    /// Nothing that costs less than this above the least point of the grid can meet the condition.
    pub bound: f64,
    /// Whether the bound reaches the point: nothing cheaper exists.
    pub proven: bool,
}

/// What is known of points.
#[derive(Debug, Default)]
struct Verdicts {
    met: Vec<Point>,
    missed: Vec<Point>,
}

/// Whether `a` has no more of anything than `b`.
pub fn within(a: &Point, b: &Point) -> bool {
    a.iter().zip(b).all(|(a, b)| a <= b)
}

/// Cost above that of the least point of the grid: the sum of steps x slope.
pub fn cost(point: &Point, slopes: &Slopes) -> f64 {
    point.iter().zip(slopes).map(|(steps, slope)| f64::from(*steps) * slope).sum()
}

/// A search under way.
struct GridSearch<'a, E, F: FnMut(&Point) -> Result<bool, E>> {
    slopes: &'a Slopes,
    start: Point,
    grain: Point,
    ask: F,
    asked: usize,
    budget: usize,
    known: Verdicts,
}

/// Finds the cheapest point at or below `start`, which is known to meet the condition; lines are halved down to the grain, 1 for
/// the border itself.
///
/// After `budget` questions the cheapest found so far is returned with the bound reached.
///
/// # Errors
/// Those of the question.
pub fn cheapest<E>(
    slopes: &Slopes,
    start: &Point,
    grain: &Point,
    budget: usize,
    ask: impl FnMut(&Point) -> Result<bool, E>,
) -> Result<Optimum, E> {
    let mut search = GridSearch {
        slopes,
        start: *start,
        grain: *grain,
        ask,
        asked: 0,
        budget,
        known: Verdicts { met: vec![*start], missed: Vec::new() },
    };
    search.run()
}

/// Lowers a point that is known to meet the condition, one axis after the other, the dearest first, to no less than `least`.
///
/// # Errors
/// Those of the question.
pub fn descend<E>(
    slopes: &Slopes,
    from: &Point,
    least: &Point,
    ask: impl FnMut(&Point) -> Result<bool, E>,
) -> Result<Point, E> {
    let known = Verdicts { met: vec![*from], missed: Vec::new() };
    GridSearch { slopes, start: *from, grain: FINE, ask, asked: 0, budget: usize::MAX, known }
        .descend(from, least)
}

/// What nothing can meet the condition below, by points that miss it: the cheapest point at or below `start` that is not within
/// one of them.
pub fn bound(slopes: &Slopes, start: &Point, missed: &[Point]) -> f64 {
    let mut open = vec![[0; AXES]];
    cut(&mut open, missed, start);
    open.iter().map(|point| cost(point, slopes)).fold(f64::INFINITY, f64::min)
}

/// The first point that meets the condition on the way from one point to a larger one, which is known to meet it, in parts of no
/// more than a grain.
///
/// # Errors
/// Those of the question.
///
/// # Panics
/// Where `to` has less of anything than `from`.
pub fn border<E>(
    from: &Point,
    to: &Point,
    grain: &Point,
    mut ask: impl FnMut(&Point) -> Result<bool, E>,
) -> Result<Point, E> {
    assert!(within(from, to), "the way leads upwards");
    let steps = (0..AXES).map(|axis| (to[axis] - from[axis]).div_ceil(grain[axis].max(1))).max().unwrap_or(0);
    let at = |step: u32| -> Point {
        std::array::from_fn(|axis| {
            let whole = u64::from(to[axis] - from[axis]) * u64::from(step) / u64::from(steps.max(1));
            from[axis] + u32::try_from(whole).expect("no more than the way itself")
        })
    };
    let (mut low, mut high) = (0, steps);
    while low < high {
        let middle = low + (high - low) / 2;
        if ask(&at(middle))? {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Ok(at(high))
}

impl<E, F: FnMut(&Point) -> Result<bool, E>> GridSearch<'_, E, F> {
    fn run(&mut self) -> Result<Optimum, E> {
        let start = self.start;
        let (mut least, mut alone) = (start, start);
        for axis in 0..AXES {
            (least[axis], alone[axis]) = self.between(&start, axis, 0)?;
        }
        if self.meets(&least)? {
            return Ok(Optimum { point: least, least, bound: cost(&least, self.slopes), proven: true });
        }
        let grain = self.grain;
        let price = |p: &Point| cost(p, self.slopes);
        let mut best = self.first(&least, &alone)?;
        // what lines halved down to the grain leave open
        let unseen = cost(&grain.map(|steps| steps.saturating_sub(1)), self.slopes);
        let mut open = vec![least];
        loop {
            cut(&mut open, &self.known.missed, &self.start);
            let next = open.iter().copied().min_by(|a, b| price(a).total_cmp(&price(b)));
            let Some(next) = next.filter(|p| price(p) < price(&best) * (1.0 - 1e-12)) else {
                return Ok(Optimum { point: best, least, bound: price(&best), proven: true });
            };
            if price(&best) - price(&next) <= unseen {
                return Ok(Optimum { point: best, least, bound: price(&next), proven: false });
            }
            if self.asked >= self.budget {
                best = self.exchange(&best, &least)?;
                let bound = price(&next).min(price(&best));
                return Ok(Optimum { point: best, least, bound, proven: false });
            }
            let top: Point = std::array::from_fn(|axis| next[axis].max(best[axis]));
            let border = border(&next, &top, &grain, |p| self.meets(p))?;
            if price(&border) < price(&best) {
                best = self.descend(&border, &least)?;
            }
        }
    }

    /// A cheap point to begin with: what each size needs alone, where that is enough for all together; else the cheaper of one
    /// evenly between the least and the start, for sizes that stand in for each other, and one with the dearest as low as it goes.
    fn first(&mut self, least: &Point, alone: &Point) -> Result<Point, E> {
        if self.meets(alone)? {
            return Ok(*alone);
        }
        let (start, grain) = (self.start, self.grain);
        let middle = border(least, &start, &grain, |p| self.meets(p))?;
        let even = self.descend(&middle, least)?;
        let greedy = self.descend(&start, least)?;
        Ok(if cost(&greedy, self.slopes) < cost(&even, self.slopes) { greedy } else { even })
    }

    /// Gives up some of one size for less than its worth of another as long as that pays: ever smaller pieces, within a third more
    /// questions than the search had.
    fn exchange(&mut self, from: &Point, least: &Point) -> Result<Point, E> {
        let mut best = *from;
        let most = self.asked + self.budget.div_ceil(3);
        for piece in PIECES {
            let mut again = true;
            while again && self.asked < most {
                again = false;
                for (less, more) in (0..AXES * AXES).map(|n| (n / AXES, n % AXES)) {
                    if let Some(tried) = self.traded(&best, least, (less, more), piece)
                        && self.asked < most
                        && self.meets(&tried)?
                    {
                        let floor = best[more];
                        best = tried;
                        best[more] = self.lowest(&tried, more, floor)?;
                        again = true;
                    }
                }
            }
        }
        Ok(best)
    }

    /// A point with a piece less of one size and as much more of another as still costs less. None if that is nothing.
    fn traded(&self, best: &Point, least: &Point, pair: (usize, usize), piece: u32) -> Option<Point> {
        let (less, more) = pair;
        let given = (self.start[less] / piece).max(1);
        let left = best[less].checked_sub(given).filter(|left| less != more && *left >= least[less])?;
        let worth = f64::from(given) * self.slopes[less];
        let room = self.start[more] - best[more];
        let taken = (1..=room).take_while(|n| f64::from(*n) * self.slopes[more] < worth).last()?;
        let mut tried = *best;
        tried[less] = left;
        tried[more] += taken;
        Some(tried)
    }

    /// Whether a point meets the condition, by what is known or by asking.
    fn meets(&mut self, point: &Point) -> Result<bool, E> {
        if self.known.met.iter().any(|met| within(met, point)) {
            return Ok(true);
        }
        if self.known.missed.iter().any(|missed| within(point, missed)) {
            return Ok(false);
        }
        self.asked += 1;
        let meets = (self.ask)(point)?;
        let list = if meets { &mut self.known.met } else { &mut self.known.missed };
        list.push(*point);
        Ok(meets)
    }

    /// A value from `from` on one axis below which a point surely misses the condition, and one, less than a grain above, with
    /// which it meets it.
    fn between(&mut self, point: &Point, axis: usize, from: u32) -> Result<(u32, u32), E> {
        let (mut low, mut high) = (from, point[axis]);
        while high.saturating_sub(low) >= self.grain[axis].max(1) {
            let mut tried = *point;
            tried[axis] = low + (high - low) / 2;
            if self.meets(&tried)? {
                high = tried[axis];
            } else {
                low = tried[axis] + 1;
            }
        }
        Ok((low, high))
    }

    /// The least value from `from` on one axis, to within a grain, that keeps a point meeting the condition.
    fn lowest(&mut self, point: &Point, axis: usize, from: u32) -> Result<u32, E> {
        self.between(point, axis, from).map(|(_, high)| high)
    }

    /// Lowers one axis after the other, the dearest first, as far as the condition holds.
    fn descend(&mut self, from: &Point, least: &Point) -> Result<Point, E> {
        let mut order: Vec<usize> = (0..AXES).collect();
        let saving = |axis: usize| f64::from(from[axis] - least[axis].min(from[axis])) * self.slopes[axis];
        order.sort_by(|a, b| saving(*b).total_cmp(&saving(*a)));
        let mut point = *from;
        for axis in order {
            point[axis] = self.lowest(&point, axis, least[axis].min(point[axis]))?;
        }
        Ok(point)
    }
}

/// Replaces open points that are known to miss by the least points above them, at or below `start`, that are not.
fn cut(open: &mut Vec<Point>, missed: &[Point], start: &Point) {
    for missed in missed {
        let (hit, mut kept): (Vec<Point>, Vec<Point>) =
            open.drain(..).partition(|point| within(point, missed));
        for point in hit {
            for axis in (0..AXES).filter(|&axis| missed[axis] < start[axis]) {
                let mut above = point;
                above[axis] = missed[axis] + 1;
                if !kept.iter().any(|other| within(other, &above)) {
                    kept.retain(|other| !within(&above, other));
                    kept.push(above);
                }
            }
        }
        *open = kept;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every point at or below the top, for brute force.
    fn all(top: &Point) -> Vec<Point> {
        let mut points = vec![[0; AXES]];
        for axis in 0..AXES {
            points = points
                .into_iter()
                .flat_map(|p| {
                    (0..=top[axis]).map(move |n| {
                        let mut q = p;
                        q[axis] = n;
                        q
                    })
                })
                .collect();
        }
        points
    }

    fn brute(top: &Point, slopes: &Slopes, meets: impl Fn(&Point) -> bool) -> f64 {
        all(top).iter().filter(|p| meets(p)).map(|p| cost(p, slopes)).fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn independent_needs_are_met_exactly_with_few_questions() {
        // 43 drums, 37 steps of area, 12 of stock, whatever the rest: the corner of the least values
        let need: Point = [43, 37, 12, 0, 0];
        let mut asked = 0;
        let found = cheapest(&[55.0, 120.0, 22.0, 1.0, 1.0], &[160, 100, 100, 0, 0], &FINE, 60, |p| {
            asked += 1;
            Ok::<bool, ()>(within(&need, p))
        });
        let found = found.unwrap();
        assert_eq!((found.point, found.least, found.proven), (need, need, true));
        assert!(asked <= 24, "{asked}");
    }

    #[test]
    fn a_spent_budget_leaves_a_bound_below_the_best() {
        let slopes = [1.0, 1.1, 0.9, 0.0, 0.0];
        let meets = |p: &Point| p[..3].iter().map(|n| f64::from(*n)).product::<f64>() >= 60_000.0;
        let found =
            cheapest(&slopes, &[100, 100, 100, 0, 0], &FINE, 40, |p| Ok::<bool, ()>(meets(p))).unwrap();
        let best = brute(&[100, 100, 100, 0, 0], &slopes, meets);
        assert!(!found.proven && found.bound <= best && best <= cost(&found.point, &slopes));
        assert!(meets(&found.point) && cost(&found.point, &slopes) < 1.05 * best, "{found:?} {best}");
    }

    #[test]
    fn a_grain_asks_less_and_stays_within_it() {
        let need: Point = [43, 37, 12, 0, 0];
        let grain: Point = [5, 4, 4, 1, 1];
        let mut asked = 0;
        let found = cheapest(&[55.0, 120.0, 22.0, 1.0, 1.0], &[160, 100, 100, 0, 0], &grain, 60, |p| {
            asked += 1;
            Ok::<bool, ()>(within(&need, p))
        });
        let found = found.unwrap();
        assert!(within(&need, &found.point) && within(&found.least, &need), "{found:?}");
        assert!((0..3).all(|axis| found.point[axis] < need[axis] + 2 * grain[axis]), "{found:?}");
        assert!(asked <= 20, "{asked}");
    }

    #[test]
    fn the_bound_is_the_cheapest_point_no_miss_covers() {
        let slopes = [2.0, 3.0, 0.0, 0.0, 0.0];
        let start = [9, 9, 0, 0, 0];
        assert!(bound(&slopes, &start, &[]).abs() < 1e-12);
        // below 5 of the first or 3 of the second all is missed: (5, 0) costs 10, (0, 3) costs 9
        assert!((bound(&slopes, &start, &[[4, 2, 0, 0, 0]]) - 9.0).abs() < 1e-12);
        // with (2, 9) missed too the second alone does not do: (5, 0) is left at 10, (3, 3) costs 15
        assert!((bound(&slopes, &start, &[[4, 2, 0, 0, 0], [2, 9, 0, 0, 0]]) - 10.0).abs() < 1e-12);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]
        #[test]
        fn search_and_brute_force_agree(
            top in [0_u32..9, 0_u32..9, 0_u32..9, 0_u32..3, 0_u32..2],
            slopes in [0.0_f64..9.0, 0.0_f64..9.0, 0.0_f64..9.0, 0.0_f64..9.0, 0.0_f64..9.0],
            needs in prop::collection::vec(
                ([0.0_f64..3.0, 0.0_f64..3.0, 0.0_f64..3.0, 0.0_f64..3.0, 0.0_f64..3.0], 0.0_f64..1.0),
                1..4,
            ),
        ) {
            // each need is a weighted sum that must be reached: more of anything never spoils it
            let reach = |p: &Point, weights: &[f64; AXES]| cost(p, weights);
            let meets = |p: &Point| {
                needs.iter().all(|(weights, share)| reach(p, weights) >= share * reach(&top, weights) - 1e-9)
            };
            let found = cheapest(&slopes, &top, &FINE, 100_000, |p| Ok::<bool, ()>(meets(p))).unwrap();
            let best = brute(&top, &slopes, meets);
            prop_assert!(found.proven && meets(&found.point));
            prop_assert!((cost(&found.point, &slopes) - best).abs() <= 1e-9 * (1.0 + best), "{found:?} {best}");
        }
    }
}
