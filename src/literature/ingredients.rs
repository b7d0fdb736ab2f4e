//! Published composition of ingredients.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::matter::{Analysis, Property, SolidKind};
use crate::quantity::nearest;

use super::entry::{Entry, RawEntry, TableError};

/// File name in messages.
const FILE: &str = "ingredients.json";

/// How the key of a property of an ingredient begins.
const TABLE: &str = "ingredients.";

/// What is published of one ingredient. The prints give percent; shares here are kg/kg.
///
/// C:N is not stored: it is carbon over nitrogen, since ratios do not average. The organic fractions and ash need not sum to
/// one; the remainder is organic acids, extractives and what nobody identified.
#[derive(Debug, Clone, PartialEq)]
pub struct IngredientFacts {
    /// Identifier in scenario files.
    pub id: String,
    /// Name in words.
    pub name: String,
    /// Kind of solid.
    pub solid_kind: SolidKind,
    /// Group from which the buffering capacity was taken.
    pub buffer_group: String,
    /// The published properties; None if nothing is known, as of the organic fractions of finished compost.
    pub properties: Analysis<Option<Entry>>,
}

/// An ingredient as the file holds it.
#[derive(Debug, Deserialize)]
struct RawIngredient {
    id: String,
    name: String,
    solid_kind: SolidKind,
    buffer_group: String,
    #[serde(flatten)]
    properties: BTreeMap<String, RawEntry>,
}

impl RawIngredient {
    fn check(self) -> Result<IngredientFacts, TableError> {
        let mut properties = Analysis::default();
        for (name, raw) in self.properties {
            let key = format!("{TABLE}{}.{name}", self.id);
            let Some(property) = Property::from_name(&name) else {
                return Err(TableError::Property { file: FILE, key });
            };
            let name = format!("{}: {}", self.name, property.heading());
            properties[property] = Some(raw.check(FILE, key, name)?);
        }
        let Self { id, name, solid_kind, buffer_group, .. } = self;
        Ok(IngredientFacts { id, name, solid_kind, buffer_group, properties })
    }
}

/// Reads the ingredients; no two may have the same identifier.
fn read(text: &str) -> Result<Vec<IngredientFacts>, TableError> {
    let raw: Vec<RawIngredient> =
        serde_json::from_str(text).map_err(|error| TableError::Form { file: FILE, error })?;
    let mut list: Vec<IngredientFacts> = Vec::with_capacity(raw.len());
    for one in raw {
        let one = one.check()?;
        if list.iter().any(|earlier| earlier.id == one.id) {
            return Err(TableError::Duplicate { file: FILE, key: one.id });
        }
        list.push(one);
    }
    Ok(list)
}

static INGREDIENTS: LazyLock<Vec<IngredientFacts>> = LazyLock::new(|| {
    read(include_str!("ingredients.json"))
        .unwrap_or_else(|error| panic!("the ingredients built into the library are faulty: {error}"))
});

/// Every ingredient, in file order.
pub fn ingredients() -> &'static [IngredientFacts] {
    &INGREDIENTS
}

/// The ingredient of that identifier.
pub fn ingredient(id: &str) -> Option<&'static IngredientFacts> {
    INGREDIENTS.iter().find(|ingredient| ingredient.id == id)
}

/// The identifier most like a mistyped one, for a hint; None if nothing is near.
pub fn nearest_ingredient(wrong: &str) -> Option<&'static str> {
    nearest(wrong, INGREDIENTS.iter().map(|ingredient| ingredient.id.as_str()))
}

/// Every published property of every ingredient, in the order of the file and of the properties.
pub fn composition() -> impl Iterator<Item = &'static Entry> {
    INGREDIENTS.iter().flat_map(|ingredient| ingredient.properties.stated().map(|(_, entry)| entry))
}

/// The key of a property of an ingredient, `ingredients.<ingredient>.<property>`.
pub fn composition_key(ingredient: &str, property: Property) -> String {
    format!("{TABLE}{ingredient}.{}", property.name())
}

/// Ingredient and property of such a key, whether they exist or not.
pub fn composition_parts(key: &str) -> Option<(&str, &str)> {
    key.strip_prefix(TABLE)?.split_once('.')
}

/// The published property of that key.
pub(super) fn figure(key: &str) -> Option<&'static Entry> {
    let (id, name) = composition_parts(key)?;
    ingredient(id)?.properties[Property::from_name(name)?].as_ref()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faulty_ingredients_are_refused_by_kind() {
        let named = |cell: &str| {
            format!(r#"{{ "id": "a", "name": "b", "solid_kind": "food", "buffer_group": "c"{cell} }}"#)
        };
        let cell = |name: &str, unit: &str, low: f64| {
            format!(
                r#", "{name}": {{ "unit": "{unit}", "central": 0.1, "low": {low}, "high": 0.2, "shape": "triangular",
                "evidence": "read", "source": ["recalled"], "note": "" }}"#
            )
        };
        let one = |name: &str, unit: &str, low: f64| read(&format!("[{}]", named(&cell(name, unit, low))));
        let good = named(&cell("ash", "kg/kg", 0.05));
        assert!(read(&format!("[{good}]")).is_ok());
        assert!(matches!(read(&format!("[{good},{good}]")), Err(TableError::Duplicate { .. })));
        assert!(matches!(one("ash", "", 0.05), Err(TableError::Bare { .. })));
        assert!(
            matches!(one("ash", "kg/kg", 0.15), Err(TableError::Number { key, .. }) if key == "ingredients.a.ash")
        );
        assert!(matches!(one("colour", "kg/kg", 0.05), Err(TableError::Property { .. })));
    }
}
