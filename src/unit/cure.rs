//! Curing, blending and dispatch of screened castings.
//!
//! Castings cure first in, first out, in a ring of bins. Each bin gathers a span of days: one day up to 15 days of
//! curing, and longer spans beyond, so that a bin waits for its youngest castings.
//!
//! Castings in a bin decay and nitrify as those in a bed do, by the same table, with air throughout and without loss of ammonia to
//! the air. Every rate is proportional to the temperature factor of decay, so a bin gathers days at 20 °C and decays for them in one
//! step before castings come or leave, or once four such days have gathered.

use super::bed::BedModel;
use crate::matter::lane::in_wide_registers;
use crate::matter::{Gases, Material, ratio};
use crate::process::acidity::Acidity;
use crate::process::composting::LayerConditions;
use crate::process::quality::{BulkDensity, blend_by_volume};
use serde::{Deserialize, Serialize};

/// Bins of the ring.
pub const BINS: usize = 16;
/// Days at 20 °C after which a bin decays at the latest. Source: our choice; a step of a tenth of it moves the nitrate formed in
/// a month by less than 6 %.
const LONGEST_STEP: f64 = 4.0;
/// Most spans that castings wait after the one in which they came; the other two bins are filled and emptied.
const SPANS: u32 = 14;

/// Compost to blend with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CompostBlend {
    /// Composition of one kilogram.
    pub compost: Material,
    /// Its wet bulk density, kg/m3.
    pub compost_bulk_density: f64,
    /// Share of castings in the loose volumes, m3/m3.
    pub castings_share: f64,
    /// Volume lost on mixing, m3/m3.
    pub packing: f64,
}

/// How castings are cured and sold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CureSetup {
    /// Days of curing.
    pub cure_days: u32,
    /// Days from one dispatch to the next.
    pub dispatch_every: u32,
    /// Share of cured castings sold alone, kg/kg; all of them without a blend.
    pub share_alone: f64,
    /// The blend, if any.
    pub blend: Option<CompostBlend>,
}

/// Result of a day: kg and m3.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CureDay {
    /// Gases of curing.
    pub gases: Gases,
    /// Castings sold alone.
    pub alone: Material,
    /// Blend sold, compost included.
    pub blend: Material,
    /// Compost brought in for it.
    pub compost_drawn: Material,
    /// Volume of the castings sold alone.
    pub alone_volume: f64,
    /// Volume of the blend sold.
    pub blend_volume: f64,
}

/// Castings that lie together, and the decay that they still owe.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Bin {
    matter: Material,
    /// Days at 20 °C for which they have not decayed yet.
    due: f64,
    /// When last computed.
    acidity: Acidity,
}

impl Bin {
    fn empty() -> Self {
        Self { matter: Material::zero(), due: 0.0, acidity: Acidity::of(7.0) }
    }

    /// Lets the castings decay for the days due; returns the gases, kg.
    fn settle(&mut self, model: &BedModel) -> Gases {
        let days = std::mem::take(&mut self.due);
        let water = self.matter.water();
        let dry = self.matter.dry();
        if days <= 0.0 || dry <= 0.0 {
            return Gases::zero();
        }
        in_wide_registers(
            #[inline(always)]
            || {
                self.acidity = model.pores.acidity(&self.matter, self.acidity);
                let at = LayerConditions {
                    decay: model.aeration.moisture_factor(ratio(water, water + dry)),
                    temperature: 1.0,
                    oxygen: model.aeration.oxygen_factor(),
                    aired: 1.0,
                    nitrification: model.nitrifier_ph_factor(self.acidity.ph),
                    volatilisation: 0.0,
                };
                model.composting.decay(&mut self.matter, &at, days)
            },
        )
    }
}

/// State of the curing store on an evening.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CureState {
    bins: [Bin; BINS],
    /// Bin being filled, below [`BINS`].
    pub current: usize,
    open_days: u32,
    cured: Bin,
    since_dispatch: u32,
}

impl CureState {
    /// Sets all castings, kg, from those held: bins are scaled by wet mass, and where all are empty the castings are cured.
    pub fn set_contents(&mut self, to: impl FnOnce(Material) -> Material) {
        let held = self.bins.iter().fold(self.cured.matter, |sum, bin| sum + bin.matter);
        let wanted = to(held);
        if held.wet() > 0.0 {
            let factor = wanted.wet() / held.wet();
            let all = self.bins.iter_mut().chain(std::iter::once(&mut self.cured));
            all.for_each(|bin| bin.matter = bin.matter * factor);
        } else {
            self.cured.matter = wanted;
        }
    }
}

/// Curing castings and those that wait for dispatch.
#[derive(Debug, Clone, PartialEq)]
pub struct Cure {
    setup: CureSetup,
    density: BulkDensity,
    bins: [Bin; BINS],
    /// Bin being filled.
    current: usize,
    /// Days the current bin has been open.
    open_days: u32,
    cured: Bin,
    since_dispatch: u32,
}

