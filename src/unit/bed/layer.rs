//! A layer of a bed: matter with a bulk volume.

use super::model::{BedModel, BedParameters};
use crate::matter::lane::{Lane, Mask, share_lost};
use crate::matter::{Component, Material, ratio};
use crate::process::acidity::{AcidPowers, Acidity};
use crate::process::composting::LayerConditions;
use crate::quantity::constant::{SECONDS_PER_DAY, WATER_DENSITY, ZERO_CELSIUS};

/// Gas constant, m3 atm/(mol K). Source: CODATA 2018, rounded.
const GAS_CONSTANT_ATM: f64 = 8.2057e-5;

/// Constants and rates that depend on the temperature of a bed alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TemperatureFactors<L = f64> {
    /// Acid constants.
    pub(super) powers: AcidPowers<L>,
    /// Temperature factor of decay.
    pub(super) decay: L,
    /// Ammonia transfer over the partition of ammonia between air and water, `86400 k_g / (K_H R T)`, kg water/(m2 d).
    ammonia: L,
}

/// Where a layer lies and how it is worked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LayerSite<L = f64> {
    /// Area of the bed, m2.
    pub(super) area: L,
    /// Dry matter of the layer, kg.
    pub(super) dry: L,
    /// Decay multiplier of the layer.
    pub(super) multiplier: L,
    /// Multiplier of nitrification.
    pub(super) nitrification: L,
    /// Factor of the layers above on the ammonia that leaves.
    pub(super) cover: L,
}

impl<L: Lane> TemperatureFactors<L> {
    #[inline(always)]
    pub(super) fn at(model: &BedModel, temperature: L) -> Self {
        let transfer = L::from(SECONDS_PER_DAY * model.parameters.ammonia_transfer);
        let kelvin = temperature + ZERO_CELSIUS;
        Self {
            powers: model.pores.moved_to(temperature, &model.acids),
            decay: model.aeration.temperature_factor(temperature),
            ammonia: transfer / (model.ammonia_henry(kelvin) * kelvin * GAS_CONSTANT_ATM),
        }
    }
}

/// Matter of one layer and the space it takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedLayer<L = f64> {
    /// What the layer holds.
    pub matter: Material<L>,
    /// Bulk volume, pores included, m3.
    pub volume: L,
    /// Acidity when last computed.
    pub acidity: Acidity<L>,
    /// Share of the layer that oxygen reached when last computed.
    pub aired: L,
    /// Depth that oxygen reached when last computed, m.
    pub reach: L,
}

