//! Ranges after the prints: draws of the rates, weighed by how well they give what others have published of whole trials, narrow the
//! rows of decay, intake and denitrification.
//!
//! Every rate and every figure of an ingredient is drawn from its range as printed. The checks of beds are run at each draw, and the
//! draw is weighed by the likelihood of what was published. The weighted 5, 50 and 95 % points of a row are its range after the prints.
//!
//! Which prints count is settled by rules, not by hand: see [`LeftOut`]. A first look at the draws finds those that no rate can reach and those
//! that say nothing of these rows; then only the checks that count are run at all draws.
//!
//! What is learnt of other rows is not used: it would be knowledge of the trials' worms, not of those of a site.

mod answer;
mod cover;
mod drift;
mod outcome;
mod rows;
mod sound;
mod weights;

pub use answer::{LEAST_EFFECTIVE, LeftOutCheck, NarrowAnswer, PairAnswer, PrintAnswer, SourceAnswer};
pub use cover::{Coverage, Foretold};
pub use drift::{Drift, drifts};
pub use outcome::{ModelError, Outcome};
pub use rows::RowAnswer;
pub use sound::LeftOut;

use super::drawn::{Drawn, FAMILIES, Family, Outcomes, cases};
use super::{Case, Values, beds_gaps, central};
use crate::monte_carlo::Watch;
use crate::monte_carlo::dependence::rank_of_pearson;
use crate::monte_carlo::design::BLOCK;
use crate::monte_carlo::summary::quantile;
use crate::scenario::AssembleError;
use outcome::Print;
use rows::{ROWS, correlation, moments};
use std::fmt;
use weights::{Source, effective, weights};

/// Draws of the first look. Our choice: a rank correlation is known to 0.03.
const LOOK: u64 = 1000;
/// How far a rank correlation of the first look may be off that of all draws. Our choice: more than three times its error.
const LOOSE: f64 = 0.1;
/// Farthest that a source alone may move a row, in standard deviations of its range as printed.
const FARTHEST: f64 = 1.0;
/// What to narrow with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NarrowQuestion {
    /// Draws.
    pub draws: u64,
    /// Their seed.
    pub seed: u64,
    /// Threads; the answer is the same with any number.
    pub threads: usize,
    /// Error of the model.
    pub error: ModelError,
}

impl NarrowQuestion {
    /// Runs of the checks.
    pub const fn runs(&self) -> u64 {
        self.draws + self.look()
    }

    const fn look(&self) -> u64 {
        if self.draws < LOOK { self.draws } else { LOOK }
    }
}

/// Why nothing could be narrowed.
#[derive(Debug)]
pub enum NarrowError {
    /// The checks cannot be made: a fault of the program.
    Assemble(AssembleError),
    /// The draws cannot be made: a fault of the program.
    Undrawn,
    /// The work was stopped.
    Stopped,
    /// No print is left to weigh draws by.
    NoPrint,
}

impl fmt::Display for NarrowError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Assemble(error) => error.fmt(f),
            Self::Undrawn => write!(f, "the rates of the worked site cannot be drawn"),
            Self::Stopped => {
                write!(f, "the work was stopped before all draws were made; nothing is narrowed")
            }
            Self::NoPrint => write!(f, "no published figure is left to weigh draws by"),
        }
    }
}

impl std::error::Error for NarrowError {}

/// Draws that were run.
struct Weighed {
    outcomes: Vec<Outcomes>,
    sources: Vec<Source>,
}

impl Weighed {
    fn figures(&self) -> Vec<&[f64]> {
        self.outcomes.iter().map(|one| one.figures.as_slice()).collect()
    }
}

/// Figures of a check by draw.
fn of_print(outcomes: &[Outcomes], place: usize) -> Vec<f64> {
    outcomes.iter().map(|one| one.figures[place]).collect()
}

/// Scores of each row by draw.
fn by_row(outcomes: &[Outcomes]) -> Vec<Vec<f64>> {
    (0..ROWS.len()).map(|row| outcomes.iter().map(|one| one.scores[row]).collect()).collect()
}

