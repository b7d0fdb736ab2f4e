//! One day of beds: the worms by what they find in the morning, then decay, water and heat.
//!
//! Beds of one day do not touch one another, so up to [`BESIDE`] of them are worked on side by side; what comes to one never
//! depends on its neighbours.

use super::Bed;
use super::layer::Now;
use super::model::BedModel;
use super::profile::{Losses, Profile};
use crate::matter::lane::{Four, Lane, Mask, exp};
use crate::matter::{Component, Element, Gas, Gases, Material, ratio};
use crate::process::worm::{self, Population, Surroundings, WormDay};
use std::borrow::BorrowMut;

/// Air of the room the bed stands in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Air temperature. # Units: °C
    pub temperature: f64,
    /// Relative humidity. # Units: 0 to 1
    pub humidity: f64,
}

/// What a bed did on one day.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BedDay {
    /// Gases given off, water vapour included.
    pub gases: Gases,
    /// Water that drained, with its solutes.
    pub drained: Material,
    /// Water the operator added. # Units: kg
    pub irrigated: f64,
    /// Matter that passed from the bed to the stock (negative: back to the bed).
    pub tissue: Material,
    /// Worms.
    pub worms: WormDay,
    /// Highest temperature of the day, the inside of the fresh layer included. # Units: °C
    pub hottest: f64,
    /// pH of the zone worms live in.
    pub zone_ph: f64,
    /// Moisture of that zone. # Units: kg/kg wet
    pub zone_moisture: f64,
    /// Air-filled porosity of that zone.
    pub zone_porosity: f64,
    /// Salt in its pore water. # Units: kg/m3
    pub zone_salt: f64,
    /// Free ammonia nitrogen in it. # Units: kg N/kg wet
    pub zone_free_ammonia: f64,
    /// Whether worms had a refuge from acid paste.
    pub refuge: bool,
    /// Worm growth was held back by what the feed could give.
    pub tissue_short: bool,
}

/// Most beds that are worked on side by side.
pub const BESIDE: usize = Four::COUNT;
/// Change of temperature in a step above which the step is halved, five times a warm day's. # Units: K
const LARGEST_CHANGE: f64 = 15.0;
/// A step is not halved below about twice this. # Units: d
const SHORTEST_STEP: f64 = 1.0 / 256.0;

/// The zone worms live in, as they find it in the morning.
#[derive(Debug, Clone, Copy)]
struct Zone<L: Lane> {
    moisture: L,
    porosity: L,
    /// # Units: kg/m3
    salt: L,
    /// # Units: kg N/kg wet
    free_ammonia: L,
    refuge: L::Mask,
    /// Share of the intake capacity left by salt, ammonia and want of air.
    access: L,
    /// # Units: 1/d
    extra_death: L,
}

/// What worms did to the layers of a bed.
#[derive(Debug, Clone, Copy)]
struct Fed<L: Lane> {
    gases: Gases<L>,
    /// Live mass that came to the stock. # Units: kg
    grown: L,
    tissue_short: L::Mask,
}

impl Bed {
    /// Advances the bed by one day: the worms by what they find in the morning, then `steps` equal steps of decay, water
    /// and heat.
    ///
    /// Splitting is of first order in the step; first-order pools are exact within a step. Heat is implicit in time.
    pub fn day(&mut self, model: &BedModel, air: &Weather, steps: u32) -> BedDay {
        let [out, ..] = days(std::slice::from_mut(self), model, air, steps);
        out
    }
}

/// A day of up to [`BESIDE`] beds, each to the bits that [`Bed::day`] gives; as many of the days given back are theirs, the
/// others are empty.
pub fn days<B: BorrowMut<Bed>>(
    beds: &mut [B],
    model: &BedModel,
    air: &Weather,
    steps: u32,
) -> [BedDay; BESIDE] {
    match beds {
        [] => [BedDay::default(); BESIDE],
        [_] => live::<f64, B>(beds, model, air, steps),
        _ => side_by_side(beds, model, air, steps),
    }
}

