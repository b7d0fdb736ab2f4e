//! A day of fermentation in sealed drums, several cohorts side by side.

use super::{DrumCohort, LATER, Today, WATER};
use crate::matter::Gas;
use crate::matter::lane::{self, Four, Lane, Mask};
use crate::process::acidity::Acidity;
use crate::process::fermentation::course::Course;
use crate::process::fermentation::pathway::{Pathway, SUGAR_PATHWAYS};
use crate::quantity::constant::ATMOSPHERE;
use crate::unit::drum_store::{DrumVent, Fermented};
use std::collections::VecDeque;

/// Cohorts that ferment side by side.
const BESIDE: usize = Four::COUNT;

/// Pathways of spoiled drums and of drums into which air leaks.
const RARE: [Pathway; 3] = [Pathway::ButyricFromLactic, Pathway::AirOnSugars, Pathway::AirOnLactic];

/// What a day reads and changes in a drum of one cohort, or of one in each lane. Fields are those of [`DrumCohort`].
pub(super) struct Drum<L: Lane> {
    clock: L,
    /// Computed in the day.
    reached: L,
    fermentable: L,
    slow: L,
    fermented: L,
    deaminated: L,
    amounts: [L; 6],
    pub(super) held_carbon_dioxide: L,
    pub(super) held_hydrogen: L,
    course: Course<L>,
    start: L,
    acid_extent: L,
    sugar_use: L,
    per_sugar: [L; 6],
    ammonia_good: L,
    ammonia_spoiled: L,
    spoiled: L::Mask,
    leak: L,
    loaded_wet: L,
    acidity: Acidity<L>,
}

/// What a day did in a drum.
struct Done<L> {
    /// Sugar fermented, kg.
    fermented: L,
    /// Extents of the later pathways.
    later: [L; LATER],
    /// Whether a [`RARE`] pathway may have run.
    rare: bool,
    /// Oxygen given off in the drum, kg: that of leaked air is negative.
    oxygen: L,
    /// Carbon dioxide and hydrogen that left the drum, kg.
    vented: [L; 2],
    /// Gauge pressure that remains under the lid, Pa.
    gauge_pressure: L,
}

/// One day of all cohorts: reactions, then gas. Adds what leaves the drums to the day's results.
pub(in crate::unit::drum_store) fn advance(
    cohorts: &mut VecDeque<DrumCohort>,
    today: &Today<'_>,
    out: &mut Fermented,
) {
    // in one piece, so that only the last group can be smaller
    for group in cohorts.make_contiguous().chunks_mut(BESIDE) {
        if group.len() == 1 {
            together::<f64>(group, today, out);
        } else {
            lane::in_wide_registers(
                #[inline(always)]
                || together::<Four>(group, today, out),
            );
        }
    }
}

/// One day of a group of cohorts; unused lanes repeat the last one and are discarded.
#[inline(always)]
fn together<L: Lane>(group: &mut [DrumCohort], today: &Today<'_>, out: &mut Fermented) {
    let last = group.len() - 1;
    let mut drum = Drum::<L>::gather([&group[0], &group[last.min(1)], &group[last.min(2)], &group[last]]);
    let done = drum.day(today);
    lane::each_lane::<L>(
        group.len(),
        #[inline(always)]
        |place| {
            let cohort = &mut group[place];
            drum.put(place, &done, cohort);
            let count = cohort.count as f64;
            let [carbon_dioxide, hydrogen] = done.vented;
            out.gases[Gas::CarbonDioxide] += carbon_dioxide.lane(place) * count;
            out.gases[Gas::Hydrogen] += hydrogen.lane(place) * count;
            out.gases[Gas::Oxygen] += done.oxygen.lane(place) * count;
            out.gauge_pressure = out.gauge_pressure.max(done.gauge_pressure.lane(place));
            out.oldest = out.oldest.max(cohort.age(today.day));
        },
    );
}

