//! What of a log a fit is made to: measurements, each with its error and its counterpart in the model.

use crate::scenario::log::{Compared, Log, LogErrors, LogKind, LogLine, LogPlace, LogScale, knows_room};
use crate::scenario::{Plan, central};
use crate::study::beside::Beside;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Days within which lines of a kind are one measurement: the model errs alike on all of them. Source: our choice, a week.
const TOGETHER: i32 = 7;
/// Least days over which amounts of a day are summed. Source: our choice, four weeks.
const SUMMED: i32 = 28;
/// Least days of the last sum. Source: our choice.
const LAST_SUMMED: i32 = 14;
/// Least value of the model of an amount, as a share of what was measured; a logarithm needs one. Source: our choice.
const LEAST: f64 = 0.01;

/// Where the model has the counterpart of a measurement.
#[derive(Debug, Clone, PartialEq)]
enum Counterpart {
    /// The mean over places and days.
    Mean(Vec<(LogPlace, usize)>),
    /// The sum over places and days.
    Sum(Vec<(LogPlace, usize)>),
    /// The sum over all days from the first to the last.
    Span(LogPlace, usize, usize),
}

/// A measurement.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::study) struct Datum {
    pub(in crate::study) kind: LogKind,
    /// Numbers of its lines.
    pub(in crate::study) lines: Vec<usize>,
    /// Date of its last line.
    pub(in crate::study) date: Date,
    /// Value in the unit of the kind.
    pub(in crate::study) value: f64,
    /// Standard deviation of its error on the scale of the kind.
    pub(in crate::study) error: f64,
    counterpart: Counterpart,
}

impl Datum {
    /// A value on the scale on which its error is normal.
    pub(in crate::study) fn scaled(&self, value: f64) -> f64 {
        match self.kind.scale() {
            LogScale::Plain => value,
            LogScale::Logarithm => value.max(LEAST * self.value).ln(),
        }
    }

    /// The inverse of [`Datum::scaled`].
    pub(in crate::study) fn plain(&self, scaled: f64) -> f64 {
        match self.kind.scale() {
            LogScale::Plain => scaled,
            LogScale::Logarithm => scaled.exp(),
        }
    }

    /// Its counterpart in a run, on the scale of the kind. `None` where the model has none.
    pub(in crate::study) fn model(&self, run: &Beside) -> Option<f64> {
        let sum = |parts: &[(LogPlace, usize)]| {
            parts.iter().map(|(place, day)| run.near(self.kind, place, *day)).sum::<Option<f64>>()
        };
        let value = match &self.counterpart {
            Counterpart::Mean(parts) => sum(parts)? / parts.len() as f64,
            Counterpart::Sum(parts) => sum(parts)?,
            Counterpart::Span(place, from, to) => {
                (*from..=*to).map(|day| run.on(self.kind, place, day)).sum::<Option<f64>>()?
            }
        };
        Some(self.scaled(value)).filter(|value| value.is_finite())
    }
}

/// The measurements of a log, in the order of kinds and dates.
///
/// - States and figures of castings: lines of a kind within a week are one, their mean.
/// - Castings taken: lines within a week are one, their sum.
/// - Other amounts: sums over four weeks or more, each from the day after the last line of the sum before, so that a line may tell
///   what came together since the one before it.
///
/// A measurement that is 0 on a logarithmic scale is left out. A bed's temperature on days on which the log does not know that of the
/// room has the spread of the room's weather as a further error.
pub(in crate::study) fn measurements(plan: &Plan, log: &Log) -> Vec<Datum> {
    let get = |key: &str| central(plan, key);
    let mut all = Vec::new();
    for kind in LogKind::ALL {
        let Some(errors) = LogErrors::from_values(kind, &get) else { continue };
        let lines: Vec<&LogLine> = log.lines.iter().filter(|line| line.kind == kind).collect();
        let of = Gathering { plan, log, kind, error: errors.together() };
        match kind.row().compared {
            Compared::Sum if kind != LogKind::CastingsTaken => {
                let mut places: Vec<(&LogPlace, Vec<&LogLine>)> = Vec::new();
                for line in lines {
                    match places.iter_mut().find(|(place, _)| **place == line.place) {
                        Some((_, of)) => of.push(line),
                        None => places.push((&line.place, vec![line])),
                    }
                }
                for (place, lines) in places {
                    all.extend(of.sums(place, &lines));
                }
            }
            _ => all.extend(of.weeks(&lines)),
        }
    }
    let logarithm = |datum: &Datum| datum.kind.scale() == LogScale::Logarithm;
    all.retain(|datum| !logarithm(datum) || datum.value > 0.0);
    all
}

/// How lines of a kind become measurements.
struct Gathering<'a> {
    plan: &'a Plan,
    log: &'a Log,
    kind: LogKind,
    error: f64,
}

