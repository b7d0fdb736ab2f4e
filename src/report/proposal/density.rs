//! The section on stocking density: chart, tables and advice.

use super::ProposalContents;
use super::results::{figure, filled};
use super::text::set;
use crate::report::chart::density_chart;
use crate::report::pages;
use crate::study::what_if::{Densities, WhatIf};
use maud::{Markup, html};

/// Stocking densities, where they were asked for alone or are what is varied.
pub(super) fn answer<'a>(c: &'a ProposalContents) -> Option<(&'a WhatIf, &'a Densities)> {
    [c.density, c.compared].into_iter().flatten().find_map(|answer| Some((answer, answer.density.as_ref()?)))
}

/// The site stocked at several densities, on the same draws.
pub(super) fn density(c: &ProposalContents) -> Markup {
    let Some((answer, of)) = answer(c) else { return html! {} };
    html! {
        p {
            (set(&format!(
                "The same site with other amounts of worms bought at first, over the same {} draws. Everything else stays as it is: a larger \
                 stock does not bring more scraps.",
                answer.draws
            )))
        }
        @if let Some(chart) = density_chart(answer, c.units) { (figure(c.charts.next(), &chart)) }
        (filled(c, |page| pages::density::density(of, page)))
    }
}
