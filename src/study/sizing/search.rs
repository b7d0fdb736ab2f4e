//! A search over sites on a grid that assumes nothing of what more of a size does: it may help, not matter, or harm.
//!
//! [`towards`] walks from a site to one that meets its targets, up or down any size, always to the neighbour that comes nearest to them.
//! [`cheapen`] walks from a site that meets them to cheaper ones that do: less of one size after the other, in strides that are halved to
//! single steps, and then less of one for so much more of another as still costs less. What it returns is the cheapest of its
//! neighbourhood: no step less of a size, and no such exchange of steps, meets the targets. Both are local; a site far away may be cheaper.

/// Most strides of one size that are exchanged for one of another. Our choice.
const EXCHANGED: u32 = 4;

/// Number of sizes.
pub const AXES: usize = 5;

/// A point of the grid: steps above the least value of each size.
pub type Point = [u32; AXES];

/// Whether `a` has no more of anything than `b`.
pub fn within(a: &Point, b: &Point) -> bool {
    a.iter().zip(b).all(|(a, b)| a <= b)
}

/// Sites as a search sees them.
pub trait Sites {
    /// What may go wrong.
    type Error;

    /// Whether a site meets its targets.
    ///
    /// # Errors
    /// What goes wrong.
    fn meets(&mut self, point: &Point) -> Result<bool, Self::Error>;

    /// How much farther a site is from its targets than another; below zero where nearer. Both were asked about before.
    fn farther(&self, point: &Point, than: &Point) -> f64;

    /// What a site costs.
    fn cost(&self, point: &Point) -> f64;

    /// Most steps of each size; 0 for one that is held.
    fn top(&self) -> Point;
}

/// How a search goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Steps of the first strides.
    pub from: Point,
    /// Steps of the last strides; each is halved down to this.
    pub to: Point,
    /// Most sites asked about.
    pub most: usize,
}

impl Pace {
    /// Single steps.
    pub const fn single(most: usize) -> Self {
        Self { from: [1; AXES], to: [1; AXES], most }
    }

    /// The next smaller strides. None after the last.
    fn next(&self, stride: &Point) -> Option<Point> {
        let next: Point = std::array::from_fn(|axis| (stride[axis] / 2).max(self.to[axis]).min(stride[axis]));
        (next != *stride).then_some(next)
    }
}

/// A point so many steps higher on an axis, or at its end. None if it is there already.
fn up(point: &Point, axis: usize, steps: u32, top: &Point) -> Option<Point> {
    let mut other = *point;
    other[axis] = point[axis].saturating_add(steps).min(top[axis]);
    (other != *point).then_some(other)
}

/// A point so many steps lower on an axis, or at its beginning. None if it is there already, or the axis is held.
fn down(point: &Point, axis: usize, steps: u32, top: &Point) -> Option<Point> {
    let mut other = *point;
    other[axis] = point[axis].saturating_sub(steps);
    (top[axis] > 0 && other != *point).then_some(other)
}

/// A site that meets its targets, from one that may not: by the neighbour that comes nearest to them, more of a size before less. None if no
/// neighbour comes nearer in the smallest strides, or too many were asked about.
///
/// # Errors
/// Those of the sites.
pub fn towards<S: Sites>(sites: &mut S, from: &Point, pace: &Pace) -> Result<Option<Point>, S::Error> {
    let top = sites.top();
    let (mut at, mut stride, mut asked) = (*from, pace.from, 0);
    if sites.meets(&at)? {
        return Ok(Some(at));
    }
    loop {
        let all = std::array::from_fn(|axis| at[axis].saturating_add(stride[axis]).min(top[axis]));
        let more = (0..AXES).filter_map(|axis| up(&at, axis, stride[axis], &top)).chain([all]);
        let less = (0..AXES).filter_map(|axis| down(&at, axis, stride[axis], &top));
        let mut nearest = None;
        for neighbours in [more.collect::<Vec<_>>(), less.collect()] {
            let mut good: Option<Point> = None;
            for tried in neighbours.into_iter().filter(|tried| *tried != at) {
                asked += 1;
                if sites.meets(&tried)? {
                    good = Some(good.filter(|good| sites.cost(good) <= sites.cost(&tried)).unwrap_or(tried));
                } else if sites.farther(&tried, &at) < nearest.map_or(0.0, |n| sites.farther(&n, &at)) {
                    nearest = Some(tried);
                }
            }
            if good.is_some() {
                return Ok(good);
            }
            if nearest.is_some() {
                break;
            }
        }
        match (nearest, pace.next(&stride)) {
            _ if asked >= pace.most => return Ok(None),
            (Some(nearest), _) => {
                at = nearest;
                // on a long way strides grow
                stride = stride.map(|steps| steps.saturating_mul(2));
            }
            (None, Some(smaller)) => stride = smaller,
            (None, None) => return Ok(None),
        }
    }
}

