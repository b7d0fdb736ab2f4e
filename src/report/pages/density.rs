//! Stocking densities: a table for each figure, first year and settled year side by side, and the advice that follows from them.

use super::page::{Page, capital};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, format_figures, in_column_unit};
use crate::report::table::{Cell, Column, Table};
use crate::study::what_if::{Band, BestDensity, Densities, DensityFigure, KEPT, LOST, NO_GAIN, WhatIf};
use std::io;

/// Name of the file of stocking densities.
pub const DENSITY_FILE: &str = "density.csv";
/// Digits of a figure in a table and in a sentence.
const DIGITS: u32 = 3;
/// Share of the largest number of a table below which a number is shown as 0: what a stock that died out leaves. Our choice.
const NOTHING: f64 = 1e-4;
/// Share of the scraps turned away up to which a first year takes them all, as in the verdict of a run. Our choice.
const TAKES_ALL: f64 = 0.02;

/// The kind of a figure. None for a plain factor.
pub(in crate::report) fn kind_of(figure: &DensityFigure) -> Option<Kind> {
    match figure.unit {
        "kg/(m2 d)" | "kg/m2" => Some(Kind::ArealMass),
        "kg/kg" => Some(Kind::Share),
        "money/m2" => Some(Kind::MoneyPerArea),
        _ if figure.name == "survival" => Some(Kind::Share),
        _ => None,
    }
}

/// The unit a figure is shown in; empty for a plain factor.
pub(in crate::report) fn unit_of(figure: &DensityFigure, of: &Densities, units: Units) -> String {
    let unit = kind_of(figure).map_or("", |kind| column_unit(kind, units));
    match &of.currency {
        Some(currency) if figure.unit == "money/m2" => format!("{currency}{unit}"),
        _ => unit.to_owned(),
    }
}

/// A value of a figure in the unit it is shown in.
pub(in crate::report) fn shown(figure: &DensityFigure, value: f64, units: Units) -> f64 {
    kind_of(figure).map_or(value, |kind| in_column_unit(kind, value, units))
}

/// What the first span is called: a year, or the run where that is shorter.
pub(in crate::report) fn first_name(of: &Densities) -> &'static str {
    if of.first_days < 365 { "the run" } else { "first year" }
}

/// Tables and advice of stocking densities.
pub(in crate::report) fn density(of: &Densities, page: &mut Page) {
    page.heading("Stocking density");
    page.paragraph(
        "Worms bought at first per bed area. Each figure is the mean of the draws, with the band from 5 to 95 % of them. The feed that \
         arrives is the same for every density.",
    );
    for figure in &of.figures {
        page.table(&table(figure, of, page.units()));
    }
    page.blank();
    page.paragraph("What follows from these tables:");
    for sentence in advice(of, page.units()) {
        page.item("- ", &sentence);
    }
}

fn table(figure: &DensityFigure, of: &Densities, units: Units) -> Table {
    let unit = unit_of(figure, of, units);
    let caption = match unit.as_str() {
        "" => capital(figure.what),
        unit => format!("{}, {unit}", capital(figure.what)),
    };
    let spans = if figure.settled.is_empty() { 1 } else { 2 };
    let named = if figure.name == "worth" { "mean" } else { first_name(of) };
    let mut columns = vec![Column::of("bought", Kind::ArealMass)];
    for name in [named, "settled year"].into_iter().take(spans) {
        columns.extend([name, "5 %", "95 %"].map(Column::words_right));
    }
    let mut table = Table::new(&caption, columns);
    let bands = figure.first.iter().chain(&figure.settled);
    let largest =
        bands.flat_map(|band| [band.low, band.mean, band.high]).fold(0.0, |a: f64, b| a.max(b.abs()));
    let plain = |value: f64| if value.abs() < NOTHING * largest { 0.0 } else { value };
    for (n, density) in of.densities.iter().enumerate() {
        let mut row: Vec<Cell> = vec![(*density).into()];
        let bands = [Some(figure.first[n]), figure.settled.get(n).copied()];
        for Band { mean, low, high } in bands.into_iter().flatten() {
            row.extend(
                [mean, low, high].map(|v| format_figures(shown(figure, plain(v), units), DIGITS).into()),
            );
        }
        table.push(row);
    }
    table
}

/// What the tables say for buying worms, a sentence each.
pub(in crate::report) fn advice(of: &Densities, units: Units) -> Vec<String> {
    let figure = |name: &str| of.figures.iter().find(|f| f.name == name);
    let judged: Vec<(&str, &DensityFigure)> = [("feed eaten", "eaten"), ("castings", "castings_dry")]
        .into_iter()
        .filter_map(|(what, name)| Some((what, figure(name)?)))
        .collect();
    let mut out = Vec::new();
    let first = judged.iter().filter_map(|(what, figure)| Some((*what, *figure, figure.best?)));
    out.extend(best_of_span(of, in_first(of), &first.collect::<Vec<_>>(), units));
    out.extend(meeting(of, units));
    let later = judged.iter().filter_map(|(what, figure)| Some((*what, *figure, figure.best_settled?)));
    out.extend(best_of_span(of, "in the settled year", &later.collect::<Vec<_>>(), units));
    out.extend(figure("turned_away_share").map(|away| takes_all(of, away, units)));
    out.extend(figure("survival").map(|survival| kept(of, survival, units)));
    out.extend(lost(of, units));
    out.extend(figure("growth").and_then(|growth| grown(of, growth, units)));
    out.extend(figure("worth").and_then(|worth| worth_most(of, worth, units)));
    out.extend(unsettled(of, units));
    if of.own > 0.0 {
        out.push(format!("The scenario itself stocks {}.", density_text(of.own, units)));
    }
    out.iter().map(|sentence| capital(sentence)).collect()
}

