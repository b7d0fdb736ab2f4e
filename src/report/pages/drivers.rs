//! The page of *drivers*.

use crate::quantity::Units;
use crate::report::number::{percent, rounded};
use crate::report::pages::page::Page;
use crate::report::pages::uncertainty::{right, shown, shown_unit};
use crate::report::table::{Cell, Column, Table};
use crate::study::drivers::{DriversAnswer, FigureDrivers};
use crate::study::sensitivity::Estimate;
use crate::study::sobol::SobolAnswer;

/// Most unknowns shown of a figure; the files have all.
const MOST_SHOWN: usize = 10;
/// Most measurements shown of a figure.
const MOST_MEASUREMENTS: usize = 3;
/// Most unknowns named with a measurement.
const MOST_NAMED: usize = 4;

/// The answer to *drivers* as a page of text: what to measure first, then what moves each figure.
pub fn drivers_text(answer: &DriversAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&format!("What moves the answer: {}", answer.name));
    let of = if answer.draws < answer.answered {
        format!(" (the first of {}; more would only cost memory)", answer.answered)
    } else {
        String::new()
    };
    page.line("draws used", &format!("{}{of}, seed {}", answer.draws, answer.seed));
    page.line("unknowns drawn", &format!("{} rates and figures of ingredients", answer.unknowns_drawn));
    if answer.partial {
        page.line("PARTIAL", "some draws or runs were not made");
    }
    page.heading("What to measure first");
    for figure in &answer.figures {
        first(&mut page, figure);
    }
    for figure in answer.figures.iter().filter(|f| f.nothing.is_none()) {
        rates(&mut page, figure);
    }
    if let Some(sobol) = &answer.sobol {
        indices(&mut page, sobol, answer);
    }
    page.heading("What this cannot see");
    page.paragraph(answer.limit);
    page.into_text()
}

/// The measurements that would narrow a figure most, in a sentence each.
pub(in crate::report) fn first(page: &mut Page, figure: &FigureDrivers) {
    let name = figure.what;
    if let Some(why) = &figure.nothing {
        page.item("- ", &format!("{name}: {why}."));
        return;
    }
    if figure.measurements.is_empty() {
        page.item("- ", &format!("{name}: no unknown that can be measured on site stands out from chance."));
        return;
    }
    page.item(
        "- ",
        &format!(
            "{name}: the unknowns explain about {} of its ranks; most of it would be told by",
            percent(figure.explained)
        ),
    );
    for worth in figure.measurements.iter().take(MOST_MEASUREMENTS) {
        let mut rates: Vec<String> =
            worth.rates.iter().take(MOST_NAMED).map(|(key, evidence)| format!("{key}, {evidence}")).collect();
        if worth.rates.len() > MOST_NAMED {
            rates.push(format!("{} more", worth.rates.len() - MOST_NAMED));
        }
        page.item(
            "    * ",
            &format!("{} ({}; {})", worth.measurement, percent(worth.part), rates.join("; ")),
        );
    }
}

fn interval(estimate: &Estimate) -> [Cell; 3] {
    [estimate.value, estimate.low, estimate.high].map(|x| Cell::from(rounded(x, 2)))
}

fn rates(page: &mut Page, figure: &FigureDrivers) {
    page.heading(&format!("{} ({})", figure.what, figure.name));
    let mut columns = vec![Column::words("unknown"), Column::words("evidence")];
    columns.extend(["partial rank correlation", "at least", "at most", "explains, %"].map(right));
    let mut table = Table::new("", columns);
    for driver in figure.drivers.iter().filter(|d| d.is_clear()).take(MOST_SHOWN) {
        let mut row: Vec<Cell> = vec![driver.key.into(), driver.evidence.into()];
        row.extend(interval(&driver.partial));
        row.push(format!("{:.1}", 100.0 * driver.part).into());
        table.push(row);
    }
    if table.rows.is_empty() {
        page.paragraph("No unknown stands out from chance.");
    }
    page.table(&table);
}

fn indices(page: &mut Page, sobol: &SobolAnswer, answer: &DriversAnswer) {
    page.heading("Sobol' indices of the leading unknowns, without chance");
    page.line("base rows", &format!("{} of {}", sobol.rows_used, sobol.rows));
    if let Some(failed) = &sobol.failed {
        page.line("FAILED", &format!("rows were left out; the first run that failed: {failed}"));
    }
    page.paragraph(
        "First: share of the variance an unknown explains alone. Total: with all it does together with others. Unknowns not named stand \
         at their central values, and correlations are left out.",
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
        columns.extend(["first", "at least", "at most", "total", "at least", "at most"].map(right));
        let mut table = Table::new(title.trim_end(), columns);
        for index in &figure.indices {
            let mut row: Vec<Cell> = vec![index.key.into()];
            row.extend(interval(&index.first));
            row.extend(interval(&index.total));
            table.push(row);
        }
        page.table(&table);
    }
}