/// The cheapest site of a neighbourhood, from one that meets its targets: size by size as far down as it goes, in ever smaller strides; at single
/// steps also by exchanges, until nothing is cheaper.
///
/// # Errors
/// Those of the sites.
pub fn cheapen<S: Sites>(sites: &mut S, from: &Point, pace: &Pace) -> Result<Point, S::Error> {
    let mut walk = Walk { at: *from, stride: pace.from, left: pace.most };
    loop {
        let mut lowered = walk.lower(sites)?;
        let single = (0..AXES).all(|axis| walk.stride[axis] <= 1);
        while single && (lowered || walk.exchange(sites)?) {
            lowered = walk.lower(sites)?;
        }
        match pace.next(&walk.stride) {
            Some(smaller) if walk.left > 0 => walk.stride = smaller,
            _ => return Ok(walk.at),
        }
    }
}

/// A walk to cheaper sites.
struct Walk {
    at: Point,
    stride: Point,
    /// Sites that may still be asked about.
    left: usize,
}

impl Walk {
    /// Goes to a site if it costs less and meets its targets.
    fn go<S: Sites>(&mut self, sites: &mut S, tried: &Point) -> Result<bool, S::Error> {
        if self.left == 0 || !saves(sites, tried, &self.at) {
            return Ok(false);
        }
        self.left -= 1;
        let goes = sites.meets(tried)?;
        if goes {
            self.at = *tried;
        }
        Ok(goes)
    }

    /// Lowers each size in turn as far as the targets are met, and says whether any was.
    fn lower<S: Sites>(&mut self, sites: &mut S) -> Result<bool, S::Error> {
        let top = sites.top();
        let from = self.at;
        for axis in 0..AXES {
            while let Some(tried) = down(&self.at, axis, self.stride[axis], &top) {
                if !self.go(sites, &tried)? {
                    break;
                }
            }
        }
        Ok(self.at != from)
    }

    /// Goes to the first exchange of a stride of one size for so much of another that is cheaper and meets the targets.
    fn exchange<S: Sites>(&mut self, sites: &mut S) -> Result<bool, S::Error> {
        for tried in exchanges(sites, &self.at, &self.stride) {
            if self.go(sites, &tried)? {
                return Ok(true);
            }
        }
        Ok(false)
    }
}

/// Whether a site costs less than another.
fn saves<S: Sites>(sites: &S, tried: &Point, than: &Point) -> bool {
    let cost = sites.cost(than);
    sites.cost(tried) < cost * (1.0 - 1e-12) - 1e-12
}

