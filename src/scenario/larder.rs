//! Ingredients of a plan: library rows and the user's own, split into components.

use super::plan::OwnIngredient;
use super::plan::Plan;
use crate::ingredient::Ingredient;
use crate::ingredient::IngredientError;
use crate::ingredient::SolidKind;
use crate::ingredient::SplitRules;
use crate::ingredient::analysis::Analysis;
use crate::ingredient::analysis::Figure;
use crate::literature;
use crate::literature::Cell;
use crate::literature::IngredientFacts;
use std::collections::BTreeMap;
use std::fmt;

/// An ingredient whose figures cannot be split into components.
#[derive(Debug, Clone, PartialEq)]
pub struct LarderError {
    /// Ingredient.
    pub ingredient: String,
    /// What is wrong with it.
    pub problem: IngredientError,
}

impl fmt::Display for LarderError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "ingredients.{}: {}", self.ingredient, self.problem)
    }
}

impl std::error::Error for LarderError {}

/// The ingredient that feeds starter and bran.
pub(super) const MOLASSES: &str = "cane_molasses";

/// Every ingredient that a site uses, split.
#[derive(Debug, Clone)]
pub struct Larder(BTreeMap<String, Ingredient>);

impl Larder {
    /// Splits the library and the plan's own ingredients.
    ///
    /// # Errors
    /// [`LarderError`] for the first own ingredient whose figures contradict each other.
    pub fn of(plan: &Plan, rules: &SplitRules) -> Result<Self, LarderError> {
        let mut all = BTreeMap::new();
        for own in &plan.ingredients {
            let built = own_ingredient(own, rules)
                .map_err(|problem| LarderError { ingredient: own.id.clone(), problem })?;
            all.insert(own.id.clone(), built);
        }
        for name in ingredients_used(plan) {
            if let Some(facts) = literature::ingredient(name).filter(|_| !all.contains_key(name)) {
                all.insert(name.to_owned(), published(facts, rules)?);
            }
        }
        Ok(Self(all))
    }

    /// An ingredient by name.
    ///
    /// # Panics
    /// On a name the plan was not checked for (a fault of ours).
    pub fn get(&self, name: &str) -> &Ingredient {
        self.0.get(name).unwrap_or_else(|| panic!("{name} was checked when the plan was made"))
    }
}

/// The ingredients of the literature, split.
///
/// # Errors
/// [`LarderError`] when a published row contradicts itself.
pub fn library(rules: &SplitRules) -> Result<BTreeMap<String, Ingredient>, LarderError> {
    literature::ingredients().iter().map(|facts| Ok((facts.id.clone(), published(facts, rules)?))).collect()
}

fn published(facts: &IngredientFacts, rules: &SplitRules) -> Result<Ingredient, LarderError> {
    Ingredient::from_analysis(&facts.id, &published_analysis(facts), None, published_kind(facts), rules)
        .map_err(|problem| LarderError { ingredient: facts.id.clone(), problem })
}

/// Names of the ingredients that a plan moves, some more than once.
pub fn ingredients_used(plan: &Plan) -> impl Iterator<Item = &str> {
    let streams = plan.streams.iter().flat_map(|s| s.mix.iter().map(|(name, _)| name.as_str()));
    let beds = plan.beds.iter().map(|b| b.bedding.as_str());
    let bulking = plan.bulking.iter().map(|b| b.ingredient.as_str());
    let blend = plan.castings.blend.iter().map(|b| b.with.as_str());
    streams.chain(beds).chain(bulking).chain(blend).chain([plan.bran.carrier.as_str(), MOLASSES])
}

/// Kind of solid of a published row, as the splitter takes it.
pub fn published_kind(facts: &IngredientFacts) -> SolidKind {
    match facts.solid_kind {
        literature::SolidKind::Food => SolidKind::Food,
        literature::SolidKind::Bulking => SolidKind::Bulking,
        literature::SolidKind::Humified => SolidKind::Humified,
    }
}

/// A published row as the splitter takes it.
///
/// # Units
/// as [`IngredientFacts`]: kg/kg wet for moisture, kg/kg dry matter for the rest, kg/m3, pH, mEq/kg dry matter
pub fn published_analysis(facts: &IngredientFacts) -> Analysis {
    let figure = |cell: &Option<Cell>| {
        cell.as_ref().map(|c| Figure::new(c.value.central(), c.value.low(), c.value.high()))
    };
    // one density is printed on dry matter; "loose and dry" is a state, not a basis
    let of_dry = facts.bulk_density.as_ref().is_some_and(|cell| cell.unit.contains("dry basis"));
    let dry_share =
        if of_dry { 1.0 - facts.moisture.as_ref().map_or(0.0, |m| m.value.central()) } else { 1.0 };
    Analysis {
        moisture: figure(&facts.moisture),
        carbon: figure(&facts.carbon),
        nitrogen: figure(&facts.nitrogen),
        ash: figure(&facts.ash),
        phosphorus: figure(&facts.phosphorus),
        potassium: figure(&facts.potassium),
        bulk_density: figure(&facts.bulk_density).map(|density| density.times(1.0 / dry_share)),
        protein: figure(&facts.protein),
        fat: figure(&facts.lipid),
        sugars: figure(&facts.sugar_starch),
        fibre: figure(&facts.cellulose_hemicellulose),
        lignin: figure(&facts.lignin),
        humus: None,
        initial_ph: figure(&facts.initial_ph),
        buffering_capacity: figure(&facts.buffering_capacity),
        salt: figure(&facts.salt),
        lime: None,
    }
}

/// An ingredient of the user's own, what is left out filled from the library one it is like.
///
/// # Errors
/// [`IngredientError`] when its figures contradict each other.
///
/// # Panics
/// When the like ingredient is not in the library, which the reader has checked.
pub(super) fn own_ingredient(own: &OwnIngredient, rules: &SplitRules) -> Result<Ingredient, IngredientError> {
    let facts = literature::ingredient(&own.like).expect("the like ingredient was checked with the plan");
    let exact = |value: Option<f64>| value.map(Figure::exact);
    let figures = Analysis {
        moisture: exact(own.moisture),
        carbon: exact(own.carbon),
        nitrogen: exact(own.nitrogen),
        ash: exact(own.ash),
        phosphorus: exact(own.phosphorus),
        potassium: exact(own.potassium),
        bulk_density: exact(own.bulk_density),
        protein: exact(own.protein),
        fat: exact(own.fat),
        sugars: exact(own.sugars),
        fibre: exact(own.fibre),
        lignin: exact(own.lignin),
        humus: None,
        initial_ph: exact(own.ph),
        buffering_capacity: exact(own.buffering_capacity),
        salt: exact(own.salt),
        lime: (own.lime > 0.0).then(|| Figure::exact(own.lime)),
    };
    Ingredient::from_analysis(
        &own.id,
        &figures,
        Some(&published_analysis(facts)),
        published_kind(facts),
        rules,
    )
}
