//! One day of beds: first the worms, by the conditions of the morning, then decay, water and heat.
//!
//! Beds do not interact within a day, so up to [`BESIDE`] of them are computed side by side. The result for a bed never
//! depends on its neighbours.

use super::Bed;
use super::layer::{TemperatureFactors, held_when_drained};
use super::model::BedModel;
use super::profile::{Losses, Profile, TimeStep, Worked};
use crate::matter::lane::{Four, Lane, Mask, each_lane, exp, in_wide_registers};
use crate::matter::{Component, Element, Gas, Gases, Material, ratio};
use crate::process::worm::stress::falling;
use crate::process::worm::{self, Population, Surroundings, WormDay};
use crate::quantity::constant::WATER_DENSITY;

/// Air of the room the bed stands in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Air temperature, °C.
    pub temperature: f64,
    /// Relative humidity, 0 to 1.
    pub humidity: f64,
}

/// What a bed did on one day.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BedDay {
    /// Gases given off, water vapour included, kg.
    pub gases: Gases,
    /// Water drained, with its solutes, kg.
    pub drained: Material,
    /// Water added by the operator, kg.
    pub irrigated: f64,
    /// Matter that moved from the bed to the stock of worms, kg; negative if it moved back.
    pub tissue: Material,
    /// Worms.
    pub worms: WormDay,
    /// Highest temperature of the day, the inside of the fresh layer included, °C.
    pub hottest: f64,
    /// pH of the worms' zone.
    pub zone_ph: f64,
    /// Moisture of that zone, kg/kg wet.
    pub zone_moisture: f64,
    /// Air-filled porosity of that zone.
    pub zone_porosity: f64,
    /// Salt in its pore water, kg/m3.
    pub zone_salt: f64,
    /// Dissolved ammoniacal nitrogen in its pore water, kg N/m3.
    pub zone_ammonia: f64,
    /// The same in toxic units.
    pub zone_ammonia_units: f64,
    /// Whether worms had a refuge from acid paste.
    pub refuge: bool,
    /// Whether the feed could not supply all that worms would have grown.
    pub tissue_short: bool,
}

/// Largest number of beds computed side by side.
pub const BESIDE: usize = Four::COUNT;
/// A step that changes the temperature by more than this, K, is halved. Source: our choice, five times a warm day's change.
const LARGEST_CHANGE: f64 = 15.0;
/// Only steps longer than this, d, are halved. Source: our choice.
const SHORTEST_STEP: f64 = 1.0 / 256.0;
/// A fresh share above its limit by no more than this is taken as rounding. Source: our choice.
const SHARE_TOLERANCE: f64 = 1e-9;

/// The zone where worms live, as it is in the morning.
///
/// It is ready feed and castings together, and fresh paste too if worms have no refuge from it.
#[derive(Debug, Clone, Copy)]
struct Zone<L: Lane> {
    moisture: L,
    porosity: L,
    /// Salt in the pore water, kg/m3.
    salt: L,
    /// Dissolved ammoniacal nitrogen in the pore water, kg N/m3.
    ammonia: L,
    /// The same in toxic units.
    ammonia_units: L,
    refuge: L::Mask,
    /// Smallest factor of salt, ammonia and lack of air on feeding, 0 to 1.
    feeding: L,
    /// The same on laying.
    laying: L,
    /// Deaths by salt, 1/d.
    salt_death: L,
    /// Deaths by ammonia, 1/d.
    ammonia_death: L,
}

/// What worms took from and gave to the layers of a bed.
#[derive(Debug, Clone, Copy)]
struct Fed<L: Lane> {
    gases: Gases<L>,
    /// Water that fresh castings did not hold, with its solutes, kg.
    drained: Material<L>,
    /// Change of the stock, kg live.
    grown: L,
    /// Dry matter of the castings then, kg.
    castings_dry: L,
    tissue_short: L::Mask,
}

