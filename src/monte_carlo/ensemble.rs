//! Runs many draws. The answer is the same on any number of threads and in any shards.

use super::bands::{DayCounts, DrawBins};
use super::sample::{Block, Draw};
use super::{Days, Draws, Study, Watch, design, in_order, on_threads};
use crate::chain::{self, Models, Site, Years};
use crate::scenario::{Almanac, Chance, Plan, assemble_on, with_chance};
use crate::trace::DayRecord;
use crate::trace::figures::{self, FigureSource, RunFigures};
use serde::{Deserialize, Serialize};
use std::panic::{self, AssertUnwindSafe};
use std::sync::atomic::{AtomicU64, Ordering};

/// Draws that a thread takes at a time. Our choice.
const CHUNK: u64 = 5;
/// Draws whose bins are counted together, so that the counts of a day are fetched once for all of them. Our choice.
const COUNTED_TOGETHER: usize = 50;

/// The figures of one draw.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DrawFigures {
    /// Number of the draw.
    pub draw: u64,
    /// Figures, in the order of [`figures::TABLE`], then those that a question reads beside them.
    pub figures: Box<[KeptFigure]>,
}

/// A figure of a draw in the room of a bare number, as a study keeps tens of millions of them.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
#[serde(from = "Option<f64>", into = "Option<f64>")]
pub struct KeptFigure(f64);

impl KeptFigure {
    /// The figure. None if there is nothing to measure.
    pub fn value(self) -> Option<f64> {
        (!self.0.is_nan()).then_some(self.0)
    }
}

impl From<Option<f64>> for KeptFigure {
    fn from(value: Option<f64>) -> Self {
        // no figure is NaN
        Self(value.unwrap_or(f64::NAN))
    }
}

impl From<KeptFigure> for Option<f64> {
    fn from(figure: KeptFigure) -> Self {
        figure.value()
    }
}

impl PartialEq for KeptFigure {
    fn eq(&self, other: &Self) -> bool {
        self.value() == other.value()
    }
}

/// A draw of a site made on its own.
#[derive(Debug, Clone, PartialEq)]
pub struct SingleDraw {
    /// Number of the draw.
    pub number: u64,
    /// Its figures, in the order of [`figures::TABLE`], or what went wrong, in words.
    pub figures: Result<RunFigures, String>,
    /// A number of drums with which, as with any larger one, its figures are these. None if scraps were turned away or the draw failed.
    pub drums_enough: Option<f64>,
}

/// A draw that gave no answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Failed {
    /// Number of the draw.
    pub draw: u64,
    /// What went wrong, in words.
    pub message: String,
}

/// What a set of draws gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Ensemble {
    /// Seed of the draws.
    pub seed: u64,
    /// First draw requested, from 0.
    pub from: u64,
    /// One past the last requested.
    pub to: u64,
    /// Figures by draw, in rising order.
    pub rows: Vec<DrawFigures>,
    /// Draws that gave no answer, in rising order.
    pub failed: Vec<Failed>,
    /// Counts by day of the draws in `rows`.
    pub bands: DayCounts,
}

impl Ensemble {
    /// Whether draws are missing because the work was stopped early.
    pub fn is_partial(&self) -> bool {
        let made = (self.rows.len() + self.failed.len()) as u64;
        made < self.to - self.from
    }

    /// Adds other draws of the same seed and plan, behind those that are there.
    pub fn append(&mut self, more: Self) {
        self.from = self.from.min(more.from);
        self.to = self.to.max(more.to);
        self.rows.extend(more.rows);
        self.failed.extend(more.failed);
        self.bands.merge(&more.bands);
    }
}

/// What a question reads off a draw beside the figures of the table: of its plan, site and years, with its values by key.
pub type ReadMore<'a> = dyn Fn(&Plan, &Site, &Years, &dyn Fn(&str) -> f64) -> Vec<Option<f64>> + Sync + 'a;

/// One finished draw.
struct Finished {
    figures: RunFigures,
    more: Vec<Option<f64>>,
    daily: Vec<DayRecord>,
    drums_enough: Option<f64>,
}

