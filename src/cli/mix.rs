//! The command `mix`: parts as typed become ingredients, targets become a recipe.

use super::Output;
use super::args::{MixArguments, PartArgument};
use super::failure::Failure;
use super::rates::with_rates;
use super::results::json;
use crate::literature;
use crate::matter::{Component, Material};
use crate::process::acidity::AcidConstants;
use crate::process::ingredient::analysis::{Analysis, Figure};
use crate::process::ingredient::{Ingredient, Note, REFERENCE_TEMPERATURE, SolidKind, SplitRules};
use crate::process::recipe::{KeptVolumes, SolidDensities, WATER_DENSITY};
use crate::report::pages;
use crate::scenario::{published_analysis, published_kind};
use crate::study::mix::{Amount, MixConstants, MixPart, mix as solve};

/// The ingredient that is not in the library because it needs no analysis.
const WATER: &str = "water";

/// Ingredients whose loose volume softens and settles when wetted; other bulking keeps most of it.
const FIBROUS: [&str; 4] = ["cardboard_corrugated", "newsprint", "leaves_autumn", "wheat_straw"];

/// What parts are made with.
struct Rules {
    split: SplitRules,
    constants: MixConstants,
    bulking: KeptVolumes,
    /// Share of its volume that paste adds to a mix. # Units: m3/m3
    paste: f64,
    /// # Units: kg/m3
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

    /// Volume an ingredient keeps in the mix. # Units: m3/m3
    fn kept_volume(&self, id: &str, kind: SolidKind, ground: bool) -> f64 {
        match kind {
            _ if id == WATER => 0.0,
            SolidKind::Food if ground => self.paste,
            SolidKind::Food => 1.0,
            SolidKind::Bulking if FIBROUS.contains(&id) => self.bulking.fibrous,
            SolidKind::Bulking | SolidKind::Humified => self.bulking.granular,
        }
    }
}

/// The analysis as measured by the user; empty where nothing was given.
fn measured(figures: &[(String, f64)]) -> Analysis {
    let mut own = Analysis::default();
    for (name, value) in figures {
        let value = Some(Figure::exact(*value));
        match name.as_str() {
            "moisture" => own.moisture = value,
            "carbon" => own.carbon = value,
            "nitrogen" => own.nitrogen = value,
            "ash" => own.ash = value,
            "phosphorus" => own.phosphorus = value,
            "potassium" => own.potassium = value,
            "ph" => own.initial_ph = value,
            "bulk_density" => own.bulk_density = value,
            _ => {}
        }
    }
    own
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
    let (kind, library) = (published_kind(facts), published_analysis(facts));
    let broken = |error| Failure::Ingredient { id: part.id.clone(), error };
    let mut made = if part.figures.is_empty() {
        Ingredient::from_analysis(&facts.name, &library, None, kind, &rules.split)
    } else {
        let own = measured(&part.figures);
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
/// When a part is unknown or impossible, or the targets cannot be met.
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

/// A carbon figure that cannot be met is told, not bent in silence.
fn carbon_note(id: &str, notes: &[Note]) -> Option<String> {
    notes.iter().find_map(|note| match note {
        Note::CarbonMissed { stated, reached } => Some(format!(
            "note: {id}: carbon of {stated} does not go with the other figures of it; {reached:.4} is used"
        )),
        _ => None,
    })
}
