//! Worm beds as in published trials: boxes filled once, beds fed daily, beds with a constant stock.
//!
//! Boxes lose heat through walls and bottom as well as through the top, and are watered as trials were.

use super::central;
use crate::literature;
use crate::matter::{Component, Element, Gas, Gases, Material};
use crate::process::ingredient::{Ingredient, SplitRules};
use crate::process::worm::{Population, WormRecovery};
use crate::scenario::{self, AssembleError};
use crate::unit::bed::{Bed, BedModel, BedSetup, MoistureBand, Weather};
use std::collections::BTreeMap;

/// Keys of the decay constants that vary together (assumed: they were tuned together).
pub const DECAY: [&str; 5] = [
    "bed.decay_rate_readily_degradable",
    "bed.decay_rate_protein",
    "bed.decay_rate_lipid",
    "bed.decay_rate_hemicellulose_and_cellulose",
    "bed.decay_rate_lignin",
];

/// Which part of the ranges of the decay constants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decay {
    /// Slowest.
    Low,
    /// Best estimates.
    Central,
    /// Fastest.
    High,
}

/// The model with best estimates, except for the given values.
///
/// # Errors
/// When a process table does not balance: a fault of the program.
pub fn model_with(changed: &[(&str, f64)]) -> Result<BedModel, AssembleError> {
    let get = |key: &str| {
        let own = changed.iter().find(|(name, _)| *name == key);
        own.map_or_else(|| central(key), |(_, value)| *value)
    };
    Ok(BedModel::from_values(&get)?)
}

/// The model with all decay constants at the low end, the best estimate or the high end.
///
/// # Errors
/// When a process table does not balance: a fault of the program.
pub fn model(decay: Decay) -> Result<BedModel, AssembleError> {
    let ends = DECAY.map(|key| {
        let end = literature::entry(key).map_or(f64::NAN, |entry| match decay {
            Decay::Low => entry.value.low(),
            Decay::Central => entry.value.central(),
            Decay::High => entry.value.high(),
        });
        (key, end)
    });
    model_with(&ends)
}

/// The ingredients of the library, for feeds and bedding.
#[derive(Debug, Clone)]
pub struct Shelf(BTreeMap<String, Ingredient>);

impl Shelf {
    /// Every published ingredient.
    ///
    /// # Errors
    /// When the figures of one contradict each other: a fault of the program.
    pub fn full() -> Result<Self, AssembleError> {
        Self::at(&central)
    }

    /// Every ingredient of the library at the values that `get` gives.
    ///
    /// # Errors
    /// When the figures of one contradict each other.
    pub(super) fn at(get: &dyn Fn(&str) -> f64) -> Result<Self, AssembleError> {
        Ok(Self(scenario::library(&SplitRules::from_values(get), get)?))
    }

    /// One kilogram wet of an ingredient; empty for an unknown name.
    pub fn food(&self, id: &str) -> Material {
        self.0.get(id).map_or_else(Material::zero, |one| one.per_kilogram)
    }

    /// Bulk density of an ingredient, kg/m3; `NaN` for an unknown name.
    pub fn density(&self, id: &str) -> f64 {
        self.0.get(id).map_or(f64::NAN, |one| one.bulk_density)
    }

    /// One kilogram of a mix, from names and shares.
    pub fn mix(&self, parts: &[(&str, f64)]) -> Material {
        parts.iter().map(|(id, share)| self.food(id) * *share).sum()
    }
}

/// The material with water added to reach a moisture.
pub fn wetted(matter: Material, moisture: f64) -> Material {
    let water = matter.dry() * moisture / (1.0 - moisture);
    matter + Material::of(Component::Water, water - matter.water())
}

/// The moisture that trials are kept at. Most print 70 to 80 %; beds dry from one watering to the next, so that watering from 73 to 77 %
/// keeps their mean at 75 %.
pub const WATERED: MoistureBand = MoistureBand { low: 0.73, high: 0.81 };

/// Heat transfer through walls and bottom of a box, W/(m2 K) of their area. Source: assumed for wood or plastic of a centimetre in
/// still air; range 2.5 to 8.
const WALL_HEAT_TRANSFER: f64 = 5.0;

/// Heat transfer of a box per area of its floor, W/(m2 K): `top + wall (1 + 4 depth/side)`, a square floor of the given area (m2)
/// with matter of the given volume (m3) on it; `top` is that of a bed of the model.
pub fn box_heat_transfer(model: &BedModel, area: f64, volume: f64) -> f64 {
    let (depth, side) = (volume / area, area.sqrt());
    model.parameters.heat_transfer + WALL_HEAT_TRANSFER * (1.0 + 4.0 * depth / side)
}