/// What all draws of a study share.
struct Studied<'a> {
    plan: &'a Plan,
    study: &'a Study,
    almanac: Almanac,
    more: Option<&'a ReadMore<'a>>,
}

impl<'a> Studied<'a> {
    fn of(plan: &'a Plan, study: &'a Study) -> Self {
        Self { plan, study, almanac: Almanac::of_years(plan), more: None }
    }
}

/// Runs one draw with its rates and days.
///
/// # Errors
/// What went wrong, in words: the values cannot be assembled, the balance does not close, or the model panicked.
fn run_draw(of: &Studied<'_>, draw: &Draw, days: &Days) -> Result<Finished, String> {
    caught(|| attempt(of, draw, days))
}

/// The work of one draw. A panic in the model is an error of this draw alone: values far from all published ones must not end the
/// other draws.
///
/// # Errors
/// That of the work, or what the model said when it panicked.
pub fn caught<T>(work: impl FnOnce() -> Result<T, String>) -> Result<T, String> {
    // nothing of a draw that panicked is used, so no half-done state can be seen
    panic::catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|cause| {
        let said = cause.downcast_ref::<String>().map(String::as_str);
        let said = said.or_else(|| cause.downcast_ref::<&str>().copied()).unwrap_or("no message");
        Err(format!("the model stopped: {said}"))
    })
}

/// What a draw leaves behind, with its processes.
fn years_of(of: &Studied<'_>, draw: &Draw, days: &Days) -> Result<(Site, Years, Models), String> {
    let Studied { plan, study, almanac, .. } = of;
    let get = |key: &str| study.value(draw, key);
    let (mut site, models) = assemble_on(plan, almanac, &get).map_err(|e| e.to_string())?;
    let chance = Chance { intake: &days.intake, temperature: &days.temperature, drum_luck: &days.drum_luck };
    with_chance(plan, almanac, &mut site, &chance);
    let years = chain::follow(&site, &models, chain::Keep::Days, &plan.horizon(), &[]);
    Ok((site, years.map_err(|e| e.to_string())?, models))
}

fn attempt(of: &Studied<'_>, draw: &Draw, days: &Days) -> Result<Finished, String> {
    let (site, years, models) = years_of(of, draw, days)?;
    let get = |key: &str| of.study.value(draw, key);
    let source =
        FigureSource::of(&years.run, &get, &models.acids).and_later(years.later(), &get, &models.acids);
    let figures = figures::read(&source);
    if let Some(n) = figures.iter().position(|x| x.is_some_and(|x| !x.is_finite())) {
        return Err(format!("{} is not a finite number", figures::TABLE[n].name));
    }
    // no figure has a sense below zero; a balance that closes on negative worms is no answer
    let mut named = figures.iter().zip(&figures::TABLE).filter_map(|(x, figure)| x.map(|x| (figure.name, x)));
    if let Some((name, value)) = named.find(|(_, x)| *x < -figures::BELOW_ZERO) {
        return Err(format!("{name} is {value:.1e}, below zero"));
    }
    drop(source);
    let more = of.more.map_or_else(Vec::new, |more| more(of.plan, &site, &years, &get));
    Ok(Finished { figures, more, daily: years.run.daily, drums_enough: years.drums_enough })
}

/// The figures of given values without chance: one row of a Sobol' design, or the run of central values.
///
/// # Errors
/// What went wrong, in words: the values cannot be assembled, the balance does not close, or the model panicked.
pub fn figures_of(plan: &Plan, study: &Study, draw: &Draw) -> Result<RunFigures, String> {
    run_draw(&Studied::of(plan, study), draw, &Days::without_chance(plan)).map(|finished| finished.figures)
}

/// Makes draws. When `watch` is stopped the work ends after the draws in hand, and the ensemble is then partial. A draw that gives
/// no answer is kept as [`Failed`] and stops no other.
///
/// The same draws give the same ensemble on any number of threads: rows are put in order, bands are counts.
pub fn run(plan: &Plan, study: &Study, draws: &Draws, watch: &Watch) -> Ensemble {
    run_reading(plan, study, draws, watch, None)
}

