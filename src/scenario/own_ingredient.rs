//! Ingredients of the user's own: how they are read, published in the schema, checked and split.
//!
//! Which figures an ingredient may have is said by the table of [`Property`] alone.

use super::check::Checker;
use super::error::Fault;
use super::larder::{self, Get, Needs};
use super::locate::Part;
use super::path::KeyPath;
use super::plan::Choices;
use super::rule::{Entry, library_ingredient, may};
use super::section::{Key, Shape, known_keys, read_key};
use crate::literature;
use crate::matter::{Analysis, Booking, Property};
use crate::process::ingredient::analysis::{Stated, names};
use crate::process::ingredient::{Ingredient, IngredientError, SplitRules};
use crate::quantity::format_input;
use jsonc_parser::ast::Value;

/// An ingredient of the user's own, checked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OwnIngredient {
    /// Name in this scenario.
    pub id: String,
    /// Library ingredient that fills the properties left out.
    pub like: String,
    /// The properties given, each in the unit of its kind.
    pub given: Analysis<Option<f64>>,
}

/// The properties that a scenario may give, each with the smallest and the largest allowed value.
fn properties() -> impl Iterator<Item = (Property, f64, f64)> {
    Property::ALL.into_iter().filter_map(|property| {
        let (low, high) = property.given()?;
        Some((property, low, high))
    })
}

fn keys() -> Vec<Key> {
    let like = Key::new("like", &["Library ingredient that fills what is left out."], &library_ingredient());
    let property = |(property, low, high): (Property, f64, f64)| {
        Key::new::<Option<f64>>(property.name(), &[property.words()], &may(property.kind(), low, high))
    };
    [Key::note(), like].into_iter().chain(properties().map(property)).collect()
}

impl Entry for OwnIngredient {
    fn shape() -> Shape {
        let about = "An ingredient of your own: a property that is given is used as it is; one that is left out is filled from the \
            ingredient it is like, and drawn with it.";
        Shape::Section(about.to_owned(), keys())
    }

    fn read(check: &mut Checker<'_>, path: &KeyPath, name: &str, value: &Value<'_>) -> Self {
        if literature::ingredient(name).is_some() {
            let hint = format!(
                "for example `our_{name}`; to replace a figure of the library's own, use `rates`, such as \"ingredients.{name}.moisture\""
            );
            let fault = check.at(path, Part::Key, "this name belongs to the library");
            check.faults.push(fault.allowed("a name of its own").hint(Some(hint)));
        }
        let object = value.as_object();
        match object {
            Some(object) => known_keys(check, path, object, &keys()),
            None => check.wrong_type(path, value, &Self::shape()),
        }
        // an ingredient may be like one of the library only, so that no circle can be made
        let like = read_key(check, path, object, "like", &library_ingredient());
        let mut given = Analysis::default();
        for (property, low, high) in properties() {
            given[property] =
                read_key(check, path, object, property.name(), &may(property.kind(), low, high));
        }
        let ingredient = Self { id: name.to_owned(), like, given };
        dry_mass_sums(check, path, &ingredient);
        ingredient
    }
}

impl OwnIngredient {
    /// Splits it, with the properties left out from the like ingredient as `get` gives them. Only those that matter are asked
    /// for: bulk density only if volumes count, classes of carbohydrate only of what goes into drums, nitrogen only if protein is not given either.
    ///
    /// # Errors
    /// [`IngredientError`] if its properties contradict each other.
    ///
    /// # Panics
    /// If the like ingredient is not in the library, which the reader has checked.
    pub(super) fn split(
        &self,
        rules: &SplitRules,
        needs: Needs,
        get: &Get<'_>,
    ) -> Result<Ingredient, IngredientError> {
        let facts =
            literature::ingredient(&self.like).expect("the like ingredient was checked with the plan");
        let asked = |property| {
            self.given[property].is_none()
                && match property {
                    Property::Nitrogen => self.given[Property::Protein].is_none(),
                    other => needs.asks(other),
                }
        };
        let like = larder::drawn_analysis(facts, &asked, get);
        let own = self.given.map_stated(|_, value| Stated::exact(*value));
        Ingredient::from_analysis(&self.id, &own, Some(&like), facts.solid_kind, rules)
    }

    /// Sum of those given of some properties.
    fn sum(&self, properties: impl Iterator<Item = Property>) -> f64 {
        properties.filter_map(|property| self.given[property]).sum()
    }
}

/// The properties of which a scenario may give shares that sum to at most the dry mass.
fn fractions_and_ash() -> impl Iterator<Item = Property> {
    let organic = |p: &Property| matches!(p.booking(), Booking::Organic(_)) && p.given().is_some();
    Property::ALL.into_iter().filter(organic).chain([Property::Ash])
}

/// Parts of the dry mass cannot be more than the whole.
fn dry_mass_sums(check: &mut Checker<'_>, path: &KeyPath, own: &OwnIngredient) {
    let elements = || [Property::Carbon, Property::Nitrogen, Property::Ash].into_iter();
    let groups = [
        (names(fractions_and_ash()), own.sum(fractions_and_ash())),
        (names(elements()), own.sum(elements())),
    ];
    for (names, total) in groups {
        if total > 1.0 + 1e-6 {
            let fault = check.at(path, Part::Key, format!("{names} sum to {total:.4} of the dry mass"));
            check.faults.push(fault.allowed("a sum of at most 1").nothing_given());
        }
    }
}

