//! A sheet of a workbook as data.

use crate::quantity::Kind;
use crate::report::table::{Cell, Column, Table};

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
        Self { name, about: about.to_owned(), kept, table }
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
