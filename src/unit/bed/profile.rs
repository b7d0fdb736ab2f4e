//! The layers of a bed from top to bottom, of one bed or of several side by side, and their water, heat and decay.

use super::Bed;
use super::day::Weather;
use super::layer::{BedLayer, Now};
use super::model::{BedModel, BedParameters};
use crate::matter::lane::{Lane, Mask, share_lost};
use crate::matter::{Component, Gas, Gases, Material, ratio};
use crate::process::acidity::Acidity;
use crate::process::drying::saturation_vapour_density;

/// Most of its water that a bed gives up in a step.
const MOST_EVAPORATED: f64 = 0.5;

/// The layers of a bed with their temperature and what its setup says of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Profile<L = f64> {
    pub(super) fresh: BedLayer<L>,
    pub(super) ready: BedLayer<L>,
    pub(super) castings: BedLayer<L>,
    /// # Units: °C
    pub(super) temperature: L,
    /// Acidity of the zone worms live in at the last look.
    pub(super) zone: Acidity<L>,
    /// # Units: m2
    pub(super) area: L,
    /// Surface wetness and cover factor.
    wetness: L,
    /// Heat transfer to the room. # Units: W/(m2 K)
    heat_transfer: L,
    /// Moisture below which the operator waters, and the moisture aimed at. # Units: kg/kg wet
    moisture_band: [L; 2],
    /// Largest share of the bed's mass that may be fresh.
    pub(super) fresh_share_limit: L,
}

/// What leaves the layers of a bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Losses<L = f64> {
    /// Gases, water vapour included. # Units: kg
    pub(super) gases: Gases<L>,
    /// Water that drained, with its solutes.
    pub(super) drained: Material<L>,
    /// Highest temperature, the inside of the fresh layer included. # Units: °C
    pub(super) hottest: L,
}

impl<L: Lane> Losses<L> {
    #[inline(always)]
    pub(super) fn none() -> Self {
        Self { gases: Gases::none(), drained: Material::none(), hottest: L::of(f64::NEG_INFINITY) }
    }
}

