//! The command *size*: the cheapest site that meets its targets with the required chance.
//!
//! Every site is judged on the same draws, so that two sites differ by their sizes alone. The search uses few draws and coarse steps.
//! Its site is then enlarged and reduced by single steps with many draws; a chance counts as shown when the one-sided limit of its
//! share of draws reaches it with the required confidence. Two sizes are then traded off by the same draws and rule, and a cheaper
//! site found in this way is taken. The answer is tested once more on draws it was not chosen by. The search assumes that more of
//! anything never harms, and checks this in its draws. The numbers below are our choice.

mod along;
mod answer;
pub mod chance;
mod finish;
mod grid;
mod judge;
mod refuse;
pub mod search;
mod start_up;
mod stopped;
mod trade_off;

pub use answer::{
    Along, AlongPoint, AlongShare, Demand, Met, Missed, PublishedRule, ReversalFound, Risk, SizingAnswer,
    Smaller, StartUp, TradeOff, TradeOffPoint, Variable,
};
pub use grid::{Grid, NAMES, Reckoned, SizeAxis};
pub use judge::{Judge, Sample, Wanted, wanted};
pub use refuse::{Impossible, Nearest, Take};
pub use stopped::Stopped;

use super::run::RunError;
use crate::monte_carlo::ensemble::Ensemble;
use crate::monte_carlo::{Draws, Study, StudyError, Watch};
use crate::scenario::{Plan, SizeError};
use judge::{Values, draws, values};
use search::{AXES, Optimum, Point};
use std::fmt;

/// Maximum number of sites a search judges before its bound is taken as it is.
const BUDGET: usize = 24;
/// How far sizes without a largest value are sought, in turn, over what is usual.
const REACHES: [f64; 3] = [1.0, 2.0, 4.0];
/// Most times the lifted site is looked at anew.
const LIFTS: usize = 8;
/// Most times the search is made stricter when a fresh seed falls short.
const ROUNDS: u32 = 3;
/// Distance of fresh seeds from the seed of the search.
const FRESH: u64 = 1000;
/// Shares of the range tried where the largest site does not meet the targets.
const TRIED: [f64; 5] = [0.5, 0.25, 0.75, 0.0, 1.0];

/// Why no site is found.
#[derive(Debug, Clone, PartialEq)]
pub enum SizingError {
    /// The unknowns of the plan cannot be drawn: the input is wrong.
    Study(StudyError),
    /// A size is outside what its key may be: the input is wrong.
    Size(SizeError),
    /// The run of the answer failed.
    Run(RunError),
    /// A target names no figure of a draw: a fault of ours, for names are checked when the file is read.
    UnknownFigure(String),
    /// No draw gives an answer; what went wrong in the first.
    NoDraw(String),
    /// So few draws cannot show a chance: the input is wrong.
    TooFewDraws {
        /// Figure of the target.
        figure: String,
        /// Draws given.
        given: u64,
        /// Draws needed.
        needed: u64,
    },
    /// No site within the bounds meets the targets: the answer is no.
    Impossible(Box<Impossible>),
    /// The work was stopped before an answer.
    Stopped(Box<Stopped>),
}

impl fmt::Display for SizingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Study(e) => e.fmt(f),
            Self::Size(e) => e.fmt(f),
            Self::Run(e) => e.fmt(f),
            Self::UnknownFigure(name) => write!(f, "a draw has no figure {name}"),
            Self::NoDraw(message) => write!(f, "no draw gives an answer: {message}"),
            Self::TooFewDraws { figure, given, needed } => {
                write!(
                    f,
                    "{given} draws are too few to show the chance required of {figure}; at least {needed} are needed"
                )
            }
            Self::Impossible(no) => no.fmt(f),
            Self::Stopped(known) => known.fmt(f),
        }
    }
}

impl std::error::Error for SizingError {}

impl From<StudyError> for SizingError {
    fn from(e: StudyError) -> Self {
        Self::Study(e)
    }
}

