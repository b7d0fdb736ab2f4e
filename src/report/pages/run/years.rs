//! The first year beside the settled one.

use crate::quantity::{Kind, Units};
use crate::report::number::{format_number, format_percent, format_quantity};
use crate::report::pages::page::Page;
use crate::report::pages::uncertainty::{shown, shown_unit, with_unit};
use crate::report::table::{Cell, Column, Table};
use crate::study::answer::{LaterYear, LaterYears, RunAnswer, YearFigure};
use crate::trace::figures::is_of_drums;
use crate::trace::{Settling, YearChange};

/// Changes named where no year settles.
const CHANGES_NAMED: usize = 3;

/// How the search for a settled year ended, in a sentence.
pub(in crate::report) fn ended(years: &LaterYears) -> String {
    let number = years.years.last().map_or(0, |year| year.year);
    let allowed = format_percent(years.tolerance);
    match years.settling {
        Settling::Settled => {
            let largest =
                years.changes.first().map_or_else(String::new, |c| format!("; largest: {}", change(c)));
            format!("year {number}: like the year before within {allowed}{largest}")
        }
        Settling::StillChanging => {
            let moving = years.changes.iter().filter(|c| c.share.abs() > years.tolerance).take(CHANGES_NAMED);
            format!(
                "none in {number} years, the most that `settled_year.most_years` allows; from year {} to {number}: {} ({allowed} \
                 allowed)",
                number.max(1) - 1,
                moving.map(change).collect::<Vec<_>>().join(", ")
            )
        }
        Settling::DiedOut => {
            format!(
                "none: the worms have died out by year {number}, with less than 1 % of those of the first year"
            )
        }
        Settling::TooShort => "none is sought: the run is shorter than a year".to_owned(),
        Settling::NotSought => "none is sought: `settled_year.most_years` is 1".to_owned(),
    }
}

/// "worms +4.2 %".
fn change(c: &YearChange) -> String {
    format!("{} {}{}", c.what, if c.share > 0.0 { "+" } else { "" }, format_percent(c.share))
}

/// What the last year is called.
pub(in crate::report) fn last_year(years: &LaterYears, last: &LaterYear) -> String {
    match years.settling {
        Settling::Settled => "settled year".to_owned(),
        _ => format!("year {}", last.year),
    }
}

/// Every year, then the figures of the first and of the settled one.
pub(in crate::report) fn years(answer: &RunAnswer, page: &mut Page) {
    let years = &answer.later_years;
    page.heading("First year and settled year");
    page.line("settled year", &ended(years));
    let Some(last) = &years.last else { return };
    page.paragraph(
        "The first year is start-up: beds fill, salt builds up, the stock grows. The site is followed until a year is like the one \
         before. Beyond the run, streams stay as large as on its last day but for weekdays, months and closed days.",
    );
    page.table(&by_year(years));
    page.table(&beside(answer, last, page.units()));
    money(answer, last, page);
}

fn by_year(years: &LaterYears) -> Table {
    let of = |name| Column::of(name, Kind::Mass);
    let columns = vec![
        Column::words("year from"),
        of("scraps"),
        Column::of("turned away", Kind::Share),
        of("feed eaten"),
        of("worms, mean"),
        of("castings, dry"),
        of("sold"),
        of("water added"),
        of("salt held"),
    ];
    let mut table = Table::new("Each year of 365 days", columns);
    for y in &years.years {
        table.push(vec![
            format!("{}: {}", y.year, y.start).into(),
            y.intake.into(),
            crate::matter::ratio(y.turned_away, y.intake).into(),
            y.eaten.into(),
            y.stock_mean.into(),
            y.castings_dry.into(),
            y.product_sold.into(),
            y.water_added.into(),
            y.salt_held.into(),
        ]);
    }
    table
}

/// Figures of the two years; those of drums are left out on a site without drums.
pub(in crate::report) fn sought_of_years(answer: &RunAnswer) -> impl Iterator<Item = &YearFigure> {
    let drums = !answer.no_drums_wanted();
    let figures = answer.later_years.last.iter().flat_map(|last| &last.figures);
    figures.filter(move |f| drums || !is_of_drums(f.name))
}

fn beside(answer: &RunAnswer, last: &LaterYear, units: Units) -> Table {
    let columns = vec![
        Column::words("figure"),
        Column::words_right("first year"),
        Column::words_right(&last_year(&answer.later_years, last)),
    ];
    let mut table = Table::new("Figures of the two", columns);
    for f in sought_of_years(answer) {
        let cell = |value: Option<f64>| value.map_or(Cell::Empty, |v| shown(f.name, f.unit, v, units).into());
        let what = with_unit(f.what, shown_unit(f.name, f.unit, units));
        table.push(vec![what.into(), cell(f.first), cell(f.settled)]);
    }
    table
}

/// Floor, work and money that differ.
fn money(answer: &RunAnswer, last: &LaterYear, page: &mut Page) {
    let units = page.units();
    let (first, later) = (&answer.site, &last.site);
    let both = |now: String, then: String| format!("{now}; {then} in the run");
    let area = |value| format_quantity(Kind::Area, value, units);
    page.line("floor needed", &both(area(later.floor.total), area(first.floor.total)));
    let hours = |value: f64| format!("{} h", format_number(value));
    page.line("work in a year", &both(hours(later.labour.hours), hours(first.labour.hours)));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn text(years: LaterYears) -> String {
        let mut page = Page::new(Units::Si);
        super::years(&RunAnswer { later_years: years, ..sample::answer() }, &mut page);
        page.into_text()
    }

    #[test]
    fn a_settled_year_stands_beside_the_first() {
        let text = text(sample::later_years());
        let cells = |label: &str| -> Vec<String> {
            let line = text.lines().find(|line| line.starts_with(label)).unwrap_or_else(|| panic!("{text}"));
            line[label.len()..].split_whitespace().map(str::to_owned).collect()
        };
        assert!(text.contains("year 3: like the year before within 5.0 %; largest: salt held in"), "{text}");
        // scraps, turned away, eaten, worms, castings, sold, water, salt
        let third = ["91,250", "0.0", "150,000", "123", "20,000", "40,000", "30,000", "52"];
        assert_eq!(cells("3: 2033-03-31"), third);
        assert_eq!(cells("1: 2031-04-01")[1], "4.0");
        assert_eq!(cells("water added to beds, kg"), ["90,000", "30,000"]);
        assert_eq!(cells("moisture of castings through the screen, %"), ["-", "45"]);
        assert!(text.contains("settled year") && text.contains("floor needed"), "{text}");
    }

    #[test]
    fn a_year_that_is_not_reached_says_why() {
        let settled = sample::later_years();
        let moving = LaterYears { settling: Settling::StillChanging, tolerance: 0.01, ..settled.clone() };
        assert_eq!(
            ended(&moving),
            "none in 3 years, the most that `settled_year.most_years` allows; from year 2 to 3: salt held in beds +3.8 %, worms -1.6 % \
             (1.0 % allowed)"
        );
        let dead = LaterYears { settling: Settling::DiedOut, ..settled.clone() };
        assert!(ended(&dead).starts_with("none: the worms have died out by year 3"), "{}", ended(&dead));
        assert!(text(dead).contains("year 3"), "the last year is shown all the same");
        let none = LaterYears { settling: Settling::NotSought, years: Vec::new(), last: None, ..settled };
        assert!(text(none).ends_with("none is sought: `settled_year.most_years` is 1\n"));
    }
}
