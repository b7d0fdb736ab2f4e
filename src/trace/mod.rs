//! What happened each day: the ledger of movements and the record of states.

mod ledger;

pub use ledger::CLOSURE_TOLERANCE;
pub use ledger::Flow;
pub use ledger::Holder;
pub use ledger::Ledger;
pub use ledger::NotClosed;
