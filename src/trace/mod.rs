//! What happened each day: the ledger of movements and the record of states.

mod day;
mod ledger;

pub use day::BedRecord;
pub use day::DayRecord;
pub use ledger::CLOSURE_TOLERANCE;
pub use ledger::Flow;
pub use ledger::Holder;
pub use ledger::Ledger;
pub use ledger::NotClosed;