/// A bed with an open, moist surface, watered as trials were.
pub fn setup(area: f64) -> BedSetup {
    BedSetup {
        area,
        depth: 2.0,
        surface_wetness: Some(1.0),
        heat_transfer: None,
        moisture_band: WATERED,
        leaching: 0.0,
        watered_without_worms: true,
        fresh_share_limit: 0.225,
        largest_layer: 0.05,
        hottest: 35.0,
        coldest: 0.0,
        overfeed_days: 5.0,
    }
}

/// Result of a trial.
///
/// Losses are of feed and worms together, so that worms which die are not counted as feed left. Contents are those of the matter
/// without live worms, as a laboratory would take it.
#[derive(Debug, Clone, Copy)]
pub struct Outcome {
    /// Feed filled in or laid, kg.
    pub fed: Material,
    /// That feed and the live worms put in, kg.
    pub given: Material,
    /// Matter at the end without live worms, kg.
    pub residue: Material,
    /// That matter and the live worms, kg.
    pub left: Material,
    /// Gases emitted, kg.
    pub gases: Gases,
    /// Volume at start and end, m3.
    pub volume: [f64; 2],
    /// Live worms at start and end, kg.
    pub worms: [f64; 2],
    /// pH where worms live, after the first and the last day.
    pub ph: [f64; 2],
    /// Highest temperature of the bed, °C.
    pub hottest: f64,
}

impl Outcome {
    /// Share of the dry matter of feed and worms lost: (given - left) / given.
    pub fn dry_loss(&self) -> f64 {
        1.0 - self.left.dry() / self.given.dry()
    }

    /// Share of the wet mass lost, likewise.
    pub fn wet_loss(&self) -> f64 {
        1.0 - self.left.wet() / self.given.wet()
    }

    /// Share of the volume lost, likewise.
    pub fn volume_loss(&self) -> f64 {
        1.0 - self.volume[1] / self.volume[0]
    }

    /// Worms at the end over worms at the start, less 1.
    pub fn worm_gain(&self) -> f64 {
        self.worms[1] / self.worms[0] - 1.0
    }

    /// Dry tissue of worms gained per dry matter fed, kg/kg.
    pub fn worm_yield(&self) -> f64 {
        let tissue = [self.given.dry() - self.fed.dry(), self.left.dry() - self.residue.dry()];
        (tissue[1] - tissue[0]) / self.fed.dry()
    }

    /// Content of an element in the dry matter left without worms, kg/kg.
    pub fn on_dry(&self, element: Element) -> f64 {
        self.residue.element(element) / self.residue.dry()
    }

    /// Carbon to nitrogen ratio of the matter left without worms, kg/kg.
    pub fn carbon_to_nitrogen(&self) -> f64 {
        self.residue.carbon_to_nitrogen()
    }
}

/// A box filled once with ready feed, worms on top, in humid air.
#[derive(Debug, Clone, Copy)]
pub struct FilledBox {
    /// Material filled in, kg.
    pub feed: Material,
    /// Volume filled in, m3.
    pub volume: f64,
    /// Surface of the box, m2.
    pub area: f64,
    /// Live worms at the start, kg.
    pub worms: f64,
    /// Duration, d.
    pub days: u32,
    /// Temperature of the room, °C.
    pub warmth: f64,
    /// Moisture at which it is kept.
    pub watered: MoistureBand,
}

impl FilledBox {
    /// Runs the box.
    pub fn run(&self, model: &BedModel) -> Outcome {
        let stock = Population::at_stable_structure(self.worms, &model.worms);
        let made = BedSetup {
            heat_transfer: Some(box_heat_transfer(model, self.area, self.volume)),
            moisture_band: self.watered,
            ..setup(self.area)
        };
        let mut bed = Bed::new(made, Material::zero(), 0.0, self.warmth, stock);
        bed.ready.add(self.feed, self.volume);
        run(model, &mut bed, self.days, self.warmth, self.feed, |_| {})
    }
}

/// A bed of 1 m2 fed daily with ready feed on a bedding whose own loss is subtracted.
#[derive(Debug, Clone, Copy)]
pub struct FedBed {
    /// One kilogram of feed.
    pub feed: Material,
    /// Bulk density of the feed, kg/m3.
    pub density: f64,
    /// Live worms at the start, kg.
    pub worms: f64,
    /// Wet feed per day, kg.
    pub load: f64,
    /// Duration, d.
    pub days: u32,
    /// Temperature of the room, °C.
    pub warmth: f64,
    /// One kilogram of the bedding, and its bulk density, kg/m3.
    pub bedding_of: (Material, f64),
    /// Bedding at the start, kg wet.
    pub bedding: f64,
    /// Moisture at which it is kept.
    pub watered: MoistureBand,
}

impl FedBed {
    /// Runs the bed, and the bedding alone beside it.
    pub fn run(&self, model: &BedModel) -> Outcome {
        let mut out = self.with_bedding(model);
        let alone = Self { worms: 0.0, load: 0.0, ..*self }.with_bedding(model);
        out.left -= alone.left;
        out.residue -= alone.residue;
        out.volume[1] -= alone.volume[1];
        out
    }

