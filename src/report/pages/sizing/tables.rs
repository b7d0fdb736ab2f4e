//! The tables of a sizing for other programs.

use crate::quantity::Kind;
use crate::report::table::{Cell, Column, Table};
use crate::study::sizing::{SizingAnswer, StartUp};
use std::io;

/// The tables for other programs as CSV in SI: sizes, three sites, one step more or less, start-up; the first four of
/// [`SIZE_FILES`](super::SIZE_FILES).
///
/// # Errors
/// When a table cannot be written as CSV: a fault of the program.
pub fn sizing_tables(answer: &SizingAnswer) -> io::Result<[String; 4]> {
    Ok([
        sizes(answer).to_csv()?,
        sites(answer).to_csv()?,
        units(answer).to_csv()?,
        start_up(&answer.start_up, false).to_csv()?,
    ])
}

fn sizes(answer: &SizingAnswer) -> Table {
    let numbers = ["value", "plan", "by hand", "low", "high", "step", "weight"];
    let mut columns = vec![Column::words("size"), Column::words("unit")];
    columns.extend(numbers.map(|name| Column::plain(name, "")));
    columns.push(Column::words("basis"));
    let mut sizes = Table::new("", columns);
    for v in &answer.variables {
        let mut row: Vec<Cell> = vec![v.name.into(), v.unit.into()];
        row.extend([v.value, v.plan, Some(v.by_hand), v.low, v.high, v.step, Some(v.weight)].map(Cell::from));
        row.push(v.basis.into());
        sizes.push(row);
    }
    sizes
}

/// A row for each site and target.
fn sites(answer: &SizingAnswer) -> Table {
    let mut columns = vec![Column::words("site")];
    columns.extend(answer.variables.iter().map(|v| Column::plain(v.name, "")));
    columns.extend(["bed area", "cost"].map(|name| Column::plain(name, "")));
    columns.push(Column::words("target"));
    columns.extend(["draws", "share met", "low", "high"].map(|name| Column::plain(name, "")));
    let mut table = Table::new("", columns);
    for site in answer.sites.iter().filter(|site| site.found) {
        for (met, share) in answer.targets.iter().zip(&site.shares) {
            let mut row: Vec<Cell> = vec![site.name.into()];
            row.extend(site.sizes.iter().map(|value| Cell::from(*value)));
            row.extend([site.bed_area, site.cost].map(Cell::from));
            row.push(met.figure.as_str().into());
            row.extend([share.draws as f64, share.share, share.low, share.high].map(Cell::from));
            table.push(row);
        }
    }
    table
}

/// A row for each step and target.
fn units(answer: &SizingAnswer) -> Table {
    let mut columns = vec![Column::words("size"), Column::plain("value", ""), Column::plain("cost more", "")];
    columns.push(Column::words("target"));
    columns.extend(
        ["draws", "lost", "gained", "share met more", "low", "high"].map(|name| Column::plain(name, "")),
    );
    let mut table = Table::new("", columns);
    for unit in &answer.units {
        for (met, d) in answer.targets.iter().zip(&unit.differences) {
            let mut row: Vec<Cell> = vec![unit.variable.into(), unit.value.into(), unit.cost.into()];
            row.push(met.figure.as_str().into());
            row.extend(
                [d.draws as f64, d.lost as f64, d.gained as f64, d.share, d.low, d.high].map(Cell::from),
            );
            table.push(row);
        }
    }
    table
}

/// Buying the stock against growing it; for a page in months, for a file in days.
pub(super) fn start_up(ways: &[StartUp], shown: bool) -> Table {
    let whole = |n: Option<u32>| Cell::from(n.map(f64::from));
    let columns = vec![
        Column::of("bought", Kind::Share),
        Column::of("worms bought", Kind::Mass),
        Column::plain("cost", ""),
        Column::plain(if shown { "full intake in month" } else { "day of full intake" }, ""),
        Column::plain(if shown { "at latest" } else { "late month" }, ""),
        Column::of("draws that reach it", Kind::Share),
        Column::of("turned away", Kind::Share),
        Column::of("worms at the end", Kind::Mass),
    ];
    let mut table = Table::new("", columns);
    for way in ways {
        table.push(vec![
            way.bought_share.into(),
            way.bought.into(),
            way.cost.into(),
            whole(if shown { way.month } else { way.day }),
            whole(way.late_month),
            way.reached.into(),
            way.turned_away.into(),
            way.stock_end.into(),
        ]);
    }
    table
}