/// Narrows the rows.
///
/// # Errors
/// [`NarrowError`].
pub fn narrow(question: &NarrowQuestion, watch: &Watch) -> Result<NarrowAnswer, NarrowError> {
    let drawn = Drawn::new(question.seed, question.draws).ok_or(NarrowError::Undrawn)?;
    let Look { families, mut prints, mut left_out } = first_look(question, watch)?;
    let outcomes = made(&drawn, &families, question, watch)?;
    let scores = by_row(&outcomes);
    prints.retain(|print| {
        let why = sound::by_draws(print, &of_print(&outcomes, print.place), &scores, sound::BEARING);
        left_out.extend(why.clone().map(|why| left(&print.case, why)));
        why.is_none()
    });
    let mut weighed = Weighed { outcomes, sources: by_source(prints) };
    let mut likelihoods: Vec<Vec<f64>> = {
        let figures = weighed.figures();
        weighed.sources.iter().map(|source| source.log_likelihoods(&figures, &question.error)).collect()
    };
    let alone: Vec<Vec<f64>> = likelihoods
        .iter()
        .map(|one| {
            let alone = weights(one);
            scores.iter().map(|row| moments(row, &alone).0).collect()
        })
        .collect();
    let refused = |place: usize| alone[place].iter().any(|pull: &f64| pull.abs() > FARTHEST);
    for place in (0..weighed.sources.len()).rev().filter(|place| refused(*place)).collect::<Vec<usize>>() {
        let source = weighed.sources.remove(place);
        let _ = likelihoods.remove(place);
        left_out.extend(source.prints.iter().map(|print| left(&print.case, LeftOut::Refused)));
    }
    if weighed.sources.is_empty() {
        return Err(NarrowError::NoPrint);
    }
    Ok(answer(question, &weighed, &scores, &likelihoods, left_out))
}

fn left(case: &Case, why: LeftOut) -> LeftOutCheck {
    LeftOutCheck { key: case.key, source: case.source, why }
}

fn made(
    drawn: &Drawn,
    families: &[Family],
    question: &NarrowQuestion,
    watch: &Watch,
) -> Result<Vec<Outcomes>, NarrowError> {
    let places: Option<Vec<usize>> = ROWS.iter().map(|key| drawn.study.place(key)).collect();
    let places = places.ok_or(NarrowError::Undrawn)?;
    let all = drawn.outcomes(families, &places, question.threads, watch);
    if watch.is_stopped() { Err(NarrowError::Stopped) } else { Ok(all.into_iter().flatten().collect()) }
}

/// What a first look at the draws shows.
struct Look {
    /// Families that hold a print to weigh draws by.
    families: Vec<Family>,
    /// These prints, with their places among the figures of these families.
    prints: Vec<Print>,
    /// Checks that are left out.
    left_out: Vec<LeftOutCheck>,
}

/// Runs every check at some draws.
fn first_look(question: &NarrowQuestion, watch: &Watch) -> Result<Look, NarrowError> {
    let drawn = Drawn::new(question.seed, question.look()).ok_or(NarrowError::Undrawn)?;
    let outcomes = made(&drawn, &FAMILIES, question, watch)?;
    let rows = by_row(&outcomes);
    let keys = drawn.study.quantities().iter().map(|quantity| quantity.key);
    let rates: Vec<&'static str> = keys.filter(|key| !key.starts_with("ingredients.")).collect();
    let values = Values::at(&central).map_err(NarrowError::Assemble)?;
    let mut look = Look { families: Vec::new(), prints: Vec::new(), left_out: Vec::new() };
    let (mut place, mut kept) = (0, 0);
    for family in FAMILIES {
        let known = |case: Case| Case { gap: beds_gaps::known(case.key).or(case.gap), ..case };
        let here: Vec<Case> = cases(&[family], &values).into_iter().map(known).collect();
        let before = look.prints.len();
        for (n, case) in here.iter().enumerate() {
            let print = Print::of(case, kept + n);
            let figures = || of_print(&outcomes, place + n);
            let why = sound::by_kind(case, &rates)
                .or_else(|| sound::by_draws(&print, &figures(), &rows, sound::BEARING - LOOSE));
            match why {
                Some(why) => look.left_out.push(left(case, why)),
                None => look.prints.push(print),
            }
        }
        place += here.len();
        if look.prints.len() > before {
            look.families.push(family);
            kept += here.len();
        }
    }
    Ok(look)
}

