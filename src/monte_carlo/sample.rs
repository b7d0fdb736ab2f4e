//! The uncertain quantities of a plan, and draws of them.

use super::dependence::{self, CorrelatedGroup, Correlation, DependenceError};
use super::distribution::{quantile, share_below, standard_normal};
use super::shares::ShareSet;
use super::{composition, design};
use crate::literature;
use crate::quantity::{Shape, Uncertain, UncertainError, did_you_mean};
use crate::scenario::plan::{Ranges, RateChoice};
use crate::scenario::{AssembleError, Fitted, Plan, assemble_with, central, narrowed};
use crate::trace::figures;
use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap};
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// An uncertain quantity of a plan: a rate, or a figure of an ingredient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UncertainQuantity {
    /// Key of the literature.
    pub key: &'static str,
    /// What is drawn, in the unit of the literature: its range there, after the prints or as printed, or the plan's.
    pub value: Uncertain,
    /// Best estimate without a fit: the central value of the literature or the plan's, also where the prints narrowed the range.
    pub best: f64,
}

/// Why a plan's uncertain quantities cannot be drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum StudyError {
    /// The plan cannot be assembled, so the values that the model needs are not known.
    Assemble(AssembleError),
    /// A key is in no table.
    UnknownKey {
        /// The key.
        key: String,
        /// A known one like it. None if nothing is near.
        nearest: Option<&'static str>,
    },
    /// A plan's range and shape do not fit together.
    Range {
        /// The key.
        key: String,
        /// The broken rule.
        error: UncertainError,
    },
    /// No shape has that name.
    Shape {
        /// The key.
        key: String,
        /// The name given.
        shape: String,
    },
    /// A share of a set was given a shape of its own.
    ShapeOfShare {
        /// The key.
        key: String,
        /// The shape given.
        shape: Shape,
    },
    /// Correlations that cannot hold.
    Dependence(DependenceError),
}

impl fmt::Display for StudyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Assemble(e) => e.fmt(f),
            Self::UnknownKey { key, nearest } => {
                write!(f, "no rate has the key `{key}`")?;
                nearest.map_or(Ok(()), |near| write!(f, "; {}", did_you_mean(near)))
            }
            Self::Range { key, error } => write!(f, "rates.{key}: {error}"),
            Self::Shape { key, shape } => write!(f, "rates.{key}: no shape is called \"{shape}\""),
            Self::ShapeOfShare { key, shape } => {
                write!(
                    f,
                    "rates.{key}: is drawn together with the other shares of its set and can have no shape of its own ({shape}); leave the shape out, or give a number to fix it"
                )
            }
            Self::Dependence(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for StudyError {}

impl From<AssembleError> for StudyError {
    fn from(e: AssembleError) -> Self {
        Self::Assemble(e)
    }
}

impl From<DependenceError> for StudyError {
    fn from(e: DependenceError) -> Self {
        Self::Dependence(e)
    }
}

/// The uncertain quantities of a plan, sorted by key, with all that is needed to draw them.
#[derive(Debug, Clone)]
pub struct Study {
    quantities: Vec<UncertainQuantity>,
    known: HashMap<&'static str, Known>,
    groups: Vec<CorrelatedGroup>,
    shares: Option<ShareSet>,
    fitted: Option<FittedColumns>,
}

/// Where the value of a key of the literature comes from in a draw.
#[derive(Debug, Clone, Copy)]
enum Known {
    /// Drawn: place among the quantities.
    Drawn(usize),
    /// The same in every draw: the plan's, or the literature's central one.
    Fixed(f64),
}

/// The keys of the literature with what a plan makes of them. A draw asks for each of them: one search answers.
fn known(plan: &Plan, quantities: &[UncertainQuantity]) -> HashMap<&'static str, Known> {
    let rows = literature::entries().iter().chain(literature::composition());
    let mut known: HashMap<&'static str, Known> =
        rows.map(|row| (row.key.as_str(), Known::Fixed(row.value.central()))).collect();
    for choice in &plan.rates {
        if let Some(value) = known.get_mut(choice.key.as_str()) {
            *value = Known::Fixed(choice.central);
        }
    }
    known.extend(quantities.iter().enumerate().map(|(place, q)| (q.key, Known::Drawn(place))));
    known
}