/// Sites with a stride less of one size and as much more of another, up to so many strides, as still costs less; the cheapest first.
fn exchanges<S: Sites>(sites: &S, at: &Point, stride: &Point) -> Vec<Point> {
    let top = sites.top();
    let mut all = Vec::new();
    for one in (0..AXES).filter_map(|axis| down(at, axis, stride[axis], &top)) {
        for axis in (0..AXES).filter(|axis| one[*axis] == at[*axis] && top[*axis] > 0) {
            let most = EXCHANGED * stride[axis];
            let mut taken = (1..=most).rev().filter_map(|steps| up(&one, axis, steps, &top));
            all.extend(taken.find(|tried| saves(sites, tried, at)));
        }
    }
    all.sort_by(|a, b| sites.cost(a).total_cmp(&sites.cost(b)));
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Sites that meet what a rule says, at given prices; a figure says how far one is off.
    struct Rule<F: Fn(&Point) -> f64> {
        top: Point,
        prices: [f64; AXES],
        short: F,
    }

    impl<F: Fn(&Point) -> f64> Sites for Rule<F> {
        type Error = ();
        fn meets(&mut self, point: &Point) -> Result<bool, ()> {
            Ok((self.short)(point) <= 1e-9)
        }
        fn farther(&self, point: &Point, than: &Point) -> f64 {
            (self.short)(point) - (self.short)(than)
        }
        fn cost(&self, point: &Point) -> f64 {
            point.iter().zip(self.prices).map(|(steps, price)| f64::from(*steps) * price).sum()
        }
        fn top(&self) -> Point {
            self.top
        }
    }

    /// Every point at or below the top.
    fn all(top: &Point) -> Vec<Point> {
        let mut points = vec![[0; AXES]];
        for axis in 0..AXES {
            let higher = |p: Point| {
                (0..=top[axis]).map(move |n| {
                    let mut q = p;
                    q[axis] = n;
                    q
                })
            };
            points = points.into_iter().flat_map(higher).collect();
        }
        points
    }

    fn sought<F: Fn(&Point) -> f64>(sites: &mut Rule<F>, from: &Point) -> Option<Point> {
        let pace = Pace { from: [4; AXES], to: [1; AXES], most: 10_000 };
        let met = towards(sites, from, &pace).unwrap()?;
        Some(cheapen(sites, &met, &pace).unwrap())
    }

    #[test]
    fn too_many_drums_harm_as_too_few_do_and_the_search_goes_down_to_them() {
        // 5 to 8 drums and 3 beds or more
        let short = |p: &Point| {
            let drums = f64::from(p[0]);
            (5.0 - drums).max(drums - 8.0).max(0.0) + (3.0 - f64::from(p[1])).max(0.0)
        };
        let mut sites = Rule { top: [40, 9, 0, 0, 0], prices: [1.0; AXES], short };
        for from in [[0, 0, 0, 0, 0], [40, 9, 0, 0, 0], [40, 0, 0, 0, 0], [6, 5, 0, 0, 0]] {
            assert_eq!(sought(&mut sites, &from), Some([5, 3, 0, 0, 0]), "{from:?}");
        }
    }

    #[test]
    fn what_no_site_meets_is_given_up() {
        let mut sites =
            Rule { top: [40, 9, 5, 0, 0], prices: [1.0; AXES], short: |p| 50.0 - f64::from(p[0]) };
        assert_eq!(sought(&mut sites, &[3, 3, 3, 0, 0]), None);
    }

    #[test]
    fn sizes_that_stand_in_for_each_other_are_exchanged_for_the_cheaper() {
        // 12 of both together; a bed costs five times a drum
        let short = |p: &Point| (12.0 - f64::from(p[0]) - f64::from(p[1])).max(0.0);
        let mut sites = Rule { top: [20, 20, 0, 0, 0], prices: [1.0, 5.0, 1.0, 1.0, 1.0], short };
        assert_eq!(sought(&mut sites, &[0, 20, 0, 0, 0]), Some([12, 0, 0, 0, 0]));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]
        #[test]
        fn a_size_that_needs_a_range_of_its_own_is_found_as_by_brute_force(
            top in [0_u32..9, 0_u32..9, 0_u32..9, 0_u32..3, 0_u32..2],
            prices in [0.1_f64..9.0, 0.1_f64..9.0, 0.1_f64..9.0, 0.1_f64..9.0, 0.1_f64..9.0],
            needs in [0.0_f64..1.0, 0.0_f64..1.0, 0.0_f64..1.0, 0.0_f64..1.0, 0.0_f64..1.0],
            from in [0.0_f64..1.0, 0.0_f64..1.0, 0.0_f64..1.0, 0.0_f64..1.0, 0.0_f64..1.0],
        ) {
            let part = |shares: &[f64; AXES], axis: usize| (shares[axis] * f64::from(top[axis])).round();
            // less than the need is too little; two more than it are too much
            let short = |p: &Point| {
                let off = |axis: usize| {
                    let (have, need) = (f64::from(p[axis]), part(&needs, axis));
                    (need - have).max(have - need - 2.0).max(0.0)
                };
                (0..AXES).map(off).sum::<f64>()
            };
            let start: Point = std::array::from_fn(|axis| {
                (0..=top[axis]).find(|n| f64::from(*n) >= part(&from, axis)).unwrap_or(top[axis])
            });
            let mut sites = Rule { top, prices, short };
            let found = sought(&mut sites, &start);
            let good = all(&top).into_iter().filter(|p| short(p) <= 1e-9);
            let best = good.min_by(|a, b| sites.cost(a).total_cmp(&sites.cost(b)));
            prop_assert_eq!(found, best);
        }

        #[test]
        fn no_step_less_and_no_exchange_of_steps_meets_the_targets_of_what_is_found(
            top in [1_u32..9, 1_u32..9, 1_u32..9, 0_u32..3, 0_u32..2],
            prices in [0.1_f64..9.0, 0.1_f64..9.0, 0.1_f64..9.0, 0.1_f64..9.0, 0.1_f64..9.0],
            weights in prop::collection::vec([0.0_f64..3.0, 0.0_f64..3.0, 0.0_f64..3.0, 0.0_f64..3.0, 0.0_f64..3.0], 1..4),
            share in 0.1_f64..1.0,
        ) {
            let sum = |p: &Point, w: &[f64; AXES]| p.iter().zip(w).map(|(n, w)| f64::from(*n) * w).sum::<f64>();
            let short = |p: &Point| weights.iter().map(|w| (share * sum(&top, w) - sum(p, w)).max(0.0)).sum::<f64>();
            let mut sites = Rule { top, prices, short };
            let found = sought(&mut sites, &top).expect("the largest site meets them");
            prop_assert!(short(&found) <= 1e-9);
            let less = (0..AXES).filter_map(|axis| down(&found, axis, 1, &top));
            for tried in less.chain(exchanges(&sites, &found, &[1; AXES])) {
                prop_assert!(short(&tried) > 1e-9, "{:?} is cheaper than {:?}", tried, found);
            }
        }
    }
}
