//! One day of a bed: decay, water, heat, then the worms.

use super::Bed;
use super::layer::Now;
use super::model::BedModel;
use super::model::BedParameters;
use crate::component::Component;
use crate::component::Element;
use crate::component::Gas;
use crate::material::Gases;
use crate::material::Material;
use crate::material::ratio;
use crate::process::drying::saturation_vapour_density;
use crate::process::worm;
use crate::process::worm::Surroundings;
use crate::process::worm::WormDay;

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

/// Change of temperature in a step above which the step is halved, five times a warm day's. # Units: K
const LARGEST_CHANGE: f64 = 15.0;
/// A step is not halved below about twice this. # Units: d
const SHORTEST_STEP: f64 = 1.0 / 256.0;
/// Most of its water that a bed gives up in a step.
const MOST_EVAPORATED: f64 = 0.5;

impl Bed {
    /// Advances the bed by one day: the worms by what they find in the morning, then `steps` equal steps of decay, water
    /// and heat.
    ///
    /// Splitting is of first order in the step; first-order pools are exact within a step. Heat is implicit in time.
    pub fn day(&mut self, model: &BedModel, air: &Weather, steps: u32) -> BedDay {
        let mut out =
            BedDay { irrigated: self.irrigate(model), hottest: f64::NEG_INFINITY, ..BedDay::default() };
        let mut now = Now::at(model, self.temperature);
        self.worm_day(model, &now, &mut out);
        let days = 1.0 / f64::from(steps.max(1));
        let breathed = -out.gases[Gas::Oxygen] * days;
        for step in 0..steps.max(1) {
            if step > 0 {
                now = Now::at(model, self.temperature);
            }
            self.checked_step(model, air, &now, [days, breathed], &mut out);
        }
        self.days_since_harvest += 1.0;
        out
    }

    /// A step that is halved again and again where the temperature would run far in it: rates are those of its start.
    fn checked_step(
        &mut self,
        model: &BedModel,
        air: &Weather,
        now: &Now,
        [days, breathed]: [f64; 2],
        out: &mut BedDay,
    ) {
        let layers = [self.fresh, self.ready, self.castings];
        let temperature = self.temperature;
        let given_off = (out.gases, out.drained, out.hottest);
        self.step(model, air, now, [days, breathed], out);
        let change = (self.temperature - temperature).abs();
        if change > LARGEST_CHANGE && days > SHORTEST_STEP {
            [self.fresh, self.ready, self.castings] = layers;
            self.temperature = temperature;
            (out.gases, out.drained, out.hottest) = given_off;
            let half = [0.5 * days, 0.5 * breathed];
            self.checked_step(model, air, now, half, out);
            self.checked_step(model, air, &Now::at(model, self.temperature), half, out);
        }
    }

    /// Decay, conditioning, water and heat for `days`; `breathed` is the oxygen the worms used in that time, kg.
    fn step(
        &mut self,
        model: &BedModel,
        air: &Weather,
        now: &Now,
        [days, breathed]: [f64; 2],
        out: &mut BedDay,
    ) {
        let p = &model.parameters;
        let area = self.setup.area;
        let before = out.gases[Gas::Oxygen];
        let mut fresh_oxygen = 0.0;
        let here = [&self.fresh, &self.ready, &self.castings].map(|layer| (&layer.matter, layer.acidity));
        let acidities = now.powers.acidities(here);
        let layers = [
            (&mut self.fresh, 1.0),
            (&mut self.ready, p.worked_multiplier),
            (&mut self.castings, p.castings_multiplier),
        ];
        for (covers, ((layer, multiplier), acidity)) in (0..).zip(layers.into_iter().zip(acidities)) {
            let wet = layer.matter.wet();
            if wet <= 0.0 {
                continue;
            }
            let dry = wet - layer.matter.water();
            let at = layer.conditions(model, now, acidity, [area, dry, multiplier], covers);
            let gases = model.composting.decay(&mut layer.matter, &at, days);
            layer.follow_dry(dry);
            if covers == 0 {
                fresh_oxygen = -gases[Gas::Oxygen];
            }
            out.gases += gases;
        }
        out.gases += self.condition(model, now.factor, days);
        let evaporated = self.water(model, air, now, days, out);
        let oxygen = before - out.gases[Gas::Oxygen] + breathed;
        self.heat(model, air, days, [oxygen, evaporated]);
        let rise = self.fresh_rise(model, fresh_oxygen / days);
        out.hottest = out.hottest.max(self.temperature + rise);
    }