impl Cure {
    /// An empty store.
    pub fn new(setup: CureSetup, density: BulkDensity) -> Self {
        Self {
            setup,
            density,
            bins: [Bin::empty(); BINS],
            current: 0,
            open_days: 0,
            cured: Bin::empty(),
            since_dispatch: 0,
        }
    }

    /// Its state.
    pub fn state(&self) -> CureState {
        let Self { setup: _, density: _, bins, current, open_days, cured, since_dispatch } = self;
        CureState {
            bins: *bins,
            current: *current,
            open_days: *open_days,
            cured: *cured,
            since_dispatch: *since_dispatch,
        }
    }

    /// Puts it into a state.
    pub fn restore(&mut self, state: &CureState) {
        self.bins = state.bins;
        self.current = state.current % BINS;
        self.open_days = state.open_days;
        self.cured = state.cured;
        self.since_dispatch = state.since_dispatch;
    }

    /// How it is worked.
    pub fn setup(&self) -> &CureSetup {
        &self.setup
    }

    /// Days gathered in one bin, and the number of bins that castings wait.
    fn bin_plan(&self) -> (u32, usize) {
        let more = self.setup.cure_days.saturating_sub(1);
        let span = more.div_ceil(SPANS).max(1);
        let bins = usize::try_from(more.div_ceil(span) + 1).expect("at most 15 bins");
        (span, bins)
    }

    /// Cures for a day at a temperature (°C) with the castings that come from the screen, kg, and dispatches if it is due.
    pub fn day(&mut self, model: &BedModel, temperature: f64, screened: Material) -> CureDay {
        let mut day = CureDay {
            gases: Gases::zero(),
            alone: Material::zero(),
            blend: Material::zero(),
            compost_drawn: Material::zero(),
            alone_volume: 0.0,
            blend_volume: 0.0,
        };
        if screened.wet() > 0.0 {
            let bin = if self.setup.cure_days == 0 { &mut self.cured } else { &mut self.bins[self.current] };
            day.gases += bin.settle(model);
            bin.matter += screened;
        }
        let warm = model.aeration.temperature_factor(temperature);
        let held = self.bins.iter_mut().chain(std::iter::once(&mut self.cured));
        for bin in held.filter(|bin| !bin.matter.is_nothing()) {
            bin.due += warm;
            if bin.due >= LONGEST_STEP {
                day.gases += bin.settle(model);
            }
        }
        self.open_days += 1;
        let (span, waits) = self.bin_plan();
        if self.open_days >= span {
            self.open_days = 0;
            self.current = (self.current + 1) % BINS;
            let done = &mut self.bins[(self.current + BINS - waits) % BINS];
            if done.matter.wet() > 0.0 {
                day.gases += done.settle(model) + self.cured.settle(model);
                self.cured.matter += std::mem::take(&mut done.matter);
            }
        }
        self.since_dispatch += 1;
        if self.since_dispatch >= self.setup.dispatch_every {
            self.since_dispatch = 0;
            day.gases += self.cured.settle(model);
            self.dispatch(&mut day);
        }
        day
    }

    fn dispatch(&mut self, day: &mut CureDay) {
        let mut castings = std::mem::take(&mut self.cured.matter);
        if castings.wet() <= 0.0 {
            return;
        }
        let density = self.density.at(castings.moisture());
        if let Some(blend) = self.setup.blend {
            day.alone = castings.take_share(self.setup.share_alone);
            let amounts = blend_by_volume(
                castings.wet(),
                density,
                blend.compost_bulk_density,
                blend.castings_share,
                blend.packing,
            );
            day.compost_drawn = blend.compost * amounts.compost;
            day.blend = castings + day.compost_drawn;
            day.blend_volume = amounts.volume;
        } else {
            day.alone = castings;
        }
        day.alone_volume = day.alone.wet() / density;
    }

    /// All castings in the store.
    pub fn contents(&self) -> Material {
        self.bins.iter().fold(self.cured.matter, |sum, bin| sum + bin.matter)
    }
}

#[cfg(test)]
mod tests {
    use super::super::bed::BedModel;
    use super::*;
    use crate::literature;
    use crate::matter::{Component, Gas};

    fn model() -> BedModel {
        BedModel::from_values(&|key| literature::central(key).unwrap_or_else(|| panic!("no value for {key}")))
            .unwrap()
    }

    fn cure(cure_days: u32, dispatch_every: u32) -> Cure {
        // central values of the `bed` and `site` tables; the setup is made up.
        let density = BulkDensity { reference: 650.0, moisture: 0.45, swelling: 0.17 };
        Cure::new(CureSetup { cure_days, dispatch_every, share_alone: 1.0, blend: None }, density)
    }

