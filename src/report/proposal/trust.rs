//! Sections of the annex on uncertainty: chances, ranges, drivers, variants.

use super::results::filled;
use super::text::set;
use super::{ProposalContents, findings};
use crate::report::chart::key_in_words;
use crate::report::pages;
use maud::{Markup, html};

/// Chances of failures, ranges of figures, what to measure first.
pub(super) fn sure(c: &ProposalContents) -> Markup {
    let Some(u) = c.uncertainty else {
        return html! { p { "No draws were made." } };
    };
    html! {
        p {
            (set(&format!(
                "{} of {} draws gave an answer. Each draw takes its own value of {} rates and figures of ingredients from their published \
                 ranges, and its own weather, intake and chance events. {}",
                u.answered, u.draws, u.unknowns_drawn, findings::enough(u)
            )))
        }
        (filled(c, |page| {
            pages::uncertainty::chances(page, u);
            pages::uncertainty::figures(page, u);
        }))
        (drivers(c))
    }
}

/// The site and its variants on the same draws.
pub(super) fn compared(c: &ProposalContents) -> Markup {
    let Some(answer) = c.compared else { return html! {} };
    let keys: Vec<String> = answer.keys.iter().map(|key| key_in_words(key)).collect();
    html! {
        h3 { (set(&format!("Variants of {}", keys.join(" and ")))) }
        (filled(c, |page| pages::compare::compared(answer, page)))
    }
}

fn drivers(c: &ProposalContents) -> Markup {
    let Some(d) = c.drivers else { return html! {} };
    html! {
        (filled(c, |page| {
            page.heading("What moves the figures, and what to measure");
            for figure in &d.figures {
                pages::drivers::first(page, figure);
            }
        }))
        p { (set(d.limit)) }
    }
}
