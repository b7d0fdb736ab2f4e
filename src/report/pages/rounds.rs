//! The printed page of *rounds*.

use crate::quantity::Units;
use crate::report::cautions::at_work;
use crate::report::pages::page::Page;
use crate::report::rounds::{
    JobRow, WeekSheet, beds_to_harvest, box_unit, day_month, day_name, drums_to_open, feed_and_water, unit,
    weeks, why,
};
use crate::report::table::{Cell, Column, Table};
use crate::study::rounds::answer::{LogBox, RoundsAnswer};

/// The coming days as a page of text.
pub fn rounds_text(answer: &RoundsAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&format!("Rounds: {}", answer.name));
    page.line("days", &format!("{} to {}", answer.from, answer.until));
    if let Some(until) = answer.log_until {
        page.line("known from the log", &format!("until {until}"));
    }
    if let Some(sites) = answer.sites {
        page.line(
            "ranges",
            &format!("9 in 10 of {sites} fitted sites, weather and intake of these days drawn"),
        );
    }
    page.line("program version", answer.version);
    for sheet in &weeks(answer, units) {
        week(&mut page, answer, sheet);
    }
    page.heading("Take care");
    for words in at_work(&answer.hazards, units) {
        page.item("- ", &words);
    }
    page.into_text()
}

fn week(page: &mut Page, answer: &RoundsAnswer, sheet: &WeekSheet<'_>) {
    let units = page.units();
    page.heading(&format!("{} to {}", day_name(sheet.week.first), day_name(sheet.week.last)));
    work(page, sheet);
    for day in sheet.days.iter().filter(|day| !day.open.is_empty()) {
        page.line(&format!("{}: open drums filled", day_name(day.date)), &drums_to_open(day));
    }
    for day in sheet.days {
        let beds = beds_to_harvest(day, units);
        if !beds.is_empty() {
            page.line(&format!("{}: harvest, {}", day_name(day.date), unit("kg", units)), &beds);
        }
    }
    beds(page, sheet);
    if let (Some(routine), Some(advice)) = (sheet.most_useful, &answer.advice) {
        page.line("worth most this week", &why(routine, advice));
    }
    page.line("write down", "lines of the next log; rounds_log.csv has them");
    for day in sheet.boxes.chunk_by(|a, b| a.date == b.date) {
        let words = |line: &&LogBox| {
            let what = format!("{} {}", line.what.row().word, line.place);
            format!("{} ____ {}", what.trim_end(), box_unit(line, units)).trim_end().to_owned()
        };
        let all = day.iter().map(words).collect::<Vec<_>>().join("; ");
        page.line(&day_name(day[0].date), &all);
    }
}

fn work(page: &mut Page, sheet: &WeekSheet<'_>) {
    let mut columns = vec![Column::words("work")];
    columns.extend(sheet.days.iter().map(|day| Column::words_right(&day_month(day.date))));
    columns.push(Column::words_right("sum"));
    let mut table = Table::new("", columns);
    for JobRow { label, days, week } in &sheet.jobs {
        let all = || days.iter().chain([week]);
        let mut row: Vec<Cell> = vec![label.as_str().into()];
        row.extend(all().map(|shown| Cell::from(shown.planned.as_str())));
        table.push(row);
        if all().any(|shown| shown.range.is_some()) {
            let mut row: Vec<Cell> = vec!["  9 in 10".into()];
            row.extend(all().map(|shown| Cell::from(shown.range.as_deref().unwrap_or(""))));
            table.push(row);
        }
    }
    page.table(&table);
}

fn beds(page: &mut Page, sheet: &WeekSheet<'_>) {
    let units = page.units();
    let title = format!("each bed: feed, {} / water, {}", unit("kg", units), unit("L", units));
    let mut columns = vec![Column::words(&title)];
    columns.extend(sheet.days.iter().map(|day| Column::words_right(&day_month(day.date))));
    let mut table = Table::new("", columns);
    for row in &sheet.beds {
        let mut cells: Vec<Cell> = vec![row.label.as_str().into()];
        cells.extend(row.days.iter().map(|day| Cell::from(feed_and_water(day))));
        table.push(cells);
    }
    page.table(&table);
}