/// A day of several beds, on the widest registers that the processor has.
#[allow(
    unsafe_code,
    reason = "a function for wider registers can only be called so; it asks the processor first"
)]
fn side_by_side<B: BorrowMut<Bed>>(
    beds: &mut [B],
    model: &BedModel,
    air: &Weather,
    steps: u32,
) -> [BedDay; BESIDE] {
    #[cfg(target_arch = "x86_64")]
    {
        #[target_feature(enable = "avx2")]
        fn wide<B: BorrowMut<Bed>>(
            beds: &mut [B],
            model: &BedModel,
            air: &Weather,
            steps: u32,
        ) -> [BedDay; BESIDE] {
            live::<Four, B>(beds, model, air, steps)
        }
        if is_x86_feature_detected!("avx2") {
            // SAFETY: the one demand of `wide` is a processor with AVX2, which was just asked for
            return unsafe { wide(beds, model, air, steps) };
        }
    }
    live::<Four, B>(beds, model, air, steps)
}

/// A day of as many beds as there are lanes; where beds are fewer, the last fills the other lanes and is let go of there.
#[inline(always)]
fn live<L: Lane, B: BorrowMut<Bed>>(
    beds: &mut [B],
    model: &BedModel,
    air: &Weather,
    steps: u32,
) -> [BedDay; BESIDE] {
    let (last, steps) = (beds.len() - 1, steps.max(1));
    let mut profile = Profile::<L>::gather(model, |place| beds[place.min(last)].borrow());
    let irrigated = profile.irrigate(model);
    let now = Now::at(model, profile.temperature);
    let zone = profile.zone(model, &now);
    let mut worms = [WormDay::default(); BESIDE];
    let edible = profile.ready.matter.dry() / model.parameters.feed_dry_share;
    for (place, bed) in beds.iter_mut().enumerate() {
        let here = profile.surroundings(&zone, place);
        worms[place] = worm::day(&mut bed.borrow_mut().worms, &model.worms, &here, edible.lane(place));
    }
    let like_last = worms[last];
    worms[beds.len()..].fill(like_last);
    let fed = profile.feed_worms(model, beds, &mut worms, edible);
    let morning = profile;
    let mut losses = Losses::<L>::none();
    let days = 1.0 / f64::from(steps);
    let breathed = -fed.gases[Gas::Oxygen] * days;
    let far = profile.steps(model, air, &now, steps, (days, breathed), &mut losses);
    losses.gases += fed.gases;
    let mut outs = [BedDay::default(); BESIDE];
    for ((place, bed), out) in beds.iter_mut().enumerate().zip(&mut outs) {
        let bed = bed.borrow_mut();
        out.tissue = model.parameters.tissue * fed.grown.lane(place);
        if far.lane(place) {
            morning.put_back(place, bed);
            let mut alone = Profile::<f64>::gather(model, |_| &*bed);
            let left = alone.careful_steps(model, air, steps, [days, breathed.lane(place)]);
            alone.put_back(0, bed);
            fed.gases.put(place, &mut out.gases);
            out.gases += left.gases;
            (out.drained, out.hottest) = (left.drained, left.hottest);
        } else {
            profile.put_back(place, bed);
            losses.gases.put(place, &mut out.gases);
            losses.drained.put(place, &mut out.drained);
            out.hottest = losses.hottest.lane(place);
        }
        bed.days_since_harvest += 1.0;
        out.irrigated = irrigated.lane(place);
        out.worms = worms[place];
        out.zone_ph = bed.zone.ph;
        out.zone_moisture = zone.moisture.lane(place);
        out.zone_porosity = zone.porosity.lane(place);
        out.zone_salt = zone.salt.lane(place);
        out.zone_free_ammonia = zone.free_ammonia.lane(place);
        out.refuge = zone.refuge.lane(place);
        out.tissue_short = fed.tissue_short.lane(place);
    }
    outs
}

