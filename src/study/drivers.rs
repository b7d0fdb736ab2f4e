//! The command *drivers*: which unknowns matter most, and what to measure first.
//!
//! Rank regressions need no further runs: the values of a draw follow from its seed and number. Sobol' indices need runs of their
//! own; they are computed for the leading unknowns only, on runs without chance.

use super::measurements::{MEASUREMENTS, measurement_of};
use super::sensitivity::{Estimate, SensitivityError, rank_regression};
use super::sobol::{SobolAnswer, SobolQuestion, check_sobol, sobol_answer};
use super::uncertainty::UncertaintyError;
use crate::literature::{self, Evidence};
use crate::monte_carlo::shard::Shard;
use crate::monte_carlo::{Study, Watch, design};
use crate::quantity::did_you_mean;
use crate::scenario::Plan;
use crate::scenario::sizing::nearest_figure;
use crate::trace::figures;
use serde::Serialize;
use std::fmt;

/// Most draws that a regression uses, the first ones: the values of every unknown in each are held in memory. Our choice.
const MOST_USED: usize = 10_000;
/// Figures explained if none are named, by their names in [`figures::TABLE`].
pub const USUAL_FIGURES: [&str; 6] = [
    "turned_away_share",
    "castings_harvested_dry",
    "stock_end",
    "nitrogen_to_air_share",
    "bed_hottest",
    "castings_carbon_to_nitrogen",
];
/// Most unknowns that Sobol' indices are asked of where no number is given. Our choice.
pub const USUAL_RATES: usize = 12;
/// What the ranks cannot see.
const LIMIT: &str = "Rank correlations see only what rises or falls throughout: a rate that acts by a hump, or only together \
with another, looks idle. Sobol' indices (--sobol ROWS) see both, of the leading rates only. Chance from day to day moves the \
figures too; no measurement of a rate takes that away.";

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum DriversError {
    /// No figure of that name.
    UnknownFigure {
        /// The name.
        given: String,
    },
    /// The draws are of another scenario than the plan.
    OtherScenario {
        /// Hash of the scenario given.
        given: String,
        /// Hash of that of the draws.
        draws: String,
    },
    /// Nothing is drawn.
    NothingDrawn,
    /// Too few draws with figures for so many unknowns.
    TooFewDraws {
        /// Draws available.
        given: usize,
        /// Draws needed at least.
        needed: usize,
    },
    /// Too few fitted sites for so many unknowns: draws take the sites in turn.
    TooFewSites {
        /// Sites of the fit.
        sites: usize,
        /// Sites needed at least.
        needed: usize,
    },
    /// Rows of a Sobol' design out of [`ROWS`], or no unknown to look at.
    Rows {
        /// Rows asked for.
        given: usize,
    },
    /// The draws themselves failed.
    Draws(UncertaintyError),
    /// The indices cannot be computed.
    Sensitivity(SensitivityError),
}

/// Least and most base rows of a Sobol' design that can be asked for. Our choice.
pub const ROWS: (usize, usize) = (16, 65_536);

impl DriversError {
    /// What would help, for a reader at the command line.
    pub fn hint(&self) -> String {
        match self {
            Self::UnknownFigure { given } => {
                let allowed = || format!("allowed: {}", figures::TABLE.map(|figure| figure.name).join(", "));
                nearest_figure(given).map_or_else(allowed, did_you_mean)
            }
            Self::OtherScenario { .. } => {
                "give the scenario file that the draws were made with, or make new draws".to_owned()
            }
            Self::NothingDrawn => {
                "every unknown is fixed in `rates` of the scenario; remove some of them".to_owned()
            }
            Self::TooFewDraws { needed, .. } => {
                format!("use --draws {} or more", (2 * needed).next_multiple_of(250))
            }
            Self::TooFewSites { needed, .. } => {
                format!("fit the log again with --members {} or more", needed.next_multiple_of(50))
            }
            Self::Rows { .. } => {
                format!("allowed: {} to {}; 512 separate the leading rates", ROWS.0, ROWS.1)
            }
            Self::Draws(error) => error.hint(),
            Self::Sensitivity(_) => "more draws or rows may help".to_owned(),
        }
    }
}

