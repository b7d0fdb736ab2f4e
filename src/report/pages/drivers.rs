//! The page of *drivers*.

use crate::quantity::Units;
use crate::report::number::{format_decimals, format_figures, format_percent};
use crate::report::pages::page::{Page, capital, key_words};
use crate::report::pages::uncertainty::{shown, shown_unit};
use crate::report::table::{Cell, Column, Table};
use crate::study::drivers::{DriversAnswer, FigureDrivers};
use crate::study::sensitivity::Estimate;
use crate::study::sobol::SobolAnswer;

/// Most unknowns shown for a figure; the files have all.
const MOST_SHOWN: usize = 10;
/// Most measurements shown of a figure.
const MOST_MEASUREMENTS: usize = 3;
/// Most unknowns named with a measurement.
const MOST_NAMED: usize = 4;

/// The answer to *drivers* as a page of text: the most informative measurements, then the drivers of each figure.
pub fn drivers_text(answer: &DriversAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&format!("Drivers of the answer: {}", answer.name));
    let of = if answer.draws < answer.answered {
        format!(" (the first of {})", answer.answered)
    } else {
        String::new()
    };
    page.line("draws used", &format!("{}{of}, seed {}", answer.draws, answer.seed));
    page.explain_draw();
    page.line("unknowns", &format!("{} rates and ingredient figures", answer.unknowns_drawn));
    if answer.partial {
        page.line("PARTIAL", "some draws or runs are missing");
    }
    page.heading("Most informative measurements");
    for figure in &answer.figures {
        first(&mut page, figure);
    }
    for figure in answer.figures.iter().filter(|f| f.nothing.is_none()) {
        rates(&mut page, figure);
    }
    if let Some(sobol) = &answer.sobol {
        indices(&mut page, sobol, answer);
    }
    page.heading("Limits of this analysis");
    page.paragraph(answer.limit);
    page.into_text()
}

/// The measurements that would narrow a figure most.
pub(in crate::report) fn first(page: &mut Page, figure: &FigureDrivers) {
    let name = figure.what;
    if let Some(why) = &figure.nothing {
        page.item("- ", &format!("{name}: {why}."));
        return;
    }
    if figure.measurements.is_empty() {
        page.item("- ", &format!("{name}: no unknown that can be measured on site has a clear effect."));
        return;
    }
    page.item(
        "- ",
        &format!(
            "{name}: the unknowns explain about {} of the rank variance; the most informative measurements are",
            format_percent(figure.explained.max(0.0))
        ),
    );
    for worth in figure.measurements.iter().take(MOST_MEASUREMENTS) {
        let mut rates: Vec<String> = worth
            .rates
            .iter()
            .take(MOST_NAMED)
            .map(|(key, evidence)| format!("{}, {evidence}", key_words(key)))
            .collect();
        if worth.rates.len() > MOST_NAMED {
            rates.push(format!("and {} more", worth.rates.len() - MOST_NAMED));
        }
        page.item(
            "    * ",
            &format!("{} ({}; {})", worth.measurement, format_percent(worth.part), rates.join("; ")),
        );
    }
}

fn interval(estimate: &Estimate) -> [Cell; 3] {
    [estimate.value, estimate.low, estimate.high].map(|x| Cell::from(format_figures(x, 2)))
}

fn rates(page: &mut Page, figure: &FigureDrivers) {
    page.heading(&capital(figure.what));
    let mut columns = vec![Column::words("unknown"), Column::words("evidence")];
    columns.extend(["partial rank correlation", "low", "high", "explains, %"].map(Column::words_right));
    let mut table = Table::new("", columns);
    for driver in figure.drivers.iter().filter(|d| d.is_clear()).take(MOST_SHOWN) {
        let mut row: Vec<Cell> = vec![key_words(driver.key).into(), driver.evidence.into()];
        row.extend(interval(&driver.partial));
        row.push(format_decimals(100.0 * driver.part.max(0.0), 1).into());
        table.push(row);
    }
    if table.rows.is_empty() {
        page.paragraph("No unknown has a clear effect.");
    }
    page.table(&table);
}

fn indices(page: &mut Page, sobol: &SobolAnswer, answer: &DriversAnswer) {
    page.heading("Sobol' indices of the leading unknowns, without chance events");
    page.line("base rows", &format!("{} of {}", sobol.rows_used, sobol.rows));
    if let Some(failed) = &sobol.failed {
        page.line("FAILED", &format!("rows were left out; the first failed run: {failed}"));
    }
    page.paragraph(
        "First: share of the variance that an unknown explains alone. Total: its share together with its effects in combination with \
         others. All other unknowns are kept at their best estimates, and correlations are ignored. Low and high: 95 % interval.",
    );
    for figure in &sobol.figures {
        let known = answer.figures.iter().find(|f| f.name == figure.name);
        let (what, unit) = known.map_or((figure.name, ""), |f| (f.what, f.unit));
        if let Some(why) = &figure.nothing {
            page.item("- ", &format!("{what}: {why}."));
            continue;
        }
        let units = page.units();
        let title = format!(
            "{what}: mean {} {}",
            shown(figure.name, unit, figure.mean, units),
            shown_unit(figure.name, unit, units)
        );
        let mut columns = vec![Column::words("unknown")];
        columns.extend(["first", "low", "high", "total", "low", "high"].map(Column::words_right));
        let mut table = Table::new(title.trim_end(), columns);
        for index in &figure.indices {
            let mut row: Vec<Cell> = vec![key_words(index.key).into()];
            row.extend(interval(&index.first));
            row.extend(interval(&index.total));
            table.push(row);
        }
        page.table(&table);
    }
}
