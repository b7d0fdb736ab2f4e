//! Ingredients of a plan: library rows and the user's own, split into components.

use super::assemble::central;
use super::plan::{Filling, Grit, Plan, Scraps};
use crate::literature::{self, Entry, IngredientFacts};
use crate::matter::Property;
use crate::process::ingredient::analysis::{Stated, StatedAnalysis};
use crate::process::ingredient::{Ingredient, IngredientError, SplitRules};
use std::collections::BTreeMap;
use std::fmt;

/// An ingredient whose properties contradict each other.
#[derive(Debug, Clone, PartialEq)]
pub struct LarderError {
    /// Name of the ingredient, as the plan has it.
    pub ingredient: String,
    /// The contradiction.
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

/// Value of a rate, or of a property of an ingredient, by its key.
pub(super) type Get<'a> = dyn Fn(&str) -> f64 + 'a;

/// Ingredients of a site, each split into components: those it uses and the user's own.
#[derive(Debug, Clone)]
pub struct Larder(BTreeMap<String, Ingredient>);

impl Larder {
    /// Splits the ingredients that the plan uses with the values that `get` gives, and own ingredients that it does not use with
    /// central values.
    ///
    /// Only properties that make a difference are asked for: none that an own ingredient gives, no protein (nitrogen governs
    /// it), bulk density only if volumes count, classes of carbohydrate only of what goes into drums. Ingredients like the same one of the library share its values.
    ///
    /// # Errors
    /// [`LarderError`] for the first ingredient whose properties contradict each other.
    pub fn of(plan: &Plan, rules: &SplitRules, get: &Get<'_>) -> Result<Self, LarderError> {
        let mut all = BTreeMap::new();
        let used = used(plan);
        for (&name, &needs) in &used {
            let wrong = |problem| LarderError { ingredient: name.to_owned(), problem };
            let built = match plan.ingredients.iter().find(|own| own.id == name) {
                Some(own) => own.split(rules, needs, get).map_err(wrong)?,
                None => match literature::ingredient(name) {
                    Some(facts) => {
                        let analysis = drawn_analysis(facts, &|property| needs.asks(property), get);
                        published(facts, &analysis, rules)?
                    }
                    // a name that the check refused
                    None => continue,
                },
            };
            all.insert(name.to_owned(), built);
        }
        for own in plan.ingredients.iter().filter(|own| !used.contains_key(own.id.as_str())) {
            let built = own
                .split(rules, Needs::default(), &|key| central(plan, key))
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

/// Every ingredient of the literature by its identifier, split with the values that `get` gives.
///
/// # Errors
/// [`LarderError`] if the values of a row contradict each other.
pub fn library(rules: &SplitRules, get: &Get<'_>) -> Result<BTreeMap<String, Ingredient>, LarderError> {
    literature::ingredients()
        .iter()
        .map(|facts| Ok((facts.id.clone(), replaced(facts, rules, get)?)))
        .collect()
}

/// A library ingredient with the values that `get` gives.
///
/// # Errors
/// [`LarderError`] if they contradict each other.
pub(super) fn replaced(
    facts: &IngredientFacts,
    rules: &SplitRules,
    get: &Get<'_>,
) -> Result<Ingredient, LarderError> {
    published(facts, &drawn_analysis(facts, &|_| true, get), rules)
}

fn published(
    facts: &IngredientFacts,
    analysis: &StatedAnalysis,
    rules: &SplitRules,
) -> Result<Ingredient, LarderError> {
    Ingredient::from_analysis(&facts.id, analysis, None, facts.solid_kind, rules)
        .map_err(|problem| LarderError { ingredient: facts.id.clone(), problem })
}

/// Names of the ingredients that a plan moves (streams, carrier, molasses, bulking, grit, bedding, blend), in their order.
pub fn ingredients_used(plan: &Plan) -> impl Iterator<Item = &str> {
    used(plan).into_keys()
}

/// Whether the volume of an ingredient counts, and whether it goes into drums.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Needs {
    pub(super) volume: bool,
    pub(super) drums: bool,
}

impl Needs {
    /// All of them.
    pub(super) const ALL: Self = Self { volume: true, drums: true };

    /// Whether a property makes a difference.
    pub(super) fn asks(self, property: Property) -> bool {
        match property {
            Property::BulkDensity => self.volume,
            Property::FreeSugar | Property::CookedStarch => self.drums,
            _ => true,
        }
    }
}

/// Names of the ingredients that a plan moves, and what is needed of each.
fn used(plan: &Plan) -> BTreeMap<&str, Needs> {
    let streams = plan.streams.iter().flat_map(|s| s.mix.iter().map(|part| part.ingredient.as_str()));
    let beds = plan.beds.iter().flat_map(|b| b.bedding.parts()).map(|(name, _)| name);
    let grit = plan.grit.iter().flat_map(Grit::parts).map(|(name, _)| name);
    let bulking = plan.bulking.iter().map(|b| b.ingredient.as_str());
    let blend = plan.castings.blend.iter().map(|b| b.with.as_str());
    let mut all: BTreeMap<&str, Needs> = grit.map(|name| (name, Needs::default())).collect();
    let filled = plan.beds.iter().filter_map(|b| b.filled_with.as_ref()).flat_map(Filling::ingredients);
    for name in beds.chain(filled).chain(bulking).chain(blend).chain([MOLASSES]) {
        all.entry(name).or_default().volume = true;
    }
    for name in streams {
        let needs = all.entry(name).or_default();
        needs.drums |= plan.ferments();
        needs.volume |= plan.feeding.scraps == Scraps::Whole;
    }
    for name in [plan.bran.carrier.as_str(), MOLASSES] {
        all.entry(name).or_default().drums = true;
    }
    all
}

/// A published row with its central values, as [`Ingredient::from_analysis`] takes it; a bulk density printed on dry mass is
/// converted to wet mass, a share of the organic matter to one of the dry mass.
pub fn published_analysis(facts: &IngredientFacts) -> StatedAnalysis {
    analysis(facts, |_, entry| entry.value.central())
}

/// A published row with the values that `get` gives for the properties asked for.
///
/// The published range of a property stays as it is: the splitter keeps drawn fractions inside it as far as their sum, nitrogen
/// and carbon allow, moving those with wide ranges most. For independent normal fractions that is exactly their distribution once
/// their sum is known. Carbon is drawn too, but half of the draws ask for more or less than such fractions can hold and get the
/// nearest possible, 0.7 % of the dry matter off on average.
pub(super) fn drawn_analysis(
    facts: &IngredientFacts,
    asked: &dyn Fn(Property) -> bool,
    get: &Get<'_>,
) -> StatedAnalysis {
    analysis(facts, |property, entry| {
        // nitrogen governs protein
        if asked(property) && property != Property::Protein { get(&entry.key) } else { entry.value.central() }
    })
}

/// A row with values for its properties.
fn analysis(facts: &IngredientFacts, value: impl Fn(Property, &Entry) -> f64) -> StatedAnalysis {
    let mut made = facts.properties.map_stated(|property, entry| {
        let given = value(property, entry);
        Stated::new(given, entry.value.low().min(given), entry.value.high().max(given))
    });
    // nitrogen of soil follows its organic matter: drawn apart from the ash, a draw could hold more than pure protein does
    let organic = 1.0 - made[Property::Ash].map_or(0.0, |ash| ash.central);
    for (property, _) in facts.properties.stated().filter(|(_, entry)| entry.is_of_organic_matter()) {
        made[property] = made[property].map(|figure| figure.times(organic));
    }
    // one density is printed on dry matter; "loose and dry" is a state, not a basis
    let of_dry = |entry: &Entry| entry.unit.contains("dry basis");
    if facts.properties[Property::BulkDensity].as_ref().is_some_and(of_dry) {
        let dry = 1.0 - made[Property::Moisture].map_or(0.0, |moisture| moisture.central);
        made[Property::BulkDensity] = made[Property::BulkDensity].map(|density| density.times(1.0 / dry));
    }
    made
}
