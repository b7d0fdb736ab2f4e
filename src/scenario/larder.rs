//! Ingredients of a plan: library rows and the user's own, split into components.

use super::assemble::central;
use super::plan::{OwnIngredient, Plan};
use crate::literature::{self, Cell, IngredientFacts};
use crate::process::ingredient::analysis::{Analysis, Figure};
use crate::process::ingredient::{Ingredient, IngredientError, SolidKind, SplitRules};
use std::collections::BTreeMap;
use std::fmt;

/// An ingredient whose figures contradict each other.
#[derive(Debug, Clone, PartialEq)]
pub struct LarderError {
    /// Name of the ingredient, as the plan has it.
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

/// Value of a figure of an ingredient by its key, `ingredients.<ingredient>.<figure>`, or of a rate by its own.
pub(super) type Get<'a> = dyn Fn(&str) -> f64 + 'a;

/// Ingredients of a site, each split into components: those it uses and the user's own.
#[derive(Debug, Clone)]
pub struct Larder(BTreeMap<String, Ingredient>);

impl Larder {
    /// Splits what the plan uses of the library and of its own ingredients, with the figures that `get` gives, and what it
    /// does not use of its own with central ones.
    ///
    /// Asked for are the figures that make a difference: none that an own ingredient states, no protein (nitrogen
    /// governs it), bulk density only where volumes count. Ingredients like the same one of the library share its figures.
    ///
    /// # Errors
    /// [`LarderError`] for the first ingredient whose figures contradict each other.
    pub fn of(plan: &Plan, rules: &SplitRules, get: &Get<'_>) -> Result<Self, LarderError> {
        let mut all = BTreeMap::new();
        let used = used(plan);
        for (&name, &by_volume) in &used {
            let wrong = |problem| LarderError { ingredient: name.to_owned(), problem };
            let built = match plan.ingredients.iter().find(|own| own.id == name) {
                Some(own) => own_ingredient(own, rules, by_volume, get).map_err(wrong)?,
                None => match literature::ingredient(name) {
                    Some(facts) => {
                        let analysis = drawn_analysis(facts, &|name| by_volume || name != DENSITY, get);
                        published(facts, &analysis, rules)?
                    }
                    // a name that the check refused
                    None => continue,
                },
            };
            all.insert(name.to_owned(), built);
        }
        for own in plan.ingredients.iter().filter(|own| !used.contains_key(own.id.as_str())) {
            let built = own_ingredient(own, rules, false, &|key| central(plan, key))
                .map_err(|problem| LarderError { ingredient: own.id.clone(), problem })?;
            all.insert(own.id.clone(), built);
        }
        Ok(Self(all))
    }

