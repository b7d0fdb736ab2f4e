//! The printed page of a checked plan: what the scenario means before anything is run.

use crate::quantity::Kind;
use crate::quantity::Units;
use crate::report::number::figure;
use crate::report::number::percent;
use crate::report::number::rounded;
use crate::report::number::told;
use crate::report::page::Page;
use crate::report::table::Column;
use crate::report::table::Table;
use crate::scenario::Plan;
use crate::scenario::plan::BeddingAmount;
use crate::scenario::plan::HarvestRule;
use crate::warning::Severity;
use crate::warning::Warning;

/// Growth of the stock at unlimited feed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Growth {
    /// Temperature it holds at. # Units: °C
    pub temperature: f64,
    /// Dominant eigenvalue of the daily projection matrix. # Units: 1/d
    pub per_day: f64,
    /// Doubling time; `None` where the stock does not grow. # Units: d
    pub doubling: Option<f64>,
}

/// The whole page.
pub fn plan_text(plan: &Plan, growth: Growth, warnings: &[&Warning], units: Units) -> String {
    let mut page = Page::new(units);
    head(plan, &mut page);
    streams(plan, &mut page);
    drums(plan, &mut page);
    bran_and_grinder(plan, &mut page);
    beds(plan, &mut page);
    worms(plan, growth, &mut page);
    castings(plan, &mut page);
    rates(plan, &mut page);
    told_warnings(warnings, &mut page);
    page.into_text()
}

fn head(plan: &Plan, page: &mut Page) {
    page.heading(&plan.name);
    if !plan.place.is_empty() {
        page.line("place", &plan.place);
    }
    if !plan.note.is_empty() {
        page.line("note", &plan.note);
    }
    let last = plan.date(plan.days.saturating_sub(1));
    page.line("run", &format!("{} to {last} ({} days)", plan.start, plan.days));
    page.line("steps of the bed in a day", &plan.steps_per_day.to_string());
}

fn streams(plan: &Plan, page: &mut Page) {
    page.heading("Intake");
    let columns = vec![
        Column::words("stream"),
        Column::of("mean", Kind::MassRate),
        Column::of("largest day", Kind::MassRate),
        Column::of("sorted out", Kind::Share),
    ];
    let mut table = Table::new("", columns);
    for (i, stream) in plan.streams.iter().enumerate() {
        let daily = plan.daily_amounts(i);
        let mean = daily.iter().sum::<f64>() / daily.len().max(1) as f64;
        let largest = daily.iter().copied().fold(0.0, f64::max);
        table.push(vec![
            stream.name.as_str().into(),
            mean.into(),
            largest.into(),
            stream.contamination.into(),
        ]);
    }
    page.table(&table);
    for stream in &plan.streams {
        let mix: Vec<String> =
            stream.mix.iter().map(|(id, share)| format!("{id} {}", percent(*share))).collect();
        page.line(&format!("{} is", stream.name), &mix.join(", "));
    }
    page.line("mean intake, sorted", &told(Kind::MassRate, plan.mean_intake(), page.units()));
}

fn drums(plan: &Plan, page: &mut Page) {
    let d = &plan.drums;
    let units = page.units();
    page.heading("Drums");
    page.line("owned", &format!("{} of {}", d.count, told(Kind::Volume, d.volume, units)));
    page.line("scraps one drum takes", &told(Kind::Mass, d.contents(), units));
    page.line(
        "opened after",
        &format!("{} days, reported as old after {} days", d.minimum_days, d.maximum_days),
    );
    let intake = plan.mean_intake();
    if d.contents() > 0.0 && intake > 0.0 {
        let filled = intake / d.contents();
        page.line(
            "drums filled at the mean intake",
            &format!(
                "{} a day; the owned last for {} days of filling",
                rounded(filled, 3),
                rounded(f64::from(d.count) / filled, 3)
            ),
        );
    }
}

fn bran_and_grinder(plan: &Plan, page: &mut Page) {
    let units = page.units();
    page.heading("Bran and grinder");
    let b = &plan.bran;
    page.line("bran per wet scraps", &told(Kind::Ratio, b.dose, units));
    page.line("bran needed at the mean intake", &told(Kind::MassRate, b.dose * plan.mean_intake(), units));
    let source = if b.bought {
        "bought ready".to_owned()
    } else {
        format!(
            "made on {}: {} days for starter, {} for fermenting and drying",
            b.carrier, b.starter_days, b.ferment_days
        )
    };
    page.line("bran is", &source);
    let g = &plan.grinder;
    let days = g.weekdays.iter().filter(|works| **works).count();
    page.line(
        "grinder",
        &format!("{}, {} h on {days} days a week", told(Kind::Throughput, g.rate, units), figure(g.hours)),
    );
    let weekly = g.rate * g.hours * days as f64;
    let intake = 7.0 * plan.mean_intake();
    if weekly > 0.0 {
        page.line(
            "mean intake over grinder capacity",
            &format!("{} (before liquor and bran)", percent(intake / weekly)),
        );
    }
    if let Some(bulking) = &plan.bulking {
        page.line(
            "bulking",
            &format!(
                "{} to {} air-filled porosity and C:N {}, at most {} of paste",
                bulking.ingredient,
                percent(bulking.air_filled_porosity),
                figure(bulking.carbon_to_nitrogen),
                told(Kind::Ratio, bulking.most_per_paste, units)
            ),
        );
    }
}

