//! A worm bed: fresh, ready and castings layers, one temperature, and its worms.
//!
//! Fresh paste is acid and unavailable; an aerobic front makes it ready, burning its acids; worms turn ready feed into
//! castings. The matter of live worms is held apart from the bed, as *stock*, so that it cannot be made from nothing.

mod day;
mod layer;
mod model;
mod profile;

pub use day::{BESIDE, BedDay, Weather, days};
pub use layer::BedLayer;
pub use model::{BedModel, BedParameters};

use crate::matter::Material;
use crate::process::acidity::Acidity;
use crate::process::worm::{Lost, Population, WormRecovery};

/// The choices that make a bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedSetup {
    /// Bed area. # Units: m2
    pub area: f64,
    /// Largest depth. # Units: m
    pub depth: f64,
    /// Surface wetness and cover factor; `None` takes the literature value.
    pub surface_wetness: Option<f64>,
    /// Heat transfer to the room; `None` takes the literature value. # Units: W/(m2 K)
    pub heat_transfer: Option<f64>,
    /// Moisture below which the operator waters, and the moisture aimed at. # Units: kg/kg wet
    pub moisture_band: (f64, f64),
    /// Largest share of the bed's mass that may be fresh.
    pub fresh_share_limit: f64,
    /// Thickest layer laid at one feeding. # Units: m
    pub largest_layer: f64,
    /// No feeding above this bed temperature. # Units: °C
    pub hottest: f64,
    /// No feeding below this bed temperature. # Units: °C
    pub coldest: f64,
    /// No feeding when ready feed exceeds this many days of eating.
    pub overfeed_days: f64,
}

/// Why a bed takes no (more) feed today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FeedLimit {
    /// The ration is the limit: the bed takes all that its worms are due.
    Ration,
    /// Too much of the bed is still fresh.
    Fresh,
    /// Ready feed lies uneaten.
    Unready,
    /// Too hot or too cold.
    Temperature,
    /// The layer would be too thick, or the bed is full.
    Room,
    /// No worms live in it.
    NoStock,
}

/// A bed and its worms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bed {
    setup: BedSetup,
    /// Acid paste that worms cannot eat yet.
    pub fresh: BedLayer,
    /// Feed within the worms' reach.
    pub ready: BedLayer,
    /// Castings and bedding.
    pub castings: BedLayer,
    /// Bed temperature. # Units: °C
    pub temperature: f64,
    /// Acidity of the zone worms live in at the last look.
    zone: Acidity,
    /// Live worms and cocoons.
    pub worms: Population,
    days_since_harvest: f64,
}

/// What a harvest took from a bed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Harvested {
    /// Castings, with the matter of the worms that went with them.
    pub castings: Material,
    /// Matter of the worms that went (already inside `castings`), leaving the stock.
    pub tissue: Material,
    /// Worms and cocoons that did not come back.
    pub lost: Lost,
}

impl Bed {
    /// A bed of bedding (as its castings layer) at a temperature, with the worms given. # Units: kg, m3, °C
    pub fn new(setup: BedSetup, bedding: Material, volume: f64, temperature: f64, worms: Population) -> Self {
        Self {
            setup,
            fresh: BedLayer { acidity: Acidity::of(4.0), ..BedLayer::default() },
            ready: BedLayer::default(),
            castings: BedLayer { matter: bedding, volume, ..BedLayer::default() },
            temperature,
            zone: Acidity::of(7.0),
            worms,
            days_since_harvest: 0.0,
        }
    }

    /// The choices that made it.
    pub fn setup(&self) -> &BedSetup {
        &self.setup
    }

    /// All matter but the worms'.
    pub fn contents(&self) -> Material {
        self.fresh.matter + self.ready.matter + self.castings.matter
    }

    /// Matter of the live worms.
    pub fn tissue(&self, model: &BedModel) -> Material {
        model.parameters.tissue * self.worms.biomass(&model.worms)
    }

