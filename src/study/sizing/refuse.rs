//! Targets that no site meets: the nearest site, why it does not, and what it would take. The numbers below are choices of ours.

use super::answer::{Cause, Missed, Refusal, SizingAnswer, Take};
use super::finish::frame;
use super::grid::{Grid, KINDS, NAMES};
use super::judge::Judge;
use super::question::Wanted;
use super::search::{self, AXES, Pace, Point};
use super::{Chosen, SizingError, pace, smaller_within_noise, verified};
use crate::monte_carlo::Draws;
use crate::quantity::{Kind, format_figures};
use crate::study::answer::Reported;
use crate::study::run::{run, run_with};
use crate::warning::Severity;
use std::collections::BTreeMap;

/// Sites that are looked at with all draws for the nearest to the targets.
const NEAREST: usize = 3;
/// Draws that fail looked at for what the model reports of them.
const LOOKED_AT: usize = 3;
/// Days of their runs: failures of the settled year show after the first.
const DAYS: u32 = 3 * 365;
/// Most sites asked about for what it would take.
const SOUGHT: usize = 16;
/// Kinds of warnings and limits on the page.
const TOLD: usize = 5;

/// The site nearest to the targets of those judged, by all its draws.
///
/// # Errors
/// [`SizingError`].
pub(super) fn nearest(judge: &mut Judge<'_>) -> Result<Point, SizingError> {
    judge.set_confidence(judge.plan.sizing.confidence);
    let mut point = judge.nearest();
    for _ in 0..NEAREST {
        judge.whole(&point)?;
        let next = judge.nearest();
        if next == point {
            break;
        }
        point = next;
    }
    judge.whole(&point)?;
    Ok(point)
}

/// Whether draws cannot tell the chance of any target at a site from one that it may have.
fn near_its_limits(judge: &mut Judge<'_>, point: &Point) -> Result<bool, SizingError> {
    let values = judge.whole(point)?;
    Ok(judge.wanted.iter().zip(&values).all(|(wanted, values)| wanted.may_meet_chance(values)))
}

/// The nearest site, or where draws cannot tell any of its chances from one that it may have, a cheaper one within noise of it: an answer, if
/// new draws meet each chance.
///
/// # Errors
/// [`SizingError`].
pub(super) fn at_its_limits(judge: &mut Judge<'_>) -> Result<Chosen, SizingError> {
    let mut point = nearest(judge)?;
    let near = near_its_limits(judge, &point)?;
    if near {
        point = smaller_within_noise(judge, &point)?;
    }
    let verified = verified(judge, &point, 0, true)?;
    Ok(Chosen { good: near && verified.good, ..verified })
}

/// The nearest site, and why it is no answer.
///
/// # Errors
/// [`SizingError`].
pub(super) fn answer(
    judge: &mut Judge<'_>,
    search: &Draws,
    nearest: &Chosen,
) -> Result<SizingAnswer, SizingError> {
    let refusal = refusal(judge, &nearest.point)?;
    Ok(SizingAnswer { found: false, refusal: Some(refusal), ..frame(judge, search, nearest)? })
}

fn refusal(judge: &mut Judge<'_>, point: &Point) -> Result<Refusal, SizingError> {
    let missed = judge.misses(point);
    let (causes, feeding) = causes(judge, point, &missed)?;
    Ok(Refusal { missed, causes, feeding, takes: takes(judge, point)? })
}

