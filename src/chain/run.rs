//! The run to the horizon.

use super::{Chain, Models, Site, SiteState};
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
    run_saving(site, models, keep, &[]).map(|(trace, _)| trace)
}

/// [`run`] that also returns the state on the evenings of some days of the run, in the order of the days.
///
/// # Errors
/// As [`run`].
pub fn run_saving(
    site: &Site,
    models: &Models,
    keep: Keep,
    evenings: &[usize],
) -> Result<(Trace, Vec<SiteState>), NotClosed> {
    let mut states = Vec::with_capacity(evenings.len());
    let mut chain = Chain::new(site, models);
    let start = chain.held();
    let start_gases = chain.drums.held_gases();
    let each_bed = keep == Keep::Beds;
    let mut daily = Vec::with_capacity(site.days);
    let mut beds = Vec::with_capacity(if each_bed { site.days * site.beds.len() } else { 0 });
    for day in 0..site.days {
        daily.push(chain.day(day, each_bed.then_some(&mut beds)));
        let done = day + 1;
        if each_bed || done.is_multiple_of(7) || done == site.days {
            chain.check(day)?;
        }
        if evenings.contains(&day) {
            states.push(chain.state(day));
        }
    }
    let held = start
        .into_iter()
        .zip(chain.held())
        .map(|((holder, start), (_, end))| {
            let [start_gases, end_gases] = match holder {
                Holder::Drums => [start_gases, chain.drums.held_gases()],
                _ => [Gases::zero(); 2],
            };
            Holding { holder, start, start_gases, end, end_gases }
        })
        .collect();
    Ok((Trace { daily, beds, ledger: chain.ledger, tally: chain.tally, held }, states))
}
