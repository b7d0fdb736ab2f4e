//! The question behind `mix`: the properties of a mix, and how much of the free parts brings it to targets.

use crate::literature;
use crate::matter::{Analysis, Element, SolidKind, ratio};
use crate::process::ingredient::analysis::Stated;
use crate::process::ingredient::{Ingredient, IngredientError, Note, SplitRules};
use crate::process::recipe::amounts::{RecipeError, RecipeTarget, least_amounts};
use crate::process::recipe::{KeptVolumes, Mixture, RecipePart, SolidDensities};
use crate::scenario::published_analysis;
use serde::Serialize;
use std::fmt;

/// An ingredient that needs no analysis and so is not in the library.
const WATER: &str = "water";

/// One part of the question.
#[derive(Debug, Clone, PartialEq)]
pub struct TypedPart {
    /// Identifier of an ingredient of the library, or `water`.
    pub id: String,
    /// Wet mass, kg; None if it is to be solved for, as little as the targets need.
    pub amount: Option<f64>,
    /// Properties measured by the user, each in the unit of its kind; the others are the library's.
    pub measured: Analysis<Option<f64>>,
}

/// Why a mix has no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum MixError {
    /// No ingredient of this name.
    UnknownIngredient {
        /// The name given.
        given: String,
        /// The known name most like it; None if nothing is near.
        nearest: Option<&'static str>,
    },
    /// The properties given for an ingredient are impossible.
    Ingredient {
        /// The ingredient.
        id: String,
        /// The broken rule.
        error: IngredientError,
    },
    /// Targets are given but every amount is fixed.
    NothingFree,
    /// An amount is to be solved but no target is given.
    NoTarget,
    /// No amounts bring the mix to its targets, or none can be computed.
    Recipe(RecipeError),
}

impl fmt::Display for MixError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownIngredient { given, .. } => write!(f, "no ingredient is named `{given}`"),
            Self::Ingredient { id, error } => write!(f, "{id}: {error}"),
            Self::NothingFree => write!(f, "targets are given but every amount is fixed"),
            Self::NoTarget => write!(f, "an amount is to be solved but no target is given"),
            Self::Recipe(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for MixError {}

/// Rules and constants by which parts are made and mixed.
struct MixRules {
    split: SplitRules,
    densities: SolidDensities,
    kept: KeptVolumes,
    /// Bulk density of ground paste, kg/m3.
    paste_density: f64,
}

impl MixRules {
    fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            split: SplitRules::from_values(get),
            densities: SolidDensities::from_values(get),
            kept: KeptVolumes::from_values(get),
            paste_density: get("fermentation.bulk_density_ground_paste"),
        }
    }

    /// A part, with the carbon that was stated for it if that cannot be met.
    fn part(&self, part: &TypedPart, ground: bool) -> Result<(RecipePart, Option<CarbonMissed>), MixError> {
        if part.id == WATER {
            return Ok((RecipePart::water(), None));
        }
        let facts = literature::ingredient(&part.id).ok_or_else(|| MixError::UnknownIngredient {
            given: part.id.clone(),
            nearest: literature::nearest_ingredient(&part.id),
        })?;
        let (kind, library) = (facts.solid_kind, published_analysis(facts));
        let own = part.measured.map_stated(|_, value| Stated::exact(*value));
        let (own, like) = if own.stated().next().is_none() { (library, None) } else { (own, Some(&library)) };
        let made = Ingredient::from_analysis(&facts.name, &own, like, kind, &self.split)
            .map_err(|error| MixError::Ingredient { id: part.id.clone(), error })?;
        let missed = made.notes.iter().find_map(|note| match *note {
            Note::CarbonMissed { stated, reached } => {
                Some(CarbonMissed { id: part.id.clone(), stated, reached })
            }
            _ => None,
        });
        let (bulk_density, kept_volume) = match kind {
            SolidKind::Food if ground => (self.paste_density, self.kept.paste),
            SolidKind::Food => (made.bulk_density, 1.0),
            bulking => (made.bulk_density, self.kept.of_bulking(bulking)),
        };
        Ok((RecipePart { per_kilogram: made.per_kilogram, bulk_density, kept_volume }, missed))
    }
}

/// An ingredient whose stated carbon does not fit its other properties.
#[derive(Debug, Clone, PartialEq)]
pub struct CarbonMissed {
    /// Identifier of the ingredient.
    pub id: String,
    /// Carbon as stated, kg/kg dry mass.
    pub stated: f64,
    /// Carbon used, kg/kg dry mass.
    pub reached: f64,
}