impl Bed {
    /// Advances the bed by one day: irrigation, worms by the conditions of the morning, then `steps` equal steps of decay, water
    /// and heat.
    ///
    /// The order of the steps makes an error of first order in their length. First-order decay is exact within a step, and heat
    /// is implicit in time.
    pub fn day(&mut self, model: &BedModel, air: &Weather, steps: u32) -> BedDay {
        let mut today = BedDay::default();
        days(&mut [(self, &mut today)], model, air, steps);
        today
    }
}

/// A bed with the place for what it does in a day.
pub trait BedToday {
    /// The bed.
    fn bed(&self) -> &Bed;
    /// The bed, and what it did; every field is set by a day.
    fn parts(&mut self) -> (&mut Bed, &mut BedDay);
}

impl BedToday for (&mut Bed, &mut BedDay) {
    #[inline(always)]
    fn bed(&self) -> &Bed {
        self.0
    }
    #[inline(always)]
    fn parts(&mut self) -> (&mut Bed, &mut BedDay) {
        (self.0, self.1)
    }
}

/// A day of up to [`BESIDE`] beds, with the very bits that [`Bed::day`] gives for each.
///
/// # Panics
/// On more beds than that.
pub fn days<B: BedToday>(beds: &mut [B], model: &BedModel, air: &Weather, steps: u32) {
    match beds {
        [] => {}
        // vectors of one bed gain by wide registers too
        [_] => in_wide_registers(
            #[inline(always)]
            || live::<f64, B>(beds, model, air, steps),
        ),
        _ => in_wide_registers(
            #[inline(always)]
            || live::<Four, B>(beds, model, air, steps),
        ),
    }
}

impl<L: Lane> Fed<L> {
    /// One of so many steps of a day, with its part of what the worms breathed.
    #[inline(always)]
    fn step(&self, steps: u32) -> TimeStep<L> {
        let days = 1.0 / f64::from(steps);
        TimeStep { days, breathed: -self.gases[Gas::Oxygen] * days }
    }
}

/// What a bed is and does until its worms have had their day.
struct Morning<L: Lane> {
    now: TemperatureFactors<L>,
    /// Water added, kg.
    irrigated: L,
    /// Water that irrigation and meals drain, with its solutes, kg.
    through: Material<L>,
    zone: Zone<L>,
    worms: WormDay<L>,
    fed: Fed<L>,
}

impl<L: Lane> Morning<L> {
    /// Waters a bed and lets its worms live their day.
    #[inline(always)]
    fn of(model: &BedModel, profile: &mut Profile<L>, stock: &mut Population<L>) -> Self {
        let now = TemperatureFactors::at(model, profile.temperature);
        let (irrigated, leached) = profile.irrigate(model, &now);
        let zone = profile.zone(model, &now);
        let edible = profile.ready.matter.dry() / model.parameters.feed_dry_share;
        let mut worms = worm::day(stock, &model.worms, &profile.surroundings(&zone), edible);
        let fed = profile.feed_worms(model, &now, stock, &mut worms, edible);
        profile.work(model, worms.eaten, edible, fed.castings_dry);
        Self { now, irrigated, through: leached + fed.drained, zone, worms, fed }
    }
}

/// The layers of a bed on a day whose temperature changes too far in a step: the same morning, then smaller steps. Its worms are left
/// to the caller.
#[cold]
fn careful(bed: &mut Bed, model: &BedModel, air: &Weather, steps: u32) -> Losses {
    let (mut profile, mut stock) = (Profile::gather(model, |_| &*bed), bed.worms);
    let Morning { fed, .. } = Morning::of(model, &mut profile, &mut stock);
    let losses = profile.careful_steps(model, air, steps, fed.step(steps));
    profile.put_back(0, bed);
    losses
}

