//! The answer beside published rules, with a reason where it lies outside them.

use super::{asks, most_changed};
use crate::quantity::{Kind, Units};
use crate::report::number::{format_number, format_percent, format_quantity};
use crate::report::pages::page::Page;
use crate::report::table::{Column, Table};
use crate::study::sizing::{PublishedRule, SizingAnswer, UnitChange};

/// A number of a rule in the reader's units.
fn of_rule(rule: &PublishedRule, value: f64, units: Units) -> String {
    match (rule.unit, units) {
        ("kg/m2", _) => format_quantity(Kind::ArealMass, value, units),
        ("kg/(m2 d)", _) => format!("{} a day", format_quantity(Kind::ArealMass, value, units)),
        (unit, Units::Si) => format!("{} {unit}", format_number(value)),
        (unit, Units::Us) => format!("{} {}", format_number(value), unit.replace("kg", "lb")),
    }
}

pub(super) fn compared(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Comparison with published rules");
    let units = page.units();
    let columns = vec![
        Column::words("rule (loads are intake by bed area)"),
        Column::words_right("this site"),
        Column::words_right("published"),
        Column::words("verdict"),
    ];
    let mut table = Table::new("", columns);
    for c in &answer.compared {
        let one = c.high - c.low <= 0.0;
        let low = of_rule(c, c.low, units);
        let published = if one {
            low
        } else {
            format!("{} to {}", format_number_of(c, units), of_rule(c, c.high, units))
        };
        let verdict = match () {
            () if c.inside && one => format!("about the same: {} of it", format_percent(c.ours / c.low)),
            () if c.inside => "within".to_owned(),
            () if one => format!("{} of it", format_percent(c.ours / c.low)),
            () if c.ours < c.low => format!("below: {} of the low end", format_percent(c.ours / c.low)),
            () => format!("above: {} of the high end", format_percent(c.ours / c.high)),
        };
        table.push(vec![c.what.into(), of_rule(c, c.ours, units).into(), published.into(), verdict.into()]);
    }
    page.table(&table);
    // several rules of one kind have one reason
    let mut reasons: Vec<(String, Vec<&str>)> = Vec::new();
    for rule in answer.compared.iter().filter(|rule| !rule.inside) {
        let Some(why) = why_outside(answer, rule, units) else { continue };
        match reasons.iter_mut().find(|(known, _)| *known == why) {
            Some((_, rules)) => rules.push(rule.what),
            None => reasons.push((why, vec![rule.what])),
        }
    }
    for (why, rules) in reasons {
        page.item("- ", &format!("{}: {why}", rules.join("; ")));
    }
}

/// The low end of a rule, without its unit where the high end follows.
fn format_number_of(rule: &PublishedRule, units: Units) -> String {
    let text = of_rule(rule, rule.low, units);
    text.split(' ').next().unwrap_or_default().to_owned()
}

/// Why the answer lies outside a published rule: what fewer of its beds or worms would miss, or that the rule is for another site. None where
/// nothing is known.
fn why_outside(answer: &SizingAnswer, rule: &PublishedRule, units: Units) -> Option<String> {
    let of = |name: &str, more: bool| answer.units.iter().find(|u| u.variable == name && u.more == more);
    let step = |unit: &UnitChange| {
        let n = most_changed(answer, unit);
        let change = format_percent(unit.differences[n].share.abs());
        let way = if unit.differences[n].share < 0.0 { "more" } else { "fewer" };
        format!("{} in {change} {way} of the draws", asks(&answer.targets[n], units))
    };
    let what = if rule.unit == "kg/(m2 d)" { "load" } else { rule.what };
    let text = match (what, rule.ours < rule.low) {
        ("load", true) => {
            let changed = of("beds", false).map(step)?;
            format!("the rule is for beds that need not keep worms through all years and draws; with one step fewer beds, {changed}")
        }
        ("load", false) => {
            let changed = of("beds", true).map(step)?;
            format!("these beds take more than the rule says; with one step more, {changed}")
        }
        ("intake per worms bought" | "worms bought per bed area", _) => {
            "the worms bought are only the beginning: they grow to what the feed carries while drums hold the scraps".to_owned()
        }
        ("worms at the end per bed area" | "mean worms per feed eaten", _) => {
            "the stock is what feed, crowding, salt and room temperature of this site carry, not what was put in".to_owned()
        }
        _ => return None,
    };
    Some(text)
}
