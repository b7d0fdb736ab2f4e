//! Ingredients of the user's own: how they are typed, checked, published in the schema and split.
//!
//! Which figures an ingredient may have is said by the table of [`Property`] alone.

use super::check::Checker;
use super::error::Fault;
use super::field::{Fallback, Field};
use super::given::Given;
use super::larder::{self, Get};
use super::locate::Part;
use super::path::KeyPath;
use super::plan::Choices;
use crate::literature;
use crate::matter::{Analysis, Booking, Property};
use crate::process::ingredient::analysis::{Stated, names};
use crate::process::ingredient::{Ingredient, IngredientError, SplitRules};
use crate::quantity::unparted;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::de::{Error, MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::{Map, Value, json};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

/// An ingredient of the user's own as typed.
#[derive(Debug, Clone)]
pub struct TypedIngredient {
    /// Library ingredient that fills the properties left out.
    pub like: String,
    /// The properties given.
    pub given: Analysis<Option<Given>>,
}

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

/// Number of properties that a scenario may give.
const GIVEN: usize = {
    let (mut count, mut i) = (0, 0);
    while i < Property::COUNT {
        count += Property::ALL[i].given().is_some() as usize;
        i += 1;
    }
    count
};

/// The rows of the properties in the table of fields.
pub(super) const FIELDS: [Field; GIVEN] = {
    let empty = Field {
        path: "",
        kind: Property::ALL[0].kind(),
        low: 0.0,
        high: 0.0,
        fallback: Fallback::Nothing,
        basis: "",
    };
    let (mut rows, mut row, mut i) = ([empty; GIVEN], 0, 0);
    while i < Property::COUNT {
        let property = Property::ALL[i];
        if let Some((low, high)) = property.given() {
            rows[row] = Field { path: property.key(), kind: property.kind(), low, high, ..empty };
            row += 1;
        }
        i += 1;
    }
    rows
};

/// Keys of an ingredient that are not properties, with their texts.
const OTHER_KEYS: [(&str, &str); 2] = [
    ("note", "For readers; not read by the program."),
    ("like", "Library ingredient that fills what is left out."),
];

/// Every key of an ingredient.
const KEYS: [&str; OTHER_KEYS.len() + GIVEN] = {
    let mut keys = [OTHER_KEYS[0].0; OTHER_KEYS.len() + GIVEN];
    keys[1] = OTHER_KEYS[1].0;
    let (mut key, mut i) = (OTHER_KEYS.len(), 0);
    while i < Property::COUNT {
        if Property::ALL[i].given().is_some() {
            keys[key] = Property::ALL[i].name();
            key += 1;
        }
        i += 1;
    }
    keys
};

/// A key of an ingredient as read.
enum Key {
    Note,
    Like,
    Property(Property),
}

impl<'de> Deserialize<'de> for Key {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Reader;
        impl Visitor<'_> for Reader {
            type Value = Key;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a key")
            }
            fn visit_str<E: Error>(self, key: &str) -> Result<Key, E> {
                match key {
                    "note" => Ok(Key::Note),
                    "like" => Ok(Key::Like),
                    name => Property::from_name(name)
                        .filter(|property| property.given().is_some())
                        .map(Key::Property)
                        .ok_or_else(|| E::unknown_field(name, &KEYS)),
                }
            }
        }
        deserializer.deserialize_identifier(Reader)
    }
}

impl<'de> Deserialize<'de> for TypedIngredient {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Reader;
        impl<'de> Visitor<'de> for Reader {
            type Value = TypedIngredient;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("struct TypedIngredient")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<TypedIngredient, A::Error> {
                let (mut like, mut given) = (None, Analysis::default());
                while let Some(key) = map.next_key()? {
                    match key {
                        Key::Note => drop(map.next_value::<Option<String>>()?),
                        Key::Like => like = Some(map.next_value()?),
                        Key::Property(property) => given[property] = map.next_value()?,
                    }
                }
                let like = like.ok_or_else(|| A::Error::missing_field("like"))?;
                Ok(TypedIngredient { like, given })
            }
        }
        deserializer.deserialize_struct("TypedIngredient", &KEYS, Reader)
    }
}

impl JsonSchema for TypedIngredient {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "Ingredient".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let mut properties = Map::new();
        let mut add = |name: &str, words: &str, mut schema: Schema| {
            schema.insert("description".to_owned(), json!(words));
            properties.insert(name.to_owned(), Value::from(schema));
        };
        let [(note, note_words), (like, like_words)] = OTHER_KEYS;
        add(note, note_words, generator.subschema_for::<Option<String>>());
        add(like, like_words, generator.subschema_for::<String>());
        for property in Property::ALL.into_iter().filter(|property| property.given().is_some()) {
            add(property.name(), property.words(), generator.subschema_for::<Option<Given>>());
        }
        schemars::json_schema!({
            "description": "An ingredient of your own: a property that is given is used as it is; one that is left out is filled \
                from the ingredient it is like, and drawn with it.",
            "type": "object",
            "properties": properties,
            "required": [like],
            "additionalProperties": false
        })
    }
}

