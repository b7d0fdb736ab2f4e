//! A sheet of a workbook as data.

use crate::quantity::Kind;
use crate::report::table::{Cell, Column, Table};
use rust_xlsxwriter::utility;
use std::collections::BTreeMap;
use std::ops::Range;

/// A cell as formulas name it: column and row from 0.
pub(super) fn cell(column: usize, row: usize) -> String {
    utility::row_col_to_cell(
        u32::try_from(row).unwrap_or(u32::MAX),
        u16::try_from(column).unwrap_or(u16::MAX),
    )
}

/// The formula of the sum of a column over rows from the first to before the last; 0 without rows.
pub(super) fn sum(column: usize, rows: Range<usize>) -> String {
    if rows.is_empty() {
        return "0".to_owned();
    }
    format!("SUM({}:{})", cell(column, rows.start), cell(column, rows.end - 1))
}

/// A sheet in the making; row 0 holds the names of the columns.
#[derive(Debug, Default)]
pub(super) struct Making {
    /// Rows below the names of the columns.
    pub rows: Vec<Vec<Cell>>,
    /// Formulas by place of their cell.
    pub formulas: Vec<((usize, usize), String)>,
}

impl Making {
    /// Place of the next row.
    pub(super) fn next(&self) -> usize {
        self.rows.len() + 1
    }

    /// Adds a row whose cells in these columns are formulas; the values beside them are what they give now. Returns its place.
    pub(super) fn add(&mut self, row: Vec<Cell>, formulas: Vec<(usize, String)>) -> usize {
        let place = self.next();
        self.formulas.extend(formulas.into_iter().map(|(column, formula)| ((place, column), formula)));
        self.rows.push(row);
        place
    }

    /// The sum of the numbers of a column over rows by their places. Empty if none has a number.
    pub(super) fn total(&self, column: usize, rows: Range<usize>) -> Cell {
        let cells = self.rows[rows.start - 1..rows.end - 1].iter().map(|row| &row[column]);
        let numbers = cells.filter_map(|cell| match cell {
            Cell::Number(number) => Some(*number),
            _ => None,
        });
        let numbers: Vec<f64> = numbers.collect();
        if numbers.is_empty() { Cell::Empty } else { numbers.iter().sum::<f64>().into() }
    }
}

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