impl<L: Lane> Profile<L> {
    /// The profile of a bed for each lane, by its place.
    #[inline(always)]
    pub(super) fn gather<'a>(model: &BedModel, each: impl Fn(usize) -> &'a Bed) -> Self {
        let p = &model.parameters;
        let number = |of: &dyn Fn(&Bed) -> f64| L::gather(|place| of(each(place)));
        Self {
            fresh: BedLayer::gather(|place| &each(place).fresh),
            ready: BedLayer::gather(|place| &each(place).ready),
            castings: BedLayer::gather(|place| &each(place).castings),
            zone: Acidity::gather(|place| each(place).zone),
            temperature: number(&|bed| bed.temperature),
            area: number(&|bed| bed.setup.area),
            wetness: number(&|bed| bed.setup.surface_wetness.unwrap_or(p.surface_wetness)),
            heat_transfer: number(&|bed| bed.setup.heat_transfer.unwrap_or(p.heat_transfer)),
            moisture_band: [
                number(&|bed| bed.setup.moisture_band.0),
                number(&|bed| bed.setup.moisture_band.1),
            ],
            fresh_share_limit: number(&|bed| bed.setup.fresh_share_limit),
        }
    }

    /// Puts the layers of a lane back into a bed.
    #[inline(always)]
    pub(super) fn put_back(&self, place: usize, bed: &mut Bed) {
        self.fresh.put(place, &mut bed.fresh);
        self.ready.put(place, &mut bed.ready);
        self.castings.put(place, &mut bed.castings);
        bed.temperature = self.temperature.lane(place);
        bed.zone = self.zone.lane(place);
    }

    /// Water the operator adds to bring the bed back into its moisture band; 0 when it is moist enough. They stop where more
    /// water would fill the pores that worms breathe from. # Units: kg
    #[inline(always)]
    pub(super) fn irrigate(&mut self, model: &BedModel) -> L {
        let zero = L::of(0.0);
        let [low, high] = self.moisture_band;
        let held = self.ready.matter.water() + self.castings.matter.water();
        let layers_dry = [self.ready.matter.dry(), self.castings.matter.dry()];
        let dry = layers_dry[0] + layers_dry[1];
        let thirsty = zero.less(dry).and(held.less(low * (held + dry)));
        if !thirsty.any() {
            return zero;
        }
        let aim = (low + high) * 0.5;
        let volume = self.ready.volume + self.castings.volume;
        let solids = dry / model.aeration.solid_density;
        let most = (volume * (1.0 - model.parameters.porosity_full) - solids) * 1000.0;
        let wanted = ((aim * dry / (-aim + 1.0)).least(most) - held).most(zero);
        let water = L::select(thirsty, wanted, zero);
        for (layer, part) in [&mut self.ready, &mut self.castings].into_iter().zip(layers_dry) {
            layer.matter[Component::Water] += ratio(water * part, dry);
        }
        water
    }

    /// Decay, conditioning, water and heat for `days`; `breathed` is the oxygen the worms used in that time, kg.
    #[inline(always)]
    pub(super) fn step(
        &mut self,
        model: &BedModel,
        air: &Weather,
        now: &Now<L>,
        (days, breathed): (f64, L),
        out: &mut Losses<L>,
    ) {
        let p = &model.parameters;
        let before = out.gases[Gas::Oxygen];
        let area = self.area;
        let mut fresh_oxygen = L::of(0.0);
        let acidities = now.powers.acidities([
            (&self.fresh.matter, self.fresh.acidity),
            (&self.ready.matter, self.ready.acidity),
            (&self.castings.matter, self.castings.acidity),
        ]);
        let layers = [
            (&mut self.fresh, 1.0),
            (&mut self.ready, p.worked_multiplier),
            (&mut self.castings, p.castings_multiplier),
        ];
        let mut cover = 1.0;
        for (place, ((layer, multiplier), acidity)) in layers.into_iter().zip(acidities).enumerate() {
            let wet = layer.matter.wet();
            if L::of(0.0).less(wet).any() {
                let dry = wet - layer.matter.water();
                layer.acidity = acidity;
                let at = layer.conditions(model, now, [area, dry], [multiplier, cover]);
                let gases = model.composting.decay(&mut layer.matter, &at, days);
                layer.follow_dry(dry);
                if place == 0 {
                    fresh_oxygen = -gases[Gas::Oxygen];
                }
                out.gases += gases;
            } else {
                layer.be_empty();
            }
            cover *= p.ammonia_cover;
        }
        self.condition(model, now.factor, days, out);
        let evaporated = self.water(model, air, now, days, out);
        let oxygen = before - out.gases[Gas::Oxygen] + breathed;
        self.heat(model, air, days, [oxygen, evaporated]);
        let rise = self.fresh_rise(model, fresh_oxygen / days);
        out.hottest = out.hottest.most(self.temperature + rise);
    }

    /// The aerobic front: a share of the fresh layer becomes ready, its acids burnt as far as air reaches.
    #[inline(always)]
    pub(super) fn condition(
        &mut self,
        model: &BedModel,
        temperature_factor: L,
        days: f64,
        out: &mut Losses<L>,
    ) {
        if !L::of(0.0).less(self.fresh.matter.wet()).any() {
            return;
        }
        let aired = self.fresh.aired;
        let share = share_lost(temperature_factor * aired * (model.parameters.conditioning * days));
        let (mut part, volume) = self.fresh.take_share(share);
        out.gases += model.composting.burn_acids(&mut part, aired);
        self.ready.add(part, volume);
    }

    /// Evaporation from the surface and drainage from layer to layer. Gives what evaporated. # Units: kg
    #[inline(always)]
    pub(super) fn water(
        &mut self,
        model: &BedModel,
        air: &Weather,
        now: &Now<L>,
        days: f64,
        out: &mut Losses<L>,
    ) -> L {
        let evaporated = self.evaporation(model, air, days);
        let [water, _] = self.held();
        let share = ratio(evaporated, water).least(L::of(MOST_EVAPORATED));
        for layer in [&mut self.fresh, &mut self.ready, &mut self.castings] {
            let gone = layer.matter[Component::Water] * share;
            layer.matter[Component::Water] -= gone;
            out.gases[Gas::WaterVapour] += gone;
        }
        if let Some(drained) = self.fresh.drain(model, now, days) {
            // wet paste settles as it drains; no air takes the place of the water
            self.fresh.volume = (self.fresh.volume - drained.water() / 1000.0).most(L::of(0.0));
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

    /// Water and dry matter of all layers. # Units: kg
    #[inline(always)]
    fn held(&self) -> [L; 2] {
        let [a, b, c] = [&self.fresh.matter, &self.ready.matter, &self.castings.matter];
        [a.water() + b.water() + c.water(), a.dry() + b.dry() + c.dry()]
    }

    /// Heat lost to the room per kelvin above it. # Units: J/K
    #[inline(always)]
    fn room_loss(&self, days: f64) -> L {
        self.heat_transfer * self.area * (86_400.0 * days)
    }

    /// Evaporation by mass transfer: `phi h_c/1110 (rho_vs(T_bed) - RH rho_vs(T_air)) A`, by the temperature at the start of
    /// the step. Where that would cool a bed of little heat past the point at which it stops evaporating, by the temperature at
    /// its end. # Units: kg
    #[inline(always)]
    pub(super) fn evaporation(&self, model: &BedModel, air: &Weather, days: f64) -> L {
        let (p, zero) = (&model.parameters, L::of(0.0));
        let [water, dry] = self.held();
        // a surface drier than half water gives up less
        let dryness = model.aeration.moisture_factor(ratio(water, water + dry));
        let outside = air.humidity * saturation_vapour_density(air.temperature);
        let transfer =
            self.wetness * dryness * self.area * (86_400.0 * p.air_film / p.mass_transfer_divisor * days);
        let at = |temperature: L| transfer * (saturation_vapour_density(temperature) - outside);
        let first = at(self.temperature).least(water * MOST_EVAPORATED).most(zero);
        let (capacity, room) = (heat_capacity(p, [water, dry]), self.room_loss(days));
        let cooled = |gone: L| {
            let left = capacity - gone * p.heat_capacity_water;
            let heat = left * self.temperature + room * air.temperature - gone * p.latent_heat;
            // no bed is colder; far below the vapour formula does not hold
            (heat / (left + room)).most(L::of(-100.0))
        };
        // above the temperature of the air it evaporates whatever the humidity
        let after = cooled(first);
        let overdone = zero.less(first).and(after.less(L::of(air.temperature))).and(at(after).less(zero));
        if !overdone.any() {
            return first;
        }
        let (mut low, mut high) = (zero, first);
        for _ in 0..40 {
            let middle = (low + high) * 0.5;
            let more = middle.less(at(cooled(middle)));
            low = L::select(more, middle, low);
            high = L::select(more, high, middle);
        }
        L::select(overdone, low, first)
    }

    /// One step of the heat balance from the oxygen used and the water evaporated, kg; the loss to the room is implicit in
    /// time. The water booked is what cools, so that heat and water close together.
    #[inline(always)]
    pub(super) fn heat(&mut self, model: &BedModel, air: &Weather, days: f64, [oxygen, evaporated]: [L; 2]) {
        let p = &model.parameters;
        let capacity = heat_capacity(p, self.held());
        let loss = self.room_loss(days);
        let gained = oxygen * model.composting.rates().heat_per_oxygen - evaporated * p.latent_heat;
        let warmed = (capacity * self.temperature + gained + loss * air.temperature) / (capacity + loss);
        self.temperature = L::select(L::of(0.0).less(capacity), warmed, L::of(air.temperature));
    }

    /// Rise of temperature inside the fresh layer, insulated below: `q L^2 / (2 k)`. # Units: K
    #[inline(always)]
    fn fresh_rise(&self, model: &BedModel, oxygen_per_day: L) -> L {
        let thickness = self.fresh.volume / self.area;
        let watts =
            ratio(oxygen_per_day * (model.composting.rates().heat_per_oxygen / 86_400.0), self.fresh.volume);
        watts * thickness * thickness / (2.0 * model.parameters.conductivity)
    }
}

/// Heat that water and dry matter (kg) take up per kelvin. # Units: J/K
#[inline(always)]
fn heat_capacity<L: Lane>(p: &BedParameters, [water, dry]: [L; 2]) -> L {
    water * p.heat_capacity_water + dry * p.heat_capacity_dry
}
