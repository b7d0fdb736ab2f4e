//! The rounds of a week in words and figures, as the page for the wall, the text and the calendar show them.

mod wall;

pub use wall::wall;

use crate::quantity::{Kind, Units, convert};
use crate::report::chart::month_name;
use crate::report::number::{column_unit, format_decimals, format_percent, in_column_unit};
use crate::study::rounds::answer::{
    Advice, BedWork, JobName, LogBox, RoundsAnswer, RoundsDay, RoundsWeek, Work,
};
use crate::study::weigh::answer::Weighing;
use jiff::civil::Date;

/// Files of *rounds*.
pub const ROUNDS_FILES: [&str; 5] =
    ["rounds.html", "rounds.txt", "rounds.json", "rounds.ics", "rounds_log.csv"];
/// A smaller amount is shown as none.
const LEAST: f64 = 0.05;
/// What stands for none.
const NONE: &str = "\u{2013}";

/// An amount as shown, and its range.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::report) struct Shown {
    pub(in crate::report) planned: String,
    pub(in crate::report) range: Option<String>,
}

/// A job over the days of a week.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::report) struct JobRow {
    /// What to do, with its unit.
    pub(in crate::report) label: String,
    pub(in crate::report) days: Vec<Shown>,
    pub(in crate::report) week: Shown,
}

/// Beds with the same work over the days of a week.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::report) struct BedRow {
    pub(in crate::report) label: String,
    /// Feed and water of each day, each for one bed.
    pub(in crate::report) days: Vec<(String, String)>,
}

/// A week.
#[derive(Debug, Clone)]
pub(in crate::report) struct WeekSheet<'a> {
    pub(in crate::report) days: &'a [RoundsDay],
    pub(in crate::report) week: &'a RoundsWeek,
    pub(in crate::report) jobs: Vec<JobRow>,
    pub(in crate::report) beds: Vec<BedRow>,
    pub(in crate::report) boxes: Vec<&'a LogBox>,
    /// The routine of measuring that is worth most in it.
    pub(in crate::report) most_useful: Option<&'a Weighing>,
}

/// The unit in which an amount of a job is shown; empty for counts.
pub(in crate::report) fn unit(of: &str, units: Units) -> &'static str {
    match (of, units) {
        ("kg", units) => column_unit(Kind::Mass, units),
        ("L", Units::Si) => "L",
        ("L", Units::Us) => "gal",
        _ => "",
    }
}

/// An amount without its unit: whole numbers from 10 on, so that a page agrees with the run to the kilogram.
pub(in crate::report) fn amount(value: f64, of: &str, units: Units) -> String {
    let shown = match of {
        "kg" => in_column_unit(Kind::Mass, value, units),
        "L" => convert(Kind::Volume, value / 1000.0, unit(of, units)).unwrap_or(value),
        _ => value,
    };
    if shown.abs() < LEAST {
        return NONE.to_owned();
    }
    format_decimals(shown, usize::from(of != "1" && shown.abs() < 10.0))
}

fn shown(work: &Work, job: &JobName, units: Units) -> Shown {
    let range = work.range.map(|ends| ends.map(|end| amount(end, job.unit, units)));
    Shown {
        planned: amount(work.planned, job.unit, units),
        range: range.filter(|ends| ends.iter().any(|end| end != NONE)).map(|[low, high]| {
            let zero = |end: String| if end == NONE { "0".to_owned() } else { end };
            if low == high { zero(low) } else { format!("{}\u{2013}{}", zero(low), zero(high)) }
        }),
    }
}

/// Short name of a day: Mon 5 Jul.
pub(in crate::report) fn day_name(date: Date) -> String {
    format!("{} {}", date.strftime("%a"), day_month(date))
}

/// Day and month: 5 Jul.
pub(in crate::report) fn day_month(date: Date) -> String {
    format!("{} {}", date.day(), month_name(date))
}

/// Names of beds in a row: `hall beds 3 to 7` where only a number at the end differs.
fn bed_names(first: &str, last: &str) -> String {
    if first == last {
        return first.to_owned();
    }
    let numbered =
        |name: &'_ str| name.rsplit_once(' ').map(|(group, number)| (group.to_owned(), number.to_owned()));
    match (numbered(first), numbered(last)) {
        (Some((group, _)), Some((same, number))) if group == same && number.parse::<u32>().is_ok() => {
            format!("{first} to {number}")
        }
        _ => format!("{first} to {last}"),
    }
}