impl<L: Lane> Drum<L> {
    #[inline(always)]
    pub(super) fn gather(each: [&DrumCohort; BESIDE]) -> Self {
        macro_rules! lanes {
            ($cohort:ident => $number:expr) => {
                L::gather(
                    #[inline(always)]
                    |place| {
                        let $cohort = each[place];
                        $number
                    },
                )
            };
        }
        let spoiled = lanes!(c => f64::from(u8::from(c.spoiled))).is_positive();
        // what only spoiled drums need is not read for others
        let (mut ammonia_spoiled, mut acidity) = (L::ZERO, Acidity { ph: L::ZERO, hydrogen: L::ONE });
        if spoiled.any() {
            ammonia_spoiled = lanes!(c => c.ammonia_spoiled);
            acidity = Acidity { ph: lanes!(c => c.acidity.ph), hydrogen: lanes!(c => c.acidity.hydrogen) };
        }
        let (mut amounts, mut per_sugar) = ([L::ZERO; 6], [L::ZERO; 6]);
        for i in 0..6 {
            amounts[i] = lanes!(c => c.amounts[i]);
            per_sugar[i] = lanes!(c => c.per_sugar[i]);
        }
        Self {
            clock: lanes!(c => c.clock),
            reached: L::ZERO,
            fermentable: lanes!(c => c.fermentable),
            slow: lanes!(c => c.slow),
            fermented: lanes!(c => c.fermented),
            deaminated: lanes!(c => c.deaminated),
            amounts,
            held_carbon_dioxide: lanes!(c => c.held_carbon_dioxide),
            held_hydrogen: lanes!(c => c.held_hydrogen),
            course: Course { rate: lanes!(c => c.course.rate), lag: lanes!(c => c.course.lag) },
            start: lanes!(c => c.start),
            acid_extent: lanes!(c => c.acid_extent),
            sugar_use: lanes!(c => c.sugar_use),
            per_sugar,
            ammonia_good: lanes!(c => c.ammonia_good),
            ammonia_spoiled,
            spoiled,
            leak: lanes!(c => c.leak),
            loaded_wet: lanes!(c => c.loaded_wet),
            acidity,
        }
    }

    /// Writes what the day changed to the cohort of a lane.
    #[inline(always)]
    fn put(&self, place: usize, done: &Done<L>, cohort: &mut DrumCohort) {
        cohort.clock = self.clock.lane(place);
        cohort.reached = self.reached.lane(place);
        cohort.fermentable = self.fermentable.lane(place);
        cohort.slow = self.slow.lane(place);
        cohort.fermented = self.fermented.lane(place);
        cohort.deaminated = self.deaminated.lane(place);
        for (there, amount) in cohort.amounts.iter_mut().zip(&self.amounts) {
            *there = amount.lane(place);
        }
        cohort.held_carbon_dioxide = self.held_carbon_dioxide.lane(place);
        cohort.held_hydrogen = self.held_hydrogen.lane(place);
        cohort.soured += done.fermented.lane(place);
        for pathway in [Pathway::LateHeterolactic, Pathway::Deamination] {
            cohort.later[at(pathway)] += done.later[at(pathway)].lane(place);
        }
        if done.rare {
            for pathway in RARE {
                cohort.later[at(pathway)] += done.later[at(pathway)].lane(place);
            }
        }
    }

    #[inline(always)]
    fn day(&mut self, today: &Today<'_>) -> Done<L> {
        self.clock += L::from(today.clock);
        let fermented = self.sour(today);
        let later = self.later_extents(today, fermented);
        let mut change = [L::ZERO; 6];
        run(&mut change, Pathway::LateHeterolactic, &later, today);
        if self.spoiled.any() {
            run(&mut change, Pathway::ButyricFromLactic, &later, today);
        }
        run(&mut change, Pathway::Deamination, &later, today);
        if self.leak.is_positive().any() {
            run(&mut change, Pathway::AirOnSugars, &later, today);
            run(&mut change, Pathway::AirOnLactic, &later, today);
        }
        for ((change, amount), per_sugar) in change.iter_mut().zip(&mut self.amounts).zip(&self.per_sugar) {
            *change += *per_sugar * fermented;
            *amount += *change;
        }
        let [.., carbon_dioxide, hydrogen, oxygen] = change;
        self.held_carbon_dioxide += carbon_dioxide;
        self.held_hydrogen += hydrogen;
        let (vented, gauge_pressure) = self.vent(today);
        let rare = self.spoiled.any() | self.leak.is_positive().any();
        Done { fermented, later, rare, oxygen, vented, gauge_pressure }
    }

    /// Sugar fermented today, kg: what the course has reached of the end point, less what is fermented already.
    ///
    /// The end point is the smaller of the acid limit and the fermentable sugar, to which released sugar adds every day.
    #[inline(always)]
    fn sour(&mut self, today: &Today<'_>) -> L {
        let released = self.slow * (1.0 - today.slow_kept);
        self.slow -= released;
        self.fermentable += released;
        self.reached = self.course.made_since(self.start, self.clock);
        let [water, sugars, ..] = self.amounts;
        let wanted = self.reached * self.acid_extent.min(self.fermentable);
        // almost dry matter stops when all its water is bound
        let by_water = water.max(L::ZERO) / self.water_use().max(L::from(f64::MIN_POSITIVE));
        let most = (sugars.max(L::ZERO) / self.sugar_use).min(by_water);
        let fermented = (wanted - self.fermented).max(L::ZERO).min(most);
        self.fermented += fermented;
        fermented
    }

    /// Water bound per kilogram of sugar fermented; negative when water forms.
    #[inline(always)]
    fn water_use(&self) -> L {
        -self.per_sugar[WATER]
    }

