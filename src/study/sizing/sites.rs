//! A leaner and a more cautious site beside the answer. The numbers below are choices of ours.

use super::SizingError;
use super::answer::AlongShare;
use super::answer::SizedSite;
use super::judge::Judge;
use super::search::{self, AXES, Pace, Point};

/// Names of the sites, with the chance of missing a target that each may have over that of the answer.
const EASES: [(&str, f64); 3] = [("lean", 2.0), ("recommended", 1.0), ("cautious", 0.5)];
/// Most sites asked about for each.
const MOST: usize = 16;
/// First strides, as a share of a size.
const STRIDE: f64 = 0.1;

/// A site with half and one with twice the allowed chance of missing a target, about the answer, by its draws and rule.
///
/// # Errors
/// [`SizingError`].
pub(super) fn sites(judge: &mut Judge<'_>, answer: &Point) -> Result<Vec<SizedSite>, SizingError> {
    judge.look_at(answer)?;
    let mut all = Vec::new();
    for (name, ease) in EASES {
        judge.set_ease(ease);
        let found = at_ease(judge, answer, ease);
        judge.set_ease(1.0);
        let found = found?;
        let point = found.unwrap_or(*answer);
        let values = judge.grid.values(&point);
        let limited = |n: usize| judge.grid.axes[n].free || judge.grid.axes[n].plan.is_some();
        all.push(SizedSite {
            name,
            ease,
            found: found.is_some(),
            sizes: (0..AXES).map(|n| limited(n).then_some(values[n])).collect(),
            bed_area: judge.grid.bed_area(&point),
            cost: judge.grid.cost(&point),
            shares: shares(judge, &point),
        });
    }
    Ok(all)
}

/// How often each target holds in all draws of the search; those not made are taken to go as expected.
fn shares(judge: &Judge<'_>, point: &Point) -> Vec<AlongShare> {
    let draws = usize::try_from(judge.all_draws().to).unwrap_or(usize::MAX);
    let share = |failed: usize| AlongShare::of(1.0 - failed as f64 / draws as f64, draws);
    judge.likely_failed(point).into_iter().map(share).collect()
}

/// The site for an ease; the answer itself for that of the answer. None if none is found.
fn at_ease(judge: &mut Judge<'_>, answer: &Point, ease: f64) -> Result<Option<Point>, SizingError> {
    if (ease - 1.0).abs() < f64::EPSILON {
        return Ok(Some(*answer));
    }
    let pace = Pace { from: judge.grid.strides(answer, STRIDE), ..Pace::single(MOST) };
    let Some(met) = search::towards(judge, answer, &pace)? else { return Ok(None) };
    search::cheapen(judge, &met, &pace).map(Some)
}
