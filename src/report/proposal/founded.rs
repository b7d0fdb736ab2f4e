//! Sections on limits, rates and sources, and on reproducing the document.

use super::limits::limits;
use super::setting::parts;
use super::text::set;
use super::{PROPOSAL_FILE, ProposalContents};
use crate::literature::{self, IngredientFacts};
use crate::quantity::Units;
use crate::report::draw::base64;
use crate::report::number::format_number;
use crate::report::pages::facts::{ingredients_page, reference};
use crate::scenario::ingredients_used;
use crate::study::rates_used::RateUsed;
use maud::{Markup, html};

/// Sources in order of first citation.
struct Sources(Vec<String>);

impl Sources {
    /// Numbers of sources, from 1, as links.
    fn links(&mut self, keys: &[String]) -> Markup {
        let numbers: Vec<usize> = keys.iter().map(|key| self.number(key)).collect();
        html! {
            @for (n, number) in numbers.iter().enumerate() {
                @if n > 0 { ", " }
                a href=(format!("#source-{number}")) { (number) }
            }
        }
    }

    fn number(&mut self, key: &str) -> usize {
        let place = self.0.iter().position(|known| known == key).unwrap_or_else(|| {
            self.0.push(key.to_owned());
            self.0.len() - 1
        });
        place + 1
    }

    fn list(&self) -> Markup {
        html! {
            ol.sources {
                @for (n, source) in self.0.iter().filter_map(|key| literature::source(key)).enumerate() {
                    li id=(format!("source-{}", n + 1)) { (set(&reference(source))) }
                }
            }
        }
    }
}

/// Limits of the model, every rate, every ingredient, every source.
pub(super) fn founded(c: &ProposalContents) -> Markup {
    let mut sources = Sources(Vec::new());
    let replaced = c.rates.iter().filter(|rate| rate.replaced.is_some()).count();
    html! {
        h3 { "Limits of the model" }
        (limits())
        h3 { "Every rate used" }
        p {
            (set(&format!(
                "The run uses {} rates, in the units of their tables; {}. Evidence: read = seen in the source; second-hand = seen \
                 quoted; memory = recalled, not checked; derived = computed from other figures; practice = common in the trade; assumed = \
                 a choice without a source. Where draws take another range than the published one, published trials of whole sites \
                 narrow it. Numbers on the right link to the sources below.",
                c.rates.len(),
                match replaced {
                    0 => "the scenario replaces none".to_owned(),
                    n => format!("the scenario replaces {n}, which are marked"),
                }
            )))
        }
        (rates(c.rates, &mut sources))
        h3 { "Ingredients" }
        (ingredients(c, &mut sources))
        h3 { "Sources" }
        (sources.list())
    }
}

fn rates(rates: &[RateUsed], sources: &mut Sources) -> Markup {
    html! {
        div.table.rates {
            table {
                thead {
                    tr {
                        th scope="col" { "rate" }
                        th.number scope="col" { "best estimate" }
                        th scope="col" { "published range" }
                        th scope="col" { "unit" }
                        th scope="col" { "evidence" }
                        th scope="col" { "source" }
                    }
                }
                tbody { @for rate in rates { (self::rate(rate, sources)) } }
            }
        }
    }
}

/// The table of a rate, in words: the first part of its key.
fn area(key: &str) -> &str {
    key.split_once('.').map_or(key, |(table, _)| table)
}

fn between(low: f64, high: f64) -> String {
    if low < high { format!("{} to {}", format_number(low), format_number(high)) } else { "fixed".to_owned() }
}

fn rate(used: &RateUsed, sources: &mut Sources) -> Markup {
    let known = used.published;
    let own = used.replaced.as_ref();
    let published = between(known.value.low(), known.value.high());
    let best = own.map_or(known.value.central(), |own| own.central);
    let range = own.map_or_else(
        || published.clone(),
        |own| own.range.as_ref().map_or_else(|| "fixed".to_owned(), |range| between(range.low, range.high)),
    );
    html! {
        tr.replaced[own.is_some()] {
            td { (set(&known.name)) " (" (area(&known.key)) ")" }
            td.number { (set(&format_number(best))) }
            td {
                (set(&range))
                @if own.is_some() {
                    br;
                    strong { "by the scenario" } "; published " (set(&format_number(known.value.central()))) ", " (set(&published))
                }
                @if let Some(narrowed) = &used.narrowed {
                    br;
                    "draws take " (set(&between(narrowed.low(), narrowed.high())))
                }
            }
            td { @if known.unit != "1" { (set(&known.unit)) } }
            td { (known.evidence.name()) }
            td { (sources.links(&known.sources)) }
        }
    }
}