/// [`run`], with what a question reads beside the figures of the table.
pub fn run_reading(
    plan: &Plan,
    study: &Study,
    draws: &Draws,
    watch: &Watch,
    more: Option<&ReadMore<'_>>,
) -> Ensemble {
    // no more threads than draws: each keeps counts of its own
    let threads = draws.threads.min(usize::try_from(draws.count()).unwrap_or(usize::MAX));
    let studied = Studied { more, ..Studied::of(plan, study) };
    let next = AtomicU64::new(draws.from);
    let make = || work(&studied, draws, &next, watch);
    let joined = on_threads(threads, make).into_iter().reduce(|mut whole, share| {
        whole.rows.extend(share.rows);
        whole.failed.extend(share.failed);
        whole.bands.merge(&share.bands);
        whole
    });
    let mut whole = joined.unwrap_or_else(make);
    whole.rows.sort_by_key(|row| row.draw);
    whole.failed.sort_by_key(|failed| failed.draw);
    whole
}

/// The values of some draws, kept for the plans that are run with them.
#[derive(Debug)]
pub struct CommonDraws<'a> {
    study: &'a Study,
    seed: u64,
    first: u64,
    draws: Vec<Draw>,
}

impl<'a> CommonDraws<'a> {
    /// Those asked for.
    pub fn of(study: &'a Study, &Draws { seed, from, to, .. }: &Draws) -> Self {
        Self { study, seed, first: from, draws: study.draws(seed, from..to) }
    }

    fn draw(&self, number: u64) -> &Draw {
        &self.draws[usize::try_from(number - self.first).expect("draws are kept in memory")]
    }
}

/// Makes single draws of a plan, by their numbers, in their order; each is what it is in [`run`]. When `watch` is stopped, those in hand are
/// the last.
///
/// # Panics
/// On the number of a draw that is not among the common ones.
pub fn single(
    plan: &Plan,
    common: &CommonDraws<'_>,
    numbers: &[u64],
    (threads, watch): (usize, &Watch),
) -> Vec<SingleDraw> {
    let studied = Studied::of(plan, common.study);
    let make = |place: usize| {
        let number = numbers[place];
        let finished = run_draw(&studied, common.draw(number), &Days::of(plan, common.seed, number));
        let drums_enough = finished.as_ref().ok().and_then(|finished| finished.drums_enough);
        SingleDraw { number, figures: finished.map(|finished| finished.figures), drums_enough }
    };
    in_order(threads, numbers.len(), watch, make).into_iter().flatten().collect()
}

/// The days of the run of single draws of a plan, in the order of their numbers, or what went wrong, in words. Later years are left out; when
/// `watch` is stopped, draws are missing.
///
/// # Panics
/// As [`single`].
pub fn daily(
    plan: &Plan,
    common: &CommonDraws<'_>,
    numbers: &[u64],
    (threads, watch): (usize, &Watch),
) -> Vec<Result<Vec<DayRecord>, String>> {
    let plan = &plan.without_later_years();
    let studied = Studied::of(plan, common.study);
    let make = |place: usize| {
        let number = numbers[place];
        let days = Days::of(plan, common.seed, number);
        caught(|| years_of(&studied, common.draw(number), &days).map(|(_, years, _)| years.run.daily))
    };
    in_order(threads, numbers.len(), watch, make).into_iter().flatten().collect()
}

/// A draw, by the block that it is in, which is kept for the next.
fn in_block(known: &mut Option<(u64, Block)>, study: &Study, seed: u64, number: u64) -> Draw {
    let at = design::block_of(number);
    let block = match known {
        Some((known, block)) if *known == at => block,
        other => &mut other.insert((at, study.block(seed, at))).1,
    };
    block.draw(study, design::place_in_block(number))
}

