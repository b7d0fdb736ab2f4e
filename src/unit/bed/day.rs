//! One day of beds: the worms by what they find in the morning, then decay, water and heat.
//!
//! Beds of one day do not touch one another, so up to [`BESIDE`] of them are worked on side by side; what comes to one never
//! depends on its neighbours.

use super::Bed;
use super::layer::Now;
use super::model::BedModel;
use super::profile::Losses;
use super::profile::Profile;
use crate::component::Component;
use crate::component::Element;
use crate::component::Gas;
use crate::lane::Four;
use crate::lane::Lane;
use crate::lane::Mask;
use crate::lane::exp;
use crate::material::Gases;
use crate::material::Material;
use crate::material::ratio;
use crate::process::worm;
use crate::process::worm::Population;
use crate::process::worm::Surroundings;
use crate::process::worm::WormDay;
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
    let last = beds.len() - 1;
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
    let days = 1.0 / f64::from(steps.max(1));
    let breathed = -fed.gases[Gas::Oxygen] * days;
    let far = profile.steps(model, air, &now, steps, breathed, &mut losses);
    losses.gases += fed.gases;
    let mut outs = [BedDay::default(); BESIDE];
    for ((place, bed), out) in beds.iter_mut().enumerate().zip(&mut outs) {
        let bed = bed.borrow_mut();
        out.tissue = model.parameters.tissue * fed.grown.lane(place);
        if far.lane(place) {
            let mut alone = morning.lane(place);
            let left = alone.careful_steps(model, air, steps, breathed.lane(place));
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
    /// The equal steps of a day. Says where the temperature ran too far in one for its rates to hold, which are those of its
    /// start.
    #[inline(always)]
    fn steps(
        &mut self,
        model: &BedModel,
        air: &Weather,
        morning: &Now<L>,
        steps: u32,
        breathed: L,
        out: &mut Losses<L>,
    ) -> L::Mask {
        let days = 1.0 / f64::from(steps.max(1));
        let mut far = L::Mask::of(false);
        let mut now = *morning;
        for step in 0..steps.max(1) {
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
    fn careful_steps(&mut self, model: &BedModel, air: &Weather, steps: u32, breathed: f64) -> Losses {
        let mut out = Losses::none();
        let days = 1.0 / f64::from(steps.max(1));
        for _ in 0..steps.max(1) {
            self.careful_step(model, air, [days, breathed], &mut out);
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
mod tests {
    use super::super::tests::bedding;
    use super::super::tests::model;
    use super::super::tests::paste;
    use super::super::tests::setup;
    use super::*;
    use crate::process::drying::saturation_vapour_density;

    fn profile(model: &BedModel, bed: &Bed) -> Profile {
        Profile::gather(model, |_| bed)
    }

    /// What worms breathe out on a day, the rest of which is left out.
    fn breathed_by_worms(model: &BedModel, bed: &mut Bed) -> Gases {
        let mut layers = profile(model, bed);
        let now = Now::at(model, bed.temperature);
        let zone = layers.zone(model, &now);
        let edible = layers.ready.matter.dry() / model.parameters.feed_dry_share;
        let here = layers.surroundings(&zone, 0);
        let mut worms = [worm::day(&mut bed.worms, &model.worms, &here, edible); BESIDE];
        layers.feed_worms(model, std::slice::from_mut(bed), &mut worms, edible).gases
    }

    const ROOM: Weather = Weather { temperature: 20.0, humidity: 0.5 };

    #[test]
    fn narrow_registers_give_the_bits_of_wide_ones() {
        let model = model();
        let worms = |kg: f64| Population::from_adults(kg, &model.worms);
        let mut wide =
            [2.0, 5.0, 0.0, 9.0].map(|kg| Bed::new(setup(4.0), bedding(400.0), 0.6, 15.0 + kg, worms(kg)));
        let mut narrow = wide;
        for day in 0..40 {
            for bed in [&mut wide, &mut narrow].map(|beds| &mut beds[day % 4]) {
                bed.feed(paste() * 30.0, 0.05);
            }
            let outs = side_by_side(&mut wide, &model, &ROOM, 1);
            assert_eq!(outs, live::<Four, Bed>(&mut narrow, &model, &ROOM, 1), "day {day}");
            assert_eq!(wide, narrow, "day {day}");
        }
    }

    #[test]
    fn a_tight_bed_evaporates_what_the_temperature_at_the_end_of_the_step_gives() {
        // evaporation: phi h_c/1110 (rho_vs(T) - RH rho_vs(T_air)) A; the start's 30 °C would cool it by more than 100 K
        let model = model();
        let p = &model.parameters;
        let box_of = crate::unit::bed::Setup { heat_transfer: Some(0.05), ..setup(4.0) };
        let bed = Bed::new(box_of, bedding(4.0), 0.01, 30.0, Population::empty());
        let dryness = model.aeration.moisture_factor(0.7);
        let mut bed = profile(&model, &bed);
        let gone = bed.evaporation(&model, &ROOM, 1.0);
        bed.castings.matter[Component::Water] -= gone;
        bed.heat(&model, &ROOM, 1.0, [0.0, gone]);
        let difference =
            saturation_vapour_density(bed.temperature) - 0.5 * saturation_vapour_density(ROOM.temperature);
        let rate = p.surface_wetness * dryness * p.air_film / p.mass_transfer_divisor * difference;
        assert!(gone > 0.0 && bed.temperature < 12.0, "{gone} {}", bed.temperature);
        assert!((gone - 86_400.0 * rate * 4.0).abs() < 1e-6 * gone, "{gone} {}", bed.temperature);
    }

    #[test]
    fn paste_as_thin_as_the_refuge_layer_leaves_worms_a_refuge() {
        // 4 m2 and a layer of 2 cm: 80 L, though most of this bed is fresh
        let model = model();
        let now = Now::at(&model, 20.0);
        for (litres, refuge) in [(75.0, true), (85.0, false)] {
            let mut bed = Bed::new(setup(4.0), bedding(10.0), 0.02, 20.0, Population::empty());
            bed.feed(paste() * 60.0, 0.001 * litres);
            let mut layers = profile(&model, &bed);
            let found = layers.zone(&model, &now);
            let here = layers.surroundings(&found, 0);
            assert_eq!(here.refuge, refuge, "{litres} L");
            // with a refuge worms live in the 10 kg on 2 cm below, without it in all there is
            let (zone, volume) =
                if refuge { (bedding(10.0), 0.02) } else { (bed.contents(), 0.02 + 0.001 * litres) };
            let filled = zone.dry() / model.aeration.solid_density + zone.water() / 1000.0;
            assert!((here.moisture - zone.moisture()).abs() < 1e-12, "{litres} L");
            assert!((found.porosity - (1.0 - filled / volume)).abs() < 1e-12, "{litres} L");
        }
    }

    #[test]
    fn worms_respire_more_where_it_is_warm() {
        // 5 kg of worms with all they can eat; Q10 by its definition
        let model = model();
        let q10 = crate::literature::central("bed.worm_respiration_q10").unwrap();
        let at_20 = model.parameters.respired_carbon * 5.0;
        for (temperature, factor) in [(20.0, 1.0), (15.0, 1.0 / q10.sqrt()), (25.0, q10.sqrt())] {
            let worms = Population::from_adults(5.0, &model.worms);
            let mut bed = Bed::new(setup(4.0), bedding(400.0), 0.6, temperature, worms);
            bed.ready.add(bedding(200.0), 0.3);
            let carbon = breathed_by_worms(&model, &mut bed).element(Element::Carbon);
            assert!((carbon - at_20 * factor).abs() < 1e-9, "{temperature}: {carbon} {}", at_20 * factor);
        }
    }

    #[test]
    fn worms_respire_a_share_of_what_they_eat_at_most() {
        // next to nothing to eat: its carbon times the share assimilated
        let model = model();
        let mut bed =
            Bed::new(setup(4.0), bedding(400.0), 0.6, 20.0, Population::from_adults(5.0, &model.worms));
        bed.ready.add(paste() * 0.01, 1e-5);
        let respired = breathed_by_worms(&model, &mut bed).element(Element::Carbon);
        let carbon = (paste() * 0.01).element(Element::Carbon);
        assert!((respired - model.parameters.assimilation * carbon).abs() < 1e-12, "{respired} of {carbon}");
    }

    #[test]
    fn carbohydrate_of_tissue_comes_from_fibre_where_sugars_are_used_up() {
        let model = model();
        let tissue = &model.parameters.tissue;
        let mut bed =
            Bed::new(setup(4.0), bedding(400.0), 0.6, 20.0, Population::from_adults(5.0, &model.worms));
        for c in Component::ALL {
            bed.castings.matter[c] += f64::from(u8::from(tissue[c] > 0.0));
        }
        bed.castings.matter[Component::Sugars] = 0.0;
        let fibre = bed.castings.matter[Component::Fibre];
        let mut layers = profile(&model, &bed);
        let worms =
            [WormDay { biomass_before: 5.0, biomass_after: 5.01, eaten: 10.0, ..WormDay::default() }; BESIDE];
        assert!(layers.most_growth(&model, &worms) > 0.01);
        let before = layers.castings.matter.wet();
        layers.exchange_tissue(&model, growth(&worms));
        let left = &layers.castings.matter;
        assert!((before - left.wet() - 0.01 * tissue.wet()).abs() < 1e-9);
        assert!(left[Component::Sugars].abs() < 1e-15);
        assert!(
            (fibre - left[Component::Fibre] - 0.01 * (tissue[Component::Sugars] + tissue[Component::Fibre]))
                .abs()
                < 1e-12
        );
    }

    #[test]
    fn what_drains_from_a_layer_is_in_the_next() {
        // all water of soaked paste and ready feed goes down or out, none is lost
        let model = model();
        let mut bed = Bed::new(setup(4.0), bedding(40.0), 0.1, 20.0, Population::empty());
        let soaked = Material::of(Component::Fibre, 10.0) + Material::of(Component::Water, 200.0);
        (bed.fresh.matter, bed.fresh.volume) = (soaked, 0.3);
        let (held, ready) = (bed.contents().elements(), bed.ready.matter.wet());
        let mut layers = profile(&model, &bed);
        let mut out = Losses::none();
        layers.water(&model, &ROOM, &Now::at(&model, 20.0), 1.0, &mut out);
        layers.put_back(0, &mut bed);
        let gap = held - bed.contents().elements() - out.gases.elements() - out.drained.elements();
        assert!(gap.amax() < 1e-9, "{gap}");
        assert!(bed.ready.matter.wet() > ready && bed.fresh.matter.wet() < 210.0);
    }

    /// A closed bed: nothing evaporates, no heat is lost.
    fn closed(area: f64) -> crate::unit::bed::Setup {
        crate::unit::bed::Setup { surface_wetness: Some(0.0), heat_transfer: Some(0.0), ..setup(area) }
    }

    #[test]
    fn the_breath_of_worms_warms_a_closed_bed_alike_by_one_step_or_eight() {
        // all heat is that of oxygen used; 400 kg of grit with 400 kg of water take it up
        let model = model();
        for steps in [1, 8] {
            let grit = Material::of(Component::Minerals, 400.0) + Material::of(Component::Water, 400.0);
            let worms = Population::from_adults(5.0, &model.worms);
            let mut bed = Bed::new(closed(4.0), grit, 1.0, 20.0, worms);
            bed.ready.add(bedding(20.0), 0.05);
            let out = bed.day(&model, &ROOM, steps);
            let heat = -out.gases[Gas::Oxygen] * model.composting.rates().heat_per_oxygen;
            let p = &model.parameters;
            let held = bed.contents();
            let capacity = held.water() * p.heat_capacity_water + held.dry() * p.heat_capacity_dry;
            let rise = heat / capacity;
            assert!(((bed.temperature - 20.0) / rise - 1.0).abs() < 0.01, "{steps} {rise}");
        }
    }

    #[test]
    fn the_middle_of_the_fresh_layer_is_warmer_by_its_oxygen_of_a_day() {
        // q L^2 / (2 k) with the oxygen of an eighth of a day, eight times; nothing else is in the bed and nothing conditioned
        let mut model = model();
        model.parameters.conditioning = 0.0;
        let mut bed = Bed::new(closed(4.0), Material::zero(), 0.0, 20.0, Population::empty());
        bed.feed(paste() * 60.0, 0.1);
        let mut layers = profile(&model, &bed);
        let mut out = Losses::none();
        layers.step(&model, &ROOM, &Now::at(&model, 20.0), (0.125, 0.0), &mut out);
        let watts = -out.gases[Gas::Oxygen] * 8.0 * model.composting.rates().heat_per_oxygen / 86_400.0;
        let (volume, thickness) = (layers.fresh.volume, layers.fresh.volume / 4.0);
        let rise = watts / volume * thickness * thickness / (2.0 * model.parameters.conductivity);
        assert!(rise > 0.01 && (out.hottest - layers.temperature - rise).abs() < 1e-9, "{rise}");
    }

    #[test]
    fn paste_is_conditioned_as_far_as_air_reaches() {
        let model = model();
        let mut bed = Bed::new(setup(4.0), bedding(10.0), 0.02, 20.0, Population::empty());
        bed.feed(paste() * 60.0, 0.1);
        bed.fresh.aired = 0.25;
        let mut layers = profile(&model, &bed);
        layers.condition(&model, 0.8, 0.5, &mut Losses::none());
        let left = (-model.parameters.conditioning * 0.8 * 0.25 * 0.5).exp();
        assert!((layers.fresh.matter.wet() - 60.0 * left).abs() < 1e-9 && left < 0.999);
        assert!((layers.ready.volume - 0.1 * (1.0 - left)).abs() < 1e-12);
    }

    #[test]
    fn wet_paste_settles_by_the_water_that_drains() {
        let model = model();
        let mut bed = Bed::new(closed(4.0), bedding(40.0), 0.1, 20.0, Population::empty());
        let soaked = Material::of(Component::Fibre, 10.0) + Material::of(Component::Water, 200.0);
        (bed.fresh.matter, bed.fresh.volume) = (soaked, 0.3);
        let mut layers = profile(&model, &bed);
        layers.water(&model, &ROOM, &Now::at(&model, 20.0), 0.1, &mut Losses::none());
        let drained = 210.0 - layers.fresh.matter.wet();
        assert!(drained > 1.0 && (layers.fresh.volume - (0.3 - drained / 1000.0)).abs() < 1e-12, "{drained}");
    }

    #[test]
    fn a_bed_gives_up_half_of_its_water_in_a_step_at_most() {
        // 10 kg of water spread on 50 m2 of a room that keeps it warm
        let model = model();
        let warm = crate::unit::bed::Setup { heat_transfer: Some(1e6), ..setup(50.0) };
        let matter = Material::of(Component::Fibre, 10.0) + Material::of(Component::Water, 10.0);
        let bed = Bed::new(warm, matter, 0.1, 20.0, Population::empty());
        let gone = profile(&model, &bed).evaporation(&model, &ROOM, 1.0);
        assert!((gone - 5.0).abs() < 1e-12, "{gone}");
    }

    #[test]
    fn a_thick_layer_leaves_a_refuge_while_it_is_the_smaller_part_and_little_air_holds_worms_back() {
        let model = model();
        let p = &model.parameters;
        let now = Now::at(&model, 20.0);
        // a share of 0.225 may be fresh
        for (fresh, old, refuge) in
            [(100.0, 300.0, false), (22.5, 77.5, true), (22.6, 77.4, false), (80.0, 320.0, true)]
        {
            let mut bed = Bed::new(setup(0.1), bedding(old), 0.4, 20.0, Population::empty());
            bed.feed(paste() * fresh, 0.1);
            assert_eq!(profile(&model, &bed).zone(&model, &now).refuge, refuge, "{fresh} {old}");
        }
        // pores half way between those of full and of no access
        let matter = bedding(100.0);
        let filled = matter.dry() / model.aeration.solid_density + matter.water() / 1000.0;
        let volume = filled / (1.0 - 0.5 * (p.porosity_full + p.porosity_zero));
        let bed = Bed::new(setup(4.0), matter, volume, 20.0, Population::empty());
        let access = profile(&model, &bed).zone(&model, &now).access;
        assert!((access - 0.5).abs() < 1e-9, "{access}");
    }
}