/// What the model reports of some of the draws that fail for the target missed most, run without chance.
#[expect(clippy::type_complexity, reason = "two parts of a refusal")]
fn causes(
    judge: &Judge<'_>,
    point: &Point,
    missed: &[Missed],
) -> Result<(Vec<Cause>, Vec<(&'static str, usize)>), SizingError> {
    let worst = missed.iter().min_by(|a, b| (a.share / a.needed).total_cmp(&(b.share / b.needed)));
    let question = worst.and_then(|worst| judge.wanted.iter().position(|w| w.name() == worst.figure));
    let failing = question.map_or_else(Vec::new, |question| judge.failing(point, question));
    let sized = judge.plan.resized(&judge.grid.size(point)).map_err(SizingError::Size)?;
    let plan = sized.over_days(DAYS.max(sized.days));
    // what the best-estimate run reports too does not tell why others fail, unless it fails itself
    let best = run(&sized).map_err(SizingError::Run)?;
    let usual =
        |code: &str| best.verdict.against().next().is_none() && best.warnings.iter().any(|w| w.code == code);
    // not the worst of all: those in the middle of each third
    let looked_at = LOOKED_AT.min(failing.len());
    let numbers = (0..looked_at).map(|n| failing[(2 * n + 1) * failing.len() / (2 * looked_at)]);
    let mut by_code: BTreeMap<&'static str, Cause> = BTreeMap::new();
    let mut feeding: BTreeMap<&'static str, usize> = BTreeMap::new();
    for number in numbers {
        let draw = judge.study.draw(judge.all_draws().seed, number);
        let run = run_with(&plan, &|key| judge.study.value(&draw, key)).map_err(SizingError::Run)?;
        for (limit, days) in run.beds.iter().flat_map(|bed| &bed.refused) {
            *feeding.entry(limit).or_default() += days;
        }
        let mut of_run: BTreeMap<&'static str, Vec<Reported>> = BTreeMap::new();
        let lasting = |w: &Reported| w.severity >= Severity::Caution && w.warning.spell().is_some();
        for warning in run.warnings.into_iter().filter(|w| lasting(w) && !usual(w.code)) {
            of_run.entry(warning.code).or_default().push(warning);
        }
        for (code, warnings) in of_run {
            let first = Cause { draws: 0, of: looked_at, code, warnings };
            by_code.entry(code).or_insert(first).draws += 1;
        }
    }
    let mut causes: Vec<Cause> = by_code.into_values().collect();
    let severity = |cause: &Cause| cause.warnings.iter().map(|warning| warning.severity).max();
    causes.sort_by_key(|cause| std::cmp::Reverse((cause.draws, severity(cause))));
    causes.truncate(TOLD);
    let mut feeding: Vec<(&'static str, usize)> = feeding.into_iter().collect();
    feeding.sort_by_key(|(_, days)| std::cmp::Reverse(*days));
    feeding.truncate(TOLD);
    Ok((causes, feeding))
}

/// The sizes that were held or bounded and would have to be larger, by few draws.
fn takes(within: &Judge<'_>, point: &Point) -> Result<Vec<Take>, SizingError> {
    let tried = &within.grid;
    let wide = Grid::beyond(within.plan, tried);
    let bounded = |n: usize| wide.axes[n].high() > tried.axes[n].high() * (1.0 + 1e-9);
    if !(0..AXES).any(bounded) {
        return Ok(Vec::new());
    }
    let from = wide.at_values(&tried.values(point));
    let mut judge = within.on(wide);
    judge.set_quickly(true);
    let way = Pace { most: SOUGHT, ..pace(&judge, &from) };
    let Some(met) = search::towards(&mut judge, &from, &way)? else { return Ok(Vec::new()) };
    let found = search::cheapen(&mut judge, &met, &way)?;
    let values = judge.grid.values(&found);
    let more = (0..AXES).filter(|axis| values[*axis] > within.grid.axes[*axis].high() * (1.0 + 1e-12));
    Ok(more
        .map(|axis| Take {
            name: within.grid.axes[axis].name,
            held: !within.grid.axes[axis].free,
            tried: within.grid.axes[axis].high(),
            takes: values[axis],
        })
        .collect())
}

/// A target in words.
pub(super) fn statement(wanted: &Wanted) -> String {
    let target = &wanted.target;
    let most = target.at_most.map(|v| format!("at most {}", format_figures(v, 4)));
    let least = target.at_least.map(|v| format!("at least {}", format_figures(v, 4)));
    let limits: Vec<String> = least.into_iter().chain(most).collect();
    format!("{} {}", target.figure, limits.join(" and "))
}

/// A size by name, with its value and unit.
pub(super) fn with_unit(name: &str, value: f64) -> String {
    let kind = NAMES.iter().zip(KINDS).find(|(known, _)| **known == name).map(|(_, kind)| kind);
    let unit = kind.map_or("", Kind::unit);
    format!("{name} {} {unit}", format_figures(value, 4)).trim_end().to_owned()
}

/// Values of all sizes that the plan limits, by name.
pub(super) fn named(grid: &Grid, point: &Point) -> Vec<(&'static str, f64)> {
    let values = grid.values(point);
    let limited = |n: &usize| grid.axes[*n].free || grid.axes[*n].plan.is_some();
    (0..AXES).filter(limited).map(|n| (grid.axes[n].name, values[n])).collect()
}
