//! Quality of a product: its figures, and blends by volume.
//!
//! Conductivity follows from conserved salt: c/0.64 with c in g of salt per litre of extract. The salt counted is the salt
//! component (NaCl equivalent), the soluble part of potassium paired with chloride, and ammonium and nitrate as ions, which
//! largely pair with each other. Extracts are made on dry matter (1 kg dry matter in 5 or 10 L) and dissolve all of it. The rule is
//! linear and overstates strong solutions (pore water, saturated extracts), where ions hinder each other.

pub mod safety;
pub mod standards;

use crate::matter::{Component, Element, Material, ratio};
use crate::process::acidity::{self, AcidConstants, Surrounds};

/// Ammonium ion per ammonia, 18.039/17.031; nitrate ion per nitric acid, 62.004/63.012. Source: atomic weights.
const ION_PER_BOOKED: (f64, f64) = (18.039 / 17.031, 62.004 / 63.012);

/// Parameters of the figures that a laboratory would report.
///
/// # Source
/// `site` and `bed` tables; `own_site.json`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QualityRates {
    /// Salt per volume of extract and conductivity, kg/m3 per dS/m.
    pub salt_per_conductivity: f64,
    /// Share of potassium that dissolves, kg/kg.
    pub soluble_potassium: f64,
    /// Salt counted per dissolved potassium, kg/kg.
    pub salt_per_potassium: f64,
    /// Water of a saturated-media extract, kg/kg dry matter.
    pub saturation_water: f64,
    /// P per P2O5, kg/kg.
    pub phosphorus_per_phosphate: f64,
    /// K per K2O, kg/kg.
    pub potassium_per_potash: f64,
    /// Carbon dioxide in the pores of a pile of castings, atm.
    pub pile_carbon_dioxide: f64,
}

impl QualityRates {
    /// Reads the rates by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            salt_per_conductivity: get("bed.conductivity_per_salt"),
            soluble_potassium: get("site.potassium_soluble_share"),
            salt_per_potassium: get("site.potassium_chloride_per_potassium"),
            saturation_water: get("site.saturation_water"),
            phosphorus_per_phosphate: get("site.phosphorus_per_phosphate"),
            potassium_per_potash: get("site.potassium_per_potash"),
            pile_carbon_dioxide: get("site.pile_carbon_dioxide"),
        }
    }

    /// Soluble salt in a material: salt + soluble K as KCl + NH4 + NO3, kg. Source: pairing assumed.
    pub fn soluble_salt(&self, m: &Material) -> f64 {
        m[Component::Salt]
            + m[Component::Potassium] * self.soluble_potassium * self.salt_per_potassium
            + m[Component::Ammonia] * ION_PER_BOOKED.0
            + m[Component::Nitrate] * ION_PER_BOOKED.1
    }

    /// Conductivity of an extract of `salt` kg/kg dry matter in `water` kg/kg dry matter.
    ///
    /// # Units
    /// kg/kg dry matter, kg/kg dry matter to dS/m (= mS/cm)
    ///
    /// # Source
    /// `bed.conductivity_per_salt` (recalled): EC about c/0.64, hence 0.31 s (1:5) and 0.16 s (1:10) for s in g/kg dry matter.
    /// A kilogram of water is taken as a litre.
    pub fn conductivity(&self, salt: f64, water: f64) -> f64 {
        ratio(salt * 1000.0, water) / self.salt_per_conductivity
    }

    /// Figures of a product at a wet bulk density (kg/m3), with its pH in a moist pile at a temperature (°C).
    pub fn figures(
        &self,
        m: &Material,
        bulk_density: f64,
        acids: &AcidConstants,
        temperature: f64,
    ) -> QualityFigures {
        let dry = m.dry();
        let on_dry = |x: f64| ratio(x, dry);
        let (nitrogen, carbon) = (on_dry(m.element(Element::Nitrogen)), on_dry(m.element(Element::Carbon)));
        let (phosphorus, potassium) = (on_dry(m[Component::Phosphorus]), on_dry(m[Component::Potassium]));
        let phosphate = phosphorus / self.phosphorus_per_phosphate;
        let potash = potassium / self.potassium_per_potash;
        let salt = on_dry(self.soluble_salt(m));
        let surrounds = Surrounds { temperature, carbon_dioxide: self.pile_carbon_dioxide };
        QualityFigures {
            wet: m.wet(),
            moisture: m.moisture(),
            carbon,
            nitrogen,
            phosphorus,
            potassium,
            phosphate,
            potash,
            nutrient_sum: nitrogen + phosphate + potash,
            carbon_to_nitrogen: m.carbon_to_nitrogen(),
            nitrate_nitrogen: on_dry(nitrogen_in(m, Component::Nitrate)),
            ammonium_nitrogen: on_dry(nitrogen_in(m, Component::Ammonia)),
            organic_matter: on_dry(m.organic()),
            ash: on_dry(m.ash()),
            soluble_salt: salt,
            conductivity_1_to_5: self.conductivity(salt, 5.0),
            conductivity_1_to_10: self.conductivity(salt, 10.0),
            conductivity_saturated: self.conductivity(salt, self.saturation_water),
            conductivity_pore_water: self.conductivity(salt, ratio(m.water(), dry)),
            ph: acidity::ph(m, acids, &surrounds, 7.0),
            bulk_density,
            below_4_mm: None,
        }
    }
}