impl fmt::Display for DriversError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownFigure { given } => write!(f, "no figure is named `{given}`"),
            Self::OtherScenario { given, draws } => {
                write!(
                    f,
                    "the draws were made with another scenario (hash {draws}; the file given has {given})"
                )
            }
            Self::NothingDrawn => write!(f, "this plan has no unknowns to draw"),
            Self::TooFewDraws { given, needed } => {
                write!(
                    f,
                    "{given} draws with figures are too few; the unknowns of this plan need at least {needed}"
                )
            }
            Self::TooFewSites { sites, needed } => {
                write!(
                    f,
                    "{sites} fitted sites are too few; the unknowns of this plan need at least {needed}"
                )
            }
            Self::Rows { given } => write!(f, "a Sobol' design cannot have {given} rows"),
            Self::Draws(error) => error.fmt(f),
            Self::Sensitivity(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for DriversError {}

/// One unknown and how a figure follows it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Driver {
    /// Key of the literature.
    pub key: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// Unit of its values.
    pub unit: &'static str,
    /// How well its published range is founded, by the name of an [`Evidence`].
    pub evidence: &'static str,
    /// Partial rank correlation with the figure, -1 to 1.
    pub partial: Estimate,
    /// Part of the variance of the figure's ranks that it explains, 0 to 1 (a little below 0 by chance).
    pub part: f64,
}

/// Standard errors from zero at which a correlation is clear: of some hundred idle unknowns hardly one passes 3 by chance, twelve
/// of 242 pass the 1.96 of a 95 % interval.
const CLEAR: f64 = 3.0;

impl Driver {
    /// Whether the partial correlation differs from zero by three standard errors of its Fisher transform.
    pub fn is_clear(&self) -> bool {
        let Estimate { value, low, high } = self.partial;
        let error = (high.atanh() - low.atanh()) / (2.0 * 1.96);
        // ends at 1 leave no doubt and no finite error
        if error.is_finite() { value.atanh().abs() > CLEAR * error } else { low > 0.0 || high < 0.0 }
    }
}

/// What a measurement would be worth for a figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Worth {
    /// What to do, in words.
    pub measurement: &'static str,
    /// Part of the variance of the figure's ranks that the unknowns it informs explain together; only clear ones count.
    pub part: f64,
    /// Keys of these unknowns with their evidence, weakly founded ones first.
    pub rates: Vec<(&'static str, &'static str)>,
}

/// What moves one figure; name, unit and words are those of [`figures::TABLE`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FigureDrivers {
    /// Name in files.
    pub name: &'static str,
    /// Unit, SI.
    pub unit: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// Number of draws that have it; the others have nothing to measure.
    pub draws: usize,
    /// Why it has no drivers; the lists below are then empty. None if it has.
    pub nothing: Option<String>,
    /// Part of the variance of its ranks that all unknowns together explain, 0 to 1.
    pub explained: f64,
    /// Every unknown that moves freely, the largest partial correlation first.
    pub drivers: Vec<Driver>,
    /// Measurements that inform a clear unknown, the most valuable first.
    pub measurements: Vec<Worth>,
}

/// The answer to *drivers*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DriversAnswer {
    /// Version of the program that made the draws.
    pub version: String,
    /// Name of the site.
    pub name: String,
    /// Hash of the scenario text.
    pub scenario: String,
    /// Seed of the draws.
    pub seed: u64,
    /// Draws used: the first ones with figures, 10 000 at most.
    pub draws: usize,
    /// Draws that gave figures.
    pub answered: usize,
    /// Whether draws of the study are missing, or the Sobol' runs were ended early.
    pub partial: bool,
    /// Number of the rates and figures of ingredients that are drawn.
    pub unknowns_drawn: usize,
    /// What moves each figure, in the order asked for.
    pub figures: Vec<FigureDrivers>,
    /// Sobol' indices. None if they were not requested.
    pub sobol: Option<SobolAnswer>,
    /// What the ranks cannot see.
    pub limit: &'static str,
    /// Numbers of the draws used; in that file too.
    #[serde(skip)]
    pub numbers: Vec<u64>,
    /// Each unknown that moves freely, by its key, with its value in each of these draws; in a file of its own.
    #[serde(skip)]
    pub values: Vec<(&'static str, Vec<f64>)>,
}

