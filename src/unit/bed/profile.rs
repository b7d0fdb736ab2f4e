//! The layers of a bed from top to bottom, of one bed or of several side by side, and their decay, water and heat.

use super::day::Weather;
use super::layer::{BedLayer, LayerSite, TemperatureFactors, held_when_drained};
use super::model::{BedModel, BedParameters};
use super::{Bed, MoistureBand};
use crate::matter::lane::{Lane, Mask, share_lost};
use crate::matter::{Component, Gas, Gases, Material, ratio};
use crate::process::acidity::Acidity;
use crate::process::drying::saturation_vapour_density;
use crate::quantity::constant::{SECONDS_PER_DAY, WATER_DENSITY};

/// Largest share of its water that a bed evaporates in a step. Source: our choice, a guard for bare, dry beds.
const LARGEST_EVAPORATION: f64 = 0.5;
/// Coldest temperature that the search for evaporation tries, °C: the formula of the vapour pressure fails far below it.
/// Source: our choice.
const COLDEST_TRIED: f64 = -100.0;
/// Halvings in the search for evaporation: the result is exact to 1e-12 of the first guess. Source: our choice.
const HALVINGS: u32 = 40;

/// The layers of a bed with their temperature and the part of its setup that they need.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Profile<L = f64> {
    pub(super) fresh: BedLayer<L>,
    pub(super) ready: BedLayer<L>,
    pub(super) castings: BedLayer<L>,
    /// °C.
    pub(super) temperature: L,
    /// Acidity of the worms' zone when last computed.
    pub(super) zone: Acidity<L>,
    /// m2.
    pub(super) area: L,
    /// Surface wetness and cover factor.
    wetness: L,
    /// Heat transfer to the room, W/(m2 K).
    heat_transfer: L,
    moisture_band: MoistureBand<L>,
    /// Share of each watering that drains.
    leaching: L,
    /// 1 if the operator waters the bed, else 0.
    watered: L,
    /// Multipliers of decay and nitrification in ready feed and castings today, which worms set.
    pub(super) worked: [Worked<L>; 2],
    /// Largest share of the bed's mass that may be fresh.
    pub(super) fresh_share_limit: L,
}

/// What worms do to a layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Worked<L = f64> {
    /// Multiplier of decay.
    pub(super) decay: L,
    /// Multiplier of nitrification.
    pub(super) nitrification: L,
}

impl<L: Lane> Worked<L> {
    /// A layer that no worm works.
    #[inline(always)]
    fn rest() -> Self {
        Self { decay: L::ONE, nitrification: L::ONE }
    }
}

/// A step of time, with the oxygen that worms breathe in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TimeStep<L = f64> {
    /// Length, d.
    pub(super) days: f64,
    /// Oxygen used by worms, kg.
    pub(super) breathed: L,
}

/// Water and dry matter of a bed, kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct HeldMass<L> {
    water: L,
    dry: L,
}

impl<L: Lane> HeldMass<L> {
    /// Heat taken up per kelvin, J/K.
    #[inline(always)]
    pub(super) fn heat_capacity(&self, p: &BedParameters) -> L {
        self.water * p.heat_capacity_water + self.dry * p.heat_capacity_dry
    }
}

/// What leaves the layers of a bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Losses<L = f64> {
    /// Gases, water vapour included, kg.
    pub(super) gases: Gases<L>,
    /// Water drained, with its solutes, kg.
    pub(super) drained: Material<L>,
    /// Highest temperature, the inside of the fresh layer included, °C.
    pub(super) hottest: L,
}

impl<L: Lane> Losses<L> {
    #[inline(always)]
    pub(super) fn none() -> Self {
        Self { gases: Gases::none(), drained: Material::none(), hottest: L::from(f64::NEG_INFINITY) }
    }
}