/// A day of as many beds as lanes; unused lanes repeat the last bed and are discarded.
#[inline(always)]
fn live<L: Lane, B: BedToday>(beds: &mut [B], model: &BedModel, air: &Weather, steps: u32) {
    assert!(beds.len() <= L::COUNT, "more beds than lanes");
    let (last, steps) = (beds.len() - 1, steps.max(1));
    // changed in their place: to hand them on as values would copy them
    let mut profile = Profile::<L>::gather(model, |place| beds[place.min(last)].bed());
    let mut stock = Population::<L>::gather(|place| &beds[place.min(last)].bed().worms);
    let morning = Morning::of(model, &mut profile, &mut stock);
    let Morning { now, irrigated, through, zone, worms, fed } = &morning;
    let mut losses = Losses::<L>::none();
    let too_far = profile.steps(model, air, now, steps, fed.step(steps), &mut losses);
    losses.gases += fed.gases;
    losses.drained += *through;
    each_lane::<L>(
        beds.len(),
        #[inline(always)]
        |place| {
            let (bed, out) = beds[place].parts();
            out.tissue = model.parameters.tissue * fed.grown.lane(place);
            if too_far.lane(place) {
                let losses = careful(bed, model, air, steps);
                fed.gases.put(place, &mut out.gases);
                out.gases += losses.gases;
                through.put(place, &mut out.drained);
                out.drained += losses.drained;
                out.hottest = losses.hottest;
            } else {
                profile.put_back(place, bed);
                losses.gases.put(place, &mut out.gases);
                losses.drained.put(place, &mut out.drained);
                out.hottest = losses.hottest.lane(place);
            }
            stock.put(place, &mut bed.worms);
            bed.days_since_harvest += 1.0;
            out.irrigated = irrigated.lane(place);
            bed.wetted |= out.irrigated > 0.0;
            out.worms = worms.lane(place);
            out.zone_ph = bed.zone.ph;
            out.zone_moisture = zone.moisture.lane(place);
            out.zone_porosity = zone.porosity.lane(place);
            out.zone_salt = zone.salt.lane(place);
            out.zone_ammonia = zone.ammonia.lane(place);
            out.zone_ammonia_units = zone.ammonia_units.lane(place);
            out.refuge = zone.refuge.lane(place);
            out.tissue_short = fed.tissue_short.lane(place);
        },
    );
}

impl<L: Lane> Profile<L> {
    /// The equal steps of a day. Returns the beds whose temperature changed too far in one of them: rates hold at the
    /// temperature of the start of a step.
    #[inline(always)]
    fn steps(
        &mut self,
        model: &BedModel,
        air: &Weather,
        morning: &TemperatureFactors<L>,
        steps: u32,
        step: TimeStep<L>,
        out: &mut Losses<L>,
    ) -> L::Mask {
        let mut too_far = L::Mask::splat(false);
        let mut now = *morning;
        for n in 0..steps {
            if n > 0 {
                now = TemperatureFactors::at(model, self.temperature);
            }
            let before = self.temperature;
            self.step(model, air, &now, step, out);
            too_far = too_far | L::from(LARGEST_CHANGE).lt((self.temperature - before).abs());
        }
        too_far
    }

    /// The conditions in the worms' zone, and how far they hold worms back.
    ///
    /// Worms have no refuge if the fresh layer is thicker than `refuge_layer` and its share of the bed's mass is above
    /// `fresh_share_limit`. Feeding and laying follow the worst of salt, ammonia and air; the responses are those of
    /// [`worm::stress`], and the factor of air falls in a straight line from 1 to 0 with air-filled porosity.
    #[inline(always)]
    fn zone(&mut self, model: &BedModel, now: &TemperatureFactors<L>) -> Zone<L> {
        let p = &model.parameters;
        let mut matter = self.ready.matter + self.castings.matter;
        let mut volume = self.ready.volume + self.castings.volume;
        let (mut dry, fresh_dry) = (matter.dry(), self.fresh.matter.dry());
        let fresh = fresh_dry + self.fresh.matter.water();
        let fresh_share = ratio(fresh, fresh + (dry + matter.water()));
        let thick = (self.area * p.refuge_layer).lt(self.fresh.volume);
        let exposed = thick & (self.fresh_share_limit + SHARE_TOLERANCE).lt(fresh_share);
        if exposed.any() {
            let mixed = L::select(exposed, L::ONE, L::ZERO);
            matter += self.fresh.matter * mixed;
            volume += self.fresh.volume * mixed;
            dry += fresh_dry * mixed;
        }
        let water = matter.water();
        let wet = dry + water;
        self.zone = now.powers.acidity(&matter, self.zone);
        let porosity = model.aeration.air_filled_porosity(dry, water, volume);
        let salt = ratio(matter[Component::Salt], water / WATER_DENSITY);
        let nitrogen = matter[Component::Ammonia] * Component::Ammonia.elements()[Element::Nitrogen.index()];
        let dissolved = p.ammonium.dissolved(water, matter[Component::Humus], dry);
        let ammonia = ratio(nitrogen * dissolved, water / WATER_DENSITY);
        let units = p.ammonia.units(ammonia, now.powers.free_ammonia_share(&self.zone) * ammonia);
        let air = falling(-porosity, -p.porosity_full, -p.porosity_zero);
        Zone {
            moisture: ratio(water, wet),
            porosity,
            salt,
            ammonia,
            ammonia_units: units,
            refuge: !exposed,
            feeding: p.salt.feeding(salt).min(p.ammonia.feeding(units)).min(air),
            laying: p.salt.laying(salt).min(p.ammonia.laying(units)).min(air),
            salt_death: p.salt.deaths(salt),
            ammonia_death: p.ammonia.deaths(units),
        }
    }