/// "in the first year".
fn in_first(of: &Densities) -> &'static str {
    if of.first_days < 365 { "in the run" } else { "in the first year" }
}

/// A density in a sentence.
fn density_text(value: f64, units: Units) -> String {
    let value = format_figures(in_column_unit(Kind::ArealMass, value, units), DIGITS);
    format!("{value} {}", column_unit(Kind::ArealMass, units))
}

/// "2 to 6 kg/m2", "4 kg/m2".
fn range(low: f64, high: f64, units: Units) -> String {
    let plain = |value: f64| format_figures(in_column_unit(Kind::ArealMass, value, units), DIGITS);
    let (low, text) = (plain(low), density_text(high, units));
    if low == plain(high) { text } else { format!("{low} to {text}") }
}

/// A share of whole percents: "80 %".
fn percent(share: f64) -> String {
    format!("{} %", format_figures(100.0 * share, DIGITS))
}

fn ends(of: &Densities) -> (f64, f64) {
    (of.densities.first().copied().unwrap_or(0.0), of.densities.last().copied().unwrap_or(0.0))
}

const fn is(a: f64, b: f64) -> bool {
    a.to_bits() == b.to_bits()
}

/// Where figures are best in a span, and how flat they are there. Those that no density is clearly better at share a sentence.
fn best_of_span(
    of: &Densities,
    span: &str,
    judged: &[(&str, &DensityFigure, BestDensity)],
    units: Units,
) -> Vec<String> {
    let (thinnest, densest) = ends(of);
    let is_flat = |best: &BestDensity| is(best.from, thinnest) && is(best.to, densest);
    let mut out: Vec<String> = judged
        .iter()
        .filter(|(.., best)| !is_flat(best))
        .map(|(what, figure, best)| best_at(of, (what, span), (figure, best), units))
        .collect();
    let flat: Vec<&str> = judged.iter().filter(|(.., best)| is_flat(best)).map(|(what, ..)| *what).collect();
    if !flat.is_empty() {
        out.push(format!(
            "{span} no start from {} is clearly better by {} or more in {}.",
            range(thinnest, densest, units),
            percent(NO_GAIN),
            flat.join(" or in ")
        ));
    }
    out
}

/// Where a figure is best, and how flat it is there.
fn best_at(
    of: &Densities,
    (what, span): (&str, &str),
    (figure, best): (&DensityFigure, &BestDensity),
    units: Units,
) -> String {
    let (thinnest, densest) = ends(of);
    let counts = percent(NO_GAIN);
    let flat = if is(best.from, best.to) {
        format!("every other start is clearly worse by {counts} or more")
    } else {
        format!("from {} none is clearly worse by {counts} or more", range(best.from, best.to, units))
    };
    let end = match best.density {
        at if is(at, densest) => " Denser starts were not tried.",
        at if is(at, thinnest) => " Thinner starts were not tried.",
        _ => "",
    };
    format!(
        "{span} a start of {} gives the most {what} ({} {}); {flat}.{end}",
        density_text(best.density, units),
        format_figures(shown(figure, best.mean, units), DIGITS),
        unit_of(figure, of, units)
    )
}

/// Which starts come together.
fn meeting(of: &Densities, units: Units) -> Option<String> {
    let (thinnest, densest) = ends(of);
    let known = of.stock_by_year.iter().map(Vec::len).max().filter(|years| *years > 1)?;
    let Some(met) = &of.meeting else {
        return (of.densities.len() > 1).then(|| {
            format!("no two starts come together within {known} years, so the start matters for long.")
        });
    };
    let apart = if is(met.from, thinnest) && is(met.to, densest) {
        String::new()
    } else {
        " Other starts stay apart from these as long as they are followed.".to_owned()
    };
    if met.high <= 0.0 {
        let starts = range(met.from, met.to, units);
        return Some(format!("starts from {starts} die out by the end of year {}.{apart}", met.year));
    }
    Some(format!(
        "starts from {} meet at {} by the end of year {}, so buying more than {} changes only the years until then.{apart}",
        range(met.from, met.to, units),
        range(met.low, met.high, units),
        met.year,
        density_text(met.from, units)
    ))
}