    fn with_bedding(&self, model: &BedModel) -> Outcome {
        let stock = Population::at_stable_structure(self.worms, &model.worms);
        let (bedding, density) = self.bedding_of;
        let below = self.bedding / density;
        let fed = self.feed * (self.load * f64::from(self.days));
        // walls as high as bedding and half of the feed
        let mean = below + 0.5 * fed.wet() / self.density;
        let made = BedSetup {
            heat_transfer: Some(box_heat_transfer(model, 1.0, mean)),
            moisture_band: self.watered,
            ..setup(1.0)
        };
        let mut bed = Bed::new(made, bedding * self.bedding, below, self.warmth, stock);
        let mut out = run(model, &mut bed, self.days, self.warmth, fed, |bed| {
            bed.ready.add(self.feed * self.load, self.load / self.density);
        });
        out.volume[0] = fed.wet() / self.density;
        out
    }
}

/// Runs a bed for a number of days; `daily` feeds it, and `fed` is all feed that it gets, what lies in it included.
pub fn run(
    model: &BedModel,
    bed: &mut Bed,
    days: u32,
    warmth: f64,
    fed: Material,
    mut daily: impl FnMut(&mut Bed),
) -> Outcome {
    let volume = |bed: &Bed| bed.fresh.volume + bed.ready.volume + bed.castings.volume;
    let mut out = Outcome {
        fed,
        given: fed + bed.tissue(model),
        residue: Material::zero(),
        left: Material::zero(),
        gases: Gases::zero(),
        volume: [volume(bed); 2],
        worms: [bed.worms.biomass(&model.worms); 2],
        ph: [0.0; 2],
        hottest: 0.0,
    };
    for day in 0..days {
        daily(bed);
        let what = bed.day(model, &Weather { temperature: warmth, humidity: 0.6 }, 1);
        out.gases += what.gases;
        out.hottest = out.hottest.max(what.hottest);
        if day == 0 {
            out.ph[0] = what.zone_ph;
        }
        out.ph[1] = what.zone_ph;
    }
    out.residue = bed.contents();
    out.left = out.residue + bed.tissue(model);
    out.volume[1] = volume(bed);
    out.worms[1] = bed.worms.biomass(&model.worms);
    out
}

/// Daily means of a bed of 1 m2 from day 120 to day 360, with the stock kept constant by removing the surplus.
#[derive(Debug, Clone, Copy)]
pub struct HeldBed {
    /// Castings harvested, kg/d.
    pub castings: Material,
    /// Live worms removed, kg/d.
    pub surplus: f64,
    /// Feed eaten, as feed of 80 % water, kg/d.
    pub eaten: f64,
    /// Water evaporated or drained minus water added, kg/d.
    pub water: f64,
    /// Temperature of the bed above that of the room, K.
    pub rise: f64,
    /// Castings in the bed at the end, kg.
    pub last: Material,
    /// Live worms at the end, kg.
    pub stock: f64,
}

/// Runs a bed of 1 m2 for 360 days on 20 kg of moist coir, at a constant stock (kg) and ration (kg feed per kg live worms and day).
pub fn held(
    model: &BedModel,
    feed: Material,
    stocking: f64,
    ration: f64,
    made: BedSetup,
    coir: Material,
) -> HeldBed {
    let worms = Population::at_stable_structure(stocking, &model.worms);
    let mut bed = Bed::new(made, wetted(coir, 0.75) * 20.0, 0.1, 22.0, worms);
    let all = WormRecovery { cocoon: 1.0, juvenile: 1.0, subadult: 1.0, adult: 1.0 };
    let mut sum = HeldBed {
        castings: Material::zero(),
        surplus: 0.0,
        eaten: 0.0,
        water: 0.0,
        rise: 0.0,
        last: Material::zero(),
        stock: 0.0,
    };
    let counted = 240.0;
    for day in 0..360_u32 {
        let load = stocking * ration;
        bed.ready.add(feed * load, load / 500.0);
        let out = bed.day(model, &Weather { temperature: 22.0, humidity: 0.7 }, 1);
        let stock = bed.worms.biomass(&model.worms);
        let surplus = (stock - stocking).max(0.0);
        let _ = bed.take_worms(surplus / stock);
        let got = bed.harvest(1.0 / 60.0, &all, model);
        if day >= 120 {
            sum.castings += got.castings * (1.0 / counted);
            sum.surplus += surplus / counted;
            sum.eaten += out.worms.eaten / counted;
            sum.water += (out.gases[Gas::WaterVapour] + out.drained.water() - out.irrigated) / counted;
            sum.rise += (bed.temperature - 22.0) / counted;
        }
    }
    sum.stock = bed.worms.biomass(&model.worms);
    sum.last = bed.castings.matter;
    sum
}