    /// The aerobic front: a share of the fresh layer becomes ready, its acids burnt as far as air reaches.
    fn condition(&mut self, model: &BedModel, temperature_factor: f64, days: f64) -> Gases {
        if self.fresh.matter.wet() <= 0.0 {
            return Gases::zero();
        }
        let aired = self.fresh.aired;
        let share = -(-model.parameters.conditioning * temperature_factor * aired * days).exp_m1();
        let (mut part, volume) = self.fresh.take_share(share);
        let gases = model.composting.burn_acids(&mut part, aired);
        self.ready.add(part, volume);
        gases
    }

    /// Evaporation from the surface and drainage from layer to layer. Gives what evaporated. # Units: kg
    fn water(&mut self, model: &BedModel, air: &Weather, now: &Now, days: f64, out: &mut BedDay) -> f64 {
        let evaporated = self.evaporation(model, air, days);
        let water = self.water_held();
        let share = ratio(evaporated, water).min(MOST_EVAPORATED);
        for layer in [&mut self.fresh, &mut self.ready, &mut self.castings] {
            let gone = layer.matter[Component::Water] * share;
            layer.matter[Component::Water] -= gone;
            out.gases[Gas::WaterVapour] += gone;
        }
        if let Some(drained) = self.fresh.drain(model, now, days) {
            // wet paste settles as it drains; no air takes the place of the water
            self.fresh.volume = (self.fresh.volume - drained.water() / 1000.0).max(0.0);
            self.ready.matter += drained;
        }
        if let Some(drained) = self.ready.drain(model, now, days) {
            self.castings.matter += drained;
        }
        if let Some(drained) = self.castings.drain(model, now, days) {
            out.drained += drained;
        }
        share * water
    }

    /// Water of all layers. # Units: kg
    fn water_held(&self) -> f64 {
        self.fresh.matter.water() + self.ready.matter.water() + self.castings.matter.water()
    }

    /// Dry matter of all layers. # Units: kg
    fn dry_held(&self) -> f64 {
        self.fresh.matter.dry() + self.ready.matter.dry() + self.castings.matter.dry()
    }

    /// Water and dry matter of all layers. # Units: kg
    fn held(&self) -> [f64; 2] {
        [self.water_held(), self.dry_held()]
    }

    /// Heat lost to the room per kelvin above it. # Units: J/K
    fn room_loss(&self, model: &BedModel, days: f64) -> f64 {
        self.setup.heat_transfer.unwrap_or(model.parameters.heat_transfer) * self.setup.area * 86_400.0 * days
    }

