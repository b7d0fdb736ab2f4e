//! The printed page of a checked plan: what the scenario means before anything is run.

mod growth;

use crate::quantity::{Kind, Units};
use crate::report::number::{
    column_unit, format_figures, format_in_column, format_interval, format_number, format_percent,
    format_quantity,
};
use crate::report::pages::page::{Page, key_words, words};
use crate::report::pages::run::warnings;
use crate::report::table::{Cell, Column, Table};
use crate::scenario::Plan;
use crate::scenario::plan::{BeddingAmount, DryingRule, HarvestRule, Scraps};
use crate::study::check::PlanMeaning;

/// The answer to *check* as a page of text: warnings, then the site in the order of the chain, then the replaced rates.
pub fn plan_text(plan: &Plan, meaning: &PlanMeaning, units: Units) -> String {
    let mut page = Page::new(units);
    head(plan, &mut page);
    page.heading("Warnings of the plan");
    warnings::list(&warnings::plain_items(meaning.warnings.iter(), units), &mut page);
    page.paragraph("A run may raise more warnings.");
    site(plan, meaning, &mut page);
    rates(plan, &mut page);
    page.into_text()
}

/// The site of the plan, in the order of the chain.
pub(in crate::report) fn site(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    streams(plan, meaning, page);
    rooms(meaning, page);
    drums(plan, meaning, page);
    bran_and_grinder(plan, meaning, page);
    beds(plan, page);
    growth::worms(plan, meaning, page);
    castings(plan, page);
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
    page.line("bed time steps per day", &plan.steps_per_day.to_string());
}

/// Months in a row of a table.
const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

fn streams(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    page.heading("Intake");
    let columns = vec![
        Column::words("stream"),
        Column::of("mean", Kind::MassRate),
        Column::of("largest day", Kind::MassRate),
        Column::of("sorted out", Kind::Share),
        Column::of("moisture", Kind::Share),
        Column::plain("C:N", ""),
    ];
    let mut table = Table::new("Scraps after sorting", columns);
    for (stream, means) in plan.streams.iter().zip(&meaning.streams) {
        table.push(vec![
            stream.name.as_str().into(),
            means.mean.into(),
            means.largest.into(),
            stream.contamination.into(),
            means.moisture.into(),
            means.carbon_to_nitrogen.into(),
        ]);
    }
    page.table(&table);
    for stream in &plan.streams {
        let mix: Vec<String> =
            stream.parts().map(|(id, share)| format!("{} {}", words(id), format_percent(share))).collect();
        page.line(&format!("mix of {}", stream.name), &mix.join(", "));
    }
    own(meaning, page);
    months(plan, meaning, page);
    page.line("mean intake", &format_quantity(Kind::MassRate, meaning.mean_intake, page.units()));
    if let Some((month, mean)) = meaning.busiest {
        page.line(
            "busiest month",
            &format!("{}: {}", MONTHS[month], format_quantity(Kind::MassRate, mean, page.units())),
        );
    }
}

/// Ingredients that the scenario defines, as they are used.
fn own(meaning: &PlanMeaning, page: &mut Page) {
    let columns = vec![
        Column::words("ingredient"),
        Column::words("completed from"),
        Column::of("moisture", Kind::Share),
        Column::of("carbon", Kind::Share),
        Column::of("nitrogen", Kind::Share),
        Column::of("ash", Kind::Share),
        Column::words("remark"),
    ];
    let mut table =
        Table::new("Ingredients of the scenario as used; shares of dry mass, moisture of wet mass", columns);
    for own in &meaning.own {
        let remark = own.carbon_missed.map_or_else(String::new, |stated| {
            format!("carbon of {} does not fit the rest", format_percent(stated))
        });
        table.push(vec![
            own.name.as_str().into(),
            words(&own.like).into(),
            own.moisture.into(),
            own.carbon.into(),
            own.nitrogen.into(),
            own.ash.into(),
            remark.into(),
        ]);
    }
    page.table(&table);
}

fn months(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    let units = page.units();
    let present: Vec<usize> = (0..12).filter(|month| meaning.months[*month].is_some()).collect();
    let mut columns = vec![Column::words("stream")];
    columns.extend(present.iter().map(|month| Column::plain(MONTHS[*month], "")));
    let title = format!("Mean intake of each month, {}", column_unit(Kind::MassRate, units));
    let mut table = Table::new(&title, columns);
    let row = |name: &str, means: &[Option<f64>; 12]| {
        let cells = present.iter().map(|month| match means[*month] {
            Some(mean) => Cell::Words(format_in_column(Kind::MassRate, mean, 3, units)),
            None => Cell::Empty,
        });
        std::iter::once(Cell::from(name)).chain(cells).collect()
    };
    for (stream, means) in plan.streams.iter().zip(&meaning.streams) {
        table.push(row(&stream.name, &means.months));
    }
    if plan.streams.len() > 1 {
        table.push(row("total", &meaning.months));
    }
    page.table(&table);
}

