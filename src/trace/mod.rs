//! What happened each day: the ledger of movements and the record of states.

mod day;
pub mod figures;
mod ledger;
mod tally;

pub use day::{BedRecord, DayRecord};
pub use ledger::{CLOSURE_TOLERANCE, Flow, Holder, Ledger, NotClosed};
pub use tally::{BedTally, StreamTally, Tally};

use crate::matter::{Gases, Material};

/// What a stage holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StageHeld {
    /// Stage.
    pub stage: &'static str,
    /// At the start.
    pub start: Material,
    /// At the end.
    pub end: Material,
    /// Gas under the lids at the end (drums start empty).
    pub end_gases: Gases,
}

/// Everything a run leaves behind.
#[derive(Debug, Clone)]
pub struct Trace {
    /// A record a day.
    pub daily: Vec<DayRecord>,
    /// A record a day and bed; empty when not asked for.
    pub beds: Vec<BedRecord>,
    /// The ledger at the end.
    pub ledger: Ledger,
    /// Sums.
    pub tally: Tally,
    /// What the stages held.
    pub held: Vec<StageHeld>,
}

impl Trace {
    /// Records of one bed, from 0, in the order of days: each day has a record of every bed in turn.
    pub fn of_bed(&self, bed: usize) -> impl DoubleEndedIterator<Item = &BedRecord> {
        self.beds.iter().skip(bed).step_by(self.tally.beds.len().max(1))
    }
}
