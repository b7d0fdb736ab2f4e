//! Sections that show the run: the site, the charts, the balance, the products, what the site takes.

use super::Contents;
use super::setting::parts;
use super::text::{name, set};
use crate::report::chart::{Bands, Chart, draws_charts, run_charts};
use crate::report::draw::plot;
use crate::report::pages;
use crate::report::pages::page::Page;
use crate::report::pages::run::{balance, beds, drums, products as sold, site as floor_and_work, stock};
use maud::{Markup, PreEscaped, html};

/// A page filled by the functions that fill printed pages.
pub(super) fn filled(c: &Contents, fill: impl FnOnce(&mut Page)) -> Markup {
    let mut page = Page::new(c.units);
    fill(&mut page);
    parts(&page)
}

/// What is assumed about the site.
pub(super) fn site(c: &Contents) -> Markup {
    html! {
        @if !c.plan.note.is_empty() {
            p { "The scenario says of itself:" }
            blockquote dir="auto" { (set(&c.plan.note)) }
        }
        p { "These are choices of whoever wrote the scenario, and what follows from them before anything is run." }
        (filled(c, |page| pages::plan::site(c.plan, c.meaning, page)))
    }
}

/// Every chart with its finding.
pub(super) fn charts(c: &Contents) -> Markup {
    let charts = match c.uncertainty {
        Some(study) => draws_charts(c.answer, study, c.units),
        None => run_charts(c.answer, &Bands::default(), c.units),
    };
    html! {
        @for (n, chart) in charts.iter().enumerate() { (figure(n + 1, chart)) }
        @if let Some(chart) = charts.first() {
            p.source { "All charts: " (name(&chart.source.name)) ", " (set(&chart.source.rest)) "." }
        }
    }
}

fn figure(number: usize, chart: &Chart) -> Markup {
    html! {
        figure id=(chart.file) {
            figcaption { strong { "Figure " (number) ". " (set(&chart.title)) } }
            div.drawing { (PreEscaped(plot(chart))) }
            p.shows { (set(&chart.shows)) }
        }
    }
}

/// The balance, stage by stage and over the gate.
pub(super) fn balance(c: &Contents) -> Markup {
    filled(c, |page| {
        balance::intake(c.answer, page);
        balance::movements(c.answer, page);
        balance::gate(c.answer, page);
        balance::ways_out(c.answer, page);
        balance::gases(c.answer, page);
    })
}

/// Products against standards.
pub(super) fn products(c: &Contents) -> Markup {
    html! {
        p {
            "Limits are those of the standards named, in their own units. A limit that is not met is no harm by itself: it says what the "
            "product may not be called without drying, blending or a test."
        }
        (filled(c, |page| sold::products(c.answer, page)))
    }
}

/// What the site takes: drums, beds, worms, floor, work, money.
pub(super) fn takes(c: &Contents) -> Markup {
    filled(c, |page| {
        drums::drums(c.answer, page);
        drums::bran(c.answer, page);
        drums::grinder(c.answer, page);
        beds::beds(c.answer, page);
        stock::stock(c.answer, page);
        floor_and_work::floor(c.answer, page);
        floor_and_work::work(c.answer, page);
        floor_and_work::money(c.answer, page);
        floor_and_work::greenhouse(c.answer, page);
    })
}
