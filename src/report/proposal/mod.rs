//! The proposal: one HTML file without network access or scripts, to read on a screen or print.
//!
//! The main part, at most ten printed pages, is what is handed to a council or a bank: page one with the answer, then pictures, the two
//! years, charts, products, money, certainty and cautions. The annex holds everything else.
//!
//! Each section is a function from `ProposalContents` to markup. Sentences come from `findings`, tables and lists from the pages that the
//! commands print, charts from [`chart`](crate::report::chart). The markup library escapes all text. Nothing depends on the clock or
//! the machine, so the same run gives the same bytes.

mod density;
mod findings;
mod first;
pub(super) mod founded;
mod limits;
mod main_part;
mod needs;
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
use crate::study::sizing::SizingAnswer;
use crate::study::uncertainty::UncertaintyAnswer;
use crate::study::what_if::WhatIf;
use main_part::Numbered;
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
    /// Name of the file of fitted sites, without its folders. `None` if the plan is not fitted.
    pub fitted: Option<&'a str>,
    /// The checked scenario, with fitted sites where there are any.
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
    /// Lean, recommended and cautious sizes of the site, if requested.
    pub sizing: Option<&'a SizingAnswer>,
    /// Seed of the draws.
    pub seed: u64,
    /// Number of draws requested; 0 for none.
    pub draws: u64,
    /// The reader's units.
    pub units: Units,
}

/// Input of the sections: that of the document, the warnings as text and the charts with their numbers.
struct ProposalContents<'a> {
    given: &'a ProposalInput<'a>,
    warnings: Vec<Item>,
    charts: Numbered,
}

impl<'a> std::ops::Deref for ProposalContents<'a> {
    type Target = ProposalInput<'a>;
    fn deref(&self) -> &ProposalInput<'a> {
        self.given
    }
}

/// Anchors of the sections that are there only where they are asked for.
const DENSITY_SECTION: &str = "density";
const VARIANTS_SECTION: &str = "variants";
const SIZES_SECTION: &str = "sizes";

/// Anchor, heading and content of a section.
type Listed = (&'static str, &'static str, fn(&ProposalContents) -> Markup);

/// The sections of the main part after the first page, in order.
const MAIN: [Listed; 8] = [
    ("picture", "Drums, beds, worms and floor", main_part::picture),
    ("years", "First year and settled year", main_part::years),
    ("course", "The course of the run", main_part::course),
    ("products", "Products, and where matter goes", main_part::products),
    ("money", "Money, work and greenhouse gas", main_part::money),
    (SIZES_SECTION, "Sizes that meet the targets", main_part::sizes),
    ("sure", "Certainty, and what to measure first", main_part::certainty),
    ("cautions", "Risks and cautions", main_part::cautions),
];

/// The sections of the annex, in order.
const ANNEX: [Listed; 10] = [
    ("site", "The site as assumed", results::site),
    ("every-year", "Every year", results::years),
    ("charts", "More charts", results::charts),
    ("balance", "Mass and nutrient balance", results::balance),
    ("qualities", "Products and standards", results::products),
    ("work", "Drums, beds, worms and floor in figures", results::takes),
    (DENSITY_SECTION, "Stocking density", density::density),
    (VARIANTS_SECTION, "Variants", trust::compared),
    ("ranges", "Ranges of every figure", trust::sure),
    ("founded", "Limits, rates and sources", founded::founded),
];

/// The last section: how to make the document again.
const AGAIN: Listed = ("again", "Reproducing this document", founded::again);

/// The whole document as HTML, to be written as [`PROPOSAL_FILE`].
pub fn proposal(given: &ProposalInput) -> String {
    let warnings = warnings::items(given.answer, given.units);
    let contents = ProposalContents { given, warnings, charts: Numbered::of(given) };
    let asked = |id: &str| match id {
        DENSITY_SECTION => density::answer(&contents).is_some(),
        VARIANTS_SECTION => contents.compared.is_some(),
        SIZES_SECTION => contents.sizing.is_some(),
        _ => true,
    };
    let sections = |listed: &[Listed]| -> Vec<Section> {
        let listed = listed.iter().filter(|(id, ..)| asked(id));
        listed.map(|(id, title, body)| Section { id, title, body: body(&contents) }).collect()
    };
    let (main, mut annex) = (sections(&MAIN), sections(&ANNEX));
    annex.extend(sections(&[AGAIN]));
    shell::document(&contents, &first::page(&contents, &main), &main, &annex)
}