    /// Evaporation by mass transfer: `phi h_c/1110 (rho_vs(T_bed) - RH rho_vs(T_air)) A`, by the temperature at the start of
    /// the step. Where that would cool a bed of little heat past the point at which it stops evaporating, by the temperature at
    /// its end. # Units: kg
    fn evaporation(&self, model: &BedModel, air: &Weather, days: f64) -> f64 {
        let p = &model.parameters;
        let wetness = self.setup.surface_wetness.unwrap_or(p.surface_wetness);
        let [water, dry] = self.held();
        // a surface drier than half water gives up less
        let dryness = model.aeration.moisture_factor(ratio(water, water + dry));
        let outside = air.humidity * saturation_vapour_density(air.temperature);
        let at = |temperature: f64| {
            let difference = saturation_vapour_density(temperature) - outside;
            86_400.0 * wetness * dryness * p.air_film / p.mass_transfer_divisor
                * difference
                * self.setup.area
                * days
        };
        let first = at(self.temperature).min(MOST_EVAPORATED * water);
        if first <= 0.0 {
            return 0.0;
        }
        let (capacity, room) = (heat_capacity(p, [water, dry]), self.room_loss(model, days));
        let cooled = |gone: f64| {
            let left = capacity - gone * p.heat_capacity_water;
            let heat = left * self.temperature + room * air.temperature - gone * p.latent_heat;
            // no bed is colder; far below the vapour formula does not hold
            (heat / (left + room)).max(-100.0)
        };
        // above the temperature of the air it evaporates whatever the humidity
        let after = cooled(first);
        if after >= air.temperature || at(after) >= 0.0 {
            return first;
        }
        let (mut low, mut high) = (0.0, first);
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if at(cooled(middle)) > middle { low = middle } else { high = middle }
        }
        low
    }

    /// One step of the heat balance from the oxygen used and the water evaporated, kg; the loss to the room is implicit in
    /// time. The water booked is what cools, so that heat and water close together.
    fn heat(&mut self, model: &BedModel, air: &Weather, days: f64, [oxygen, evaporated]: [f64; 2]) {
        let p = &model.parameters;
        let capacity = heat_capacity(p, self.held());
        if capacity <= 0.0 {
            self.temperature = air.temperature;
            return;
        }
        let loss = self.room_loss(model, days);
        let gained = oxygen * model.composting.rates().heat_per_oxygen - evaporated * p.latent_heat;
        self.temperature =
            (capacity * self.temperature + gained + loss * air.temperature) / (capacity + loss);
    }

    /// Rise of temperature inside the fresh layer, insulated below: `q L^2 / (2 k)`. # Units: K
    fn fresh_rise(&self, model: &BedModel, oxygen_per_day: f64) -> f64 {
        if self.fresh.volume <= 0.0 {
            return 0.0;
        }
        let thickness = self.fresh.volume / self.setup.area;
        let watts = oxygen_per_day * model.composting.rates().heat_per_oxygen / 86_400.0 / self.fresh.volume;
        watts * thickness * thickness / (2.0 * model.parameters.conductivity)
    }

    /// What the worms live in today, and how far it holds them back.
    fn surroundings(&mut self, model: &BedModel, now: &Now, out: &mut BedDay) -> Surroundings {
        let p = &model.parameters;
        let mut zone = self.ready.matter + self.castings.matter;
        let mut wet = zone.wet();
        let fresh = self.fresh.matter.wet();
        let fresh_share = ratio(fresh, fresh + wet);
        let thin = self.fresh.volume / self.setup.area <= p.refuge_layer;
        out.refuge = thin || fresh_share <= self.setup.fresh_share_limit + 1e-9;
        let mut volume = self.ready.volume + self.castings.volume;
        if !out.refuge {
            zone += self.fresh.matter;
            wet += fresh;
            volume += self.fresh.volume;
        }
        self.zone = now.powers.acidity(&zone, self.zone);
        out.zone_ph = self.zone.ph;
        out.zone_moisture = ratio(zone.water(), wet);
        out.zone_porosity = model.aeration.air_filled_porosity(wet - zone.water(), zone.water(), volume);
        out.zone_salt = ratio(zone[Component::Salt], zone.water() / 1000.0);
        let nitrogen = zone[Component::Ammonia] * Component::Ammonia.elements()[Element::Nitrogen.index()];
        out.zone_free_ammonia = ratio(now.powers.free_ammonia_share(&self.zone) * nitrogen, wet);
        let falling = |x: f64, full: f64, zero: f64| ((zero - x) / (zero - full)).clamp(0.0, 1.0);
        let salt = falling(out.zone_salt, p.salt_full, p.salt_zero);
        let ammonia = falling(out.zone_free_ammonia, 0.25 * p.free_ammonia_zero, p.free_ammonia_zero);
        let porosity = falling(-out.zone_porosity, -p.porosity_full, -p.porosity_zero);
        // deaths rise from none at the limit to the full rate at twice the limit
        let beyond = (out.zone_salt / p.salt_zero).max(out.zone_free_ammonia / p.free_ammonia_zero) - 1.0;
        Surroundings {
            temperature: self.temperature,
            moisture: out.zone_moisture,
            ph: out.zone_ph,
            area: self.setup.area,
            extra_death: p.toxic_death * beyond.clamp(0.0, 1.0),
            access: salt.min(ammonia).min(porosity),
            refuge: out.refuge,
        }
    }

    /// Worms eat, grow, breed and die; their tissue is booked against the castings they leave.
    fn worm_day(&mut self, model: &BedModel, now: &Now, out: &mut BedDay) {
        let p = &model.parameters;
        let here = self.surroundings(model, now, out);
        let edible = self.ready.matter.dry() / p.feed_dry_share;
        out.worms = worm::day(&mut self.worms, &model.worms, &here, edible);
        let share = ratio(out.worms.eaten, edible).min(1.0);
        let (mut eaten, _) = self.ready.take_share(share);
        let carbon = eaten.element(Element::Carbon);
        let wanted = p.respired_carbon
            * (p.respiration_rise * (self.temperature - 20.0)).exp()
            * out.worms.biomass_before;
        out.gases += model.composting.respire(&mut eaten, wanted.min(p.assimilation * carbon));
        self.return_to_castings(eaten, model);
        out.tissue = self.exchange_tissue(model, out);
    }

    /// Moves the matter of worm growth out of the castings, or of lost tissue back into them. Growth is held to what the
    /// castings can give of each tissue component and to the largest published conversion of feed (bodies that regrow
    /// after famine would otherwise outrun what was eaten). The carbohydrate of tissue comes from sugars and, where these are
    /// used up, from fibre of the same formula.
    fn exchange_tissue(&mut self, model: &BedModel, out: &mut BedDay) -> Material {
        let tissue = &model.parameters.tissue;
        let mut grown = out.worms.biomass_after - out.worms.biomass_before;
        if grown > 0.0 {
            let conversion = model.worms.parameters().largest_conversion;
            let mut most = (conversion * out.worms.eaten - out.worms.deaths_kg).max(0.0);
            for component in Component::ALL {
                if tissue[component] > 0.0 {
                    let mut there = self.castings.matter[component].max(0.0);
                    if component == Component::Sugars {
                        there += self.castings.matter[Component::Fibre].max(0.0);
                    }
                    most = most.min(there / tissue[component]);
                }
            }
            if grown > most {
                // what the bed lacks cannot become worm: bodies stay smaller
                let target = out.worms.biomass_before + most;
                self.worms.body *= target / out.worms.biomass_after;
                out.worms.biomass_after = self.worms.biomass(&model.worms);
                grown = out.worms.biomass_after - out.worms.biomass_before;
                out.tissue_short = true;
            }
        }
        let moved = *tissue * grown;
        let dry = self.castings.matter.dry();
        self.castings.matter -= moved;
        let short = (-self.castings.matter[Component::Sugars]).max(0.0);
        self.castings.matter[Component::Sugars] += short;
        self.castings.matter[Component::Fibre] -= short;
        self.castings.follow_dry(dry);
        moved
    }
}

