//! From a plan and one set of values to the site and the processes that the chain runs.

use super::filled::Filled;
use super::fresh::fresh;
use super::larder::{Larder, LarderError, MOLASSES};
use super::plan::{
    self, BeddingAmount, DryingRule, HarvestRule, Liquor, Method, Plan, Room, Structure, Vent,
};
use super::words::Ranges;
use super::{Almanac, standing};
use crate::chain::{
    BedStart, BranSupply, BulkingRecipe, FeedingPractice, GritRecipe, HarvestPractice, Models, ScrapSupply,
    Site, SiteState,
};
use crate::literature::{self, narrowed::after_prints};
use crate::matter::{Component, Material};
use crate::process::fermentation::load::Load;
use crate::process::fermentation::{FermentationRates, StarterPractice};
use crate::process::ingredient::{Ingredient, SplitRules};
use crate::process::reaction::ReactionError;
use crate::process::recipe::amounts::BulkingTargets;
use crate::process::recipe::{KeptVolumes, RecipePart};
use crate::process::screening::Deck;
use crate::process::worm::{COCOON_STAGES, Population, WormRates, WormRecovery};
use crate::quantity::constant::WATER_DENSITY;
use crate::quantity::{Uncertain, whole};
use crate::unit::bed::{BedSetup, MoistureBand, Weather};
use crate::unit::cure::{CompostBlend, CureSetup};
use crate::unit::drum_store::{DrumStoreSetup, DrumVent};
use crate::unit::grinder::{GrinderSetup, RinseTo};
use crate::unit::screen::{Drying, OversTo, ScreenSetup};
use crate::unit::starter::StarterSetup;
use std::fmt;
use std::sync::Arc;

/// Days between two dispatches of castings. Source: our choice, a week.
const DISPATCH_EVERY: u32 = 7;
/// Smallest batch of starter, L. Source: assumed.
const LEAST_STARTER: f64 = 5.0;

/// Why a plan cannot be assembled.
#[derive(Debug, Clone, PartialEq)]
pub enum AssembleError {
    /// An ingredient's figures contradict each other.
    Ingredient(LarderError),
    /// A process table does not balance: a fault of ours.
    Reaction(ReactionError),
}

