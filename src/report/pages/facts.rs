//! Published numbers for people and for other programs: rates, ingredients, references.

use crate::literature::narrowed::after_prints;
use crate::literature::{self, Entry, Evidence, IngredientFacts, Source, SourceAccess};
use crate::matter::Property;
use crate::quantity::{Uncertain, Units};
use crate::report::number::{format_exact, format_figures, format_number};
use crate::report::pages::page::{Page, words};
use crate::report::table::{Cell, Column, Table};
use serde::Serialize;
use std::collections::BTreeMap;

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

/// Meaning of the marks.
const MARKS: &str = "marks of evidence: r read, s second-hand, m memory, d derived, a assumed, p practice; sources: `loamledger facts INGREDIENT`";

/// The name of the table a key belongs to.
fn table_of(key: &str) -> &str {
    key.split_once('.').map_or(key, |(table, _)| table)
}

fn spread(value: &Uncertain) -> String {
    if value.low() < value.high() {
        format!("{} to {}", format_number(value.low()), format_number(value.high()))
    } else {
        "-".to_owned()
    }
}

/// Rates as text, table by table: number and unit on one line; shape, evidence and source keys on the next.
fn rates_text(rates: &[&Entry]) -> String {
    let mut text = String::new();
    let mut names: Vec<&str> = Vec::new();
    for rate in rates {
        if !names.contains(&table_of(&rate.key)) {
            names.push(table_of(&rate.key));
        }
    }
    for name in names {
        let here: Vec<&&Entry> = rates.iter().filter(|rate| table_of(&rate.key) == name).collect();
        let mut columns = ["key", "central", "range", "unit"].map(Column::words);
        columns[1] = Column::words_right("central");
        let mut table = Table::new("", columns.into());
        for rate in &here {
            let cells = [
                rate.key.clone(),
                format_number(rate.value.central()),
                spread(&rate.value),
                rate.unit.clone(),
            ];
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
            text.push_str(&evidence_line(rate));
            text.push('\n');
        }
    }
    text
}

/// Lines above the rows of a table without title and units.
const HEAD_LINES: usize = 2;

/// Shape, evidence and sources of a rate, in one line.
fn evidence_line(rate: &Entry) -> String {
    format!("{}, {}: {}", rate.value.shape().name(), rate.evidence.name(), rate.sources.join(", "))
}

