//! How long a site is followed beyond its run.

use crate::quantity::Kind::{Count, Share};
use crate::scenario::rule::set;
use crate::scenario::section::section;

section! {
    /// The settled year: the first whole year that is like the one before. A run of a year or more is followed until then.
    #[derive(Copy)]
    pub struct SettledYear {
        /// Largest difference between a settled year and the one before, as a share of the larger: in scraps taken in, worms, castings,
        /// feed eaten, water added and salt held.
        tolerance: f64 = set(Share, 0.001, 0.5, 0.05, "choice"),
        /// Most years that a site is followed, the first included; 1 seeks no settled year. Beyond the run, streams stay as large as
        /// on its last day but for weekdays, months and closed days.
        most_years: u32 = set(Count, 1.0, 10.0, 8.0, "choice"),
    }
}
