//! What is sold: castings and blend.

use crate::quantity::Kind;
use crate::report::number::{figure, percent, told};
use crate::report::pages::page::Page;
use crate::report::table::{Cell, Column, Table};
use crate::study::answer::{Product, RunAnswer};

/// Products with their figures and how they stand to standards.
pub(in crate::report) fn products(answer: &RunAnswer, page: &mut Page) {
    for product in &answer.products {
        page.heading(&format!("Product: {}", product.name));
        sold(product, page);
        quality(product, page);
        standards(product, page);
    }
    page.blank();
    page.line("screening time", &format!("{} h", figure(answer.screen_hours)));
}

fn sold(product: &Product, page: &mut Page) {
    let units = page.units();
    let a = &product.amounts;
    if a.wet <= 0.0 {
        page.line("sold", "nothing in this run");
        return;
    }
    page.line(
        "sold",
        &format!(
            "{}, {} ({} water, {} dry)",
            told(Kind::Mass, a.wet, units),
            told(Kind::Volume, product.volume, units),
            told(Kind::Mass, a.water, units),
            told(Kind::Mass, a.dry, units)
        ),
    );
    page.line(
        "with it go",
        &format!(
            "carbon {}, nitrogen {}, phosphorus {}, potassium {}",
            told(Kind::Mass, a.carbon, units),
            told(Kind::Mass, a.nitrogen, units),
            told(Kind::Mass, a.phosphorus, units),
            told(Kind::Mass, a.potassium, units)
        ),
    );
}

fn quality(product: &Product, page: &mut Page) {
    let units = page.units();
    let Some(q) = &product.quality else { return };
    let two = |share: f64| format!("{:.2}", 100.0 * share);
    page.line("moisture", &percent(q.moisture));
    page.line("C:N", &format!("{:.1}", q.carbon_to_nitrogen));
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
        &format!("{}, {} of dry matter", percent(q.organic_matter), percent(q.ash)),
    );
    page.line(
        "conductivity, dS/m",
        &format!(
            "1:5 extract {:.1}, 1:10 extract {:.1}, saturated media {:.1}",
            q.conductivity_1_to_5, q.conductivity_1_to_10, q.conductivity_saturated
        ),
    );
    page.line("pH", &format!("{:.1}", q.ph));
    page.line("bulk density", &told(Kind::Density, q.bulk_density, units));
}

/// Limits under the name of their standard; where each comes from stands in the files.
fn standards(product: &Product, page: &mut Page) {
    let columns = vec![
        Column::words("standard: limit"),
        Column::plain("value", ""),
        Column::words("unit"),
        Column::plain("least", ""),
        Column::plain("most", ""),
        Column::words("verdict"),
    ];
    let mut table = Table::new("Against standards, in their own units", columns);
    let mut standard = "";
    for judged in product.standards.iter().filter(|judged| judged.value.is_some()) {
        if judged.standard != standard {
            standard = judged.standard;
            table.push(std::iter::once(standard).chain([""; 5]).map(Cell::from).collect());
        }
        let (least, most) = judged.allowed;
        let row: [Cell; 6] = [
            format!("  {}", judged.limit).into(),
            judged.value.into(),
            judged.unit.into(),
            least.into(),
            most.into(),
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
    if !untested.is_empty() {
        page.paragraph(&format!("Only a laboratory can tell: {}.", untested.join("; ")));
    }
}
