//! The printed page of *weigh*.

use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, format_decimals, format_figures, format_percent, in_column_unit};
use crate::report::pages::page::{Page, capital};
use crate::report::table::{Cell, Column, Table};
use crate::study::weigh::answer::{KindError, WeighAnswer, Weighing};

/// Digits of values.
const DIGITS: u32 = 3;

/// What to measure, as a page of text.
pub fn weigh_text(answer: &WeighAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&format!("What to weigh: {}", answer.name));
    page.line("measured", &format!("{} to {}", answer.from, answer.until));
    page.line("forecast", &format!("of the {} days after", answer.forecast_days));
    let draws = if answer.fitted { "fitted sites" } else { "draws, before any log" };
    page.line("from", &format!("{} {draws}, seed {}", answer.draws, answer.seed));
    page.line("program version", answer.version);
    forecasts(&mut page, answer);
    order(&mut page, answer);
    alone(&mut page, answer);
    page.heading("How to read this");
    page.paragraph(
        "Shares are of the standard deviation of each forecast: 100 % left means that the measurement narrows nothing. They are linear \
         estimates from the draws, with the errors of reading and model that `fit` uses (`loamledger facts log`); a fit does about as \
         well, not exactly so. The work of a measurement is assumed: time it on your site and set it in `rates`, such as \
         \"log.minutes_feed_laid\": 8. What a laboratory charges is not counted. The order takes, step by step, what narrows the three forecasts most for a minute of work, given all \
         before it; what would take less than half a per cent of their variance is left out.",
    );
    if !answer.nothing.is_empty() {
        page.paragraph(&format!("Gives nothing in these days: {}.", answer.nothing.join("; ")));
    }
    page.into_text()
}

fn forecasts(page: &mut Page, answer: &WeighAnswer) {
    page.heading("Forecasts before anything is measured");
    let unit = column_unit(Kind::Mass, page.units());
    let mut columns = vec![Column::words(&format!("figure, {unit}"))];
    columns.extend(["5 %", "50 %", "95 %"].map(Column::words_right));
    columns.push(Column::words("narrowed most by"));
    let what = |name| answer.routines.iter().find(|routine| routine.name == name).map(Weighing::what);
    let mut table = Table::new("", columns);
    for forecast in &answer.forecasts {
        let mut row: Vec<Cell> = vec![forecast.what.into()];
        let shown = |value: &f64| format_figures(in_column_unit(Kind::Mass, *value, page.units()), DIGITS);
        row.extend(forecast.points.iter().map(|value| Cell::from(shown(value))));
        row.push(forecast.best.and_then(what).unwrap_or_else(|| "nothing".to_owned()).into());
        table.push(row);
    }
    page.table(&table);
}

fn columns(answer: &WeighAnswer, first: &[&str]) -> Vec<Column> {
    let mut columns: Vec<Column> = vec![Column::words(first[0])];
    columns.extend(first[1..].iter().map(|name| Column::words_right(name)));
    columns.extend(answer.forecasts.iter().map(|f| Column::words_right(&capital(f.name))));
    columns
}

fn order(page: &mut Page, answer: &WeighAnswer) {
    page.heading("In this order");
    let mut table = Table::new("", columns(answer, &["what to do", "hours a month"]));
    for routine in answer.routines.iter().filter(|routine| !routine.together.is_empty()) {
        let mut row: Vec<Cell> = vec![routine.how.into(), hours_a_month(answer, routine).into()];
        row.extend(routine.together.iter().map(|share| Cell::from(format_percent(*share))));
        table.push(row);
    }
    if table.rows.is_empty() {
        page.paragraph("Nothing that can be measured in these days would narrow a forecast.");
        return;
    }
    page.paragraph("Each with all above it leaves so much of the spread of:");
    page.table(&table);
}

/// Hours of work in thirty days.
fn hours_a_month(answer: &WeighAnswer, routine: &Weighing) -> String {
    let days = f64::from((answer.until - answer.from).get_days() + 1);
    format_decimals(routine.minutes / 60.0 * 30.0 / days, 1)
}

fn alone(page: &mut Page, answer: &WeighAnswer) {
    page.heading("Each by itself");
    let first = ["measurement", "times", "min each", "error of a reading", "of the model"];
    let mut table = Table::new("", columns(answer, &first));
    for routine in &answer.routines {
        let each = routine.minutes / routine.times.max(1) as f64;
        let mut row: Vec<Cell> =
            vec![routine.what().into(), routine.times.to_string().into(), format_decimals(each, 0).into()];
        let error = |of: fn(&KindError) -> f64| match routine.kinds.as_slice() {
            [only] => error_text(only, of(only), page.units()),
            kinds => format!("{} figures", kinds.len()),
        };
        row.extend([error(|kind| kind.reading), error(|kind| kind.model)].map(Cell::from));
        row.extend(routine.alone.iter().map(|share| Cell::from(format_percent(*share))));
        table.push(row);
    }
    page.table(&table);
}

/// An error in the unit of its kind, or as a part of the value.
fn error_text(kind: &KindError, error: f64, units: Units) -> String {
    if kind.relative {
        return format_percent(error);
    }
    let quantity = kind.what.row().quantity;
    let difference = in_column_unit(quantity, error, units) - in_column_unit(quantity, 0.0, units);
    format!("{} {}", format_figures(difference, 2), column_unit(quantity, units)).trim_end().to_owned()
}
