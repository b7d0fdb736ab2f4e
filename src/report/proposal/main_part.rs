//! The sections of the main part: pictures, the two years side by side, charts, products, money, other sizes, certainty, cautions.

use super::density::answer as densities;
use super::findings::{self, amount, enough, quantiles};
use super::needs::is_one_number;
use super::results::{figure, filled};
use super::setting::table as set_table;
use super::text::{capital, join, set};
use super::{ProposalContents, ProposalInput};
use crate::process::quality::QualityFigures;
use crate::quantity::Kind;
use crate::report::cautions as standing;
use crate::report::chart::{
    Body, Chart, ChartBands, counts_chart, draws_charts, floor_chart, run_charts, with_limits,
};
use crate::report::number::{format_figures, format_range};
use crate::report::pages::run::years::{ended, last_year};
use crate::report::pages::run::{balance, site as floor_and_work, water};
use crate::report::pages::sizing;
use crate::report::pages::uncertainty::kind_of;
use crate::report::table::{Cell, Column, Table};
use crate::study::answer::Product;
use crate::trace::YEAR;
use crate::warning::Severity;
use maud::{Markup, html};

/// Charts of the main part, by file name. The others are in the annex.
pub(super) const MAIN_CHARTS: [&str; 3] = ["chart_drums", "chart_stock", "chart_beds"];
/// The chart of the section on certainty.
const CHANCES: &str = "chart_chances";
/// Measurements named in the main part.
const MEASUREMENTS: usize = 4;
/// Warnings below the worst severity that are named in the main part.
const WARNINGS: usize = 8;

/// Figures of the two years, by name.
const YEAR_ROWS: [&str; 20] = [
    "intake",
    "turned_away_share",
    "bran_used",
    "drums_highest",
    "drums_spoiled_share",
    "liquor",
    "bulking",
    "fed",
    "irrigation",
    "stock_mean",
    "starving_share",
    "bed_hottest",
    "bed_ph_lowest",
    "castings_screened",
    "product_sold",
    "castings_moisture",
    "castings_carbon_to_nitrogen",
    "castings_nitrogen",
    "methane",
    "nitrous_oxide",
];

/// The charts of a run with the limits of the plan.
fn charts_of(c: &ProposalInput) -> Vec<Chart> {
    let charts = match c.uncertainty {
        Some(study) => draws_charts(c.answer, study, c.units),
        None => run_charts(c.answer, &ChartBands::default(), c.units),
    };
    with_limits(charts, c.plan, c.units)
}

/// Charts by number: figures 1 and 2 are the counts and the floor, where these are there.
pub(super) struct Numbered(Vec<(usize, Chart)>);

impl Numbered {
    pub(super) fn of(c: &ProposalInput) -> Self {
        let mut charts: Vec<Chart> = Vec::new();
        charts.extend(counts_chart(c.plan, c.answer, c.uncertainty, c.units));
        charts.extend(floor_chart(c.plan, c.answer, c.units));
        let (mut main, annex): (Vec<Chart>, Vec<Chart>) =
            charts_of(c).into_iter().partition(|chart| is_main(&chart.file));
        main.iter_mut().for_each(without_stages);
        main.sort_by_key(|chart| {
            MAIN_CHARTS.iter().position(|file| *file == chart.file).unwrap_or(usize::MAX)
        });
        charts.extend(main);
        charts.extend(annex);
        Self(charts.into_iter().enumerate().map(|(n, chart)| (n + 1, chart)).collect())
    }

    /// The figure of a file. Nothing if there is none.
    fn one(&self, file: &str) -> Markup {
        let found = self.0.iter().find(|(_, chart)| chart.file == file);
        html! { @if let Some((n, chart)) = found { (figure(*n, chart)) } }
    }

    /// Figures that the main part does not show.
    pub(super) fn annex(&self) -> Markup {
        let pictures = ["chart_counts", "chart_floor"];
        html! {
            @for (n, chart) in self.0.iter().filter(|(_, c)| !is_main(&c.file) && !pictures.contains(&c.file.as_str())) {
                (figure(*n, chart))
            }
            @if let Some((_, chart)) = self.0.last() {
                p.source { "All charts: " (super::text::name(&chart.source.name)) ", " (set(&chart.source.rest)) "." }
            }
        }
    }

    /// Number after the last.
    pub(super) fn next(&self) -> usize {
        self.0.len() + 1
    }
}

/// Leaves the stages of worms out where all worms have a panel with bands of their own.
fn without_stages(chart: &mut Chart) {
    if let Body::Panels(panels) = &mut chart.body
        && chart.file == "chart_stock"
        && panels.panels.len() > 1
    {
        panels.panels.truncate(1);
        "Live mass of all worms without cocoons over the draws.".clone_into(&mut chart.shows);
    }
}

fn is_main(file: &str) -> bool {
    MAIN_CHARTS.contains(&file) || file == CHANCES
}

/// How many drums, beds and worms, and where they stand.
pub(super) fn picture(c: &ProposalContents) -> Markup {
    html! {
        (c.charts.one("chart_counts"))
        (c.charts.one("chart_floor"))
    }
}