    /// Depth of all layers. # Units: m
    pub fn depth(&self) -> f64 {
        (self.fresh.volume + self.ready.volume + self.castings.volume) / self.setup.area
    }

    /// Days since castings were last taken. # Units: d
    pub fn days_since_harvest(&self) -> f64 {
        self.days_since_harvest
    }

    /// Most feed the bed can take now, and the limit that binds. `ration` is what live worms are due today; `density` the bulk
    /// density of the feed. # Units: kg wet per kg live; kg/m3
    pub fn room_for_feed(&self, model: &BedModel, ration: f64, density: f64) -> (f64, FeedLimit) {
        let s = &self.setup;
        let stock = self.worms.biomass(&model.worms);
        if stock <= 0.0 {
            return (0.0, FeedLimit::NoStock);
        }
        if self.temperature > s.hottest || self.temperature < s.coldest {
            return (0.0, FeedLimit::Temperature);
        }
        let eating = model.worms.parameters().maximum_intake * stock;
        let uneaten = self.ready.matter.dry() / model.parameters.feed_dry_share;
        if uneaten > s.overfeed_days * eating {
            return (0.0, FeedLimit::Unready);
        }
        let total = self.contents().wet();
        let fresh = (s.fresh_share_limit * total - self.fresh.matter.wet()) / (1.0 - s.fresh_share_limit);
        let room = (s.largest_layer * s.area * density).min((s.depth - self.depth()) * s.area * density);
        let mut limit = (ration * stock, FeedLimit::Ration);
        for candidate in [(fresh, FeedLimit::Fresh), (room, FeedLimit::Room)] {
            if candidate.0 < limit.0 {
                limit = candidate;
            }
        }
        (limit.0.max(0.0), limit.1)
    }

    /// Lays feed on the bed as fresh paste. # Units: kg, m3
    pub fn feed(&mut self, feed: Material, volume: f64) {
        self.fresh.add(feed, volume);
    }

    /// Puts matter back among the castings (overs of the screen, wash water).
    pub fn return_to_castings(&mut self, matter: Material, model: &BedModel) {
        let volume = matter.dry() / model.parameters.castings_dry_density;
        self.castings.add(matter, volume);
    }

    /// Takes a share of the castings; the worms in them come back as the recovery shares say.
    pub fn harvest(&mut self, share: f64, recovery: &WormRecovery, model: &BedModel) -> Harvested {
        let (castings, _) = self.castings.take_share(share);
        let lost = self.worms.recover(recovery, share, &model.worms);
        let tissue = model.parameters.tissue * lost.biomass;
        self.days_since_harvest = 0.0;
        Harvested { castings: castings + tissue, tissue, lost }
    }

    /// Adds worms (a purchase or a transfer); their matter must be booked by the caller.
    pub fn stock(&mut self, worms: &Population, model: &BedModel) {
        self.worms.merge(worms, &model.worms);
    }

