//! The first page: the question, the answer, the figures of the site, what it needs and the main risks.

use super::findings::{self, amount, settled};
use super::shell::Section;
use super::text::{capital, name, set};
use super::{ProposalContents, needs};
use crate::quantity::Kind;
use crate::report::number::format_number;
use crate::report::pages::verdict::thresholds;
use crate::warning::Severity;
use maud::{Markup, html};

/// Number of serious warnings on the first page.
const RISKS_SHOWN: usize = 3;

/// The whole page.
pub(super) fn page(c: &ProposalContents, main: &[Section]) -> Markup {
    let of_draws = if c.uncertainty.is_some() {
        "Brackets hold nine of ten draws; a draw is one simulated run with its own set of uncertain values. "
    } else {
        ""
    };
    html! {
        header {
            p.kind { "Food scraps to worm castings: a proposal" }
            h1 { (name(&c.answer.name)) }
            @if let Some(place) = &c.answer.place { p.place { (name(place)) } }
            @if let Some(fitted) = findings::fitted(c) { p.fitted { (fitted) } }
            p.question { (findings::question(c)) }
            p.verdict { (set(&findings::verdict(c))) }
            (chain(c))
            (answers(c))
            p.method {
                (of_draws) (set(&thresholds(findings::verdict_of(c)))) " " (findings::method(c)) " Figures are planning estimates."
            }
            nav aria-label="Contents" {
                @for (n, section) in main.iter().enumerate() {
                    a href=(format!("#{}", section.id)) { span.place { (n + 1) } " " (section.title) }
                    " "
                }
                a href="#annex" { "Annex" }
            }
        }
    }
}

/// A step of the chain: name, size, remark.
struct ChainStep(&'static str, String, String);

/// The chain in a line, each step with its size in the year that counts.
fn chain(c: &ProposalContents) -> Markup {
    let a = c.answer;
    let arrived = || a.streams.iter().map(|s| s.delivered.wet).sum::<f64>();
    let sold = || a.products.iter().map(|p| p.amounts.wet).sum::<f64>();
    let (scraps, product) = (settled(c, "intake"), settled(c, "product_sold"));
    let when = if scraps.is_some() { findings::year_name(c) } else { format!("{} days", a.days) };
    let castings = settled(c, "castings_screened")
        .map_or_else(String::new, |kg| format!("with {} of castings, ", amount(c, Kind::Mass, kg)));
    let put_in = a.stock.start.total + a.stock.bought;
    let living = settled(c, "stock_mean").unwrap_or(a.stock.mean.total);
    let steps = [
        ChainStep(
            "scraps",
            amount(c, Kind::Mass, scraps.unwrap_or_else(arrived)),
            format!("in {when}, {}", needs::turned_away(c)),
        ),
        ChainStep(
            "drums",
            a.drums.owned.to_string(),
            format!("{} in use at most", format_number(a.drums.in_use.highest)),
        ),
        ChainStep(
            "beds",
            amount(c, Kind::Area, c.plan.bed_area()),
            findings::counted(a.beds.len() as f64, "bed", "beds"),
        ),
        ChainStep(
            "worms put in",
            amount(c, Kind::Mass, put_in),
            format!("{} live in {when}", amount(c, Kind::Mass, living)),
        ),
        ChainStep(
            "castings, blend sold",
            amount(c, Kind::Mass, product.unwrap_or_else(sold)),
            format!("{castings}in {when}"),
        ),
    ];
    html! {
        ol.chain {
            @for ChainStep(what, size, remark) in steps.iter().filter(|step| step.0 != "drums" || !a.no_drums_wanted()) {
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
        ("Scraps", findings::comes_in(c)),
        ("Products", findings::comes_out(c)),
        ("Drums", findings::drums(c)),
        ("Beds and floor", findings::beds(c)),
        ("Worms", findings::worms(c)),
        ("Water", needs::water(c)),
        ("Drainage", needs::drainage(c)),
        ("Bulking and bran", needs::bulking(c)),
        ("Energy and work", needs::energy_and_work(c)),
        ("Worker safety", needs::safety(c)),
        ("Money", findings::costs(c).unwrap_or_else(|| "No prices are given.".to_owned())),
        ("Certainty", findings::sure(c)),
    ];
    html! {
        dl.answers {
            @for (asked, answer) in rows { div { dt { (asked) } dd { (answer) } } }
            div {
                dt { "Main risks" }
                dd {
                    @if risks.is_empty() { "No serious warning; see " a href="#cautions" { "risks and cautions" } "." }
                    @for message in &risks { span.against { (set(&capital(message))) "." } " " }
                }
            }
        }
    }
}
