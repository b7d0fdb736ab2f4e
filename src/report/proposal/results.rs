//! Sections of the annex that show the run: site, years, charts, balance, products, equipment.

use super::ProposalContents;
use super::setting::parts;
use super::text::set;
use crate::report::chart::Chart;
use crate::report::draw::plot;
use crate::report::pages;
use crate::report::pages::page::Page;
use crate::report::pages::run::{
    balance, beds, drums, products as sold, site as floor_and_work, stock, years,
};
use maud::{Markup, PreEscaped, html};

/// The markup of a page, filled by the functions that fill printed pages.
pub(super) fn filled(c: &ProposalContents, fill: impl FnOnce(&mut Page)) -> Markup {
    let mut page = Page::new(c.units);
    fill(&mut page);
    parts(&page)
}

/// The site as assumed.
pub(super) fn site(c: &ProposalContents) -> Markup {
    html! {
        @if !c.plan.note.is_empty() {
            p { "Note from the scenario:" }
            blockquote dir="auto" { (set(&c.plan.note)) }
        }
        p { "These are the choices of the scenario's author, and what follows from them before the run." }
        (filled(c, |page| pages::plan::site(c.plan, c.meaning, page)))
    }
}

/// The first year beside the settled one.
pub(super) fn years(c: &ProposalContents) -> Markup {
    filled(c, |page| years::years(c.answer, page))
}

/// The charts that the main part does not show.
pub(super) fn charts(c: &ProposalContents) -> Markup {
    c.charts.annex()
}

/// A chart with its number, finding and explanation.
pub(super) fn figure(number: usize, chart: &Chart) -> Markup {
    html! {
        figure id=(chart.file) {
            figcaption { strong { "Figure " (number) ". " (set(&chart.title)) } }
            div.drawing { (PreEscaped(plot(chart))) }
            p.shows { (set(&chart.shows)) }
        }
    }
}

/// The balance by stage and of the whole site.
pub(super) fn balance(c: &ProposalContents) -> Markup {
    filled(c, |page| {
        balance::intake(c.answer, page);
        balance::movements(c.answer, page);
        balance::gate(c.answer, page);
        balance::gases(c.answer, page);
    })
}

/// Products against standards.
pub(super) fn products(c: &ProposalContents) -> Markup {
    html! {
        p {
            "Limits are those of the standards named, in their own units. Missing a limit is not harmful in itself: it means that the "
            "product may not carry that name without drying, blending or a test."
        }
        (filled(c, |page| sold::products(c.answer, page)))
    }
}

/// Requirements: drums, beds, worms, floor.
pub(super) fn takes(c: &ProposalContents) -> Markup {
    filled(c, |page| {
        drums::drums(c.answer, page);
        drums::bran(c.answer, page);
        drums::grinder(c.answer, page);
        beds::beds(c.answer, page);
        stock::stock(c.answer, page);
        floor_and_work::floor(c.answer, page);
    })
}