/// Fitted sites with the column of each quantity; `None` for one that keeps its range.
#[derive(Debug, Clone)]
struct FittedColumns {
    sites: Arc<Fitted>,
    columns: Vec<Option<usize>>,
}

impl FittedColumns {
    /// The columns of the quantities. In a variant that fixes a rate the shares of the set keep their ranges: with one of them fixed
    /// those of the sites would not sum to what is left.
    fn of(plan: &Plan, quantities: &[UncertainQuantity]) -> Option<Self> {
        let sites = Arc::clone(plan.fitted()?);
        let same = sites.keys.len() == quantities.len();
        let column = |q: &UncertainQuantity| {
            sites.place(q.key).filter(|_| same || q.value.shape() != Shape::Dirichlet)
        };
        Some(Self { columns: quantities.iter().map(column).collect(), sites })
    }

    /// Puts the values of a site into those of a draw.
    fn put(&self, site: &[f64], values: &mut [f64]) {
        for (value, column) in values.iter_mut().zip(&self.columns) {
            if let Some(column) = column {
                *value = site[*column];
            }
        }
    }
}

/// One draw: a value for each quantity, in the order of [`Study::quantities`].
#[derive(Debug, Clone, PartialEq)]
pub struct Draw {
    /// Values in the units of the literature.
    pub values: Vec<f64>,
}

/// The strata of a block of [`design::BLOCK`] draws, correlated; keep it for the draws of the block.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    seed: u64,
    number: u64,
    /// By quantity, then by place in the block.
    strata: Vec<Vec<usize>>,
}

impl Study {
    /// The uncertain quantities of a plan: every rate and every figure of an ingredient that the model uses with this plan
    /// and that has a range, with the correlations of [`dependence`] and [`composition::correlations`].
    ///
    /// A number in the plan fixes a rate. A range in the plan replaces that of the literature and keeps its shape if it
    /// gives none; a rate the literature does not draw becomes triangular. A range of no width fixes a rate. Rows that published trials
    /// narrow have their ranges and correlations after the prints, unless the plan asks for them as printed. The draws of a fitted
    /// plan are its sites in turn.
    ///
    /// # Errors
    /// [`StudyError`] when the plan cannot be assembled, or a rate of the plan has a range that does not fit its shape, or the wanted
    /// correlations cannot all hold.
    pub fn of(plan: &Plan) -> Result<Self, StudyError> {
        let quantities = quantities(plan)?;
        let keys: Vec<&str> = quantities.iter().map(|q| q.key).collect();
        let mut correlations = match plan.ranges {
            Ranges::AfterPrints => dependence::after_prints(),
            Ranges::AsPrinted => dependence::published(),
        };
        correlations.extend(composition::correlations(plan, &keys));
        Self::new(plan, quantities, &correlations)
    }

    /// As [`Study::of`], with other correlations. Those of quantities that are not drawn are passed over.
    ///
    /// # Errors
    /// As [`Study::of`], and [`StudyError::UnknownKey`] for a correlation of a key that is in no table.
    pub fn with_correlations(plan: &Plan, correlations: &[Correlation]) -> Result<Self, StudyError> {
        for key in correlations.iter().flat_map(|c| [&c.a, &c.b]) {
            entry(key)?;
        }
        Self::new(plan, quantities(plan)?, correlations)
    }

    fn new(
        plan: &Plan,
        quantities: Vec<UncertainQuantity>,
        correlations: &[Correlation],
    ) -> Result<Self, StudyError> {
        let keys: Vec<&str> = quantities.iter().map(|q| q.key).collect();
        let set: Vec<_> = (quantities.iter().enumerate())
            .filter(|(_, q)| q.value.shape() == Shape::Dirichlet)
            .map(|(place, q)| (place, q.value))
            .collect();
        Ok(Self {
            groups: dependence::groups(&keys, correlations)?,
            shares: ShareSet::new(&set),
            fitted: FittedColumns::of(plan, &quantities),
            known: known(plan, &quantities),
            quantities,
        })
    }

    /// The quantities, sorted by key.
    pub fn quantities(&self) -> &[UncertainQuantity] {
        &self.quantities
    }