impl fmt::Display for AssembleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Ingredient(e) => e.fmt(f),
            Self::Reaction(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for AssembleError {}

impl From<LarderError> for AssembleError {
    fn from(e: LarderError) -> Self {
        Self::Ingredient(e)
    }
}

impl From<ReactionError> for AssembleError {
    fn from(e: ReactionError) -> Self {
        Self::Reaction(e)
    }
}

/// Central value of a rate or of a figure of an ingredient: that of the fit, where a fitted plan draws it; else the plan's own if it
/// replaces one, else that of the literature.
///
/// # Panics
/// On a key that is in no table (a fault of ours).
pub fn central(plan: &Plan, key: &str) -> f64 {
    let own = plan.rates.iter().find(|r| r.key == key);
    let drawn = own.is_none_or(|r| r.range.is_some());
    let fitted = plan.fitted().filter(|_| drawn).and_then(|fitted| fitted.central(key));
    fitted
        .or(own.map(|r| r.central))
        .or_else(|| literature::central(key))
        .unwrap_or_else(|| panic!("no literature entry has the key {key}"))
}

/// The range that draws of a plan take of a rate in place of the published one, after published trials. None if none narrows it, or the
/// plan gives a value of its own or asks for ranges as printed.
pub fn narrowed(plan: &Plan, key: &str) -> Option<Uncertain> {
    let own = plan.rates.iter().any(|rate| rate.key == key);
    (plan.ranges == Ranges::AfterPrints && !own).then(|| after_prints(key)).flatten()
}

/// Builds site and processes with central values: [`assemble_with`] of [`central`].
///
/// # Errors
/// As [`assemble_with`].
pub fn assemble(plan: &Plan) -> Result<(Site, Models), AssembleError> {
    assemble_with(plan, &|key| central(plan, key))
}

/// Builds site and processes with values by key: `get` gives a rate, or a figure of an ingredient, in the unit of its table. Every
/// number is resolved here; the chain looks none up. The site has no chance in it: streams by the calendar, the smooth season,
/// drums of median luck. [`with_chance`] adds it.
///
/// # Errors
/// [`AssembleError::Ingredient`] if an ingredient contradicts itself with these values, [`AssembleError::Reaction`] if a process
/// table does not balance (a fault of ours).
///
/// # Panics
/// If a screening method has no recovery in the literature (a fault of ours).
pub fn assemble_with(plan: &Plan, get: &dyn Fn(&str) -> f64) -> Result<(Site, Models), AssembleError> {
    assemble_on(plan, &Almanac::of(plan), get)
}

/// The same on the days of an almanac of the plan: its own days, or more.
///
/// # Errors
/// Those of [`assemble_with`].
pub fn assemble_on(
    plan: &Plan,
    almanac: &Almanac,
    get: &dyn Fn(&str) -> f64,
) -> Result<(Site, Models), AssembleError> {
    let models = Models::from_values(get)?;
    let larder = Larder::of(plan, &SplitRules::from_values(get), get)?;
    let begins = match plan.begins() {
        Some(begins) => Some(Arc::clone(&begins.state)),
        None => standing::state(plan, get)?.map(Arc::new),
    };
    let site = Site {
        start: plan.start,
        days_before: begins.as_ref().map_or(0, |state| state.days_run),
        days: almanac.days(),
        steps_per_day: plan.steps_per_day,
        streams: streams(plan, almanac, &larder, &models.fermentation),
        bed_air: bed_air(plan, &almanac.outdoors, get("site.bed_room_offset")),
        drum_room: drum_room(plan, &almanac.outdoors, get("site.drum_room_offset")),
        // without chance a drum spoils when that is likelier than not
        drum_luck: vec![0.5; almanac.days()],
        fresh: fresh(plan, &larder, &models, get),
        bran: bran(plan, almanac, &larder, &models.fermentation, get),
        drums: drums(plan, get),
        liquor_returned: plan.drums.liquor == Liquor::Returned,
        grinder: grinder_setup(plan, get),
        bulking: bulking(plan, &larder, get),
        grit: grit(plan, &larder),
        beds: beds(plan, begins.as_deref(), &larder, &models, get),
        arrivals: arrivals(plan, &models.bed.worms, get),
        feeding: FeedingPractice { ration: plan.feeding.ration, weekdays: plan.feeding.weekdays },
        harvest: harvest(plan, get),
        known_harvests: None,
        screen: screen_setup(plan, get),
        cure: cure_setup(plan, &larder, get),
        begins,
    };
    Ok((site, models))
}

/// What varies from day to day; each list holds one value for every day of the run.
#[derive(Debug, Clone, Copy)]
pub struct Chance<'a> {
    /// Factor on the amount of each stream, by stream and day; its mean is 1.
    pub intake: &'a [Vec<f64>],
    /// Outdoor temperature above that of the season, K.
    pub temperature: &'a [f64],
    /// Luck of the drums sealed that day, 0 to 1: they spoil if it is below their chance of spoiling.
    pub drum_luck: &'a [f64],
}

/// Adds chance to a site without it: factors on its streams, weather into both rooms, luck of its drums. For a site fresh from
/// [`assemble_on`] with the same plan and almanac, once.
///
/// # Panics
/// If the luck of drums does not have one value for each day of the run.
pub fn with_chance(plan: &Plan, almanac: &Almanac, site: &mut Site, chance: &Chance<'_>) {
    for (stream, factors) in site.streams.iter_mut().zip(chance.intake) {
        for (amount, factor) in stream.amounts.iter_mut().zip(factors) {
            *amount *= factor;
        }
    }
    let outdoors: Vec<f64> =
        almanac.outdoors.iter().zip(chance.temperature).map(|(t, more)| t + more).collect();
    // how much warmer than planned the rooms are assembled: nothing, to the last bit, where they are as planned
    let seasonal = (bed_air(plan, &almanac.outdoors, 0.0), drum_room(plan, &almanac.outdoors, 0.0));
    let warmer = |ours: Option<f64>, planned: Option<f64>| ours.zip(planned).map_or(0.0, |(a, b)| a - b);
    let air = |all: &[Weather]| all.first().map(|air| air.temperature);
    let beds = warmer(air(&site.bed_air), air(&seasonal.0));
    let drums = warmer(site.drum_room.first().copied(), seasonal.1.first().copied());
    site.bed_air = bed_air(plan, &outdoors, beds);
    site.drum_room = drum_room(plan, &outdoors, drums);
    site.drum_luck.copy_from_slice(chance.drum_luck);
}

