//! Published composition of ingredients.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::quantity::{Uncertain, nearest};

use super::entry::{Evidence, Number, TableError};

/// File name in messages.
const FILE: &str = "ingredients.json";

/// What kind of solid an ingredient is: how its structure behaves in a bed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum SolidKind {
    /// Soft and rotting: scraps, brans, molasses, manures.
    Food,
    /// Fibrous matter that holds pores open.
    Bulking,
    /// Already stabilised organic matter: finished compost.
    Humified,
}

/// One figure of one ingredient.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// The figure, its range and shape, in `unit`; fractions in kg/kg.
    pub value: Uncertain,
    /// Unit; says whether it is per wet or per dry mass.
    pub unit: String,
    /// How well it is founded.
    pub evidence: Evidence,
    /// Keys of [`sources`](super::sources()).
    pub sources: Vec<String>,
    /// Remarks and where exactly it comes from; may be empty.
    pub note: String,
}

/// What is published of one ingredient. The prints give percent; fractions here are kg/kg.
///
/// A cell is absent where nothing is known (the organic fractions of finished compost). C:N is not stored: it is carbon
/// over nitrogen, since ratios do not average. The organic fractions and ash need not sum to one; the remainder is organic
/// acids, extractives and what nobody identified.
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
    /// Water, kg/kg wet.
    pub moisture: Option<Cell>,
    /// Carbon, kg/kg dry matter.
    pub carbon: Option<Cell>,
    /// Nitrogen, kg/kg dry matter.
    pub nitrogen: Option<Cell>,
    /// Ash, kg/kg dry matter.
    pub ash: Option<Cell>,
    /// Phosphorus as P, kg/kg dry matter.
    pub phosphorus: Option<Cell>,
    /// Potassium as K, kg/kg dry matter.
    pub potassium: Option<Cell>,
    /// Bulk density, kg/m3; the unit says on which basis.
    pub bulk_density: Option<Cell>,
    /// Crude protein, kg/kg dry matter (6.25 N unless the note says otherwise).
    pub protein: Option<Cell>,
    /// Fat, kg/kg dry matter.
    pub lipid: Option<Cell>,
    /// Sugars and starch, kg/kg dry matter.
    pub sugar_starch: Option<Cell>,
    /// Cellulose and hemicellulose, pectin included, kg/kg dry matter.
    pub cellulose_hemicellulose: Option<Cell>,
    /// Lignin, kg/kg dry matter.
    pub lignin: Option<Cell>,
    /// pH as it arrives.
    pub initial_ph: Option<Cell>,
    /// Acid to bring it from pH 6 to 4, mEq/kg dry matter; carbonate is not counted.
    pub buffering_capacity: Option<Cell>,
    /// Soluble salts as NaCl equivalent, kg/kg dry matter; potassium is booked by itself and not counted.
    pub salt: Option<Cell>,
}

impl IngredientFacts {
    /// Every cell with its name in scenario files, in the order of the fields.
    pub fn cells(&self) -> [(&'static str, Option<&Cell>); 15] {
        [
            ("moisture", self.moisture.as_ref()),
            ("carbon", self.carbon.as_ref()),
            ("nitrogen", self.nitrogen.as_ref()),
            ("ash", self.ash.as_ref()),
            ("phosphorus", self.phosphorus.as_ref()),
            ("potassium", self.potassium.as_ref()),
            ("bulk_density", self.bulk_density.as_ref()),
            ("protein", self.protein.as_ref()),
            ("fat", self.lipid.as_ref()),
            ("sugars", self.sugar_starch.as_ref()),
            ("fibre", self.cellulose_hemicellulose.as_ref()),
            ("lignin", self.lignin.as_ref()),
            ("ph", self.initial_ph.as_ref()),
            ("buffering_capacity", self.buffering_capacity.as_ref()),
            ("salt", self.salt.as_ref()),
        ]
    }
}

/// A cell as the file holds it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawCell {
    unit: String,
    central: f64,
    low: f64,
    high: f64,
    shape: String,
    evidence: Evidence,
    source: Vec<String>,
    note: String,
}

