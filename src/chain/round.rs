//! The work of single days: what the chain moves on them, by drum and bed.

use super::run::days_of;
use super::{Chain, Models, Site};
use crate::trace::{BedRecord, DayRecord, Flow, NotClosed, Trace};
use crate::unit::starter::LotState;
use std::collections::BTreeMap;

/// Drums that were filled on one day and are opened on another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DrumsOpened {
    /// Day of the run on which they were sealed, full; below 0 before the run.
    pub sealed_on: i64,
    /// How many.
    pub count: usize,
}

/// The day of one bed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BedRound {
    /// Feed laid, kg.
    pub fed: f64,
    /// Water added, kg.
    pub water: f64,
    /// Castings harvested, kg.
    pub castings: f64,
}

/// The work of a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// The day of the whole site.
    pub record: DayRecord,
    /// Drums sealed.
    pub sealed: usize,
    /// Drums opened, those filled first in front.
    pub opened: Vec<DrumsOpened>,
    /// Starter begun, L.
    pub starter_begun: f64,
    /// Bran begun, kg as dried.
    pub bran_begun: f64,
    /// Grit mixed in, kg.
    pub grit: f64,
    /// Each bed.
    pub beds: Vec<BedRound>,
}

/// The work of so many days from day `from` of a run, and the run up to their end; what moves is the same to the last bit as in the run.
///
/// # Errors
/// [`NotClosed`] when a holder does not hold what was booked: a fault of the program.
///
/// # Panics
/// If the site has fewer days.
pub fn rounds(
    site: &Site,
    models: &Models,
    from: usize,
    days: usize,
) -> Result<(Vec<Round>, Trace), NotClosed> {
    let mut made = Vec::with_capacity(days);
    let trace = days_of(site, models, from + days, |chain, day, beds| {
        if day < from {
            return chain.day(day, Some(beds));
        }
        let round = chain.round(day, beds);
        let record = round.record;
        made.push(round);
        record
    })?;
    Ok((made, trace))
}

impl Chain<'_> {
    /// One day's round with its work.
    fn round(&mut self, day: usize, records: &mut Vec<BedRecord>) -> Round {
        let before = self.sealed_by_day(day);
        let (sealed, harvests) = (self.tally.sealed, self.tally.harvests.len());
        let grit = self.ledger.matter(Flow::Grit).wet();
        let record = self.day(day, Some(records));
        let after = self.sealed_by_day(day);
        let sealed = self.tally.sealed - sealed;
        let clock = self.clock(day);
        let bran = self.bran.state(clock);
        let begun = |lots: &[LotState]| lots.iter().filter(|lot| lot.age == 0).map(|lot| lot.amount).sum();
        let mut beds = vec![BedRound::default(); self.site.beds.len()];
        for cohort in &self.beds {
            for bed in &mut beds[cohort.numbers()] {
                (bed.fed, bed.water) = (cohort.fed, cohort.today.irrigated);
            }
        }
        for harvest in &self.tally.harvests[harvests..] {
            for bed in &mut beds[harvest.beds.numbers()] {
                bed.castings += harvest.castings.wet();
            }
        }
        Round {
            opened: opened(before, &after, (self.since_first(day), sealed)),
            record,
            sealed,
            starter_begun: begun(&bran.brewing),
            bran_begun: begun(&bran.fermenting),
            grit: self.ledger.matter(Flow::Grit).wet() - grit,
            beds,
        }
    }

    /// A day of the run as a number that may lie before it.
    fn since_first(&self, day: usize) -> i64 {
        i64::from(self.clock(day)) - i64::from(self.first_day)
    }

    /// Sealed drums by the day of the run on which they were sealed.
    fn sealed_by_day(&self, day: usize) -> BTreeMap<i64, usize> {
        let mut all = BTreeMap::new();
        for (age, count) in self.drums.state(self.clock(day)).ages() {
            *all.entry(self.since_first(day) - i64::from(age)).or_insert(0) += count;
        }
        all
    }
}