impl<L: Lane> Profile<L> {
    /// The equal steps of a day, `days` long; `breathed` is the oxygen the worms used in one, kg. Says where the temperature ran too far in one for its rates to hold, which are those of its
    /// start.
    #[inline(always)]
    fn steps(
        &mut self,
        model: &BedModel,
        air: &Weather,
        morning: &Now<L>,
        steps: u32,
        (days, breathed): (f64, L),
        out: &mut Losses<L>,
    ) -> L::Mask {
        let mut far = L::Mask::of(false);
        let mut now = *morning;
        for step in 0..steps {
            if step > 0 {
                now = Now::at(model, self.temperature);
            }
            let before = self.temperature;
            self.step(model, air, &now, (days, breathed), out);
            far = far.or(L::of(LARGEST_CHANGE).less((self.temperature - before).size()));
        }
        far
    }

    /// What worms live in today, and how far it holds them back.
    #[inline(always)]
    fn zone(&mut self, model: &BedModel, now: &Now<L>) -> Zone<L> {
        let p = &model.parameters;
        let (zero, one) = (L::of(0.0), L::of(1.0));
        let mut matter = self.ready.matter + self.castings.matter;
        let below = matter.wet();
        let fresh = self.fresh.matter.wet();
        let fresh_share = ratio(fresh, fresh + below);
        let thick = L::of(p.refuge_layer).less(self.fresh.volume / self.area);
        let exposed = thick.and((self.fresh_share_limit + 1e-9).less(fresh_share));
        let mixed = L::select(exposed, one, zero);
        matter += self.fresh.matter * mixed;
        let (wet, water) = (below + fresh * mixed, matter.water());
        let volume = self.ready.volume + self.castings.volume + self.fresh.volume * mixed;
        self.zone = now.powers.acidity(&matter, self.zone);
        let porosity = model.aeration.air_filled_porosity(wet - water, water, volume);
        let salt = ratio(matter[Component::Salt], water / 1000.0);
        let nitrogen = matter[Component::Ammonia] * Component::Ammonia.elements()[Element::Nitrogen.index()];
        let free_ammonia = ratio(now.powers.free_ammonia_share(&self.zone) * nitrogen, wet);
        let falling = |x: L, full: f64, none: f64| ((-x + none) / (none - full)).within(0.0, 1.0);
        let access = falling(salt, p.salt_full, p.salt_zero)
            .least(falling(free_ammonia, 0.25 * p.free_ammonia_zero, p.free_ammonia_zero))
            .least(falling(-porosity, -p.porosity_full, -p.porosity_zero));
        // deaths rise from none at the limit to the full rate at twice the limit
        let beyond = (salt / p.salt_zero).most(free_ammonia / p.free_ammonia_zero) - 1.0;
        let extra_death = beyond.within(0.0, 1.0) * p.toxic_death;
        let moisture = ratio(water, wet);
        Zone { moisture, porosity, salt, free_ammonia, refuge: exposed.not(), access, extra_death }
    }

    /// What the worms of a lane find.
    #[inline(always)]
    fn surroundings(&self, zone: &Zone<L>, place: usize) -> Surroundings {
        Surroundings {
            temperature: self.temperature.lane(place),
            moisture: zone.moisture.lane(place),
            ph: self.zone.ph.lane(place),
            area: self.area.lane(place),
            extra_death: zone.extra_death.lane(place),
            access: zone.access.lane(place),
            refuge: zone.refuge.lane(place),
        }
    }

