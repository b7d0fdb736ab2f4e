//! A worm bed: fresh, ready and castings layers, one temperature, and its worms.
//!
//! Fresh paste is too acid for worms. An aerobic front burns its acids and makes it ready; worms turn ready feed into castings.
//! The matter of live worms is booked apart from the bed, as *stock*, so that worms cannot grow from nothing.
//!
//! A day of a bed has these steps, in this order: irrigation, the worms' day by the conditions of the morning, what they eat
//! and grow, then decay, the aerobic front, evaporation, drainage and heat.

mod day;
mod layer;
mod model;
mod profile;
mod state;

pub use day::{BESIDE, BedDay, BedToday, Weather, days};
pub use layer::BedLayer;
pub use model::{BedModel, BedParameters};
pub use state::{BedState, LayerState};

use crate::matter::Material;
use crate::process::acidity::Acidity;
use crate::process::worm::{Lost, Population, WormRecovery};

/// A range of moisture, kg/kg wet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoistureBand<L = f64> {
    /// Moisture below which the operator waters.
    pub low: L,
    /// Upper end of the range; watering aims at the middle.
    pub high: L,
}

/// How a bed is built and worked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedSetup {
    /// Area, m2.
    pub area: f64,
    /// Largest depth, m.
    pub depth: f64,
    /// Surface wetness and cover factor; the literature value if None.
    pub surface_wetness: Option<f64>,
    /// Heat transfer to the room, W/(m2 K); the literature value if None.
    pub heat_transfer: Option<f64>,
    /// Moisture that the operator keeps.
    pub moisture_band: MoistureBand,
    /// Share of each watering that drains, 0 to below 1.
    pub leaching: f64,
    /// Whether the bed is watered while it holds no worms.
    pub watered_without_worms: bool,
    /// Largest share of the bed's mass that may be fresh.
    pub fresh_share_limit: f64,
    /// Thickest layer laid at one feeding, m.
    pub largest_layer: f64,
    /// No feeding above this bed temperature, °C.
    pub hottest: f64,
    /// No feeding below this bed temperature, °C.
    pub coldest: f64,
    /// No feeding while ready feed lasts for more than this many days.
    pub overfeed_days: f64,
}

/// What limits the feed of a bed today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FeedLimit {
    /// The ration of the worms.
    Ration,
    /// Too much of the bed is still fresh.
    Fresh,
    /// Too much ready feed is uneaten.
    Unready,
    /// Too hot or too cold.
    Temperature,
    /// The thickest layer, or the depth of the bed.
    Room,
    /// It holds no worms.
    NoStock,
}

/// A bed and its worms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bed {
    setup: BedSetup,
    /// Acid paste that worms cannot eat yet.
    pub fresh: BedLayer,
    /// Feed that worms can eat.
    pub ready: BedLayer,
    /// Castings and bedding.
    pub castings: BedLayer,
    /// Temperature, °C.
    pub temperature: f64,
    /// Acidity of the worms' zone when last computed.
    zone: Acidity,
    /// Live worms and cocoons.
    pub worms: Population,
    days_since_harvest: f64,
    /// Whether it has been watered before.
    wetted: bool,
}

/// What a harvest took from a bed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Harvested {
    /// Castings, with the tissue of the worms lost in them.
    pub castings: Material,
    /// Tissue of the worms and cocoons in it, which leaves the stock; part of `castings`.
    pub tissue: Material,
    /// Worms and cocoons lost.
    pub lost: Lost,
}