    /// Groups of quantities that are correlated; a quantity is in one at most.
    pub fn groups(&self) -> &[CorrelatedGroup] {
        &self.groups
    }

    /// Shares that are drawn together. None if no share is drawn.
    pub fn shares(&self) -> Option<&ShareSet> {
        self.shares.as_ref()
    }

    /// The quantities that move a value: all but the last of the shares, which follows from the others.
    pub fn free(&self) -> Vec<usize> {
        let bound = self.shares.as_ref().and_then(|set| set.members().last().copied());
        (0..self.quantities.len()).filter(|place| Some(*place) != bound).collect()
    }

    /// Place of a key among the quantities. None if it is not drawn.
    pub fn place(&self, key: &str) -> Option<usize> {
        match self.known.get(key) {
            Some(Known::Drawn(place)) => Some(*place),
            _ => None,
        }
    }

    /// The value of any key of the literature in a draw: drawn, or the plan's, or the literature's central one.
    ///
    /// # Panics
    /// On a key that is in no table (a fault of ours).
    pub fn value(&self, draw: &Draw, key: &str) -> f64 {
        match self.known.get(key) {
            Some(Known::Drawn(place)) => draw.values[*place],
            Some(Known::Fixed(value)) => *value,
            None => panic!("no literature entry has the key {key}"),
        }
    }

    /// The strata of a block, by its number from 0. It depends on seed and number alone.
    pub fn block(&self, seed: u64, number: u64) -> Block {
        let mut strata: Vec<Vec<usize>> =
            self.quantities.iter().map(|q| design::strata(seed, q.key, number)).collect();
        for group in &self.groups {
            group.pair_up(&mut strata);
        }
        Block { seed, number, strata }
    }

    /// Draw `number`, made from nothing but seed and number.
    ///
    /// # Panics
    /// On a number of [`MOST_DRAWS`](super::generator::MOST_DRAWS) or more.
    pub fn draw(&self, seed: u64, number: u64) -> Draw {
        self.block(seed, design::block_of(number)).draw(self, design::place_in_block(number))
    }

    /// Draws of a seed by their numbers, in order.
    pub fn draws(&self, seed: u64, numbers: Range<u64>) -> Vec<Draw> {
        let blocks = design::block_of(numbers.start)..numbers.end.div_ceil(design::BLOCK as u64);
        blocks
            .map(|number| self.block(seed, number))
            .flat_map(|block| {
                let first = block.first();
                let those = first.max(numbers.start)..(first + design::BLOCK as u64).min(numbers.end);
                those.map(|number| block.draw(self, design::place_in_block(number))).collect::<Vec<Draw>>()
            })
            .collect()
    }

    /// Values at a uniform number for each quantity, as if they were not correlated: for designs that need independent ones.
    ///
    /// # Panics
    /// On fewer numbers than quantities.
    pub fn at(&self, uniforms: &[f64]) -> Draw {
        assert_eq!(uniforms.len(), self.quantities.len(), "one uniform number for each quantity");
        let mut values: Vec<f64> =
            self.quantities.iter().zip(uniforms).map(|(q, u)| self.alone(&q.value, *u)).collect();
        if let Some(set) = &self.shares {
            set.fill(uniforms, &mut values);
        }
        Draw { values }
    }

    /// Values at standard normal numbers, one for each quantity: those below which the same share of the range lies. The inverse of
    /// [`Block::scores`].
    ///
    /// # Panics
    /// On fewer numbers than quantities.
    pub fn at_scores(&self, scores: &[f64]) -> Draw {
        self.at(&scores.iter().map(|score| share_below(*score)).collect::<Vec<f64>>())
    }

    /// The draw in which every quantity has its best estimate: that of the fit, or the central value.
    pub fn central(&self) -> Draw {
        let mut values: Vec<f64> = self.quantities.iter().map(|q| q.best).collect();
        if let Some(fitted) = &self.fitted {
            fitted.put(&fitted.sites.central, &mut values);
        }
        Draw { values }
    }