fn rooms(meaning: &PlanMeaning, page: &mut Page) {
    page.heading("Rooms");
    let units = page.units();
    for (name, [coldest, mean, warmest]) in
        [("drum room over a year", meaning.drum_room), ("bed room over a year", meaning.bed_room)]
    {
        let range = format_interval(Kind::Temperature, coldest, warmest, units);
        page.line(name, &format!("{range}, mean {}", format_quantity(Kind::Temperature, mean, units)));
    }
}

fn drums(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    let d = &plan.drums;
    let units = page.units();
    if !plan.ferments() {
        page.heading("Fresh scraps");
        let way = if plan.feeding.scraps == Scraps::Ground { "ground" } else { "whole" };
        page.line("fed", &format!("{way}, without drums and bran"));
        page.line("most that waits", &format_quantity(Kind::Mass, plan.most_waiting(), units));
        return;
    }
    if d.count == 0 && plan.mean_intake() <= 0.0 && plan.fills_beds() {
        return;
    }
    page.heading("Drums");
    page.line("owned", &format!("{} of {}", d.count, format_quantity(Kind::Volume, d.volume, units)));
    page.line("opened after", &format!("{} days; a warning after {} days", d.minimum_days, d.maximum_days));
    let Some(means) = meaning.drums else { return };
    page.line(
        "scraps in a full drum",
        &format!(
            "{} x {} full x {} = {}",
            format_quantity(Kind::Volume, d.volume, units),
            format_percent(d.fill_share),
            format_quantity(Kind::Density, d.settled_density, units),
            format_quantity(Kind::Mass, means.contents, units)
        ),
    );
    page.line("drums filled at the mean intake", &format!("{} a day", format_figures(means.filled, 3)));
    page.line(
        "time a drum is in use",
        &format!(
            "{} days: {} fermenting, {} filling, waiting and over weekends",
            format_number(means.held_days),
            d.minimum_days,
            format_number(means.held_days - f64::from(d.minimum_days))
        ),
    );
    let short = |needed: f64| {
        let spare = f64::from(d.count) - needed;
        if spare < 0.0 {
            format!("{} too few", format_number(-spare))
        } else {
            format!("{} to spare", format_number(spare))
        }
    };
    page.line(
        "drums needed at the mean intake",
        &format!("{}: {}", format_number(means.needed), short(means.needed)),
    );
    page.line(
        "needed in the busiest month",
        &format!("{}: {}", format_number(means.needed_busiest), short(means.needed_busiest)),
    );
}

fn bran_and_grinder(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    let units = page.units();
    if plan.ferments() {
        page.heading("Bran and grinder");
        bran(plan, meaning, page);
    } else {
        page.heading(if plan.feeding.scraps == Scraps::Ground { "Grinder" } else { "Feed" });
    }
    if plan.feeding.scraps != Scraps::Whole {
        grinder(plan, meaning, page);
    }
    if let Some(bulking) = &plan.bulking {
        page.line(
            "bulking",
            &format!(
                "{} to reach {} air-filled porosity and C:N {}, at most {} of {}",
                words(&bulking.ingredient),
                format_percent(bulking.air_filled_porosity),
                format_number(bulking.carbon_to_nitrogen),
                format_quantity(Kind::Ratio, bulking.most_per_paste, units),
                if plan.feeding.scraps == Scraps::Whole { "scraps" } else { "paste" }
            ),
        );
    }
    if let Some(grit) = &plan.grit {
        let share = format_quantity(Kind::Ratio, grit.per_dry_feed, units);
        page.line("grit", &format!("{share} dry feed of {}", mix_in_words(grit.parts())));
    }
}

fn bran(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    let units = page.units();
    let b = &plan.bran;
    page.line("bran per mass of wet scraps", &format_quantity(Kind::Ratio, b.dose, units));
    page.line(
        "bran needed at the mean intake",
        &format_quantity(Kind::MassRate, b.dose * meaning.mean_intake, units),
    );
    let source = if b.bought {
        "bought ready".to_owned()
    } else {
        format!(
            "made from {}: {} days for the starter, {} for fermenting and drying",
            words(&b.carrier),
            b.starter_days,
            b.ferment_days
        )
    };
    page.line("source of bran", &source);
}