/// Nitrogen of a component, kg.
fn nitrogen_in(m: &Material, component: Component) -> f64 {
    m[component] * component.elements()[Element::Nitrogen.index()]
}

/// Figures of a product, kg per kg of dry matter unless the field says otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize, schemars::JsonSchema)]
pub struct QualityFigures {
    /// Wet mass of the product, kg.
    pub wet: f64,
    /// Water, kg/kg wet.
    pub moisture: f64,
    /// Organic carbon.
    pub carbon: f64,
    /// Total nitrogen, with ammonium and nitrate.
    pub nitrogen: f64,
    /// P.
    pub phosphorus: f64,
    /// K.
    pub potassium: f64,
    /// P as P2O5.
    pub phosphate: f64,
    /// K as K2O.
    pub potash: f64,
    /// N + P2O5 + K2O.
    pub nutrient_sum: f64,
    /// Carbon to nitrogen ratio, kg/kg.
    pub carbon_to_nitrogen: f64,
    /// Nitrogen in nitrate.
    pub nitrate_nitrogen: f64,
    /// Nitrogen in ammonium and ammonia.
    pub ammonium_nitrogen: f64,
    /// Organic matter.
    pub organic_matter: f64,
    /// Ash.
    pub ash: f64,
    /// Soluble salt.
    pub soluble_salt: f64,
    /// Conductivity of a 1:5 extract (dry matter to water), dS/m.
    pub conductivity_1_to_5: f64,
    /// Conductivity of a 1:10 extract, dS/m.
    pub conductivity_1_to_10: f64,
    /// Conductivity of a saturated-media extract, dS/m.
    pub conductivity_saturated: f64,
    /// Conductivity of the pore water, dS/m.
    pub conductivity_pore_water: f64,
    /// pH in a moist pile at 20 °C, whose pores hold more carbon dioxide than air.
    pub ph: f64,
    /// Wet bulk density, kg/m3.
    pub bulk_density: f64,
    /// Share below 4 mm, kg/kg wet. `null` if unknown.
    pub below_4_mm: Option<f64>,
}

/// Wet bulk density of castings by moisture: the volume of a kilogram of dry matter grows with the water it holds.
///
/// v(X) = v_ref (1 + s (X - X_ref)), density = (1 + X)/v, X = water per dry matter.
///
/// # Source
/// `bed.castings_bulk_density_wet`; moisture of reference and swelling assumed in `own_site.json`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BulkDensity {
    /// Wet bulk density at the reference moisture, kg/m3.
    pub reference: f64,
    /// That moisture, kg/kg wet.
    pub moisture: f64,
    /// Relative growth of volume per water per dry matter.
    pub swelling: f64,
}

