//! The command *size*: a cheap site that meets its targets with the required chance.
//!
//! Where the plan has no targets, the site must pass the questions of its own verdict, the settled year included. Sizes are whole: drums, beds
//! of the plan's own area, worms in steps of a twentieth. Every site is judged on the same draws, so that two sites differ by their sizes
//! alone. The search begins with a calculation by hand and with the plan's own site, goes to one that meets the targets by few draws,
//! up or down any size, and from there to cheaper ones. It then goes on by all draws, down to single steps; a chance counts as shown when the
//! one-sided limit of its share of draws reaches it with the required confidence; where no site shows it, a search from the plan's own is
//! tried too. Where a smaller site is within noise of that one and its share of draws alone meets the chance, the smaller is taken; so it
//! is where a chance is missed by no more than noise, as no size decides it then. The answer is tested once more on draws it was not
//! chosen by; where no site shows each chance and these miss one by no more than noise, four times as many decide. The numbers below are our
//! choice.

mod along;
mod answer;
pub mod chance;
mod finish;
mod grid;
mod judge;
mod question;
mod refuse;
pub mod search;
mod sites;
mod start_up;
mod stopped;
mod units;

pub use answer::{
    Along, AlongPoint, AlongShare, Cause, Demand, Difference, Met, Missed, PublishedRule, Refusal,
    ReversalFound, Risk, SizedSite, SizingAnswer, StartUp, Take, UnitChange, Variable,
};
pub use grid::{Grid, NAMES, Reckoned, SizeAxis};
pub use judge::{Judge, Sample};
pub use question::{Wanted, wanted};
pub use stopped::Stopped;

use super::run::RunError;
use crate::monte_carlo::ensemble::Ensemble;
use crate::monte_carlo::{Draws, Study, StudyError, Watch, design};
use crate::scenario::{Plan, SizeError};
use judge::{Values, draws, values};
use search::{Pace, Point, Sites};
use std::fmt;

/// Most sites asked about on the way to one that meets the targets, and on the way to a cheaper one, by few draws.
const FAR: usize = 30;
/// The same by all draws.
const NEAR: usize = 24;
/// Strides of the search by few draws, as shares of a size: the first and the last.
const STRIDES: (f64, f64) = (0.25, 0.1);
/// Most times the search is made stricter when a fresh seed falls short.
const ROUNDS: u32 = 2;
/// Draws that settle the answer, if none are asked for: a whole hypercube, whose shares move less from seed to seed than those of a part.
pub const SETTLING_DRAWS: u64 = design::BLOCK as u64;
/// Times as many draws of a fresh seed decide where no site shows each chance and those of the verification miss one by no more than noise.
const CLOSER: u64 = 4;
/// Distance of fresh seeds from the seed of the search.
const FRESH: u64 = 1000;

/// Why there is no answer.
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
    /// The plan has no targets, and the questions of its verdict ask about a settled year that it does not seek: the input is wrong.
    NoSettledYear {
        /// Days of the run.
        days: u32,
        /// Most years of which a settled one is sought.
        most_years: u32,
    },
    /// No draw gives an answer; what went wrong in the first.
    NoDraw(String),
    /// So few draws cannot show a chance: the input is wrong.
    TooFewDraws {
        /// Name of the target.
        figure: String,
        /// Draws given.
        given: u64,
        /// Draws needed.
        needed: u64,
    },
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
            Self::NoSettledYear { days, most_years } => write!(
                f,
                "without targets a site is sized by its verdict, which asks about a settled year; a run of {days} days that seeks it \
                 within {most_years} years has none"
            ),
            Self::NoDraw(message) => write!(f, "no draw gives an answer: {message}"),
            Self::TooFewDraws { figure, given, needed } => {
                write!(
                    f,
                    "{given} draws are too few to show the chance required of {figure}; at least {needed} are needed"
                )
            }
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