/// The thinnest start that takes the scraps of the first year.
fn takes_all(of: &Densities, away: &DensityFigure, units: Units) -> String {
    let span = first_name(of).trim_start_matches("the ");
    let limit = percent(TAKES_ALL);
    match away.first.iter().position(|band| band.mean <= TAKES_ALL) {
        Some(0) => format!(
            "Already the thinnest start, {}, turns away {limit} of the scraps or less in the {span}.",
            density_text(of.densities[0], units)
        ),
        Some(at) => format!(
            "To turn away {limit} of the scraps or less in the {span}, {} is the thinnest start that is enough.",
            density_text(of.densities[at], units)
        ),
        None => format!(
            "Every start tried turns away more than {limit} of the scraps in the {span}: drums or beds are short, not worms alone."
        ),
    }
}

/// Up to which start worms are kept.
fn kept(of: &Densities, survival: &DensityFigure, units: Units) -> String {
    let share = percent(KEPT);
    let span = first_name(of).trim_start_matches("the ");
    let (_, densest) = ends(of);
    let lowest = survival.first.last().map_or(0.0, |band| band.mean);
    match of.kept_up_to {
        Some(up_to) if is(up_to, densest) => {
            format!("Every start keeps {share} of its worms or more through the {span}.")
        }
        Some(up_to) => format!(
            "Starts up to {} keep {share} of their worms or more through the {span}; at {} the lowest stock is {} of what was bought.",
            density_text(up_to, units),
            density_text(densest, units),
            percent(lowest)
        ),
        None => format!("No start tried keeps {share} of its worms through the {span}."),
    }
}

/// The thinnest start of which some draws lose the stock. `None` where no draw does.
fn lost(of: &Densities, units: Units) -> Option<String> {
    let (density, share) = of.densities.iter().zip(&of.lost).find(|(_, share)| **share > 0.0)?;
    let (_, densest) = ends(of);
    let span = first_name(of).trim_start_matches("the ");
    let most = match of.lost.last() {
        Some(most) if !is(*density, densest) => {
            format!(", at {} in {}", density_text(densest, units), percent(*most))
        }
        _ => String::new(),
    };
    Some(format!(
        "At {} the stock is lost in {} of the draws{most}: less than {} of the worms bought is left at the end of the {span}.",
        density_text(*density, units),
        percent(*share),
        percent(LOST)
    ))
}

/// How starts grow in the first year.
fn grown(of: &Densities, growth: &DensityFigure, units: Units) -> Option<String> {
    let (thinnest, densest) = ends(of);
    let [first, .., last] = growth.first.as_slice() else { return None };
    let times = |band: &Band| format_figures(band.mean, DIGITS);
    let span = first_name(of).trim_start_matches("the ");
    Some(format!(
        "In the {span} a start of {} ends at {} times itself, one of {} at {}.",
        density_text(thinnest, units),
        times(first),
        density_text(densest, units),
        times(last)
    ))
}

/// The start with which the site is worth most.
fn worth_most(of: &Densities, worth: &DensityFigure, units: Units) -> Option<String> {
    let best = worth.best.as_ref()?;
    let value = format_figures(shown(worth, best.mean, units), DIGITS);
    let loses = if best.mean < 0.0 { ", a loss even so" } else { "" };
    let flat = if is(best.from, best.to) {
        "every other start is clearly worse".to_owned()
    } else {
        format!("from {} none is clearly worse", range(best.from, best.to, units))
    };
    Some(format!(
        "At the prices given the site is worth most with a start of {} (net present value {value} {}{loses}); {flat}.",
        density_text(best.density, units),
        unit_of(worth, of, units)
    ))
}

/// Draws that reach no settled year.
fn unsettled(of: &Densities, units: Units) -> Option<String> {
    let few = of.densities.iter().zip(&of.settled_share).filter(|(_, share)| **share < 1.0);
    let (at, share) = few.min_by(|a, b| a.1.total_cmp(b.1))?;
    Some(format!(
        "Not every draw reaches a settled year (least at {}: {}); the others count with the last year simulated.",
        density_text(*at, units),
        percent(*share)
    ))
}

/// Every density and figure as CSV in SI, a row for each pair of them.
///
/// # Errors
/// When the table cannot be written: a fault of the program.
pub fn density_csv(answer: &WhatIf) -> Option<io::Result<String>> {
    let of = answer.density.as_ref()?;
    let mut columns = vec![Column::of("density", Kind::ArealMass), Column::of("bought", Kind::Mass)];
    columns.extend(["figure", "unit"].map(Column::words));
    let spans = ["first_mean", "first_low", "first_high", "settled_mean", "settled_low", "settled_high"];
    columns.extend(spans.map(|name| Column::plain(name, "")));
    let mut table = Table::new("", columns);
    for (n, (density, bought)) in of.densities.iter().zip(&of.bought).enumerate() {
        for figure in &of.figures {
            let mut row: Vec<Cell> = vec![(*density).into(), (*bought).into()];
            let unit = match &of.currency {
                Some(currency) => figure.unit.replace("money", currency),
                None => figure.unit.to_owned(),
            };
            row.extend([figure.name.into(), unit.into()]);
            for band in [Some(&figure.first[n]), figure.settled.get(n)] {
                let cells = band.map_or([Cell::Empty, Cell::Empty, Cell::Empty], |band| {
                    [band.mean, band.low, band.high].map(Cell::from)
                });
                row.extend(cells);
            }
            table.push(row);
        }
    }
    Some(table.to_csv())
}