/// Places of figures in [`figures::TABLE`] by their names, each once; the usual ones if none are named.
///
/// # Errors
/// [`DriversError::UnknownFigure`] for a name that is no figure.
pub fn chosen_figures(names: &[String]) -> Result<Vec<usize>, DriversError> {
    let usual = || USUAL_FIGURES.iter().filter_map(|name| figures::place(name)).collect();
    if names.is_empty() {
        return Ok(usual());
    }
    let mut places = Vec::new();
    for name in names {
        let place =
            figures::place(name).ok_or_else(|| DriversError::UnknownFigure { given: name.clone() })?;
        if !places.contains(&place) {
            places.push(place);
        }
    }
    Ok(places)
}

/// Least draws with figures that a regression on so many unknowns needs: 30 more. Our choice.
fn draws_needed(unknowns: usize) -> usize {
    // a few more than inputs, or the correlations are of chance alone
    unknowns + 30
}

/// Whether so many draws can rank the unknowns of a plan; to be found before the draws are made.
///
/// # Errors
/// [`DriversError::TooFewDraws`], [`DriversError::TooFewSites`], [`DriversError::NothingDrawn`], [`DriversError::Draws`].
pub fn check_draws(plan: &Plan, draws: u64) -> Result<(), DriversError> {
    let unknowns = Study::of(plan).map_err(|e| DriversError::Draws(e.into()))?.free().len();
    let (given, needed) = (usize::try_from(draws).unwrap_or(usize::MAX), draws_needed(unknowns));
    if unknowns == 0 {
        return Err(DriversError::NothingDrawn);
    }
    enough(plan, given, needed)
}

/// Whether draws, and where a plan is fitted its sites, are enough to tell the unknowns apart.
fn enough(plan: &Plan, given: usize, needed: usize) -> Result<(), DriversError> {
    if let Some(sites) = plan.fitted().map(|fitted| fitted.members.len()).filter(|sites| *sites < needed) {
        return Err(DriversError::TooFewSites { sites, needed });
    }
    if given < needed { Err(DriversError::TooFewDraws { given, needed }) } else { Ok(()) }
}

/// What drives the chosen figures (by place) in the draws of a shard. `scenario` is the hash of the text of the plan, so that draws of
/// another scenario are refused. `watch` counts and stops the runs of a Sobol' design.
///
/// # Errors
/// [`DriversError`]: draws of another scenario, too few of them, nothing that is drawn, or a Sobol' design out of range.
pub fn drivers(
    plan: &Plan,
    scenario: &str,
    shard: &Shard,
    chosen: &[usize],
    sobol: Option<&SobolQuestion>,
    watch: &Watch,
) -> Result<DriversAnswer, DriversError> {
    check_sobol(sobol)?;
    if shard.head.scenario != scenario {
        let (given, draws) = (scenario.to_owned(), shard.head.scenario.clone());
        return Err(DriversError::OtherScenario { given, draws });
    }
    let study = Study::of(plan).map_err(|e| DriversError::Draws(e.into()))?;
    let free = study.free();
    if free.is_empty() {
        return Err(DriversError::NothingDrawn);
    }
    let used = shard.ensemble.rows.len().min(MOST_USED);
    let needed = draws_needed(free.len());
    enough(plan, used, needed)?;
    let values = values_of(&study, &free, shard, used);
    let named = free.iter().map(|place| study.quantities()[*place].key);
    let explained: Vec<FigureDrivers> =
        chosen.iter().map(|place| figure_drivers(&study, &free, &values, shard, *place)).collect();
    let within = plan.without_later_years();
    let plan = if figures::need_later_years(chosen.iter().copied()) { plan } else { &within };
    let indices = sobol.map(|asked| sobol_answer(plan, &study, shard.head.seed, &explained, asked, watch));
    let indices = indices.transpose()?;
    let ended = indices.as_ref().is_some_and(|s| s.rows_used < s.rows && watch.is_stopped());
    Ok(DriversAnswer {
        version: shard.head.version.clone(),
        name: shard.head.name.clone(),
        scenario: scenario.to_owned(),
        seed: shard.head.seed,
        draws: used,
        partial: !shard.missing().is_empty() || ended,
        answered: shard.ensemble.rows.len(),
        unknowns_drawn: study.quantities().len(),
        figures: explained,
        sobol: indices,
        limit: LIMIT,
        numbers: shard.ensemble.rows[..used].iter().map(|row| row.draw).collect(),
        values: named.zip(values).collect(),
    })
}

