//! Sections on uncertainty and cautions: chances, ranges, drivers, warnings.

use super::results::filled;
use super::text::set;
use super::{ProposalContents, findings};
use crate::report::chart::key_in_words;
use crate::report::pages::run::warnings;
use crate::report::pages::{self, cautions as standing};
use maud::{Markup, html};

/// Chances of failures, ranges of figures, what to measure first.
pub(super) fn sure(c: &ProposalContents) -> Markup {
    let Some(u) = c.uncertainty else {
        return html! {
            p {
                "No draws were made: this document shows the best-estimate run and does not quantify uncertainty. To add ranges and "
                "chances, make it with " code { "--draws 500" } "."
            }
        };
    };
    html! {
        p {
            (set(&format!(
                "{} of {} draws gave an answer. Each draw takes its own value of {} rates and figures of ingredients from their published \
                 ranges, and its own weather, intake and chance events. {}",
                u.answered, u.draws, u.unknowns_drawn, findings::enough(u)
            )))
        }
        @if u.partial { p.partial { "Not all requested draws were made. Chances and ranges are those of the draws made." } }
        (filled(c, |page| {
            pages::uncertainty::chances(page, u);
            pages::uncertainty::figures(page, u);
        }))
        (drivers(c))
        (compared(c))
    }
}

/// The site and its variants on the same draws.
fn compared(c: &ProposalContents) -> Markup {
    let Some(answer) = c.compared else { return html! {} };
    let keys: Vec<String> = answer.keys.iter().map(|key| key_in_words(key)).collect();
    html! {
        h3 { (set(&format!("Variants of {}", keys.join(" and ")))) }
        (filled(c, |page| pages::compare::compared(answer, page)))
    }
}

fn drivers(c: &ProposalContents) -> Markup {
    let Some(d) = c.drivers else {
        return html! {
            h3 { "What to measure first" }
            p { "The unknowns cannot be ranked: too few draws were made, or no rate was drawn." }
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

/// Warnings of this run, then the cautions for any such site.
pub(super) fn cautions(c: &ProposalContents) -> Markup {
    html! {
        (filled(c, |page| {
            page.heading("Warnings of this run");
            warnings::list(&c.warnings, page);
            page.heading("For any site of this kind");
            for caution in standing::cautions(c.answer, c.units) {
                page.item("- ", &caution);
            }
        }))
    }
}
