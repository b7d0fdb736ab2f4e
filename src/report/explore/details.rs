//! The pages behind the numbers: what a figure is and what moves it, what a choice may be, a rate with its evidence and sources. They
//! are documents of their own, which the page also shows in a window; no text of the scenario is in them.

use super::live::{choice_now, figure_text};
use crate::literature::{self, Entry, IngredientFacts};
use crate::quantity::{Uncertain, Units};
use crate::report::head::head;
use crate::report::number::{
    column_unit, format_exact, format_figures, format_interval, format_number, in_column_unit,
};
use crate::report::pages::facts::{ingredients_page, rate_page, reference};
use crate::report::proposal::setting::parts;
use crate::report::proposal::text::{capital, set};
use crate::scenario::{Plan, ingredients_used, narrowed};
use crate::study::drivers::{Driver, DriversError, FigureDrivers};
use crate::study::explore::{Choice, FigureValue, MOST_DRAWS};
use crate::study::rates_used::RateUsed;
use crate::study::uncertainty::UncertaintyAnswer;
use maud::{DOCTYPE, Markup, html};

/// Unknowns listed of a figure, at most. Our choice.
const LISTED: usize = 10;

/// A document of its own; addresses in it are relative to the page.
fn document(title: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            (head(title, "light dark", None, &html! { link rel="stylesheet" href="../page.css"; }))
            body.alone { main { h2 { (title) } (body) } }
        }
    };
    page.into_string()
}

/// A link to a rate.
fn to_rate(rate: &Entry) -> Markup {
    html! { a.why href=(format!("../rate/{}", rate.key)) { (set(&capital(&rate.name))) } }
}

/// A number and its unit.
fn with_unit(number: &str, unit: &str) -> String {
    if unit == "1" || unit.is_empty() { number.to_owned() } else { format!("{number} {unit}") }
}

/// A range. A dash if it has none.
fn range(value: &Uncertain) -> String {
    let (low, high) = (value.low(), value.high());
    if low < high { format!("{} to {}", format_number(low), format_number(high)) } else { "–".to_owned() }
}

/// The published range of a rate, and the one that draws take where published trials narrow it.
fn ranges(rate: &Entry, narrowed: Option<&Uncertain>) -> Markup {
    html! {
        (range(&rate.value))
        @if let Some(narrowed) = narrowed {
            br;
            "draws take " (range(narrowed))
        }
    }
}

/// What two ranges mean, where a table shows both.
const TWO_RANGES: &str = "Where two ranges are shown, published trials of whole sites narrow the published one; draws take the second.";

/// The page of a figure: its best estimate, its band, and the unknowns that move it in the draws.
pub fn figure(
    figure: &FigureValue,
    study: Option<&UncertaintyAnswer>,
    moved_by: Option<&Result<FigureDrivers, DriversError>>,
    (plan, units): (&Plan, Units),
) -> String {
    let text = |value: f64| set(&figure_text(figure, value, units));
    let spread = study.and_then(|study| study.figures.iter().find(|one| one.name == figure.name));
    let spread = spread.and_then(|one| Some((one, one.spread.as_ref()?)));
    let body = html! {
        dl.lines {
            div { dt { "best estimate" } dd { (figure.value.map_or_else(|| "nothing to measure".to_owned(), text)) } }
            @if let Some((one, spread)) = spread {
                @let [low, quarter, median, three, high] = spread.quantiles;
                div { dt { "nine of ten draws" } dd { (text(low)) " to " (text(high)) } }
                div { dt { "half of the draws" } dd { (text(quarter)) " to " (text(three)) } }
                div { dt { "median" } dd { (text(median)) } }
                div { dt { "draws" } dd { (one.draws) @if spread.settled { ", settled" } @else { ", more would move it" } } }
            }
            div { dt { "name in files" } dd { code { (figure.name) } } }
        }
        h3 { "Unknowns that move it" }
        @match moved_by {
            Some(Ok(found)) => (unknowns(found, plan)),
            Some(Err(error)) => p { (set(&capital(&error.to_string()))) "." },
            None => p { "No draws are made yet. Their ranks show which unknowns move a figure; " (MOST_DRAWS) " are made." },
        }
        p { a.why href="../rates" { "Every rate and ingredient behind this run" } }
    };
    document(&capital(figure.what), &body)
}

fn unknowns(found: &FigureDrivers, plan: &Plan) -> Markup {
    let clear: Vec<&Driver> = found.drivers.iter().filter(|driver| driver.is_clear()).take(LISTED).collect();
    if let Some(nothing) = &found.nothing {
        return html! { p { (set(&capital(nothing))) "." } };
    }
    html! {
        @if clear.is_empty() {
            p { "No unknown moves it clearly in these draws: chance from day to day does." }
        } @else {
            p {
                "By rank correlation over " (found.draws) " draws, the strongest first. Together all unknowns explain "
                (format_figures(100.0 * found.explained, 2)) " % of the variance of its ranks. " (TWO_RANGES)
            }
            (table(
                "Unknowns",
                ["unknown", "more of it", "best estimate", "published range", "evidence", "sources"],
                &html! { @for driver in clear { (unknown(driver, plan)) } },
            ))
        }
    }
}