/// Contents and properties of a part or of the whole.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MixLine {
    /// Identifier of the ingredient, or `whole`.
    pub id: String,
    /// Wet mass, kg.
    pub wet: f64,
    /// Water, kg.
    pub water: f64,
    /// Dry mass, kg.
    pub dry: f64,
    /// Carbon, kg.
    pub carbon: f64,
    /// Nitrogen, kg.
    pub nitrogen: f64,
    /// Phosphorus, kg.
    pub phosphorus: f64,
    /// Potassium, kg.
    pub potassium: f64,
    /// Ash, kg.
    pub ash: f64,
    /// Water share of wet mass, kg/kg.
    pub moisture: f64,
    /// Ash share of dry mass, kg/kg.
    pub ash_share: f64,
    /// C:N, kg/kg; None without nitrogen.
    pub carbon_to_nitrogen: Option<f64>,
    /// pH by charge balance.
    pub ph: f64,
    /// Bulk volume, m3: of a part loose, of the whole as mixed, with the share of volume that each part keeps.
    pub volume: f64,
    /// Bulk density, kg/m3.
    pub bulk_density: f64,
    /// Air-filled porosity, m3/m3.
    pub air_filled_porosity: f64,
}

impl MixLine {
    fn of(id: &str, mixture: &Mixture, rules: &SplitRules) -> Self {
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
            ph: mixture.ph(&rules.acids, &rules.surroundings()),
            volume: mixture.volume,
            bulk_density: mixture.bulk_density(),
            air_filled_porosity: mixture.air_filled_porosity(),
        }
    }
}

/// A target and the value of the mix, both in the unit of the measure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TargetReached {
    /// The measure.
    pub measure: &'static str,
    /// Value wanted.
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
    /// Ingredients whose stated carbon could not be met.
    #[serde(skip)]
    pub carbon_missed: Vec<CarbonMissed>,
}

/// Mixes the parts with central values, solving for the least amounts of the free ones (`process::recipe`). If `ground`, scraps
/// are paste, which flows into the pores of bulking. Measures of a part are its own, not those it has in the mix.
///
/// # Errors
/// [`MixError`] if a part is unknown or impossible, the given parts weigh nothing, or the targets cannot be reached.
///
/// # Panics
/// If a rate is in no table (a fault of ours).
pub fn mix(parts: &[TypedPart], targets: &[RecipeTarget], ground: bool) -> Result<MixAnswer, MixError> {
    let rules = MixRules::from_values(&|key| {
        literature::central(key).unwrap_or_else(|| panic!("no literature entry has the key {key}"))
    });
    let made = parts.iter().map(|part| rules.part(part, ground)).collect::<Result<Vec<_>, _>>()?;
    if !targets.is_empty() && parts.iter().all(|part| part.amount.is_some()) {
        return Err(MixError::NothingFree);
    }
    if targets.is_empty() && parts.iter().any(|part| part.amount.is_none()) {
        return Err(MixError::NoTarget);
    }
    let (mut fixed, mut free) = (Vec::new(), Vec::new());
    for (part, (recipe, _)) in parts.iter().zip(&made) {
        match part.amount {
            Some(kilograms) => fixed.push((*recipe, kilograms)),
            None => free.push(*recipe),
        }
    }
    let mut solved =
        least_amounts(&fixed, &free, targets, &rules.densities).map_err(MixError::Recipe)?.into_iter();
    // one amount is solved for each free part
    let mut amount = |part: &TypedPart| part.amount.unwrap_or_else(|| solved.next().unwrap_or_default());
    let mixed: Vec<(RecipePart, f64)> =
        parts.iter().zip(&made).map(|(part, (recipe, _))| (*recipe, amount(part))).collect();
    let whole = Mixture::of(&mixed, &rules.densities);
    let alone = |(part, (recipe, kilograms)): (&TypedPart, &(RecipePart, f64))| {
        let loose = RecipePart { kept_volume: 1.0, ..*recipe };
        MixLine::of(&part.id, &Mixture::of(&[(loose, *kilograms)], &rules.densities), &rules.split)
    };
    let reached = |target: &RecipeTarget| TargetReached {
        measure: target.measure.name(),
        wanted: target.value,
        reached: target.measure.of(&whole),
    };
    Ok(MixAnswer {
        parts: parts.iter().zip(&mixed).map(alone).collect(),
        whole: MixLine::of("whole", &whole, &rules.split),
        targets: targets.iter().map(reached).collect(),
        carbon_missed: made.into_iter().filter_map(|(_, missed)| missed).collect(),
    })
}
