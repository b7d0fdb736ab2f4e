//! Published numbers for people and for other programs: rates, ingredients, references.

use crate::literature::{self, Entry, Evidence, IngredientFacts, Seen, Source};
use crate::quantity::{Uncertain, Units};
use crate::report::number::{figure, rounded};
use crate::report::pages::page::Page;
use crate::report::table::{Align, Column, Table};
use serde::Serialize;

/// Marks of evidence beside figures of ingredients.
const fn mark(evidence: Evidence) -> char {
    match evidence {
        Evidence::Read => 'r',
        Evidence::SecondHand => 's',
        Evidence::Memory => 'm',
        Evidence::Derived => 'd',
        Evidence::Assumed => 'a',
        Evidence::Practice => 'p',
    }
}

/// What the marks mean.
const MARKS: &str =
    "marks: r read, s second-hand, m memory, d derived, a assumed, p practice; sources: facts INGREDIENT";

/// The name of the table a key belongs to.
fn table_of(key: &str) -> &str {
    key.split_once('.').map_or(key, |(table, _)| table)
}

fn spread(value: &Uncertain) -> String {
    if value.low() < value.high() {
        format!("{} - {}", figure(value.low()), figure(value.high()))
    } else {
        "-".to_owned()
    }
}

/// Rates as text, table by table: number and unit on one line; shape, evidence and source keys on the next.
pub fn rates_text(rates: &[&Entry]) -> String {
    let mut text = String::new();
    let mut names: Vec<&str> = Vec::new();
    for rate in rates {
        if !names.contains(&table_of(&rate.key)) {
            names.push(table_of(&rate.key));
        }
    }
    for name in names {
        let here: Vec<&&Entry> = rates.iter().filter(|rate| table_of(&rate.key) == name).collect();
        let mut columns = ["key", "central", "low - high", "unit"].map(Column::words);
        columns[1].align = Align::Right;
        let mut table = Table::new("", columns.into());
        for rate in &here {
            let cells =
                [rate.key.clone(), figure(rate.value.central()), spread(&rate.value), rate.unit.clone()];
            table.push(cells.map(Into::into).into());
        }
        if !text.is_empty() {
            text.push('\n');
        }
        let lines = table.to_text(Units::Si);
        let (head, body) = lines.lines().enumerate().partition::<Vec<_>, _>(|(at, _)| *at < HEAD_LINES);
        for (_, line) in head {
            text.push_str(line);
            text.push('\n');
        }
        for ((_, line), rate) in body.into_iter().zip(&here) {
            text.push_str(line);
            text.push_str("\n    ");
            text.push_str(&founding(rate));
            text.push('\n');
        }
    }
    text
}

/// Lines above the rows of a table without title and units.
const HEAD_LINES: usize = 2;

/// How well a rate is founded, in one line.
fn founding(rate: &Entry) -> String {
    format!("{}, {}: {}", rate.value.shape().name(), rate.evidence.name(), rate.sources.join(", "))
}

fn seen(seen: Seen) -> &'static str {
    match seen {
        Seen::Read => "read",
        Seen::SecondHand => "second-hand",
        Seen::Memory => "memory",
    }
}

/// A full reference.
pub(in crate::report) fn reference(source: &Source) -> String {
    let year = source.year.map_or(String::new(), |year| format!(" {year}"));
    let place = if source.place.is_empty() { String::new() } else { format!(". {}", source.place) };
    format!("{}{year}. {}{place} (seen: {})", source.authors, source.title, seen(source.seen))
}

fn references(keys: &[String], page: &mut Page) {
    for key in keys {
        let text = literature::source(key).map_or_else(|| "no reference".to_owned(), reference);
        page.line("source", &format!("{key}: {text}"));
    }
}

/// One rate as text, with its note and full references.
pub fn rate_text(rate: &Entry) -> String {
    let mut page = Page::new(Units::Si);
    page.heading(&rate.key);
    page.line("what", &rate.name);
    page.line("central", &with_unit(&full(rate.value.central()), &rate.unit));
    if rate.value.low() < rate.value.high() {
        let range = format!("{} - {}", full(rate.value.low()), full(rate.value.high()));
        page.line("low - high", &with_unit(&range, &rate.unit));
    }
    page.line("shape", rate.value.shape().name());
    page.line("evidence", rate.evidence.name());
    if !rate.note.is_empty() {
        page.line("note", &rate.note);
    }
    references(&rate.sources, &mut page);
    page.into_text()
}

/// A number in full, small ones with a power of ten.
fn full(value: f64) -> String {
    if value != 0.0 && value.abs() < 1e-3 { format!("{value:e}") } else { value.to_string() }
}

fn with_unit(number: &str, unit: &str) -> String {
    if unit == "1" { number.to_owned() } else { format!("{number} {unit}") }
}

/// Ingredients as text in two tables: analysis, and fractions of the dry matter; every figure with its mark of evidence.
pub fn ingredients_text(ingredients: &[&IngredientFacts]) -> String {
    ingredients_page(ingredients).into_text()
}

