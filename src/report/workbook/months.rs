//! The sheet of months: sums of the sheet of days, by formulas that look them up there.

use super::sheet::{Sheet, recorded};
use crate::report::table::{Cell, Column};
use crate::study::answer::RunAnswer;
use crate::trace::DayRecord;
use jiff::civil::Date;

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

/// The letters of a column, from 0.
fn letters(column: usize) -> String {
    let letter = |n: usize| char::from(b'A' + u8::try_from(n % 26).unwrap_or(0));
    match column / 26 {
        0 => letter(column).to_string(),
        more => format!("{}{}", letter(more - 1), letter(column)),
    }
}

/// Sums of each month of the run; a month that the run only touches holds its days of the run.
pub(super) fn months(answer: &RunAnswer) -> Sheet {
    let places: Vec<(usize, &str, &'static str)> = SUMMED
        .iter()
        .filter_map(|name| {
            let place = DayRecord::FIELDS.iter().position(|(field, _)| field == name)?;
            Some((place, *name, DayRecord::FIELDS[place].1))
        })
        .collect();
    let mut months: Vec<(Date, Vec<&DayRecord>)> = Vec::new();
    for day in &answer.daily {
        let first = day.date.first_of_month();
        match months.last_mut() {
            Some((month, days)) if *month == first => days.push(day),
            _ => months.push((first, vec![day])),
        }
    }
    let last = answer.daily.len() + 1;
    let mut formulas = Vec::new();
    let mut rows = Vec::new();
    for (n, (month, days)) in months.iter().enumerate() {
        let row = n + 1;
        let mut cells: Vec<Cell> = vec![(*month).into(), (days.len() as f64).into()];
        for (column, (place, name, _)) in places.iter().enumerate() {
            cells.push(days.iter().map(|day| figure(day, name)).sum::<f64>().into());
            let of = letters(*place);
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

/// A figure of a day by its name.
fn figure(day: &DayRecord, name: &str) -> f64 {
    match name {
        "intake" => day.intake,
        "turned_away" => day.turned_away,
        "bulking" => day.bulking,
        "fed" => day.fed,
        "irrigation" => day.irrigation,
        "drainage" => day.drainage,
        "liquor" => day.liquor,
        "harvested" => day.harvested,
        "screened" => day.screened,
        "castings_sold" => day.castings_sold,
        "blend_sold" => day.blend_sold,
        _ => 0.0,
    }
}