fn streams(plan: &Plan, almanac: &Almanac, larder: &Larder, rates: &FermentationRates) -> Vec<ScrapSupply> {
    plan.streams
        .iter()
        .zip(&almanac.amounts)
        .map(|(stream, amounts)| {
            let parts: Load = stream.parts().map(|(name, share)| load(larder.get(name), rates) * share).sum();
            let kept = 1.0 - stream.contamination;
            ScrapSupply {
                name: stream.name.clone(),
                per_kilogram: parts,
                amounts: amounts.iter().map(|amount| amount * kept).collect(),
                contamination: stream.contamination / kept,
            }
        })
        .collect()
}

/// A kilogram of an ingredient on its way into a drum.
fn load(ingredient: &Ingredient, rates: &FermentationRates) -> Load {
    rates.load(ingredient.per_kilogram, ingredient.carbohydrates)
}

/// Room temperature on each day, °C, from the outdoor temperatures; so much warmer than planned.
fn room_temperatures(plan: &Plan, room: &Room, outdoors: &[f64], warmer: f64) -> Vec<f64> {
    outdoors.iter().map(|t| room.temperature(plan.climate.mean_temperature, *t) + warmer).collect()
}

fn drum_room(plan: &Plan, outdoors: &[f64], warmer: f64) -> Vec<f64> {
    room_temperatures(plan, &plan.climate.drum_room, outdoors, warmer)
}

fn bed_air(plan: &Plan, outdoors: &[f64], warmer: f64) -> Vec<Weather> {
    room_temperatures(plan, &plan.climate.bed_room, outdoors, warmer)
        .into_iter()
        .map(|temperature| Weather { temperature, humidity: plan.climate.relative_humidity })
        .collect()
}

fn bran(
    plan: &Plan,
    almanac: &Almanac,
    larder: &Larder,
    rates: &FermentationRates,
    get: &dyn Fn(&str) -> f64,
) -> BranSupply {
    let molasses = larder.get(MOLASSES);
    let mut practice = StarterPractice::from_values(get);
    practice.activation_days = f64::from(plan.bran.starter_days);
    practice.bran_days = f64::from(plan.bran.ferment_days);
    // a litre of culture is water with the acid it has made
    let acid = get("fermentation.mother_culture_acid");
    let culture = Material::of(Component::Water, 1.0 - acid) + Material::of(Component::Lactic, acid);
    BranSupply {
        making: StarterSetup {
            carrier: load(larder.get(&plan.bran.carrier), rates),
            molasses: load(molasses, rates),
            mother_culture: culture,
            molasses_density: molasses.bulk_density / 1000.0,
            practice,
            activation_temperature: get("fermentation.activation_temperature"),
            least_starter: LEAST_STARTER,
            safety_weeks: plan.bran.safety_weeks,
            starting_bran: if plan.bran.bought { 0.0 } else { almanac.starting_bran },
            weekly_capacity: plan.bran.weekly_capacity.unwrap_or(f64::INFINITY),
        },
        bought: plan.bran.bought,
        dose: plan.bran_dose(),
    }
}

fn drums(plan: &Plan, get: &dyn Fn(&str) -> f64) -> DrumStoreSetup {
    let d = &plan.drums;
    let tap_days = whole(get("fermentation.tap_interval").ceil()).clamp(1, 31);
    DrumStoreSetup {
        drums: d.count as usize,
        volume: d.volume,
        fill_share: d.fill_share,
        settled_density: d.settled_density * get("site.drum_contents_factor"),
        minimum_days: d.minimum_days,
        maximum_days: d.maximum_days,
        most_filling_days: d.most_filling_days,
        ready_progress: get("fermentation.ready_progress"),
        vent: match d.vent {
            Vent::Valve => DrumVent::Valve {
                set_pressure: 1000.0 * get("fermentation.valve_set_pressure_water_airlock"),
            },
            Vent::Sealed => DrumVent::Sealed,
        },
        drain_liquor: d.liquor != Liquor::Kept,
        tap_days,
        scraps_ground_before: d.scraps_ground,
        room_volume: d.room_volume,
        room_air: d.room_air(),
        leak: d.leak,
    }
}