/// A table that scrolls by itself where it is wider than the page.
fn table(label: &str, columns: [&str; 6], rows: &Markup) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(label) {
            table {
                thead { tr { @for column in columns { th scope="col" { (column) } } } }
                tbody { (rows) }
            }
        }
    }
}

fn unknown(driver: &Driver, plan: &Plan) -> Markup {
    let rate = literature::entry(driver.key);
    let way = if driver.partial.value > 0.0 { "raises it" } else { "lowers it" };
    html! {
        tr {
            th scope="row" { @match rate { Some(rate) => (to_rate(rate)), None => (set(driver.what)) } }
            td { (way) ", " (format_figures(driver.partial.value, 2)) }
            @if let Some(rate) = rate {
                td { (set(&with_unit(&format_number(rate.value.central()), &rate.unit))) }
                td { (ranges(rate, narrowed(plan, driver.key).as_ref())) }
                td { (rate.evidence.name()) }
                td { (rate.sources.join(", ")) }
            } @else { td colspan="4" {} }
        }
    }
}

/// The page of a choice: its key, its meaning, what is allowed, and where its default comes from.
pub fn choice(choice: &Choice, units: Units) -> String {
    let unit = column_unit(choice.kind, units);
    let shown = |value: f64| set(&with_unit(&format_number(in_column_unit(choice.kind, value, units)), unit));
    let basis = choice.basis.split(',').next().unwrap_or_default().trim();
    let now = choice_now(choice).said;
    let value = if units == Units::Us { now.us } else { now.si };
    let body = html! {
        p { (set(&choice.about)) }
        dl.lines {
            div { dt { "in this scenario" } dd { @if value.is_empty() { "left out" } @else { (set(&value)) } } }
            div { dt { "allowed" } dd { (set(&format_interval(choice.kind, choice.allowed.0, choice.allowed.1, units))) } }
            div { dt { "if left out" } dd { (choice.default.map_or_else(|| "no value of its own".to_owned(), shown)) } }
            div { dt { "key" } dd { code { (choice.key) } } }
        }
        @if choice.default.is_some() {
            h3 { "Where the default comes from" }
            @if let Some(rate) = literature::entry(basis) {
                (parts(&rate_page(rate)))
            } @else if let Some(source) = literature::source(basis) {
                p { (set(&reference(source))) }
            } @else {
                p { "It is a choice of this program, to be replaced by yours." }
            }
        }
    };
    document(choice.label.split(',').next().unwrap_or_default(), &body)
}

/// The page of a rate or of a figure of an ingredient. `None` if no such key is known.
pub fn rate(key: &str) -> Option<String> {
    let rate = literature::entry(key)?;
    let body = html! { (parts(&rate_page(rate))) p { a.why href="../rates" { "Every rate and ingredient behind this run" } } };
    Some(document(&capital(&rate.name), &body))
}

/// The page of all rates that a run rests on, and of the ingredients of its scenario.
pub fn rates(plan: &Plan, used: &[RateUsed]) -> String {
    let own = plan.ingredients.iter().map(|own| own.like.as_str());
    let mut ids: Vec<&str> = ingredients_used(plan).chain(own).collect();
    ids.sort_unstable();
    ids.dedup();
    let known: Vec<&IngredientFacts> = ids.iter().filter_map(|id| literature::ingredient(id)).collect();
    let body = html! {
        p { "The best-estimate run asks for these " (used.len()) " rates. Each name leads to its note and its full references. " (TWO_RANGES) }
        (table(
            "Rates",
            ["rate", "best estimate", "published range", "unit", "evidence", "sources"],
            &html! { @for rate in used { (row(rate)) } },
        ))
        h3 { "Ingredients of the library" }
        div.scroll tabindex="0" role="region" aria-label="Ingredients" { (parts(&ingredients_page(&known))) }
    };
    // this page is one level higher than the others
    document("Rates and ingredients behind this run", &body).replace("\"../", "\"")
}

fn row(used: &RateUsed) -> Markup {
    let rate = used.published;
    html! {
        tr {
            th scope="row" { (to_rate(rate)) }
            td {
                @match &used.replaced {
                    Some(own) => { (format_exact(own.central)) ", by the scenario" },
                    None => (format_number(rate.value.central())),
                }
            }
            td { (ranges(rate, used.narrowed.as_ref())) }
            td { @if rate.unit != "1" { (set(&rate.unit)) } }
            td { (rate.evidence.name()) }
            td { (rate.sources.join(", ")) }
        }
    }
}
