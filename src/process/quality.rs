//! Quality of a product: its figures, and blends by volume.

pub mod conductivity;
pub mod safety;
pub mod standards;

use crate::matter::{Component, Element, Material, ratio};
use crate::process::acidity::{self, AcidConstants, AcidPowers, Surrounds};
use conductivity::{ConductivityRates, volume_extract_water};

/// Parameters of the figures that a laboratory would report.
///
/// # Source
/// `site` and `bed` tables; `own_site.json`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QualityRates {
    /// Ions of extracts and what they conduct.
    pub conductivity: ConductivityRates,
    /// Carbon found by wet oxidation over carbon by dry combustion, kg/kg.
    pub walkley_black_recovery: f64,
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
            conductivity: ConductivityRates::from_values(get),
            walkley_black_recovery: get("site.walkley_black_recovery"),
            phosphorus_per_phosphate: get("site.phosphorus_per_phosphate"),
            potassium_per_potash: get("site.potassium_per_potash"),
            pile_carbon_dioxide: get("site.pile_carbon_dioxide"),
        }
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
        let extract = |water: f64| self.conductivity.of_extract(m, water);
        let ash = on_dry(m.ash());
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
            ash,
            carbon_walkley_black: carbon * self.walkley_black_recovery,
            carbon_of_organic: ratio(carbon, 1.0 - ash),
            soluble_salt: self.conductivity.ions(m, 5.0).mass(),
            conductivity_1_to_5: extract(5.0),
            conductivity_1_to_10: extract(10.0),
            conductivity_saturated: extract(self.conductivity.saturation(m)),
            conductivity_1_to_5_volume: extract(volume_extract_water(bulk_density, m.moisture())),
            conductivity_pore_water: extract(ratio(m.water(), dry)),
            ph: acidity::ph(m, acids, &surrounds, 7.0),
            bulk_density,
            below_4_mm: None,
        }
    }
}

/// pH of a suspension in ten times the dry mass of water, open to air with so much carbon dioxide (atm) at 20 °C: as a laboratory
/// measures it. In a bed or a pile, rich in carbon dioxide, the same matter is more acid.
pub fn suspended_ph(m: &Material, acids: &AcidConstants, carbon_dioxide: f64) -> f64 {
    let mut suspended = *m;
    suspended[Component::Water] = 10.0 * m.dry();
    AcidPowers::at(acids, &Surrounds { temperature: 20.0, carbon_dioxide }).ph(&suspended, 7.0)
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
    /// Organic carbon, as by dry combustion.
    pub carbon: f64,
    /// Organic carbon, as by wet oxidation (Walkley-Black), which finds only a part of it.
    pub carbon_walkley_black: f64,
    /// Organic carbon by dry combustion over dry matter less ash, kg/kg; composts hold 0.50 to 0.57.
    pub carbon_of_organic: f64,
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
    /// Nitrogen in ammonium and ammonia, dissolved or held.
    pub ammonium_nitrogen: f64,
    /// Organic matter.
    pub organic_matter: f64,
    /// Ash.
    pub ash: f64,
    /// Ions counted in the conductivity of a 1:5 extract.
    pub soluble_salt: f64,
    /// Conductivity of 1 kg of dry matter in 5 L, dS/m.
    pub conductivity_1_to_5: f64,
    /// Conductivity of 1 kg of dry matter in 10 L, dS/m.
    pub conductivity_1_to_10: f64,
    /// Conductivity of a saturated-media extract, dS/m.
    pub conductivity_saturated: f64,
    /// Conductivity of 1 volume of product as sold in 5 volumes of water (EN 13038), dS/m.
    pub conductivity_1_to_5_volume: f64,
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
    fn bulk_density_at_another_moisture_equals_a_sum_by_hand() {
        // 60 %: 1.5 kg of water per kg dry against 0.8182; 357.5 kg/m3 dry x 2.5 / (1 + 0.17 x 0.6818)
        let b = BulkDensity { reference: 650.0, moisture: 0.45, swelling: 0.17 };
        assert!((b.at(0.6) - 800.917).abs() < 0.001, "{}", b.at(0.6));
    }

    #[test]
    fn mineral_nitrogen_and_carbon_by_method_equal_sums_by_hand() {
        let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
        let rates = QualityRates { walkley_black_recovery: 0.77, ..QualityRates::from_values(&get) };
        // 60 kg fibre (44.447 % C), 30 kg minerals, 5 kg NH3 (82.244 % N) and 5 kg HNO3 (22.229 % N) in 100 kg dry
        let mut m = Material::of(Component::Fibre, 60.0);
        (m[Component::Minerals], m[Component::Ammonia], m[Component::Nitrate]) = (30.0, 5.0, 5.0);
        let f = rates.figures(&m, 500.0, &AcidConstants::from_values(&get), 20.0);
        let close = |have: f64, by_hand: f64| assert!((have - by_hand).abs() < 1e-5, "{have} {by_hand}");
        close(f.ammonium_nitrogen, 0.041_122);
        close(f.nitrate_nitrogen, 0.011_115);
        close(f.carbon, 0.6 * 0.444_465);
        close(f.carbon_walkley_black, 0.6 * 0.444_465 * 0.77);
        close(f.carbon_of_organic, 0.6 * 0.444_465 / 0.7);
    }
}
