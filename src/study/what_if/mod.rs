//! The command *compare*: a site and variants of it on the same draws.
//!
//! Draw *i* of a variant is draw *i* of the base: the same rates, weather, intake and luck. What differs is what was varied, so that
//! the paired differences carry none of the spread that both share, and those of two equal variants are exactly zero.

mod axis;
mod density;
mod draws;
mod error;
mod paired;
mod variants;

pub use axis::{VariedKey, axis, density_axis};
pub use density::{Band, BestDensity, Densities, DensityFigure, KEPT, LOST, MET, Meeting, NO_GAIN};
pub use error::WhatIfError;
pub use paired::{Paired, paired};
pub use variants::{DENSEST, DENSITY};

use crate::monte_carlo::ensemble::ReadMore;
use crate::monte_carlo::{Draws, Watch};
use crate::scenario::{self, Fitted, Plan};
use crate::trace::figures;
use density::densities;
use draws::{SiteDraws, Sites};
use paired::{common, mean};
use serde::Serialize;
use std::iter;
use std::sync::Arc;
use variants::{Ready, alike, variants};

/// Figures compared if none are named, by their names in [`figures::TABLE`].
pub const USUAL: [&str; 6] =
    ["fed", "turned_away_share", "castings_screened", "stock_end", "starving_share", "bed_hottest"];
/// Figures of the settled year compared beside them, where one is sought.
pub const USUAL_LATER: [&str; 3] =
    ["settled_turned_away_share", "settled_product_sold", "settled_stock_mean"];
/// Most variants that are run. Our choice.
pub(super) const MOST_VARIANTS: usize = 400;

/// A comparison to make: a scenario, what to vary in it, and which figures to compare.
#[derive(Debug, Clone, Copy)]
pub struct Comparison<'a> {
    /// Name of the scenario in messages.
    pub name: &'a str,
    /// Text of the scenario, which is the base.
    pub text: &'a str,
    /// Sites of a fit, from which base and variants are drawn. `None` if they are drawn from the ranges.
    pub fitted: Option<&'a Arc<Fitted>>,
    /// One key or two, with their values; every combination is a variant.
    pub axes: &'a [VariedKey],
    /// Names of the figures to compare; empty for the usual ones.
    pub figures: &'a [String],
    /// Draws of the base and of every variant, at least 2.
    pub draws: Draws,
}

/// The answer to *compare*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WhatIf {
    /// Version of the program.
    pub version: &'static str,
    /// Name of the site.
    pub name: String,
    /// Seed of the draws.
    pub seed: u64,
    /// Draws made of the base and of every variant.
    pub draws: u64,
    /// Draws asked for of each.
    pub asked: u64,
    /// Whether the work was stopped: fewer draws than asked, but the same ones of the base and every variant.
    pub partial: bool,
    /// Keys that were varied, one or two.
    pub keys: Vec<String>,
    /// Figures compared, with the mean of the base.
    pub figures: Vec<Base>,
    /// Every combination of values; the values of the last key change fastest.
    pub variants: Vec<Variant>,
    /// Draws of the base that gave no answer.
    pub failed: usize,
    /// Stocking densities against each other. None unless that alone, or `stock.mass`, was varied over amounts above 0.
    pub density: Option<Densities>,
}

/// A figure of the base.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Base {
    /// Name of the figure.
    pub figure: &'static str,
    /// Unit, SI.
    pub unit: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// Mean over the draws that have it; 0 if no draw has it.
    pub mean: f64,
}

/// A variant, with each figure against the base.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Variant {
    /// Value of each key, in the order of the keys.
    pub values: Vec<String>,
    /// Figures, in the order of those of the base.
    pub figures: Vec<VariantFigure>,
    /// Draws that gave no answer.
    pub failed: usize,
}

/// A figure of a variant against the base, in the unit of the figure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct VariantFigure {
    /// Mean over the draws that have it; 0 if no draw has it.
    pub mean: f64,
    /// Variant less base, draw by draw, over the draws in which both have it.
    pub difference: Paired,
}

/// Number of sites that are run: the base and its variants.
pub fn sites(axes: &[VariedKey]) -> u64 {
    1 + axes.iter().map(|axis| axis.values.len() as u64).product::<u64>()
}

