//! Processes and parameters that all beds of a run share.

use crate::matter::lane::{Lane, exp};
use crate::matter::{Component, Material};
use crate::process::acidity::{AcidConstants, AcidPowers, Surrounds};
use crate::process::aeration::AerationRates;
use crate::process::ammonium::AmmoniumPartition;
use crate::process::composting::{Composting, CompostingRates};
use crate::process::reaction::ReactionError;
use crate::process::worm::WormRates;
use crate::process::worm::stress::{AmmoniaResponse, SaltResponse, WormActivity};

/// Parameters of the bed model.
///
/// # Source
/// `bed` and `worms` tables; the keys are in [`BedParameters::from_values`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedParameters {
    /// Fresh paste made ready by aerobes at 20 °C with air, 1/d.
    pub conditioning: f64,
    /// How worms speed decay and nitrification.
    pub activity: WormActivity,
    /// Bulk density of castings, kg dry matter/m3.
    pub castings_dry_density: f64,
    /// Heat transfer from bed top to room, W/(m2 K).
    pub heat_transfer: f64,
    /// Heat transfer coefficient of still air, for evaporation, W/(m2 K).
    pub air_film: f64,
    /// Divisor that turns it into a mass transfer coefficient, J/(m3 K).
    pub mass_transfer_divisor: f64,
    /// Surface wetness and cover factor.
    pub surface_wetness: f64,
    /// Latent heat of evaporation, J/kg.
    pub latent_heat: f64,
    /// Heat capacity of water, J/(kg K).
    pub heat_capacity_water: f64,
    /// Heat capacity of dry matter, J/(kg K).
    pub heat_capacity_dry: f64,
    /// Thermal conductivity of a layer, W/(m K).
    pub conductivity: f64,
    /// Water that fresh paste holds per dry matter before it drains, kg/kg.
    pub water_held: f64,
    /// Air-filled porosity of ready feed and castings that have drained, m3/m3.
    pub drained_air: f64,
    /// Drainage of surplus water, 1/d.
    pub drainage_rate: f64,
    /// Share of a solute that moves with draining water, per component that can; ammonium has its own, [`Self::ammonium`].
    pub drain_solubility: [(Component, f64); 8],
    /// Dissolved share of ammonium.
    pub ammonium: AmmoniumPartition,
    /// Ammonia transfer coefficient, m/s.
    pub ammonia_transfer: f64,
    /// Factor on it of a thick layer above.
    pub ammonia_cover: f64,
    /// Thickness from which a layer covers in full, m.
    pub ammonia_cover_layer: f64,
    /// How much more free ammonia a surface of uneven pH gives off than one of its mean pH.
    pub uneven_ph_factor: f64,
    /// Henry constant of ammonia: ln K = constant + inverse/T + linear T, mol/(kg atm).
    pub ammonia_henry: [f64; 3],
    /// Carbon dioxide pressure in the pores, atm.
    pub pore_carbon_dioxide: f64,
    /// pH response of nitrification: 0, 1, 1, 0 at these pH.
    pub nitrifier_ph: [f64; 4],
    /// Response of worms to salt in pore water.
    pub salt: SaltResponse,
    /// Response of worms to ammonia in pore water.
    pub ammonia: AmmoniaResponse,
    /// Air-filled porosity from which worms are not held back.
    pub porosity_full: f64,
    /// Air-filled porosity at which they stop.
    pub porosity_zero: f64,
    /// Dry matter per kilogram of the "wet feed" of the worm figures, kg/kg.
    pub feed_dry_share: f64,
    /// Carbon respired by worms at 20 °C, kg C/(kg live d).
    pub respired_carbon: f64,
    /// Rise of worm respiration with temperature, ln(Q10)/10, 1/K.
    pub respiration_rise: f64,
    /// Largest share of the carbon eaten that worms assimilate.
    pub assimilation: f64,
    /// Layer that leaves worms a refuge beneath, m.
    pub refuge_layer: f64,
    /// What a kilogram of live worm is made of.
    pub tissue: Material,
    /// Dry matter of it, kg.
    pub tissue_dry: f64,
}

