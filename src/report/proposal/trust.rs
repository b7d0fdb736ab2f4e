//! Sections on how far the figures can be trusted: chances, spread, drivers, warnings, cautions.

use super::results::filled;
use super::text::set;
use super::{Contents, findings};
use crate::report::pages::run::told;
use crate::report::pages::{self, cautions as standing};
use maud::{Markup, html};

/// Chances of failures, spread of figures, what to measure first.
pub(super) fn sure(c: &Contents) -> Markup {
    let Some(u) = c.uncertainty else {
        return html! {
            p {
                "No draws were made, so that this document tells what happens with the best known value of each rate and nothing of how "
                "sure that is. Make it again with " code { "--draws 500" } "."
            }
        };
    };
    html! {
        p {
            (set(&format!(
                "{} of {} draws gave an answer; in each one {} rates and figures of ingredients were drawn from their published ranges, with the weather, the intake \
                 and luck. {}",
                u.answered, u.draws, u.unknowns_drawn, findings::enough(u)
            )))
        }
        @if u.partial { p.partial { "Not all draws that were asked for were made: chances and ranges are those of the ones made." } }
        (filled(c, |page| {
            pages::uncertainty::chances(page, u);
            pages::uncertainty::figures(page, u);
        }))
        (drivers(c))
        (compared(c))
    }
}

/// The site and its variants on the same draws.
fn compared(c: &Contents) -> Markup {
    let Some(answer) = c.compared else { return html! {} };
    html! {
        h3 { (set(&format!("What if {} were otherwise?", answer.keys.join(" and ")))) }
        (filled(c, |page| pages::compare::compared(answer, page)))
    }
}

fn drivers(c: &Contents) -> Markup {
    let Some(d) = c.drivers else {
        return html! {
            h3 { "What to measure first" }
            p { "Too few draws, or none of the rates is drawn: what moves the answer cannot be told." }
        };
    };
    html! {
        (filled(c, |page| {
            page.heading("What to measure first");
            for figure in &d.figures {
                pages::drivers::first(page, figure);
            }
        }))
        p { (set(d.limit)) }
    }
}

/// Warnings of this run, then what must be told about any such site.
pub(super) fn cautions(c: &Contents) -> Markup {
    html! {
        (filled(c, |page| {
            page.heading("Warnings of this run");
            told::warnings(&c.warnings, page);
            page.heading("For any site of this make");
            for caution in standing::cautions(c.answer, c.units) {
                page.item("- ", &caution);
            }
        }))
    }
}
