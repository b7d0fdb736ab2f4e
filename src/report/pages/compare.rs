//! The printed page of a comparison, and its table for other programs.

use crate::quantity::{Kind, Units};
use crate::report::number::format_percent;
use crate::report::pages::density::density;
use crate::report::pages::page::{Page, capital, key_words};
use crate::report::pages::run::warnings::cautions;
use crate::report::table::{Align, Cell, Column, Measure, Table};
use crate::study::answer::RunAnswer;
use crate::study::what_if::{Base, WhatIf};
use crate::trace::figures;
use std::io;

/// Names of the files of a comparison; its charts come beside them, and [`DENSITY_FILE`](super::density::DENSITY_FILE) where the
/// stocking density was varied.
pub const COMPARE_FILES: [&str; 3] = ["compare.csv", "result.json", "compare.txt"];

/// What a figure measures.
fn measure(base: &Base) -> Measure {
    match figures::figure(base.figure).map(|figure| figure.kind) {
        Some(kind @ (Kind::Mass | Kind::Share | Kind::Ration | Kind::Temperature)) => Measure::Of(kind),
        _ if base.unit == "1" => Measure::Plain(""),
        _ => Measure::Plain(base.unit),
    }
}

/// The answer to *compare* as a page of text: each figure of the base and its variants, with differences and their intervals, and the
/// cautions that apply to a run of the base.
pub fn compare_text(answer: &WhatIf, base: &RunAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&answer.name);
    compared(answer, &mut page);
    if let Some(densities) = &answer.density {
        density(densities, &mut page);
    }
    cautions(base, &mut page);
    page.into_text()
}

/// What was varied, and every figure of the base and its variants.
pub(in crate::report) fn compared(answer: &WhatIf, page: &mut Page) {
    let varied: Vec<String> = answer.keys.iter().map(|key| key_words(key)).collect();
    page.line("varied", &varied.join(" and "));
    page.line(
        "draws",
        &format!("the same {} for the base and each variant, seed {}", answer.draws, answer.seed),
    );
    page.explain_draw();
    if answer.partial {
        page.line("PARTIAL", &format!("stopped after {} of {} draws of each", answer.draws, answer.asked));
    }
    let failed: usize = answer.failed + answer.variants.iter().map(|v| v.failed).sum::<usize>();
    if failed > 0 {
        page.line("failed draws", &failed.to_string());
    }
    for (n, base) in answer.figures.iter().enumerate() {
        page.heading(&capital(base.what));
        page.table(&one_figure(answer, n, base));
    }
    page.blank();
    page.paragraph(
        "Differences are variant minus base, draw by draw; low and high are their 95 % interval. `clear` marks an interval that does not contain zero.",
    );
}

fn one_figure(answer: &WhatIf, n: usize, base: &Base) -> Table {
    let measure = measure(base);
    let number = |name: &str, measure| Column { name: name.to_owned(), measure, align: Align::Right };
    let between = match measure {
        // a difference has no zero to move
        Measure::Of(Kind::Temperature) => Measure::Of(Kind::TemperatureDifference),
        measure => measure,
    };
    let mut columns: Vec<Column> = answer.keys.iter().map(|key| Column::words(&key_words(key))).collect();
    columns.push(number("mean", measure));
    columns.extend(["difference", "low", "high"].map(|name| number(name, between)));
    columns.extend([Column::words_right("of the base"), Column::words("")]);
    let mut table = Table::new("", columns);
    let mut row: Vec<Cell> = answer.keys.iter().map(|_| "base".into()).collect();
    row.push(base.mean.into());
    table.push(row);
    for variant in &answer.variants {
        let compared = &variant.figures[n];
        let d = compared.difference;
        let mut row: Vec<Cell> = variant.values.iter().map(|value| value.as_str().into()).collect();
        row.extend([compared.mean, d.mean, d.low, d.high].map(Cell::from));
        // a difference of shares is in percent already, and the zero of Celsius is arbitrary
        let absolute = !matches!(measure, Measure::Of(Kind::Share | Kind::Temperature));
        let telling = base.mean.abs() > 0.0 && absolute;
        let share = if telling { signed(d.mean / base.mean.abs()) } else { String::new() };
        row.push(share.into());
        row.push(if d.clear { "clear".into() } else { Cell::Empty });
        table.push(row);
    }
    table
}

fn signed(share: f64) -> String {
    let text = format_percent(share);
    if share > 0.0 && text != format_percent(0.0) { format!("+{text}") } else { text }
}

/// Every variant and figure as CSV in SI, a row for each pair of them.
///
/// # Errors
/// When the table cannot be written: a fault of the program.
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
    table.to_csv()
}
