//! Water taken and what runs off.

use super::site::columns;
use crate::quantity::Kind;
use crate::report::number::{format_decimals, format_quantity};
use crate::report::pages::page::Page;
use crate::report::table::{Cell, Column, Table};
use crate::site_figures::water::WaterFigures;
use crate::study::answer::RunAnswer;

/// Words and value of an amount of a year.
type Amount = (&'static str, fn(&WaterFigures) -> f64);

/// What is taken; the sum last.
const TAKEN: [Amount; 4] = [
    ("put on beds", |w| w.on_beds),
    ("rinsing the grinder", |w| w.rinsing),
    ("washing drums (assumed for each)", |w| w.washing),
    ("= water taken", |w| w.taken),
];

/// What runs off; the sum last.
const RUNS_OFF: [Amount; 5] = [
    ("drained from beds", |w| w.drained),
    ("liquor of drums", |w| w.liquor),
    ("rinse water", |w| w.rinsed_away),
    ("washing water", |w| w.washing),
    ("= runs off", |w| w.run_off),
];

/// Water of a year, the worst days and the tank.
pub(in crate::report) fn water(answer: &RunAnswer, page: &mut Page) {
    let (now, before) = (&answer.year_that_counts().water, &answer.site.water);
    let units = page.units();
    page.heading("Water in a year");
    let (counts, first) = columns(answer, "mass");
    let mass = |name: &str| Column::of(name, Kind::Mass);
    let mut table = Table::new("", vec![Column::words("water"), mass(&counts)]);
    table.columns.extend(first.map(mass));
    for (what, of) in TAKEN.into_iter().chain(RUNS_OFF) {
        if of(now) <= 0.0 && of(before) <= 0.0 {
            continue;
        }
        let mut row: Vec<Cell> = vec![what.into(), of(now).into()];
        row.extend(first.map(|_| Cell::from(of(before))));
        table.push(row);
    }
    page.table(&table);
    if let Some(per_scraps) = now.per_scraps {
        page.line("water per mass of scraps", &format_decimals(per_scraps, 2));
    }
    let most = |of: fn(&WaterFigures) -> f64| of(now).max(of(before));
    let kilograms = |value: f64| format_quantity(Kind::Mass, value, units);
    page.line(
        "on the worst day",
        &format!(
            "{} taken; {} runs off",
            kilograms(most(|w| w.most_taken)),
            kilograms(most(|w| w.most_run_off))
        ),
    );
    let have = now.tank_of_plan.map_or_else(
        || "the plan gives none".to_owned(),
        |have| format!("the plan has {}", format_quantity(Kind::Volume, have, units)),
    );
    page.line(
        "tank for what runs off",
        &format!(
            "{} if it is emptied every {} days; {have}",
            format_quantity(Kind::Volume, most(|w| w.tank), units),
            now.emptied_every
        ),
    );
    page.line("it goes", now.goes_to);
    page.paragraph("Not counted: water for starter and bran, people and rain.");
}