/// Heat that water and dry matter (kg) take up per kelvin. # Units: J/K
fn heat_capacity(p: &BedParameters, [water, dry]: [f64; 2]) -> f64 {
    water * p.heat_capacity_water + dry * p.heat_capacity_dry
}

#[cfg(test)]
mod tests {
    use super::super::tests::bedding;
    use super::super::tests::model;
    use super::super::tests::paste;
    use super::super::tests::setup;
    use super::*;
    use crate::process::worm::Population;

    const ROOM: Weather = Weather { temperature: 20.0, humidity: 0.5 };

    #[test]
    fn a_tight_bed_evaporates_what_the_temperature_at_the_end_of_the_step_gives() {
        // evaporation: phi h_c/1110 (rho_vs(T) - RH rho_vs(T_air)) A; the start's 30 °C would cool it by more than 100 K
        let model = model();
        let p = &model.parameters;
        let box_of = crate::unit::bed::Setup { heat_transfer: Some(0.05), ..setup(4.0) };
        let mut bed = Bed::new(box_of, bedding(4.0), 0.01, 30.0, Population::empty());
        let dryness = model.aeration.moisture_factor(0.7);
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
            let mut out = BedDay::default();
            let here = bed.surroundings(&model, &now, &mut out);
            assert_eq!((here.refuge, out.refuge), (refuge, refuge), "{litres} L");
            // with a refuge worms live in the 10 kg on 2 cm below, without it in all there is
            let (zone, volume) =
                if refuge { (bedding(10.0), 0.02) } else { (bed.contents(), 0.02 + 0.001 * litres) };
            let filled = zone.dry() / model.aeration.solid_density + zone.water() / 1000.0;
            assert!((out.zone_moisture - zone.moisture()).abs() < 1e-12, "{litres} L");
            assert!((out.zone_porosity - (1.0 - filled / volume)).abs() < 1e-12, "{litres} L");
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
            let mut out = BedDay::default();
            bed.worm_day(&model, &Now::at(&model, temperature), &mut out);
            let carbon = out.gases.element(Element::Carbon);
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
        let mut out = BedDay::default();
        bed.worm_day(&model, &Now::at(&model, 20.0), &mut out);
        let carbon = (paste() * 0.01).element(Element::Carbon);
        let respired = out.gases.element(Element::Carbon);
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
        let mut out = BedDay::default();
        out.worms.biomass_before = 5.0;
        out.worms.biomass_after = 5.01;
        out.worms.eaten = 10.0;
        let moved = bed.exchange_tissue(&model, &mut out);
        assert!((moved.wet() - 0.01 * tissue.wet()).abs() < 1e-12 && !out.tissue_short);
        let left = &bed.castings.matter;
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
        let mut out = BedDay::default();
        bed.water(&model, &ROOM, &Now::at(&model, 20.0), 1.0, &mut out);
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
            let rise = heat / heat_capacity(&model.parameters, bed.held());
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
        let mut out = BedDay { hottest: f64::NEG_INFINITY, ..BedDay::default() };
        bed.step(&model, &ROOM, &Now::at(&model, 20.0), [0.125, 0.0], &mut out);
        let watts = -out.gases[Gas::Oxygen] * 8.0 * model.composting.rates().heat_per_oxygen / 86_400.0;
        let (volume, thickness) = (bed.fresh.volume, bed.fresh.volume / 4.0);
        let rise = watts / volume * thickness * thickness / (2.0 * model.parameters.conductivity);
        assert!(rise > 0.01 && (out.hottest - bed.temperature - rise).abs() < 1e-9, "{rise}");
    }

