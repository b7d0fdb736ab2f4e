//! What a person can measure, how often, and the lines of a log that it would give.

use crate::scenario::log::{Compared, LogKind, LogLine, LogPlace, Whereabouts};
use crate::study::beside::Beside;
use std::ops::RangeInclusive;

/// How often a measurement is made. Source: our choice, by what a small site has time for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::study) enum Often {
    /// Once in so many days, the first day included.
    Days(usize),
    /// At every harvest of a bed.
    EachHarvest,
    /// On every day on which there is something of it.
    EachDay,
}

/// A measurement that a person can make.
pub(in crate::study) struct Routine {
    /// Its name in files, and in the key of its work `log.minutes_<name>`.
    pub(in crate::study) name: &'static str,
    /// What to do.
    pub(in crate::study) how: &'static str,
    /// Kinds of line that it gives.
    pub(in crate::study) kinds: &'static [LogKind],
    /// How often.
    pub(in crate::study) often: Often,
    /// Whether its work is that of one bed.
    each_bed: bool,
}

const WEEK: usize = 7;

macro_rules! routines {
    ($($name:literal $often:expr, $each_bed:literal, [$($Kind:ident),*], $how:literal;)*) => {
        /// Every routine, in the order of the chain.
        pub(in crate::study) const ROUTINES: [Routine; [$($name),*].len()] = [
            $(Routine { name: $name, how: $how, kinds: &[$(LogKind::$Kind),*], often: $often, each_bed: $each_bed },)*
        ];
    };
}

routines! {
    "castings_taken" Often::EachHarvest, false, [CastingsTaken], "weigh the castings of every harvest";
    "drums_in_use" Often::Days(WEEK), false, [DrumsInUse], "count the drums in use once a week";
    "drums_opened" Often::EachDay, false, [DrumsOpened], "note the drums opened each day";
    "opened_ph" Often::Days(WEEK), false, [OpenedPh], "measure the pH of a drum just opened once a week";
    "liquor" Often::Days(WEEK), false, [Liquor], "weigh the liquor once a week";
    "bulking" Often::EachDay, false, [Bulking], "weigh the bulking each day";
    "feed_laid" Often::EachDay, false, [FeedLaid], "weigh the feed laid each day";
    "water_added" Often::Days(WEEK), false, [WaterAdded], "read the water meter once a week";
    "bed_temperature" Often::Days(WEEK), false, [BedTemperature], "measure the temperature of the beds once a week";
    "bed_moisture" Often::Days(2 * WEEK), false, [BedMoisture], "dry a sample of the beds every two weeks";
    "bed_ph" Often::Days(2 * WEEK), false, [BedPh], "measure the pH of a sample of the beds every two weeks";
    "bed_depth" Often::Days(2 * WEEK), false, [BedDepth], "measure the depth of the beds every two weeks";
    "worm_mass" Often::Days(12 * WEEK), true, [WormMass], "sort and weigh all worms every twelve weeks";
    "worm_density" Often::Days(4 * WEEK), false, [WormDensity], "count and weigh worms in samples every four weeks";
    "young_share" Often::Days(4 * WEEK), false, [YoungShare], "sort the young worms of samples every four weeks";
    "castings_moisture" Often::EachHarvest, false, [CastingsMoisture], "dry a sample of castings at every harvest";
    "laboratory" Often::Days(12 * WEEK), false,
        [CastingsCarbon, CastingsNitrogen, CastingsRatio, CastingsPhosphorus, CastingsPotassium, CastingsAsh, CastingsPh],
        "send a sample of castings to a laboratory every twelve weeks";
}

impl Routine {
    /// The lines that it would give on some days of a run, with the values of the run, and how often it is done.
    pub(in crate::study) fn lines(
        &self,
        run: &Beside,
        days: &RangeInclusive<usize>,
    ) -> (Vec<LogLine>, usize) {
        let made: Vec<(Vec<LogLine>, usize)> =
            self.kinds.iter().map(|kind| self.of(*kind, run, days)).collect();
        let times = made.iter().map(|(_, times)| *times).max().unwrap_or(0);
        let times = times * if self.each_bed { run.site.beds.len() } else { 1 };
        (made.into_iter().flat_map(|(lines, _)| lines).collect(), times)
    }

