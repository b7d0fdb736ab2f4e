//! Products sold: castings and blend.

use crate::process::quality::QualityFigures;
use crate::process::quality::standards::Standard;
use crate::quantity::Kind;
use crate::report::number::{format_decimals, format_number, format_percent, format_quantity};
use crate::report::pages::page::Page;
use crate::report::table::{Cell, Column, Table};
use crate::study::answer::{Product, RunAnswer};

/// Carbon of composts over dry matter less ash, percent. Source: 54 in a university guide of composts; range by the analyses of
/// its organic matter (derived).
const COMPOST_CARBON: (u32, u32) = (50, 57);

/// Products with their figures and the standards they meet.
pub(in crate::report) fn products(answer: &RunAnswer, page: &mut Page) {
    for product in &answer.products {
        page.heading(&format!("Product: {}", product.name));
        sold(product, page);
        quality(product, page);
        standards(product, page);
    }
    page.blank();
    page.line("screening time", &format!("{} h", format_number(answer.screen_hours)));
}

fn sold(product: &Product, page: &mut Page) {
    let units = page.units();
    let a = &product.amounts;
    if a.wet <= 0.0 {
        page.line("sold", "none in this run");
        return;
    }
    page.line(
        "sold",
        &format!(
            "{}, {} ({} water, {} dry)",
            format_quantity(Kind::Mass, a.wet, units),
            format_quantity(Kind::Volume, product.volume, units),
            format_quantity(Kind::Mass, a.water, units),
            format_quantity(Kind::Mass, a.dry, units)
        ),
    );
    page.line(
        "contains",
        &format!(
            "{} carbon, {} nitrogen, {} phosphorus, {} potassium",
            format_quantity(Kind::Mass, a.carbon, units),
            format_quantity(Kind::Mass, a.nitrogen, units),
            format_quantity(Kind::Mass, a.phosphorus, units),
            format_quantity(Kind::Mass, a.potassium, units)
        ),
    );
}

fn quality(product: &Product, page: &mut Page) {
    let units = page.units();
    let Some(q) = &product.quality else { return };
    let two = |share: f64| format_decimals(100.0 * share, 2);
    page.line("moisture", &format_percent(q.moisture));
    page.line("C:N", &format_decimals(q.carbon_to_nitrogen, 1));
    page.line(
        "N - P2O5 - K2O, % of dry matter",
        &format!(
            "{} - {} - {} (N - P - K: {} - {} - {})",
            two(q.nitrogen),
            two(q.phosphate),
            two(q.potash),
            two(q.nitrogen),
            two(q.phosphorus),
            two(q.potassium)
        ),
    );
    page.line(
        "organic matter, ash",
        &format!("{}, {} of dry matter", format_percent(q.organic_matter), format_percent(q.ash)),
    );
    let (least, most) = COMPOST_CARBON;
    page.line(
        "carbon, % of dry matter",
        &format!(
            "{} by dry combustion, {} by Walkley-Black",
            format_decimals(100.0 * q.carbon, 1),
            format_decimals(100.0 * q.carbon_walkley_black, 1)
        ),
    );
    page.line(
        "carbon, % of dry matter less ash",
        &format!("{}; composts {least} to {most}", format_decimals(100.0 * q.carbon_of_organic, 0)),
    );
    page.line(
        "nitrate-N, ammonium-N",
        &format!(
            "{}, {} g/kg of dry matter",
            format_decimals(1000.0 * q.nitrate_nitrogen, 2),
            format_decimals(1000.0 * q.ammonium_nitrogen, 2)
        ),
    );
    conductivity(q, page);
    page.line("pH", &format_decimals(q.ph, 1));
    page.line("bulk density", &format_quantity(Kind::Density, q.bulk_density, units));
}

fn conductivity(q: &QualityFigures, page: &mut Page) {
    page.line(
        "conductivity of extracts, dS/m",
        &format!(
            "1:5 by mass {}, 1:10 by mass {}, 1:5 by volume {}",
            format_decimals(q.conductivity_1_to_5, 1),
            format_decimals(q.conductivity_1_to_10, 1),
            format_decimals(q.conductivity_1_to_5_volume, 1)
        ),
    );
    page.line(
        "in saturated extract, pore water",
        &format!(
            "{}, {}",
            format_decimals(q.conductivity_saturated, 1),
            format_decimals(q.conductivity_pore_water, 1)
        ),
    );
}

/// Limits under the name of their standard; the files hold the source of each.
fn standards(product: &Product, page: &mut Page) {
    let columns = vec![
        Column::words("standard: limit"),
        Column::plain("value", ""),
        Column::words("unit"),
        Column::plain("min", ""),
        Column::plain("max", ""),
        Column::words("verdict"),
    ];
    let mut table = Table::new("Published standards, in their own units", columns);
    let mut standard = "";
    for judged in product.standards.iter().filter(|judged| judged.value.is_some()) {
        if judged.standard != standard {
            standard = judged.standard;
            table.push(std::iter::once(standard).chain([""; 5]).map(Cell::from).collect());
        }
        let (low, high) = judged.allowed;
        let row: [Cell; 6] = [
            format!("  {}", judged.limit).into(),
            judged.value.into(),
            judged.unit.into(),
            low.into(),
            high.into(),
            judged.verdict.name().into(),
        ];
        table.push(row.into());
    }
    page.table(&table);
    let untested: Vec<String> = product
        .standards
        .chunk_by(|a, b| a.standard == b.standard)
        .filter_map(|one| {
            let limits: Vec<&str> = one.iter().filter(|j| j.value.is_none()).map(|j| j.limit).collect();
            (!limits.is_empty()).then(|| format!("{} ({})", limits.join(", "), one[0].standard))
        })
        .collect();
    let own = Standard::PublishedRange.name();
    if !product.standards.is_empty() && product.standards.iter().all(|judged| judged.standard == own) {
        page.paragraph("No place or trade is named under `rules` of the scenario, so that none of their limits is applied.");
    }
    if !untested.is_empty() {
        page.paragraph(&format!("Limits that need a laboratory: {}.", untested.join("; ")));
    }
}