    /// What worms have eaten of the `edible` feed is breathed, left as castings or grown into tissue, which is booked against
    /// the castings.
    #[inline(always)]
    fn feed_worms<B: BorrowMut<Bed>>(
        &mut self,
        model: &BedModel,
        beds: &mut [B],
        worms: &mut [WormDay; BESIDE],
        edible: L,
    ) -> Fed<L> {
        let p = &model.parameters;
        let eaten = L::gather(|place| worms[place].eaten);
        let stock = L::gather(|place| worms[place].biomass_before);
        let (mut meal, _) = self.ready.take_share(ratio(eaten, edible).least(L::of(1.0)));
        let carbon = meal.element(Element::Carbon);
        let wanted = exp((self.temperature - 20.0) * p.respiration_rise) * stock * p.respired_carbon;
        let gases = model.composting.respire(&mut meal, wanted.least(carbon * p.assimilation));
        self.castings.add(meal, meal.dry() / p.castings_dry_density);
        let most = self.most_growth(model, worms);
        let mut grown = growth(worms);
        let tissue_short = L::of(0.0).less(grown).and(most.less(grown));
        if tissue_short.any() {
            for (place, bed) in beds.iter_mut().enumerate().filter(|(place, _)| tissue_short.lane(*place)) {
                hold_growth(&mut bed.borrow_mut().worms, model, &mut worms[place], most.lane(place));
            }
            grown = growth(worms);
        }
        self.exchange_tissue(model, grown);
        Fed { gases, grown, tissue_short }
    }

    /// Most that bodies can grow: what the castings can give of each tissue component and the largest published conversion of
    /// feed (bodies that regrow after famine would otherwise outrun what was eaten). # Units: kg live
    #[inline(always)]
    fn most_growth(&self, model: &BedModel, worms: &[WormDay; BESIDE]) -> L {
        let (zero, tissue) = (L::of(0.0), &model.parameters.tissue);
        let conversion = model.worms.parameters().largest_conversion;
        let mut most = L::gather(|place| conversion * worms[place].eaten - worms[place].deaths_kg).most(zero);
        for component in Component::ALL {
            if tissue[component] > 0.0 {
                let mut there = self.castings.matter[component].most(zero);
                if component == Component::Sugars {
                    there += self.castings.matter[Component::Fibre].most(zero);
                }
                most = most.least(there / tissue[component]);
            }
        }
        most
    }

    /// Moves the matter of worm growth, kg live, out of the castings, or of lost tissue back into them. The carbohydrate of tissue
    /// comes from sugars and, where these are used up, from fibre of the same formula.
    #[inline(always)]
    fn exchange_tissue(&mut self, model: &BedModel, grown: L) {
        let dry = self.castings.matter.dry();
        for (held, per_worm) in self.castings.matter.0.iter_mut().zip(model.parameters.tissue.0) {
            *held -= grown * per_worm;
        }
        let short = (-self.castings.matter[Component::Sugars]).most(L::of(0.0));
        self.castings.matter[Component::Sugars] += short;
        self.castings.matter[Component::Fibre] -= short;
        self.castings.follow_dry(dry);
    }
}

/// Change of the stock, kg live.
#[inline(always)]
fn growth<L: Lane>(worms: &[WormDay; BESIDE]) -> L {
    L::gather(|place| worms[place].biomass_after - worms[place].biomass_before)
}

/// What the bed lacks cannot become worm: bodies stay smaller, so that the stock grows by `most` kg.
fn hold_growth(stock: &mut Population, model: &BedModel, worms: &mut WormDay, most: f64) {
    let target = worms.biomass_before + most;
    stock.body *= target / worms.biomass_after;
    worms.biomass_after = stock.biomass(&model.worms);
}

impl Profile {
    /// The steps of a day, each halved again and again where the temperature would run far in it.
    #[cold]
    fn careful_steps(&mut self, model: &BedModel, air: &Weather, steps: u32, step: [f64; 2]) -> Losses {
        let mut out = Losses::none();
        for _ in 0..steps {
            self.careful_step(model, air, step, &mut out);
        }
        out
    }

    fn careful_step(
        &mut self,
        model: &BedModel,
        air: &Weather,
        [days, breathed]: [f64; 2],
        out: &mut Losses,
    ) {
        let before = (*self, *out);
        let now = Now::at(model, self.temperature);
        self.step(model, air, &now, (days, breathed), out);
        let change = (self.temperature - before.0.temperature).abs();
        if change > LARGEST_CHANGE && days > SHORTEST_STEP {
            (*self, *out) = before;
            for _ in 0..2 {
                self.careful_step(model, air, [0.5 * days, 0.5 * breathed], out);
            }
        }
    }
}

#[cfg(test)]
mod tests;
