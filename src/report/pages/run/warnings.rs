//! Warnings and cautions.

use crate::process::quality::standards::Judgement;
use crate::quantity::Units;
use crate::report::cautions;
use crate::report::pages::page::Page;
use crate::study::answer::{Product, RunAnswer};
use crate::trace::Settling;
use crate::warning::{Group, Severity, Warning, grouped};
use std::cmp::Reverse;

/// A warning as a page shows it.
pub(crate) struct Item {
    pub(crate) severity: Severity,
    pub(crate) message: String,
    hint: String,
}

impl Item {
    /// What would help; empty if nothing is known.
    pub(crate) fn hint(&self) -> &str {
        &self.hint
    }

    fn of(group: &Group, units: Units) -> Self {
        Self { severity: group.severity(), message: group.message_in(units), hint: group.hint().to_owned() }
    }
}

/// Warnings of a run for a page: one line for all beds and one for all limits of a product, then what only the settled year shows. Files
/// hold each.
pub(in crate::report) fn items(answer: &RunAnswer, units: Units) -> Vec<Item> {
    let is_product = |warning: &Warning| matches!(warning, Warning::ProductOffStandard { .. });
    let of_run = grouped(answer.warnings.iter().map(|w| &w.warning).filter(|w| !is_product(w)));
    let mut out = of_years(&of_run, answer, units);
    let one_hint = answer.warnings.iter().find(|w| is_product(&w.warning)).map_or("", |w| w.hint);
    out.extend(answer.products.iter().filter_map(|product| missed_limits(product, one_hint)));
    out
}

/// Warnings of the run, those that the settled year has too marked so, and those that only it has; the worst first.
fn of_years(of_run: &[Group], answer: &RunAnswer, units: Units) -> Vec<Item> {
    let last = answer.later_years.last.as_ref();
    let later = last.map_or_else(Vec::new, |year| grouped(year.warnings.iter().map(|w| &w.warning)));
    let is_same = |a: &Group, b: &Group| a.warning.code() == b.warning.code() && a.severity() == b.severity();
    let year = last.map_or_else(String::new, |last| match answer.later_years.settling {
        Settling::Settled => format!("year {} (settled)", last.year),
        _ => format!("year {}", last.year),
    });
    let mut out: Vec<(&Group, Item)> = of_run.iter().map(|group| (group, Item::of(group, units))).collect();
    for (group, item) in &mut out {
        if later.iter().any(|other| is_same(group, other)) {
            item.message = format!("{}; also in {year}", item.message);
        }
    }
    let only = later.iter().filter(|group| !of_run.iter().any(|known| is_same(known, group)));
    out.extend(only.map(|group| {
        let item = Item::of(group, units);
        (group, Item { message: format!("in {year}: {}", item.message), ..item })
    }));
    out.sort_by_key(|(group, _)| Reverse(group.warning.rank()));
    out.into_iter().map(|(_, item)| item).collect()
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;
    use crate::study::answer::Reported;

    #[test]
    fn warnings_of_the_settled_year_are_named_with_it() {
        let held_up = |screened_dry_kg| {
            Reported::from(Warning::CastingsHeldUp { harvested_dry_kg: 500.0, screened_dry_kg })
        };
        let messages = |warnings: Vec<Reported>| -> Vec<String> {
            let answer = RunAnswer { later_years: sample::later_years(), warnings, ..sample::answer() };
            items(&answer, Units::Si).into_iter().map(|item| item.message).collect()
        };
        // only the settled year has it
        let few = Reported::from(Warning::StockBelowNeed { have_kg: 10.0, need_kg: 40.0 });
        let only = messages(vec![few.clone()]);
        assert!(only[0].starts_with("in year 3 (settled): castings hardly come out"), "{only:?}");
        assert!(only[1].starts_with("10 kg of worms") && !only[1].contains("also"), "{only:?}");
        // both have it: said once, with the figures of the run
        let both = messages(vec![held_up(100.0)]);
        assert_eq!(both.len(), 1 + messages(Vec::new()).len() - 1);
        assert!(both[0].contains("500 kg") && both[0].ends_with("; also in year 3 (settled)"), "{both:?}");
    }

    #[test]
    fn harm_to_people_is_told_first_of_the_same_severity() {
        let heavy = Warning::DrumTooHeavy { drum_kg: 187.0, one_person_kg: 23.0 };
        let few = Warning::StockBelowNeed { have_kg: 10.0, need_kg: 40.0 };
        let items = plain_items([&few, &Warning::NoDrums, &heavy].into_iter(), Units::Si);
        let severities: Vec<Severity> = items.iter().map(|item| item.severity).collect();
        assert_eq!(severities, [Severity::Serious, Severity::Caution, Severity::Caution]);
        assert!(items[1].message.starts_with("a full drum weighs"), "{}", items[1].message);
    }
}
