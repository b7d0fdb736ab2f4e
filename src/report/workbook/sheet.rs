//! A sheet as data: fields with units, and rows.

use crate::quantity::{Kind, Units};
use crate::report::number::in_column_unit;
use crate::report::table::Measure;
use jiff::civil::Date;

/// A sheet.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sheet {
    /// Name on its tab.
    pub name: &'static str,
    /// What it holds, in a sentence.
    pub about: String,
    /// Columns.
    pub fields: Vec<Field>,
    /// Columns at the left that stay in view.
    pub kept: u16,
    /// Rows.
    pub rows: Vec<Vec<Value>>,
}

/// A column.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Field {
    /// Name over it, without unit.
    pub name: String,
    /// What it measures.
    pub measure: Measure,
    /// What the unit says beyond the reader's, such as `live`.
    pub remark: &'static str,
}

/// What a cell holds; numbers in the documented unit of their column.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    /// Nothing.
    Empty,
    /// Words.
    Words(String),
    /// A number.
    Number(f64),
    /// A date.
    Date(Date),
}

impl Field {
    /// A column of words or dates.
    pub(super) fn words(name: &str) -> Self {
        Self { name: name.to_owned(), measure: Measure::Words, remark: "" }
    }

    /// A column of numbers of a kind.
    pub(super) fn of(name: &str, kind: Kind) -> Self {
        Self { name: name.to_owned(), measure: Measure::Of(kind), remark: "" }
    }

    /// A column of numbers in a unit that is the same everywhere.
    pub(super) fn plain(name: &str, unit: &'static str) -> Self {
        Self { name: name.to_owned(), measure: Measure::Plain(unit), remark: "" }
    }

    /// A column of a record by its name and unit in files.
    pub(super) fn recorded(name: &str, unit: &'static str) -> Self {
        let moist = name.ends_with("moisture");
        let measure = match unit {
            "date" => Measure::Words,
            "kg" | "kg live" => Measure::Of(Kind::Mass),
            "kg/d" => Measure::Of(Kind::MassRate),
            "°C" => Measure::Of(Kind::Temperature),
            "kPa" => Measure::Of(Kind::Pressure),
            "m" => Measure::Of(Kind::Length),
            "kg/(kg d)" => Measure::Of(Kind::Ration),
            "kg/kg" if moist => Measure::Of(Kind::Share),
            unit => Measure::Plain(unit),
        };
        let remark = if unit == "kg live" { " live" } else { "" };
        Self { name: name.replace('_', " "), measure, remark }
    }

    /// What stands over the column: its name and unit.
    pub(super) fn header(&self, units: Units) -> String {
        match self.measure.unit(units) {
            "" | "1" => self.name.clone(),
            unit => format!("{}, {unit}{}", self.name, self.remark),
        }
    }

    /// A number in the unit of the column.
    pub(super) fn shown(&self, value: f64, units: Units) -> f64 {
        match self.measure {
            Measure::Of(kind) => in_column_unit(kind, value, units),
            Measure::Words | Measure::Plain(_) => value,
        }
    }
}

impl From<f64> for Value {
    fn from(value: f64) -> Self {
        Self::Number(value)
    }
}

impl From<Option<f64>> for Value {
    fn from(value: Option<f64>) -> Self {
        value.map_or(Self::Empty, Self::Number)
    }
}

impl From<Date> for Value {
    fn from(date: Date) -> Self {
        Self::Date(date)
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::Words(text.to_owned())
    }
}

impl From<String> for Value {
    fn from(text: String) -> Self {
        Self::Words(text)
    }
}
