//! The question behind `mix`: what a mix is, and how much of the free parts brings it to targets.

use crate::matter::{Element, ratio};
use crate::process::acidity::AcidConstants;
use crate::process::ingredient::Ingredient;
use crate::process::recipe::amounts::{RecipeError, RecipeTarget, least_amounts};
use crate::process::recipe::{Mixture, RecipeMeasure, RecipePart, SolidDensities};
use serde::Serialize;

/// How much of a part goes in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// So many kilograms. # Units: kg wet
    Given(f64),
    /// As little as the targets need; solved for.
    Free,
}

/// One part of the question.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MixPart<'a> {
    /// Identifier of the ingredient.
    pub id: &'a str,
    /// The ingredient, split.
    pub ingredient: &'a Ingredient,
    /// Share of its loose volume kept when wetted in the mix. # Units: m3/m3
    pub kept_volume: f64,
    /// How much of it goes in.
    pub amount: Amount,
}

/// Constants of a mix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MixConstants {
    /// Constants of the acids, for pH.
    pub acids: AcidConstants,
    /// Densities of the solids, for porosity.
    pub densities: SolidDensities,
    /// Temperature at which pH is told. # Units: °C
    pub temperature: f64,
}

/// What a part or the whole holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MixLine {
    /// Identifier of the ingredient, or `whole`.
    pub id: String,
    /// Wet mass. # Units: kg
    pub wet: f64,
    /// Water. # Units: kg
    pub water: f64,
    /// Dry mass. # Units: kg
    pub dry: f64,
    /// Carbon. # Units: kg
    pub carbon: f64,
    /// Nitrogen. # Units: kg
    pub nitrogen: f64,
    /// Phosphorus. # Units: kg
    pub phosphorus: f64,
    /// Potassium. # Units: kg
    pub potassium: f64,
    /// Ash. # Units: kg
    pub ash: f64,
    /// Water share of wet mass. # Units: kg/kg
    pub moisture: f64,
    /// Ash share of dry mass. # Units: kg/kg
    pub ash_share: f64,
    /// C:N; none without nitrogen. # Units: kg/kg
    pub carbon_to_nitrogen: Option<f64>,
    /// pH by charge balance.
    pub ph: f64,
    /// Bulk volume: of a part loose, of the whole as mixed, each part keeping its share of volume. # Units: m3
    pub volume: f64,
    /// Bulk density. # Units: kg/m3
    pub bulk_density: f64,
    /// Air-filled porosity. # Units: m3/m3
    pub air_filled_porosity: f64,
}

impl MixLine {
    fn of(id: &str, mixture: &Mixture, constants: &MixConstants) -> Self {
        let m = &mixture.material;
        let nitrogen = m.element(Element::Nitrogen);
        Self {
            id: id.to_owned(),
            wet: m.wet(),
            water: m.water(),
            dry: m.dry(),
            carbon: m.element(Element::Carbon),
            nitrogen,
            phosphorus: m.element(Element::Phosphorus),
            potassium: m.element(Element::Potassium),
            ash: m.ash(),
            moisture: m.moisture(),
            ash_share: ratio(m.ash(), m.dry()),
            carbon_to_nitrogen: (nitrogen > 0.0).then(|| m.carbon_to_nitrogen()),
            ph: mixture.ph(&constants.acids, constants.temperature),
            volume: mixture.volume,
            bulk_density: mixture.bulk_density(),
            air_filled_porosity: mixture.air_filled_porosity(),
        }
    }
}

/// A target and what the mix stands at, both in the unit of the measure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TargetReached {
    /// What the target is about.
    pub measure: &'static str,
    /// Value asked for.
    pub wanted: f64,
    /// Value of the mix.
    pub reached: f64,
}

/// The answer to *mix*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MixAnswer {
    /// Each part, in the order of the question, with the amounts solved for.
    pub parts: Vec<MixLine>,
    /// All parts together.
    pub whole: MixLine,
    /// Targets, in the order of the question.
    pub targets: Vec<TargetReached>,
}

/// Mixes the parts, solving for the least amounts of the free ones (`process::recipe`). Measures of a part are its own, not those it has in
/// the mix.
///
/// # Errors
/// [`RecipeError`] when the given parts weigh nothing or the targets cannot be reached with the free ones.
pub fn mix(
    parts: &[MixPart<'_>],
    targets: &[RecipeTarget],
    constants: &MixConstants,
) -> Result<MixAnswer, RecipeError> {
    let part = |p: &MixPart<'_>, kept_volume: f64| RecipePart {
        per_kilogram: p.ingredient.per_kilogram,
        bulk_density: p.ingredient.bulk_density,
        kept_volume,
    };
    let mut fixed = Vec::new();
    let mut free = Vec::new();
    for p in parts {
        match p.amount {
            Amount::Given(kilograms) => fixed.push((part(p, p.kept_volume), kilograms)),
            Amount::Free => free.push(part(p, p.kept_volume)),
        }
    }
    let mut solved = least_amounts(&fixed, &free, targets, &constants.densities)?.into_iter();
    let kilograms: Vec<f64> = parts
        .iter()
        .map(|p| match p.amount {
            Amount::Given(kilograms) => kilograms,
            // one amount is solved for each free part
            Amount::Free => solved.next().unwrap_or_default(),
        })
        .collect();
    let mixed: Vec<(RecipePart, f64)> =
        parts.iter().zip(&kilograms).map(|(p, &kg)| (part(p, p.kept_volume), kg)).collect();
    let whole = Mixture::of(&mixed, &constants.densities);
    let reached = |t: &RecipeTarget| {
        let measure: RecipeMeasure = t.measure;
        TargetReached { measure: measure.name(), wanted: t.value, reached: measure.of(&whole) }
    };
    Ok(MixAnswer {
        parts: parts
            .iter()
            .zip(&kilograms)
            .map(|(p, &kg)| {
                let alone = Mixture::of(&[(part(p, 1.0), kg)], &constants.densities);
                MixLine::of(p.id, &alone, constants)
            })
            .collect(),
        whole: MixLine::of("whole", &whole, constants),
        targets: targets.iter().map(reached).collect(),
    })
}