impl Gathering<'_> {
    fn day(&self, line: &LogLine) -> usize {
        usize::try_from((line.date - self.plan.start).get_days()).unwrap_or(0)
    }

    fn weeks(&self, lines: &[&LogLine]) -> Vec<Datum> {
        let mut groups: Vec<Vec<&LogLine>> = Vec::new();
        for line in lines {
            match groups.last_mut() {
                Some(group) if (line.date - group[0].date).get_days() < TOGETHER => group.push(line),
                _ => groups.push(vec![line]),
            }
        }
        groups.iter().map(|group| self.week(group)).collect()
    }

    fn week(&self, group: &[&LogLine]) -> Datum {
        let sum: f64 = group.iter().map(|line| line.value).sum();
        let mut parts: Vec<(LogPlace, usize)> = Vec::new();
        for line in group {
            let part = (line.place.clone(), self.day(line));
            // two buckets of one harvest are one harvest of the model
            if self.kind != LogKind::CastingsTaken || !parts.contains(&part) {
                parts.push(part);
            }
        }
        let (value, counterpart) = if self.kind == LogKind::CastingsTaken {
            (sum, Counterpart::Sum(parts))
        } else {
            (sum / group.len() as f64, Counterpart::Mean(parts))
        };
        Datum { error: self.error.hypot(self.weather(group)), ..self.datum(group, value, counterpart) }
    }

    /// Standard deviation of what the weather does to beds that is not known from readings of their room, K: that of the room, which is
    /// an upper bound, as beds follow it damped. 0 for other kinds.
    fn weather(&self, group: &[&LogLine]) -> f64 {
        let known = |line: &&LogLine| knows_room(self.plan, self.log, LogKind::BedRoom, self.day(line));
        if self.kind != LogKind::BedTemperature || group.iter().all(known) {
            return 0.0;
        }
        self.plan.climate.bed_room.share_of_outdoor_swing * self.plan.climate.day_to_day
    }

    fn sums(&self, place: &LogPlace, lines: &[&LogLine]) -> Vec<Datum> {
        let Some((first, rest)) = lines.split_first() else { return Vec::new() };
        let by_day = rest.iter().filter(|line| line.date > first.date).fold(
            BTreeMap::<Date, Vec<&LogLine>>::new(),
            |mut days, line| {
                days.entry(line.date).or_default().push(line);
                days
            },
        );
        let (mut made, mut group, mut after) = (Vec::new(), Vec::new(), first.date);
        let last = by_day.keys().next_back().copied();
        for (date, lines) in by_day {
            group.extend(lines);
            let span = (date - after).get_days();
            if span >= SUMMED || (Some(date) == last && span >= LAST_SUMMED) {
                let value = group.iter().map(|line| line.value).sum();
                let from = usize::try_from((after - self.plan.start).get_days()).unwrap_or(0) + 1;
                let to = self.day(group[group.len() - 1]);
                made.push(self.datum(&group, value, Counterpart::Span(place.clone(), from, to)));
                group.clear();
                after = date;
            }
        }
        made
    }

    fn datum(&self, group: &[&LogLine], value: f64, counterpart: Counterpart) -> Datum {
        Datum {
            kind: self.kind,
            lines: group.iter().map(|line| line.line).collect(),
            date: group[group.len() - 1].date,
            value,
            error: self.error,
            counterpart,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::log::read_log;
    use crate::scenario::parse;

    fn data(lines: &str) -> Vec<Datum> {
        let plan = parse("site", include_str!("../../../scenarios/harbour_hall.json")).unwrap();
        let text = format!("date,what,value,unit,where,note\n{lines}");
        let read = read_log(&plan, "log.csv", &text).unwrap();
        assert!(read.faults.is_none(), "{}", read.faults.unwrap());
        measurements(&plan, &read.log)
    }

    #[test]
    fn lines_of_a_week_are_one_measurement() {
        let made = data(
            "2027-06-01,bed temperature,20,C,hall beds 1,\n2027-06-07,bed temperature,24,C,hall beds 2,\n\
             2027-06-08,bed temperature,21,C,,\n2027-06-01,scraps in,9,kg,market hall,\n\
             2027-06-01,castings taken,300,kg,hall beds 1,\n2027-06-01,castings taken,200,kg,hall beds 1,second load\n\
             2027-06-04,castings taken,400,kg,hall beds 2,\n2027-06-20,castings taken,0,kg,hall beds 3,\n",
        );
        let seen: Vec<_> = made.iter().map(|d| (d.kind, d.lines.clone(), d.value)).collect();
        assert_eq!(
            seen,
            [
                (LogKind::CastingsTaken, vec![6, 7, 8], 900.0),
                (LogKind::BedTemperature, vec![2, 3], 22.0),
                (LogKind::BedTemperature, vec![4], 21.0),
            ]
        );
        // the two loads of the first bed are one harvest
        assert!(matches!(&made[0].counterpart, Counterpart::Sum(parts) if parts.len() == 2));
        assert!((made[0].scaled(900.0) - 900.0_f64.ln()).abs() < 1e-12);
        assert!((made[0].scaled(0.0) - 9.0_f64.ln()).abs() < 1e-12);
        // nobody read the room: six tenths of a weather of 3 K
        assert!((made[1].error - 0.5_f64.hypot(0.7).hypot(1.8)).abs() < 1e-12);
    }

    #[test]
    fn a_bed_whose_room_was_read_a_week_before_and_after_has_no_error_of_weather() {
        let made = data(
            "2027-06-01,bed room,18,C,,\n2027-06-05,bed temperature,20,C,,\n2027-06-14,bed room,18,C,,\n\
             2027-06-20,bed temperature,20,C,,\n",
        );
        assert!((made[0].error - 0.5_f64.hypot(0.7)).abs() < 1e-12);
        assert!((made[1].error - 0.5_f64.hypot(0.7).hypot(1.8)).abs() < 1e-12);
    }

    #[test]
    fn amounts_are_summed_from_the_day_after_the_line_before() {
        let made = data(
            "2027-06-01,feed laid,900,kg,,\n2027-06-15,feed laid,100,kg,,\n2027-06-29,feed laid,200,kg,,\n\
             2027-06-29,feed laid,5,kg,,late\n2027-07-10,feed laid,50,kg,,\n2027-06-01,liquor,50,kg,,\n",
        );
        assert_eq!(made.len(), 1, "{made:?}");
        assert_eq!((made[0].value.to_bits(), made[0].lines.clone()), (305.0_f64.to_bits(), vec![3, 4, 5]));
        // day 148 is the first of June
        assert_eq!(made[0].counterpart, Counterpart::Span(LogPlace::Beds(0..22), 149, 176));
    }
}