/// The same as a page; its figures are shares and SI whatever the reader's units.
pub(in crate::report) fn ingredients_page(ingredients: &[&IngredientFacts]) -> Page {
    let mut page = Page::new(Units::Si);
    let analysis = ["moisture", "carbon", "nitrogen", "ash", "phosphorus", "potassium", "bulk_density", "ph"];
    let fractions = ["protein", "fat", "sugars", "fibre", "lignin", "buffering_capacity", "salt"];
    for (title, cells) in [
        ("moisture kg/kg wet, density kg/m3, the rest kg/kg dry matter", analysis.as_slice()),
        ("kg/kg dry matter; buffering capacity mEq/kg dry matter", fractions.as_slice()),
    ] {
        let mut columns = vec![Column::words("ingredient")];
        for name in cells {
            let short = match *name {
                "buffering_capacity" => "buffering".to_owned(),
                "ph" => "pH".to_owned(),
                other => other.replace('_', " "),
            };
            columns.push(Column::plain(&short, ""));
        }
        let mut table = Table::new(title, columns);
        for ingredient in ingredients {
            let known = ingredient.cells();
            let mut row = vec![ingredient.id.as_str().into()];
            for name in cells {
                let cell = known.iter().find(|(known, _)| known == name).and_then(|(_, cell)| *cell);
                row.push(cell.map_or(crate::report::table::Cell::Empty, |cell| {
                    format!("{} {}", rounded(cell.value.central(), 3), mark(cell.evidence)).into()
                }));
            }
            table.push(row);
        }
        page.table(&table);
    }
    page.paragraph(MARKS);
    page
}

/// One ingredient as text: every figure with range, evidence, sources, note; full references below.
pub fn ingredient_text(ingredient: &IngredientFacts) -> String {
    let mut page = Page::new(Units::Si);
    page.heading(&ingredient.id);
    page.line("what", &ingredient.name);
    let columns = ["figure", "central", "low - high", "unit", "evidence", "sources"].map(Column::words);
    let mut table = Table::new("", columns.into());
    let mut keys: Vec<String> = Vec::new();
    for (name, cell) in ingredient.cells().iter().filter_map(|(name, cell)| cell.map(|cell| (name, cell))) {
        let cells = [
            (*name).to_owned(),
            figure(cell.value.central()),
            spread(&cell.value),
            cell.unit.clone(),
            cell.evidence.name().to_owned(),
            cell.sources.join(", "),
        ];
        table.push(cells.map(Into::into).into());
        for key in &cell.sources {
            if !keys.contains(key) {
                keys.push(key.clone());
            }
        }
    }
    page.table(&table);
    for (name, cell) in ingredient.cells().iter().filter_map(|(name, cell)| cell.map(|cell| (name, cell))) {
        if !cell.note.is_empty() {
            page.line(&format!("note, {name}"), &cell.note);
        }
    }
    references(&keys, &mut page);
    page.into_text()
}

/// A published number as files carry it, in its own unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NumberOut {
    /// Unit of the numbers below.
    pub unit: String,
    /// Central value, that of runs without draws.
    pub central: f64,
    /// Low end; what it means depends on the shape.
    pub low: f64,
    /// High end; what it means depends on the shape.
    pub high: f64,
    /// Name of the shape of its spread.
    pub shape: &'static str,
    /// How well it is founded, by the name of an [`Evidence`].
    pub evidence: &'static str,
    /// Sources with their full references.
    pub sources: Vec<&'static Source>,
    /// Remarks; empty where there are none.
    pub note: String,
}

fn number_out(
    unit: &str,
    value: &Uncertain,
    evidence: Evidence,
    sources: &[String],
    note: &str,
) -> NumberOut {
    NumberOut {
        unit: unit.to_owned(),
        central: value.central(),
        low: value.low(),
        high: value.high(),
        shape: value.shape().name(),
        evidence: evidence.name(),
        sources: sources.iter().filter_map(|key| literature::source(key)).collect(),
        note: note.to_owned(),
    }
}

/// A rate as files carry it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RateOut {
    /// Key, as a scenario may replace it.
    pub key: String,
    /// What it is, in words.
    pub name: String,
    /// The number with its range; its fields stand beside the key.
    #[serde(flatten)]
    pub number: NumberOut,
}

/// Rates as files carry them.
pub fn rates_out(rates: &[&Entry]) -> Vec<RateOut> {
    rates
        .iter()
        .map(|rate| RateOut {
            key: rate.key.clone(),
            name: rate.name.clone(),
            number: number_out(&rate.unit, &rate.value, rate.evidence, &rate.sources, &rate.note),
        })
        .collect()
}

/// An ingredient as files carry it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct IngredientOut {
    /// Identifier, as a scenario names it.
    pub id: String,
    /// What it is, in words.
    pub name: String,
    /// Its figures by name; those that nobody published are left out.
    pub figures: std::collections::BTreeMap<&'static str, NumberOut>,
}

/// Ingredients as files carry them.
pub fn ingredients_out(ingredients: &[&IngredientFacts]) -> Vec<IngredientOut> {
    ingredients
        .iter()
        .map(|ingredient| IngredientOut {
            id: ingredient.id.clone(),
            name: ingredient.name.clone(),
            figures: ingredient
                .cells()
                .iter()
                .filter_map(|(name, cell)| {
                    let cell = (*cell)?;
                    Some((
                        *name,
                        number_out(&cell.unit, &cell.value, cell.evidence, &cell.sources, &cell.note),
                    ))
                })
                .collect(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_names_every_rate_with_evidence_and_sources() {
        let all: Vec<&Entry> = literature::entries().iter().collect();
        let text = rates_text(&all);
        let lines: Vec<&str> = text.lines().collect();
        for rate in &all {
            let at = lines
                .iter()
                .position(|line| line.split_whitespace().next() == Some(rate.key.as_str()))
                .unwrap_or_else(|| panic!("{} is not listed", rate.key));
            assert_eq!(lines[at + 1].trim_start(), founding(rate));
        }
    }

    #[test]
    fn no_reference_is_missing() {
        for rate in literature::entries() {
            assert!(!rate_text(rate).contains("no reference"), "{}", rate.key);
            assert_eq!(rates_out(&[rate])[0].number.sources.len(), rate.sources.len());
        }
        for ingredient in literature::ingredients() {
            assert!(!ingredient_text(ingredient).contains("no reference"), "{}", ingredient.id);
        }
    }
}
