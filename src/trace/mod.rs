//! What happened each day: the ledger of movements and the record of states.

mod day;
pub mod failures;
pub mod figures;
mod flow;
mod holder;
mod ledger;
mod tally;
mod years;

pub use day::{BedRecord, DayRecord};
pub use flow::{Flow, FlowGroup};
pub use holder::{Account, Holder};
pub use ledger::{CLOSURE_TOLERANCE, EqualBeds, Ledger, NotClosed};
pub use tally::{BedTally, BranOrder, FeedTally, HarvestTally, StreamTally, Tally};
pub use years::{Settling, YEAR, YearChange, YearSums, settling};

use crate::matter::{Gases, Material};

/// What a holder holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Holding {
    /// Holder.
    pub holder: Holder,
    /// At the start.
    pub start: Material,
    /// Gas under the lids of drums at the start.
    pub start_gases: Gases,
    /// At the end.
    pub end: Material,
    /// Gas under the lids of drums at the end.
    pub end_gases: Gases,
}

/// Everything a run leaves behind.
#[derive(Debug, Clone)]
pub struct Trace {
    /// A record a day.
    pub daily: Vec<DayRecord>,
    /// A record a day and bed; empty unless requested.
    pub beds: Vec<BedRecord>,
    /// The ledger at the end.
    pub ledger: Ledger,
    /// Sums.
    pub tally: Tally,
    /// What the holders on the site hold.
    pub held: Vec<Holding>,
}

impl Trace {
    /// Records of one bed, from 0, in the order of days: each day has a record of every bed in turn.
    pub fn of_bed(&self, bed: usize) -> impl DoubleEndedIterator<Item = &BedRecord> {
        self.beds.iter().skip(bed).step_by(self.tally.beds.len().max(1))
    }

    /// What a holder holds; `None` for outside and air.
    pub fn holding(&self, holder: Holder) -> Option<&Holding> {
        self.held.iter().find(|held| held.holder == holder)
    }
}