/// Water that drained matter holds, kg: all pores but the share `drained_air` of the volume.
///
/// `W = 1000 (V (1 - a) - m_dry/rho_s)`, with the volume V in m3 and the density of solids rho_s.
#[inline(always)]
pub(super) fn held_when_drained<L: Lane>(model: &BedModel, volume: L, dry: L) -> L {
    let solids = dry * (1.0 / model.aeration.solid_density);
    ((volume * (1.0 - model.parameters.drained_air) - solids) * WATER_DENSITY).max(L::ZERO)
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
    /// Reads the layer of each lane.
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

    /// Writes the layer of a lane to `there`.
    #[inline(always)]
    pub(super) fn put(&self, place: usize, there: &mut BedLayer) {
        self.matter.put(place, &mut there.matter);
        there.volume = self.volume.lane(place);
        there.acidity = self.acidity.lane(place);
        there.aired = self.aired.lane(place);
        there.reach = self.reach.lane(place);
    }

    /// Removes a share (0 to 1) of matter and volume; returns both, kg and m3.
    #[inline(always)]
    #[must_use = "what is taken must go somewhere"]
    pub fn take_share(&mut self, share: L) -> (Material<L>, L) {
        let volume = self.volume * share;
        self.volume -= volume;
        (self.matter.take_share(share), volume)
    }

    /// Adds matter, kg, with its volume, m3.
    #[inline(always)]
    pub fn add(&mut self, matter: Material<L>, volume: L) {
        self.matter += matter;
        self.volume += volume;
    }

    /// Scales the bulk volume with the dry matter, kg before and now, so that the dry density stays as it was.
    #[inline(always)]
    pub(super) fn follow_dry(&mut self, dry_before: L, dry: L) {
        let kept = (dry / dry_before).max(L::ZERO);
        self.volume = L::select(dry_before.is_positive(), self.volume * kept, self.volume);
    }

    /// Sets air and reach of a layer that holds nothing.
    #[inline(always)]
    pub(super) fn mark_empty(&mut self) {
        (self.aired, self.reach) = (L::ONE, L::from(f64::INFINITY));
    }

    /// Computes how far oxygen reaches, and from it the rate factors of the layer at its acidity.
    ///
    /// `decay = f_T f_w f_a m`: temperature, moisture and air-space factors times the multiplier of the layer. The oxygen
    /// uptake that limits the reach is that of the layer fully aired. `aired = reach/thickness`, at most 1, and
    /// `oxygen = aired f_O2`.
    #[inline(always)]
    pub(super) fn conditions(
        &mut self,
        model: &BedModel,
        now: &TemperatureFactors<L>,
        site: &LayerSite<L>,
    ) -> LayerConditions<L> {
        let &LayerSite { area, dry, multiplier, nitrification, cover } = site;
        let water = self.matter.water();
        let porosity = model.aeration.air_filled_porosity(dry, water, self.volume);
        let decay = now.decay
            * model.aeration.moisture_and_air_factor(ratio(water, water + dry), porosity)
            * multiplier;
        let oxygen_factor = model.aeration.oxygen_factor();
        let uptake = model.composting.potential_uptake(&self.matter) * decay * oxygen_factor;
        let reach = model.aeration.oxygen_reach(porosity, uptake * (1.0 / SECONDS_PER_DAY), self.volume);
        self.reach = L::select(self.volume.is_positive(), reach, L::from(f64::INFINITY));
        // reach over thickness
        self.aired = (self.reach * area / self.volume).min(L::ONE);
        LayerConditions {
            decay,
            temperature: now.decay,
            oxygen: self.aired * oxygen_factor,
            aired: self.aired,
            nitrification: nitrification * model.nitrifier_ph_factor(self.acidity.ph),
            volatilisation: self.volatilisation(&model.parameters, now, dry, area * cover),
        }
    }

    /// First-order constant of ammonia loss to the air, 1/d: `86400 k_g A c s f' / (K_H R T W)`.
    ///
    /// s is the dissolved share of ammonium and f' the free share at the surface, K_H the Henry constant, W the water of the layer and c
    /// the cover factor of the layers above; `area_covered` is A c, m2. The pH of a surface is uneven and the free share bends upward
    /// with it, so `f' = f m/(1 + f (m - 1))` with f the share at the mean pH and m the uneven pH factor.
    #[inline(always)]
    fn volatilisation(&self, p: &BedParameters, now: &TemperatureFactors<L>, dry: L, area_covered: L) -> L {
        let free = now.powers.uneven_ammonia_share(&self.acidity, p.uneven_ph_factor);
        let per_water =
            p.ammonium.dissolved_per_water(self.matter.water(), self.matter[Component::Humus], dry);
        now.ammonia * area_covered * per_water * free
    }

    /// Water beyond what fresh paste of so much dry matter (kg) holds, kg: `W - w m_dry`.
    #[inline(always)]
    pub(super) fn surplus_of_paste(&self, p: &BedParameters, dry: L) -> L {
        (self.matter.water() - dry * p.water_held).max(L::ZERO)
    }

    /// Water beyond what ready feed or castings of so much dry matter (kg) hold when drained, kg.
    #[inline(always)]
    pub(super) fn surplus(&self, model: &BedModel, dry: L) -> L {
        (self.matter.water() - held_when_drained(model, self.volume, dry)).max(L::ZERO)
    }

    /// Drains a surplus of water, kg, for `days`, with its solutes; None if no lane has a surplus.
    #[inline(always)]
    pub(super) fn drain(
        &mut self,
        model: &BedModel,
        now: &TemperatureFactors<L>,
        surplus: L,
        days: f64,
    ) -> Option<Material<L>> {
        if !surplus.is_positive().any() {
            return None;
        }
        Some(self.let_water_out(model, now, surplus * share_lost(model.parameters.drainage_rate * days)))
    }

    /// Lets `leaving` kg of water out, with its solutes.
    ///
    /// Each solute leaves by the share of water that leaves times its solubility, which for ammonium and calcium is their dissolved
    /// share (of calcium the charge leaves; its mass stays in the minerals). Humus and buffer stay. The base that leaves keeps the
    /// drained water, with its calcium in solution, as acid as the layer was when last computed.
    #[inline(always)]
    pub(super) fn let_water_out(
        &mut self,
        model: &BedModel,
        now: &TemperatureFactors<L>,
        leaving: L,
    ) -> Material<L> {
        let p = &model.parameters;
        let water = self.matter.water();
        let share = ratio(leaving, water);
        let mut out = Material::none();
        out[Component::Water] = leaving;
        for (component, solubility) in p.drain_solubility {
            out[component] = self.matter[component] * share * solubility;
        }
        let dissolved = p.ammonium.dissolved(water, self.matter[Component::Humus], self.matter.dry());
        out[Component::Ammonia] = self.matter[Component::Ammonia] * share * dissolved;
        let calcium = now.powers.dissolved_calcium(&self.matter, &self.acidity) * share;
        *out.base_mut() = now.powers.base_at(&out, self.acidity) - calcium;
        *out.calcium_mut() = calcium;
        self.matter -= out;
        out
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{model, paste};
    use super::*;

    #[test]
    fn oxygen_reach_follows_from_the_uptake_of_the_layer() {
        let model = model();
        let mut layer = BedLayer::default();
        layer.add(paste() * 600.0, 1.0);
        assert!((layer.matter.dry() - 180.0).abs() < 1e-9);
        // decay at 0.3 of its rate at 20 °C; the uptake is per second and cubic metre
        let now = TemperatureFactors::at(&model, 20.0);
        layer.acidity = Acidity::of(6.0);
        let at = layer.conditions(
            &model,
            &now,
            &LayerSite { area: 1.0, dry: 180.0, multiplier: 0.3, nitrification: 1.0, cover: 1.0 },
        );
        let uptake =
            model.composting.potential_uptake(&layer.matter) * at.decay * model.aeration.oxygen_factor();
        let porosity = model.aeration.air_filled_porosity(180.0, 420.0, 1.0);
        let reach = model.aeration.oxygen_reach(porosity, uptake / 86_400.0, 1.0);
        assert!((layer.reach / reach - 1.0).abs() < 1e-9 && reach < 0.5, "{} {reach}", layer.reach);
        // the layer is a metre thick
        assert!((at.aired - reach).abs() < 1e-9);
    }

    #[test]
    fn drained_water_takes_its_dissolved_calcium_and_leaves_the_layer_as_acid_as_it_was() {
        let model = model();
        let now = TemperatureFactors::at(&model, 20.0);
        for calcium in [0.0, 0.01, 0.2, 5.0] {
            let mut layer = BedLayer::default();
            let mut wet = paste() * 100.0;
            wet[Component::Water] += 300.0;
            *wet.calcium_mut() = calcium * wet.dry();
            *wet.base_mut() = now.powers.base_for(&wet, 6.8);
            layer.add(wet, 0.5);
            layer.acidity = Acidity::of(6.8);
            let dissolved = now.powers.dissolved_calcium(&wet, &layer.acidity);
            let out = layer.let_water_out(&model, &now, 200.0);
            assert!((out.calcium() - dissolved * out.water() / wet.water()).abs() < 1e-12 * wet.dry());
            let after = now.powers.ph(&layer.matter, 6.8);
            // the smooth form of the limit leaves a trifle where about half is solid
            assert!((after - 6.8).abs() < 0.1, "{calcium}: {after}");
        }
    }
}