/// Neighbouring beds whose shown work is the same.
fn bed_rows<'a>(days: &'a [RoundsDay], units: Units) -> Vec<BedRow> {
    let count = days.first().map_or(0, |day| day.beds.len());
    let cells = |bed: usize| {
        let of = |day: &'a RoundsDay| {
            (amount(day.beds[bed].feed, "kg", units), amount(day.beds[bed].water, "L", units))
        };
        days.iter().map(of).collect::<Vec<_>>()
    };
    let name = |bed: usize| days[0].beds[bed].bed.as_str();
    // first and last bed of each row
    let mut rows: Vec<([usize; 2], _)> = Vec::new();
    for bed in 0..count {
        let cells = cells(bed);
        match rows.last_mut() {
            Some(([_, last], same)) if *same == cells => *last = bed,
            _ => rows.push(([bed, bed], cells)),
        }
    }
    let worked = |cells: &[(String, String)]| cells.iter().any(|(feed, water)| feed != NONE || water != NONE);
    rows.into_iter()
        .filter(|(_, cells)| worked(cells))
        .map(|([first, last], days)| BedRow { label: bed_names(name(first), name(last)), days })
        .collect()
}

/// The weeks of an answer.
pub(in crate::report) fn weeks(answer: &RoundsAnswer, units: Units) -> Vec<WeekSheet<'_>> {
    let week = |week: &'_ RoundsWeek| {
        let within = |date: Date| (week.first..=week.last).contains(&date);
        let first = answer.days.iter().position(|day| within(day.date)).unwrap_or(0);
        let count = answer.days.iter().filter(|day| within(day.date)).count();
        (first, count)
    };
    answer
        .weeks
        .iter()
        .map(|of| {
            let (first, count) = week(of);
            let days = &answer.days[first..first + count];
            let row = |(n, job): (usize, &JobName)| {
                let days: Vec<Shown> = days.iter().map(|day| shown(&day.work[n], job, units)).collect();
                let label = match unit(job.unit, units) {
                    "" => job.what.to_owned(),
                    unit => format!("{}, {unit}", job.what),
                };
                let row = JobRow { label, days, week: shown(&of.work[n], job, units) };
                let any = |shown: &Shown| shown.planned != NONE || shown.range.is_some();
                (row.days.iter().any(any) || any(&row.week)).then_some(row)
            };
            WeekSheet {
                days,
                week: of,
                jobs: answer.jobs.iter().enumerate().filter_map(row).collect(),
                beds: bed_rows(days, units),
                boxes: answer.lines.iter().filter(|line| (of.first..=of.last).contains(&line.date)).collect(),
                most_useful: answer.advice.as_ref().and_then(|advice| {
                    advice.routines.iter().find(|routine| Some(routine.name) == of.most_useful)
                }),
            }
        })
        .collect()
}

/// Drums to open on a day: `2 of 14 Jun, 1 of 16 Jun`.
pub(in crate::report) fn drums_to_open(day: &RoundsDay) -> String {
    let part = |drums: &crate::study::rounds::answer::DrumsToOpen| {
        format!("{} of {}", drums.count, day_month(drums.filled))
    };
    day.open.iter().map(part).collect::<Vec<_>>().join(", ")
}

/// Beds to harvest on a day, with the castings of each: `hall beds 3 (210)`.
pub(in crate::report) fn beds_to_harvest(day: &RoundsDay, units: Units) -> String {
    let part = |bed: &BedWork| format!("{} ({})", bed.bed, amount(bed.castings, "kg", units));
    day.beds.iter().filter(|bed| bed.castings > 0.0).map(part).collect::<Vec<_>>().join(", ")
}

/// Unit in which a line is written down.
pub(in crate::report) fn box_unit(line: &LogBox, units: Units) -> &'static str {
    column_unit(line.what.row().quantity, units)
}

/// Feed and water of a bed in a cell.
pub(in crate::report) fn feed_and_water((feed, water): &(String, String)) -> String {
    if feed == NONE && water == NONE { NONE.to_owned() } else { format!("{feed} / {water}") }
}