/// An ingredient as the file holds it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawIngredient {
    id: String,
    name: String,
    solid_kind: SolidKind,
    buffer_group: String,
    moisture: Option<RawCell>,
    carbon: Option<RawCell>,
    nitrogen: Option<RawCell>,
    ash: Option<RawCell>,
    phosphorus: Option<RawCell>,
    potassium: Option<RawCell>,
    bulk_density: Option<RawCell>,
    protein: Option<RawCell>,
    lipid: Option<RawCell>,
    sugar_starch: Option<RawCell>,
    cellulose_hemicellulose: Option<RawCell>,
    lignin: Option<RawCell>,
    initial_ph: Option<RawCell>,
    buffering_capacity: Option<RawCell>,
    salt: Option<RawCell>,
}

/// The checked cell; the error names ingredient and cell.
fn cell(id: &str, name: &str, raw: Option<RawCell>) -> Result<Option<Cell>, TableError> {
    let Some(raw) = raw else { return Ok(None) };
    let id = format!("{id}.{name}");
    if raw.unit.is_empty() || raw.source.is_empty() {
        return Err(TableError::Bare { file: FILE, id });
    }
    let number = Number { central: raw.central, low: raw.low, high: raw.high, shape: &raw.shape };
    Ok(Some(Cell {
        value: number.check(FILE, &id)?,
        unit: raw.unit,
        evidence: raw.evidence,
        sources: raw.source,
        note: raw.note,
    }))
}

impl RawIngredient {
    fn check(self) -> Result<IngredientFacts, TableError> {
        let id = self.id;
        Ok(IngredientFacts {
            moisture: cell(&id, "moisture", self.moisture)?,
            carbon: cell(&id, "carbon", self.carbon)?,
            nitrogen: cell(&id, "nitrogen", self.nitrogen)?,
            ash: cell(&id, "ash", self.ash)?,
            phosphorus: cell(&id, "phosphorus", self.phosphorus)?,
            potassium: cell(&id, "potassium", self.potassium)?,
            bulk_density: cell(&id, "bulk_density", self.bulk_density)?,
            protein: cell(&id, "protein", self.protein)?,
            lipid: cell(&id, "lipid", self.lipid)?,
            sugar_starch: cell(&id, "sugar_starch", self.sugar_starch)?,
            cellulose_hemicellulose: cell(&id, "cellulose_hemicellulose", self.cellulose_hemicellulose)?,
            lignin: cell(&id, "lignin", self.lignin)?,
            initial_ph: cell(&id, "initial_ph", self.initial_ph)?,
            buffering_capacity: cell(&id, "buffering_capacity", self.buffering_capacity)?,
            salt: cell(&id, "salt", self.salt)?,
            id,
            name: self.name,
            solid_kind: self.solid_kind,
            buffer_group: self.buffer_group,
        })
    }
}

/// Reads the ingredients; an identifier may stand once.
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

/// The identifier most like a mistyped one, for a hint; none if nothing is near.
pub fn nearest_ingredient(wrong: &str) -> Option<&'static str> {
    nearest(wrong, INGREDIENTS.iter().map(|ingredient| ingredient.id.as_str()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faulty_ingredients_are_refused_by_kind() {
        let named = |cell: &str| {
            format!(r#"{{ "id": "a", "name": "b", "solid_kind": "food", "buffer_group": "c"{cell} }}"#)
        };
        let cell = |unit: &str, low: f64| {
            format!(
                r#", "ash": {{ "unit": "{unit}", "central": 0.1, "low": {low}, "high": 0.2, "shape": "triangular",
                "evidence": "read", "source": ["recalled"], "note": "" }}"#
            )
        };
        let good = named(&cell("kg/kg", 0.05));
        assert!(read(&format!("[{good}]")).is_ok());
        assert!(matches!(read(&format!("[{good},{good}]")), Err(TableError::Duplicate { .. })));
        assert!(matches!(read(&format!("[{}]", named(&cell("", 0.05)))), Err(TableError::Bare { .. })));
        let wide = read(&format!("[{}]", named(&cell("kg/kg", 0.15))));
        assert!(matches!(wide, Err(TableError::Number { id, .. }) if id == "a.ash"));
    }
}
