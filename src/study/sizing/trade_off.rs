//! Two sizes against each other.

use super::SizingError;
use super::answer::TradeOff;
use super::answer::TradeOffPoint;
use super::judge::Judge;
use super::search::Point;

/// Points of the curve, as shares of the answer's own value.
const SHARES: [f64; 7] = [0.5, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5];
/// Places of the axes of bed area and stock.
const BEDS: usize = 1;
const STOCK: usize = 2;

/// The least drums for several bed areas, or the first two other sizes that are sought, by the draws of the search: about as good
/// on them as the answer. Beds are stocked as densely as in the answer where the stock is sought too; all else is as there.
pub(super) fn trade_off(
    judge: &mut Judge<'_>,
    point: &Point,
    least: &Point,
) -> Result<Option<TradeOff>, SizingError> {
    let free: Vec<usize> =
        [1, 0, 2, 3, 4].into_iter().filter(|axis| judge.grid.axes[*axis].most > 0).collect();
    let [set, follows, ..] = free[..] else { return Ok(None) };
    let stocked = set == BEDS && follows != STOCK && free.contains(&STOCK);
    let top = judge.grid.top();
    let value = judge.grid.axes[set].value(point[set]);
    let mut places = SHARES.map(|share| judge.grid.axes[set].steps_to(share * value)).to_vec();
    places.push(point[set]);
    places.sort_unstable();
    places.dedup();
    judge.quick_as(point)?;
    let mut points = Vec::new();
    let mut floor = least[follows].min(point[follows]);
    for place in places.into_iter().rev() {
        let mut tried = *point;
        tried[set] = place;
        if stocked {
            let density = judge.grid.axes[STOCK].value(point[STOCK]) / value;
            tried[STOCK] = judge.grid.axes[STOCK].steps_to(density * judge.grid.axes[set].value(place));
        }
        let found = if place == point[set] {
            Some(point[follows])
        } else {
            least_from(judge, &tried, follows, floor, top[follows])?
        };
        // less of one never needs less of the other
        floor = found.unwrap_or(floor).max(floor);
        points.push(TradeOffPoint {
            set: judge.grid.axes[set].value(place),
            follows: found.map(|steps| judge.grid.axes[follows].value(steps)),
            cost: found.map(|steps| {
                tried[follows] = steps;
                judge.grid.cost(&tried)
            }),
            answer: place == point[set],
        });
    }
    points.reverse();
    let name = |axis: usize| judge.grid.axes[axis].name;
    Ok(Some(TradeOff { set: name(set), follows: name(follows), stocked, points }))
}

/// The least value on an axis from `floor` on, to within a grain, with which a point meets the targets: growing steps, then halving.
fn least_from(
    judge: &mut Judge<'_>,
    point: &Point,
    axis: usize,
    floor: u32,
    top: u32,
) -> Result<Option<u32>, SizingError> {
    let grain = judge.grid.grain()[axis];
    let mut tried = *point;
    let mut meets = |steps: u32| {
        tried[axis] = steps;
        judge.quick(&tried)
    };
    let (mut low, mut high, mut stride) = (floor, floor, grain);
    while !meets(high)? {
        if high == top {
            return Ok(None);
        }
        low = high + 1;
        high = (high + stride).min(top);
        stride *= 4;
    }
    while high - low >= grain {
        let middle = low + (high - low) / 2;
        if meets(middle)? { high = middle } else { low = middle + 1 }
    }
    Ok(Some(high))
}
