//! What to write down in some days: the lines of the next log.

use super::answer::{Advice, LogBox};
use crate::scenario::Plan;
use crate::scenario::log::{Compared, LogKind, LogPlace, Whereabouts};
use crate::study::beside::Beside;
use crate::study::weigh::routine::{Often, ROUTINES, Routine};
use std::ops::Range;

/// Days of a week.
pub(super) const WEEK: usize = 7;
/// Most routines of measuring on a page: a person has other work. Source: our choice.
const MOST_ROUTINES: usize = 4;
/// Routines where it is not known which are worth most. Source: our choice, those of least work that a fit of any site uses.
const USUAL: [&str; 3] = ["drums_in_use", "feed_laid", "bed_temperature"];

/// The days of a run to write lines for.
pub(super) struct Boxes<'a> {
    pub(super) plan: &'a Plan,
    pub(super) run: &'a Beside,
    pub(super) days: Range<usize>,
}

impl Boxes<'_> {
    /// What a log knows for certain (scraps, worms bought, rooms, harvests), and the routines that are worth most; in the order of dates,
    /// then of the chain.
    pub(super) fn lines(&self, advice: Option<&Advice>) -> Vec<LogBox> {
        let wanted: Vec<&str> = match advice {
            Some(advice) => advice.routines.iter().take(MOST_ROUTINES).map(|routine| routine.name).collect(),
            None => USUAL.to_vec(),
        };
        let mut lines = self.known();
        for routine in ROUTINES.iter().filter(|routine| wanted.contains(&routine.name)) {
            // harvests are known lines and measurements at once
            lines.retain(|line| !routine.kinds.contains(&line.what));
            lines.extend(self.of_routine(routine));
        }
        lines.sort_by_key(|line| (line.date, line.what));
        lines
    }

    fn line(&self, day: usize, what: LogKind, place: &LogPlace, routine: Option<&'static str>) -> LogBox {
        let names: Vec<String> = self.plan.bed_names().map(|(_, own)| own).collect();
        let place = match place {
            LogPlace::Stream(stream) => self.plan.streams[*stream].name.clone(),
            LogPlace::Beds(beds) if beds.len() == 1 => names.get(beds.start).cloned().unwrap_or_default(),
            _ => String::new(),
        };
        LogBox { date: self.run.site.date(day), what, place, routine }
    }

    fn known(&self) -> Vec<LogBox> {
        let mut lines = Vec::new();
        for day in self.days.clone() {
            for (number, stream) in self.run.site.streams.iter().enumerate() {
                if stream.amounts.get(day).is_some_and(|amount| *amount > 0.0) {
                    lines.push(self.line(day, LogKind::ScrapsIn, &LogPlace::Stream(number), None));
                }
            }
            if self.run.site.arrivals.iter().any(|(when, _)| *when == day) {
                lines.push(self.line(day, LogKind::WormsIn, &LogPlace::Site, None));
            }
            for place in self.harvested(day) {
                lines.push(self.line(day, LogKind::CastingsTaken, &place, None));
            }
        }
        for week in self.weeks() {
            let day = self.working_day(&week);
            for room in [LogKind::DrumRoom, LogKind::BedRoom] {
                lines.push(self.line(day, room, &LogPlace::Site, None));
            }
        }
        lines
    }

    /// Beds harvested on a day, each by itself.
    fn harvested(&self, day: usize) -> impl Iterator<Item = LogPlace> {
        let today = self.run.trace.tally.harvests.iter().filter(move |harvest| harvest.day == day);
        today.flat_map(|h| h.beds.numbers().map(|bed| LogPlace::Beds(bed..bed + 1)))
    }

    /// The days by weeks from the first.
    fn weeks(&self) -> impl Iterator<Item = Range<usize>> {
        self.days.clone().step_by(WEEK).map(|first| first..self.days.end.min(first + WEEK))
    }

    /// The first day of a week on which beds are fed; the first day if none is.
    fn working_day(&self, week: &Range<usize>) -> usize {
        let fed = |day: &usize| self.run.trace.daily.get(*day).is_some_and(|record| record.fed > 0.0);
        week.clone().find(fed).unwrap_or(week.start)
    }

    fn of_routine(&self, routine: &Routine) -> Vec<LogBox> {
        let mut lines = Vec::new();
        for kind in routine.kinds {
            let place = match kind.row().place {
                Whereabouts::Beds => LogPlace::Beds(0..self.run.site.beds.len()),
                _ => LogPlace::Site,
            };
            let there = |day: &usize| self.run.on(*kind, &place, *day).is_some_and(|value| value > 0.0);
            let mut add = |day: usize, place: &LogPlace| {
                lines.push(self.line(day, *kind, place, Some(routine.name)));
            };
            match routine.often {
                Often::EachHarvest => {
                    for day in self.days.clone() {
                        let each = *kind == LogKind::CastingsTaken;
                        let most = if each { usize::MAX } else { 1 };
                        self.harvested(day).take(most).for_each(|place| add(day, &place));
                    }
                }
                Often::EachDay => self.days.clone().filter(there).for_each(|day| add(day, &place)),
                Often::Days(every) => {
                    for week in self.weeks().filter(|week| (week.start / WEEK).is_multiple_of(every / WEEK)) {
                        let day = match kind {
                            LogKind::OpenedPh => week.clone().find(there),
                            // what came together in the week
                            _ if kind.row().compared == Compared::Sum => week.clone().next_back(),
                            _ => Some(self.working_day(&week)).filter(there),
                        };
                        if let Some(day) = day {
                            add(day, &place);
                        }
                    }
                }
            }
        }
        lines
    }
}
