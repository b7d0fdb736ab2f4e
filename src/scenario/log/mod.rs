//! The log that a person keeps of a site: one CSV file of dated lines.
//!
//! [`read_log`] checks every line by itself, names what is wrong with file, line and column, and reads the rest. What is known for
//! certain replaces the plan ([`with_log`]); the rest is measured and compared with the model, by its errors ([`LogErrors`]).

mod cells;
mod error;
mod kind;
mod known;
mod read;
mod remarks;

pub use error::{LogErrors, LogScale};
pub use kind::{Compared, LogKind, LogRow, Whereabouts};
pub use known::{knows_room, with_log};
pub use read::{Log, LogLine, LogPlace, ReadLog, read_log};
pub use remarks::Remark;