/// What one thread makes of the draws.
fn work(of: &Studied<'_>, draws: &Draws, next: &AtomicU64, watch: &Watch) -> Ensemble {
    let Studied { plan, study, .. } = of;
    let Draws { seed, from, to, .. } = *draws;
    let bands = DayCounts::new(plan.days as usize);
    let mut share = Ensemble { seed, from, to, rows: Vec::new(), failed: Vec::new(), bands };
    let mut block: Option<(u64, Block)> = None;
    let mut bins = Vec::new();
    loop {
        let first = next.fetch_add(CHUNK, Ordering::Relaxed);
        if first >= to || watch.is_stopped() {
            share.bands.add(&bins);
            return share;
        }
        for number in first..(first + CHUNK).min(to) {
            if watch.is_stopped() {
                break;
            }
            let draw = in_block(&mut block, study, seed, number);
            let days = Days::of(plan, seed, number);
            match run_draw(of, &draw, &days) {
                Ok(finished) => {
                    bins.push(DrawBins::of(&finished.daily));
                    let figures = finished.figures.into_iter().chain(finished.more).map(KeptFigure::from);
                    share.rows.push(DrawFigures { draw: number, figures: figures.collect() });
                }
                Err(message) => share.failed.push(Failed { draw: number, message }),
            }
            watch.count();
        }
        if bins.len() >= COUNTED_TOGETHER {
            share.bands.add(&bins);
            bins.clear();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{parse, varied};

    /// The worked harbour site over ten days.
    fn ten_days() -> Plan {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/harbour_hall.json");
        let mut text = std::fs::read_to_string(path).expect("the scenario is readable");
        for (key, value) in [("days", "10"), ("stock.arrives", "2027-01-05")] {
            text = varied("test.json", &text, key, value).unwrap_or_else(|e| panic!("{e}"));
        }
        parse("test.json", &text).unwrap_or_else(|e| panic!("{e}"))
    }

    /// Draws of it on one thread.
    fn draws(from: u64, to: u64) -> Ensemble {
        let plan = ten_days();
        let study = Study::of(&plan).expect("a sound plan");
        run(&plan, &study, &Draws { seed: 7, from, to, threads: 1 }, &Watch::default())
    }

    #[test]
    fn a_kept_figure_takes_the_room_of_a_number() {
        assert_eq!(size_of::<KeptFigure>(), size_of::<f64>());
        for value in [None, Some(0.0), Some(-1.5), Some(f64::INFINITY)] {
            assert_eq!(KeptFigure::from(value).value(), value);
        }
        assert_eq!(KeptFigure::from(None), None.into());
        assert_ne!(KeptFigure::from(None), Some(0.0).into());
    }

    #[test]
    fn draws_on_both_sides_of_a_block_are_those_they_are_alone() {
        let together = draws(248, 252);
        assert!(!together.is_partial() && together.rows.len() == 4);
        let apart: Vec<DrawFigures> = [(248, 250), (250, 251), (251, 252)]
            .into_iter()
            .flat_map(|(from, to)| draws(from, to).rows)
            .collect();
        assert_eq!(together.rows, apart);
    }

    #[test]
    fn single_draws_are_those_of_the_ensemble_in_the_order_asked_for() {
        let (plan, together) = (ten_days(), draws(3, 7));
        let study = Study::of(&plan).expect("a sound plan");
        let common = CommonDraws::of(&study, &Draws { seed: 7, from: 3, to: 7, threads: 1 });
        let made = single(&plan, &common, &[6, 3, 4], (2, &Watch::default()));
        assert_eq!(made.iter().map(|draw| draw.number).collect::<Vec<_>>(), [6, 3, 4]);
        for SingleDraw { number, figures, .. } in made {
            let row = together.rows.iter().find(|row| row.draw == number).expect("it was drawn");
            let figures = figures.expect("it gives an answer").into_iter().map(KeptFigure::from);
            assert_eq!(figures.collect::<Box<[_]>>(), row.figures, "{number}");
        }
    }

    #[test]
    fn no_draws_are_none_and_an_ensemble_is_whole_when_each_draw_gave_an_answer_or_failed() {
        let mut some = draws(5, 5);
        assert!(some.rows.is_empty() && !some.is_partial());
        (some.from, some.to) = (10, 20);
        some.rows = (10..17).map(|draw| DrawFigures { draw, figures: Box::default() }).collect();
        some.failed = (17..20).map(|draw| Failed { draw, message: String::new() }).collect();
        assert!(!some.is_partial());
        some.failed.pop();
        assert!(some.is_partial());
    }
}