    fn of(&self, kind: LogKind, run: &Beside, days: &RangeInclusive<usize>) -> (Vec<LogLine>, usize) {
        let place = match kind.row().place {
            Whereabouts::Beds | Whereabouts::BedInTurn => LogPlace::Beds(0..run.site.beds.len()),
            Whereabouts::Site | Whereabouts::Stream => LogPlace::Site,
        };
        let line = |day: usize, value: f64, place: &LogPlace| LogLine {
            line: 0,
            date: run.site.date(day),
            kind,
            value,
            place: place.clone(),
            note: String::new(),
        };
        let lines: Vec<LogLine> = if self.often == Often::EachHarvest {
            harvests(run, kind, days)
                .filter_map(|(day, place)| Some(line(day, run.near(kind, &place, day)?, &place)))
                .collect()
        } else if kind.row().compared == Compared::Sum {
            let sums = sums(run, kind, &place, days);
            let times = match self.often {
                Often::EachDay => days.clone().filter(|&day| is_done(run, kind, &place, day)).count(),
                _ => sums.len(),
            };
            return (sums.into_iter().map(|(day, value)| line(day, value, &place)).collect(), times);
        } else {
            let every = if let Often::Days(days) = self.often { days } else { 1 };
            days.clone()
                .step_by(every)
                .filter_map(|day| Some(line(day, run.near(kind, &place, day)?, &place)))
                .collect()
        };
        let times = lines.len();
        (lines, times)
    }
}

/// Harvests of a run in some days: of castings taken a line for each bed, of a sample one for each day.
fn harvests(
    run: &Beside,
    kind: LogKind,
    days: &RangeInclusive<usize>,
) -> impl Iterator<Item = (usize, LogPlace)> {
    let mut last = None;
    let each = kind == LogKind::CastingsTaken;
    let all = run.trace.tally.harvests.iter().filter(|harvest| days.contains(&harvest.day));
    all.flat_map(|h| h.beds.numbers().map(|bed| (h.day, LogPlace::Beds(bed..bed + 1))))
        .filter(move |(day, _)| each || last.replace(*day) != Some(*day))
}

fn is_done(run: &Beside, kind: LogKind, place: &LogPlace, day: usize) -> bool {
    run.on(kind, place, day).is_some_and(|value| value > 0.0)
}

/// What came together by the end of each week and of the last day, from the first day on; none if there is nothing of it.
fn sums(run: &Beside, kind: LogKind, place: &LogPlace, days: &RangeInclusive<usize>) -> Vec<(usize, f64)> {
    let (mut made, mut sum) = (Vec::new(), 0.0);
    for day in days.clone() {
        sum += run.on(kind, place, day).unwrap_or(0.0);
        if (day - days.start()).is_multiple_of(WEEK) || day == *days.end() {
            made.push((day, sum));
            sum = 0.0;
        }
    }
    if made.iter().any(|(_, sum)| *sum > 0.0) { made } else { Vec::new() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::literature;
    use crate::scenario::log::LogErrors;

    #[test]
    fn every_measured_kind_is_in_one_routine_and_each_has_its_work() {
        let central = |key: &str| literature::central(key).unwrap_or_else(|| panic!("{key}"));
        for kind in LogKind::ALL {
            let routines = ROUTINES.iter().filter(|routine| routine.kinds.contains(&kind)).count();
            assert_eq!(routines, usize::from(LogErrors::from_values(kind, &central).is_some()), "{kind:?}");
        }
        let minutes = literature::entries().iter().filter(|e| e.key.starts_with("log.minutes_"));
        assert_eq!(minutes.count(), ROUTINES.len());
        for routine in &ROUTINES {
            assert!(central(&format!("log.minutes_{}", routine.name)) > 0.0);
        }
    }
}
