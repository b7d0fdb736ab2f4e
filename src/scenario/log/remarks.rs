//! What is odd about a log that can be read: duplicates, gaps, unusual values, dates outside the run.

use super::kind::LogKind;
use super::read::{LogLine, LogPlace};
use crate::scenario::calendar::{day_after, days_between};
use crate::scenario::plan::Plan;
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

/// Days without a delivery after which a gap is named. Source: our choice.
const LONG_WITHOUT_SCRAPS: i32 = 7;
/// Days without a reading of a room after which a gap is named, and beyond which readings are not joined. Source: our choice.
pub(super) const LONG_WITHOUT_READING: i32 = 14;
/// Days without any line after which a gap is named. Source: our choice.
const LONG_WITHOUT_LINE: i32 = 21;
/// Amounts so many times the largest of the plan are unusual. Source: our choice.
const UNUSUAL: f64 = 5.0;

/// Something odd about a log.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[serde(tag = "remark", rename_all = "snake_case")]
pub enum Remark {
    /// A line says the same as an earlier one and is left out.
    Duplicate {
        /// Number of the line.
        line: usize,
        /// Number of the earlier line.
        of: usize,
    },
    /// A line is outside the run and is left out.
    OutsideRun {
        /// Number of the line.
        line: usize,
        /// Its date.
        #[schemars(with = "String")]
        date: Date,
    },
    /// An amount is far above all of the plan; it is used.
    Unusual {
        /// Number of the line.
        line: usize,
        /// The amount, kg.
        value: f64,
        /// The largest of the plan on a day, kg.
        largest: f64,
    },
    /// Days without a line of a kind.
    Gap {
        /// The kind. `null` if no line of any kind is there.
        what: Option<LogKind>,
        /// Name of the stream; empty for the site.
        place: String,
        /// Last day before.
        #[schemars(with = "String")]
        from: Date,
        /// First day after.
        #[schemars(with = "String")]
        to: Date,
        /// Days between without a line.
        days: i32,
    },
}

/// Lines in the order of dates, without duplicates and those outside the run, and what is odd about them.
pub(super) fn sorted_out(plan: &Plan, mut lines: Vec<LogLine>) -> (Vec<LogLine>, Vec<Remark>) {
    let mut remarks = Vec::new();
    lines.sort_by_key(|line| (line.date, line.line));
    let last = day_after(plan.start, plan.days.max(1) - 1);
    let mut kept: Vec<LogLine> = Vec::new();
    for line in lines {
        if !(plan.start..=last).contains(&line.date) {
            remarks.push(Remark::OutsideRun { line: line.line, date: line.date });
            continue;
        }
        let same = |earlier: &&LogLine| {
            earlier.kind == line.kind
                && earlier.place == line.place
                && earlier.value.to_bits() == line.value.to_bits()
                && earlier.note == line.note
        };
        match kept.iter().rev().take_while(|earlier| earlier.date == line.date).find(same) {
            Some(earlier) => remarks.push(Remark::Duplicate { line: line.line, of: earlier.line }),
            None => kept.push(line),
        }
    }
    take_turns(plan, &mut kept);
    unusual(plan, &kept, &mut remarks);
    gaps(plan, &kept, &mut remarks);
    (kept, remarks)
}

/// Gives harvests without a bed to the bed whose last harvest is longest ago, the first of several.
fn take_turns(plan: &Plan, lines: &mut [LogLine]) {
    let mut taken: Vec<Option<Date>> = vec![None; plan.bed_names().count()];
    for line in lines.iter_mut().filter(|line| line.kind == LogKind::CastingsTaken) {
        if line.place == LogPlace::InTurn {
            let bed = (0..taken.len()).min_by_key(|&bed| taken[bed]).unwrap_or(0);
            line.place = LogPlace::Beds(bed..bed + 1);
        }
        if let LogPlace::Beds(beds) = &line.place {
            taken[beds.clone()].fill(Some(line.date));
        }
    }
}

fn unusual(plan: &Plan, lines: &[LogLine], remarks: &mut Vec<Remark>) {
    let largest: Vec<f64> = (0..plan.streams.len())
        .map(|stream| plan.daily_amounts(stream).into_iter().fold(0.0, f64::max))
        .collect();
    for line in lines.iter().filter(|line| line.kind == LogKind::ScrapsIn) {
        let LogPlace::Stream(stream) = line.place else { continue };
        let largest = largest[stream];
        if line.value > UNUSUAL * largest {
            remarks.push(Remark::Unusual { line: line.line, value: line.value, largest });
        }
    }
}

fn gaps(plan: &Plan, lines: &[LogLine], remarks: &mut Vec<Remark>) {
    for (number, stream) in plan.streams.iter().enumerate() {
        let of = |line: &&LogLine| line.kind == LogKind::ScrapsIn && line.place == LogPlace::Stream(number);
        let dates = lines.iter().filter(of).map(|line| line.date);
        for (from, to, days) in silences(dates, LONG_WITHOUT_SCRAPS) {
            let days_of_plan = (1..=u32::try_from(days).unwrap_or(0)).map(|n| day_after(from, n));
            // closed weeks are no gap
            if days_of_plan.into_iter().any(|day| plan.open_amount(number, day) > 0.0) {
                let place = stream.name.clone();
                remarks.push(Remark::Gap { what: Some(LogKind::ScrapsIn), place, from, to, days });
            }
        }
    }
    for kind in [LogKind::DrumRoom, LogKind::BedRoom] {
        let dates = lines.iter().filter(|line| line.kind == kind).map(|line| line.date);
        remarks.extend(silences(dates, LONG_WITHOUT_READING).map(|(from, to, days)| Remark::Gap {
            what: Some(kind),
            place: String::new(),
            from,
            to,
            days,
        }));
    }
    remarks.extend(
        silences(lines.iter().map(|line| line.date), LONG_WITHOUT_LINE).map(|(from, to, days)| Remark::Gap {
            what: None,
            place: String::new(),
            from,
            to,
            days,
        }),
    );
}

/// Last day before, first day after, and days between, where more than `longest` days are without a date.
fn silences(dates: impl Iterator<Item = Date>, longest: i32) -> impl Iterator<Item = (Date, Date, i32)> {
    let mut before: Option<Date> = None;
    dates.filter_map(move |date| {
        let from = before.replace(date)?;
        let days = days_between(from, date) - 1;
        (days > longest).then_some((from, date, days))
    })
}