    /// The surroundings of the worms.
    #[inline(always)]
    fn surroundings(&self, zone: &Zone<L>) -> Surroundings<L> {
        Surroundings {
            temperature: self.temperature,
            moisture: zone.moisture,
            ph: self.zone.ph,
            area: self.area,
            feeding: zone.feeding,
            laying: zone.laying,
            salt_death: zone.salt_death,
            ammonia_death: zone.ammonia_death,
            refuge: zone.refuge,
        }
    }

    /// Sets what the worms do to ready feed and castings today, by the dry matter eaten over that of each layer: what they eat passes
    /// through both. `edible` and `eaten` are feed, kg.
    #[inline(always)]
    fn work(&mut self, model: &BedModel, eaten: L, edible: L, castings_dry: L) {
        let activity = &model.parameters.activity;
        let worked = |turnover: L| {
            let reached = activity.reached(turnover);
            Worked { decay: activity.decay(reached), nitrification: activity.nitrification(reached) }
        };
        let dry = eaten * model.parameters.feed_dry_share;
        self.worked = [worked(ratio(eaten, edible)), worked(ratio(dry, castings_dry))];
    }

    /// Books what worms ate: part is respired, the rest becomes castings, and tissue is taken from the castings as worms grow.
    ///
    /// Water of the meal beyond what its castings hold drains at once, as far as the castings together cannot hold it.
    ///
    /// Respired carbon is `r Q10^((T - 20)/10)` times the stock, at most the share `assimilation` of the carbon eaten. `edible` is the
    /// feed within reach, kg.
    #[inline(always)]
    fn feed_worms(
        &mut self,
        model: &BedModel,
        now: &TemperatureFactors<L>,
        stock: &mut Population<L>,
        worms: &mut WormDay<L>,
        edible: L,
    ) -> Fed<L> {
        let p = &model.parameters;
        let (mut meal, _) = self.ready.take_share(ratio(worms.eaten, edible).min(L::ONE));
        let carbon = meal.element(Element::Carbon);
        let pace = exp((self.temperature - 20.0) * p.respiration_rise);
        let wanted = pace * worms.biomass_before * p.respired_carbon;
        let gases = model.composting.respire(&mut meal, wanted.min(carbon * p.assimilation));
        let dry = meal.dry();
        let volume = dry * (1.0 / p.castings_dry_density);
        let beyond = meal.water() - held_when_drained(model, volume, dry);
        let mut castings_dry = self.castings.matter.dry() + dry;
        self.castings.add(meal, volume);
        let surplus = beyond.min(self.castings.surplus(model, castings_dry)).max(L::ZERO);
        let mut drained = Material::none();
        if surplus.is_positive().any() {
            drained = self.castings.let_water_out(model, now, surplus);
            castings_dry -= drained.dry();
        }
        let most = self.most_growth(model, worms);
        let mut grown = growth(worms);
        let tissue_short = grown.is_positive() & most.lt(grown);
        if tissue_short.any() {
            hold_growth(stock, model, worms, most, tissue_short);
            grown = growth(worms);
        }
        let castings_dry = self.exchange_tissue(model, grown, castings_dry);
        Fed { gases, drained, grown, castings_dry, tissue_short }
    }

