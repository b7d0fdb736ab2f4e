//! A site as it stands: a state filled by a run, with what is known of the site put in.

use super::{Chain, EqualBedsState, Models, Site, SiteState};
use crate::matter::{Component, Material, ratio};
use crate::process::drying::water_per_dry;
use crate::process::fermentation::load::Load;
use crate::process::worm::Population;
use crate::unit::bed::{BedState, LayerState};
use crate::unit::drum_store::{DrumStore, DrumStoreSetup, DrumsState};
use crate::unit::starter::BranMaker;

/// Sealed drums of one age.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KnownDrums {
    /// Days since they were sealed.
    pub age: u32,
    /// How many.
    pub count: usize,
}

/// Worms of a bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum KnownWorms {
    /// Live mass in the bed, kg.
    Mass(f64),
    /// Worms, cocoons not counted, per area of bed, 1/m2.
    PerArea(f64),
}

/// What is known of a bed; masses are wet, kg. `None` leaves what the state holds.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct KnownBed {
    /// Castings and bedding.
    pub castings: Option<f64>,
    /// Depth of all layers, m.
    pub depth: Option<f64>,
    /// Feed that worms can eat.
    pub ready: Option<f64>,
    /// Acid paste.
    pub fresh: Option<f64>,
    /// Moisture of castings and bedding, kg/kg.
    pub moisture: Option<f64>,
    /// Temperature, °C.
    pub temperature: Option<f64>,
    /// Worms.
    pub worms: Option<KnownWorms>,
    /// Days since the last harvest.
    pub days_since_harvest: Option<u32>,
}

/// What is known of a site on an evening; masses are wet, kg. `None` leaves what the state holds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Known {
    /// Bran in store.
    pub bran: Option<f64>,
    /// Sealed drums.
    pub drums: Option<Vec<KnownDrums>>,
    /// Scraps in the drum being filled.
    pub filling: Option<f64>,
    /// Paste.
    pub paste: Option<f64>,
    /// Castings that dry or wait for the screen.
    pub drying: Option<f64>,
    /// Castings that cure or wait for sale.
    pub curing: Option<f64>,
    /// Of each bed.
    pub beds: Vec<KnownBed>,
}

/// How worms of a bed that held none are made up: by live mass, kg.
pub type Stocked<'a> = dyn Fn(f64) -> Population + 'a;

/// The state of a site on its last evening.
///
/// # Panics
/// If the site has no days.
pub fn state_after(site: &Site, models: &Models) -> SiteState {
    let mut chain = Chain::new(site, models);
    for day in 0..site.days {
        chain.day(day, None);
    }
    chain.state(site.days.checked_sub(1).expect("a run has days"))
}

impl SiteState {
    /// The state with what is known put in. `site` is the site that was run up to it.
    ///
    /// Amounts that the state holds are scaled. Drums are filled with the mean scraps of that run and ferment for their age. Paste, feed
    /// and castings that the state lacks are of what the site would make them of: opened drums, the feed mix, castings of the beds; of
    /// scraps if no drum is filled or no feed was mixed.
    #[must_use]
    pub fn with_known(mut self, known: &Known, site: &Site, models: &Models, stocked: &Stocked<'_>) -> Self {
        if let Some(bran) = known.bran {
            self.bran.set_store(bran);
        }
        let scraps = mean_scraps(site);
        if let Some(drums) = &known.drums {
            self.drums.set_sealed(&sealed(drums, scraps, site, models));
        }
        if let Some(filling) = known.filling {
            let held = self.drums.filling.load;
            let like = if held.wet() > 0.0 { held } else { scraps };
            self.drums.set_filling(like * ratio(filling, like.wet()), site.bran.dose);
        }
        if let Some(paste) = known.paste {
            let made = self.drums.contents();
            self.paste = scaled(self.paste, paste, if made.wet() > 0.0 { made } else { scraps.matter });
            self.hopper = Material::zero();
        }
        self.set_beds(known, scraps.matter, models, stocked);
        let castings: Material =
            self.beds.iter().map(|beds| beds.bed.castings.matter * beds.count as f64).sum();
        let mut dry = castings;
        dry[Component::Water] = castings.dry() * water_per_dry(site.screen.screening_moisture);
        if let Some(drying) = known.drying {
            self.screen.set_contents(|held| scaled(held, drying, dry));
        }
        if let Some(curing) = known.curing {
            self.cure.set_contents(|held| scaled(held, curing, dry));
        }
        self
    }