/// The first year beside the settled one, with ranges.
pub(super) fn years(c: &ProposalContents) -> Markup {
    let years = &c.answer.later_years;
    html! {
        p { (set(&capital(&format!("settled year: {}.", ended(years))))) " The first year is start-up: beds fill, salt builds up, the stock grows." }
        (set_table(&year_table(c), c.units))
    }
}

fn year_table(c: &ProposalContents) -> Table {
    let years = &c.answer.later_years;
    let mut columns = vec![
        Column::words("figure"),
        Column::words_right(if c.answer.days == YEAR { "first year" } else { "run" }),
    ];
    columns.extend(years.last.as_ref().map(|last| Column::words_right(&last_year(years, last))));
    let mut table = Table::new("", columns);
    for name in YEAR_ROWS {
        let row = crate::trace::figures::figure(name);
        let Some(row) = row else { continue };
        let kind = kind_of(name, row.unit).unwrap_or(row.kind);
        let first = first_of(c, name);
        let later = years
            .last
            .as_ref()
            .map(|last| last.figures.iter().find(|f| f.name == name).and_then(|f| f.settled));
        if first.is_none() && later.flatten().is_none() {
            continue;
        }
        let cell = |value: Option<f64>, figure: &str| -> Cell {
            value.map_or(Cell::Empty, |value| ranged_short(c, kind, value, figure).into())
        };
        let mut cells: Vec<Cell> = vec![row.what.into(), cell(first, name)];
        cells.extend(later.map(|later| cell(later, &format!("settled_{name}"))));
        table.push(cells);
    }
    drained(c, &mut table);
    for (what, of) in SITE_ROWS {
        let mut cells: Vec<Cell> = vec![what.into(), of(&c.answer.site, c).into()];
        cells.extend(years.last.as_ref().map(|last| Cell::from(of(&last.site, c))));
        table.push(cells);
    }
    table
}