fn beds(plan: &Plan, page: &mut Page) {
    let units = page.units();
    page.heading("Beds");
    let columns = vec![
        Column::words("group"),
        Column::plain("beds", ""),
        Column::of("area each", Kind::Area),
        Column::of("depth", Kind::Length),
        Column::words("bedding"),
        Column::words("moisture kept"),
    ];
    let mut table = Table::new("", columns);
    for group in &plan.beds {
        let bedding = match group.bedding_amount {
            BeddingAmount::Depth(depth) => told(Kind::Length, depth, units),
            BeddingAmount::Mass(mass) => told(Kind::Mass, mass, units),
        };
        let [low, high] = group.moisture_band;
        table.push(vec![
            group.name.as_str().into(),
            f64::from(group.count).into(),
            group.area.into(),
            group.depth.into(),
            format!("{bedding} of {}", group.bedding).into(),
            format!("{} to {}", percent(low), percent(high)).into(),
        ]);
    }
    page.table(&table);
    page.line("area of all beds", &told(Kind::Area, plan.bed_area(), units));
    if plan.bed_area() > 0.0 {
        let load = plan.mean_intake() / plan.bed_area();
        page.line("mean intake on them", &format!("{} and day", told(Kind::ArealMass, load, units)));
    }
    let f = &plan.feeding;
    page.line("ration, at most", &told(Kind::Ration, f.ration, units));
    page.line(
        "no feed",
        &format!(
            "above {} or below {}, or with more than {} of fresh and ready paste",
            told(Kind::Temperature, f.hottest, units),
            told(Kind::Temperature, f.coldest, units),
            percent(f.fresh_share_limit)
        ),
    );
}

fn worms(plan: &Plan, growth: Growth, page: &mut Page) {
    let units = page.units();
    page.heading("Worms");
    page.line("bought in all", &told(Kind::Mass, plan.stock.mass(), units));
    if let Some((_, first)) = plan.stock.purchases.first().filter(|_| plan.bed_area() > 0.0) {
        page.line("first stocking density", &told(Kind::ArealMass, first / plan.bed_area(), units));
    }
    if plan.feeding.ration > 0.0 {
        let need = plan.mean_intake() / plan.feeding.ration;
        page.line(
            "stock that eats the mean intake",
            &format!("{} at the ration", told(Kind::Mass, need, units)),
        );
    }
    let doubling = growth.doubling.map_or_else(
        || "the stock does not grow".to_owned(),
        |days| format!("doubles in {} days", rounded(days, 3)),
    );
    page.line(
        "growth with unlimited feed",
        &format!(
            "x {:.4} a day at {}: {doubling}",
            growth.per_day,
            told(Kind::Temperature, growth.temperature, units)
        ),
    );
}

fn castings(plan: &Plan, page: &mut Page) {
    let units = page.units();
    page.heading("Harvest and castings");
    let rule = match plan.harvest.rule {
        HarvestRule::EveryDays(days) => format!("each bed after {days} days"),
        HarvestRule::Depth(depth) => format!("each bed at {}", told(Kind::Length, depth, units)),
    };
    page.line("harvest", &rule);
    page.line("share of castings taken", &percent(plan.harvest.share));
    page.line("screened at moisture", &percent(plan.screen.moisture));
    page.line("cured", &format!("{} days", plan.castings.cure_days));
    page.line("sold without blending", &percent(plan.castings.sold_alone));
    if let Some(blend) = &plan.castings.blend {
        page.line(
            "blend",
            &format!("{} castings by volume with {}", percent(blend.castings_share), blend.with),
        );
    }
}

fn rates(plan: &Plan, page: &mut Page) {
    if plan.rates.is_empty() {
        return;
    }
    page.heading("Rates replaced");
    for choice in &plan.rates {
        let range = choice
            .range
            .as_ref()
            .map_or_else(String::new, |r| format!(" ({} - {})", figure(r.low), figure(r.high)));
        page.line(&choice.key, &format!("{}{range}", figure(choice.central)));
    }
}

fn told_warnings(warnings: &[&Warning], page: &mut Page) {
    page.heading("Warnings of the plan");
    if warnings.is_empty() {
        page.paragraph("none; a run may find more");
    }
    for warning in warnings {
        let mark = match warning.severity() {
            Severity::Serious => "serious: ",
            Severity::Caution => "caution: ",
            Severity::Note => "note: ",
        };
        page.item(mark, &warning.message());
        page.item("    hint: ", warning.hint());
    }
}
