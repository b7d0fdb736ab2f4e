//! The run to the horizon.

use super::{Chain, Models, Site};
use crate::matter::Gases;
use crate::trace::{Holder, Holding, NotClosed, Trace};

/// What is kept of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Keep {
    /// Records of the site by day, as for one draw of many. The books are checked once a week and on the last day: accounts add up
    /// from the first morning, so an earlier gap is still found.
    Days,
    /// Records of every bed as well, and the books checked every evening.
    Beds,
}

/// Runs a site to its last day.
///
/// # Errors
/// [`NotClosed`] when a holder does not hold what was booked: a fault of the program.
pub fn run(site: &Site, models: &Models, keep: Keep) -> Result<Trace, NotClosed> {
    let mut chain = Chain::new(site, models);
    let start = chain.held();
    let each_bed = keep == Keep::Beds;
    let mut daily = Vec::with_capacity(site.days);
    let mut beds = Vec::with_capacity(if each_bed { site.days * site.beds.len() } else { 0 });
    for day in 0..site.days {
        daily.push(chain.day(day, each_bed.then_some(&mut beds)));
        let done = day + 1;
        if each_bed || done.is_multiple_of(7) || done == site.days {
            chain.check(day)?;
        }
    }
    let held = start
        .into_iter()
        .zip(chain.held())
        .map(|((holder, start), (_, end))| {
            let end_gases = match holder {
                Holder::Drums => chain.drums.held_gases(),
                _ => Gases::zero(),
            };
            Holding { holder, start, end, end_gases }
        })
        .collect();
    Ok(Trace { daily, beds, ledger: chain.ledger, tally: chain.tally, held })
}
