//! The proposal: one HTML file without network access or scripts, to read on a screen or print.
//!
//! Each section is a function from `ProposalContents` to markup. Sentences come from `findings`, tables and lists from the pages that the
//! commands print, charts from [`chart`](crate::report::chart). The markup library escapes all text. Nothing depends on the clock or
//! the machine, so the same run gives the same bytes.

mod density;
mod findings;
mod first;
pub(super) mod founded;
mod limits;
mod results;
pub(super) mod setting;
mod shell;
pub(super) mod text;
mod trust;

use crate::quantity::Units;
use crate::report::pages::run::warnings::{self, Item};
use crate::scenario::Plan;
use crate::study::answer::RunAnswer;
use crate::study::check::PlanMeaning;
use crate::study::drivers::DriversAnswer;
use crate::study::rates_used::RateUsed;
use crate::study::uncertainty::UncertaintyAnswer;
use crate::study::what_if::WhatIf;
use maud::Markup;
use shell::Section;

/// Name of the file of the document.
pub const PROPOSAL_FILE: &str = "proposal.html";

/// Input of the document.
pub struct ProposalInput<'a> {
    /// Text of the scenario file.
    pub scenario: &'a str,
    /// Hash of that text.
    pub hash: &'a str,
    /// Name of the file, without its folders.
    pub file: &'a str,
    /// The checked scenario.
    pub plan: &'a Plan,
    /// What the plan means.
    pub meaning: &'a PlanMeaning,
    /// The best-estimate run.
    pub answer: &'a RunAnswer,
    /// Rates that this run uses.
    pub rates: &'a [RateUsed],
    /// Result of the draws. `None` if no draws were made.
    pub uncertainty: Option<&'a UncertaintyAnswer>,
    /// Ranking of the unknowns. `None` if there are too few draws.
    pub drivers: Option<&'a DriversAnswer>,
    /// Variants of the site on the same draws, if requested.
    pub compared: Option<&'a WhatIf>,
    /// Keys and values as typed after `--vary`.
    pub varied: &'a [String],
    /// Stocking densities on the same draws, if requested.
    pub density: Option<&'a WhatIf>,
    /// Densities as typed after `--density`.
    pub densities: Option<&'a str>,
    /// Seed of the draws.
    pub seed: u64,
    /// Number of draws requested; 0 for none.
    pub draws: u64,
    /// The reader's units.
    pub units: Units,
}

/// Input of the sections: that of the document, and the warnings as text.
struct ProposalContents<'a> {
    given: &'a ProposalInput<'a>,
    warnings: Vec<Item>,
}

impl<'a> std::ops::Deref for ProposalContents<'a> {
    type Target = ProposalInput<'a>;
    fn deref(&self) -> &ProposalInput<'a> {
        self.given
    }
}

/// Anchor of the section that is there only where stocking densities are asked for.
const DENSITY_SECTION: &str = "density";

/// Anchor, heading and content of a section.
type Listed = (&'static str, &'static str, fn(&ProposalContents) -> Markup);

/// The sections after the first page, in order.
const SECTIONS: [Listed; 11] = [
    ("site", "The site", results::site),
    ("years", "First year and settled year", results::years),
    ("charts", "The run in charts", results::charts),
    ("balance", "Mass and nutrient balance", results::balance),
    ("products", "Products", results::products),
    ("work", "Space, labour and money", results::takes),
    (DENSITY_SECTION, "Stocking density", density::density),
    ("sure", "Uncertainty, and what to measure first", trust::sure),
    ("cautions", "Cautions", trust::cautions),
    ("founded", "Limits, rates and sources", founded::founded),
    ("again", "Reproducing this document", founded::again),
];

/// The whole document as HTML, to be written as [`PROPOSAL_FILE`].
pub fn proposal(given: &ProposalInput) -> String {
    let warnings = warnings::items(given.answer, given.units);
    let contents = ProposalContents { given, warnings };
    let asked = |id: &str| id != DENSITY_SECTION || density::answer(&contents).is_some();
    let sections: Vec<Section> = SECTIONS
        .into_iter()
        .filter(|(id, ..)| asked(id))
        .map(|(id, title, body)| Section { id, title, body: body(&contents) })
        .collect();
    shell::document(&contents, &first::page(&contents, &sections), &sections)
}