impl BedParameters {
    /// Reads the numbers by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        let tissue = tissue(get);
        Self {
            conditioning: get("bed.acid_conditioning_rate"),
            activity: WormActivity::from_values(get),
            castings_dry_density: get("bed.castings_dry_density"),
            heat_transfer: get("bed.bed_heat_transfer_coefficient"),
            air_film: get("bed.air_heat_transfer_coefficient"),
            mass_transfer_divisor: get("bed.mass_transfer_divisor"),
            surface_wetness: get("bed.surface_wetness_factor"),
            latent_heat: get("bed.latent_heat_of_evaporation"),
            heat_capacity_water: get("bed.heat_capacity_water"),
            heat_capacity_dry: get("bed.heat_capacity_dry_matter"),
            conductivity: get("bed.layer_thermal_conductivity"),
            water_held: get("bed.water_held_per_dry_matter"),
            drained_air: get("bed.drained_air"),
            drainage_rate: get("bed.drainage_rate"),
            drain_solubility: drain_solubility(get),
            ammonium: AmmoniumPartition::from_values(get),
            ammonia_transfer: get("bed.ammonia_transfer_coefficient"),
            ammonia_cover: get("bed.ammonia_transfer_cover_factor"),
            ammonia_cover_layer: get("bed.ammonia_cover_layer"),
            uneven_ph_factor: get("bed.uneven_ph_factor"),
            ammonia_henry: [
                get("bed.ammonia_henry_constant_term"),
                get("bed.ammonia_henry_inverse_temperature_term"),
                get("bed.ammonia_henry_temperature_term"),
            ],
            pore_carbon_dioxide: get("bed.pore_carbon_dioxide"),
            nitrifier_ph: [
                get("bed.nitrifier_ph_zero_low"),
                get("bed.nitrifier_ph_full_low"),
                get("bed.nitrifier_ph_full_high"),
                get("bed.nitrifier_ph_zero_high"),
            ],
            salt: SaltResponse::from_values(get),
            ammonia: AmmoniaResponse::from_values(get),
            porosity_full: get("bed.air_porosity_response_full"),
            porosity_zero: get("bed.air_porosity_response_zero"),
            feed_dry_share: get("worms.feed_dry_share"),
            respired_carbon: get("bed.worm_respired_carbon_20_celsius"),
            respiration_rise: get("bed.worm_respiration_q10").ln() / 10.0,
            assimilation: get("bed.worm_carbon_assimilation"),
            refuge_layer: get("worms.acid_refuge_layer"),
            tissue,
            tissue_dry: tissue.dry(),
        }
    }
}

/// Solutes that drain with water, and how freely.
fn drain_solubility(get: &dyn Fn(&str) -> f64) -> [(Component, f64); 8] {
    let free = get("bed.drain_solubility_acids_and_salts");
    [
        (Component::Lactic, free),
        (Component::Acetic, free),
        (Component::Butyric, free),
        (Component::Ethanol, free),
        (Component::Nitrate, free),
        (Component::Salt, free),
        (Component::Potassium, get("bed.drain_solubility_potassium")),
        (Component::Phosphorus, get("bed.drain_solubility_phosphorus")),
    ]
}

/// Live worm tissue: water, protein, fat, P and K as measured, ash with gut grit, the rest carbohydrate.
fn tissue(get: &dyn Fn(&str) -> f64) -> Material {
    let dry = get("worms.worm_dry_matter");
    let mut m = Material::of(Component::Water, 1.0 - dry);
    let ash = get("bed.worm_ash_content");
    m[Component::Protein] = dry * get("bed.worm_protein_content");
    m[Component::Fat] = dry * get("bed.worm_fat_content");
    m[Component::Phosphorus] = dry * get("bed.worm_phosphorus_content");
    m[Component::Potassium] = dry * get("bed.worm_potassium_content");
    m[Component::Minerals] = dry * ash - m[Component::Phosphorus] - m[Component::Potassium];
    m[Component::Sugars] = 1.0 - m.wet();
    m
}

