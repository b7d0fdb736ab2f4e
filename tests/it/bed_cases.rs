//! The worm bed against the printed cases, check values and tables of facts `bed` (sections 2 and 3).
//!
//! Start compositions are not printed in any of the cases: feeds are library ingredients that are nearest to what is
//! named, and each case says which. Where the model leaves a printed band the test asserts the gap it has, with the
//! reason, so that it cannot drift unnoticed. "Consistency" marks cases with which the decay constants were compared
//! before; they show that the whole bed still does what the constants alone did, no more. VC23 and VC24 are input records
//! without outputs and are not run.

#![allow(clippy::unwrap_used, reason = "a helper that fails fails its test")]

mod algebra;
mod conservation;
mod functions;
mod heat;
mod losses;
mod stock;

use loamledger::component::Component;
use loamledger::component::Element;
use loamledger::ingredient::SplitRules;
use loamledger::literature;
use loamledger::material::Gases;
use loamledger::material::Material;
use loamledger::process::worm::Population;
use loamledger::scenario::library;
use loamledger::unit::bed::Bed;
use loamledger::unit::bed::BedModel;
use loamledger::unit::bed::Setup;
use loamledger::unit::bed::Weather;

/// Keys of the decay constants that one shared factor moves (bed.md 1.6).
const DECAY: [&str; 5] = [
    "bed.decay_rate_readily_degradable",
    "bed.decay_rate_protein",
    "bed.decay_rate_lipid",
    "bed.decay_rate_hemicellulose_and_cellulose",
    "bed.decay_rate_lignin",
];

/// Which end of the decay constants.
#[derive(Clone, Copy)]
enum Decay {
    Low,
    Central,
    High,
}

fn central(key: &str) -> f64 {
    literature::central(key).unwrap_or_else(|| panic!("no entry {key}"))
}

/// The model with central values but for those given.
fn model_with(changed: &[(&str, f64)]) -> BedModel {
    let get = |key: &str| {
        let own = changed.iter().find(|(name, _)| *name == key);
        own.map_or_else(|| central(key), |(_, value)| *value)
    };
    BedModel::from_values(&get).unwrap()
}

/// The model with all decay constants at one end of their ranges.
fn model(decay: Decay) -> BedModel {
    let ends = DECAY.map(|key| {
        let value = literature::entry(key).unwrap().value;
        let end = match decay {
            Decay::Low => value.low(),
            Decay::Central => value.central(),
            Decay::High => value.high(),
        };
        (key, end)
    });
    model_with(&ends)
}

/// A library ingredient, one kilogram wet.
fn food(id: &str) -> Material {
    library(&SplitRules::from_values(&central)).unwrap()[id].per_kilogram
}

/// Bulk density of a library ingredient, kg/m3.
fn density(id: &str) -> f64 {
    library(&SplitRules::from_values(&central)).unwrap()[id].bulk_density
}

/// The matter brought to a moisture with water.
fn wetted(matter: Material, moisture: f64) -> Material {
    let water = matter.dry() * moisture / (1.0 - moisture);
    matter + Material::of(Component::Water, water - matter.water())
}

/// A bed of some area with an open, moist surface, watered when it falls below 70 % moisture.
fn setup(area: f64) -> Setup {
    Setup {
        area,
        depth: 2.0,
        surface_wetness: Some(1.0),
        heat_transfer: None,
        moisture_band: (0.7, 0.8),
        fresh_share_limit: 0.225,
        largest_layer: 0.05,
        hottest: 35.0,
        coldest: 0.0,
        overfeed_days: 5.0,
    }
}

/// What a trial came to.
#[derive(Clone, Copy)]
struct Outcome {
    /// Matter fed or filled in.
    given: Material,
    /// Matter at the end, worms left out.
    left: Material,
    gases: Gases,
    /// Water that drained, with its solutes.
    drained: Material,
    volume: [f64; 2],
    /// Live worms at start and end, kg.
    worms: [f64; 2],
    ph: [f64; 2],
    hottest: f64,
}