/// What is added to a contradiction that only draws can meet.
const AT_HIGH_ENDS: &str = ", with ash and nitrogen drawn at the high ends of their ranges";

/// Splits every own ingredient that has no fault yet, and every library ingredient with a figure replaced in `rates`, by the rules
/// of this plan, and reports why one cannot be split: with the best estimates, or with ash and nitrogen at the high ends of their
/// ranges, where organic matter is least and nitrogen most. So no draw is impossible.
pub(super) fn contradictions(check: &mut Checker<'_>, choices: &Choices) {
    // rates that are wrong themselves say nothing about an ingredient
    let sound = !check.is_faulty(&KeyPath::top("rates"));
    let chosen = |key: &str| choices.rates.iter().find(|r| sound && r.key == key).map(|r| r.central);
    let get = |key: &str| {
        chosen(key).or_else(|| literature::central(key)).expect("rules and figures are in the tables")
    };
    let highest = |key: &str| {
        let of_both =
            [Property::Ash, Property::Nitrogen].iter().any(|p| key.ends_with(&format!(".{}", p.name())));
        if !of_both || literature::composition_parts(key).is_none() {
            return get(key);
        }
        match choices.rates.iter().find(|rate| sound && rate.key == key) {
            Some(choice) => choice.range.as_ref().map_or(choice.central, |range| range.high),
            None => literature::entry(key).map_or_else(|| get(key), |entry| entry.value.high()),
        }
    };
    let rules = SplitRules::from_values(&get);
    if sound {
        replaced_contradictions(check, choices, &rules, &[(&get, ""), (&highest, AT_HIGH_ENDS)]);
    }
    for own in &choices.ingredients {
        let path = KeyPath::top("ingredients").key(&own.id);
        if check.is_faulty(&path) || literature::ingredient(&own.like).is_none() {
            continue;
        }
        let split = |get: &Get<'_>| own.split(&rules, Needs::ALL, get).err();
        let problem = split(&get).map(|p| (p, "")).or_else(|| split(&highest).map(|p| (p, AT_HIGH_ENDS)));
        if let Some((problem, when)) = problem {
            let fault = contradiction(check, &path, own, &problem, when);
            check.faults.push(fault);
        }
    }
}

/// Splits every ingredient of the library with a figure replaced in `rates`, with each set of values until one cannot be split.
fn replaced_contradictions(
    check: &mut Checker<'_>,
    choices: &Choices,
    rules: &SplitRules,
    values: &[(&Get<'_>, &'static str)],
) {
    let mut seen = Vec::new();
    for choice in &choices.rates {
        let Some((name, _)) = literature::composition_parts(&choice.key) else { continue };
        if seen.contains(&name) {
            continue;
        }
        seen.push(name);
        let Some(facts) = literature::ingredient(name) else { continue };
        let split = |&(get, when): &(&Get<'_>, &'static str)| {
            Some((larder::replaced(facts, rules, get).err()?, when))
        };
        if let Some((error, when)) = values.iter().find_map(split) {
            let path = KeyPath::top("rates").key(&choice.key);
            let hint = format!("`loamledger facts {name}` shows the figures that are not replaced");
            let fault = check.at(&path, Part::Key, format!("{}{when}", error.problem));
            check.faults.push(fault.allowed("figures that fit together").hint(Some(hint)).nothing_given());
        }
    }
}

/// A fault at the first property concerned that is given, or at the ingredient itself if none is.
fn contradiction(
    check: &Checker<'_>,
    path: &KeyPath,
    own: &OwnIngredient,
    problem: &IngredientError,
    when: &str,
) -> Fault {
    let short = |value: f64| format_input(value, 4);
    let of_ash = || Property::of_ash().map(|(property, _)| property);
    let (concerned, allowed): (Vec<Property>, String) = match problem {
        IngredientError::Missing(property) => {
            (vec![], format!("`{}` given here or by `{}`", property.name(), own.like))
        }
        IngredientError::OutOfRange { property, low, high, .. } => {
            (vec![*property], format!("{low} to {high}"))
        }
        IngredientError::Unordered(property) => {
            (vec![*property], "low, central and high in order".to_owned())
        }
        IngredientError::FractionsAboveOne { .. } => {
            (fractions_and_ash().collect(), format!("{} that sum to at most 1", names(fractions_and_ash())))
        }
        IngredientError::AshTooSmall { parts, .. } => (
            [Property::Ash].into_iter().chain(of_ash()).collect(),
            format!("ash of at least {}, the sum of its parts", short(*parts)),
        ),
        IngredientError::ImpossibleNitrogen { most, .. } => (
            vec![Property::Nitrogen, Property::Protein, Property::Ash],
            format!("nitrogen of at most {}", short(*most)),
        ),
    };
    let hint = format!(
        "what is left out is filled from `{}` (`loamledger facts {}` shows it); give the other figures too, or a like ingredient \
         that fits better",
        own.like, own.like
    );
    let found = concerned.into_iter().find(|property| own.given[*property].is_some());
    let text = format!("{problem}{when}");
    let fault = match found {
        Some(property) => check.at(&path.key(property.name()), Part::Value, text),
        None => check.at(path, Part::Key, text).nothing_given(),
    };
    fault.allowed(allowed).hint(Some(hint))
}