/// Processes and numbers shared by the beds of one run.
#[derive(Debug, Clone)]
pub struct BedModel {
    /// Decay, nitrogen and gases.
    pub composting: Composting,
    /// Air and rate factors.
    pub aeration: AerationRates,
    /// Acid constants.
    pub acids: AcidConstants,
    /// These constants in the pores at 20 °C.
    pub pores: AcidPowers,
    /// Worm rates.
    pub worms: WormRates,
    /// Parameters.
    pub parameters: BedParameters,
}

impl BedModel {
    /// Builds the model from values by key.
    ///
    /// # Errors
    /// [`ReactionError`] if a row of the table does not balance (a fault of ours).
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Result<Self, ReactionError> {
        let parameters = BedParameters::from_values(get);
        let acids = AcidConstants::from_values(get);
        let air = Surrounds { temperature: 20.0, carbon_dioxide: parameters.pore_carbon_dioxide };
        Ok(Self {
            composting: Composting::new(CompostingRates::from_values(get))?,
            aeration: AerationRates::from_values(get),
            pores: AcidPowers::at(&acids, &air),
            acids,
            worms: WormRates::from_values(get),
            parameters,
        })
    }

    /// Henry constant of ammonia, mol/(kg atm), at a temperature in kelvin: `exp(a + b/T + c T)`.
    ///
    /// # Source
    /// Clegg and Brimblecombe 1989.
    #[inline(always)]
    pub fn ammonia_henry<L: Lane>(&self, kelvin: L) -> L {
        let [a, b, c] = self.parameters.ammonia_henry;
        exp(L::from(b) / kelvin + kelvin * c + a)
    }

    /// pH factor of nitrification, 0 to 1: straight lines between the four limits.
    #[inline(always)]
    pub fn nitrifier_ph_factor<L: Lane>(&self, ph: L) -> L {
        let [a, b, c, d] = self.parameters.nitrifier_ph;
        let up = (ph - a) * (1.0 / (b - a));
        let down = (L::from(d) - ph) * (1.0 / (d - c));
        up.min(down).clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ash_of_a_worm_is_its_minerals_phosphorus_and_potassium() {
        // by hand: 0.2 of dry matter; ash a tenth of it, of which 0.01 and 0.02 of the dry matter are P and K
        let worm = tissue(&|key| match key {
            "worms.worm_dry_matter" => 0.2,
            "bed.worm_ash_content" => 0.1,
            "bed.worm_protein_content" => 0.6,
            "bed.worm_fat_content" => 0.15,
            "bed.worm_phosphorus_content" => 0.01,
            "bed.worm_potassium_content" => 0.02,
            _ => panic!("no value for {key}"),
        });
        for (component, share) in [
            (Component::Water, 0.8),
            (Component::Protein, 0.12),
            (Component::Fat, 0.03),
            (Component::Minerals, 0.014),
            (Component::Phosphorus, 0.002),
            (Component::Potassium, 0.004),
            (Component::Sugars, 0.03),
        ] {
            assert!((worm[component] - share).abs() < 1e-12, "{component:?} {}", worm[component]);
        }
    }

    #[test]
    fn nitrifiers_work_between_four_limits_of_ph() {
        let mut model = super::super::tests::model();
        model.parameters.nitrifier_ph = [5.0, 7.0, 8.0, 10.0];
        for (ph, by_hand) in
            [(4.0, 0.0), (5.5, 0.25), (7.0, 1.0), (7.5, 1.0), (8.0, 1.0), (9.5, 0.25), (10.5, 0.0)]
        {
            assert!((model.nitrifier_ph_factor(ph) - by_hand).abs() < 1e-12, "pH {ph}");
        }
    }
}