/// The values of every free rate in the first draws with figures, by rate.
fn values_of(study: &Study, free: &[usize], shard: &Shard, used: usize) -> Vec<Vec<f64>> {
    let rows = &shard.ensemble.rows[..used];
    let mut values = vec![Vec::with_capacity(used); free.len()];
    for block in rows.chunk_by(|a, b| design::block_of(a.draw) == design::block_of(b.draw)) {
        let strata = study.block(shard.head.seed, design::block_of(block[0].draw));
        for row in block {
            let draw = strata.draw(study, design::place_in_block(row.draw));
            for (list, place) in values.iter_mut().zip(free) {
                list.push(draw.values[*place]);
            }
        }
    }
    values
}

fn figure_drivers(
    study: &Study,
    free: &[usize],
    values: &[Vec<f64>],
    shard: &Shard,
    place: usize,
) -> FigureDrivers {
    let figure = &figures::TABLE[place];
    let used = values.first().map_or(0, Vec::len);
    let all = &shard.ensemble.rows[..used];
    let there: Vec<usize> = (0..used).filter(|row| all[*row].figures[place].value().is_some()).collect();
    let outcome: Vec<f64> = all.iter().filter_map(|row| row.figures[place].value()).collect();
    let mut found = FigureDrivers {
        name: figure.name,
        unit: figure.unit,
        what: figure.what,
        draws: there.len(),
        nothing: None,
        explained: 0.0,
        drivers: Vec::new(),
        measurements: Vec::new(),
    };
    let needed = draws_needed(free.len());
    if there.len() < needed {
        found.nothing = Some(format!(
            "only {} of {used} draws have it; the unknowns of this plan need at least {needed}",
            there.len()
        ));
        return found;
    }
    let picked: Vec<Vec<f64>> =
        values.iter().map(|list| there.iter().map(|row| list[*row]).collect()).collect();
    let inputs: Vec<&[f64]> = picked.iter().map(Vec::as_slice).collect();
    match rank_regression(&inputs, &outcome) {
        Ok(regression) => {
            let all = free.iter().zip(regression.partial).zip(regression.parts);
            found.drivers =
                all.map(|((place, partial), part)| driver(study, *place, partial, part)).collect();
            found.drivers.sort_by(|a, b| b.partial.value.abs().total_cmp(&a.partial.value.abs()));
            found.explained = regression.explained;
            found.measurements = worth(&found.drivers);
        }
        Err(error) => found.nothing = Some(error.to_string()),
    }
    found
}

fn driver(study: &Study, place: usize, partial: Estimate, part: f64) -> Driver {
    let key = study.quantities()[place].key;
    let known = literature::entry(key).expect("a study holds keys of the tables only");
    Driver { key, what: &known.name, unit: &known.unit, evidence: known.evidence.name(), partial, part }
}

/// How weakly a rate is founded: the weakest first.
fn weakness(evidence: &str) -> usize {
    let order = [
        Evidence::Assumed,
        Evidence::Memory,
        Evidence::Practice,
        Evidence::Derived,
        Evidence::SecondHand,
        Evidence::Read,
    ];
    order.iter().position(|e| e.name() == evidence).unwrap_or(order.len())
}

/// Measurements by what their rates explain together. Rates whose correlation may well be chance count for nothing.
fn worth(drivers: &[Driver]) -> Vec<Worth> {
    let mut all: Vec<Worth> = Vec::new();
    for (n, known) in MEASUREMENTS.iter().enumerate() {
        let mut mine: Vec<&Driver> =
            drivers.iter().filter(|d| d.is_clear() && measurement_of(d.key) == Some(n)).collect();
        let part: f64 = mine.iter().map(|d| d.part).sum();
        if part <= 0.0 {
            continue;
        }
        mine.sort_by_key(|d| weakness(d.evidence));
        let rates = mine.iter().map(|d| (d.key, d.evidence)).collect();
        all.push(Worth { measurement: known.what, part, rates });
    }
    all.sort_by(|a, b| b.part.total_cmp(&a.part));
    all
}
