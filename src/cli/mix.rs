//! The command `mix`: makes ingredients of the parts as typed, and a recipe for the targets.

use super::Output;
use super::args::{MixArguments, PartArgument};
use super::failure::Failure;
use super::rates::with_rates;
use super::results::json;
use crate::literature;
use crate::matter::{Component, Material, SolidKind};
use crate::process::acidity::AcidConstants;
use crate::process::ingredient::analysis::Stated;
use crate::process::ingredient::{Ingredient, Note, REFERENCE_TEMPERATURE, SplitRules};
use crate::process::recipe::{KeptVolumes, SolidDensities, WATER_DENSITY};
use crate::report::pages;
use crate::scenario::published_analysis;
use crate::study::mix::{Amount, MixConstants, MixPart, mix as solve};

/// An ingredient that needs no analysis and so is not in the library.
const WATER: &str = "water";

/// Rules and constants by which parts are made.
struct Rules {
    split: SplitRules,
    constants: MixConstants,
    bulking: KeptVolumes,
    /// Share of its volume that paste adds to a mix, m3/m3.
    paste: f64,
    /// Bulk density of paste, kg/m3.
    paste_density: f64,
}

impl Rules {
    fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            split: SplitRules::from_values(get),
            constants: MixConstants {
                acids: AcidConstants::from_values(get),
                densities: SolidDensities::from_values(get),
                temperature: REFERENCE_TEMPERATURE,
            },
            bulking: KeptVolumes::from_values(get),
            paste: get("feedstocks.kept_volume_paste"),
            paste_density: get("fermentation.bulk_density_ground_paste"),
        }
    }

    /// Share of its volume that an ingredient keeps in the mix, m3/m3.
    fn kept_volume(&self, id: &str, kind: SolidKind, ground: bool) -> f64 {
        match kind {
            _ if id == WATER => 0.0,
            SolidKind::Food if ground => self.paste,
            SolidKind::Food => 1.0,
            bulking => self.bulking.of_bulking(bulking),
        }
    }
}

fn ingredient(part: &PartArgument, rules: &Rules, ground: bool) -> Result<Ingredient, Failure> {
    if part.id == WATER {
        let per_kilogram = Material::of(Component::Water, 1.0);
        let name = WATER.to_owned();
        return Ok(Ingredient {
            name,
            kind: SolidKind::Food,
            per_kilogram,
            bulk_density: WATER_DENSITY,
            notes: Vec::new(),
        });
    }
    let facts = literature::ingredient(&part.id).ok_or_else(|| Failure::UnknownIngredient {
        given: part.id.clone(),
        nearest: literature::nearest_ingredient(&part.id),
    })?;
    let (kind, library) = (facts.solid_kind, published_analysis(facts));
    let broken = |error| Failure::Ingredient { id: part.id.clone(), error };
    let mut made = if part.measured.stated().next().is_none() {
        Ingredient::from_analysis(&facts.name, &library, None, kind, &rules.split)
    } else {
        let own = part.measured.map_stated(|_, value| Stated::exact(*value));
        Ingredient::from_analysis(&facts.name, &own, Some(&library), kind, &rules.split)
    }
    .map_err(broken)?;
    if ground && kind == SolidKind::Food {
        made.bulk_density = rules.paste_density;
    }
    Ok(made)
}

/// Mixes parts and solves for the free ones.
///
/// # Errors
/// If a part is unknown or impossible, or the targets cannot be met.
pub fn mix(arguments: &MixArguments) -> Result<Output, Failure> {
    let rules = with_rates(|_| None, Rules::from_values)?;
    let ingredients = arguments
        .parts
        .iter()
        .map(|part| ingredient(part, &rules, arguments.ground))
        .collect::<Result<Vec<_>, _>>()?;
    let parts: Vec<MixPart<'_>> = arguments
        .parts
        .iter()
        .zip(&ingredients)
        .map(|(part, ingredient)| MixPart {
            id: &part.id,
            ingredient,
            kept_volume: rules.kept_volume(&part.id, ingredient.kind, arguments.ground),
            amount: part.amount.map_or(Amount::Free, Amount::Given),
        })
        .collect();
    let targets: Vec<_> = [arguments.moisture, arguments.carbon_to_nitrogen, arguments.air_filled_porosity]
        .into_iter()
        .flatten()
        .collect();
    if !targets.is_empty() && parts.iter().all(|part| part.amount != Amount::Free) {
        return Err(Failure::NothingFree);
    }
    let answer = solve(&parts, &targets, &rules.constants)?;
    let text =
        if arguments.json { json(&answer)? } else { pages::mix::mix_text(&answer, arguments.units.into()) };
    let notes = ingredients
        .iter()
        .zip(&arguments.parts)
        .filter_map(|(made, part)| carbon_note(&part.id, &made.notes));
    Ok(Output { text, notes: notes.collect() })
}

/// A note on a stated carbon that cannot be met.
fn carbon_note(id: &str, notes: &[Note]) -> Option<String> {
    notes.iter().find_map(|note| match note {
        Note::CarbonMissed { stated, reached } => Some(format!(
            "note: {id}: carbon of {stated} does not fit its other figures; {reached:.4} is used"
        )),
        _ => None,
    })
}
