//! From the site that was chosen to the whole answer.

use super::along::along;
use super::answer::{Demand, Met, PublishedRule, ReversalFound, Risk, SizingAnswer, Variable};
use super::judge::Judge;
use super::search::{AXES, Point};
use super::sites::sites;
use super::start_up::start_up;
use super::units::units;
use super::{Chosen, SizingError, chance};
use crate::literature;
use crate::monte_carlo::Draws;
use crate::monte_carlo::ensemble::Ensemble;
use crate::scenario::Plan;
use crate::site_figures::floor::LoadVerdict;
use crate::study::answer::RunAnswer;
use crate::study::run;
use crate::study::uncertainty::occurrences;
use crate::study::verdict::Verdict;
use crate::trace::DayRecord;
use crate::trace::failures::{Judging, RunFailure};

/// Confidence of printed intervals.
const INTERVAL: f64 = 0.95;

/// The whole answer.
///
/// # Errors
/// [`SizingError`].
pub(super) fn answer(
    judge: &mut Judge<'_>,
    search: &Draws,
    chosen: &Chosen,
) -> Result<SizingAnswer, SizingError> {
    let point = chosen.point;
    let size = judge.grid.size(&point);
    let worm_cost = judge.grid.axes[super::grid::STOCK].weight;
    let units = units(judge, &point)?;
    let along = along(judge, &point)?;
    let sites = sites(judge, &point)?;
    let start_up = start_up(judge, &size, worm_cost)?;
    Ok(SizingAnswer { found: true, units, along, sites, start_up, ..frame(judge, search, chosen)? })
}

/// What the page says of any site, found or nearest.
///
/// # Errors
/// [`SizingError`].
pub(super) fn frame(judge: &Judge<'_>, search: &Draws, chosen: &Chosen) -> Result<SizingAnswer, SizingError> {
    let plan = judge.plan;
    let point = chosen.point;
    let sized = plan.resized(&judge.grid.size(&point)).map_err(SizingError::Size)?;
    let run = run(&sized).map_err(SizingError::Run)?;
    let grid = &judge.grid;
    let limited = grid.axes.iter().all(|axis| !axis.free || axis.plan.is_some());
    let plan_values = grid.axes.iter().map(|axis| axis.weight * axis.plan.unwrap_or(0.0));
    let assumed = grid.axes.iter().any(|axis| axis.basis == "assumed" && axis.free);
    Ok(SizingAnswer {
        version: env!("CARGO_PKG_VERSION"),
        name: plan.name.clone(),
        start: plan.start,
        days: plan.days,
        seed: search.seed,
        fresh_seed: chosen.fresh_seed,
        draws: search.to,
        settling_draws: judge.all_draws().to,
        verified_draws: chosen.made.to - chosen.made.from,
        confidence: plan.sizing.confidence,
        raised: chosen.raised,
        found: true,
        shown: chosen.shown,
        currency: plan.money.as_ref().filter(|_| !assumed).map(|m| m.currency.clone()),
        variables: variables(judge, &point),
        bed_area: grid.bed_area(&point),
        cost: grid.cost(&point),
        plan_cost: limited.then(|| plan_values.sum()),
        by_verdict: plan.sizing.targets.is_empty(),
        targets: targets(judge, chosen, plan.sizing.confidence),
        verdict: verdict(&chosen.made, &plan.judging()),
        risks: risks(&chosen.made, &plan.judging()),
        refusal: None,
        sites: Vec::new(),
        units: Vec::new(),
        along: Vec::new(),
        start_up: Vec::new(),
        demand: demand(&run),
        compared: compared(&sized, &run),
        reversals: reversals(judge),
        warnings: run.warnings.clone(),
        candidates: judge.candidates(),
        draws_made: judge.draws_made,
        draws_reused: judge.draws_reused,
        run,
    })
}

/// The verdict of draws: of every failure asked about that could happen.
fn verdict(made: &Ensemble, judging: &Judging) -> Verdict {
    let chance = |failure: &'static RunFailure| {
        let (count, draws) = occurrences(&made.rows, failure);
        (draws > 0).then(|| (failure, count as f64 / draws as f64))
    };
    Verdict::of(judging.asked().filter_map(chance), made.rows.len(), judging.rule)
}

fn variables(judge: &Judge<'_>, point: &Point) -> Vec<Variable> {
    let told = |(n, axis): (usize, &super::SizeAxis)| {
        let sought = |value: f64| axis.free.then_some(value);
        Variable {
            name: axis.name,
            unit: axis.kind.unit(),
            kind: axis.kind,
            free: axis.free,
            value: if axis.free { Some(axis.value(point[n])) } else { axis.plan },
            plan: axis.plan,
            by_hand: axis.by_hand,
            low: sought(axis.low),
            high: sought(axis.high()),
            step: sought(axis.step),
            weight: axis.weight,
            basis: axis.basis,
        }
    };
    judge.grid.axes.iter().enumerate().map(told).collect()
}