    /// Days that castings put in after some idle days wait.
    fn days_waited(model: &BedModel, cure_days: u32, idle: u32) -> u32 {
        let mut c = cure(cure_days, 1);
        for _ in 0..idle {
            let _ = c.day(model, 20.0, Material::zero());
        }
        let mut screened = Material::of(Component::Minerals, 1.0);
        (1..500).find(|_| c.day(model, 20.0, std::mem::take(&mut screened)).alone.wet() > 0.0).unwrap()
    }

    #[test]
    fn castings_wait_their_days_and_at_most_two_spans_longer() {
        let model = model();
        for (days, idle) in [(1, 0), (1, 3), (7, 2), (15, 0), (15, 40)] {
            assert_eq!(days_waited(&model, days, idle), days);
        }
        for days in [16_u32, 21, 30, 45, 90, 200] {
            let span = (days - 1).div_ceil(SPANS);
            for idle in 0..2 * span {
                let waited = days_waited(&model, days, idle);
                assert!(waited >= days && waited < days + 2 * span, "{days} {idle} {waited}");
            }
        }
    }

    #[test]
    fn no_curing_passes_straight_through() {
        assert_eq!(days_waited(&model(), 0, 0), 1);
    }

    #[test]
    fn castings_leave_in_the_order_they_came() {
        let (model, mut c) = (model(), cure(10, 1));
        let _ = c.day(&model, 20.0, Material::of(Component::Minerals, 1.0));
        let _ = c.day(&model, 20.0, Material::of(Component::Salt, 1.0));
        let out: Vec<Material> = (0..10).map(|_| c.day(&model, 20.0, Material::zero()).alone).collect();
        let first = |of: Component| out.iter().position(|m| m[of] > 0.0).unwrap();
        assert_eq!((first(Component::Minerals), first(Component::Salt)), (7, 8));
    }

    /// Castings of 45 % moisture with fresh ammonium, kg per kg dry matter from a half of humus.
    fn castings() -> Material {
        let mut m = Material::of(Component::Water, 0.82);
        for (component, share) in [
            (Component::Humus, 0.5),
            (Component::Fibre, 0.15),
            (Component::Lignin, 0.12),
            (Component::Protein, 0.03),
            (Component::Ammonia, 0.002),
            (Component::Minerals, 0.198),
        ] {
            m[component] = share;
        }
        m
    }

    #[test]
    fn a_bin_decays_before_castings_come_and_once_four_days_at_20_celsius_have_gathered() {
        // by hand: a day at 22 °C counts as 1.14 days, so that four days are enough and three are not; a bin is filled for three days
        let (model, mut c) = (model(), cure(30, 1));
        assert!((model.aeration.temperature_factor(22.0) - 1.14).abs() < 0.01);
        let comes = |day: u32| if [0, 2].contains(&day) { castings() } else { Material::zero() };
        let decays = |day: &u32| c.day(&model, 22.0, comes(*day)).gases[Gas::CarbonDioxide] > 0.0;
        assert_eq!((0..12).filter(decays).collect::<Vec<_>>(), [2, 5, 9]);
    }

    /// What is left of castings after a month at 15 °C, with the gases, and that in steps of `step` days.
    fn month(model: &BedModel, step: f64) -> (Material, Gases) {
        let mut bin = Bin { matter: castings(), ..Bin::empty() };
        let warm = model.aeration.temperature_factor(15.0) * 30.0;
        let mut gases = Gases::zero();
        let mut left = warm;
        while left > 0.0 {
            bin.due = left.min(step);
            left -= bin.due;
            gases += bin.settle(model);
        }
        (bin.matter, gases)
    }

    #[test]
    fn ammonium_of_castings_nitrifies_while_they_cure_and_elements_are_conserved() {
        let model = model();
        let (mut c, given) = (cure(30, 1), castings() * 100.0);
        let mut gases = Gases::zero();
        let mut screened = given;
        let out = loop {
            let day = c.day(&model, 15.0, std::mem::take(&mut screened));
            gases += day.gases;
            if day.alone.wet() > 0.0 {
                break day.alone;
            }
        };
        assert!(out[Component::Ammonia] < 0.5 * given[Component::Ammonia], "{}", out[Component::Ammonia]);
        assert!(out[Component::Nitrate] > 2.0 * given[Component::Ammonia]);
        assert!(gases[Gas::CarbonDioxide] > 0.0 && gases[Gas::AmmoniaGas].abs() < 1e-15);
        assert!((out.elements() + gases.elements() - given.elements()).amax() < 1e-11);
    }

    #[test]
    fn the_longest_step_moves_nitrate_after_a_month_by_less_than_six_percent() {
        let model = model();
        let (coarse, fine) = (month(&model, LONGEST_STEP).0, month(&model, 0.1 * LONGEST_STEP).0);
        let gap = |component| coarse[component] / fine[component] - 1.0;
        assert!(gap(Component::Nitrate).abs() < 0.06, "{}", gap(Component::Nitrate));
        assert!((coarse.dry() / fine.dry() - 1.0).abs() < 1e-3);
    }
}