fn grinder(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    let units = page.units();
    let g = &plan.grinder;
    let days = g.weekdays.iter().filter(|works| **works).count();
    page.line(
        "grinder",
        &format!(
            "{}, {} h on {days} days a week",
            format_quantity(Kind::Throughput, g.rate, units),
            format_number(g.hours)
        ),
    );
    let weekly = g.rate * g.hours * days as f64;
    if weekly > 0.0 {
        let busiest = meaning.busiest.map_or(0.0, |b| b.1);
        page.line(
            "grinder capacity used",
            &format!(
                "{} at the mean intake, {} in the busiest month (before liquor and bran)",
                format_percent(7.0 * meaning.mean_intake / weekly),
                format_percent(7.0 * busiest / weekly)
            ),
        );
    }
}

/// Ingredients with their shares; of one alone its name.
fn mix_in_words<'a>(parts: impl Iterator<Item = (&'a str, f64)>) -> String {
    let all: Vec<String> = parts
        .map(
            |(name, share)| {
                if share < 1.0 { format!("{} {}", format_percent(share), words(name)) } else { words(name) }
            },
        )
        .collect();
    all.join(" and ")
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
        Column::words("moisture range"),
    ];
    let mut table = Table::new("", columns);
    for group in &plan.beds {
        let filled = group.filled_with.as_ref();
        let below = match group.bedding_amount() {
            BeddingAmount::Depth(depth) => format_quantity(Kind::Length, depth, units),
            BeddingAmount::Mass(mass) => format_quantity(Kind::Mass, mass, units),
        };
        let below = format!("{below} of {}", mix_in_words(group.bedding.parts().into_iter()));
        let bedding =
            filled.map_or(below, |filling| format!("filled with {}", mix_in_words(filling.parts())));
        let [low, high] = group.moisture_band;
        table.push(vec![
            group.name.as_str().into(),
            f64::from(group.count).into(),
            group.area.into(),
            group.depth.into(),
            bedding.into(),
            format_interval(Kind::Share, low, high, units).into(),
        ]);
    }
    page.table(&table);
    page.line("total bed area", &format_quantity(Kind::Area, plan.bed_area(), units));
    if plan.bed_area() > 0.0 && plan.mean_intake() > 0.0 {
        let load = plan.mean_intake() / plan.bed_area();
        page.line(
            "mean intake per bed area",
            &format!("{} a day", format_quantity(Kind::ArealMass, load, units)),
        );
    }
    let f = &plan.feeding;
    page.line("highest ration", &format_quantity(Kind::Ration, f.ration, units));
    page.line(
        "beds are not fed",
        &format!(
            "above {} or below {}, or if more than {} of the bed is fresh paste",
            format_quantity(Kind::Temperature, f.hottest, units),
            format_quantity(Kind::Temperature, f.coldest, units),
            format_percent(f.fresh_share_limit)
        ),
    );
}

fn castings(plan: &Plan, page: &mut Page) {
    let units = page.units();
    page.heading("Harvest and castings");
    let rule = match plan.harvest.rule() {
        HarvestRule::EveryDays(days) => format!("each bed every {days} days"),
        HarvestRule::Depth(depth) => {
            format!("each bed at a depth of {}", format_quantity(Kind::Length, depth, units))
        }
        HarvestRule::Never => "never".to_owned(),
    };
    page.line("harvest", &rule);
    page.line("share of castings harvested", &format_percent(plan.harvest.share));
    page.line("moisture at screening", &format_percent(plan.screen.moisture));
    let drying = match plan.screen.drying() {
        DryingRule::Floor(area) => {
            format!("on {} of floor, by the weather", format_quantity(Kind::Area, area, units))
        }
        DryingRule::Days(days) => {
            format!("in {} with a fan or heat", format_quantity(Kind::Days, days, units))
        }
    };
    page.line("drying", &drying);
    page.line("curing time", &format!("{} days", plan.castings.cure_days));
    page.line("sold without blending", &format_percent(plan.castings.sold_alone()));
    if let Some(blend) = &plan.castings.blend {
        page.line(
            "blend",
            &format!(
                "{} castings by volume with {}",
                format_percent(blend.castings_share),
                words(&blend.with)
            ),
        );
    }
}

fn rates(plan: &Plan, page: &mut Page) {
    if plan.rates.is_empty() {
        return;
    }
    page.heading("Replaced rates");
    for choice in &plan.rates {
        let range = choice.range.as_ref().map_or_else(String::new, |r| {
            format!(" ({} to {})", format_number(r.low), format_number(r.high))
        });
        page.line(&key_words(&choice.key), &format!("{}{range}", format_number(choice.central)));
    }
}