    /// Extents of the later pathways today.
    ///
    /// Lactic acid of the morning feeds the late bacteria and, in a spoiled drum, clostridia. Deamination follows the progress of
    /// the fermentation; in a spoiled drum it approaches its higher end point at the rate of spoilage. Leaked oxygen burns
    /// sugars, then lactic acid.
    #[inline(always)]
    fn later_extents(&mut self, today: &Today<'_>, fermented: L) -> [L; LATER] {
        let mut ran = [L::ZERO; LATER];
        let [water, sugars, lactic, ..] = self.amounts;
        let [water, sugars, lactic] = [water.max(L::ZERO), sugars.max(L::ZERO), lactic.max(L::ZERO)];
        let late = lactic * today.late_share;
        ran[at(Pathway::LateHeterolactic)] = late;
        let butyric = L::select(self.spoiled, (lactic - late) * today.spoil_share, L::ZERO);
        ran[at(Pathway::ButyricFromLactic)] = butyric;

        let spoiling = (self.ammonia_spoiled - self.deaminated) * today.spoil_share;
        let keeping = self.reached * self.ammonia_good - self.deaminated;
        let water_left = water - self.water_use() * fermented;
        let water_bound = -today.daily[Pathway::Deamination.index()][WATER];
        let deaminate = L::select(self.spoiled, spoiling, keeping);
        let deaminated = deaminate.min(water_left / water_bound).max(L::ZERO);
        ran[at(Pathway::Deamination)] = deaminated;
        self.deaminated += deaminated;

        if self.leak.is_positive().any() {
            let demand = |p: Pathway| today.rows[p.index()].oxygen_demand();
            let sugars_left = (sugars - self.sugar_use * fermented).max(L::ZERO);
            let on_sugars = (self.leak / demand(Pathway::AirOnSugars)).min(sugars_left);
            let rest = self.leak - on_sugars * demand(Pathway::AirOnSugars);
            ran[at(Pathway::AirOnSugars)] = on_sugars;
            ran[at(Pathway::AirOnLactic)] =
                (rest / demand(Pathway::AirOnLactic)).min(lactic - late - butyric);
        }
        ran
    }

    /// Lets gas out; returns carbon dioxide and hydrogen that left, kg, and the gauge pressure, Pa.
    ///
    /// Under a closed lid the gauge pressure is that of the carbon dioxide held by headspace and water, and of the hydrogen in the
    /// headspace. A valve lets out the carbon dioxide above its set pressure, and all hydrogen. The headspace is that of the
    /// matter left, so under a closed lid it treats gas as gone that is still there; the pressure is a few tenths of a percent low.
    /// In a spoiled drum bicarbonate holds carbon dioxide too, by the pH last found; in others it is next to nothing.
    #[inline(always)]
    pub(super) fn vent(&mut self, today: &Today<'_>) -> ([L; 2], L) {
        let [water, .., carbon_dioxide, hydrogen, oxygen] = self.amounts;
        let wet = self.loaded_wet - (carbon_dioxide + hydrogen + oxygen);
        let [gas_only, mut per_pressure] = today.capacity(wet, water);
        if self.spoiled.any() {
            let bicarbonate = today.powers.bicarbonate(water.max(L::ZERO), self.acidity) / ATMOSPHERE;
            per_pressure = L::select(self.spoiled, per_pressure + bicarbonate, per_pressure);
        }
        let moles = self.held_carbon_dioxide / Gas::CarbonDioxide.molar_mass();
        match today.setup.vent {
            DrumVent::Sealed => {
                let moles_of_hydrogen = self.held_hydrogen / Gas::Hydrogen.molar_mass();
                ([L::ZERO; 2], moles / per_pressure + moles_of_hydrogen / gas_only)
            }
            DrumVent::Valve { set_pressure } => {
                let over = (moles - per_pressure * (ATMOSPHERE + set_pressure)).max(L::ZERO);
                let carbon_dioxide = over * Gas::CarbonDioxide.molar_mass();
                self.held_carbon_dioxide -= carbon_dioxide;
                let hydrogen = std::mem::replace(&mut self.held_hydrogen, L::ZERO);
                let gauge = L::select(over.is_positive(), L::from(set_pressure), L::ZERO);
                ([carbon_dioxide, hydrogen], gauge)
            }
        }
    }
}

/// Position of a pathway among the later ones.
const fn at(pathway: Pathway) -> usize {
    pathway.index() - SUGAR_PATHWAYS
}

/// Adds what a later pathway changes in the daily amounts.
#[inline(always)]
fn run<L: Lane>(change: &mut [L; 6], pathway: Pathway, later: &[L; LATER], today: &Today<'_>) {
    let (row, extent) = (&today.daily[pathway.index()], later[at(pathway)]);
    for (change, x) in change.iter_mut().zip(row) {
        *change += extent * *x;
    }
}
