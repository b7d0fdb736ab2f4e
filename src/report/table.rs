//! A table of figures and its three forms: text, CSV, Markdown.

use crate::quantity::{Kind, Units};
use crate::report::clean;
use crate::report::draw::text::one_line;
use crate::report::number::{
    column_unit, format_decimals, format_exact, format_in_column, format_number, in_column_unit,
};
use jiff::civil::Date;
use std::io;

/// Significant figures of a number in the text of a table.
const FIGURES: u32 = 4;
/// Blanks between columns.
const GAP: &str = "  ";

/// Side a column is aligned to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Left, for words.
    Left,
    /// Right, for numbers.
    Right,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure {
    /// Words.
    Words,
    /// Numbers in a unit that is the same everywhere; empty for none.
    Plain(&'static str),
    /// Numbers of a kind, given in its documented unit and shown in the reader's.
    Of(Kind),
}

impl Measure {
    /// The unit as shown to a reader of these units; empty for none.
    pub fn unit(self, units: Units) -> &'static str {
        match self {
            Self::Words => "",
            Self::Plain(unit) => unit,
            Self::Of(kind) => column_unit(kind, units),
        }
    }

    /// A number in the unit of its column.
    pub(super) fn convert(self, value: f64, units: Units) -> f64 {
        match self {
            Self::Words | Self::Plain(_) => value,
            Self::Of(kind) => in_column_unit(kind, value, units),
        }
    }

    fn to_text(self, value: f64, units: Units) -> String {
        match self {
            _ if self.unit(units) == "%" => format_decimals(self.convert(value, units), 1),
            Self::Of(kind) => format_in_column(kind, value, FIGURES, units),
            Self::Words | Self::Plain(_) => format_number(value),
        }
    }
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Name above the column.
    pub name: String,
    /// What its cells hold.
    pub measure: Measure,
    /// Side it is aligned to.
    pub align: Align,
}

impl Column {
    /// A column of words.
    pub fn words(name: &str) -> Self {
        Self { name: name.to_owned(), measure: Measure::Words, align: Align::Left }
    }

    /// A column of words aligned to the right, such as numbers with their units.
    pub fn words_right(name: &str) -> Self {
        Self { align: Align::Right, ..Self::words(name) }
    }

    /// A column of numbers of a kind.
    pub fn of(name: &str, kind: Kind) -> Self {
        Self { name: name.to_owned(), measure: Measure::Of(kind), align: Align::Right }
    }

    /// A column of numbers in a unit that is the same everywhere.
    pub fn plain(name: &str, unit: &'static str) -> Self {
        Self { name: name.to_owned(), measure: Measure::Plain(unit), align: Align::Right }
    }

    /// Name and unit for people: `wet, kg`.
    pub fn title(&self, units: Units) -> String {
        match self.measure.unit(units) {
            "" | "1" => one_line(&self.name),
            unit => format!("{}, {unit}", one_line(&self.name)),
        }
    }

    /// Name with unit, as the header of a file: `wet_kg`.
    pub fn header(&self, units: Units) -> String {
        header(&self.name, self.measure.unit(units))
    }
}

/// A field name with its unit in letters: `wet` in `kg` becomes `wet_kg`, `load` in `kg/(m2 d)` becomes
/// `load_kg_per_m2_d`. Shares, counts, pH and dates carry none.
pub fn header(name: &str, unit: &str) -> String {
    let mut words = name.to_lowercase().replace([' ', ':', '-'], "_");
    if !matches!(unit, "" | "1" | "pH" | "kg/kg" | "m3/m3" | "date") {
        let unit = unit.replace("°C", "celsius").replace("°F", "fahrenheit").replace('%', "percent");
        words.push('_');
        words.push_str(&unit.to_lowercase().replace('/', "_per_").replace(' ', "_").replace(['(', ')'], ""));
    }
    words
}

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// No value.
    Empty,
    /// Words.
    Words(String),
    /// A number, in the documented unit of its column.
    Number(f64),
    /// A date.
    Date(Date),
}

