//! Beds in one state: equal beds stay equal until they are harvested in turn, so one of them represents all.

use super::Site;
use crate::trace::EqualBeds;
use crate::unit::bed::{Bed, BedDay, BedToday};
use std::ops::Range;

/// Neighbouring beds in the very same state.
#[derive(Debug, Clone)]
pub(super) struct Cohort {
    /// The state of each.
    pub(super) bed: Bed,
    /// Number of the first, from 0; the ledger keeps the account of all under it.
    pub(super) first: usize,
    /// How many.
    pub(super) count: usize,
    /// Feed laid on each today, kg.
    pub(super) fed: f64,
    /// What each did today.
    pub(super) today: BedDay,
}

impl BedToday for Cohort {
    #[inline(always)]
    fn bed(&self) -> &Bed {
        &self.bed
    }
    #[inline(always)]
    fn parts(&mut self) -> (&mut Bed, &mut BedDay) {
        (&mut self.bed, &mut self.today)
    }
}

impl Cohort {
    /// The beds of a site on its first morning, at a temperature.
    pub(super) fn of(site: &Site, temperature: f64) -> Vec<Self> {
        let mut cohorts: Vec<Self> = Vec::new();
        for (first, start) in site.beds.iter().enumerate() {
            let mut bed = Bed::new(start.setup, start.bedding, start.volume, temperature, start.worms);
            bed.ready.add(start.filled, start.filled_volume);
            match cohorts.last_mut() {
                Some(last) if last.bed == bed => last.count += 1,
                _ => cohorts.push(Self { bed, first, count: 1, fed: 0.0, today: BedDay::default() }),
            }
        }
        cohorts
    }

    /// Numbers of the beds.
    pub(super) fn numbers(&self) -> Range<usize> {
        self.group().numbers()
    }

    /// The beds as the ledger books them.
    pub(super) fn group(&self) -> EqualBeds {
        EqualBeds { first: self.first, count: self.count }
    }

    /// How many, as a factor.
    pub(super) fn times(&self) -> f64 {
        self.count as f64
    }

    /// Keeps the first `count` beds and returns the others as a cohort of their own.
    pub(super) fn split_off(&mut self, count: usize) -> Self {
        let rest = Self { first: self.first + count, count: self.count - count, ..self.clone() };
        self.count = count;
        rest
    }
}