    /// A quantity on its own; shares are filled in together later.
    fn alone(&self, value: &Uncertain, u: f64) -> f64 {
        if value.shape() == Shape::Dirichlet && self.shares.is_some() {
            value.central()
        } else {
            quantile(value, u)
        }
    }
}

impl Block {
    /// Number of the first draw of the block.
    pub fn first(&self) -> u64 {
        self.number * design::BLOCK as u64
    }

    /// The uniform number of every quantity for the draw at a place in the block.
    ///
    /// # Panics
    /// On a place of [`design::BLOCK`] or more.
    pub fn uniforms(&self, study: &Study, place: usize) -> Vec<f64> {
        let draw = self.first() + place as u64;
        (study.quantities.iter().zip(&self.strata))
            .map(|(q, strata)| {
                design::uniform(strata[place], design::jitter(self.seed, q.key, draw), design::BLOCK)
            })
            .collect()
    }

    /// The draw at a place in the block.
    ///
    /// # Panics
    /// On a place of [`design::BLOCK`] or more.
    pub fn draw(&self, study: &Study, place: usize) -> Draw {
        let mut draw = study.at(&self.uniforms(study, place));
        if let Some(fitted) = &study.fitted {
            fitted.put(fitted.sites.site(self.first() + place as u64), &mut draw.values);
        }
        draw
    }

    /// The draw at a place in the block as standard normal numbers, one for each quantity. Fitted sites do not count.
    ///
    /// # Panics
    /// On a place of [`design::BLOCK`] or more.
    pub fn scores(&self, study: &Study, place: usize) -> Vec<f64> {
        self.uniforms(study, place).into_iter().map(standard_normal).collect()
    }
}

fn entry(key: &str) -> Result<&'static literature::Entry, StudyError> {
    literature::entry(key)
        .ok_or_else(|| StudyError::UnknownKey { key: key.to_owned(), nearest: literature::nearest_key(key) })
}

/// The uncertain quantities among those that a plan uses, sorted by key.
fn quantities(plan: &Plan) -> Result<Vec<UncertainQuantity>, StudyError> {
    let mut quantities = Vec::new();
    for key in asked(plan)? {
        let known = entry(&key)?;
        let choice = plan.rates.iter().find(|choice| choice.key == key);
        let own = choice.map(|choice| replaced(choice, &known.value)).transpose()?;
        let best = own.unwrap_or(known.value).central();
        let value = own.or_else(|| narrowed(plan, &key)).unwrap_or(known.value);
        if value.is_drawn() {
            quantities.push(UncertainQuantity { key: &known.key, value, best });
        }
    }
    Ok(quantities)
}

/// Keys that the model uses when a plan is assembled and that its figures use, sorted.
fn asked(plan: &Plan) -> Result<BTreeSet<String>, AssembleError> {
    let keys = RefCell::new(BTreeSet::new());
    let get = |key: &str| {
        keys.borrow_mut().insert(key.to_owned());
        central(plan, key)
    };
    assemble_with(plan, &get)?;
    figures::ask(&get);
    Ok(keys.into_inner())
}

/// The number a plan puts in place of that of the literature.
fn replaced(choice: &RateChoice, known: &Uncertain) -> Result<Uncertain, StudyError> {
    let wrong = |error| StudyError::Range { key: choice.key.clone(), error };
    let Some(range) = &choice.range else {
        return Uncertain::fixed(choice.central).map_err(wrong);
    };
    let given = match &range.shape {
        None => None,
        Some(name) => Some(
            Shape::from_name(name)
                .ok_or_else(|| StudyError::Shape { key: choice.key.clone(), shape: name.clone() })?,
        ),
    };
    let share = known.shape() == Shape::Dirichlet;
    let shape = match given {
        Some(shape) if share && !matches!(shape, Shape::Dirichlet | Shape::Fixed) => {
            return Err(StudyError::ShapeOfShare { key: choice.key.clone(), shape });
        }
        Some(shape) => shape,
        None if known.is_drawn() => known.shape(),
        None => Shape::Triangular,
    };
    let points = [range.low, choice.central, range.high];
    let shape = if points.iter().all(|p| p.to_bits() == points[0].to_bits()) { Shape::Fixed } else { shape };
    Uncertain::new(choice.central, range.low, range.high, shape).map_err(wrong)
}