impl<L: Lane> Profile<L> {
    /// Reads the bed of each lane.
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
            moisture_band: MoistureBand {
                low: number(&|bed| bed.setup.moisture_band.low),
                high: number(&|bed| bed.setup.moisture_band.high),
            },
            leaching: number(&|bed| if bed.wetted { bed.setup.leaching } else { 0.0 }),
            watered: number(&|bed| f64::from(u8::from(bed.is_watered()))),
            worked: [Worked::rest(); 2],
            fresh_share_limit: number(&|bed| bed.setup.fresh_share_limit),
        }
    }

    /// Writes the layers of a lane back into a bed.
    #[inline(always)]
    pub(super) fn put_back(&self, place: usize, bed: &mut Bed) {
        self.fresh.put(place, &mut bed.fresh);
        self.ready.put(place, &mut bed.ready);
        self.castings.put(place, &mut bed.castings);
        bed.temperature = self.temperature.lane(place);
        bed.zone = self.zone.lane(place);
    }

    /// Waters a bed that is drier than its moisture band; returns the water added, kg, and what of it drains at once.
    ///
    /// The aim is the middle of the band in ready feed and castings together, but no more than they hold when drained. Both layers get
    /// water by their dry matter. The share `leaching` of all water added runs through the castings and takes solutes along; the first
    /// watering of a bed, which wets dry bedding, leaches nothing.
    #[inline(always)]
    pub(super) fn irrigate(&mut self, model: &BedModel, now: &TemperatureFactors<L>) -> (L, Material<L>) {
        let MoistureBand { low, high } = self.moisture_band;
        let held = self.ready.matter.water() + self.castings.matter.water();
        let layers_dry = [self.ready.matter.dry(), self.castings.matter.dry()];
        let dry = layers_dry[0] + layers_dry[1];
        let thirsty = self.watered.is_positive() & dry.is_positive() & held.lt(low * (held + dry));
        if !thirsty.any() {
            return (L::ZERO, Material::none());
        }
        let aim = (low + high) * 0.5;
        let most = held_when_drained(model, self.ready.volume, layers_dry[0])
            + held_when_drained(model, self.castings.volume, layers_dry[1]);
        let wanted = ((aim * dry / (L::ONE - aim)).min(most) - held).max(L::ZERO);
        let kept = L::select(thirsty, wanted, L::ZERO);
        for (layer, part) in [&mut self.ready, &mut self.castings].into_iter().zip(layers_dry) {
            layer.matter[Component::Water] += ratio(kept * part, dry);
        }
        let leached = ratio(kept * self.leaching, L::ONE - self.leaching);
        if !leached.is_positive().any() {
            return (kept, Material::none());
        }
        self.castings.matter[Component::Water] += leached;
        (kept + leached, self.castings.let_water_out(model, now, leached))
    }

    /// One step: decay of each layer, the aerobic front, evaporation and drainage, then heat.
    ///
    /// The multipliers of decay and nitrification are those of `worked` in ready feed and 1 in the other layers. Each layer keeps its
    /// dry density as it decays.
    ///
    /// A layer of thickness d reduces the ammonia that leaves the layers below it by `1 - (1 - c) min(d/d_c, 1)`, with c the factor
    /// `ammonia_cover` and d_c the thickness `ammonia_cover_layer`.
    #[inline(always)]
    pub(super) fn step(
        &mut self,
        model: &BedModel,
        air: &Weather,
        now: &TemperatureFactors<L>,
        step: TimeStep<L>,
        out: &mut Losses<L>,
    ) {
        let (p, days) = (&model.parameters, step.days);
        let before = out.gases[Gas::Oxygen];
        let area = self.area;
        let mut fresh_oxygen = L::ZERO;
        let acidities = now.powers.acidities([
            (&self.fresh.matter, self.fresh.acidity),
            (&self.ready.matter, self.ready.acidity),
            (&self.castings.matter, self.castings.acidity),
        ]);
        let [ready, castings] = self.worked;
        let layers =
            [(&mut self.fresh, Worked::rest()), (&mut self.ready, ready), (&mut self.castings, castings)];
        let (mut cover, per_cover) = (L::ONE, L::ONE / (area * p.ammonia_cover_layer));
        for (place, ((layer, worked), acidity)) in layers.into_iter().zip(acidities).enumerate() {
            let dry = layer.matter.dry();
            if (dry + layer.matter.water()).is_positive().any() {
                layer.acidity = acidity;
                let Worked { decay: multiplier, nitrification } = worked;
                let site = LayerSite { area, dry, multiplier, nitrification, cover };
                let at = layer.conditions(model, now, &site);
                let gases = model.composting.decay(&mut layer.matter, &at, days);
                layer.follow_dry(dry, layer.matter.dry());
                if place == 0 {
                    fresh_oxygen = -gases[Gas::Oxygen];
                }
                out.gases += gases;
            } else {
                layer.mark_empty();
            }
            let closed = (layer.volume * per_cover).min(L::ONE);
            cover = cover * (L::ONE - closed * (1.0 - p.ammonia_cover));
        }
        self.condition(model, now.decay, days, out);
        let (evaporated, held) = self.water(model, air, now, days, out);
        let oxygen = before - out.gases[Gas::Oxygen] + step.breathed;
        self.heat(model, air, days, oxygen, evaporated, &held);
        out.hottest = out.hottest.max(self.inside_fresh(model, fresh_oxygen / days));
    }

    /// The aerobic front: a share of the fresh layer becomes ready, and the aired share of its acids burns.
    ///
    /// `share = 1 - exp(-k f_T a t)`: k is the rate `conditioning`, f_T the temperature factor of decay and a the share of the
    /// layer that oxygen reaches. The volume of the part moves with it, acids burnt or not.
    #[inline(always)]
    pub(super) fn condition(
        &mut self,
        model: &BedModel,
        temperature_factor: L,
        days: f64,
        out: &mut Losses<L>,
    ) {
        if !self.fresh.matter.wet().is_positive().any() {
            return;
        }
        let aired = self.fresh.aired;
        let share = share_lost(temperature_factor * aired * (model.parameters.conditioning * days));
        let (mut part, volume) = self.fresh.take_share(share);
        out.gases += model.composting.burn_acids(&mut part, aired);
        self.ready.add(part, volume);
    }

    /// Evaporation from the surface and drainage from layer to layer; returns the water evaporated, kg, and what the bed holds then.
    ///
    /// All layers lose the same share of their water to the air. Then each layer, from the top, drains the share `1 - exp(-k t)` of its
    /// surplus, k the rate `drainage_rate`, into the layer below. The surplus of fresh paste is what it holds beyond its dry matter times
    /// `water_held`, that of ready feed and castings what they hold beyond their field capacity. Fresh paste shrinks by the volume of the
    /// water that drains; the other layers keep their volume.
    #[inline(always)]
    pub(super) fn water(
        &mut self,
        model: &BedModel,
        air: &Weather,
        now: &TemperatureFactors<L>,
        days: f64,
        out: &mut Losses<L>,
    ) -> (L, HeldMass<L>) {
        // evaporation leaves dry matter as it is, and drainage moves little of it
        let mut dry = [self.fresh.matter.dry(), self.ready.matter.dry(), self.castings.matter.dry()];
        let held = self.held(dry);
        let evaporated = self.evaporation(model, air, &held, days);
        let share = ratio(evaporated, held.water).min(L::from(LARGEST_EVAPORATION));
        for layer in [&mut self.fresh, &mut self.ready, &mut self.castings] {
            let vapour = layer.matter[Component::Water] * share;
            layer.matter[Component::Water] -= vapour;
            out.gases[Gas::WaterVapour] += vapour;
        }
        let surplus = self.fresh.surplus_of_paste(&model.parameters, dry[0]);
        if let Some(drained) = self.fresh.drain(model, now, surplus, days) {
            // wet paste settles as it drains; no air takes the place of the water
            self.fresh.volume = (self.fresh.volume - drained.water() / WATER_DENSITY).max(L::ZERO);
            self.ready.matter += drained;
            let moved = drained.dry();
            dry[0] -= moved;
            dry[1] += moved;
        }
        let surplus = self.ready.surplus(model, dry[1]);
        if let Some(drained) = self.ready.drain(model, now, surplus, days) {
            self.castings.matter += drained;
            let moved = drained.dry();
            dry[1] -= moved;
            dry[2] += moved;
        }
        let surplus = self.castings.surplus(model, dry[2]);
        if let Some(drained) = self.castings.drain(model, now, surplus, days) {
            out.drained += drained;
            dry[2] -= drained.dry();
        }
        (share * held.water, self.held(dry))
    }

    /// Water and dry matter of the layers, of which the dry matter is known.
    #[inline(always)]
    pub(super) fn held(&self, dry: [L; 3]) -> HeldMass<L> {
        let water = self.fresh.matter.water() + self.ready.matter.water() + self.castings.matter.water();
        HeldMass { water, dry: dry[0] + dry[1] + dry[2] }
    }

    /// Heat lost to the room per kelvin above it, J/K.
    #[inline(always)]
    fn room_loss(&self, days: f64) -> L {
        self.heat_transfer * self.area * (SECONDS_PER_DAY * days)
    }

    /// Water evaporated by mass transfer, kg:
    ///
    /// ```text
    /// E = phi f_w h_c/D (rho_vs(T_bed) - RH rho_vs(T_air)) A t
    /// ```
    ///
    /// phi is the wetness and cover factor of the surface, f_w the moisture factor of decay at the moisture of the whole bed
    /// (a dry surface gives up less), h_c the heat transfer coefficient of still air, D the divisor 1110 J/(m3 K), rho_vs the
    /// density of saturated vapour and t the step in seconds. T_bed is the temperature at the start of the step. A bed of
    /// little heat capacity would cool below the point at which it stops evaporating; then E is found at the temperature at
    /// the end of the step.
    #[inline(always)]
    pub(super) fn evaporation(&self, model: &BedModel, air: &Weather, held: &HeldMass<L>, days: f64) -> L {
        let p = &model.parameters;
        let dryness = model.aeration.moisture_factor(ratio(held.water, held.water + held.dry));
        let outside = air.humidity * saturation_vapour_density(air.temperature);
        let transfer = self.wetness
            * dryness
            * self.area
            * (SECONDS_PER_DAY * p.air_film / p.mass_transfer_divisor * days);
        let at = |temperature: L| transfer * (saturation_vapour_density(temperature) - outside);
        let first = at(self.temperature).min(held.water * LARGEST_EVAPORATION).max(L::ZERO);
        let (capacity, room) = (held.heat_capacity(p), self.room_loss(days));
        let cooled = |evaporated: L| {
            let left = capacity - evaporated * p.heat_capacity_water;
            let heat = left * self.temperature + room * air.temperature - evaporated * p.latent_heat;
            (heat / (left + room)).max(L::from(COLDEST_TRIED))
        };
        // a bed warmer than the air evaporates at any humidity
        let after = cooled(first);
        let too_much = first.is_positive() & after.lt(L::from(air.temperature)) & at(after).lt(L::ZERO);
        if !too_much.any() {
            return first;
        }
        let (mut low, mut high) = (L::ZERO, first);
        for _ in 0..HALVINGS {
            let middle = (low + high) * 0.5;
            let more = middle.lt(at(cooled(middle)));
            low = L::select(more, middle, low);
            high = L::select(more, high, middle);
        }
        L::select(too_much, low, first)
    }

    /// One step of the heat balance from the oxygen used and the water evaporated, kg:
    ///
    /// ```text
    /// T' = (C T + q O2 - L_v E + U A t T_air) / (C + U A t)
    /// ```
    ///
    /// C is the heat capacity after the step's decay and water, q the heat per oxygen. The loss to the room is implicit in time.
    /// The evaporation that cools is the one booked, so that heat and water agree.
    #[inline(always)]
    pub(super) fn heat(
        &mut self,
        model: &BedModel,
        air: &Weather,
        days: f64,
        oxygen: L,
        evaporated: L,
        held: &HeldMass<L>,
    ) {
        let p = &model.parameters;
        let capacity = held.heat_capacity(p);
        let loss = self.room_loss(days);
        let gained = oxygen * model.composting.rates().heat_per_oxygen - evaporated * p.latent_heat;
        let warmed = (capacity * self.temperature + gained + loss * air.temperature) / (capacity + loss);
        self.temperature = L::select(capacity.is_positive(), warmed, L::from(air.temperature));
    }

    /// Temperature inside the fresh layer, insulated below, °C: above that of the bed by `q L^2 / (2 k)` with q in W/m3, but not above
    /// that at which decay, which makes the heat, ends.
    #[inline(always)]
    fn inside_fresh(&self, model: &BedModel, oxygen_per_day: L) -> L {
        let thickness = self.fresh.volume / self.area;
        let heat_per_oxygen = model.composting.rates().heat_per_oxygen;
        let watts = ratio(oxygen_per_day * (heat_per_oxygen / SECONDS_PER_DAY), self.fresh.volume);
        let rise = watts * thickness * thickness / (2.0 * model.parameters.conductivity);
        let most = self.temperature.max(L::from(model.aeration.hottest_decay()));
        (self.temperature + rise).min(most)
    }
}