fn seen(access: SourceAccess) -> &'static str {
    match access {
        SourceAccess::Read => "read",
        SourceAccess::SecondHand => "second-hand",
        SourceAccess::Memory => "memory",
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

/// One rate as text.
fn rate_text(rate: &Entry) -> String {
    rate_page(rate).into_text()
}

/// One rate with its note and full references.
pub(in crate::report) fn rate_page(rate: &Entry) -> Page {
    let mut page = Page::new(Units::Si);
    page.heading(&rate.key);
    page.line("meaning", &rate.name);
    page.line("central", &with_unit(&format_exact(rate.value.central()), &rate.unit));
    if rate.value.low() < rate.value.high() {
        let range = format!("{} to {}", format_exact(rate.value.low()), format_exact(rate.value.high()));
        page.line("published range", &with_unit(&range, &rate.unit));
    }
    if let Some(after) = after_prints(&rate.key) {
        let range = format!("{} to {}", format_exact(after.low()), format_exact(after.high()));
        let words = format!(
            "{}, middle {}: what published trials leave of the range; draws take it unless the scenario asks for `ranges` as printed; \
             `loamledger narrow` shows the trials",
            with_unit(&range, &rate.unit),
            format_exact(after.central())
        );
        page.line("range in draws", &words);
    }
    page.line("shape", rate.value.shape().name());
    page.line("evidence", rate.evidence.name());
    if !rate.note.is_empty() {
        page.line("note", &rate.note);
    }
    references(&rate.sources, &mut page);
    page
}

fn with_unit(number: &str, unit: &str) -> String {
    if unit == "1" { number.to_owned() } else { format!("{number} {unit}") }
}

/// Ingredients as text in two tables; every figure with its mark of evidence.
fn ingredients_text(ingredients: &[&IngredientFacts]) -> String {
    ingredients_page(ingredients).into_text()
}

/// Most columns of properties in a table.
const COLUMNS: usize = 8;

/// The same as a page; its figures are shares and SI whatever the reader's units.
pub(in crate::report) fn ingredients_page(ingredients: &[&IngredientFacts]) -> Page {
    let mut page = Page::new(Units::Si);
    let known = |property: &Property| ingredients.iter().any(|one| one.properties[*property].is_some());
    let properties: Vec<Property> = Property::ALL.into_iter().filter(known).collect();
    let mut title = "moisture kg/kg wet, density kg/m3, buffering capacity mEq/kg dry matter, all other figures kg/kg dry matter; * kg/kg organic matter";
    for properties in properties.chunks(COLUMNS) {
        let mut columns = vec![Column::words("ingredient")];
        columns.extend(properties.iter().map(|property| Column::plain(&property.heading(), "")));
        let mut table = Table::new(title, columns);
        for ingredient in ingredients {
            let mut row = vec![ingredient.id.as_str().into()];
            row.extend(properties.iter().map(|property| match &ingredient.properties[*property] {
                Some(entry) => {
                    let of_organic = if entry.is_of_organic_matter() { "*" } else { "" };
                    let value = format_figures(entry.value.central(), 3);
                    format!("{value} {}{of_organic}", mark(entry.evidence)).into()
                }
                None => Cell::Empty,
            }));
            table.push(row);
        }
        page.table(&table);
        title = "";
    }
    page.paragraph(MARKS);
    page
}

/// One ingredient as text: every figure with range, evidence, sources, note; full references below.
fn ingredient_text(ingredient: &IngredientFacts) -> String {
    let mut page = Page::new(Units::Si);
    page.heading(&ingredient.id);
    page.line("meaning", &ingredient.name);
    let columns = ["figure", "central", "range", "unit", "evidence", "sources"].map(Column::words);
    let mut table = Table::new("", columns.into());
    let mut keys: Vec<String> = Vec::new();
    for (property, entry) in ingredient.properties.stated() {
        let cells = [
            words(property.name()),
            format_number(entry.value.central()),
            spread(&entry.value),
            entry.unit.clone(),
            entry.evidence.name().to_owned(),
            entry.sources.join(", "),
        ];
        table.push(cells.map(Into::into).into());
        for key in &entry.sources {
            if !keys.contains(key) {
                keys.push(key.clone());
            }
        }
    }
    page.table(&table);
    for (property, entry) in ingredient.properties.stated().filter(|(_, entry)| !entry.note.is_empty()) {
        page.line(&format!("note on {}", words(property.name())), &entry.note);
    }
    references(&keys, &mut page);
    page.into_text()
}

/// A published number as files carry it, in its own unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NumberOut {
    /// Unit of the numbers below.
    pub unit: String,
    /// Central value, used in the best-estimate run.
    pub central: f64,
    /// Low end; its meaning depends on the shape.
    pub low: f64,
    /// High end; its meaning depends on the shape.
    pub high: f64,
    /// Name of the shape of its distribution.
    pub shape: &'static str,
    /// Quality of the evidence, by the name of an [`Evidence`].
    pub evidence: &'static str,
    /// Sources with their full references.
    pub sources: Vec<&'static Source>,
    /// Remarks; may be empty.
    pub note: String,
}

impl NumberOut {
    fn of(entry: &Entry) -> Self {
        Self {
            unit: entry.unit.clone(),
            central: entry.value.central(),
            low: entry.value.low(),
            high: entry.value.high(),
            shape: entry.value.shape().name(),
            evidence: entry.evidence.name(),
            sources: entry.sources.iter().filter_map(|key| literature::source(key)).collect(),
            note: entry.note.clone(),
        }
    }
}

/// A rate as files carry it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RateOut {
    /// Key, as a scenario may replace it.
    pub key: String,
    /// What it is, in words.
    pub name: String,
    /// The number with its range; its fields are beside the key.
    #[serde(flatten)]
    pub number: NumberOut,
    /// Low, central and high value after published trials, where they narrow the range; draws take these.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after_prints: Option<[f64; 3]>,
}