/// The work of a day in a few words, for the title of an event; empty without work.
pub(in crate::report) fn day_title(answer: &RoundsAnswer, day: &RoundsDay, units: Units) -> String {
    let parts = answer.jobs.iter().zip(&day.work).filter_map(|(job, work)| {
        let amount = amount(work.planned, job.unit, units);
        let unit = unit(job.unit, units);
        let words = match job.name {
            "scraps" => format!("take in {amount} {unit}"),
            "bran_begun" => format!("begin {amount} {unit} of bran"),
            "drums_opened" => format!("open {amount} drum{}", if amount == "1" { "" } else { "s" }),
            "feed" => format!("lay {amount} {unit} of feed"),
            "water" => format!("water {amount} {unit}"),
            "castings" => format!("harvest {amount} {unit} of castings"),
            _ => return None,
        };
        (amount != NONE).then_some(words)
    });
    parts.collect::<Vec<_>>().join(", ")
}

/// Why the most useful measurement of a week is that.
pub(in crate::report) fn why(routine: &Weighing, advice: &Advice) -> String {
    let minutes = routine.minutes / routine.times.max(1) as f64;
    let most = routine.alone.iter().zip(&advice.forecasts).min_by(|a, b| a.0.total_cmp(b.0));
    let narrows = most.map_or(String::new(), |(left, forecast)| {
        format!(
            " Kept up until {}, it alone would leave {} of the spread of the forecast of {} over the {} days after.",
            day_month(advice.until),
            format_percent(*left),
            forecast.what,
            advice.forecast_days
        )
    });
    format!("{}, about {} min each time.{narrows}", routine.how, format_decimals(minutes, 0))
}

/// The work of a day in lines, for a calendar.
pub(in crate::report) fn day_lines(answer: &RoundsAnswer, day: &RoundsDay, units: Units) -> Vec<String> {
    let mut lines = Vec::new();
    for (job, work) in answer.jobs.iter().zip(&day.work) {
        let Shown { planned, range } = shown(work, job, units);
        if planned == NONE {
            continue;
        }
        let words = match job.name {
            "drums_opened" if !day.open.is_empty() => format!(" (filled: {})", drums_to_open(day)),
            "castings" => format!(" ({})", beds_to_harvest(day, units)),
            _ => String::new(),
        };
        let range = range.map_or(String::new(), |range| format!(" [{range}]"));
        lines.push(
            format!("{}: {planned} {}", job.what, unit(job.unit, units)).trim_end().to_owned()
                + &range
                + &words,
        );
    }
    for row in bed_rows(std::slice::from_ref(day), units) {
        let (feed, water) = &row.days[0];
        let part = |what: &str, amount: &String, of: &str| {
            (amount != NONE).then(|| format!("{what} {amount} {}", unit(of, units)))
        };
        let parts: Vec<String> =
            [part("feed", feed, "kg"), part("water", water, "L")].into_iter().flatten().collect();
        lines.push(format!("each of {}: {}", row.label, parts.join(", ")));
    }
    let written: Vec<String> = answer
        .lines
        .iter()
        .filter(|line| line.date == day.date)
        .map(|line| format!("{} {}", line.what.row().word, line.place).trim_end().to_owned())
        .collect();
    if !written.is_empty() {
        lines.push(format!("write down: {}", written.join(", ")));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_whole_from_ten_on_and_none_is_a_dash() {
        let si = |value: f64, of: &str| amount(value, of, Units::Si);
        assert_eq!(
            [si(1234.4, "kg"), si(9.96, "kg"), si(0.04, "kg"), si(2.0, "1")],
            ["1234", "10.0", NONE, "2"]
        );
        // a US gallon is 3.785411784 L by definition
        assert_eq!(amount(37.854_117_84, "L", Units::Us), "10");
    }

    #[test]
    fn beds_in_a_row_are_named_once() {
        assert_eq!(bed_names("hall beds 3", "hall beds 7"), "hall beds 3 to 7");
        assert_eq!(bed_names("north", "south"), "north to south");
        assert_eq!(bed_names("hall beds 3", "hall beds 3"), "hall beds 3");
    }

    #[test]
    fn days_are_named_by_weekday() {
        assert_eq!(day_name(Date::constant(2027, 7, 5)), "Mon 5 Jul");
    }
}