/// Drums that are missing in the evening, those sealed today included.
fn opened(
    mut before: BTreeMap<i64, usize>,
    after: &BTreeMap<i64, usize>,
    (today, sealed): (i64, usize),
) -> Vec<DrumsOpened> {
    *before.entry(today).or_insert(0) += sealed;
    let missing = |(&sealed_on, &count): (&i64, &usize)| {
        let count = count - after.get(&sealed_on).copied().unwrap_or(0).min(count);
        (count > 0).then_some(DrumsOpened { sealed_on, count })
    };
    before.iter().filter_map(missing).collect()
}

#[cfg(test)]
mod tests {
    use super::super::tests::worked;
    use super::*;
    use crate::chain::{Keep, run};

    #[test]
    fn rounds_are_the_days_of_the_run_by_drum_and_bed() {
        for name in ["harbour_hall", "valley_packhouse", "mountain_school"] {
            let (site, models) = worked(name);
            let whole = run(&site, &models, Keep::Beds).unwrap();
            let from = site.days / 2;
            let (rounds, trace) = rounds(&site, &models, from, 28).unwrap();
            assert_eq!(trace.daily, whole.daily[..from + 28]);
            for (day, round) in (from..).zip(&rounds) {
                assert_eq!(round.record, whole.daily[day], "{name} {day}");
                let drums: usize = round.opened.iter().map(|opened| opened.count).sum();
                assert!((drums as f64 - round.record.drums_opened).abs() < 1e-9, "{name} {day}");
                for (number, bed) in round.beds.iter().enumerate() {
                    let recorded = whole.beds[day * site.beds.len() + number];
                    assert_eq!(bed.fed.to_bits(), recorded.fed.to_bits(), "{name} {day} {number}");
                }
                let water: f64 = round.beds.iter().map(|bed| bed.water).sum();
                let castings: f64 = round.beds.iter().map(|bed| bed.castings).sum();
                assert!((water - round.record.irrigation).abs() < 1e-6, "{name} {day}");
                assert!((castings - round.record.harvested).abs() < 1e-6, "{name} {day}");
            }
        }
    }

    #[test]
    fn starter_is_begun_on_days_of_the_bran_plan_and_bran_when_it_is_ready() {
        let (site, models) = worked("harbour_hall");
        let (rounds, _) = rounds(&site, &models, 0, 120).unwrap();
        let begun = |of: fn(&Round) -> f64| -> Vec<usize> {
            (0..).zip(&rounds).filter(|(_, round)| of(round) > 0.0).map(|(day, _)| day).collect()
        };
        let (starter, bran) = (begun(|round| round.starter_begun), begun(|round| round.bran_begun));
        assert!(starter.len() > 1 && starter.iter().all(|day| day % 7 == 0), "{starter:?}");
        // starter is ready after a fortnight
        assert!((site.bran.making.practice.activation_days - 14.0).abs() < 1e-12);
        let ready = starter.iter().map(|day| day + 14).filter(|day| *day < rounds.len());
        assert!(ready.clone().count() > 0 && ready.clone().all(|day| bran.contains(&day)), "{bran:?}");
        let least = site.bran.making.least_starter;
        assert!(starter.iter().all(|day| rounds[*day].starter_begun >= least));
    }

    #[test]
    fn drums_are_opened_in_the_order_in_which_they_were_filled() {
        let (site, models) = worked("harbour_hall");
        let (rounds, _) = rounds(&site, &models, 60, 60).unwrap();
        let mut last = i64::MIN;
        for (day, round) in (60..).zip(&rounds) {
            for opened in &round.opened {
                assert!(opened.sealed_on >= last, "{day}: {} after {last}", opened.sealed_on);
                assert!(day - opened.sealed_on >= i64::from(site.drums.minimum_days));
                last = opened.sealed_on;
            }
        }
        assert!(last > 0);
    }

    #[test]
    fn missing_drums_are_counted_by_the_day_they_were_sealed() {
        // by hand: of three sealed on day 2 one is left, both of day 4 are there, one of two sealed today is gone
        let map = |pairs: &[(i64, usize)]| pairs.iter().copied().collect::<BTreeMap<i64, usize>>();
        let made = opened(map(&[(2, 3), (4, 2)]), &map(&[(2, 1), (4, 2), (9, 1)]), (9, 2));
        let wanted = [DrumsOpened { sealed_on: 2, count: 2 }, DrumsOpened { sealed_on: 9, count: 1 }];
        assert_eq!(made, wanted);
    }
}