impl Cell {
    /// The cell as shown to people.
    fn to_text(&self, column: &Column, units: Units) -> String {
        match self {
            Self::Empty if column.align == Align::Right => "-".to_owned(),
            Self::Empty => String::new(),
            Self::Words(words) => clean::cell(words),
            Self::Number(value) => column.measure.to_text(*value, units),
            Self::Date(date) => date.to_string(),
        }
    }
}

impl From<f64> for Cell {
    fn from(value: f64) -> Self {
        Self::Number(value)
    }
}

impl From<Option<f64>> for Cell {
    fn from(value: Option<f64>) -> Self {
        value.map_or(Self::Empty, Self::Number)
    }
}

impl From<Date> for Cell {
    fn from(date: Date) -> Self {
        Self::Date(date)
    }
}

impl From<usize> for Cell {
    fn from(value: usize) -> Self {
        Self::Number(value as f64)
    }
}

impl From<&str> for Cell {
    fn from(words: &str) -> Self {
        Self::Words(words.to_owned())
    }
}

impl From<String> for Cell {
    fn from(words: String) -> Self {
        Self::Words(words)
    }
}

/// A titled table. Every row has as many cells as there are columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Title; empty for none.
    pub title: String,
    /// Columns, from the left.
    pub columns: Vec<Column>,
    /// Rows, from the top.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table without rows yet.
    pub fn new(title: &str, columns: Vec<Column>) -> Self {
        Self { title: title.to_owned(), columns, rows: Vec::new() }
    }

    /// Adds a row; missing cells stay empty, cells beyond the last column are dropped.
    pub fn push(&mut self, mut row: Vec<Cell>) {
        row.resize(self.columns.len(), Cell::Empty);
        self.rows.push(row);
    }

    /// A row as shown to people: numbers of four figures, in the unit of their column.
    pub fn shown(&self, row: &[Cell], units: Units) -> Vec<String> {
        self.columns.iter().zip(row).map(|(column, cell)| cell.to_text(column, units)).collect()
    }

    /// The table as aligned text, with a line of units where any column has one.
    pub fn to_text(&self, units: Units) -> String {
        let mut lines: Vec<Vec<String>> = vec![self.columns.iter().map(|c| one_line(&c.name)).collect()];
        let unit_line: Vec<String> = self.columns.iter().map(|c| c.measure.unit(units).to_owned()).collect();
        if unit_line.iter().any(|unit| !unit.is_empty()) {
            lines.push(unit_line);
        }
        let head = lines.len();
        lines.extend(self.rows.iter().map(|row| self.shown(row, units)));
        let width = |i: usize| lines.iter().map(|line| line[i].chars().count()).max().unwrap_or(0);
        let widths: Vec<usize> = (0..self.columns.len()).map(width).collect();
        let mut text = String::new();
        if !self.title.is_empty() {
            text.push_str(&one_line(&self.title));
            text.push('\n');
        }
        for (i, line) in lines.iter().enumerate() {
            if i == head {
                let rule: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
                text.push_str(&rule.join(GAP));
                text.push('\n');
            }
            let padded: Vec<String> = line
                .iter()
                .zip(&self.columns)
                .zip(&widths)
                .map(|((cell, column), width)| match column.align {
                    Align::Left => format!("{cell:<width$}"),
                    Align::Right => format!("{cell:>width$}"),
                })
                .collect();
            text.push_str(padded.join(GAP).trim_end());
            text.push('\n');
        }
        text
    }

    /// The table in Markdown, units in the header.
    pub fn to_markdown(&self, units: Units) -> String {
        let escaped = |cell: &str| cell.replace('|', "\\|");
        let mut text = String::new();
        if !self.title.is_empty() {
            text.push_str("**");
            text.push_str(&one_line(&self.title));
            text.push_str("**\n\n");
        }
        let names: Vec<String> = self.columns.iter().map(|column| escaped(&column.title(units))).collect();
        let rule: Vec<&str> = self
            .columns
            .iter()
            .map(|column| match column.align {
                Align::Left => "---",
                Align::Right => "---:",
            })
            .collect();
        let rows = self.rows.iter().map(|row| {
            self.shown(row, units).iter().map(|cell| escaped(cell)).collect::<Vec<_>>().join(" | ")
        });
        for line in [names.join(" | "), rule.join(" | ")].into_iter().chain(rows) {
            text.push_str("| ");
            text.push_str(&line);
            text.push_str(" |\n");
        }
        text
    }

    /// Writes the table as CSV: units in the header, numbers in full, no title.
    ///
    /// # Errors
    /// When the writer fails.
    pub fn write_csv(&self, units: Units, to: &mut dyn io::Write) -> io::Result<()> {
        let mut writer = csv::Writer::from_writer(to);
        writer.write_record(self.columns.iter().map(|column| column.header(units)))?;
        for row in &self.rows {
            let cells = self.columns.iter().zip(row).map(|(column, cell)| match cell {
                Cell::Empty => String::new(),
                Cell::Words(words) => words.clone(),
                Cell::Number(value) => format_exact(column.measure.convert(*value, units)),
                Cell::Date(date) => date.to_string(),
            });
            writer.write_record(cells)?;
        }
        writer.flush()
    }

    /// The table as the text of a CSV file in SI.
    ///
    /// # Errors
    /// When it cannot be written: a fault of the program.
    pub fn to_csv(&self) -> io::Result<String> {
        let mut bytes = Vec::new();
        self.write_csv(Units::Si, &mut bytes)?;
        String::from_utf8(bytes).map_err(|e| io::Error::new(io::ErrorKind::InvalidData, e))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        let columns = vec![
            Column::words("stream"),
            Column::of("wet", Kind::Mass),
            Column::of("moisture", Kind::Share),
            Column::plain("energy", "kWh"),
        ];
        let mut table = Table::new("Intake", columns);
        table.push(vec!["canteen | hall".into(), 94_912.345.into(), 0.7.into(), Cell::Empty]);
        table.push(vec!["market".into(), 0.25.into(), 0.8925.into(), 12.0.into()]);
        table.push(vec!["none".into(), (-2e-14).into(), (-0.0001).into(), (-0.0).into()]);
        table
    }

    #[test]
    fn text_is_aligned_with_units_under_the_names() {
        insta::assert_snapshot!(table().to_text(Units::Si), @r"
        Intake
        stream             wet  moisture  energy
                            kg         %     kWh
        --------------  ------  --------  ------
        canteen | hall  94,910      70.0       -
        market            0.25      89.2      12
        none                 0       0.0       0
        ");
    }

    #[test]
    fn csv_keeps_every_digit_and_names_units() {
        let mut bytes = Vec::new();
        table().write_csv(Units::Si, &mut bytes).unwrap();
        insta::assert_snapshot!(String::from_utf8(bytes).unwrap(), @r"
        stream,wet_kg,moisture_percent,energy_kwh
        canteen | hall,94912.345,70,
        market,0.25,89.25,12
        none,-2e-14,-0.01,0
        ");
    }

    #[test]
    fn markdown_escapes_bars() {
        insta::assert_snapshot!(table().to_markdown(Units::Us), @r"
        **Intake**

        | stream | wet, lb | moisture, % | energy, kWh |
        | --- | ---: | ---: | ---: |
        | canteen \| hall | 209,200 | 70.0 | - |
        | market | 0.5512 | 89.2 | 12 |
        | none | 0 | 0.0 | 0 |
        ");
    }

    #[test]
    fn rows_always_fit_the_columns() {
        let mut table = table();
        table.push(vec!["short".into()]);
        assert!(table.rows.iter().all(|row| row.len() == 4));
    }

    #[test]
    fn headers_spell_units_in_letters() {
        assert_eq!(header("load", "kg/(m2 d)"), "load_kg_per_m2_d");
        assert_eq!(header("bed_temperature", "°C"), "bed_temperature_celsius");
        assert_eq!(header("C:N", ""), "c_n");
        assert_eq!(header("opened_ph", "pH"), "opened_ph");
    }
}