/// Whether the worms bought at first alone are varied, so that stocking densities stand against each other.
pub fn is_of_density(axes: &[VariedKey]) -> bool {
    matches!(axes, [axis] if matches!(axis.key.as_str(), DENSITY | "stock.mass"))
}

/// Runs base and variants and compares them. When `watch` is stopped, the answer is that of the draws that all of them have.
///
/// # Errors
/// [`WhatIfError`]; every variant is read and checked before the first is run.
///
/// # Panics
/// Never: the base is among the sites that are run.
pub fn compare(question: &Comparison<'_>, watch: &Watch) -> Result<WhatIf, WhatIfError> {
    let base = scenario::parse(question.name, question.text)?.fitted_by(question.fitted);
    let places = places(question.figures, &base)?;
    let ready = variants(question)?;
    if question.draws.count() < 2 {
        return Err(WhatIfError::TooFewDraws(question.draws.count()));
    }
    let alone = is_of_density(question.axes)
        && base.bed_area() > 0.0
        && ready.iter().all(|r| r.plan.size().stock > 0.0);
    let followed = alone || figures::need_later_years(places.iter().copied());
    let as_asked = |plan: &Plan| if followed { plan.clone() } else { plan.without_later_years() };
    let plans: Vec<Plan> = iter::once(&base).chain(ready.iter().map(|r| &r.plan)).map(as_asked).collect();
    let plans: Vec<&Plan> = plans.iter().collect();
    let more: Option<&ReadMore<'_>> = if alone { Some(&density::of_draw) } else { None };
    let alike = alike(question.axes, &ready);
    let (all, to) = Sites { plans: &plans, alike: &alike, more }.draws(&question.draws, watch)?;
    for (n, run) in all.iter().enumerate() {
        if let (true, Some(failed)) = (run.rows.len() < 2, run.failed.first()) {
            let variant =
                n.checked_sub(1).map_or("the unchanged scenario".to_owned(), |n| ready[n].values.join(", "));
            return Err(WhatIfError::NoDraw { variant, message: failed.message.clone() });
        }
    }
    let (first, runs) = all.split_first().expect("the base is among them");
    Ok(WhatIf {
        version: env!("CARGO_PKG_VERSION"),
        name: base.name.clone(),
        seed: question.draws.seed,
        draws: to,
        asked: question.draws.to,
        partial: to < question.draws.to,
        keys: question.axes.iter().map(|axis| axis.key.clone()).collect(),
        figures: places.iter().map(|&place| base_figure(first, place)).collect(),
        failed: first.failed.len(),
        density: alone.then(|| densities(base.size().stock / base.bed_area(), &ready, runs)),
        variants: ready.iter().zip(runs).map(|(ready, run)| against(first, ready, run, &places)).collect(),
    })
}

/// A variant against the base.
fn against(first: &SiteDraws, ready: &Ready, run: &SiteDraws, places: &[usize]) -> Variant {
    let compared = |&place: &usize| {
        let (a, b) = common(first, run, place);
        VariantFigure { mean: mean(run, place), difference: paired(&a, &b) }
    };
    Variant {
        values: ready.values.clone(),
        failed: run.failed.len(),
        figures: places.iter().map(compared).collect(),
    }
}

fn base_figure(run: &SiteDraws, place: usize) -> Base {
    let figure = &figures::TABLE[place];
    Base { figure: figure.name, unit: figure.unit, what: figure.what, mean: mean(run, place) }
}

/// Places of the figures named, or of the usual ones.
fn places(names: &[String], plan: &Plan) -> Result<Vec<usize>, WhatIfError> {
    let found = |name: &str| {
        figures::place(name).ok_or_else(|| WhatIfError::UnknownFigure {
            given: name.to_owned(),
            nearest: scenario::sizing::nearest_figure(name),
        })
    };
    if names.is_empty() {
        let later = if plan.seeks_settled_year() { &USUAL_LATER[..] } else { &[] };
        return USUAL.iter().chain(later).map(|name| found(name)).collect();
    }
    let mut places: Vec<usize> = names.iter().map(|name| found(name)).collect::<Result<_, _>>()?;
    let mut seen = Vec::new();
    places.retain(|place| {
        !seen.contains(place) && {
            seen.push(*place);
            true
        }
    });
    Ok(places)
}
