//! Figures of ingredients as numbers of their own: every cell of the ingredients under the key `ingredients.<ingredient>.<figure>`.
//!
//! So a figure of an ingredient is drawn, fixed, replaced, looked up and ranked like any rate.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::entry::Entry;
use super::ingredients::{IngredientFacts, ingredients};

/// How the key of a figure of an ingredient begins.
const TABLE: &str = "ingredients.";

/// The key of a figure of an ingredient, `ingredients.<ingredient>.<figure>`; figures are named as in scenario files.
pub fn composition_key(ingredient: &str, figure: &str) -> String {
    format!("{TABLE}{ingredient}.{figure}")
}

/// Ingredient and figure of such a key, whether they exist or not.
pub fn composition_parts(key: &str) -> Option<(&str, &str)> {
    key.strip_prefix(TABLE)?.split_once('.')
}

struct Composition {
    rows: Vec<Entry>,
    by_key: BTreeMap<String, usize>,
}

impl Composition {
    fn of(ingredients: &[IngredientFacts]) -> Self {
        let rows: Vec<Entry> = ingredients.iter().flat_map(rows).collect();
        let by_key = rows.iter().enumerate().map(|(row, entry)| (entry.key.clone(), row)).collect();
        Self { rows, by_key }
    }
}

fn rows(facts: &IngredientFacts) -> impl Iterator<Item = Entry> {
    facts.cells().into_iter().filter_map(|(name, cell)| {
        let cell = cell?;
        Some(Entry {
            key: composition_key(&facts.id, name),
            name: format!("{}: {}", facts.name, name.replace('_', " ")),
            unit: cell.unit.clone(),
            value: cell.value,
            evidence: cell.evidence,
            sources: cell.sources.clone(),
            note: cell.note.clone(),
        })
    })
}

static COMPOSITION: LazyLock<Composition> = LazyLock::new(|| Composition::of(ingredients()));

/// Every figure of every ingredient, in file order.
pub fn composition() -> &'static [Entry] {
    &COMPOSITION.rows
}

/// The figure of that key.
pub(super) fn figure(key: &str) -> Option<&'static Entry> {
    COMPOSITION.by_key.get(key).map(|&row| &COMPOSITION.rows[row])
}