fn grinder_setup(plan: &Plan, get: &dyn Fn(&str) -> f64) -> GrinderSetup {
    let g = &plan.grinder;
    GrinderSetup {
        rate: g.rate,
        hours_per_day: g.hours,
        motor_kw: g.motor,
        load_factor: g.load_factor,
        hold_up: g.hold_up,
        rinse_water: g.rinse_water,
        rinsed_share: get("site.grinder_rinsed_share"),
        rinse_to: match g.rinse_to {
            plan::Rinse::Beds => RinseTo::Beds,
            plan::Rinse::Drain => RinseTo::Drain,
        },
        working: g.weekdays,
    }
}

pub(super) fn part(ingredient: &Ingredient, get: &dyn Fn(&str) -> f64) -> RecipePart {
    RecipePart {
        per_kilogram: ingredient.per_kilogram,
        bulk_density: ingredient.bulk_density,
        kept_volume: KeptVolumes::from_values(get).of_bulking(ingredient.kind),
    }
}

fn bulking(plan: &Plan, larder: &Larder, get: &dyn Fn(&str) -> f64) -> Option<BulkingRecipe> {
    plan.bulking.as_ref().map(|b| BulkingRecipe {
        part: part(larder.get(&b.ingredient), get),
        targets: BulkingTargets {
            air_filled_porosity: Some(b.air_filled_porosity),
            carbon_to_nitrogen: (b.carbon_to_nitrogen > 0.0).then_some(b.carbon_to_nitrogen),
        },
        most: b.most_per_paste,
    })
}

fn grit(plan: &Plan, larder: &Larder) -> Option<GritRecipe> {
    let grit = plan.grit.as_ref()?;
    let per_kilogram: Material =
        grit.parts().map(|(name, share)| larder.get(name).per_kilogram * share).sum();
    let per_wet = per_kilogram.dry();
    // it fills pores and takes no room of its own
    let part = RecipePart { per_kilogram, bulk_density: WATER_DENSITY, kept_volume: 0.0 };
    (per_wet > 0.0).then(|| GritRecipe { part, per_dry_feed: grit.per_dry_feed / per_wet })
}

/// Worms of a purchase, by live mass.
pub(super) fn worms(
    structure: Structure,
    mass: f64,
    rates: &WormRates,
    get: &dyn Fn(&str) -> f64,
) -> Population {
    match structure {
        Structure::Adults => Population::from_adults(mass, rates),
        Structure::Stable => Population::at_stable_structure(mass, rates),
        Structure::Mixed => {
            let adults = get("worms.mixed_stock_adult_share");
            let mut mixed = Population::from_adults(mass * adults, rates);
            mixed.merge(&Population::at_stable_structure(mass * (1.0 - adults), rates), rates);
            mixed.cocoons = [0.0; COCOON_STAGES];
            mixed
        }
    }
}

fn beds(
    plan: &Plan,
    begins: Option<&SiteState>,
    larder: &Larder,
    models: &Models,
    get: &dyn Fn(&str) -> f64,
) -> Vec<BedStart> {
    let area = plan.bed_area();
    // worms that reach a running site on its first day come in the morning, like later ones
    let new = plan.is_new();
    let first: f64 = plan.purchases().iter().filter(|p| new && p.day == 0).map(|p| p.mass).sum();
    let mut all = Vec::new();
    for group in &plan.beds {
        let parts: Vec<(&Ingredient, f64)> =
            group.bedding.parts().into_iter().map(|(name, share)| (larder.get(name), share)).collect();
        let bedding: Material = parts.iter().map(|(one, share)| one.per_kilogram * *share).sum();
        // loose volumes add
        let density = 1.0 / parts.iter().map(|(one, share)| share / one.bulk_density).sum::<f64>();
        let (mass, volume) = match group.bedding_amount() {
            BeddingAmount::Depth(depth) => (depth * group.area * density, depth * group.area),
            BeddingAmount::Mass(mass) => (mass, mass / density),
        };
        let filled = group.filled_with.as_ref();
        let (filled, filled_volume) = filled.map_or((Material::zero(), 0.0), |filling| {
            let each = |name: &str| part(larder.get(name), get);
            let made = Filled::of(filling, &each, &models.solids);
            (made.matter(filling, group.area), made.volume(filling, group.area))
        });
        let start = BedStart {
            name: group.name.clone(),
            setup: bed_setup(plan, group, get),
            bedding: bedding * mass,
            volume,
            filled,
            filled_volume,
            worms: worms(plan.structure(), first * (group.area / area), &models.bed.worms, get),
        };
        let many = group.count > 1;
        all.extend((1..=group.count).map(|n| BedStart {
            name: if many { format!("{} {n}", group.name) } else { group.name.clone() },
            ..start.clone()
        }));
    }
    if let Some(state) = begins {
        let held = state.beds.iter().flat_map(|beds| std::iter::repeat_n(beds.bed.worms, beds.count));
        for (start, worms) in all.iter_mut().zip(held) {
            start.worms = worms;
        }
    }
    all
}