/// Rates as files carry them.
fn rates_out(rates: &[&Entry]) -> Vec<RateOut> {
    let out = |rate: &&Entry| RateOut {
        key: rate.key.clone(),
        name: rate.name.clone(),
        number: NumberOut::of(rate),
        after_prints: after_prints(&rate.key).map(|after| [after.low(), after.central(), after.high()]),
    };
    rates.iter().map(out).collect()
}

/// An ingredient as files carry it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct IngredientOut {
    /// Identifier, as a scenario names it.
    pub id: String,
    /// What it is, in words.
    pub name: String,
    /// Its published figures, by name.
    pub figures: BTreeMap<&'static str, NumberOut>,
}

/// Ingredients as files carry them.
fn ingredients_out(ingredients: &[&IngredientFacts]) -> Vec<IngredientOut> {
    let out = |ingredient: &&IngredientFacts| {
        let figures = ingredient.properties.stated();
        IngredientOut {
            id: ingredient.id.clone(),
            name: ingredient.name.clone(),
            figures: figures.map(|(property, entry)| (property.name(), NumberOut::of(entry))).collect(),
        }
    };
    ingredients.iter().map(out).collect()
}

/// Published numbers that a key or words select.
#[derive(Debug)]
pub enum Facts {
    /// The rate, or the property of an ingredient, of that key.
    Rate(&'static Entry),
    /// The ingredient of that name.
    Ingredient(&'static IngredientFacts),
    /// Rates that mention the words.
    Rates(Vec<&'static Entry>),
    /// Ingredients that mention the words.
    Ingredients(Vec<&'static IngredientFacts>),
}

/// Whether a text contains every word of the filter.
fn mentions(text: &str, filter: &str) -> bool {
    let text = text.to_lowercase();
    filter.to_lowercase().split_whitespace().all(|word| text.contains(word))
}

impl Facts {
    /// Selects rates and ingredients by key or words; an empty filter selects every rate. None if nothing fits.
    pub fn find(filter: &str) -> Option<Self> {
        if let Some(rate) = literature::entry(filter) {
            return Some(Self::Rate(rate));
        }
        if let Some(one) = literature::ingredient(filter) {
            return Some(Self::Ingredient(one));
        }
        let text =
            |rate: &Entry| format!("{} {} {} {}", rate.key, rate.name, rate.note, rate.sources.join(" "));
        let some = literature::entries().iter().filter(|rate| mentions(&text(rate), filter));
        Some(some.collect::<Vec<_>>()).filter(|some| !some.is_empty()).map(Self::Rates)
    }

    /// Selects ingredients by name or words; an empty filter selects every ingredient. None if nothing fits.
    pub fn find_ingredients(filter: &str) -> Option<Self> {
        if let Some(one) = literature::ingredient(filter) {
            return Some(Self::Ingredient(one));
        }
        let some = literature::ingredients()
            .iter()
            .filter(|one| mentions(&format!("{} {}", one.id, one.name), filter));
        Some(some.collect::<Vec<_>>()).filter(|some| !some.is_empty()).map(Self::Ingredients)
    }

    /// The known key or ingredient most like a mistyped one; None if nothing is near.
    pub fn nearest(wrong: &str) -> Option<&'static str> {
        literature::nearest_key(wrong).or_else(|| literature::nearest_ingredient(wrong))
    }

    /// The selection as text: one in full, several as lists.
    pub fn to_text(&self) -> String {
        match self {
            Self::Rate(rate) => rate_text(rate),
            Self::Ingredient(one) => ingredient_text(one),
            Self::Rates(rates) => rates_text(rates),
            Self::Ingredients(some) => ingredients_text(some),
        }
    }

    /// The selection as files carry it; a single one is a list of one.
    pub fn to_out(&self) -> FactsOut {
        match self {
            Self::Rate(rate) => FactsOut::Rates(rates_out(&[rate])),
            Self::Ingredient(one) => FactsOut::Ingredients(ingredients_out(&[one])),
            Self::Rates(rates) => FactsOut::Rates(rates_out(rates)),
            Self::Ingredients(some) => FactsOut::Ingredients(ingredients_out(some)),
        }
    }
}

/// Published numbers as files carry them.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum FactsOut {
    /// Rates.
    Rates(Vec<RateOut>),
    /// Ingredients.
    Ingredients(Vec<IngredientOut>),
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
            assert_eq!(lines[at + 1].trim_start(), evidence_line(rate));
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
