//! The summary at the top of the page.

use super::warnings::Item;
use super::years::ended;
use crate::quantity::Kind;
use crate::report::number::{format_number, format_percent, format_quantity};
use crate::report::pages::page::Page;
use crate::report::pages::verdict::sentence;
use crate::study::answer::RunAnswer;
use crate::trace::{CLOSURE_TOLERANCE, FlowGroup};
use crate::warning::Severity;

/// The figures an operator looks for first.
pub(super) fn summary(answer: &RunAnswer, warnings: &[Item], page: &mut Page) {
    page.heading("Summary");
    let units = page.units();
    page.line("verdict", &sentence(&answer.verdict, units));
    let mass = |value: f64| format_quantity(Kind::Mass, value, units);
    let scraps = answer.balance.flows.iter().filter(|f| f.stage == FlowGroup::Intake);
    let taken = scraps.map(|f| f.amounts.wet).sum::<f64>();
    let away: f64 = answer.streams.iter().map(|s| s.turned_away).sum();
    let turned = if away > 0.0 {
        format!("{} turned away ({})", mass(away), format_percent(away / (taken + away)))
    } else {
        "none turned away".to_owned()
    };
    if taken + away > 0.0 || answer.filled_beds.is_empty() {
        page.line("intake", &format!("{} taken in, {turned}", mass(taken)));
    }
    for product in &answer.products {
        let sold = if product.amounts.wet > 0.0 {
            format!("{}, {}", mass(product.amounts.wet), format_quantity(Kind::Volume, product.volume, units))
        } else {
            "none".to_owned()
        };
        page.line(&format!("{} sold", product.name), &sold);
    }
    for bed in &answer.filled_beds {
        let lost = [bed.dry_loss, bed.carbon_loss, bed.nitrogen_loss].map(format_percent);
        page.line(
            &bed.name,
            &format!("lost {} of dry matter, {} of carbon, {} of nitrogen", lost[0], lost[1], lost[2]),
        );
    }
    drums(answer, page);
    page.line("worms", &stock(answer, page));
    page.line("settled year", &ended(&answer.later_years));
    let largest = answer.balance.largest_relative_residual;
    let closes =
        if largest <= CLOSURE_TOLERANCE { "closes" } else { "DOES NOT CLOSE, a fault of the program" };
    page.line(
        "balance",
        &format!("{closes}: largest relative residual {largest:.1e}, {CLOSURE_TOLERANCE:.0e} allowed"),
    );
    let count = |severity| warnings.iter().filter(|item| item.severity == severity).count();
    let counts = [
        (count(Severity::Serious), "serious", "serious"),
        (count(Severity::Caution), "caution", "cautions"),
        (count(Severity::Note), "note", "notes"),
    ];
    let text: Vec<String> = counts
        .into_iter()
        .filter(|(count, ..)| *count > 0)
        .map(|(count, one, many)| format!("{count} {}", if count == 1 { one } else { many }))
        .collect();
    page.line("warnings", &if text.is_empty() { "none".to_owned() } else { text.join(", ") });
}

/// Stock at the start and at the end, and the stock that the intake needs.
fn stock(answer: &RunAnswer, page: &Page) -> String {
    let s = &answer.stock;
    let mass = |value: f64| format_quantity(Kind::Mass, value, page.units());
    let bought = if s.bought > 0.0 { format!(", {} bought", mass(s.bought)) } else { String::new() };
    let need = if s.needed_at_ration > 0.0 {
        format!("; the intake needs {}", mass(s.needed_at_ration))
    } else {
        String::new()
    };
    format!("{} at the start{bought}, {} at the end{need}", mass(s.start.total), mass(s.end.total))
}

/// Drums in use; nothing where none are wanted.
fn drums(answer: &RunAnswer, page: &mut Page) {
    if !answer.no_drums_wanted() {
        let d = &answer.drums;
        page.line(
            "drums in use",
            &format!(
                "{} on average, {} at most, {} owned",
                format_number(d.in_use.mean),
                format_number(d.in_use.highest),
                d.owned
            ),
        );
    }
}
