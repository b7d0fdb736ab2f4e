//! A layer of a bed: matter with a bulk volume.

use super::model::BedModel;
use crate::component::Component;
use crate::material::Material;
use crate::material::ratio;
use crate::process::acidity::AcidPowers;
use crate::process::acidity::Acidity;
use crate::process::composting::LayerConditions;

/// What all layers of a bed share at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Now {
    /// Acid constants.
    pub(super) powers: AcidPowers,
    /// Temperature factor of decay.
    pub(super) factor: f64,
    /// Ammonia that leaves a square metre per kilogram of pore water and share of free ammonia. # Units: kg/(m2 d)
    ammonia: f64,
}

impl Now {
    pub(super) fn at(model: &BedModel, temperature: f64) -> Self {
        let p = &model.parameters;
        let kelvin = temperature + 273.15;
        Self {
            powers: model.pores.moved_to(temperature, &model.acids),
            factor: model.aeration.temperature_factor(temperature),
            ammonia: 86_400.0 * p.ammonia_transfer / (model.ammonia_henry(kelvin) * 8.2057e-5 * kelvin),
        }
    }
}

/// Matter of one layer and the space it takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// What the layer holds.
    pub matter: Material,
    /// Bulk volume, pores included. # Units: m3
    pub volume: f64,
    /// Acidity at the last look.
    pub acidity: Acidity,
    /// Share of the layer that oxygen reached at the last look.
    pub aired: f64,
    /// Depth oxygen reached at the last look. # Units: m
    pub reach: f64,
}

impl Default for Layer {
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

impl Layer {
    /// Dry matter per bulk volume; 0 for an empty layer. # Units: kg/m3
    pub fn dry_density(&self) -> f64 {
        ratio(self.matter.dry(), self.volume)
    }

    /// Takes a share of matter and volume away and returns both. # Units: share 0 to 1; kg, m3
    #[must_use = "what is taken must go somewhere"]
    pub fn take_share(&mut self, share: f64) -> (Material, f64) {
        let volume = self.volume * share;
        self.volume -= volume;
        (self.matter.take_share(share), volume)
    }

    /// Adds matter with its volume. # Units: kg, m3
    pub fn add(&mut self, matter: Material, volume: f64) {
        self.matter += matter;
        self.volume += volume;
    }

    /// Lets the bulk volume follow the dry matter, keeping the dry density.
    pub(super) fn follow_dry(&mut self, dry_before: f64) {
        if dry_before > 0.0 {
            self.volume *= (self.matter.dry() / dry_before).max(0.0);
        }
    }

    /// Looks at air and temperature and says how fast the layer decays at an acidity. `dry` is its dry matter, `multiplier` that
    /// of the layer, `covers` the number of layers above it. # Units: kg
    pub(super) fn conditions(
        &mut self,
        model: &BedModel,
        now: &Now,
        acidity: Acidity,
        [area, dry, multiplier]: [f64; 3],
        covers: i32,
    ) -> LayerConditions {
        self.acidity = acidity;
        let water = self.matter.water();
        let porosity = model.aeration.air_filled_porosity(dry, water, self.volume);
        let decay = now.factor
            * model.aeration.moisture_factor(ratio(water, water + dry))
            * model.aeration.air_space_factor(porosity)
            * multiplier;
        let oxygen_factor = model.aeration.oxygen_factor();
        let uptake = model.composting.potential_uptake(&self.matter) * decay * oxygen_factor;
        let thickness = self.volume / area;
        self.reach = if self.volume > 0.0 {
            model.aeration.oxygen_reach(porosity, uptake / (self.volume * 86_400.0))
        } else {
            f64::INFINITY
        };
        self.aired = if thickness > self.reach { self.reach / thickness } else { 1.0 };
        LayerConditions {
            decay,
            temperature: now.factor,
            oxygen: oxygen_factor * self.aired,
            aired: self.aired,
            nitrifier_ph: model.nitrifier_ph_factor(acidity.ph),
            volatilisation: self.volatilisation(model, now, area, covers),
        }
    }

    /// First-order constant of ammonia loss to the air:
    /// `86400 k_g A cover f / (K_H R T W)` with free ammonia share f and Henry constant K_H. # Units: 1/d
    fn volatilisation(&self, model: &BedModel, now: &Now, area: f64, covers: i32) -> f64 {
        let water = self.matter.water();
        if water <= 0.0 {
            return 0.0;
        }
        let free = now.powers.free_ammonia_share(&self.acidity);
        now.ammonia * area * model.parameters.ammonia_cover.powi(covers) * free / water
    }

    /// Lets water above what the dry matter holds drain for `days`, with the solutes it carries; `None` when none does.
    pub(super) fn drain(&mut self, model: &BedModel, now: &Now, days: f64) -> Option<Material> {
        let p = &model.parameters;
        let water = self.matter.water();
        let surplus = water - p.water_held * self.matter.dry();
        if surplus <= 0.0 {
            return None;
        }
        let leaving = surplus * -(-p.drainage_rate * days).exp_m1();
        let share = leaving / water;
        let mut out = Material::of(Component::Water, leaving);
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
    use super::super::tests::model;
    use super::super::tests::paste;
    use super::*;

    #[test]
    fn air_reaches_as_far_as_the_layer_that_decays_lets_it() {
        let model = model();
        let mut layer = Layer::default();
        layer.add(paste() * 600.0, 1.0);
        assert!((layer.dry_density() - 180.0).abs() < 1e-9 && Layer::default().dry_density() == 0.0);
        // 0.3 of the speed at 20 °C: the oxygen of what decays so fast, in a second and a cubic metre
        let now = Now::at(&model, 20.0);
        let at = layer.conditions(&model, &now, Acidity::of(6.0), [1.0, 180.0, 0.3], 0);
        let uptake =
            model.composting.potential_uptake(&layer.matter) * at.decay * model.aeration.oxygen_factor();
        let porosity = model.aeration.air_filled_porosity(180.0, 420.0, 1.0);
        let reach = model.aeration.oxygen_reach(porosity, uptake / 86_400.0);
        assert!((layer.reach / reach - 1.0).abs() < 1e-9 && reach < 0.5, "{} {reach}", layer.reach);
        // the layer is a metre thick
        assert!((at.aired - reach).abs() < 1e-9);
    }
}
