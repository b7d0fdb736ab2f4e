//! The worms of a plan: stock needed and growth.

use crate::quantity::Kind;
use crate::report::number::{format_figures, format_percent, format_quantity};
use crate::report::pages::page::Page;
use crate::report::table::{Cell, Column, Table};
use crate::scenario::Plan;
use crate::scenario::plan::Method;
use crate::study::check::PlanMeaning;
use crate::study::stock_growth::{Growth, StageShares};

/// Growth factor per day.
fn factor(growth: Growth) -> String {
    format!("{:.5}", growth.per_day)
}

fn doubling(growth: Growth) -> String {
    growth.doubling.map_or_else(|| "shrinks".to_owned(), |days| format_figures(days, 3))
}

const fn method(method: Method) -> &'static str {
    match method {
        Method::Trommel => "one trommel",
        Method::TwoDecks => "two decks",
        Method::Migration => "light or migration",
        Method::BottomCut => "bottom cut",
    }
}

/// Worms of a plan: bought, needed, and what they can grow to.
pub(super) fn worms(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    let units = page.units();
    page.heading("Worms");
    if plan.is_new() {
        page.line("total bought", &format_quantity(Kind::Mass, plan.stock_bought(), units));
    } else {
        page.line("in the beds, and bought later", &format_quantity(Kind::Mass, meaning.had, units));
    }
    if let Some(stock) = plan.stock.as_ref().filter(|_| plan.is_new() && plan.bed_area() > 0.0) {
        page.line(
            "first stocking density",
            &format_quantity(Kind::ArealMass, stock.mass / plan.bed_area(), units),
        );
    }
    if let Some(needed) = meaning.needed {
        page.line("stock that eats the mean intake", &format_quantity(Kind::Mass, needed, units));
    }
    page.line("stock the mean intake can sustain", &format_quantity(Kind::Mass, meaning.kept, units));
    let grows = match meaning.days_to_need {
        Some(days) if days <= 0.0 => "none: the stock is enough".to_owned(),
        Some(days) => format!(
            "{} days, fed the ration and screened as planned; a run includes the seasons",
            format_figures(days, 3)
        ),
        None => "never from this stock under these conditions".to_owned(),
    };
    page.line("time to grow to that stock", &grows);
    growth(plan, meaning, page);
    structure(meaning, page);
}

/// Growth by food and screening.
fn growth(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    let stock = &meaning.stock;
    let units = page.units();
    let columns = vec![
        Column::words("screening"),
        Column::plain("unlimited food", "x a day"),
        Column::plain("doubles in", "days"),
        Column::plain("at the ration", "x a day"),
        Column::plain("doubles in", "days"),
    ];
    let title = format!(
        "Growth at {}, the mean temperature of the bed room",
        format_quantity(Kind::Temperature, stock.temperature, units)
    );
    let mut table = Table::new(&title, columns);
    let row = |name: String, unlimited: Growth, at_ration: Growth| -> Vec<Cell> {
        [name, factor(unlimited), doubling(unlimited), factor(at_ration), doubling(at_ration)]
            .map(Cell::Words)
            .into()
    };
    table.push(row("never".to_owned(), stock.unlimited, stock.at_ration));
    for screened in &stock.screened {
        let own = if meaning.every_days == Some(screened.every_days) { ", as planned" } else { "" };
        table.push(row(
            format!("every {} days{own}", screened.every_days),
            screened.unlimited,
            screened.at_ration,
        ));
    }
    page.table(&table);
    conditions(plan, meaning, page);
}

/// Conditions of the growth figures, and growth on the coldest and the warmest day.
fn conditions(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    let (stock, units) = (&meaning.stock, page.units());
    page.line(
        "method of screening",
        &format!(
            "{}, {} of the castings at a time",
            method(plan.screen.method),
            format_percent(plan.harvest.share)
        ),
    );
    page.line(
        "ration, as feed at 80 % moisture",
        &format!(
            "{}; {} of the range from maintenance to the most they can eat",
            format_quantity(Kind::Ration, stock.ration, units),
            format_percent(stock.food_index)
        ),
    );
    for ((name, growth), temperature) in [
        ("unlimited food, coldest day", meaning.coldest_and_warmest[0]),
        ("unlimited food, warmest day", meaning.coldest_and_warmest[1]),
    ]
    .into_iter()
    .zip([meaning.bed_room[0], meaning.bed_room[2]])
    {
        let in_days = growth.doubling.map_or_else(
            || "the stock shrinks".to_owned(),
            |days| format!("doubles in {} days", format_figures(days, 3)),
        );
        page.line(
            name,
            &format!(
                "x {} a day at {}: {in_days}",
                factor(growth),
                format_quantity(Kind::Temperature, temperature, units)
            ),
        );
    }
}

/// Stable structure and reproductive value.
fn structure(meaning: &PlanMeaning, page: &mut Page) {
    let columns = vec![
        Column::words("share of"),
        Column::plain("cocoons", "%"),
        Column::plain("juveniles", "%"),
        Column::plain("sub-adults", "%"),
        Column::plain("adults", "%"),
    ];
    let mut table = Table::new("Stable stage structure at unlimited food", columns);
    let row = |name: &str, s: &StageShares| -> Vec<Cell> {
        let shares = [s.cocoons, s.juveniles, s.subadults, s.adults].map(|share| Cell::Number(100.0 * share));
        std::iter::once(Cell::from(name)).chain(shares).collect()
    };
    let stock = &meaning.stock;
    table.push(row("number", &stock.numbers));
    table.push(row("live mass", &stock.masses));
    if let Some(values) = &stock.values {
        table.push(row("reproductive value", values));
    }
    page.table(&table);
    page.paragraph(
        "Reproductive value: the share of all later worms that descend from a stage. A screen that loses a stage loses that \
         share of the growth.",
    );
}
