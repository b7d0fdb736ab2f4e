//! Tapping the liquor of drums, several cohorts side by side.

use super::cohort::{DrumCohort, Today};
use crate::matter::lane::{self, Four, Lane};
use crate::matter::{Gas, Material};
use crate::process::acidity::Acidity;
use crate::process::fermentation::closed::ClosedDrum;
use crate::process::fermentation::liquor::{self, Drained};
use crate::process::fermentation::pathway::{self, PATHWAYS};
use std::array;

/// Cohorts tapped side by side.
const BESIDE: usize = Four::COUNT;

/// A cohort with the liquor that is due from each of its drums, kg.
type Due<'a> = (&'a mut DrumCohort, f64);

/// Draws off the liquor that has run in the drums since their last tapping; returns all of it, kg.
pub(super) fn tap<'a>(cohorts: impl Iterator<Item = &'a mut DrumCohort>, today: &Today<'_>) -> Material {
    let mut all = Material::zero();
    // no liquor runs on the first day, or if the setup does not drain it
    let every = today.setup.tap_days.max(1);
    let mut due = cohorts
        .filter(|cohort| cohort.age(today.day).is_multiple_of(every))
        .filter_map(|cohort| cohort.liquor_due(today).map(|due| (cohort, due)));
    loop {
        let mut group: [Option<Due<'_>>; BESIDE] = array::from_fn(|_| due.next());
        match group.iter().flatten().count() {
            0 => return all,
            1 => together::<f64>(&mut group, 1, today, &mut all),
            count => lane::in_wide_registers(
                #[inline(always)]
                || together::<Four>(&mut group, count, today, &mut all),
            ),
        }
    }
}

/// Taps the first `count` cohorts; unused lanes repeat the last one and are discarded.
#[inline(always)]
fn together<L: Lane>(
    group: &mut [Option<Due<'_>>; BESIDE],
    count: usize,
    today: &Today<'_>,
    all: &mut Material,
) {
    let each = |place: usize| -> &Due<'_> {
        group[place.min(count - 1)].as_ref().expect("the first cohorts of a group are there")
    };
    let mut matter = Material::<L>::gather(|place| each(place).0.loaded());
    let [a, b, c, d] = [0, 1, 2, 3].map(|place| each(place).0.extents());
    let mut extents = [L::ZERO; PATHWAYS];
    for (pathway, lanes) in extents.iter_mut().enumerate() {
        *lanes = L::gather(|place| [a[pathway], b[pathway], c[pathway], d[pathway]][place]);
    }
    pathway::TABLE.apply(&extents, &mut matter);
    let drum = ClosedDrum {
        powers: today.powers,
        carbon_dioxide: L::gather(|place| each(place).0.held()[Gas::CarbonDioxide])
            * (1.0 / Gas::CarbonDioxide.molar_mass()),
        per_pressure: L::gather(|place| each(place).0.capacity(today)[1]),
    };
    let acidity = drum.acidity(&matter, Acidity::gather(|place| each(place).0.acidity));
    let (mass, soluble) =
        (L::gather(|place| each(place).1), L::gather(|place| each(place).0.soluble_sugars()));
    let rates = &today.rates.liquor;
    let out = liquor::drain(&mut matter, mass, soluble, rates, &today.powers.at_pressure(L::ONE), acidity);
    for (place, (cohort, _)) in group.iter_mut().flatten().enumerate() {
        let (mut left, mut liquor) = (Material::zero(), Material::zero());
        matter.put(place, &mut left);
        out.liquor.put(place, &mut liquor);
        let (pore_share, fines_share) = (out.pore_share.lane(place), out.fines_share.lane(place));
        cohort.load_again(left, acidity.lane(place), &Drained { liquor, pore_share, fines_share });
        *all += liquor * cohort.count as f64;
    }
}