/// Prints by source, in the order of their keys.
fn by_source(prints: Vec<Print>) -> Vec<Source> {
    let mut sources: Vec<Source> = Vec::new();
    for print in prints {
        match sources.iter_mut().find(|source| source.key == print.case.source) {
            Some(source) => source.prints.push(print),
            None => sources.push(Source { key: print.case.source, prints: vec![print] }),
        }
    }
    sources.sort_by_key(|source| source.key);
    sources
}

fn answer(
    question: &NarrowQuestion,
    weighed: &Weighed,
    scores: &[Vec<f64>],
    likelihoods: &[Vec<f64>],
    left_out: Vec<LeftOutCheck>,
) -> NarrowAnswer {
    let figures = weighed.figures();
    let sum = |draw: usize| likelihoods.iter().map(|one| one[draw]).sum();
    let all = weights(&(0..figures.len()).map(sum).collect::<Vec<f64>>());
    let (foretold, before, after) =
        cover::each_left_out(&weighed.sources, likelihoods, &figures, &question.error);
    let sources =
        weighed.sources.iter().zip(likelihoods).zip(foretold).map(|((source, likelihood), foretold)| {
            let alone = weights(likelihood);
            let prints = source.prints.iter().zip(foretold);
            SourceAnswer {
                key: source.key,
                effective: effective(&alone),
                pulls: scores.iter().map(|row| moments(row, &alone).0).collect(),
                prints: prints
                    .map(|(print, foretold)| printed(print, foretold, &figures, &question.error))
                    .collect(),
            }
        });
    NarrowAnswer {
        version: env!("CARGO_PKG_VERSION"),
        seed: question.seed,
        draws: figures.len(),
        error: question.error,
        within_source: weights::WITHIN_SOURCE,
        effective: effective(&all),
        rows: ROWS.iter().zip(scores).filter_map(|(key, row)| RowAnswer::of(key, row, &all)).collect(),
        correlations: pairs(scores, &all),
        sources: sources.collect(),
        left_out,
        before,
        after,
    }
}

fn printed(print: &Print, foretold: Foretold, figures: &[&[f64]], error: &ModelError) -> PrintAnswer {
    PrintAnswer {
        key: print.case.key,
        outcome: print.outcome,
        relation: print.case.relation,
        printed: print.case.printed,
        unit: print.case.unit,
        error: print.error(error),
        median: median(figures.iter().take(BLOCK).map(|figures| figures[print.place])),
        foretold,
    }
}

fn median(figures: impl Iterator<Item = f64>) -> f64 {
    let mut figures: Vec<f64> = figures.filter(|figure| figure.is_finite()).collect();
    figures.sort_by(f64::total_cmp);
    if figures.is_empty() { f64::NAN } else { quantile(&figures, 0.5) }
}

/// Rank correlations of all pairs of rows, from the correlations of their scores, which are near normal.
fn pairs(scores: &[Vec<f64>], all: &[f64]) -> Vec<PairAnswer> {
    let even = vec![1.0 / all.len() as f64; all.len()];
    let rank =
        |a: usize, b: usize, weights: &[f64]| rank_of_pearson(correlation(&scores[a], &scores[b], weights));
    let mut pairs = Vec::new();
    for (a, one) in ROWS.into_iter().enumerate() {
        for (b, other) in ROWS.into_iter().enumerate().skip(a + 1) {
            pairs.push(PairAnswer { a: one, b: other, before: rank(a, b, &even), after: rank(a, b, all) });
        }
    }
    pairs
}
