//! Warnings and cautions.

use crate::process::quality::standards::Judgement;
use crate::quantity::Units;
use crate::report::pages::cautions;
use crate::report::pages::page::Page;
use crate::study::answer::{Product, RunAnswer};
use crate::warning::{Group, Severity, Warning, grouped};

/// A warning as a page shows it.
pub(crate) struct Item {
    pub(crate) severity: Severity,
    pub(crate) message: String,
    hint: String,
}

impl Item {
    fn of(group: &Group, units: Units) -> Self {
        Self { severity: group.severity(), message: group.message_in(units), hint: group.hint().to_owned() }
    }
}

/// Warnings of a run for a page: one line for all beds and one for all limits of a product. Files hold each.
pub(in crate::report) fn items(answer: &RunAnswer, units: Units) -> Vec<Item> {
    let is_product = |warning: &Warning| matches!(warning, Warning::ProductOffStandard { .. });
    let mut out = plain_items(answer.warnings.iter().map(|w| &w.warning).filter(|w| !is_product(w)), units);
    let one_hint = answer.warnings.iter().find(|w| is_product(&w.warning)).map_or("", |w| w.hint);
    out.extend(answer.products.iter().filter_map(|product| missed_limits(product, one_hint)));
    out
}

/// Warnings for a page, the worst first.
pub(crate) fn plain_items<'a>(warnings: impl Iterator<Item = &'a Warning>, units: Units) -> Vec<Item> {
    grouped(warnings).iter().map(|group| Item::of(group, units)).collect()
}

/// "castings: 5 of 20 computed limits not met (moisture, conductivity)".
fn missed_limits(product: &Product, hint: &str) -> Option<Item> {
    let computed = product.standards.iter().filter(|judged| judged.value.is_some()).count();
    let missed: Vec<&str> = product
        .standards
        .iter()
        .filter(|judged| judged.verdict == Judgement::Fail)
        .map(|judged| judged.limit)
        .collect();
    if missed.is_empty() {
        return None;
    }
    let mut about: Vec<&str> = Vec::new();
    for limit in &missed {
        // "conductivity, seedlings" is about conductivity
        let what = limit.split(',').next().unwrap_or(limit);
        if !about.contains(&what) {
            about.push(what);
        }
    }
    Some(Item {
        severity: Severity::Note,
        message: format!(
            "{}: {} of {computed} computed limits not met ({}); see the table of the product",
            product.name,
            missed.len(),
            about.join(", ")
        ),
        hint: hint.to_owned(),
    })
}

/// Warnings with their hints, worst first.
pub(in crate::report) fn list(items: &[Item], page: &mut Page) {
    if items.is_empty() {
        page.paragraph("none");
    }
    for item in items {
        page.item(&format!("{}: ", item.severity.name()), &item.message);
        if !item.hint.is_empty() {
            page.item("    hint: ", &item.hint);
        }
    }
}

/// Cautions that apply to any site of this kind.
pub(in crate::report) fn cautions(answer: &RunAnswer, page: &mut Page) {
    page.heading("Cautions");
    let units = page.units();
    for caution in cautions::cautions(answer, units) {
        page.item("- ", &caution);
    }
}
