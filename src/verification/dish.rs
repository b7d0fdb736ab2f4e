//! Worms in matter that is put back every morning as it was, so that one condition is tested at a time.

use crate::matter::{Component, Element, Material};
use crate::process::worm::Population;
use crate::unit::bed::{Bed, BedModel, BedSetup, MoistureBand, Weather};

use super::trial::setup;

/// Water per dry matter of a dish, kg/kg: 78 % moisture, the best for worms.
const WATER: f64 = 3.5;
/// Dry density of a dish, kg/m3: loose enough that worms have air.
const DRY_DENSITY: f64 = 140.0;
/// Dry matter around the worms, kg/m2.
const DRY: f64 = 20.0;

/// What is dissolved in the pore water of a dish, g/L.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Solutes {
    /// Sodium chloride.
    pub(super) salt: f64,
    /// Potassium.
    pub(super) potassium: f64,
    /// Nitrogen of nitrate.
    pub(super) nitrate_nitrogen: f64,
    /// Nitrogen of ammonium.
    pub(super) ammonium_nitrogen: f64,
}

impl Solutes {
    /// Salt alone, g/L.
    pub(super) fn salt(salt: f64) -> Self {
        Self { salt, ..Self::default() }
    }
}

/// Worms on 1 m2 in minerals, with feed of the same pore water.
#[derive(Debug, Clone, Copy)]
pub(super) struct Dish {
    /// pH of both.
    pub(super) ph: f64,
    /// Dry feed within reach, kg/m2; it is put back every morning.
    pub(super) feed: f64,
    /// What the pore water holds.
    pub(super) solutes: Solutes,
    /// Worms at the start.
    pub(super) stock: Population,
    /// Duration, d.
    pub(super) days: u32,
    /// Temperature, °C.
    pub(super) warmth: f64,
}

/// What became of the worms of a dish.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lived {
    /// Worms at the end.
    pub(super) stock: Population,
    /// Live worms at start and end, kg.
    pub(super) mass: [f64; 2],
    /// Cocoons laid, number.
    pub(super) cocoons: f64,
}

impl Lived {
    /// Live mass gained over the mass at the start.
    pub(super) fn gain(&self) -> f64 {
        self.mass[1] / self.mass[0] - 1.0
    }
}

impl Dish {
    /// A dish at pH 7 with more feed than worms eat.
    pub(super) fn rich(solutes: Solutes, stock: &Population, days: u32, warmth: f64) -> Self {
        Self { ph: 7.0, feed: 4.0, solutes, stock: *stock, days, warmth }
    }

    /// Runs the dish.
    pub(super) fn run(&self, model: &BedModel) -> Lived {
        // sealed against evaporation and never watered; much heat passes, so that it keeps the temperature of the room
        let made = BedSetup {
            surface_wetness: Some(0.0),
            heat_transfer: Some(100.0),
            moisture_band: MoistureBand { low: 0.0, high: 0.0 },
            ..setup(1.0)
        };
        let mut bed = Bed::new(made, Material::zero(), 0.0, self.warmth, self.stock);
        let layers =
            [Material::of(Component::Minerals, DRY), feed() * self.feed].map(|dry| self.wet(model, dry));
        let mut out = Lived { stock: self.stock, mass: [self.stock.biomass(&model.worms); 2], cocoons: 0.0 };
        for _ in 0..self.days {
            for (layer, matter) in [&mut bed.castings, &mut bed.ready].into_iter().zip(layers) {
                (layer.matter, layer.volume) = (matter, matter.dry() / DRY_DENSITY);
            }
            let day = bed.day(model, &Weather { temperature: self.warmth, humidity: 1.0 }, 1);
            out.cocoons += day.worms.cocoons_laid;
        }
        out.stock = bed.worms;
        out.mass[1] = bed.worms.biomass(&model.worms);
        out
    }

    /// Dry matter with the pore water of the dish, at its pH.
    fn wet(&self, model: &BedModel, dry: Material) -> Material {
        let litres = dry.dry() * WATER;
        let grams = |per_litre: f64| per_litre * litres / 1000.0;
        let nitrogen = |of: Component| of.elements()[Element::Nitrogen.index()];
        let mut m = dry + Material::of(Component::Water, litres);
        let s = &self.solutes;
        m[Component::Salt] += grams(s.salt);
        m[Component::Potassium] += grams(s.potassium);
        m[Component::Nitrate] += grams(s.nitrate_nitrogen) / nitrogen(Component::Nitrate);
        m[Component::Ammonia] += grams(s.ammonium_nitrogen) / nitrogen(Component::Ammonia);
        *m.base_mut() = model.pores.base_for(&m, self.ph);
        m
    }
}

/// A kilogram of dry feed without soluble salts: as food scraps, assumed.
fn feed() -> Material {
    let shares = [
        (Component::Sugars, 0.20),
        (Component::Fibre, 0.44),
        (Component::Lignin, 0.05),
        (Component::Protein, 0.15),
        (Component::Fat, 0.08),
        (Component::Phosphorus, 0.004),
        (Component::Potassium, 0.005),
    ];
    let organic: Material = shares.into_iter().map(|(of, share)| Material::of(of, share)).sum();
    organic + Material::of(Component::Minerals, 1.0 - organic.dry())
}
