//! The first page: the question, the answer and the main risks.

use super::shell::Section;
use super::text::{capital, name, set};
use super::{ProposalContents, findings};
use crate::quantity::Kind;
use crate::report::number::format_number;
use crate::report::pages::verdict::rule;
use crate::warning::Severity;
use maud::{Markup, html};

/// Number of serious warnings on the first page.
const RISKS_SHOWN: usize = 3;

/// The whole page.
pub(super) fn page(c: &ProposalContents, sections: &[Section]) -> Markup {
    html! {
        header {
            p.kind { "Food scraps to worm castings: a proposal" }
            h1 { (name(&c.answer.name)) }
            @if let Some(place) = &c.answer.place { p.place { (name(place)) } }
            p.question { (findings::question(c)) }
            p.verdict { (set(&findings::verdict(c))) }
            p.method { (set(&rule(findings::verdict_of(c)))) }
            (chain(c))
            (answers(c))
            p.method { (findings::method(c)) " Figures are planning estimates." }
            nav aria-label="Contents" {
                @for (n, section) in sections.iter().enumerate() {
                    a href=(format!("#{}", section.id)) { span.place { (n + 1) } " " (section.title) }
                    " "
                }
            }
        }
    }
}

/// A step of the chain: name, size, remark.
struct ChainStep(&'static str, String, String);

/// The chain in a line, each step with its size.
fn chain(c: &ProposalContents) -> Markup {
    let (a, amount) = (c.answer, |kind, value| findings::amount(c, kind, value));
    let taken: f64 = a.streams.iter().map(|s| s.delivered.wet - s.turned_away).sum();
    let volume: f64 = a.products.iter().map(|p| p.volume).sum();
    let mass: f64 = a.products.iter().map(|p| p.amounts.wet).sum();
    let steps = [
        ChainStep("scraps taken in", amount(Kind::Mass, taken), format!("in {} days", a.days)),
        ChainStep(
            "drums",
            a.drums.owned.to_string(),
            format!("{} at the peak", format_number(a.drums.in_use.highest)),
        ),
        ChainStep("beds", amount(Kind::Area, c.plan.bed_area()), format!("{} beds", a.beds.len())),
        ChainStep(
            "worms",
            amount(Kind::Mass, a.stock.end.total),
            format!("from {}", amount(Kind::Mass, a.stock.start.total + a.stock.bought)),
        ),
        ChainStep("product sold", amount(Kind::Volume, volume), amount(Kind::Mass, mass)),
    ];
    html! {
        ol.chain {
            @for ChainStep(what, size, remark) in &steps {
                li { span.what { (what) } " " strong { (size) } " " span.remark { (remark) } }
            }
        }
    }
}

/// Questions and answers.
fn answers(c: &ProposalContents) -> Markup {
    let risks: Vec<&str> = c
        .warnings
        .iter()
        .filter(|w| w.severity == Severity::Serious)
        .map(|w| w.message.as_str())
        .take(RISKS_SHOWN)
        .collect();
    let rows = [
        ("What comes in?", Some(findings::comes_in(c))),
        ("What comes out?", Some(findings::comes_out(c))),
        ("How many drums?", Some(findings::drums(c))),
        ("How much bed?", Some(findings::beds(c))),
        ("How many worms?", Some(findings::worms(c))),
        ("Does the worm stock last?", Some(findings::holds(c))),
        ("How certain is it?", Some(findings::sure(c))),
        ("What does it cost?", Some(findings::costs(c).unwrap_or_else(|| "No prices are given.".to_owned()))),
        ("What to measure first?", findings::measure_first(c)),
    ];
    html! {
        dl.answers {
            @for (asked, answer) in rows.into_iter().filter_map(|(asked, answer)| Some((asked, answer?))) {
                div { dt { (asked) } dd { (answer) } }
            }
            div {
                dt { "Main risks" }
                dd {
                    @if risks.is_empty() { "No serious warning. See also " a href="#cautions" { "Cautions" } "." }
                    @for message in &risks { span.against { (set(&capital(message))) "." } " " }
                }
            }
        }
    }
}
