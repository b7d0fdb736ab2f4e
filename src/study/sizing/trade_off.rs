//! Two sizes against each other, by the draws and the rule by which the answer was settled. The numbers below are choices of ours.

use super::SizingError;
use super::answer::{TradeOff, TradeOffPoint};
use super::grid::Grid;
use super::judge::Judge;
use super::search::Point;

/// Points of the curve, as shares of the answer's own value.
const SHARES: [f64; 7] = [0.5, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5];
/// Places of the axes of bed area and stock.
const BEDS: usize = 1;
const STOCK: usize = 2;
/// Grains of the first stride from a site that misses its targets.
const STRIDE: u32 = 2;

/// Sites along two sizes.
pub(super) struct TradeOffCurve {
    /// Axis of the size that is set.
    set: usize,
    /// Axis of the size that follows.
    follows: usize,
    /// Whether the stock follows the bed area.
    stocked: bool,
    /// A site for each value set, by rising value.
    sites: Vec<CurveSite>,
}

/// A site with one value of the size that is set.
struct CurveSite {
    point: Point,
    /// Whether it meets the targets; else it is the nearest tried.
    meets: bool,
}

/// The least drums for several bed areas, or the first two other sizes that are sought, about a site that meets the targets. Beds are
/// stocked as densely as there where the stock is sought too; all else is as there. None if fewer than two sizes are sought.
///
/// # Errors
/// [`SizingError`] when draws cannot be made or the work is stopped.
pub(super) fn curve(judge: &mut Judge<'_>, point: &Point) -> Result<Option<TradeOffCurve>, SizingError> {
    let free: Vec<usize> =
        [1, 0, 2, 3, 4].into_iter().filter(|axis| judge.grid.axes[*axis].most > 0).collect();
    let [set, follows, ..] = free[..] else { return Ok(None) };
    let stocked = set == BEDS && follows != STOCK && free.contains(&STOCK);
    let value = judge.grid.axes[set].value(point[set]);
    let mut places = SHARES.map(|share| judge.grid.axes[set].steps_to(share * value)).to_vec();
    places.push(point[set]);
    places.sort_unstable();
    places.dedup();
    let mut sites = Vec::new();
    for place in places {
        if place == point[set] {
            sites.push(CurveSite { point: *point, meets: true });
            continue;
        }
        let mut tried = *point;
        tried[set] = place;
        if stocked {
            let density = judge.grid.axes[STOCK].value(point[STOCK]) / value;
            tried[STOCK] = judge.grid.axes[STOCK].steps_to(density * judge.grid.axes[set].value(place));
        }
        sites.push(least(judge, &tried, follows)?);
    }
    Ok(Some(TradeOffCurve { set, follows, stocked, sites }))
}

impl TradeOffCurve {
    /// The cheapest of its sites that meet the targets, where it costs less than the one given.
    pub(super) fn cheaper(&self, grid: &Grid, than: &Point) -> Option<Point> {
        let limit = grid.cost(than) * (1.0 - 1e-12);
        let good = self.sites.iter().filter(|site| site.meets && grid.cost(&site.point) < limit);
        good.map(|site| site.point).min_by(|a, b| grid.cost(a).total_cmp(&grid.cost(b)))
    }

    /// The curve as part of the answer.
    pub(super) fn to_answer(&self, judge: &Judge<'_>, answer: &Point) -> TradeOff {
        let grid = &judge.grid;
        let point = |site: &CurveSite| TradeOffPoint {
            set: grid.axes[self.set].value(site.point[self.set]),
            follows: grid.axes[self.follows].value(site.point[self.follows]),
            cost: grid.cost(&site.point),
            answer: site.point == *answer,
            missed: if site.meets { Vec::new() } else { judge.misses(&site.point) },
        };
        TradeOff {
            set: grid.axes[self.set].name,
            follows: grid.axes[self.follows].name,
            stocked: self.stocked,
            points: self.sites.iter().map(point).collect(),
        }
    }
}

/// The least value on an axis, to within a grain, with which a site meets the targets, from one that does downwards: below a value
/// that is too little, less is too little as well.
fn least(judge: &mut Judge<'_>, from: &Point, axis: usize) -> Result<CurveSite, SizingError> {
    let found = near(judge, from, axis)?;
    if !found.meets {
        return Ok(found);
    }
    let grain = judge.grid.grain()[axis];
    let mut tried = found.point;
    let mut high = tried[axis];
    let mut low = if high > from[axis] { from[axis] + 1 } else { 0 };
    while high - low >= grain {
        tried[axis] = low + (high - low) / 2;
        if judge.shows(&tried)? { high = tried[axis] } else { low = tried[axis] + 1 }
    }
    tried[axis] = high;
    Ok(CurveSite { point: tried, meets: true })
}

/// A site that meets the targets on the way from one up or down an axis, as long as a stride leads nearer to them: more drums turn less
/// away and hold more back. Else the nearest.
fn near(judge: &mut Judge<'_>, from: &Point, axis: usize) -> Result<CurveSite, SizingError> {
    if judge.shows(from)? {
        return Ok(CurveSite { point: *from, meets: true });
    }
    let (grain, top) = (judge.grid.grain()[axis], judge.grid.axes[axis].most);
    let mut nearest = *from;
    for up in [true, false] {
        let (mut at, mut stride) = (*from, STRIDE * grain);
        loop {
            let mut next = at;
            next[axis] = if up { top.min(at[axis] + stride) } else { at[axis].saturating_sub(stride) };
            if next == at {
                break;
            }
            // few draws show a way that leads off
            judge.extend(&next, judge.quick_draws())?;
            if judge.farther(&next, &at) > 0.0 {
                break;
            }
            if judge.shows(&next)? {
                return Ok(CurveSite { point: next, meets: true });
            }
            if judge.farther(&next, &nearest) < 0.0 {
                nearest = next;
            }
            if judge.farther(&next, &at) >= 0.0 {
                break;
            }
            (at, stride) = (next, 2 * stride);
        }
    }
    Ok(CurveSite { point: nearest, meets: false })
}