    #[test]
    fn paste_is_conditioned_as_far_as_air_reaches() {
        let model = model();
        let mut bed = Bed::new(setup(4.0), bedding(10.0), 0.02, 20.0, Population::empty());
        bed.feed(paste() * 60.0, 0.1);
        bed.fresh.aired = 0.25;
        bed.condition(&model, 0.8, 0.5);
        let left = (-model.parameters.conditioning * 0.8 * 0.25 * 0.5).exp();
        assert!((bed.fresh.matter.wet() - 60.0 * left).abs() < 1e-9 && left < 0.999);
        assert!((bed.ready.volume - 0.1 * (1.0 - left)).abs() < 1e-12);
    }

    #[test]
    fn wet_paste_settles_by_the_water_that_drains() {
        let model = model();
        let mut bed = Bed::new(closed(4.0), bedding(40.0), 0.1, 20.0, Population::empty());
        let soaked = Material::of(Component::Fibre, 10.0) + Material::of(Component::Water, 200.0);
        (bed.fresh.matter, bed.fresh.volume) = (soaked, 0.3);
        bed.water(&model, &ROOM, &Now::at(&model, 20.0), 0.1, &mut BedDay::default());
        let drained = 210.0 - bed.fresh.matter.wet();
        assert!(drained > 1.0 && (bed.fresh.volume - (0.3 - drained / 1000.0)).abs() < 1e-12, "{drained}");
    }

    #[test]
    fn a_bed_gives_up_half_of_its_water_in_a_step_at_most() {
        // 10 kg of water spread on 50 m2 of a room that keeps it warm
        let model = model();
        let warm = crate::unit::bed::Setup { heat_transfer: Some(1e6), ..setup(50.0) };
        let matter = Material::of(Component::Fibre, 10.0) + Material::of(Component::Water, 10.0);
        let bed = Bed::new(warm, matter, 0.1, 20.0, Population::empty());
        let gone = bed.evaporation(&model, &ROOM, 1.0);
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
            assert_eq!(
                bed.surroundings(&model, &now, &mut BedDay::default()).refuge,
                refuge,
                "{fresh} {old}"
            );
        }
        // pores half way between those of full and of no access
        let matter = bedding(100.0);
        let filled = matter.dry() / model.aeration.solid_density + matter.water() / 1000.0;
        let volume = filled / (1.0 - 0.5 * (p.porosity_full + p.porosity_zero));
        let mut bed = Bed::new(setup(4.0), matter, volume, 20.0, Population::empty());
        let access = bed.surroundings(&model, &now, &mut BedDay::default()).access;
        assert!((access - 0.5).abs() < 1e-9, "{access}");
    }
}
