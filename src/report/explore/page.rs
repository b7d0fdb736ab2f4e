//! The document of the live page. It holds the controls and the frame of what the script fills in.

use super::PAGE_CHARTS;
use super::live::{ChoiceNow, choice_now};
use crate::quantity::{Kind, Units};
use crate::report::head::head;
use crate::report::number::column_unit;
use crate::report::proposal::text::{capital, name, set};
use crate::study::explore::{Base, Choice, MOST_DRAWS, Part, SHOWN, SHOWN_SETTLED, TURNS, figure_words};
use crate::study::what_if::DENSITY;
use maud::{DOCTYPE, Markup, html};

/// The script of the page.
pub const PAGE_SCRIPT: &str = include_str!("page.js");
/// The style of the page.
pub const PAGE_STYLE: &str = include_str!("page.css");

/// Largest scenario file that the page opens, bytes. Our choice.
pub const LARGEST_OPENED: usize = 1 << 20;

/// The page of a scenario; `of` is the name by which its requests call it.
pub fn page(base: &Base, of: &str) -> String {
    let turns = TURNS.map(|turn| turn.to_string()).join(" ");
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            (head(&format!("{}: explore", name(&base.plan.name)), "light dark", None, &html! { link rel="stylesheet" href="page.css"; script src="page.js" defer {} }))
            body data-of=(of) data-turns=(turns) data-largest=(LARGEST_OPENED) {
                a.skip href="#results" { "To the results" }
                header {
                    h1 dir="auto" { (name(&base.plan.name)) }
                    p.file { "Loamledger, exploring " code { (name(&base.name)) } }
                    (bar())
                }
                noscript { p.problem { "This page needs its script, which comes from this program alone." } }
                p #problem .problem role="alert" {}
                p #glance aria-hidden="true" {}
                main {
                    form #choices aria-label="Choices" { @for part in Part::ALL { (self::part(part, &base.choices)) } }
                    section #results aria-label="Results" tabindex="-1" { (results()) }
                }
                dialog #behind aria-labelledby="behind-title" {
                    form method="dialog" { button { "Close" } }
                    div #behind-body {}
                }
            }
        }
    };
    page.into_string()
}

/// What can be done with the whole scenario.
fn bar() -> Markup {
    html! {
        div.bar {
            fieldset.units {
                legend { "Units" }
                label { input type="radio" name="units" value="si" checked; " metric" }
                label { input type="radio" name="units" value="us"; " US" }
            }
            button #pin type="button" { "Pin this variant" }
            button #unpin type="button" hidden { "Remove the pin" }
            button #swap type="button" hidden { "Swap with the pinned one" }
            button #reset type="button" { "Back to the file" }
            button #save type="button" { "Save as a scenario" }
            label.open for="open" { "Open a scenario " input #open type="file" accept=".json,application/json"; }
        }
    }
}

fn part(part: Part, choices: &[Choice]) -> Markup {
    let here = || choices.iter().enumerate().filter(|(_, choice)| choice.part == part);
    html! {
        @if here().next().is_some() {
            fieldset {
                legend { (part.name()) }
                @for (n, choice) in here() { (control(n, choice)) }
            }
        }
    }
}

/// A control: a slider, the number beside it, and a box to leave the choice out where it may be.
fn control(n: usize, choice: &Choice) -> Markup {
    let ChoiceNow { value, typed, said, .. } = choice_now(choice);
    let label = set(&choice.label);
    let id = format!("choice-{n}");
    let (low, high) = choice.reach;
    let whole = matches!(choice.kind, Kind::Count | Kind::Days);
    let [si, us] = [Units::Si, Units::Us].map(|units| column_unit(choice.kind, units));
    // two controls of one key: moving one lets go of the other
    let other = match choice.key.as_str() {
        DENSITY => "stock.mass",
        "stock.mass" => DENSITY,
        _ => "",
    };
    html! {
        div.choice data-key=(choice.key) data-other=(other) data-whole=(whole) data-si=(si) data-us=(us) {
            span.label {
                label for=(id) dir="auto" { (label) }
                " "
                a.why href=(format!("choice/{n}")) aria-label=(format!("What this is: {label}")) { "?" }
            }
            @if choice.optional {
                label.given { input type="checkbox" checked[value.is_some()] aria-label=(format!("{label}: set")); " set" }
            }
            input id=(id) type="range" min=(low) max=(high) step=(choice.step) value=(value.unwrap_or(low))
                aria-valuetext=(said.si) disabled[value.is_none()];
            span.typed {
                input type="text" inputmode="decimal" autocomplete="off" spellcheck="false" maxlength="40"
                    value=(typed.si) aria-label=(format!("{label}, as a number")) disabled[value.is_none()];
                span.unit { (set(si)) }
            }
        }
    }
}

fn results() -> Markup {
    html! {
        p #verdict role="status" { "Running the best estimate." }
        h2 { "The site" }
        div #site {}
        h2 { "Figures of the run" }
        (figures("figures", &SHOWN))
        p #draws { span.count { "No draws yet." } " " progress max=(MOST_DRAWS) value="0" aria-label="Draws made" {} }
        p.note {
            "Large: best estimate. Small: what nine of ten draws give. Each number leads to what it rests on."
        }
        h2 { "Settled year" }
        p #year .note {}
        (figures("settled", &SHOWN_SETTLED))
        h2 { "Chances in the run" }
        p.note { "Share of the draws in which it happens, and the 95 % interval of that share." }
        ul #chances {}
        h2 { "Day by day" }
        @for chart in PAGE_CHARTS {
            figure.chart data-chart=(chart) { img alt="" hidden; }
        }
        h2 { "Warnings" }
        ul #warnings {}
        h2 { "The same answer from a terminal" }
        p #how .note {}
        pre tabindex="0" { code #command {} }
        button #copy type="button" { "Copy the command" }
        p.more { a.why href="rates" { "Every rate and ingredient behind this run" } }
    }
}

/// A table of figures; the script fills in values.
fn figures(id: &str, names: &[&str]) -> Markup {
    html! {
        table id=(id) {
            thead { tr { th scope="col" { "figure" } th scope="col" { "this variant" } th.pinned scope="col" hidden { "pinned" } } }
            tbody {
                @for name in names {
                    tr data-name=(name) {
                        th scope="row" {
                            (capital(figure_words(name).trim_start_matches("settled year: ")))
                            svg.strip viewBox="0 0 100 14" preserveAspectRatio="none" aria-hidden="true" {
                                rect.band y="2" height="4" width="0" {} rect.best y="0" height="8" width="0" {}
                                rect.pinned-band y="9" height="3" width="0" {} rect.pinned-best y="8" height="6" width="0" {}
                            }
                        }
                        td.now { (slot(name)) }
                        td.pinned hidden { (slot(name)) }
                    }
                }
            }
        }
    }
}

/// Where a value and its band go.
fn slot(name: &str) -> Markup {
    html! { a.why href=(format!("number/{name}")) { "…" } span.range {} }
}
