//! The printed page of a comparison, and its table for other programs.

use crate::quantity::Kind;
use crate::quantity::Units;
use crate::report::number::figure;
use crate::report::number::percent;
use crate::report::number::rounded;
use crate::report::page::Page;
use crate::report::table::Align;
use crate::report::table::Cell;
use crate::report::table::Column;
use crate::report::table::Measure;
use crate::report::table::Table;
use crate::scenario::sizing::figure_kind;
use crate::study::what_if::Base;
use crate::study::what_if::Densities;
use crate::study::what_if::NO_GAIN;
use crate::study::what_if::Paired;
use crate::study::what_if::WhatIf;
use std::io;

/// Names of the files of a comparison.
pub const COMPARE_FILES: [&str; 3] = ["compare.csv", "result.json", "compare.txt"];

fn words(name: &str) -> String {
    name.replace('_', " ")
}

/// How a figure is shown; temperatures stay in °C, for a difference has no zero to move.
fn measure(base: &Base) -> Measure {
    match figure_kind(base.figure) {
        Some(kind @ (Kind::Mass | Kind::Share | Kind::Ration)) => Measure::Of(kind),
        Some(Kind::Temperature) => Measure::Plain("°C"),
        _ if base.unit == "1" => Measure::Plain(""),
        _ => Measure::Plain(base.unit),
    }
}

/// The whole page.
pub fn compare_text(answer: &WhatIf, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&answer.name);
    compared(answer, &mut page);
    page.into_text()
}

/// What was varied, and every figure of the base and its variants.
pub(in crate::report) fn compared(answer: &WhatIf, page: &mut Page) {
    page.line("question", &format!("what if {} were otherwise", answer.keys.join(" and ")));
    page.line(
        "draws",
        &format!("{} of the base and of each variant, the same ones, seed {}", answer.draws, answer.seed),
    );
    let failed: usize = answer.failed + answer.variants.iter().map(|v| v.failed).sum::<usize>();
    if failed > 0 {
        page.line("draws without an answer", &failed.to_string());
    }
    if let Some(densities) = &answer.density {
        density(densities, page);
    }
    for (n, base) in answer.figures.iter().enumerate() {
        page.heading(&format!("{}: {}", words(base.figure), base.what));
        page.table(&one_figure(answer, n, base));
    }
    page.blank();
    page.paragraph(
        "Differences are variant less base, draw by draw; `clear` marks those whose 95 % interval leaves zero out.",
    );
}

fn one_figure(answer: &WhatIf, n: usize, base: &Base) -> Table {
    let measure = measure(base);
    let number = |name: &str| Column { name: name.to_owned(), measure, align: Align::Right };
    let mut columns: Vec<Column> = answer.keys.iter().map(|key| Column::words(key)).collect();
    columns.extend([number("mean"), number("difference"), number("low"), number("high")]);
    columns.extend([
        Column { name: "of the base".to_owned(), measure: Measure::Words, align: Align::Right },
        Column::words(""),
    ]);
    let mut table = Table::new("", columns);
    let mut row: Vec<Cell> = answer.keys.iter().map(|_| "base".into()).collect();
    row.push(base.mean.into());
    table.push(row);
    for variant in &answer.variants {
        let compared = &variant.figures[n];
        let d = compared.difference;
        let mut row: Vec<Cell> = variant.values.iter().map(|value| value.as_str().into()).collect();
        row.extend([compared.mean, d.mean, d.low, d.high].map(Cell::from));
        let share = if base.mean.abs() > 0.0 { signed(d.mean / base.mean.abs()) } else { String::new() };
        row.push(share.into());
        row.push(if d.clear { "clear".into() } else { Cell::Empty });
        table.push(row);
    }
    table
}

fn signed(share: f64) -> String {
    format!("{:+.1} %", 100.0 * share)
}

fn gain(paired: Option<Paired>) -> Cell {
    paired.map_or(Cell::Empty, |p| {
        format!("{} ({} to {})", signed(p.mean), signed(p.low), signed(p.high)).into()
    })
}

fn density(answer: &Densities, page: &mut Page) {
    page.heading("Stocking density");
    let right = |name: &str| Column { name: name.to_owned(), measure: Measure::Words, align: Align::Right };
    let columns = vec![
        Column::of("density", Kind::ArealMass),
        Column::of("fed", Kind::Mass),
        Column::of("castings", Kind::Mass),
        Column::of("worms at the end", Kind::Mass),
        Column::of("density then", Kind::ArealMass),
        Column::of("eaten per worm", Kind::Ration),
        Column::of("starving", Kind::Share),
    ];
    let mut table = Table::new("Means over the draws", columns);
    let mut gains = Table::new(
        "Gained over the next thinner stocking, with 95 % interval",
        vec![Column::of("density", Kind::ArealMass), right("in feed laid"), right("in castings")],
    );
    for p in &answer.points {
        let row =
            [p.density, p.fed, p.castings, p.stock_end, p.density_end, p.intake, p.starving].map(Cell::from);
        table.push(row.into());
        if p.gain_fed.is_some() || p.gain_castings.is_some() {
            gains.push(vec![p.density.into(), gain(p.gain_fed), gain(p.gain_castings)]);
        }
    }
    page.table(&table);
    page.table(&gains);
    let told = match answer.enough {
        Some(density) => format!(
            "{} kg/m2: no denser one tried gains {} or more in feed laid or castings",
            rounded(density, 3),
            percent(NO_GAIN)
        ),
        None => "not reached: the densest still gains, or one density alone was tried".to_owned(),
    };
    page.line("nothing is gained beyond", &told);
    if let [first, .., last] = answer.points[..] {
        let range = format!("{} to {} kg/m2", figure(first.density), figure(last.density));
        page.line("densities tried", &range);
    }
}

/// Every variant and figure as CSV.
///
/// # Errors
/// When the table cannot be written.
pub fn compare_csv(answer: &WhatIf) -> io::Result<String> {
    let mut columns: Vec<Column> =
        answer.keys.iter().map(|key| Column::words(&key.replace('.', "_"))).collect();
    columns.extend(["figure", "unit"].map(Column::words));
    columns.extend(["base", "mean", "difference", "low", "high"].map(|name| Column::plain(name, "")));
    columns.push(Column::plain("clear", ""));
    let mut table = Table::new("", columns);
    for variant in &answer.variants {
        for (base, compared) in answer.figures.iter().zip(&variant.figures) {
            let d = compared.difference;
            let mut row: Vec<Cell> = variant.values.iter().map(|value| value.as_str().into()).collect();
            row.extend([base.figure, base.unit].map(Cell::from));
            row.extend([base.mean, compared.mean, d.mean, d.low, d.high].map(Cell::from));
            row.push(f64::from(u8::from(d.clear)).into());
            table.push(row);
        }
    }
    let mut bytes = Vec::new();
    table.write_csv(Units::Si, &mut bytes)?;
    String::from_utf8(bytes).map_err(|e| io::Error::new(io::ErrorKind::InvalidData, e))
}
