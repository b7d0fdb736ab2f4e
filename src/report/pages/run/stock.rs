//! The worm stock.

use crate::quantity::Kind;
use crate::report::number::{format_number, format_percent, format_quantity};
use crate::report::pages::page::{Page, words};
use crate::report::table::{Column, Table};
use crate::study::answer::RunAnswer;

/// Stock by stage, compared with what the intake needs.
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
        let text = format_quantity(Kind::Mass, need, units);
        if need > 0.0 {
            format!("{text}; the mean stock is {} of that", format_percent(s.mean.total / need))
        } else {
            text
        }
    };
    page.line("stock that eats the feed", &against(s.needed_at_ration));
    page.line("stock this feed can sustain", &against(s.kept_by_feed));
    page.line("eaten, as feed at 80 % moisture", &format_quantity(Kind::Ration, s.mean_intake, units));
    let mass = |value: f64| format_quantity(Kind::Mass, value, units);
    page.line("bought", &mass(s.bought));
    page.line("sold or moved", &mass(s.sold));
    page.line("lost in castings", &mass(s.lost));
    page.line(
        "cocoons lost in castings",
        &format!("{}, {} of those laid", format_number(s.cocoons_lost), format_percent(s.cocoons_lost_share)),
    );
    let dead: Vec<String> = s
        .deaths
        .iter()
        .filter(|(_, number)| *number > 0.0)
        .map(|(cause, number)| format!("{} {}", words(cause), format_number(*number)))
        .collect();
    if !dead.is_empty() {
        page.line("deaths by cause", &dead.join("; "));
    }
}