impl Bed {
    /// A bed of bedding (kg, m3), which is its castings layer, at a temperature (°C), with worms.
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
            wetted: false,
        }
    }

    /// Whether the operator waters it.
    fn is_watered(&self) -> bool {
        self.setup.watered_without_worms || self.worms.worms() > 0.0
    }

    /// How it is built and worked.
    pub fn setup(&self) -> &BedSetup {
        &self.setup
    }

    /// All matter except live worms, kg.
    pub fn contents(&self) -> Material {
        self.fresh.matter + self.ready.matter + self.castings.matter
    }

    /// Matter of live worms and cocoons, kg. Cocoons are booked as tissue of worms.
    pub fn tissue(&self, model: &BedModel) -> Material {
        model.parameters.tissue * self.worms.live_mass(&model.worms)
    }

    /// Depth of all layers, m.
    pub fn depth(&self) -> f64 {
        (self.fresh.volume + self.ready.volume + self.castings.volume) / self.setup.area
    }

    /// Days since castings were last taken.
    pub fn days_since_harvest(&self) -> f64 {
        self.days_since_harvest
    }

    /// Most feed that the bed can take now, kg wet, and what limits it.
    ///
    /// `ration` is today's feed per live mass of worms, kg/kg; `density` the bulk density of the feed, kg/m3.
    pub fn room_for_feed(&self, model: &BedModel, ration: f64, density: f64) -> (f64, FeedLimit) {
        let s = &self.setup;
        let stock = self.worms.biomass(&model.worms);
        if stock <= 0.0 {
            return (0.0, FeedLimit::NoStock);
        }
        if self.temperature > s.hottest || self.temperature < s.coldest {
            return (0.0, FeedLimit::Temperature);
        }
        let crowding = model.worms.crowded_intake(stock / s.area);
        let eating = model.worms.parameters().maximum_intake * crowding * stock;
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

    /// Lays feed (kg, m3) on the bed as fresh paste.
    pub fn feed(&mut self, feed: Material, volume: f64) {
        self.fresh.add(feed, volume);
    }

    /// Returns matter to the castings (oversize of the screen, wash water).
    pub fn return_to_castings(&mut self, matter: Material, model: &BedModel) {
        let volume = matter.dry() / model.parameters.castings_dry_density;
        self.castings.add(matter, volume);
    }

    /// Removes a share of the castings; the recovery shares say how many of the worms in them return.
    pub fn harvest(&mut self, share: f64, recovery: &WormRecovery, model: &BedModel) -> Harvested {
        let (castings, _) = self.castings.take_share(share);
        let lost = self.worms.recover(recovery, share, &model.worms);
        let cocoons = lost.cocoons * model.worms.parameters().cocoon_mass;
        let tissue = model.parameters.tissue * (lost.biomass + cocoons);
        self.days_since_harvest = 0.0;
        Harvested { castings: castings + tissue, tissue, lost }
    }

    /// Adds worms; the caller books their matter.
    pub fn stock(&mut self, worms: &Population, model: &BedModel) {
        self.worms.merge(worms, &model.worms);
    }

    /// Removes a share of the worms and returns them.
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
            moisture_band: MoistureBand { low: 0.7, high: 0.8 },
            leaching: 0.0,
            watered_without_worms: true,
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
    fn a_year_of_a_bed_is_plausible_and_balances() {
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
        // fed by ration all year: feed is eaten, harvested and burnt, and the stock neither dies nor grows without limit
        let stock = bed.worms.biomass(&model.worms);
        assert!(fed > 1000.0 && taken > 0.1 * 0.3 * fed && taken < 0.3 * fed + 500.0, "{fed} {taken}");
        assert!(gases[crate::matter::Gas::CarbonDioxide] > 0.1 * 0.3 * fed);
        assert!((10.0..500.0).contains(&stock) && (10.0..30.0).contains(&bed.temperature), "{stock}");
        let gap = (bed.contents().elements() + bed.tissue(&model).elements() - held).amax();
        assert!(gap < 1e-9 * held.amax(), "{gap}");
    }

    #[test]
    fn feed_is_limited_by_the_first_limit_met() {
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
        // ready feed that is eaten in so many days at the largest intake of 2 kg/m2
        let crowding = model.worms.crowded_intake(2.0);
        let eating =
            model.worms.parameters().maximum_intake * crowding * 20.0 * model.parameters.feed_dry_share;
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
    fn watering_aims_at_the_middle_of_the_band_but_no_higher_than_the_bed_holds() {
        // by hand: 30 kg dry matter with 60 kg water have a moisture of 67 %; 75 % is 90 kg
        let model = model();
        let watered = |water: f64, volume: f64| {
            let mut matter = bedding(100.0);
            matter[Component::Water] = water;
            let bed = Bed::new(setup(1.0), matter, volume, 18.0, Population::empty());
            let now = layer::TemperatureFactors::at(&model, 18.0);
            profile::Profile::<f64>::gather(&model, |_| &bed).irrigate(&model, &now).0
        };
        assert!((watered(60.0, 1.0) - 30.0).abs() < 1e-9);
        assert!(watered(70.1, 1.0).abs() < 1e-12, "in the band");
        // all pores but the air of a drained bed
        let solids = 30.0 / model.aeration.solid_density;
        let full = (1.0 - model.parameters.drained_air) * 0.12 - solids;
        assert!((watered(60.0, 0.12) - (full * 1000.0 - 60.0)).abs() < 1e-9, "{}", watered(60.0, 0.12));
        let porosity = model.aeration.air_filled_porosity(30.0, 60.0 + watered(60.0, 0.12), 0.12);
        assert!((porosity - model.parameters.drained_air).abs() < 1e-12);
        assert!(watered(60.0, 0.05).abs() < 1e-12, "no pores are left");
    }

    #[test]
    fn a_share_of_each_watering_but_the_first_drains_with_its_salt() {
        let model = model();
        let mut matter = bedding(100.0);
        (matter[Component::Water], matter[Component::Salt]) = (60.0, 0.3);
        let leaching = BedSetup { leaching: 0.25, ..setup(1.0) };
        let mut bed = Bed::new(leaching, matter, 1.0, 18.0, Population::empty());
        let dry = matter.dry();
        let wanted = 3.0 * dry - 60.0;
        let now = layer::TemperatureFactors::at(&model, 18.0);
        let water = |bed: &Bed| profile::Profile::<f64>::gather(&model, |_| bed).irrigate(&model, &now);
        let (first, through) = water(&bed);
        assert!((first - wanted).abs() < 1e-9 && through.wet().abs() < 1e-12);
        // by hand: a quarter of all water is a third of what the bed keeps; salt leaves by its share of the water
        bed.wetted = true;
        let (added, through) = water(&bed);
        assert!((added - wanted / 0.75).abs() < 1e-9 && (through.water() - wanted / 3.0).abs() < 1e-9);
        let share = through.water() / (60.0 + added);
        let solubility = literature::central("bed.drain_solubility_acids_and_salts").unwrap();
        assert!((through[Component::Salt] - 0.3 * share * solubility).abs() < 1e-12);
    }

    #[test]
    fn a_bed_of_a_site_is_not_watered_before_its_worms_arrive() {
        let model = model();
        let site = BedSetup { watered_without_worms: false, ..setup(1.0) };
        let mut matter = bedding(100.0);
        matter[Component::Water] = 40.0;
        let mut bed = Bed::new(site, matter, 1.0, 18.0, Population::empty());
        let air = Weather { temperature: 18.0, humidity: 0.7 };
        assert!(bed.day(&model, &air, 1).irrigated.abs() < 1e-15);
        bed.stock(&Population::from_adults(1.0, &model.worms), &model);
        assert!(bed.day(&model, &air, 1).irrigated > 10.0);
    }

    #[test]
    fn depth_is_volume_over_area() {
        let mut bed = Bed::new(setup(10.0), bedding(1000.0), 1.5, 18.0, Population::empty());
        bed.feed(paste(), 0.2);
        bed.ready.add(paste(), 0.1);
        assert!((bed.depth() - 0.18).abs() < 1e-12);
    }
}