fn targets(judge: &Judge<'_>, chosen: &Chosen, confidence: f64) -> Vec<Met> {
    let mut all: Vec<Met> = judge
        .wanted
        .iter()
        .zip(&chosen.fresh)
        .map(|(wanted, values)| {
            let t = &wanted.target;
            let (met, draws) = (wanted.met(values), values.len() as u64);
            let (low, high) = chance::interval(met, draws, INTERVAL);
            let one_sided = t.at_most.is_none() || t.at_least.is_none();
            Met {
                figure: wanted.name().to_owned(),
                what: wanted.failure.map_or(wanted.figure().what, |failure| failure.statement),
                failure: wanted.failure.is_some(),
                kind: wanted.kind(),
                unit: wanted.figure().unit,
                at_most: t.at_most,
                at_least: t.at_least,
                chance: t.chance,
                share: met as f64 / draws as f64,
                low,
                high,
                promised: chance::promised(values, t.chance, confidence, t.at_most.is_some())
                    .filter(|_| one_sided),
                met: wanted.meets_chance(values),
                binding: false,
            }
        })
        .collect();
    let spare = |met: &Met| (met.share - met.chance) / (1.0 - met.chance).max(1e-3);
    let tightest = (0..all.len()).min_by(|a, b| spare(&all[*a]).total_cmp(&spare(&all[*b])));
    if let Some(tightest) = tightest {
        all[tightest].binding = true;
    }
    all
}

/// Every failure the draws are read for, over the draws in which it could happen.
fn risks(made: &Ensemble, judging: &Judging) -> Vec<Risk> {
    let risk = |failure: &RunFailure| {
        let (count, draws) = occurrences(&made.rows, failure);
        let (low, high) = chance::interval(count as u64, draws as u64, INTERVAL);
        let share = count as f64 / draws.max(1) as f64;
        Risk { name: failure.name, statement: failure.statement, share, low, high }
    };
    judging.asked().map(risk).collect()
}

fn demand(run: &RunAnswer) -> Demand {
    let last = &run.daily[run.daily.len() - run.daily.len() / 4..];
    let ground: f64 = last.iter().map(|d| d.ground).sum();
    let taken: f64 = last.iter().map(|d| d.intake - d.turned_away).sum();
    Demand {
        keeps_up: if taken > 0.0 { ground / taken } else { 1.0 },
        grinder_hours: run.daily.iter().map(|d| d.grinder_hours).fold(0.0, f64::max),
        bran_weekly: run.bran.weekly.iter().map(|(_, kilograms)| *kilograms).fold(0.0, f64::max),
        drums: run.drums.in_use.highest,
    }
}

/// The answer beside rules printed elsewhere.
fn compared(plan: &Plan, run: &RunAnswer) -> Vec<PublishedRule> {
    let intake = plan.mean_intake();
    let area = plan.bed_area();
    let stock = plan.size().stock;
    // the second half of the run: the stock has settled, and a break in the feed does not stand for the year
    let late = &run.daily[run.daily.len() / 2..];
    let mean = |of: fn(&DayRecord) -> f64| late.iter().map(of).sum::<f64>() / late.len().max(1) as f64;
    let (eaten, kept) = (mean(|d| d.eaten), mean(|d| d.stock));
    let rows = [
        ("intake per worms bought", "kg/(kg d)", intake, stock, "site.feed_per_body_weight"),
        ("worms bought per bed area", "kg/m2", stock, area, "worms.stocking_trade_start"),
        ("worms at the end per bed area", "kg/m2", run.stock.end.total, area, "worms.stocking_trade_target"),
        ("mean worms per feed eaten", "kg/(kg/d)", kept, eaten, "worms.steady_biomass_per_feed"),
    ];
    let by_area = run.site.area_rules.iter().map(|rule| PublishedRule {
        what: rule.name,
        unit: "kg/(m2 d)",
        ours: rule.ours,
        low: rule.published.0,
        high: rule.published.1,
        key: rule.key,
        inside: rule.verdict == LoadVerdict::Agrees,
    });
    let others = rows.into_iter().filter(|(_, _, over, under, _)| *under > 0.0 && *over > 0.0).filter_map(
        |(what, unit, over, under, key)| {
            let printed = &literature::entry(key)?.value;
            let (ours, low, high) = (over / under, printed.low(), printed.high());
            Some(PublishedRule { what, unit, ours, low, high, key, inside: low <= ours && ours <= high })
        },
    );
    by_area.chain(others).collect()
}

fn reversals(judge: &Judge<'_>) -> Vec<ReversalFound> {
    judge
        .reversals()
        .into_iter()
        .map(|r| ReversalFound {
            figure: judge.wanted[r.target].name().to_owned(),
            larger: (0..AXES)
                .filter(|n| r.larger[*n] > r.smaller[*n])
                .map(|n| judge.grid.axes[n].name)
                .collect(),
            lost: r.lost,
        })
        .collect()
}