/// Words and value of a figure of the site as a whole.
type SiteRow = (&'static str, fn(&crate::site_figures::SiteFigures, &ProposalContents) -> String);

/// Figures of the site as a whole.
const SITE_ROWS: [SiteRow; 3] = [
    ("floor needed", |site, c| amount(c, Kind::Area, site.floor.total)),
    ("work in a year", |site, _| format!("{} h", format_figures(site.labour.hours, 3))),
    ("energy to grind, dry and heat rooms in a year", |site, _| {
        format!("{} kWh", format_figures(site.energy.total(), 3))
    }),
];

/// What drains from the beds, of which only years are kept.
fn drained(c: &ProposalContents, table: &mut Table) {
    let sum: f64 = c.answer.daily.iter().map(|d| d.drainage).sum();
    let last = c.answer.later_years.last.as_ref().and(c.answer.later_years.years.last());
    let mut cells: Vec<Cell> = vec!["water drained from beds".into(), amount(c, Kind::Mass, sum).into()];
    cells.extend(last.map(|year| Cell::from(amount(c, Kind::Mass, year.drained))));
    table.push(cells);
}

/// A figure of the run: of its first year where years are kept, else of the best-estimate run of the draws.
fn first_of(c: &ProposalContents, name: &str) -> Option<f64> {
    let kept = c.answer.later_years.last.as_ref();
    match kept {
        Some(last) => last.figures.iter().find(|f| f.name == name)?.first,
        None => c.uncertainty?.figures.iter().find(|f| f.name == name)?.central,
    }
}

/// "110 t (82 to 174)"; a star where the best estimate lies outside its range.
fn ranged_short(c: &ProposalContents, kind: Kind, value: f64, figure: &str) -> String {
    match quantiles(c, figure) {
        Some([low, .., high]) if !is_one_number(c, kind, (low, high)) => {
            let star = if (low..=high).contains(&value) { "" } else { "*" };
            format!("{}{star}", format_range(kind, value, (low, high), c.units).trim_end())
        }
        _ => amount(c, kind, value),
    }
}

/// Drums, worms and beds over the run, with targets and limits.
pub(super) fn course(c: &ProposalContents) -> Markup {
    html! { @for file in MAIN_CHARTS { (c.charts.one(file)) } }
}

/// Analysis of the products, and where matter goes.
pub(super) fn products(c: &ProposalContents) -> Markup {
    let table = analysis(c);
    html! {
        @if table.rows.is_empty() {
            p { "Nothing is sold in this run." }
        } @else {
            (set_table(&table, c.units))
            p { "Means of what the run sells. Standards, and all figures, are in the annex." }
        }
        (filled(c, |page| balance::ways_out(c.answer, page)))
    }
}

/// Words and value of a figure of a product.
type QualityRow = (&'static str, fn(&QualityFigures) -> String);

/// The analysis in the order of a label.
const QUALITY_ROWS: [QualityRow; 9] = [
    ("water, %", |q| format_figures(100.0 * q.moisture, 2)),
    ("C:N", |q| format_figures(q.carbon_to_nitrogen, 2)),
    ("organic matter, % of dry matter", |q| format_figures(100.0 * q.organic_matter, 2)),
    ("nitrogen, % of dry matter", |q| format_figures(100.0 * q.nitrogen, 2)),
    ("phosphate (P2O5), % of dry matter", |q| format_figures(100.0 * q.phosphate, 2)),
    ("potash (K2O), % of dry matter", |q| format_figures(100.0 * q.potash, 2)),
    ("pH", |q| format_figures(q.ph, 2)),
    ("conductivity of the 1:5 extract, dS/m", |q| format_figures(q.conductivity_1_to_5, 2)),
    ("nitrate-N, g/kg of dry matter", |q| format_figures(1000.0 * q.nitrate_nitrogen, 2)),
];

fn analysis(c: &ProposalContents) -> Table {
    let sold: Vec<(&Product, &QualityFigures)> =
        c.answer.products.iter().filter_map(|p| Some((p, p.quality.as_ref()?))).collect();
    let mut columns = vec![Column::words("product")];
    columns.extend(sold.iter().map(|(product, _)| Column::words_right(product.name)));
    let mut table = Table::new("", columns);
    if sold.is_empty() {
        return table;
    }
    let mut row = |what: &str, of: &dyn Fn(&Product, &QualityFigures) -> String| {
        let values = sold.iter().map(|(product, quality)| Cell::from(of(product, quality)));
        table.push([Cell::from(what)].into_iter().chain(values).collect());
    };
    row("sold in the run", &|p, _| amount(c, Kind::Mass, p.amounts.wet));
    row("volume", &|p, _| amount(c, Kind::Volume, p.volume));
    for (what, of) in QUALITY_ROWS {
        row(what, &|_, q| of(q));
    }
    table
}

/// Money, labour and greenhouse gas.
pub(super) fn money(c: &ProposalContents) -> Markup {
    html! {
        (filled(c, |page| {
            floor_and_work::money(c.answer, page);
            floor_and_work::work(c.answer, page);
            water::water(c.answer, page);
            floor_and_work::greenhouse(c.answer, page);
        }))
    }
}

/// A leaner and a more cautious site beside the one that is sought.
pub(super) fn sizes(c: &ProposalContents) -> Markup {
    let Some(answer) = c.sizing else { return html! {} };
    html! {
        p { (set(&capital(&format!("{}.", sizing::headline(answer, c.units))))) }
        (filled(c, |page| {
            if let Some(no) = &answer.refusal {
                sizing::refusal(answer, no, page);
            }
            sizing::sites_beside(answer, page);
            sizing::units_more_or_less(answer, page);
        }))
        p { "The scenario of this document may hold other sizes than the one recommended here: the figures of all other sections are those of the scenario." }
    }
}

/// Chances of failures, and what to measure first.
pub(super) fn certainty(c: &ProposalContents) -> Markup {
    let Some(u) = c.uncertainty else {
        return html! {
            p {
                "No draws were made: this document shows the best-estimate run and does not quantify uncertainty. To add ranges and "
                "chances, make it with " code { "--draws 500" } "."
            }
        };
    };
    let advice = densities(c).map(|_| "How the site does with more or fewer worms is in the annex.");
    html! {
        p {
            (set(&format!(
                "{} of {} draws gave an answer. {} A star marks a best estimate outside the range of nine in ten draws: draws have weather, intake \
                 and chance events that change from day to day.",
                u.answered, u.draws, enough(u)
            )))
        }
        @if u.partial { p.partial { "Not all requested draws were made. Chances and ranges are those of the draws made." } }
        (c.charts.one(CHANCES))
        (measurements(c))
        @if let Some(advice) = advice { p { (advice) } }
    }
}

/// The measurements that say most, with the figures that they are about.
fn measurements(c: &ProposalContents) -> Markup {
    let found = findings::informative(c);
    html! {
        h3 { "What to measure first" }
        @if found.is_empty() {
            p { "The unknowns cannot be ranked: too few draws were made, or no rate was drawn." }
        } @else {
            ul.items {
                @for (what, figures) in found.iter().take(MEASUREMENTS) {
                    li { strong { (set(&capital(what))) } ": for " (set(&join(figures))) "." }
                }
            }
        }
    }
}

/// Warnings of this run, then the cautions for any such site.
pub(super) fn cautions(c: &ProposalContents) -> Markup {
    let serious = c.warnings.iter().filter(|w| w.severity == Severity::Serious).count();
    let shown = serious.max(WARNINGS).min(c.warnings.len());
    let left = c.warnings.len() - shown;
    html! {
        h3 { "Warnings of this run" }
        (filled(c, |page| crate::report::pages::run::warnings::list(&c.warnings[..shown], page)))
        @if left > 0 { p { (left) " more of less weight are printed by " code { "loamledger run" } "." } }
        h3 { "For any site of this kind" }
        ul.items { @for caution in standing::cautions(c.answer, c.units) { li { (set(&caution)) } } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_the_two_years_are_figures_of_a_draw() {
        for name in YEAR_ROWS {
            assert!(crate::trace::figures::figure(name).is_some(), "{name}");
        }
    }
}