impl OwnIngredient {
    /// Splits it, with the properties left out from the like ingredient as `get` gives them. Only those that matter are asked
    /// for: bulk density only if volumes count, nitrogen only if protein is not given either.
    ///
    /// # Errors
    /// [`IngredientError`] if its properties contradict each other.
    ///
    /// # Panics
    /// If the like ingredient is not in the library, which the reader has checked.
    pub(super) fn split(
        &self,
        rules: &SplitRules,
        by_volume: bool,
        get: &Get<'_>,
    ) -> Result<Ingredient, IngredientError> {
        let facts =
            literature::ingredient(&self.like).expect("the like ingredient was checked with the plan");
        let asked = |property| {
            self.given[property].is_none()
                && match property {
                    Property::BulkDensity => by_volume,
                    Property::Nitrogen => self.given[Property::Protein].is_none(),
                    _ => true,
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

/// Reads every own ingredient.
pub(super) fn read(check: &mut Checker<'_>, typed: &BTreeMap<String, TypedIngredient>) -> Vec<OwnIngredient> {
    typed.iter().map(|(id, typed)| read_one(check, id, typed)).collect()
}

fn read_one(check: &mut Checker<'_>, id: &str, typed: &TypedIngredient) -> OwnIngredient {
    let path = KeyPath::top("ingredients").entry(id);
    if literature::ingredient(id).is_some() {
        let hint = format!(
            "for example `our_{id}`; to replace a figure of the library's own, use `rates`, such as \"ingredients.{id}.moisture\""
        );
        let fault = check.at(&path, Part::Key, "this name belongs to the library");
        check.faults.push(fault.allowed("a name of its own").hint(Some(hint)));
    }
    // an ingredient may be like one of the library only, so that no circle can be made
    let own = std::mem::take(&mut check.own);
    let like = check.ingredient(&path.key("like"), Part::Value, &typed.like);
    check.own = own;
    let mut given = Analysis::default();
    for (property, raw) in typed.given.stated() {
        given[property] = check.number(&path.key(property.name()), Some(raw));
    }
    let ingredient = OwnIngredient { id: id.to_owned(), like, given };
    dry_mass_sums(check, &path, &ingredient);
    ingredient
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

/// Splits every own ingredient that has no fault yet, and every library ingredient with a figure replaced in `rates`, by the rules
/// of this plan, and reports why one cannot be split.
pub(super) fn contradictions(check: &mut Checker<'_>, choices: &Choices) {
    // rates that are wrong themselves say nothing about an ingredient
    let sound = !check.faults.iter().any(|fault| fault.key.starts_with("rates"));
    let chosen = |key: &str| choices.rates.iter().find(|r| sound && r.key == key).map(|r| r.central);
    let get = |key: &str| {
        chosen(key).or_else(|| literature::central(key)).expect("rules and figures are in the tables")
    };
    let rules = SplitRules::from_values(&get);
    if sound {
        replaced_contradictions(check, choices, &rules, &get);
    }
    for own in &choices.ingredients {
        let path = KeyPath::top("ingredients").entry(&own.id);
        let name = path.to_string();
        let faulty = check.faults.iter().any(|f| f.key == name || f.key.starts_with(&format!("{name}.")));
        if faulty || literature::ingredient(&own.like).is_none() {
            continue;
        }
        if let Err(problem) = own.split(&rules, true, &get) {
            let fault = contradiction(check, &path, own, &problem);
            check.faults.push(fault);
        }
    }
}

/// Splits every ingredient of the library with a figure replaced in `rates`.
fn replaced_contradictions(check: &mut Checker<'_>, choices: &Choices, rules: &SplitRules, get: &Get<'_>) {
    let mut seen = Vec::new();
    for choice in &choices.rates {
        let Some((name, _)) = literature::composition_parts(&choice.key) else { continue };
        if seen.contains(&name) {
            continue;
        }
        seen.push(name);
        let Some(facts) = literature::ingredient(name) else { continue };
        if let Err(error) = larder::replaced(facts, rules, get) {
            let path = KeyPath::top("rates").entry(&choice.key);
            let hint = format!("`loamledger facts {name}` shows the figures that are not replaced");
            let fault = check.at(&path, Part::Key, error.problem.to_string());
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
) -> Fault {
    let short = |value: f64| unparted(value, 4);
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
    let fault = match found {
        Some(property) => check.at(&path.key(property.name()), Part::Value, problem.to_string()),
        None => check.at(path, Part::Key, problem.to_string()).nothing_given(),
    };
    fault.allowed(allowed).hint(Some(hint))
}
