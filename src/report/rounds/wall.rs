//! The page for the wall: a week on one A4, with boxes to write into. What is written there are lines of the next log.

use super::{
    JobRow, Shown, WeekSheet, beds_to_harvest, box_unit, day_month, day_name, drums_to_open, feed_and_water,
    unit, weeks, why,
};
use crate::quantity::Units;
use crate::report::cautions::at_work;
use crate::report::draw::text::{one_line, set_apart};
use crate::report::head::head;
use crate::study::rounds::answer::{LogBox, RoundsAnswer};
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The look, for screen and paper.
const LOOK: &str = include_str!("wall.css");
/// Empty lines to write what else was seen.
const EMPTY: usize = 2;
/// Height of an A4 between its margins, with a little to spare, and sizes of the font between which a week is set, points.
const HEIGHT: f64 = 770.0;
const SIZES: (f64, f64) = (5.5, 9.4);

/// A name as typed, on one line and apart from the direction of the text around it.
fn name(typed: &str) -> String {
    set_apart(&one_line(typed))
}

/// Height of a week in sizes of the font, as the style sheet sets it.
fn height(sheet: &WeekSheet<'_>, answer: &RoundsAnswer, units: Units) -> f64 {
    let lines = |words: &str, letters: usize| words.chars().count().div_ceil(letters) as f64;
    let most = |of: &dyn Fn(usize) -> String| {
        (0..sheet.days.len()).map(|n| lines(&of(n), 12)).fold(0.0, f64::max) * 0.95
    };
    let job = |row: &JobRow| if row.week.range.is_some() { 2.05 } else { 1.32 };
    let jobs: f64 = sheet.jobs.iter().map(job).sum();
    let words = most(&|n| drums_to_open(&sheet.days[n])) + most(&|n| beds_to_harvest(&sheet.days[n], units));
    let cautions: f64 = at_work(&answer.hazards, units).iter().map(|words| lines(words, 135)).sum();
    let boxes = (sheet.boxes.len() + EMPTY).div_ceil(2) as f64;
    // heading, heads of both tables, initials, gaps, what is worth most
    14.5 + jobs + words + 1.32 * sheet.beds.len() as f64 + 1.5 * boxes + 0.95 * cautions
}

/// The page.
pub fn wall(answer: &RoundsAnswer, units: Units) -> String {
    let sheets = weeks(answer, units);
    let tallest = sheets.iter().map(|sheet| height(sheet, answer, units)).fold(1.0, f64::max);
    let size = (HEIGHT / tallest).clamp(SIZES.0, SIZES.1);
    let page = html! {
        (DOCTYPE)
        html lang="en" style=(format!("--size: {size:.2}pt")) {
            (head(&format!("{}: rounds from {}", name(&answer.name), answer.from), "light", Some(answer.version), &html! { style { (PreEscaped(LOOK)) } }))
            body {
                @for sheet in &sheets { (self::sheet(answer, sheet, units)) }
            }
        }
    };
    let mut text = page.into_string();
    text.push('\n');
    text
}

fn sheet(answer: &RoundsAnswer, sheet: &WeekSheet<'_>, units: Units) -> Markup {
    html! {
        main {
            header {
                h1 { "Rounds: " (day_name(sheet.week.first)) " to " (day_name(sheet.week.last)) " " (sheet.week.last.year()) }
                p { (name(&answer.name)) ". " (basis(answer)) }
            }
            (work(sheet, units))
            (beds(sheet, units))
            (useful(answer, sheet))
            (boxes(sheet, units))
            ul.cautions { @for words in at_work(&answer.hazards, units) { li { (words) } } }
        }
    }
}

/// What the amounts rest on.
fn basis(answer: &RoundsAnswer) -> String {
    let log = answer
        .log_until
        .map_or(String::new(), |until| format!(" Known from the log until {}.", day_month(until)));
    let sites = answer.sites.map_or(String::new(), |sites| {
        format!(" Small: 9 in 10 of {sites} fitted sites, weather and intake drawn.")
    });
    format!("As the best-estimate run has it.{log}{sites}")
}

fn cell(shown: &Shown) -> Markup {
    html! {
        td {
            (shown.planned)
            @if let Some(range) = &shown.range { small { (range) } }
        }
    }
}

fn work(sheet: &WeekSheet<'_>, units: Units) -> Markup {
    let has = |of: &dyn Fn(usize) -> String| (0..sheet.days.len()).any(|n| !of(n).is_empty());
    let open = |n: usize| drums_to_open(&sheet.days[n]);
    let harvest = |n: usize| beds_to_harvest(&sheet.days[n], units);
    html! {
        table.work {
            thead {
                tr {
                    th { "Work" }
                    @for day in sheet.days { th { (day_name(day.date)) } }
                    th { "Sum" }
                }
            }
            tbody {
                @for row in &sheet.jobs {
                    tr { th { (row.label) } @for day in &row.days { (cell(day)) } (cell(&row.week)) }
                }
                @if has(&open) {
                    tr.words { th { "open the drums filled on" } @for n in 0..sheet.days.len() { td { (open(n)) } } td {} }
                }
                @if has(&harvest) {
                    tr.words {
                        th { "harvest, " (unit("kg", units)) }
                        @for n in 0..sheet.days.len() { td { (harvest(n)) } }
                        td {}
                    }
                }
                tr.done { th { "done, by" } @for _ in sheet.days { td {} } td {} }
            }
        }
    }
}

fn beds(sheet: &WeekSheet<'_>, units: Units) -> Markup {
    html! {
        @if !sheet.beds.is_empty() {
            table.beds {
                thead {
                    tr {
                        th { "Each bed: feed, " (unit("kg", units)) " / water, " (unit("L", units)) }
                        @for day in sheet.days { th { (day_name(day.date)) } }
                    }
                }
                tbody {
                    @for row in &sheet.beds {
                        tr { th { (name(&row.label)) } @for day in &row.days { td { (feed_and_water(day)) } } }
                    }
                }
            }
        }
    }
}

fn useful(answer: &RoundsAnswer, sheet: &WeekSheet<'_>) -> Markup {
    html! {
        @if let (Some(routine), Some(advice)) = (sheet.most_useful, &answer.advice) {
            p.useful { strong { "Worth most this week: " } (why(routine, advice)) " Its lines are marked \u{25b6}." }
        }
    }
}

fn boxes(sheet: &WeekSheet<'_>, units: Units) -> Markup {
    let marked = |line: &LogBox| sheet.most_useful.is_some_and(|routine| line.routine == Some(routine.name));
    html! {
        h2 { "Write down: lines of the next log " span { "date, what, value, unit, where" } }
        div.boxes {
            @for line in &sheet.boxes {
                div.line {
                    span.date { @if marked(line) { "\u{25b6}" } (line.date) }
                    span.what { (line.what.row().word) }
                    span.value {}
                    span.unit { (box_unit(line, units)) }
                    span.where { (name(&line.place)) }
                }
            }
            @for _ in 0..EMPTY {
                div.line { span.date.free {} span.what.free {} span.value {} span.unit.free {} span.where.free {} }
            }
        }
    }
}