impl BulkDensity {
    /// Reads the rates by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            reference: get("bed.castings_bulk_density_wet"),
            moisture: get("site.castings_bulk_density_moisture"),
            swelling: get("site.castings_swelling"),
        }
    }

    /// Wet bulk density, kg/m3, at a moisture below 1, kg/kg wet.
    pub fn at(&self, moisture: f64) -> f64 {
        let per_dry = |w: f64| w / (1.0 - w);
        let (x, reference) = (per_dry(moisture), per_dry(self.moisture));
        let dry_density = self.reference / (1.0 + reference);
        dry_density * (1.0 + x) / (1.0 + self.swelling * (x - reference)).max(0.5)
    }
}

/// Compost for a blend with castings, and the volume of the blend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlendAmounts {
    /// Wet mass of compost, kg.
    pub compost: f64,
    /// Volume of the blend after packing, m3.
    pub volume: f64,
}

/// Amounts of a blend by volume: castings take the share `castings_share` (above 0) of the sum of the loose volumes.
///
/// m_c = v rho_c, m_k = (1 - v) rho_k; the volume then shrinks by `packing` as fines fill pores.
///
/// # Units
/// kg wet, kg/m3, kg/m3, m3/m3, m3/m3
///
/// # Source
/// Balance of volumes; bulk densities wet, as laid.
pub fn blend_by_volume(
    castings: f64,
    castings_density: f64,
    compost_density: f64,
    castings_share: f64,
    packing: f64,
) -> BlendAmounts {
    let castings_volume = castings / castings_density;
    let loose = castings_volume / castings_share;
    BlendAmounts { compost: (loose - castings_volume) * compost_density, volume: loose * (1.0 - packing) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bulk_density_is_physical_and_equals_its_reference() {
        // bed.castings_bulk_density_wet; own_site.json.
        let b = BulkDensity { reference: 650.0, moisture: 0.45, swelling: 0.17 };
        assert!((b.at(0.45) - 650.0).abs() < 1e-9);
        // solids at 1,500 kg/m3 and water must fit into the volume
        for moisture in [0.2, 0.45, 0.6, 0.7, 0.75] {
            let wet = b.at(moisture);
            assert!(wet * (1.0 - moisture) / 1500.0 + wet * moisture / 1000.0 < 1.0, "{moisture}");
        }
    }

    #[test]
    fn bulk_density_and_soluble_salt_equal_sums_by_hand() {
        // 60 %: 1.5 kg of water per kg dry against 0.8182; 357.5 kg/m3 dry x 2.5 / (1 + 0.17 x 0.6818)
        let b = BulkDensity { reference: 650.0, moisture: 0.45, swelling: 0.17 };
        assert!((b.at(0.6) - 800.917).abs() < 0.001, "{}", b.at(0.6));
        // 2 g of salt, 3 g of K of which two thirds dissolve as KCl (x 1.907), 5 g of NH3 as NH4, 7 g of HNO3 as NO3
        let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
        let rates = QualityRates {
            soluble_potassium: 2.0 / 3.0,
            salt_per_potassium: 1.907,
            ..QualityRates::from_values(&get)
        };
        let mut m = Material::of(Component::Salt, 2.0);
        (m[Component::Potassium], m[Component::Ammonia], m[Component::Nitrate]) = (3.0, 5.0, 7.0);
        let by_hand = 2.0 + 3.814 + 5.0 * 1.059_19 + 7.0 * 0.984_00;
        assert!((rates.soluble_salt(&m) - by_hand).abs() < 1e-4, "{}", rates.soluble_salt(&m));
    }
}
