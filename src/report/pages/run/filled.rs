//! Beds that were filled on the first day: the batch at its start and at its end.

use crate::quantity::Kind;
use crate::report::number::{format_decimals, format_figures, format_in_column, format_percent};
use crate::report::pages::page::Page;
use crate::report::table::{Cell, Column, Table};
use crate::study::answer::RunAnswer;
use crate::study::filled::{FilledBed, Held};

/// A row of the page: what it is, and how a bed shows it.
type Row = (&'static str, fn(&Held) -> String);

/// Figures of the matter without worms; shares and grams are of dry matter unless the row says otherwise.
const ROWS: [Row; 14] = [
    ("moisture, %", |h| percent(h.quality.moisture, 0)),
    ("organic matter, %", |h| percent(h.quality.organic_matter, 0)),
    ("ash, %", |h| percent(h.quality.ash, 1)),
    ("carbon by combustion, %", |h| percent(h.quality.carbon, 1)),
    ("carbon by Walkley-Black, %", |h| percent(h.quality.carbon_walkley_black, 1)),
    ("nitrogen, %", |h| percent(h.quality.nitrogen, 2)),
    ("C:N", |h| format_decimals(h.quality.carbon_to_nitrogen, 1)),
    ("phosphorus, %", |h| percent(h.quality.phosphorus, 2)),
    ("potassium, %", |h| percent(h.quality.potassium, 2)),
    ("nitrate-N, g/kg", |h| format_figures(1000.0 * h.quality.nitrate_nitrogen, 2)),
    ("ammonium-N, g/kg", |h| format_figures(1000.0 * h.quality.ammonium_nitrogen, 2)),
    ("pH in water, 1:10", |h| format_decimals(h.ph_in_water, 1)),
    ("conductivity 1:5 by mass, dS/m", |h| format_decimals(h.quality.conductivity_1_to_5, 1)),
    ("conductivity 1:10 by mass, dS/m", |h| format_decimals(h.quality.conductivity_1_to_10, 1)),
];

fn percent(share: f64, decimals: usize) -> String {
    format_decimals(100.0 * share, decimals)
}

/// Filled beds: losses, and what a laboratory would find at the start and at the end.
pub(super) fn filled(answer: &RunAnswer, page: &mut Page) {
    for bed in &answer.filled_beds {
        one(answer, bed, page);
    }
}

fn one(answer: &RunAnswer, bed: &FilledBed, page: &mut Page) {
    page.heading(&format!("Filled beds: {}", bed.name));
    let lost = [bed.wet_loss, bed.dry_loss, bed.carbon_loss, bed.nitrogen_loss, bed.volume_loss];
    let [wet, dry, carbon, nitrogen, volume] = lost.map(format_percent);
    page.line("dry matter lost", &format!("{dry} in {} days, worms counted as dry matter", answer.days));
    page.line("carbon, nitrogen lost", &format!("{carbon}, {nitrogen}"));
    page.line("wet mass, volume lost", &format!("{wet}, {volume}"));
    let columns = vec![Column::words(""), Column::plain("start", ""), Column::plain("end", "")];
    let mut table = Table::new("One bed without its worms; shares and grams of dry matter", columns);
    let units = page.units();
    let mass = |kg: f64| format_in_column(Kind::Mass, kg, 4, units);
    let unit = crate::report::number::column_unit(Kind::Mass, units);
    let mut row = |what: String, of: &dyn Fn(&Held) -> String| {
        table.push(vec![what.into(), Cell::Words(of(&bed.start)), Cell::Words(of(&bed.end))]);
    };
    row(format!("wet mass, {unit}"), &|held| mass(held.quality.wet));
    row(format!("live worms, {unit}"), &|held| mass(held.worms));
    for (what, of) in ROWS {
        row(what.to_owned(), &of);
    }
    page.table(&table);
}
