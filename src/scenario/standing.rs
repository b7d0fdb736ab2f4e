//! From a site as the scenario says it stands to its state: the plan is run up to that evening, and what is known is put in.

use super::Almanac;
use super::assemble::{AssembleError, assemble_on, worms};
use super::calendar::days_between;
use super::plan::{Plan, Standing, StandingBeds};
use crate::chain::{self, Known, KnownBed, KnownDrums, KnownWorms, SiteState};
use jiff::civil::Date;

/// The state on the evening before the first day. `None` if the scenario does not say how the site stands.
///
/// # Errors
/// As [`assemble_on`].
pub(super) fn state(plan: &Plan, get: &dyn Fn(&str) -> f64) -> Result<Option<SiteState>, AssembleError> {
    let Some(standing) = plan.standing() else { return Ok(None) };
    let mut before = plan.clone();
    before.choices.as_it_stands = None;
    before.choices.days = standing.days_run;
    let back = jiff::Span::new().days(i64::from(standing.days_run));
    before.choices.start = plan.start.saturating_sub(back);
    let (site, models) = assemble_on(&before, &Almanac::of(&before), get)?;
    let evening = plan.start.yesterday().unwrap_or(plan.start);
    let known = known(plan, standing, evening);
    let stocked = |mass: f64| worms(plan.structure(), mass, &models.bed.worms, get);
    let filled = chain::state_after(&site, &models);
    Ok(Some(filled.with_known(&known, &site, &models, &stocked)))
}

fn known(plan: &Plan, standing: &Standing, evening: Date) -> Known {
    let drums = standing.drums.as_ref().map(|drums| {
        let of = |d: &super::plan::StandingDrums| KnownDrums {
            age: d.age_on(evening).unwrap_or(0),
            count: d.count as usize,
        };
        drums.iter().map(of).collect()
    });
    let beds = plan
        .bed_names()
        .map(|name| standing.bed(&name).map_or_else(KnownBed::default, |bed| of_bed(bed, evening)));
    Known {
        bran: standing.bran,
        drums,
        filling: standing.filling,
        paste: standing.paste,
        drying: standing.drying,
        curing: standing.curing,
        beds: beds.collect(),
    }
}

fn of_bed(bed: &StandingBeds, evening: Date) -> KnownBed {
    let counted =
        bed.sampled.as_ref().map(|sample| KnownWorms::PerArea(f64::from(sample.worms) / sample.area));
    KnownBed {
        castings: bed.castings,
        depth: bed.depth,
        ready: bed.ready,
        fresh: bed.fresh,
        moisture: bed.moisture,
        temperature: bed.temperature,
        worms: bed.worms.map(KnownWorms::Mass).or(counted),
        days_since_harvest: bed.harvested.and_then(|day| u32::try_from(days_between(day, evening)).ok()),
    }
}