/// Finds the cheapest site that meets the targets of the plan. `search` are the draws of a site in the search; `verify` is the number
/// of draws by which the answer and its neighbours are settled, and of draws of a fresh seed by which it is verified.
///
/// # Errors
/// [`SizingError`]; [`SizingError::Impossible`] with the nearest that can be promised and what it would take;
/// [`SizingError::Stopped`] with what was known when `watch` was stopped.
pub fn size(plan: &Plan, search: &Draws, verify: u64, watch: &Watch) -> Result<SizingAnswer, SizingError> {
    let study = Study::of(plan)?;
    let wanted = wanted(plan)?;
    let confidence = plan.sizing.confidence;
    for w in &wanted {
        let fewest = chance::fewest(w.target.chance, confidence);
        if verify < fewest {
            let given = verify;
            let figure = w.target.figure.clone();
            return Err(SizingError::TooFewDraws { figure, given, needed: fewest });
        }
    }
    let sample = Sample { all: search.between(0, verify), quick: search.to.min(verify), confidence };
    let mut judge = Judge::new(plan, &study, Grid::of(plan), wanted, sample, watch);
    let mut chosen = None;
    let answer = answered(&mut judge, search, &mut chosen);
    match answer {
        Err(SizingError::Stopped(_)) => {
            Err(SizingError::Stopped(Box::new(Stopped::with(&judge, chosen.as_ref()))))
        }
        answer => answer,
    }
}

fn answered(
    judge: &mut Judge<'_>,
    search: &Draws,
    chosen: &mut Option<Chosen>,
) -> Result<SizingAnswer, SizingError> {
    for reach in REACHES {
        let grid = Grid::reaching(judge.plan, reach);
        if reach > 1.0 && grid == judge.grid {
            break;
        }
        judge.turn_to(grid);
        if let Some(start) = first(judge)? {
            choose(judge, &start, chosen)?;
        }
        if chosen.is_some() {
            break;
        }
    }
    if let Some(chosen) = chosen {
        return finish::answer(judge, search, chosen);
    }
    let no = refuse::impossible(judge.plan, judge)?;
    Err(SizingError::Impossible(Box::new(no)))
}

/// The site chosen, with the draws that verified it.
struct Chosen {
    found: Optimum,
    point: Point,
    fresh_seed: u64,
    fresh: Values,
    made: Ensemble,
    raised: u32,
    confidence: f64,
}

/// A site that meets the targets: the largest, the plan's own, or one between where more can harm.
fn first(judge: &mut Judge<'_>) -> Result<Option<Point>, SizingError> {
    let top = judge.grid.top();
    for point in [top, judge.grid.at_plan()] {
        if judge.quick(&point)? && judge.meets(&point)? {
            return Ok(Some(point));
        }
    }
    let mut best = if judge.shortfall(&top) <= judge.shortfall(&judge.grid.at_plan()) {
        top
    } else {
        judge.grid.at_plan()
    };
    for axis in (0..AXES).filter(|axis| top[*axis] > 0) {
        for share in TRIED {
            let mut tried = best;
            tried[axis] = part(top[axis], share);
            if judge.quick(&tried)? && judge.meets(&tried)? {
                return Ok(Some(tried));
            }
            if judge.shortfall(&tried) < judge.shortfall(&best) {
                best = tried;
            }
        }
    }
    Ok(None)
}

/// A share of a number of steps, to the nearest whole one.
fn part(steps: u32, share: f64) -> u32 {
    (0..=steps)
        .min_by(|a, b| {
            let off = |n: u32| (f64::from(n) - share * f64::from(steps)).abs();
            off(*a).total_cmp(&off(*b))
        })
        .unwrap_or(steps)
}