/// Ingredients of the scenario; the user's own ones cite the library row that completes them.
fn ingredients(c: &ProposalContents, sources: &mut Sources) -> Markup {
    let own = c.plan.ingredients.iter().map(|own| own.like.as_str());
    let mut ids: Vec<&str> = ingredients_used(c.plan).chain(own).collect();
    ids.sort_unstable();
    ids.dedup();
    let known: Vec<&IngredientFacts> = ids.iter().filter_map(|id| literature::ingredient(id)).collect();
    html! {
        @if c.units == Units::Us { p { "In SI units, as published." } }
        (parts(&ingredients_page(&known)))
        dl.lines {
            @for facts in &known {
                div { dt { (set(&facts.name)) } dd { "sources " (sources.links(&sources_of(facts))) } }
            }
        }
    }
}

fn sources_of(facts: &IngredientFacts) -> Vec<String> {
    let mut keys: Vec<String> = Vec::new();
    for key in facts.properties.stated().flat_map(|(_, entry)| &entry.sources) {
        if !keys.contains(key) {
            keys.push(key.clone());
        }
    }
    keys
}

/// A word quoted for a shell.
pub(in crate::report) fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-');
    if !word.is_empty() && !word.starts_with('-') && word.chars().all(plain) {
        word.to_owned()
    } else {
        let word = if word.starts_with('-') { format!("./{word}") } else { word.to_owned() };
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

/// The command that reproduces this document.
fn command(c: &ProposalContents) -> String {
    let units = match c.units {
        Units::Si => "si",
        Units::Us => "us",
    };
    let varied = c.varied.iter().flat_map(|axis| [" --vary ".to_owned(), quoted(axis)]).collect::<String>();
    let density = c.densities.map_or_else(String::new, |list| format!(" --density={}", quoted(list)));
    let fitted = c.fitted.map_or_else(String::new, |file| format!(" --fitted {}", quoted(file)));
    let size = if c.sizing.is_some() { " --size" } else { "" };
    let (file, draws, seed) = (quoted(c.file), c.draws, c.seed);
    format!(
        "loamledger proposal {file} --draws {draws} --seed {seed}{varied}{density}{size}{fitted} --units {units} --out ."
    )
}

/// Everything needed to reproduce the document.
pub(super) fn again(c: &ProposalContents) -> Markup {
    let made = c.uncertainty.map_or(0, |u| u.answered);
    html! {
        p {
            "The same program, scenario, draws and seed give the same document, byte for byte. Save the scenario below as "
            code { (c.file) } " and run:"
        }
        pre.command { (command(c)) }
        dl.lines {
            div { dt { "program" } dd { "Loamledger " (c.answer.version) } }
            div { dt { "draws" } dd { (set(&format!("{made} of {} requested", c.draws))) } }
            div { dt { "seed" } dd { (c.seed) } }
            div { dt { "scenario" } dd { code { (c.file) } ", hash " code { (c.hash) } } }
            @if let Some(fitted) = c.fitted {
                div { dt { "fitted sites" } dd { code { (fitted) } ", written by " code { "loamledger fit" } } }
            }
            div { dt { "this file" } dd { (PROPOSAL_FILE) } }
        }
        p {
            "“The files” in this document are those written by " code { "loamledger run " (quoted(c.file)) " --out DIR" }
            ": every figure with all its digits, day by day."
        }
        h3 { "The scenario" }
        p.save { a download=(c.file) href=(format!("data:application/json;base64,{}", base64(c.scenario.as_bytes()))) { "Save it as a file" } }
        // HTML ignores the first line break inside pre
        pre.scenario dir="ltr" { "\n" (c.scenario) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn file_names_are_quoted_for_the_shell() {
        assert_eq!(quoted("harbour_hall.json"), "harbour_hall.json");
        assert_eq!(quoted("my site's.json"), r"'my site'\''s.json'");
        assert_eq!(quoted("--out.json"), "'./--out.json'");
        assert_eq!(quoted(""), "''");
    }
}
