//! The printed page of a checked plan: what the scenario means before anything is run.

mod growth;

use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, figure, in_column_unit, percent, rounded, told as tell};
use crate::report::pages::page::Page;
use crate::report::pages::run::warnings;
use crate::report::table::{Cell, Column, Table};
use crate::scenario::Plan;
use crate::scenario::plan::{BeddingAmount, HarvestRule};
use crate::study::check::PlanMeaning;

/// The answer to *check* as a page of text: warnings, then the site in the order of the chain, then the rates that are replaced.
pub fn plan_text(plan: &Plan, meaning: &PlanMeaning, units: Units) -> String {
    let mut page = Page::new(units);
    head(plan, &mut page);
    page.heading("Warnings of the plan");
    warnings::list(&warnings::plain_items(meaning.warnings.iter(), units), &mut page);
    page.paragraph("A run may find more.");
    site(plan, meaning, &mut page);
    rates(plan, &mut page);
    page.into_text()
}

/// What the plan says of the site, in the order of the chain.
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
    page.line("steps of the bed in a day", &plan.steps_per_day.to_string());
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
    let mut table = Table::new("What comes in once sorted", columns);
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
        let mix: Vec<String> = stream.parts().map(|(id, share)| format!("{id} {}", percent(share))).collect();
        page.line(&format!("{} is", stream.name), &mix.join(", "));
    }
    own(meaning, page);
    months(plan, meaning, page);
    page.line("mean intake", &tell(Kind::MassRate, meaning.mean_intake, page.units()));
    if let Some((month, mean)) = meaning.busiest {
        page.line(
            "busiest month",
            &format!("{}: {}", MONTHS[month], tell(Kind::MassRate, mean, page.units())),
        );
    }
}

/// Ingredients of the user's own as they are used.
fn own(meaning: &PlanMeaning, page: &mut Page) {
    let columns = vec![
        Column::words("ingredient"),
        Column::words("filled from"),
        Column::of("moisture", Kind::Share),
        Column::of("carbon", Kind::Share),
        Column::of("nitrogen", Kind::Share),
        Column::of("ash", Kind::Share),
        Column::words("remark"),
    ];
    let mut table = Table::new("Own ingredients as used; shares of dry mass, moisture of wet mass", columns);
    for own in &meaning.own {
        let remark = own.carbon_missed.map_or_else(String::new, |stated| {
            format!("carbon of {} does not go with the rest", percent(stated))
        });
        table.push(vec![
            own.name.as_str().into(),
            own.like.as_str().into(),
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
            Some(mean) => Cell::Words(rounded(in_column_unit(Kind::MassRate, mean, units), 3)),
            None => Cell::Empty,
        });
        std::iter::once(Cell::from(name)).chain(cells).collect()
    };
    for (stream, means) in plan.streams.iter().zip(&meaning.streams) {
        table.push(row(&stream.name, &means.months));
    }
    if plan.streams.len() > 1 {
        table.push(row("together", &meaning.months));
    }
    page.table(&table);
}

fn rooms(meaning: &PlanMeaning, page: &mut Page) {
    page.heading("Rooms");
    let units = page.units();
    for (name, [coldest, mean, warmest]) in
        [("drum room over a year", meaning.drum_room), ("bed room over a year", meaning.bed_room)]
    {
        let warm = |value: f64| tell(Kind::Temperature, value, units);
        page.line(name, &format!("{} to {}, mean {}", warm(coldest), warm(warmest), warm(mean)));
    }
}