    /// Takes a share of the worms out (sold or moved) and returns them.
    #[must_use = "worms taken out must go somewhere"]
    pub fn take_worms(&mut self, share: f64) -> Population {
        let taken = self.worms.scaled(share);
        self.worms = self.worms.scaled(1.0 - share);
        taken
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::literature;
    use crate::matter::Component;

    pub(crate) fn model() -> BedModel {
        BedModel::from_values(&|key| literature::central(key).unwrap_or_else(|| panic!("no value for {key}")))
            .unwrap()
    }

    pub(super) fn setup(area: f64) -> BedSetup {
        BedSetup {
            area,
            depth: 0.6,
            surface_wetness: None,
            heat_transfer: None,
            moisture_band: (0.7, 0.8),
            fresh_share_limit: 0.225,
            largest_layer: 0.03,
            hottest: 28.0,
            coldest: 5.0,
            overfeed_days: 5.0,
        }
    }

    pub(super) fn bedding(kilograms: f64) -> Material {
        let mut m = Material::of(Component::Water, 0.7 * kilograms);
        for (c, share) in [
            (Component::Fibre, 0.25),
            (Component::Lignin, 0.15),
            (Component::Humus, 0.2),
            (Component::Protein, 0.03),
            (Component::Minerals, 0.35),
            (Component::Potassium, 0.01),
            (Component::Phosphorus, 0.01),
        ] {
            m[c] = 0.3 * share * kilograms;
        }
        *m.buffer_mut() = 0.05 * m.dry();
        m
    }

    /// One kilogram of fermented paste with bulking, acid (pH about 4), 30 % dry matter.
    pub(super) fn paste() -> Material {
        let mut m = Material::of(Component::Water, 0.7);
        for (c, share) in [
            (Component::Sugars, 0.22),
            (Component::Fibre, 0.30),
            (Component::Lignin, 0.09),
            (Component::Protein, 0.13),
            (Component::Fat, 0.10),
            (Component::Lactic, 0.04),
            (Component::Acetic, 0.02),
            (Component::Potassium, 0.008),
            (Component::Phosphorus, 0.004),
            (Component::Salt, 0.008),
        ] {
            m[c] = 0.3 * share;
        }
        m[Component::Minerals] = 1.0 - m.wet();
        *m.buffer_mut() = 0.045 * 0.3;
        *m.base_mut() = 0.10 * 0.3;
        m
    }

    #[test]
    fn a_year_of_a_bed_is_sane_and_closes() {
        let model = model();
        let area = 25.0;
        let worms = Population::at_stable_structure(70.0, &model.worms);
        let mut bed = Bed::new(setup(area), bedding(area * 0.15 * 650.0), area * 0.15, 18.0, worms);
        let mut held = bed.contents().elements() + bed.tissue(&model).elements();
        let (mut fed, mut taken) = (0.0, 0.0);
        let mut gases = crate::matter::Gases::zero();
        for _ in 0..365 {
            let air = Weather { temperature: 18.0, humidity: 0.7 };
            let (amount, _) = bed.room_for_feed(&model, 0.3, 600.0);
            let feed = paste() * amount;
            bed.feed(feed, amount / 600.0);
            held += feed.elements();
            fed += amount;
            let out = bed.day(&model, &air, 1);
            gases += out.gases;
            held += Material::of(Component::Water, out.irrigated).elements()
                - out.gases.elements()
                - out.drained.elements();
            if bed.days_since_harvest() > 60.0 {
                let got = bed.harvest(
                    0.5,
                    &WormRecovery { cocoon: 0.8, juvenile: 0.8, subadult: 0.93, adult: 0.97 },
                    &model,
                );
                taken += got.castings.dry();
                held -= got.castings.elements();
            }
        }
        // fed by ration all year: something is eaten, harvested and burnt, and the stock neither dies nor explodes
        let stock = bed.worms.biomass(&model.worms);
        assert!(fed > 1000.0 && taken > 0.1 * 0.3 * fed && taken < 0.3 * fed + 500.0, "{fed} {taken}");
        assert!(gases[crate::matter::Gas::CarbonDioxide] > 0.1 * 0.3 * fed);
        assert!((10.0..500.0).contains(&stock) && (10.0..30.0).contains(&bed.temperature), "{stock}");
        let gap = (bed.contents().elements() + bed.tissue(&model).elements() - held).amax();
        assert!(gap < 1e-9 * held.amax(), "{gap}");
    }

    #[test]
    fn the_limits_of_feeding_by_hand() {
        // 20 kg of worms on 10 m2 of 1000 kg bedding, 15 cm deep, feed of 600 kg/m3
        let model = model();
        let most = |ration: f64, change: &dyn Fn(&mut Bed)| {
            let worms = Population::from_adults(20.0, &model.worms);
            let mut bed = Bed::new(setup(10.0), bedding(1000.0), 1.5, 18.0, worms);
            change(&mut bed);
            bed.room_for_feed(&model, ration, 600.0)
        };
        let plain = |_: &mut Bed| {};
        let at = |t: f64| move |bed: &mut Bed| bed.temperature = t;
        // ready feed that is eaten in so many days at the largest intake
        let eating = model.worms.parameters().maximum_intake * 20.0 * model.parameters.feed_dry_share;
        let uneaten =
            |days: f64| move |bed: &mut Bed| bed.ready.matter = Material::of(Component::Fibre, eating * days);
        for ((kilograms, limit), wanted) in [
            (most(0.3, &plain), (6.0, FeedLimit::Ration)),
            // a layer of 3 cm
            (most(30.0, &plain), (180.0, FeedLimit::Room)),
            // 1 cm to the brim
            (most(30.0, &|bed| bed.castings.volume = 5.9), (60.0, FeedLimit::Room)),
            (most(30.0, &|bed| bed.castings.volume = 6.1), (0.0, FeedLimit::Room)),
            // 200 of 1200 kg are fresh: x more may be, (200 + x) / (1200 + x) = 0.225
            (most(30.0, &|bed| bed.feed(paste() * 200.0, 0.3)), (70.0 / 0.775, FeedLimit::Fresh)),
            (most(0.3, &at(28.0)), (6.0, FeedLimit::Ration)),
            (most(0.3, &at(28.1)), (0.0, FeedLimit::Temperature)),
            (most(0.3, &at(5.0)), (6.0, FeedLimit::Ration)),
            (most(0.3, &at(4.9)), (0.0, FeedLimit::Temperature)),
            (most(0.3, &uneaten(4.9)), (6.0, FeedLimit::Ration)),
            (most(0.3, &uneaten(5.1)), (0.0, FeedLimit::Unready)),
            (most(0.3, &|bed| bed.worms = Population::empty()), (0.0, FeedLimit::NoStock)),
        ] {
            assert_eq!(limit, wanted.1, "{kilograms} {wanted:?}");
            assert!((kilograms - wanted.0).abs() < 1e-9, "{kilograms} {wanted:?}");
        }
    }

    #[test]
    fn the_operator_waters_to_the_middle_of_the_band_and_not_beyond_the_pores() {
        // by hand: 30 kg dry matter with 60 kg water stand at 67 %; 75 % is 90 kg
        let model = model();
        let watered = |water: f64, volume: f64| {
            let mut matter = bedding(100.0);
            matter[Component::Water] = water;
            let bed = Bed::new(setup(1.0), matter, volume, 18.0, Population::empty());
            profile::Profile::<f64>::gather(&model, |_| &bed).irrigate(&model)
        };
        assert!((watered(60.0, 1.0) - 30.0).abs() < 1e-9);
        assert!(watered(70.1, 1.0).abs() < 1e-12, "in the band");
        // what is left free of water is the porosity up to which worms breathe freely
        let solids = 30.0 / model.aeration.solid_density;
        let full = (1.0 - model.parameters.porosity_full) * 0.12 - solids;
        assert!((watered(60.0, 0.12) - (full * 1000.0 - 60.0)).abs() < 1e-9, "{}", watered(60.0, 0.12));
        let porosity = model.aeration.air_filled_porosity(30.0, 60.0 + watered(60.0, 0.12), 0.12);
        assert!((porosity - model.parameters.porosity_full).abs() < 1e-12);
        assert!(watered(60.0, 0.05).abs() < 1e-12, "no pores are left");
    }

    #[test]
    fn depth_is_volume_over_area() {
        let mut bed = Bed::new(setup(10.0), bedding(1000.0), 1.5, 18.0, Population::empty());
        bed.feed(paste(), 0.2);
        bed.ready.add(paste(), 0.1);
        assert!((bed.depth() - 0.18).abs() < 1e-12);
    }
}