    /// An ingredient by its name.
    ///
    /// # Panics
    /// On a name the plan was not checked for (a fault of ours).
    pub fn get(&self, name: &str) -> &Ingredient {
        self.0.get(name).unwrap_or_else(|| panic!("{name} was checked when the plan was made"))
    }
}

/// Every ingredient of the literature by its identifier, split with its central values.
///
/// # Errors
/// [`LarderError`] when a published row contradicts itself.
pub fn library(rules: &SplitRules) -> Result<BTreeMap<String, Ingredient>, LarderError> {
    literature::ingredients()
        .iter()
        .map(|facts| Ok((facts.id.clone(), published(facts, &published_analysis(facts), rules)?)))
        .collect()
}

/// A library ingredient with the figures that `get` gives.
///
/// # Errors
/// [`LarderError`] when they contradict each other.
pub(super) fn replaced(
    facts: &IngredientFacts,
    rules: &SplitRules,
    get: &Get<'_>,
) -> Result<Ingredient, LarderError> {
    published(facts, &drawn_analysis(facts, &|_| true, get), rules)
}

fn published(
    facts: &IngredientFacts,
    analysis: &Analysis,
    rules: &SplitRules,
) -> Result<Ingredient, LarderError> {
    Ingredient::from_analysis(&facts.id, analysis, None, published_kind(facts), rules)
        .map_err(|problem| LarderError { ingredient: facts.id.clone(), problem })
}

/// Names of the ingredients that a plan moves (streams, carrier, molasses, bulking, bedding, blend), in their order.
pub fn ingredients_used(plan: &Plan) -> impl Iterator<Item = &str> {
    used(plan).into_keys()
}

/// Names of the ingredients that a plan moves, and whether their volumes count.
fn used(plan: &Plan) -> BTreeMap<&str, bool> {
    let streams = plan.streams.iter().flat_map(|s| s.mix.iter().map(|(name, _)| name.as_str()));
    let beds = plan.beds.iter().map(|b| b.bedding.as_str());
    let bulking = plan.bulking.iter().map(|b| b.ingredient.as_str());
    let blend = plan.castings.blend.iter().map(|b| b.with.as_str());
    let by_volume = beds.chain(bulking).chain(blend).chain([MOLASSES]);
    let by_mass = streams.chain([plan.bran.carrier.as_str()]);
    let mut all: BTreeMap<&str, bool> = by_mass.map(|name| (name, false)).collect();
    all.extend(by_volume.map(|name| (name, true)));
    all
}

/// Kind of solid of a published row, as [`Ingredient::from_analysis`] takes it.
pub fn published_kind(facts: &IngredientFacts) -> SolidKind {
    match facts.solid_kind {
        literature::SolidKind::Food => SolidKind::Food,
        literature::SolidKind::Bulking => SolidKind::Bulking,
        literature::SolidKind::Humified => SolidKind::Humified,
    }
}

/// Name of bulk density among the figures of an ingredient.
const DENSITY: &str = "bulk_density";

/// A published row with its central values, as [`Ingredient::from_analysis`] takes it; a bulk density printed on dry mass is turned into
/// one of wet mass.
///
/// # Units
/// as [`IngredientFacts`]: kg/kg wet for moisture, kg/kg dry matter for the rest, kg/m3, pH, mEq/kg dry matter
pub fn published_analysis(facts: &IngredientFacts) -> Analysis {
    analysis(facts, &|_, cell| cell.value.central())
}

/// A published row with the figures that `get` gives, where they are asked for.
///
/// The published range of a figure stays as it is: the splitter keeps drawn fractions inside it as far as their sum,
/// nitrogen and carbon allow, moving those with wide ranges most. For independent normal fractions that is exactly
/// the distribution they have once their sum is known. Carbon is drawn too, but half of the draws of the library ask for more
/// or less than such fractions can hold and get the nearest that they can, 0.7 % of the dry matter off on average.
fn drawn_analysis(facts: &IngredientFacts, asked: &dyn Fn(&str) -> bool, get: &Get<'_>) -> Analysis {
    analysis(facts, &|name, cell| {
        if asked(name) && name != "protein" {
            get(&literature::composition_key(&facts.id, name))
        } else {
            cell.value.central()
        }
    })
}

/// A row with values for its cells, by name.
fn analysis(facts: &IngredientFacts, value: &dyn Fn(&str, &Cell) -> f64) -> Analysis {
    let mut made = Analysis::default();
    for (name, cell) in facts.cells() {
        let Some(cell) = cell else { continue };
        let given = value(name, cell);
        let figure = Figure::new(given, cell.value.low().min(given), cell.value.high().max(given));
        *place(&mut made, name) = Some(figure);
    }
    // one density is printed on dry matter; "loose and dry" is a state, not a basis
    let of_dry = facts.bulk_density.as_ref().is_some_and(|cell| cell.unit.contains("dry basis"));
    let dry_share = if of_dry { 1.0 - made.moisture.map_or(0.0, |m| m.central) } else { 1.0 };
    made.bulk_density = made.bulk_density.map(|density| density.times(1.0 / dry_share));
    made
}

/// Where a figure of that name stands in an analysis.
///
/// # Panics
/// On a name that no cell has (a fault of ours).
fn place<'a>(analysis: &'a mut Analysis, name: &str) -> &'a mut Option<Figure> {
    match name {
        "moisture" => &mut analysis.moisture,
        "carbon" => &mut analysis.carbon,
        "nitrogen" => &mut analysis.nitrogen,
        "ash" => &mut analysis.ash,
        "phosphorus" => &mut analysis.phosphorus,
        "potassium" => &mut analysis.potassium,
        DENSITY => &mut analysis.bulk_density,
        "protein" => &mut analysis.protein,
        "fat" => &mut analysis.fat,
        "sugars" => &mut analysis.sugars,
        "fibre" => &mut analysis.fibre,
        "lignin" => &mut analysis.lignin,
        "ph" => &mut analysis.initial_ph,
        "buffering_capacity" => &mut analysis.buffering_capacity,
        "salt" => &mut analysis.salt,
        other => panic!("no figure of an analysis is called {other}"),
    }
}

/// An ingredient of the user's own, what is left out filled from the library one it is like, with the figures that `get`
/// gives.
///
/// # Errors
/// [`IngredientError`] when its figures contradict each other.
///
/// # Panics
/// When the like ingredient is not in the library, which the reader has checked.
pub(super) fn own_ingredient(
    own: &OwnIngredient,
    rules: &SplitRules,
    by_volume: bool,
    get: &Get<'_>,
) -> Result<Ingredient, IngredientError> {
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
    let asked = |name: &str| match name {
        DENSITY => by_volume && own.bulk_density.is_none(),
        "nitrogen" => own.nitrogen.is_none() && own.protein.is_none(),
        other => place(&mut { figures }, other).is_none(),
    };
    let like = drawn_analysis(facts, &asked, get);
    Ingredient::from_analysis(&own.id, &figures, Some(&like), published_kind(facts), rules)
}
