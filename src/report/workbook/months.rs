//! The sheet of months: sums of the sheet of days, by formulas that look them up there.

use super::sheet::{Sheet, recorded};
use crate::report::table::{Cell, Column};
use crate::study::answer::RunAnswer;
use crate::trace::DayRecord;
use jiff::civil::Date;
use rust_xlsxwriter::utility;
use std::ops::Range;

/// Name of the sheet.
pub(super) const MONTHS: &str = "Months";
/// Figures of a month, by their names among those of days.
const SUMMED: [&str; 11] = [
    "intake",
    "turned_away",
    "bulking",
    "fed",
    "irrigation",
    "drainage",
    "liquor",
    "harvested",
    "screened",
    "castings_sold",
    "blend_sold",
];

/// The number in a cell; 0 in any other.
fn number(cell: &Cell) -> f64 {
    if let Cell::Number(number) = cell { *number } else { 0.0 }
}

/// Sums of each month of the run over the sheet of days; a month that the run only touches holds its days of the run.
pub(super) fn months(answer: &RunAnswer, daily: &Sheet) -> Sheet {
    let places: Vec<(usize, &str, &'static str)> = SUMMED
        .iter()
        .filter_map(|name| {
            let place = DayRecord::FIELDS.iter().position(|(field, _)| field == name)?;
            Some((place, *name, DayRecord::FIELDS[place].1))
        })
        .collect();
    let mut months: Vec<(Date, Range<usize>)> = Vec::new();
    for (n, day) in answer.daily.iter().enumerate() {
        let first = day.date.first_of_month();
        match months.last_mut() {
            Some((month, days)) if *month == first => days.end = n + 1,
            _ => months.push((first, n..n + 1)),
        }
    }
    let last = answer.daily.len() + 1;
    let mut formulas = Vec::new();
    let mut rows = Vec::new();
    for (n, (month, days)) in months.iter().enumerate() {
        let row = n + 1;
        let mut cells: Vec<Cell> = vec![(*month).into(), (days.len() as f64).into()];
        for (column, (place, ..)) in places.iter().enumerate() {
            cells.push(
                daily.table.rows[days.clone()].iter().map(|day| number(&day[*place])).sum::<f64>().into(),
            );
            let of = utility::column_number_to_name(u16::try_from(*place).unwrap_or(u16::MAX));
            let sum = format!(
                "SUMIFS(Days!{of}$2:{of}${last},Days!$A$2:$A${last},\">=\"&$A{0},Days!$A$2:$A${last},\"<\"&EDATE($A{0},1))",
                row + 1
            );
            formulas.push(((row, column + 2), sum));
        }
        rows.push(cells);
    }
    let columns = [Column::words("month from"), Column::plain("days", "1")]
        .into_iter()
        .chain(places.iter().map(|(_, name, unit)| recorded(name, unit)));
    Sheet::new(MONTHS, "Sums of each month, looked up in the sheet Days.", 1, columns, rows)
        .with_formulas(formulas)
}