    /// Largest growth of worms and cocoons, kg live, for which the castings hold every component of tissue, and which the largest
    /// published conversion of feed allows. Without the second limit, bodies that regrow after famine would gain more than they ate.
    #[inline(always)]
    fn most_growth(&self, model: &BedModel, worms: &WormDay<L>) -> L {
        let tissue = &model.parameters.tissue;
        let conversion = model.worms.parameters().largest_conversion;
        let mut most = (worms.eaten * conversion - worms.tissue_lost).max(L::ZERO);
        for component in Component::ALL {
            if tissue[component] > 0.0 {
                let mut available = self.castings.matter[component].max(L::ZERO);
                if component == Component::Sugars {
                    available += self.castings.matter[Component::Fibre].max(L::ZERO);
                }
                most = most.min(available / tissue[component]);
            }
        }
        most
    }

    /// Moves the tissue of worm growth, kg live, out of the castings of `dry` kg dry matter, or lost tissue back into them; returns the
    /// dry matter left. Its carbohydrate comes from sugars and, once these are used up, from fibre, which has the same formula.
    #[inline(always)]
    fn exchange_tissue(&mut self, model: &BedModel, grown: L, dry: L) -> L {
        for (held, per_worm) in self.castings.matter.0.iter_mut().zip(model.parameters.tissue.0) {
            *held -= grown * per_worm;
        }
        let short = (-self.castings.matter[Component::Sugars]).max(L::ZERO);
        self.castings.matter[Component::Sugars] += short;
        self.castings.matter[Component::Fibre] -= short;
        let left = dry - grown * model.parameters.tissue_dry;
        self.castings.follow_dry(dry, left);
        left
    }
}

/// Change of the stock of worms and cocoons, kg live. Cocoons are booked as tissue of worms.
#[inline(always)]
fn growth<L: Lane>(worms: &WormDay<L>) -> L {
    worms.tissue_after - worms.tissue_before
}

/// Where growth is `short`, scales bodies down so that worms and cocoons together grow by no more than `most` kg: cocoons laid are paid
/// for by bodies.
#[inline(always)]
fn hold_growth<L: Lane>(
    stock: &mut Population<L>,
    model: &BedModel,
    worms: &mut WormDay<L>,
    most: L,
    short: L::Mask,
) {
    let beyond = growth(worms) - most;
    let target = (worms.biomass_after - beyond).max(L::ZERO);
    let held = stock.body * (target / worms.biomass_after);
    stock.body = L::select(short, held, stock.body);
    worms.biomass_after = stock.biomass(&model.worms);
    worms.tissue_after = stock.live_mass(&model.worms);
}

impl Profile {
    /// The steps of a day, each halved as long as the temperature changes too far in it.
    #[cold]
    fn careful_steps(&mut self, model: &BedModel, air: &Weather, steps: u32, step: TimeStep) -> Losses {
        let mut out = Losses::none();
        for _ in 0..steps {
            self.careful_step(model, air, step, &mut out);
        }
        out
    }

    fn careful_step(&mut self, model: &BedModel, air: &Weather, step: TimeStep, out: &mut Losses) {
        let before = (*self, *out);
        let now = TemperatureFactors::at(model, self.temperature);
        self.step(model, air, &now, step, out);
        let change = (self.temperature - before.0.temperature).abs();
        if change > LARGEST_CHANGE && step.days > SHORTEST_STEP {
            (*self, *out) = before;
            let half = TimeStep { days: 0.5 * step.days, breathed: 0.5 * step.breathed };
            for _ in 0..2 {
                self.careful_step(model, air, half, out);
            }
        }
    }
}

#[cfg(test)]
mod tests;
