//! A sheet of a workbook as data.

use crate::quantity::Kind;
use crate::report::table::{Cell, Column, Table};
use std::collections::BTreeMap;

/// A sheet.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sheet {
    /// Name on its tab.
    pub name: &'static str,
    /// What it holds, in a sentence.
    pub about: String,
    /// Columns at the left that stay in view.
    pub kept: u16,
    /// Columns and rows.
    pub table: Table,
    /// Formulas by place of their cell, row and column from 0, the header being row 0. The cell holds what the formula gives now.
    pub formulas: BTreeMap<(usize, usize), String>,
    /// Whether rows can be filtered by the values of their columns.
    pub filtered: bool,
    /// A chart beside the rows, of these columns over the first.
    pub chart: Option<SheetChart>,
}

/// A chart of columns of its sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct SheetChart {
    /// What it shows.
    pub title: String,
    /// Columns drawn, from 0.
    pub columns: Vec<usize>,
    /// Bars side by side; else lines.
    pub bars: bool,
}

impl Sheet {
    /// A sheet of these columns and rows.
    pub(super) fn new(
        name: &'static str,
        about: &str,
        kept: u16,
        columns: impl IntoIterator<Item = Column>,
        rows: impl IntoIterator<Item = Vec<Cell>>,
    ) -> Self {
        let mut table = Table::new("", columns.into_iter().collect());
        for row in rows {
            table.push(row);
        }
        let (formulas, filtered, chart) = (BTreeMap::new(), true, None);
        Self { name, about: about.to_owned(), kept, table, formulas, filtered, chart }
    }

    /// The same with formulas; rows that refer to each other are not filtered.
    pub(super) fn with_formulas(self, formulas: Vec<((usize, usize), String)>) -> Self {
        Self { formulas: formulas.into_iter().collect(), filtered: false, ..self }
    }

    /// The same with a chart of columns by their names; those that are not there are left out.
    pub(super) fn with_chart(self, title: &str, bars: bool, names: &[&str]) -> Self {
        let place = |name: &&str| self.table.columns.iter().position(|column| column.name == **name);
        let columns: Vec<usize> = names.iter().filter_map(place).collect();
        let chart = (!columns.is_empty() && !self.table.rows.is_empty()).then(|| SheetChart {
            title: title.to_owned(),
            columns,
            bars,
        });
        Self { chart, ..self }
    }

    /// The same without filters.
    pub(super) fn unfiltered(self) -> Self {
        Self { filtered: false, ..self }
    }
}

/// A column of daily records by its name and unit in files.
pub(super) fn recorded(name: &str, unit: &'static str) -> Column {
    let words = name.replace('_', " ");
    let kind = match unit {
        "date" => return Column::words(&words),
        "kg" | "kg live" => Kind::Mass,
        "kg/d" => Kind::MassRate,
        "°C" => Kind::Temperature,
        "kPa" => Kind::Pressure,
        "m" => Kind::Length,
        "kg/(kg d)" => Kind::Ration,
        "kg/kg" if name.ends_with("moisture") => Kind::Share,
        unit => return Column::plain(&words, unit),
    };
    Column::of(&words, kind)
}
