//! How the chance of each target changes with one size, all others as in the answer. The numbers below are choices of ours.

use super::SizingError;
use super::answer::{Along, AlongPoint, AlongShare};
use super::judge::Judge;
use super::search::{AXES, Point};

/// Parts of the answer at which a size is looked at.
const PARTS: [f64; 2] = [0.75, 1.25];

/// The chances along each size that is sought, by the draws that settle the answer: some are made of every site, the others taken to go as
/// expected from the answer's.
///
/// # Errors
/// [`SizingError`].
pub(super) fn along(judge: &mut Judge<'_>, point: &Point) -> Result<Vec<Along>, SizingError> {
    let mut all = Vec::new();
    for axis in 0..AXES {
        let top = judge.grid.axes[axis].most;
        if top == 0 {
            continue;
        }
        let answer = judge.grid.axes[axis].value(point[axis]);
        let places = PARTS.map(|part| judge.grid.axes[axis].steps_to(part * answer).min(top));
        let mut places: Vec<u32> = places.into_iter().chain([point[axis]]).collect();
        places.sort_unstable();
        places.dedup();
        let mut points = Vec::new();
        for place in places {
            let mut tried = *point;
            tried[axis] = place;
            points.push(AlongPoint {
                value: judge.grid.axes[axis].value(place),
                answer: place == point[axis],
                shares: shares(judge, &tried)?,
            });
        }
        all.push(Along { variable: judge.grid.axes[axis].name, points });
    }
    Ok(all)
}

/// How often each target holds at a site.
///
/// # Errors
/// [`SizingError`].
fn shares(judge: &mut Judge<'_>, point: &Point) -> Result<Vec<AlongShare>, SizingError> {
    let draws = usize::try_from(judge.all_draws().to).unwrap_or(usize::MAX);
    Ok(judge.shares(point)?.into_iter().map(|share| AlongShare::of(share, draws)).collect())
}
