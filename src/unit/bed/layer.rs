//! A layer of a bed: matter with a bulk volume.

use super::model::BedModel;
use crate::matter::lane::{Lane, Mask, share_lost};
use crate::matter::{Component, Material, ratio};
use crate::process::acidity::{AcidPowers, Acidity};
use crate::process::composting::LayerConditions;

/// What all layers of a bed share at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Now<L = f64> {
    /// Acid constants.
    pub(super) powers: AcidPowers<L>,
    /// Temperature factor of decay.
    pub(super) factor: L,
    /// Ammonia that leaves a square metre per kilogram of pore water and share of free ammonia. # Units: kg/(m2 d)
    ammonia: L,
}

impl<L: Lane> Now<L> {
    #[inline(always)]
    pub(super) fn at(model: &BedModel, temperature: L) -> Self {
        let transfer = L::of(86_400.0 * model.parameters.ammonia_transfer);
        let kelvin = temperature + 273.15;
        Self {
            powers: model.pores.moved_to(temperature, &model.acids),
            factor: model.aeration.temperature_factor(temperature),
            ammonia: transfer / (model.ammonia_henry(kelvin) * kelvin * 8.2057e-5),
        }
    }
}

/// Matter of one layer and the space it takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedLayer<L = f64> {
    /// What the layer holds.
    pub matter: Material<L>,
    /// Bulk volume, pores included. # Units: m3
    pub volume: L,
    /// Acidity at the last look.
    pub acidity: Acidity<L>,
    /// Share of the layer that oxygen reached at the last look.
    pub aired: L,
    /// Depth oxygen reached at the last look. # Units: m
    pub reach: L,
}

impl Default for BedLayer {
    fn default() -> Self {
        Self {
            matter: Material::zero(),
            volume: 0.0,
            acidity: Acidity::of(7.0),
            aired: 1.0,
            reach: f64::INFINITY,
        }
    }
}

