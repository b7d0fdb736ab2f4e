//! Cohorts side by side: what their drums hold, tapping their liquor, and judging them.

use super::Fermented;
use super::cohort::{DrumCohort, Today};
use crate::matter::lane::{self, Four, Lane};
use crate::matter::{Gas, Material};
use crate::process::acidity::Acidity;
use crate::process::fermentation::closed::ClosedDrum;
use crate::process::fermentation::liquor::{self, Drained};
use crate::process::fermentation::pathway::{self, PATHWAYS};
use std::array;

/// Cohorts taken side by side.
const BESIDE: usize = Four::COUNT;

/// A cohort with the liquor that is due from each of its drums, kg.
type Due<'a> = (&'a mut DrumCohort, f64);

/// Draws off the liquor that has run in the drums since their last tapping; returns all of it, kg.
pub(super) fn tap<'a>(cohorts: impl Iterator<Item = &'a mut DrumCohort>, today: &Today<'_>) -> Material {
    let mut all = Material::zero();
    // no liquor runs on the first day, or if the setup does not drain it
    let every = today.setup.tap_days.max(1);
    let due = cohorts
        .filter(|cohort| cohort.age(today.day).is_multiple_of(every))
        .filter_map(|cohort| cohort.liquor_due(today).map(|due| (cohort, due)));
    in_groups(due, |group, count| match count {
        1 => lane::in_wide_registers(
            #[inline(always)]
            || tap_together::<f64>(group, 1, today, &mut all),
        ),
        count => lane::in_wide_registers(
            #[inline(always)]
            || tap_together::<Four>(group, count, today, &mut all),
        ),
    });
    all
}

/// Judges the batches that are due.
pub(super) fn judge<'a>(
    cohorts: impl Iterator<Item = &'a mut DrumCohort>,
    today: &Today<'_>,
    out: &mut Fermented,
) {
    let due = cohorts.filter_map(|cohort| cohort.is_check_due(today).then_some(cohort));
    in_groups(due, |group, count| match count {
        1 => judge_together::<f64>(group, 1, today, out),
        count => lane::in_wide_registers(
            #[inline(always)]
            || judge_together::<Four>(group, count, today, out),
        ),
    });
}

/// Does work on what is due in groups; the last may be smaller, so that each comes with its number.
fn in_groups<T>(mut due: impl Iterator<Item = T>, mut work: impl FnMut(&mut [Option<T>; BESIDE], usize)) {
    loop {
        let mut group: [Option<T>; BESIDE] = array::from_fn(|_| due.next());
        match group.iter().flatten().count() {
            0 => return,
            count => work(&mut group, count),
        }
    }
}

/// Matter of a drum of a cohort, and its acidity under the lid.
pub(super) fn contents_of(cohort: &DrumCohort, today: &Today<'_>) -> (Material, Acidity) {
    contents::<f64>([cohort; BESIDE], today)
}

/// Matter of a drum of each cohort, and its acidity under the lid with the carbon dioxide held there.
#[inline(always)]
fn contents<L: Lane>(each: [&DrumCohort; BESIDE], today: &Today<'_>) -> (Material<L>, Acidity<L>) {
    let mut matter = Material::<L>::gather(|place| each[place].loaded());
    let [a, b, c, d] = [each[0].extents(), each[1].extents(), each[2].extents(), each[3].extents()];
    let mut extents = [L::ZERO; PATHWAYS];
    for (pathway, lanes) in extents.iter_mut().enumerate() {
        *lanes = L::gather(|place| [a[pathway], b[pathway], c[pathway], d[pathway]][place]);
    }
    pathway::TABLE.apply(&extents, &mut matter);
    let drum = ClosedDrum {
        powers: today.powers,
        carbon_dioxide: L::gather(|place| each[place].held()[Gas::CarbonDioxide])
            * (1.0 / Gas::CarbonDioxide.molar_mass()),
        per_pressure: L::gather(|place| each[place].capacity(today)[1]),
    };
    let acidity = drum.acidity(&matter, Acidity::gather(|place| each[place].acidity));
    (matter, acidity)
}

/// The cohort of a lane; unused lanes repeat the last one and are discarded.
#[inline(always)]
fn in_lane<T>(group: &[Option<T>; BESIDE], count: usize, place: usize) -> &T {
    group[place.min(count - 1)].as_ref().expect("the first cohorts of a group are there")
}

/// Taps the first `count` cohorts.
#[inline(always)]
fn tap_together<L: Lane>(
    group: &mut [Option<Due<'_>>; BESIDE],
    count: usize,
    today: &Today<'_>,
    all: &mut Material,
) {
    let of = |place: usize| &*in_lane(group, count, place).0;
    let each = [of(0), of(1), of(2), of(3)];
    let (mut matter, acidity) = contents::<L>(each, today);
    let mass = L::gather(|place| in_lane(group, count, place).1);
    let soluble = L::gather(|place| each[place].soluble_sugars());
    let rates = &today.rates.liquor;
    let out = liquor::drain(&mut matter, mass, soluble, rates, &today.powers.at_pressure(L::ONE), acidity);
    lane::each_lane::<L>(
        count,
        #[inline(always)]
        |place| {
            let Some((cohort, _)) = &mut group[place] else { return };
            let (mut left, mut liquor) = (Material::zero(), Material::zero());
            matter.put(place, &mut left);
            out.liquor.put(place, &mut liquor);
            let (pore_share, fines_share) = (out.pore_share.lane(place), out.fines_share.lane(place));
            cohort.load_again(left, acidity.lane(place), &Drained { liquor, pore_share, fines_share });
            *all += liquor * cohort.count as f64;
        },
    );
}

/// Judges the first `count` cohorts.
#[inline(always)]
fn judge_together<L: Lane>(
    group: &mut [Option<&mut DrumCohort>; BESIDE],
    count: usize,
    today: &Today<'_>,
    out: &mut Fermented,
) {
    let of = |place: usize| &**in_lane(group, count, place);
    let (matter, acidity) = contents::<L>([of(0), of(1), of(2), of(3)], today);
    lane::each_lane::<L>(
        count,
        #[inline(always)]
        |place| {
            let Some(cohort) = &mut group[place] else { return };
            let mut own = Material::zero();
            matter.put(place, &mut own);
            if let Some(reason) = cohort.check(&own, acidity.lane(place), today) {
                out.spoiled += cohort.count;
                out.spoiled_by[reason as usize] += cohort.count;
            } else if !cohort.spoiled && cohort.margin < today.rates.stability.stable_margin {
                out.watch += cohort.count;
            }
        },
    );
}