fn drums(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    let d = &plan.drums;
    let units = page.units();
    page.heading("Drums");
    page.line("owned", &format!("{} of {}", d.count, tell(Kind::Volume, d.volume, units)));
    page.line(
        "opened after",
        &format!("{} days, reported as old after {} days", d.minimum_days, d.maximum_days),
    );
    let Some(means) = meaning.drums else { return };
    page.line(
        "scraps one drum takes",
        &format!(
            "{} x {} filled x {} = {}",
            tell(Kind::Volume, d.volume, units),
            percent(d.fill_share),
            tell(Kind::Density, d.settled_density, units),
            tell(Kind::Mass, means.contents, units)
        ),
    );
    page.line("filled at the mean intake", &format!("{} a day", rounded(means.filled, 3)));
    page.line(
        "a drum is held",
        &format!(
            "{} days: {} fermenting, {} filling, waiting and weekends",
            figure(means.held_days),
            d.minimum_days,
            figure(means.held_days - f64::from(d.minimum_days))
        ),
    );
    let short = |needed: f64| {
        let spare = f64::from(d.count) - needed;
        if spare < 0.0 {
            format!("{} too few", figure(-spare))
        } else {
            format!("{} to spare", figure(spare))
        }
    };
    page.line("needed at the mean intake", &format!("{}: {}", figure(means.needed), short(means.needed)));
    page.line(
        "needed in the busiest month",
        &format!("{}: {}", figure(means.needed_busiest), short(means.needed_busiest)),
    );
}

fn bran_and_grinder(plan: &Plan, meaning: &PlanMeaning, page: &mut Page) {
    let units = page.units();
    page.heading("Bran and grinder");
    let b = &plan.bran;
    page.line("bran per wet scraps", &tell(Kind::Ratio, b.dose, units));
    page.line("bran needed at the mean intake", &tell(Kind::MassRate, b.dose * meaning.mean_intake, units));
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
        &format!("{}, {} h on {days} days a week", tell(Kind::Throughput, g.rate, units), figure(g.hours)),
    );
    let weekly = g.rate * g.hours * days as f64;
    if weekly > 0.0 {
        let busiest = meaning.busiest.map_or(0.0, |b| b.1);
        page.line(
            "share of its capacity used",
            &format!(
                "{} at the mean intake, {} in the busiest month (before liquor and bran)",
                percent(7.0 * meaning.mean_intake / weekly),
                percent(7.0 * busiest / weekly)
            ),
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
                tell(Kind::Ratio, bulking.most_per_paste, units)
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
        let bedding = match group.bedding_amount() {
            BeddingAmount::Depth(depth) => tell(Kind::Length, depth, units),
            BeddingAmount::Mass(mass) => tell(Kind::Mass, mass, units),
        };
        let [low, high] = group.moisture_band;
        table.push(vec![
            group.name.as_str().into(),
            f64::from(group.count).into(),
            group.area.into(),
            group.depth.into(),
            format!("{bedding} of {}", group.bedding.ingredient).into(),
            format!("{} to {}", percent(low), percent(high)).into(),
        ]);
    }
    page.table(&table);
    page.line("area of all beds", &tell(Kind::Area, plan.bed_area(), units));
    if plan.bed_area() > 0.0 {
        let load = plan.mean_intake() / plan.bed_area();
        page.line("mean intake on them", &format!("{} and day", tell(Kind::ArealMass, load, units)));
    }
    let f = &plan.feeding;
    page.line("ration, at most", &tell(Kind::Ration, f.ration, units));
    page.line(
        "no feed",
        &format!(
            "above {} or below {}, nor beyond {} of fresh paste in a bed",
            tell(Kind::Temperature, f.hottest, units),
            tell(Kind::Temperature, f.coldest, units),
            percent(f.fresh_share_limit)
        ),
    );
}

fn castings(plan: &Plan, page: &mut Page) {
    let units = page.units();
    page.heading("Harvest and castings");
    let rule = match plan.harvest.rule() {
        HarvestRule::EveryDays(days) => format!("each bed after {days} days"),
        HarvestRule::Depth(depth) => format!("each bed at {}", tell(Kind::Length, depth, units)),
    };
    page.line("harvest", &rule);
    page.line("share of castings taken", &percent(plan.harvest.share));
    page.line("screened at moisture", &percent(plan.screen.moisture));
    page.line("cured", &format!("{} days", plan.castings.cure_days));
    page.line("sold without blending", &percent(plan.castings.sold_alone()));
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