impl Outcome {
    fn dry_loss(&self) -> f64 {
        1.0 - self.left.dry() / self.given.dry()
    }

    fn wet_loss(&self) -> f64 {
        1.0 - self.left.wet() / self.given.wet()
    }

    fn volume_loss(&self) -> f64 {
        1.0 - self.volume[1] / self.volume[0]
    }

    fn on_dry(&self, element: Element) -> f64 {
        self.left.element(element) / self.left.dry()
    }
}

/// A box filled once with ready feed, worms on top, in humid air at a temperature.
fn fill_once(
    model: &BedModel,
    feed: Material,
    volume: f64,
    area: f64,
    worms: f64,
    days: u32,
    warmth: f64,
) -> Outcome {
    let stock = Population::at_stable_structure(worms, &model.worms);
    let mut bed = Bed::new(setup(area), Material::zero(), 0.0, warmth, stock);
    bed.ready.add(feed, volume);
    run(model, &mut bed, days, warmth, feed, |_| {})
}

/// A bed fed every day for `feeding` days with ready feed, kept `days`; `bedding` lies below (its matter is not "given").
struct Fed {
    feed: Material,
    density: f64,
    area: f64,
    worms: f64,
    /// Wet feed per bed and day, kg.
    load: f64,
    feeding: u32,
    days: u32,
    warmth: f64,
    /// Coir below, kg wet; what is left of it is taken off at the end.
    bedding: f64,
}

impl Fed {
    fn run(&self, model: &BedModel) -> Outcome {
        let mut out = self.with_bedding(model);
        if self.bedding > 0.0 {
            let alone = Self { worms: 0.0, load: 0.0, ..*self }.with_bedding(model);
            out.left -= alone.left;
            out.volume[1] -= alone.volume[1];
        }
        out
    }

    fn with_bedding(&self, model: &BedModel) -> Outcome {
        let stock = Population::at_stable_structure(self.worms, &model.worms);
        let below = food("coconut_coir") * self.bedding;
        let volume = self.bedding / density("coconut_coir");
        let mut bed = Bed::new(setup(self.area), below, volume, self.warmth, stock);
        let given = self.feed * (self.load * f64::from(self.feeding));
        let mut day = 0;
        let mut out = run(model, &mut bed, self.days, self.warmth, given, |bed| {
            if day < self.feeding {
                bed.ready.add(self.feed * self.load, self.load / self.density);
            }
            day += 1;
        });
        out.volume[0] = given.wet() / self.density;
        out
    }
}

/// Runs a bed for some days; `daily` feeds it.
fn run(
    model: &BedModel,
    bed: &mut Bed,
    days: u32,
    warmth: f64,
    given: Material,
    mut daily: impl FnMut(&mut Bed),
) -> Outcome {
    let volume = |bed: &Bed| bed.fresh.volume + bed.ready.volume + bed.castings.volume;
    let mut out = Outcome {
        given,
        left: Material::zero(),
        gases: Gases::zero(),
        drained: Material::zero(),
        volume: [volume(bed); 2],
        worms: [bed.worms.biomass(&model.worms); 2],
        ph: [0.0; 2],
        hottest: 0.0,
    };
    for day in 0..days {
        daily(bed);
        let what = bed.day(model, &Weather { temperature: warmth, humidity: 0.6 }, 1);
        out.gases += what.gases;
        out.drained += what.drained;
        out.hottest = out.hottest.max(what.hottest);
        if day == 0 {
            out.ph[0] = what.zone_ph;
        }
        out.ph[1] = what.zone_ph;
    }
    out.left = bed.contents();
    out.volume[1] = volume(bed);
    out.worms[1] = bed.worms.biomass(&model.worms);
    out
}

#[track_caller]
fn close(what: &str, found: f64, printed: f64, tolerance: f64) {
    assert!((found - printed).abs() <= tolerance, "{what}: {found} against {printed} +- {tolerance}");
}