fn bed_setup(plan: &Plan, group: &plan::Beds, get: &dyn Fn(&str) -> f64) -> BedSetup {
    BedSetup {
        area: group.area,
        depth: group.depth,
        surface_wetness: group.cover,
        heat_transfer: group.insulation,
        moisture_band: MoistureBand { low: group.moisture_band[0], high: group.moisture_band[1] },
        leaching: group.leaching,
        watered_without_worms: group.filled_with.is_some(),
        fresh_share_limit: plan.feeding.fresh_share_limit,
        largest_layer: plan.feeding.largest_layer,
        hottest: plan.feeding.hottest,
        coldest: plan.feeding.coldest,
        overfeed_days: get("bed.overfeed_index_warning"),
    }
}

fn arrivals(plan: &Plan, rates: &WormRates, get: &dyn Fn(&str) -> f64) -> Vec<(usize, Population)> {
    let first = u32::from(plan.is_new());
    let later = plan.purchases().into_iter().filter(|purchase| purchase.day >= first);
    later.map(|p| (p.day as usize, worms(plan.structure(), p.mass, rates, get))).collect()
}

/// Identifier of the recovery shares of a screening method, for [`literature::recovery`].
fn recovery_key(method: Method) -> &'static str {
    match method {
        Method::Trommel => "recovery_one_trommel_4_to_6_mm",
        Method::TwoDecks => "recovery_two_decks_held_and_rebaited",
        Method::Migration => "recovery_light_or_migration",
        Method::BottomCut => "recovery_flow_through_bottom_cut",
    }
}

fn harvest(plan: &Plan, get: &dyn Fn(&str) -> f64) -> HarvestPractice {
    let facts =
        literature::recovery(recovery_key(plan.screen.method)).expect("every method has its recovery");
    let (every, depth) = match plan.harvest.rule() {
        HarvestRule::EveryDays(days) => (Some(days), None),
        HarvestRule::Depth(depth) => (None, Some(depth)),
        HarvestRule::Never => (None, None),
    };
    HarvestPractice {
        every,
        depth,
        share: (plan.harvest.share * get("site.harvest_factor")).min(1.0),
        first_day: plan.harvest.first_day,
        recovery: WormRecovery {
            cocoon: facts.cocoon,
            juvenile: facts.juvenile,
            subadult: facts.subadult,
            adult: facts.adult,
        },
        ceiling: plan.screen.stocking_ceiling,
    }
}

fn screen_setup(plan: &Plan, get: &dyn Fn(&str) -> f64) -> ScreenSetup {
    let s = &plan.screen;
    ScreenSetup {
        deck: Deck {
            aperture: s.aperture,
            wire: s.aperture * get("site.screen_wire_per_aperture"),
            contacts: get("site.screen_contacts"),
        },
        screening_moisture: s.moisture,
        drying: match s.drying() {
            DryingRule::Days(days) => Drying::Days(days),
            DryingRule::Floor(area) => Drying::Floor { area, layer: get("site.drying_layer") },
        },
        rate: s.rate,
        hours_per_day: get("site.screen_hours_per_day"),
        overs: match s.overs {
            plan::Overs::ToBeds => OversTo::ToBeds,
            plan::Overs::Out => OversTo::Out,
        },
    }
}

fn cure_setup(plan: &Plan, larder: &Larder, get: &dyn Fn(&str) -> f64) -> CureSetup {
    let c = &plan.castings;
    CureSetup {
        cure_days: c.cure_days,
        dispatch_every: DISPATCH_EVERY,
        share_alone: c.sold_alone(),
        blend: c.blend.as_ref().map(|b| {
            let compost = larder.get(&b.with);
            CompostBlend {
                compost: compost.per_kilogram,
                compost_bulk_density: compost.bulk_density,
                castings_share: b.castings_share,
                packing: get("site.blend_packing_shrinkage"),
            }
        }),
    }
}
