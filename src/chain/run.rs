//! The run to the horizon.

use super::Chain;
use super::Models;
use super::Site;
use crate::trace::NotClosed;
use crate::trace::StageHeld;
use crate::trace::Trace;

/// Runs a site to its last day. `bed_records` asks for a record of every bed and day.
///
/// # Errors
/// [`NotClosed`] on the first day on which a holder does not hold what was booked: a fault of the program.
pub fn run(site: &Site, models: &Models, bed_records: bool) -> Result<Trace, NotClosed> {
    let mut chain = Chain::new(site, models);
    let start = chain.held();
    let mut daily = Vec::with_capacity(site.days);
    let mut beds = Vec::with_capacity(if bed_records { site.days * site.beds.len() } else { 0 });
    for day in 0..site.days {
        daily.push(chain.day(day, bed_records.then_some(&mut beds))?);
    }
    let held = start
        .into_iter()
        .zip(chain.held())
        .map(|((stage, start, _), (_, end, end_gases))| StageHeld { stage, start, end, end_gases })
        .collect();
    Ok(Trace { daily, beds, ledger: chain.ledger, tally: chain.tally, held })
}
