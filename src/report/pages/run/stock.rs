//! The worm stock.

use crate::quantity::Kind;
use crate::report::number::{figure, percent, told};
use crate::report::pages::page::Page;
use crate::report::table::{Column, Table};
use crate::study::answer::RunAnswer;

/// Stock by stage against what the intake needs.
pub(in crate::report) fn stock(answer: &RunAnswer, page: &mut Page) {
    let s = &answer.stock;
    let units = page.units();
    page.heading("Worm stock");
    let columns = vec![
        Column::words(""),
        Column::of("juveniles", Kind::Mass),
        Column::of("sub-adults", Kind::Mass),
        Column::of("adults", Kind::Mass),
        Column::of("all worms", Kind::Mass),
        Column::plain("cocoons", ""),
    ];
    let mut table = Table::new("Live worms by stage", columns);
    for (when, stage) in [("start", &s.start), ("mean", &s.mean), ("end", &s.end)] {
        table.push(vec![
            when.into(),
            stage.juveniles.into(),
            stage.subadults.into(),
            stage.adults.into(),
            stage.total.into(),
            stage.cocoons.into(),
        ]);
    }
    page.table(&table);
    let against = |need: f64| {
        let text = told(Kind::Mass, need, units);
        if need > 0.0 {
            format!("{text}; the mean stock is {} of it", percent(s.mean.total / need))
        } else {
            text
        }
    };
    page.line("needed for the feed at the ration", &against(s.needed_at_ration));
    page.line("kept by the feed for good", &against(s.kept_by_feed));
    page.line("eaten, as feed of 80 % water", &told(Kind::Ration, s.mean_intake, units));
    let mass = |value: f64| told(Kind::Mass, value, units);
    page.line("bought", &mass(s.bought));
    page.line("sold or moved", &mass(s.sold));
    page.line("lost in castings", &mass(s.lost));
    page.line(
        "cocoons lost in castings",
        &format!("{}, {} of those laid", figure(s.cocoons_lost), percent(s.cocoons_lost_share)),
    );
    let dead: Vec<String> = s
        .deaths
        .iter()
        .filter(|(_, number)| *number > 0.0)
        .map(|(cause, number)| format!("{} {}", cause.replace('_', " "), figure(*number)))
        .collect();
    if !dead.is_empty() {
        page.line("worms dead, by cause", &dead.join("; "));
    }
}