/// Searches, and searches more strictly while a fresh seed falls short of a chance asked. What is chosen is kept as it is found.
fn choose(judge: &mut Judge<'_>, start: &Point, chosen: &mut Option<Chosen>) -> Result<(), SizingError> {
    let mut confidence = judge.plan.sizing.confidence;
    for raised in 0..=ROUNDS {
        let Some((found, point)) = settle(judge, start)? else { break };
        let all = judge.all_draws();
        let fresh_draws = Draws { seed: all.seed.wrapping_add(FRESH * u64::from(raised + 1)), ..all };
        let sized = judge.plan.resized(&judge.grid.size(&point)).map_err(SizingError::Size)?;
        let made = draws(&sized, judge.study, &fresh_draws, judge.watch)?;
        let fresh = values(&made, &judge.wanted);
        let holds = |(wanted, values): (&Wanted, &Vec<f64>)| {
            wanted.met(values) as f64 >= wanted.target.chance * values.len() as f64
        };
        let good = judge.wanted.iter().zip(&fresh).all(holds);
        *chosen =
            Some(Chosen { found, point, fresh_seed: fresh_draws.seed, fresh, made, raised, confidence });
        if good {
            break;
        }
        confidence = 1.0 - 0.25 * (1.0 - confidence);
        judge.set_confidence(confidence);
    }
    Ok(())
}

/// The cheapest point by the few draws of the search, lifted until all draws meet the targets, then lowered size by size and step by
/// step by all draws. None if not even the start meets them by all draws.
fn settle(judge: &mut Judge<'_>, start: &Point) -> Result<Option<(Optimum, Point)>, SizingError> {
    let slopes = judge.grid.slopes();
    let grain = judge.grid.grain();
    let mut found = search::cheapest(&slopes, start, &grain, BUDGET, |p| judge.quick(p))?;
    let mut from = found.point;
    // a site taken as met before its last draw may turn out not to be: it is lifted again
    for _ in 0..LIFTS {
        let Some(lifted) = lift(judge, &from, start, &grain)? else { return Ok(None) };
        // the search may have stopped a grain above the border
        let floor = std::array::from_fn(|axis| from[axis].saturating_sub(grain[axis]));
        from = search::descend(&slopes, &lifted, &floor, |p| judge.meets(p))?;
        if judge.meets_whole(&from)? {
            let point = cheaper(judge, &from)?;
            // what few draws missed and all draws met is no miss
            let missed: Vec<Point> =
                judge.missed().into_iter().filter(|missed| !search::within(&point, missed)).collect();
            let cost = search::cost(&point, &slopes);
            found.bound = search::bound(&slopes, start, &missed).min(cost);
            found.proven = found.bound >= cost * (1.0 - 1e-12);
            return Ok(Some((found, point)));
        }
    }
    Ok(None)
}

/// A point that meets the targets, on the way from one to the top of it and the start: as far as it takes, in doubling strides, and
/// back to within a grain.
fn lift(
    judge: &mut Judge<'_>,
    from: &Point,
    start: &Point,
    grain: &Point,
) -> Result<Option<Point>, SizingError> {
    let top: Point = std::array::from_fn(|axis| from[axis].max(start[axis]));
    let (mut below, mut stride) = (*from, 0);
    loop {
        let tried: Point =
            std::array::from_fn(|axis| top[axis].min(from[axis].saturating_add(stride * grain[axis])));
        if judge.meets(&tried)? {
            return Ok(Some(search::border(&below, &tried, grain, |p| judge.meets(p))?));
        }
        if tried == top {
            return Ok(None);
        }
        below = tried;
        stride = (2 * stride).max(1);
    }
}

/// Repeats two steps while they find a site that meets the targets: the next smaller sites, and any cheaper one in a trade-off of two
/// sizes.
fn cheaper(judge: &mut Judge<'_>, from: &Point) -> Result<Point, SizingError> {
    let mut point = lower(judge, from)?;
    loop {
        let curve = trade_off::curve(judge, &point)?;
        let Some(better) = curve.and_then(|curve| curve.cheaper(&judge.grid, &point)) else {
            return Ok(point);
        };
        point = lower(judge, &better)?;
    }
}

/// Reduces any size step by step while the site meets the targets by all draws.
fn lower(judge: &mut Judge<'_>, from: &Point) -> Result<Point, SizingError> {
    let mut point = *from;
    'smaller: loop {
        for axis in (0..AXES).filter(|axis| point[*axis] > 0) {
            let mut tried = point;
            tried[axis] -= 1;
            if judge.shows(&tried)? {
                point = tried;
                continue 'smaller;
            }
        }
        return Ok(point);
    }
}
