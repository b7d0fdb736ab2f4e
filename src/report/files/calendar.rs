//! The rounds as a calendar (iCalendar, RFC 5545): one event for each day with work, and the lines of the next log as CSV.

use crate::quantity::Units;
use crate::report::cautions::at_work;
use crate::report::clean::cell;
use crate::report::rounds::{box_unit, day_lines, day_title};
use crate::study::rounds::answer::{RoundsAnswer, RoundsDay};
use icalendar::{Calendar, Component, Event, Property};
use jiff::civil::Date;

/// A date of an all-day event.
fn day(key: &str, date: Date) -> Property {
    Property::new(key, date.strftime("%Y%m%d").to_string()).add_parameter("VALUE", "DATE").done()
}

/// The calendar. `site` tells sites apart: the same day of the same site keeps its identity, so that a later plan replaces an earlier one
/// where the reader does so.
///
/// The time stamp is the first day of the plan, so that the same question gives the same bytes.
pub fn calendar(answer: &RoundsAnswer, site: &str, units: Units) -> String {
    let mut calendar = Calendar::empty();
    let product = format!("-//Loamledger//Loamledger {}//EN", answer.version);
    for (key, value) in [("VERSION", "2.0"), ("PRODID", product.as_str()), ("CALSCALE", "GREGORIAN")] {
        calendar.append_property(Property::new(key, value));
    }
    calendar.append_property(Property::new("X-WR-CALNAME", cell(&format!("Rounds: {}", answer.name))));
    for work in &answer.days {
        let lines = day_lines(answer, work, units);
        if !lines.is_empty() {
            calendar.push(event(answer, work, &lines, (site, units)));
        }
    }
    calendar.to_string()
}

fn event(answer: &RoundsAnswer, of: &RoundsDay, lines: &[String], (site, units): (&str, Units)) -> Event {
    let title = match day_title(answer, of, units) {
        title if title.is_empty() => "write down".to_owned(),
        title => title,
    };
    let all: Vec<String> =
        lines.iter().cloned().chain(at_work(&answer.hazards, units)).map(|l| cell(&l)).collect();
    Event::new()
        .uid(&format!("rounds-{}-{site}@loamledger", of.date))
        .add_property("DTSTAMP", answer.from.strftime("%Y%m%dT000000Z").to_string())
        .append_property(day("DTSTART", of.date))
        .append_property(day("DTEND", of.date.tomorrow().unwrap_or(of.date)))
        .summary(&cell(&format!("Rounds: {title}")))
        .description(&all.join("\n"))
        .add_property("TRANSP", "TRANSPARENT")
        .done()
}

/// The lines of the next log, their values left empty.
///
/// # Errors
/// When the text cannot be written: never.
pub fn next_log(answer: &RoundsAnswer, units: Units) -> Result<Vec<u8>, csv::Error> {
    let mut file = csv::Writer::from_writer(Vec::new());
    file.write_record(["date", "what", "value", "unit", "where", "note"])?;
    for line in &answer.lines {
        let (date, what) = (line.date.to_string(), line.what.row().word);
        file.write_record([date.as_str(), what, "", box_unit(line, units), &cell(&line.place), ""])?;
    }
    file.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}
