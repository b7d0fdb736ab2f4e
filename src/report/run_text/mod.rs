//! The printed page of a run.

mod balance;
mod beds;
mod drums;
mod products;
mod stock;
mod told;

use crate::quantity::Units;
use crate::report::page::Page;
use crate::study::answer::RunAnswer;
use crate::study::answer::Span;

/// The whole page.
pub fn run_text(answer: &RunAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    head(answer, &mut page);
    told::counts(answer, &mut page);
    balance::intake(answer, &mut page);
    balance::movements(answer, &mut page);
    balance::gate(answer, &mut page);
    balance::ways_out(answer, &mut page);
    drums::drums(answer, &mut page);
    drums::bran(answer, &mut page);
    drums::grinder(answer, &mut page);
    beds::beds(answer, &mut page);
    stock::stock(answer, &mut page);
    products::products(answer, &mut page);
    balance::gases(answer, &mut page);
    told::warnings(answer, &mut page);
    told::cautions(answer, &mut page);
    page.into_text()
}

fn head(answer: &RunAnswer, page: &mut Page) {
    page.heading(&answer.name);
    if let Some(place) = &answer.place {
        page.line("place", place);
    }
    let last = i64::try_from(answer.days.max(1) - 1)
        .ok()
        .and_then(|days| answer.start.checked_add(jiff::Span::new().try_days(days).ok()?).ok());
    let dates = last.map_or_else(|| answer.start.to_string(), |last| format!("{} to {last}", answer.start));
    page.line("run", &format!("{dates} ({} days)", answer.days));
    page.line("program", &format!("loamledger {}", answer.version));
}

/// Lowest, mean and highest in words made by `tell`.
fn span(span: &Span, tell: impl Fn(f64) -> String) -> String {
    format!("lowest {}, mean {}, highest {}", tell(span.lowest), tell(span.mean), tell(span.highest))
}
