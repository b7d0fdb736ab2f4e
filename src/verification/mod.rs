//! Published figures beside what the model gives for the same inputs.
//!
//! This module lists every outside check of the model once. The command `verify` prints them and a test enforces them. A figure that
//! the model does not reproduce stays in the list with its difference and the reason, and the test enforces that difference too. The
//! model runs with its best-estimate rates; checks of beds show what draws of the rates give, too.
//!
//! A check whose name begins with `kept_` is a published case that the model of beds must keep when it is changed.
//!
//! [`narrow`](mod@narrow) turns this round: it weighs draws of the rates by these figures, and so narrows some ranges.
//!
//! Most trials do not report start compositions. Feeds are the library ingredients nearest to those named, and each case says which.

mod batches;
mod beds;
mod beds_ammonia;
mod beds_crowding;
mod beds_decay;
mod beds_gaps;
mod beds_nitrogen;
mod beds_salt;
mod beds_stock;
mod beds_water;
mod buffers;
mod case;
mod conductivity;
mod dish;
mod drawn;
mod drum_batches;
mod drums;
mod gas;
mod mixing;
pub mod narrow;
mod products;
mod site;
mod sold;
pub mod trial;
mod values;
mod worm_growth;
mod worms;

pub use case::{Basis, Case, GapKind, KnownGap, Relation, Verdict};
pub use drawn::{DRAWS, SEED};
use values::Values;

use crate::literature;
use crate::scenario::AssembleError;
use serde::Serialize;

/// A part of the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Area {
    /// Moisture and C:N of mixes, and amounts that reach them.
    Mixing,
    /// Formulas, oxygen demand, heat.
    Stoichiometry,
    /// Charge balance.
    Acidity,
    /// Losses, gas and keeping of sealed drums, liquor.
    Silage,
    /// Henry's law, vapour, evaporation.
    Gas,
    /// Worm matrices, life tables, densities.
    Worms,
    /// Losses, castings and stock of worm beds.
    Beds,
    /// Screens.
    Screening,
    /// Volumes, bulk densities, blends.
    Blending,
    /// Conductivity and ash of products.
    Products,
    /// Time at a temperature.
    Hygiene,
    /// Decay in a landfill.
    Landfill,
    /// Warming potentials and emission factors.
    Warming,
    /// Interest, cost lines, prices.
    Money,
    /// Areas and lifting.
    Site,
}

impl Area {
    /// Every area, in the order of the page.
    pub const ALL: [Self; 15] = [
        Self::Mixing,
        Self::Stoichiometry,
        Self::Acidity,
        Self::Silage,
        Self::Gas,
        Self::Worms,
        Self::Beds,
        Self::Screening,
        Self::Blending,
        Self::Products,
        Self::Hygiene,
        Self::Landfill,
        Self::Warming,
        Self::Money,
        Self::Site,
    ];

    /// Name; keys of its checks begin with it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mixing => "mixing",
            Self::Stoichiometry => "stoichiometry",
            Self::Acidity => "acidity",
            Self::Silage => "silage",
            Self::Gas => "gas",
            Self::Worms => "worms",
            Self::Beds => "beds",
            Self::Screening => "screening",
            Self::Blending => "blending",
            Self::Products => "products",
            Self::Hygiene => "hygiene",
            Self::Landfill => "landfill",
            Self::Warming => "warming",
            Self::Money => "money",
            Self::Site => "site",
        }
    }
}

/// An outside check with its result.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Check {
    /// The part of the model that it checks.
    pub area: Area,
    /// Both figures, with source, inputs and tolerance.
    #[serde(flatten)]
    pub case: Case,
    /// Ours minus printed, in the unit of the figures.
    pub difference: f64,
    /// Result of the check.
    pub verdict: Verdict,
}

/// The answer to *verify*: every outside check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VerificationAnswer {
    /// Version of the program.
    pub version: &'static str,
    /// The checks, in the order of the areas.
    pub checks: Vec<Check>,
}

impl VerificationAnswer {
    /// Checks of an area.
    pub fn of(&self, area: Area) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(move |check| check.area == area)
    }

    /// Checks with this verdict.
    pub fn with(&self, verdict: Verdict) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(move |check| check.verdict == verdict)
    }

    /// Checks on this basis.
    pub fn on(&self, basis: Basis) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(move |check| check.case.basis == basis)
    }
}

/// Best estimate of a rate. `NaN` if there is none, which fails every check.
fn central(key: &str) -> f64 {
    literature::central(key).unwrap_or(f64::NAN)
}

/// Makes every check, with bands from [`DRAWS`] draws.
///
/// # Errors
/// [`AssembleError`] when an ingredient of the library or a process table is faulty: a fault of the program.
pub fn verify() -> Result<VerificationAnswer, AssembleError> {
    verify_with(DRAWS)
}

/// Makes every check, with bands from a number of draws; none without draws.
///
/// # Errors
/// As [`verify`].
pub fn verify_with(draws: u64) -> Result<VerificationAnswer, AssembleError> {
    let cases: Vec<Case> = [
        mixing::cases(),
        drums::cases(),
        drum_batches::cases()?,
        gas::cases(),
        worms::cases(),
        drawn::with_bands(draws)?,
        products::cases(),
        conductivity::cases(),
        site::cases(),
    ]
    .concat()
    .into_iter()
    .map(|case| Case { gap: beds_gaps::known(case.key).or(case.gap), ..case })
    .collect();
    let of = |area: Area| {
        cases.iter().filter(move |case| case.key.split('.').next() == Some(area.name())).map(move |case| {
            Check { area, case: *case, difference: case.difference(), verdict: case.verdict() }
        })
    };
    let checks = Area::ALL.into_iter().flat_map(of).collect();
    Ok(VerificationAnswer { version: env!("CARGO_PKG_VERSION"), checks })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_gap_belongs_to_a_check() {
        let answer = verify_with(0).expect("every check can be made");
        for key in beds_gaps::names() {
            assert!(answer.checks.iter().any(|check| check.case.key == key), "{key}");
        }
    }
}
