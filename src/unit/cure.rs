//! Curing, blending and dispatch of screened castings.
//!
//! Castings cure first in, first out, in a ring of bins. Each bin gathers a span of days: one day up to 15 days of
//! curing, and longer spans beyond, so that a bin waits for its youngest castings. Meanwhile humus decays slowly.

use crate::matter::{Component, Gases, Material};
use crate::process::quality::{BulkDensity, Maturing, blend_by_volume};

/// Bins of the ring.
pub const BINS: usize = 16;
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

/// Curing castings and those that wait for dispatch.
#[derive(Debug, Clone, PartialEq)]
pub struct Cure {
    setup: CureSetup,
    density: BulkDensity,
    maturing: Maturing,
    bins: [Material; BINS],
    /// Bin being filled.
    current: usize,
    /// Days the current bin has been open.
    open_days: u32,
    cured: Material,
    since_dispatch: u32,
}

impl Cure {
    /// An empty store.
    pub fn new(setup: CureSetup, density: BulkDensity, maturing: Maturing) -> Self {
        Self {
            setup,
            density,
            maturing,
            bins: [Material::zero(); BINS],
            current: 0,
            open_days: 0,
            cured: Material::zero(),
            since_dispatch: 0,
        }
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

    /// Adds screened castings, kg.
    pub fn add(&mut self, castings: Material) {
        if self.setup.cure_days == 0 {
            self.cured += castings;
        } else {
            self.bins[self.current] += castings;
        }
    }

    /// Cures for a day at a temperature (°C), and dispatches if it is due.
    pub fn day(&mut self, temperature: f64) -> CureDay {
        let mut day = CureDay {
            gases: Gases::zero(),
            alone: Material::zero(),
            blend: Material::zero(),
            compost_drawn: Material::zero(),
            alone_volume: 0.0,
            blend_volume: 0.0,
        };
        let left = self.maturing.share_left(temperature, 1.0);
        let held = self.bins.iter_mut().chain(std::iter::once(&mut self.cured));
        for bin in held.filter(|bin| bin[Component::Humus] > 0.0) {
            day.gases += self.maturing.lose(bin, left);
        }
        self.open_days += 1;
        let (span, waits) = self.bin_plan();
        if self.open_days >= span {
            self.open_days = 0;
            self.current = (self.current + 1) % BINS;
            let done = (self.current + BINS - waits) % BINS;
            self.cured += std::mem::take(&mut self.bins[done]);
        }
        self.since_dispatch += 1;
        if self.since_dispatch >= self.setup.dispatch_every {
            self.since_dispatch = 0;
            self.dispatch(&mut day);
        }
        day
    }

    fn dispatch(&mut self, day: &mut CureDay) {
        let mut castings = std::mem::take(&mut self.cured);
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
        self.bins.iter().fold(self.cured, |sum, bin| sum + *bin)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cure(cure_days: u32, dispatch_every: u32) -> Cure {
        // central values of the `bed` and `site` tables; the setup is made up.
        let density = BulkDensity { reference: 650.0, moisture: 0.45, swelling: 0.17 };
        let maturing = Maturing::new(0.002, 1.066, 1.21).unwrap();
        Cure::new(CureSetup { cure_days, dispatch_every, share_alone: 1.0, blend: None }, density, maturing)
    }

    /// Days that castings put in after some idle days wait.
    fn days_waited(cure_days: u32, idle: u32) -> u32 {
        let mut c = cure(cure_days, 1);
        for _ in 0..idle {
            let _ = c.day(20.0);
        }
        c.add(Material::of(Component::Minerals, 1.0));
        (1..500).find(|_| c.day(20.0).alone.wet() > 0.0).unwrap()
    }

    #[test]
    fn castings_wait_their_days_and_at_most_two_spans_longer() {
        for (days, idle) in [(1, 0), (1, 3), (7, 2), (15, 0), (15, 40)] {
            assert_eq!(days_waited(days, idle), days);
        }
        for days in [16_u32, 21, 30, 45, 90, 200] {
            let span = (days - 1).div_ceil(SPANS);
            for idle in 0..2 * span {
                let waited = days_waited(days, idle);
                assert!(waited >= days && waited < days + 2 * span, "{days} {idle} {waited}");
            }
        }
    }

    #[test]
    fn no_curing_passes_straight_through() {
        assert_eq!(days_waited(0, 0), 1);
    }

    #[test]
    fn castings_leave_in_the_order_they_came() {
        let mut c = cure(10, 1);
        c.add(Material::of(Component::Minerals, 1.0));
        let _ = c.day(20.0);
        c.add(Material::of(Component::Salt, 1.0));
        let out: Vec<Material> = (0..10).map(|_| c.day(20.0).alone).collect();
        let first = |of: Component| out.iter().position(|m| m[of] > 0.0).unwrap();
        assert_eq!((first(Component::Minerals), first(Component::Salt)), (8, 9));
    }
}
