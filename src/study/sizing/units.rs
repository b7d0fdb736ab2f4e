//! What one step more or less of a size changes. The numbers below are choices of ours.

use super::SizingError;
use super::answer::{Difference, UnitChange};
use super::judge::Judge;
use super::search::{AXES, Point};

/// Part of the draws that settle the answer that are made of a neighbour: those that came nearest to a limit.
const PART: usize = 8;
/// Quantile of the standard normal for an interval of 95 %.
const NORMAL: f64 = 1.959_964;

/// The difference of two chances on paired draws, by the draws that hold in one of them only.
///
/// # Source
/// Interval of Agresti and Min (2005, Stat. Med. 24:729-740, recalled): half a draw is added to each cell of the table.
pub(super) fn difference(lost: usize, gained: usize, draws: usize) -> Difference {
    let all = draws as f64 + 2.0;
    let (fewer, more) = (lost as f64 + 0.5, gained as f64 + 0.5);
    let middle = (more - fewer) / all;
    let error = (more + fewer - (more - fewer).powi(2) / all).max(0.0).sqrt() / all;
    Difference {
        draws,
        lost,
        gained,
        share: (gained as f64 - lost as f64) / draws.max(1) as f64,
        low: (middle - NORMAL * error).max(-1.0),
        high: (middle + NORMAL * error).min(1.0),
    }
}

/// One step less and one step more of each size that is sought, on draws in common with the answer: those that came nearest to a limit are
/// made, all others are taken to go alike in both.
///
/// # Errors
/// [`SizingError`].
pub(super) fn units(judge: &mut Judge<'_>, point: &Point) -> Result<Vec<UnitChange>, SizingError> {
    let draws = usize::try_from(judge.all_draws().to).unwrap_or(usize::MAX);
    judge.look_at(point)?;
    let cost = judge.grid.cost(point);
    let mut all = Vec::new();
    for axis in 0..AXES {
        for more in [false, true] {
            let top = judge.grid.axes[axis].most;
            let place = if more { point[axis].saturating_add(1) } else { point[axis].wrapping_sub(1) };
            if place > top {
                continue;
            }
            let mut tried = *point;
            tried[axis] = place;
            judge.nearest_draws(&tried, point, draws / PART)?;
            let of = |question: usize| {
                let (lost, gained, _) = judge.differ(point, &tried, question, draws);
                difference(lost, gained, draws)
            };
            all.push(UnitChange {
                variable: judge.grid.axes[axis].name,
                value: judge.grid.axes[axis].value(place),
                more,
                cost: judge.grid.cost(&tried) - cost,
                differences: (0..judge.wanted.len()).map(of).collect(),
                missed: judge.misses(&tried),
            });
        }
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_paired_difference_is_that_of_the_draws_that_differ() {
        // by hand: (12.5 - 4.5)/102 = 0.0784; sqrt(17 - 64/102)/102 = 0.0397
        let found = difference(4, 12, 100);
        assert!((found.share - 0.08).abs() < 1e-12);
        assert!((found.low - (0.078_43 - 1.96 * 0.039_67)).abs() < 1e-3, "{found:?}");
        assert!((found.high - (0.078_43 + 1.96 * 0.039_67)).abs() < 1e-3, "{found:?}");
        // draws that all agree still leave some doubt
        let same = difference(0, 0, 100);
        assert!(same.low < 0.0 && same.high > 0.0 && same.high < 0.03 && same.share == 0.0, "{same:?}");
    }
}
