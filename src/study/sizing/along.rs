//! How the chance of each target changes with one size, all others as in the answer. The numbers below are choices of ours.

use super::SizingError;
use super::answer::{Along, AlongPoint, AlongShare};
use super::judge::Judge;
use super::search::{AXES, Point};
use crate::monte_carlo::summary::wilson;

/// Parts of the answer at which a size is looked at.
const PARTS: [f64; 2] = [0.75, 1.25];

/// The chances along each size that is sought, by the draws of a quick look: as many of every site.
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
            let draws = judge.quick_draws();
            points.push(AlongPoint {
                value: judge.grid.axes[axis].value(place),
                answer: place == point[axis],
                shares: shares(judge, &tried, draws)?,
            });
        }
        all.push(Along { variable: judge.grid.axes[axis].name, points });
    }
    Ok(all)
}

/// How often each target holds in so many of the first draws of a site.
///
/// # Errors
/// [`SizingError`].
pub(super) fn shares(
    judge: &mut Judge<'_>,
    point: &Point,
    draws: usize,
) -> Result<Vec<AlongShare>, SizingError> {
    let values = judge.first(point, draws)?;
    let share = |(wanted, values): (&super::Wanted, &Vec<f64>)| {
        let held = values.iter().filter(|value| wanted.holds(**value)).count();
        let (low, high) = wilson(held, values.len());
        AlongShare { draws: values.len(), share: held as f64 / values.len() as f64, low, high }
    };
    Ok(judge.wanted.iter().zip(&values).map(share).collect())
}