/// Finds a cheap site that meets the targets of the plan, or the nearest and why none does. `search` are the draws of a site in the
/// search; `verify` is the number of draws by which the answer and its neighbours are settled, and of draws of a fresh seed by which it is
/// verified.
///
/// # Errors
/// [`SizingError`]; [`SizingError::Stopped`] with what was known when `watch` was stopped.
pub fn size(plan: &Plan, search: &Draws, verify: u64, watch: &Watch) -> Result<SizingAnswer, SizingError> {
    let study = Study::of(plan)?;
    let wanted = wanted(plan)?;
    let confidence = plan.sizing.confidence;
    for w in wanted.iter().filter(|w| w.target.chance < 1.0) {
        let fewest = chance::fewest(w.target.chance, confidence);
        if verify < fewest {
            let figure = w.name().to_owned();
            return Err(SizingError::TooFewDraws { figure, given: verify, needed: fewest });
        }
    }
    let sample = Sample { all: search.between(0, verify), quick: search.to.min(verify), confidence };
    let mut judge = Judge::new((plan, &study, watch), Grid::of(plan), wanted, sample);
    let mut chosen = None;
    match answered(&mut judge, search, &mut chosen) {
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
    if let Some(rough) = rough(judge)? {
        choose(judge, &rough, chosen)?;
    }
    if chosen.is_none() {
        // few draws may miss a chance that all of them meet
        let nearest = refuse::nearest(judge)?;
        choose(judge, &nearest, chosen)?;
    }
    if let Some(chosen) = chosen.as_ref().filter(|chosen| chosen.good || chosen.shown) {
        return finish::answer(judge, search, chosen);
    }
    let nearest = refuse::at_its_limits(judge)?;
    if nearest.good {
        finish::answer(judge, search, &nearest)
    } else {
        refuse::answer(judge, search, &nearest)
    }
}

/// The site chosen, with the draws that verified it.
struct Chosen {
    point: Point,
    fresh_seed: u64,
    fresh: Values,
    made: Ensemble,
    raised: u32,
    /// Whether the draws of the search show each chance with the confidence asked; else their share alone meets it.
    shown: bool,
    /// Whether the share of the fresh draws meets each chance.
    good: bool,
}

/// A cheap site by few draws: from the nearer of a calculation by hand and the plan's own. None if none is found.
fn rough(judge: &mut Judge<'_>) -> Result<Option<Point>, SizingError> {
    judge.set_quickly(true);
    let found = roughly(judge);
    judge.set_quickly(false);
    found
}

fn roughly(judge: &mut Judge<'_>) -> Result<Option<Point>, SizingError> {
    let (hand, plan) = (judge.grid.at_hand(), judge.grid.at_plan());
    let met = [judge.meets(&hand)?, judge.meets(&plan)?];
    let plan_better = match met {
        [true, true] => judge.cost(&plan) < judge.cost(&hand),
        [false, false] => judge.farther(&plan, &hand) < 0.0,
        [_, met] => met,
    };
    let from = if plan_better { plan } else { hand };
    judge.look_at(&from)?;
    let way = pace(judge, &from);
    let Some(met) = search::towards(judge, &from, &way)? else { return Ok(None) };
    judge.look_at(&met)?;
    let way = pace(judge, &met);
    search::cheapen(judge, &met, &way).map(Some)
}

/// Strides of the search by few draws about a site.
fn pace(judge: &Judge<'_>, about: &Point) -> Pace {
    let [from, to] = [STRIDES.0, STRIDES.1].map(|share| judge.grid.strides(about, share));
    Pace { from, to, most: FAR }
}

/// Strides of the search by all draws about a site, down to single steps.
fn near_pace(judge: &Judge<'_>, about: &Point) -> Pace {
    Pace { from: judge.grid.strides(about, STRIDES.1), ..Pace::single(NEAR) }
}

/// Searches by all draws, and more strictly while a fresh seed falls short of a chance asked. What is chosen is kept as it is found.
fn choose(judge: &mut Judge<'_>, rough: &Point, chosen: &mut Option<Chosen>) -> Result<(), SizingError> {
    let mut confidence = judge.plan.sizing.confidence;
    judge.set_confidence(confidence);
    let mut from = *rough;
    for raised in 0..=ROUNDS {
        let Some((found, sure)) = surely(judge, &from, raised == 0)? else { break };
        let found = if raised == 0 { or_from_plan(judge, found)? } else { found };
        let point = if raised == 0 && sure { smaller_within_noise(judge, &found)? } else { found };
        let verified = verified(judge, &point, raised, !sure)?;
        let good = verified.good;
        *chosen = Some(Chosen { shown: sure && point == found, ..verified });
        if good || !sure {
            break;
        }
        // a site taken within noise is not taken again; one that was shown must be shown more surely
        if raised > 0 || point == found {
            confidence = 1.0 - 0.25 * (1.0 - confidence);
        }
        judge.set_confidence(confidence);
        from = found;
    }
    Ok(())
}

/// A site with its draws of a fresh seed, not shown by those of the search. Where it is the `last` that may be an answer, and a share of these
/// draws misses a chance by no more than noise, more of them decide.
fn verified(judge: &Judge<'_>, point: &Point, raised: u32, last: bool) -> Result<Chosen, SizingError> {
    let all = judge.all_draws();
    let fresh_seed = all.seed.wrapping_add(FRESH * u64::from(raised + 1));
    let sized = judge.plan.resized(&judge.grid.size(point)).map_err(SizingError::Size)?;
    let made_of = |from: u64, to: u64| {
        draws(&sized, judge.study, &Draws { seed: fresh_seed, from, to, ..all }, judge.watch)
    };
    let each = |fresh: &Values, holds: fn(&Wanted, &[f64]) -> bool| {
        judge.wanted.iter().zip(fresh).all(|(wanted, values)| holds(wanted, values))
    };
    let mut made = made_of(all.from, all.to)?;
    let mut fresh = values(&made, &judge.wanted);
    if last && !each(&fresh, Wanted::meets_chance) && each(&fresh, Wanted::may_meet_chance) {
        made.append(made_of(all.to, CLOSER * all.to)?);
        fresh = values(&made, &judge.wanted);
    }
    let good = each(&fresh, Wanted::meets_chance);
    Ok(Chosen { point: *point, fresh_seed, fresh, made, raised, shown: false, good })
}

/// [`settle`], from a site or else from the plan's own, and whether each chance is shown with the confidence asked. `or_even` settles for a
/// share of draws that meets each chance where no site shows them.
fn surely(judge: &mut Judge<'_>, from: &Point, or_even: bool) -> Result<Option<(Point, bool)>, SizingError> {
    if let Some(found) = settle_or_from_plan(judge, from)? {
        return Ok(Some((found, true)));
    }
    if !or_even {
        return Ok(None);
    }
    judge.set_confidence(judge::EVEN);
    settle_or_from_plan(judge, from).map(|found| found.map(|found| (found, false)))
}

fn settle_or_from_plan(judge: &mut Judge<'_>, from: &Point) -> Result<Option<Point>, SizingError> {
    match settle(judge, from)? {
        None => {
            let plan = judge.grid.at_plan();
            settle(judge, &plan)
        }
        found => Ok(found),
    }
}

/// The site found, or a cheaper one below the plan's own, where that costs less and meets each chance: few draws may have led past it.
fn or_from_plan(judge: &mut Judge<'_>, found: Point) -> Result<Point, SizingError> {
    let plan = judge.grid.at_plan();
    if judge.cost(&plan) >= judge.cost(&found) || !judge.meets_whole(&plan)? {
        return Ok(found);
    }
    let pace = near_pace(judge, &plan);
    let cheaper = search::cheapen(judge, &plan, &pace)?;
    for point in [cheaper, plan] {
        if judge.meets_whole(&point)? {
            return Ok(point);
        }
    }
    Ok(found)
}

/// From a site by few draws to the cheapest of its neighbourhood that shows each chance by all draws. None if none does.
fn settle(judge: &mut Judge<'_>, from: &Point) -> Result<Option<Point>, SizingError> {
    let (mut at, mut good) = (*from, None);
    // a site that is expected to meet the targets may turn out not to
    for _ in 0..=ROUNDS {
        judge.look_at(&at)?;
        let pace = near_pace(judge, &at);
        let Some(met) = search::towards(judge, &at, &pace)? else { break };
        at = search::cheapen(judge, &met, &pace)?;
        if judge.meets_whole(&at)? {
            return Ok(Some(at));
        }
        // where it began to get cheaper may do so itself; the draws made since lead elsewhere from there
        if judge.meets_whole(&met)? {
            (at, good) = (met, Some(met));
        }
    }
    Ok(good)
}

/// The cheapest site of a neighbourhood that is within noise of another, and meets by its draws each chance that the other meets. A chance
/// that the other misses hardly moves with the sizes between them: it is left as it is, and decides no size.
fn smaller_within_noise(judge: &mut Judge<'_>, than: &Point) -> Result<Point, SizingError> {
    judge.look_at(than)?;
    judge.set_anchor(Some(*than));
    let found = search::cheapen(judge, than, &Pace::single(NEAR));
    let found = match found {
        Ok(point) => judge.meets_whole(&point).map(|meets| if meets { point } else { *than }),
        Err(error) => Err(error),
    };
    judge.set_anchor(None);
    found
}
