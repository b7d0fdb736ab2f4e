//! The hand-over document: one HTML file that needs no network and no scripts, to be read on a screen or printed.
//!
//! It is made of sections, each a function from `Contents` to markup. Sentences come from `findings`, tables and lists from the
//! pages that the commands print, charts from [`chart`](crate::report::chart); markup is escaped by the library that writes it. Nothing is
//! taken from the clock or the machine, so that the same run gives the same bytes.

mod findings;
mod first;
mod founded;
mod limits;
mod results;
mod setting;
mod shell;
mod text;
mod trust;

use crate::quantity::Units;
use crate::report::pages::run::told::{self, Item};
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

/// What the document is made from.
pub struct Given<'a> {
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
    /// The run with central values.
    pub answer: &'a RunAnswer,
    /// Rates that this run asked for.
    pub rates: &'a [RateUsed],
    /// What the draws say; none where none were made.
    pub uncertainty: Option<&'a UncertaintyAnswer>,
    /// What moves the answer; none where the draws were too few to tell.
    pub drivers: Option<&'a DriversAnswer>,
    /// Variants of the site on the same draws; none where none were asked for.
    pub compared: Option<&'a WhatIf>,
    /// Keys and values asked for, as typed after `--vary`.
    pub varied: &'a [String],
    /// Seed of the draws.
    pub seed: u64,
    /// Draws asked for; 0 for none.
    pub draws: u64,
    /// Units of the reader.
    pub units: Units,
}

/// What sections read: what was given, with the warnings as they are told.
struct Contents<'a> {
    given: &'a Given<'a>,
    warnings: Vec<Item>,
}

impl<'a> std::ops::Deref for Contents<'a> {
    type Target = Given<'a>;
    fn deref(&self) -> &Given<'a> {
        self.given
    }
}

/// A section before it is made: where links lead, its heading, what fills it.
type Listed = (&'static str, &'static str, fn(&Contents) -> Markup);

/// The sections after the first page, in order.
const SECTIONS: [Listed; 9] = [
    ("site", "The site", results::site),
    ("charts", "What happens", results::charts),
    ("balance", "Where everything goes", results::balance),
    ("products", "What is sold", results::products),
    ("work", "What it takes", results::takes),
    ("sure", "How sure, and what to measure first", trust::sure),
    ("cautions", "Cautions", trust::cautions),
    ("founded", "What it rests on", founded::founded),
    ("again", "To make it again", founded::again),
];

/// The whole document as HTML, to be written as [`PROPOSAL_FILE`].
pub fn proposal(given: &Given) -> String {
    let warnings = told::items(given.answer, given.units);
    let contents = Contents { given, warnings };
    let sections: Vec<Section> =
        SECTIONS.into_iter().map(|(id, title, body)| Section { id, title, body: body(&contents) }).collect();
    shell::document(&contents, &first::page(&contents, &sections), &sections)
}