    fn set_beds(&mut self, known: &Known, scraps: Material, models: &Models, stocked: &Stocked<'_>) {
        let mix = self.feed_mix.mix;
        let volume = ratio(mix.volume, mix.material.wet());
        // until a batch is mixed, the mix is a guess without dry matter
        let feed = if mix.material.dry() > 0.0 { mix.material } else { scraps };
        let each = self.beds.iter().flat_map(|beds| std::iter::repeat_n((beds.area, beds.bed), beds.count));
        let mut all: Vec<EqualBedsState> = Vec::new();
        let none = KnownBed::default();
        for (number, (area, mut bed)) in each.enumerate() {
            let of = known.beds.get(number).unwrap_or(&none);
            for (layer, mass) in [(&mut bed.ready, of.ready), (&mut bed.fresh, of.fresh)] {
                if let Some(mass) = mass {
                    set_layer(layer, mass, feed, volume);
                }
            }
            set_castings(&mut bed, of, area);
            bed.temperature = of.temperature.unwrap_or(bed.temperature);
            bed.days_since_harvest = of.days_since_harvest.map_or(bed.days_since_harvest, f64::from);
            if let Some(worms) = of.worms {
                bed.worms = population(&bed.worms, worms, area, models, stocked);
            }
            match all.last_mut() {
                Some(last) if last.bed == bed && last.area.to_bits() == area.to_bits() => last.count += 1,
                _ => all.push(EqualBedsState { count: 1, area, bed }),
            }
        }
        self.beds = all;
    }
}

/// Matter of a given wet mass: of the composition held, or of another where nothing is held.
fn scaled(held: Material, wet: f64, other: Material) -> Material {
    let like = if held.wet() > 0.0 { held } else { other };
    like * ratio(wet, like.wet())
}

/// A kilogram of the mean scraps of a run with their bran.
fn mean_scraps(site: &Site) -> Load {
    let all: Load = site.streams.iter().map(|s| s.per_kilogram * s.amounts.iter().sum::<f64>()).sum();
    let wet = all.wet();
    let like = if wet > 0.0 { all } else { site.streams.iter().map(|s| s.per_kilogram).sum() };
    like * ratio(1.0, like.wet())
}

/// Drums of given ages, filled with such scraps and bran and fermented at the temperature of the drum room.
fn sealed(drums: &[KnownDrums], scraps: Load, site: &Site, models: &Models) -> Vec<DrumsState> {
    let mut ages: Vec<&KnownDrums> = drums.iter().filter(|drums| drums.count > 0).collect();
    ages.sort_by_key(|drums| std::cmp::Reverse(drums.age));
    let bran = BranMaker::new(site.bran.making, &models.fermentation, &models.acids).bran();
    let dose = site.bran.dose;
    let fill = (scraps + bran * dose) * (1.0 / (1.0 + dose));
    let room = |back: u32| {
        let day = site.days.saturating_sub(1 + back as usize);
        site.drum_room.get(day).copied().unwrap_or(20.0)
    };
    ages.into_iter()
        .map(|&KnownDrums { age, count }| {
            let setup = DrumStoreSetup { drums: count, ..site.drums };
            let mut store = DrumStore::new(setup, models.fermentation, models.acids, room(age));
            store.receive(0, fill * (setup.drum_mass() * count as f64), dose, 0.5);
            for day in 0..=age {
                store.ferment(day, room(age - day));
            }
            store.state(age)
        })
        .collect()
}

fn set_layer(layer: &mut LayerState, mass: f64, like: Material, volume_per_mass: f64) {
    let held = layer.matter.wet();
    layer.volume = if held > 0.0 { layer.volume * mass / held } else { mass * volume_per_mass };
    layer.matter = scaled(layer.matter, mass, like);
}

/// Mass or depth first, then moisture: water fills pores, so the volume stays.
fn set_castings(bed: &mut BedState, known: &KnownBed, area: f64) {
    let layer = &mut bed.castings;
    let held = layer.matter.wet();
    let above = bed.fresh.volume + bed.ready.volume;
    let factor = match (known.castings, known.depth) {
        (Some(mass), _) => ratio(mass, held),
        (None, Some(depth)) => ratio((depth * area - above).max(0.0), layer.volume),
        (None, None) => 1.0,
    };
    layer.matter = layer.matter * factor;
    layer.volume *= factor;
    if let Some(moisture) = known.moisture {
        layer.matter[Component::Water] = layer.matter.dry() * water_per_dry(moisture);
    }
}

fn population(
    held: &Population,
    known: KnownWorms,
    area: f64,
    models: &Models,
    stocked: &Stocked<'_>,
) -> Population {
    let rates = &models.bed.worms;
    let like = if held.biomass(rates) > 0.0 { *held } else { stocked(1.0) };
    match known {
        KnownWorms::Mass(mass) => like.scaled(ratio(mass, like.biomass(rates))),
        KnownWorms::PerArea(density) => like.scaled(ratio(density * area, like.worms())),
    }
}