impl<L: Lane> BedLayer<L> {
    /// A layer for each lane, by its place.
    #[inline(always)]
    pub(super) fn gather<'a>(each: impl Fn(usize) -> &'a BedLayer) -> Self {
        Self {
            matter: Material::gather(|place| &each(place).matter),
            volume: L::gather(|place| each(place).volume),
            acidity: Acidity::gather(|place| each(place).acidity),
            aired: L::gather(|place| each(place).aired),
            reach: L::gather(|place| each(place).reach),
        }
    }

    /// Puts the layer of a lane in a place.
    #[inline(always)]
    pub(super) fn put(&self, place: usize, there: &mut BedLayer) {
        self.matter.put(place, &mut there.matter);
        there.volume = self.volume.lane(place);
        there.acidity = self.acidity.lane(place);
        there.aired = self.aired.lane(place);
        there.reach = self.reach.lane(place);
    }

    /// Takes a share of matter and volume away and returns both. # Units: share 0 to 1; kg, m3
    #[inline(always)]
    #[must_use = "what is taken must go somewhere"]
    pub fn take_share(&mut self, share: L) -> (Material<L>, L) {
        let volume = self.volume * share;
        self.volume -= volume;
        (self.matter.take_share(share), volume)
    }

    /// Adds matter with its volume. # Units: kg, m3
    #[inline(always)]
    pub fn add(&mut self, matter: Material<L>, volume: L) {
        self.matter += matter;
        self.volume += volume;
    }

    /// Lets the bulk volume follow the dry matter, keeping the dry density.
    #[inline(always)]
    pub(super) fn follow_dry(&mut self, dry_before: L) {
        let zero = L::of(0.0);
        let kept = (self.matter.dry() / dry_before).most(zero);
        self.volume = L::select(zero.less(dry_before), self.volume * kept, self.volume);
    }

    /// What the look says of a layer that holds nothing.
    #[inline(always)]
    pub(super) fn be_empty(&mut self) {
        (self.aired, self.reach) = (L::of(1.0), L::of(f64::INFINITY));
    }

    /// Looks at air and temperature and says how fast the layer decays at its acidity. `dry` is its dry matter, `multiplier` that
    /// of the layer, `cover` the factor of the layers above it on ammonia. # Units: m2, kg
    #[inline(always)]
    pub(super) fn conditions(
        &mut self,
        model: &BedModel,
        now: &Now<L>,
        [area, dry]: [L; 2],
        [multiplier, cover]: [f64; 2],
    ) -> LayerConditions<L> {
        let (zero, one) = (L::of(0.0), L::of(1.0));
        let water = self.matter.water();
        let porosity = model.aeration.air_filled_porosity(dry, water, self.volume);
        let decay = now.factor
            * model.aeration.moisture_factor(ratio(water, water + dry))
            * model.aeration.air_space_factor(porosity)
            * multiplier;
        let oxygen_factor = model.aeration.oxygen_factor();
        let uptake = model.composting.potential_uptake(&self.matter) * decay * oxygen_factor;
        let thickness = self.volume / area;
        let reach = model.aeration.oxygen_reach(porosity, uptake / (self.volume * 86_400.0));
        self.reach = L::select(zero.less(self.volume), reach, L::of(f64::INFINITY));
        self.aired = L::select(self.reach.less(thickness), self.reach / thickness, one);
        LayerConditions {
            decay,
            temperature: now.factor,
            oxygen: self.aired * oxygen_factor,
            aired: self.aired,
            nitrifier_ph: model.nitrifier_ph_factor(self.acidity.ph),
            volatilisation: self.volatilisation(now, area * cover),
        }
    }

    /// First-order constant of ammonia loss to the air:
    /// `86400 k_g A cover f / (K_H R T W)` with free ammonia share f and Henry constant K_H. # Units: m2 to 1/d
    #[inline(always)]
    fn volatilisation(&self, now: &Now<L>, area_covered: L) -> L {
        let free = now.powers.free_ammonia_share(&self.acidity);
        ratio(now.ammonia * area_covered * free, self.matter.water())
    }

    /// Lets water above what the dry matter holds drain for `days`, with the solutes it carries; `None` where no lane has any.
    #[inline(always)]
    pub(super) fn drain(&mut self, model: &BedModel, now: &Now<L>, days: f64) -> Option<Material<L>> {
        let p = &model.parameters;
        let (zero, water) = (L::of(0.0), self.matter.water());
        let surplus = (water - self.matter.dry() * p.water_held).most(zero);
        if !zero.less(surplus).any() {
            return None;
        }
        let leaving = surplus * share_lost(p.drainage_rate * days);
        let share = ratio(leaving, water);
        let mut out = Material::none();
        out[Component::Water] = leaving;
        for (component, solubility) in p.drain_solubility {
            out[component] = self.matter[component] * share * solubility;
        }
        *out.base_mut() = now.powers.base_at(&out, self.acidity);
        self.matter -= out;
        Some(out)
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{model, paste};
    use super::*;

    #[test]
    fn air_reaches_as_far_as_the_layer_that_decays_lets_it() {
        let model = model();
        let mut layer = BedLayer::default();
        layer.add(paste() * 600.0, 1.0);
        assert!((layer.matter.dry() - 180.0).abs() < 1e-9);
        // 0.3 of the speed at 20 °C: the oxygen of what decays so fast, in a second and a cubic metre
        let now = Now::at(&model, 20.0);
        layer.acidity = Acidity::of(6.0);
        let at = layer.conditions(&model, &now, [1.0, 180.0], [0.3, 1.0]);
        let uptake =
            model.composting.potential_uptake(&layer.matter) * at.decay * model.aeration.oxygen_factor();
        let porosity = model.aeration.air_filled_porosity(180.0, 420.0, 1.0);
        let reach = model.aeration.oxygen_reach(porosity, uptake / 86_400.0);
        assert!((layer.reach / reach - 1.0).abs() < 1e-9 && reach < 0.5, "{} {reach}", layer.reach);
        // the layer is a metre thick
        assert!((at.aired - reach).abs() < 1e-9);
    }
}
