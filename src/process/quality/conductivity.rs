//! Conductivity of extracts and of pore water, from the ions in them.
//!
//! ```text
//! EC = f r(c)/r(0.1) sum_i lambda_i c_i        r(c) = 1 - 0.67 sqrt(c)/(1 + 1.65 sqrt(c))
//! ```
//!
//! lambda_i is the limiting conductance of an ion, S cm2/eq, c_i its amount in eq/L, c that of all cations; the product is in
//! mS/cm = dS/m. f is what printed extracts of composts conduct over the sum of their listed ions at about 0.1 eq/L; it takes in
//! the pull between ions, pairs of ions and the anions that no laboratory lists. r is the fall of conductance with strength.
//!
//! Per dry matter a material gives the soluble share of its potassium, sodium and chloride of its salt, its nitrate, and the part
//! of its ammonium that its humus does not hold. Printed extracts hold more chloride than sodium: plants bring it with their
//! potassium, and it is counted per dissolved potassium. They also hold half of their cations as calcium and magnesium. Those
//! booked lie mostly on humus and in lime; what an extract takes of them follows from the charge of its anions:
//!
//! ```text
//! Ca + Mg = Cl + NO3 + A - K - Na - NH4, never below 0
//! ```
//!
//! A is the charge of all other anions (bicarbonate, sulphate, phosphate, organic acids), one amount per dry matter, from the same
//! printed extracts. They conduct within f. Where potassium exceeds all anions, bicarbonate makes up the rest, also within f.
//! Free ammonia is counted as ammonium: 1 % of it at pH 7.4, 6 % at pH 8.2.

use crate::matter::{Component, Material, ratio};
use crate::process::ammonium::AmmoniumPartition;

/// Constants of the fall of conductance with strength, 1 - a sqrt(c)/(1 + b sqrt(c)), c in eq/L.
///
/// # Source
/// Form of Debye, Hückel and Onsager; a and b give the textbook values of potassium chloride at 25 °C within 0.3 %,
/// 0.01 to 1 eq/L (memory; see the test below).
const HINDRANCE: (f64, f64) = (0.67, 1.65);

/// Strength, eq/L, at which printed extracts gave the factor: they hold 0.09 to 0.14 eq/L of cations.
const FACTOR_AT: f64 = 0.1;

/// Organic share of the dry matter of castings that take up the water of a saturated extract, kg/kg. Source: assumed.
const ORGANIC_OF_CASTINGS: f64 = 0.7;

/// Sodium chloride per equivalent, kg/eq. Source: prohaska_2022.
const SALT_PER_EQUIVALENT: f64 = 0.058_44;

/// A number for each ion of an extract: amounts in eq/L or eq/kg, conductances, masses.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ions {
    /// K+.
    pub potassium: f64,
    /// Na+.
    pub sodium: f64,
    /// NH4+.
    pub ammonium: f64,
    /// Ca2+.
    pub calcium: f64,
    /// Mg2+.
    pub magnesium: f64,
    /// Cl-.
    pub chloride: f64,
    /// NO3-.
    pub nitrate: f64,
    /// SO4 2-.
    pub sulphate: f64,
    /// H2PO4-.
    pub phosphate: f64,
}

impl Ions {
    /// Mass of an equivalent of each ion, kg/eq. Source: prohaska_2022.
    pub const MASSES: Self = Self {
        potassium: 0.039_098,
        sodium: 0.022_990,
        ammonium: 0.018_039,
        calcium: 0.020_039,
        magnesium: 0.012_152_5,
        chloride: 0.035_45,
        nitrate: 0.062_004,
        sulphate: 0.048_028,
        phosphate: 0.096_986,
    };

    const fn each(&self) -> [f64; 9] {
        [
            self.potassium,
            self.sodium,
            self.ammonium,
            self.calcium,
            self.magnesium,
            self.chloride,
            self.nitrate,
            self.sulphate,
            self.phosphate,
        ]
    }

    /// Sum over the ions of the product of two numbers.
    fn times(&self, other: &Self) -> f64 {
        self.each().iter().zip(other.each()).map(|(a, b)| a * b).sum()
    }

    /// All cations, in the unit of the amounts.
    pub fn cations(&self) -> f64 {
        self.potassium + self.sodium + self.ammonium + self.calcium + self.magnesium
    }

    /// Mass of amounts in eq, kg.
    pub fn mass(&self) -> f64 {
        self.times(&Self::MASSES)
    }
}

/// What dissolves of a material, and what its ions conduct.
///
/// # Source
/// `site` table: conductances from textbooks (memory), the rest derived from printed extracts (biernbaum_2013, calrecycle_2013)
/// or assumed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConductivityRates {
    /// Limiting conductance of each ion at 25 °C, S cm2/eq.
    pub conductances: Ions,
    /// Conductivity over the sum of limiting conductances, at 0.1 eq/L.
    pub factor: f64,
    /// Share of potassium that dissolves, kg/kg.
    pub soluble_potassium: f64,
    /// Chloride beyond that of the salt per dissolved potassium, eq/eq.
    pub chloride_of_potassium: f64,
    /// Anions other than chloride and nitrate, eq/kg dry matter.
    pub other_anions: f64,
    /// Calcium in the charge of calcium and magnesium, eq/eq.
    pub calcium_share: f64,
    /// Water of a saturated-media extract of castings, kg/kg dry matter.
    pub saturation_water: f64,
    /// Water of such an extract of minerals alone, kg/kg.
    pub saturation_water_of_minerals: f64,
    /// What dry matter holds of ammonium.
    pub ammonium: AmmoniumPartition,
}

impl ConductivityRates {
    /// Reads the rates by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        let conductances = Ions {
            potassium: get("site.limiting_conductance_potassium"),
            sodium: get("site.limiting_conductance_sodium"),
            ammonium: get("site.limiting_conductance_ammonium"),
            calcium: get("site.limiting_conductance_calcium"),
            magnesium: get("site.limiting_conductance_magnesium"),
            chloride: get("site.limiting_conductance_chloride"),
            nitrate: get("site.limiting_conductance_nitrate"),
            sulphate: get("site.limiting_conductance_sulphate"),
            phosphate: get("site.limiting_conductance_phosphate"),
        };
        Self {
            conductances,
            factor: get("site.conductivity_of_limiting_sum"),
            soluble_potassium: get("site.potassium_soluble_share"),
            chloride_of_potassium: get("site.extract_chloride_of_potassium"),
            other_anions: get("site.extract_other_anions"),
            calcium_share: get("site.extract_calcium_share"),
            saturation_water: get("site.saturation_water"),
            saturation_water_of_minerals: get("site.saturation_water_of_minerals"),
            ammonium: AmmoniumPartition::from_values(get),
        }
    }

    /// Water of a saturated-media extract of a material, kg/kg dry matter: `w_m + (w_c - w_m) o/0.7`, o the organic share of the dry
    /// matter, w_m the water of minerals alone and w_c that of castings, seven tenths of which are organic.
    ///
    /// # Source
    /// A straight line, assumed: soils take up 0.25 to 0.6 kg/kg and peats several times their mass.
    pub fn saturation(&self, m: &Material) -> f64 {
        let minerals = self.saturation_water_of_minerals;
        minerals + (self.saturation_water - minerals) * ratio(m.organic(), m.dry()) / ORGANIC_OF_CASTINGS
    }

    /// Ions that a material gives to `water` kg/kg dry matter, eq/kg dry matter.
    pub fn ions(&self, m: &Material, water: f64) -> Ions {
        let on_dry = |x: f64| ratio(x, m.dry());
        let potassium = on_dry(m[Component::Potassium]) * self.soluble_potassium / Ions::MASSES.potassium;
        let salt = on_dry(m[Component::Salt]) / SALT_PER_EQUIVALENT;
        let dissolved = self.ammonium.dissolved(water, on_dry(m[Component::Humus]), 1.0);
        let ammonium = on_dry(m.moles(Component::Ammonia)) * dissolved;
        let nitrate = on_dry(m.moles(Component::Nitrate));
        let chloride = salt + self.chloride_of_potassium * potassium;
        let earths = (chloride + nitrate + self.other_anions - potassium - salt - ammonium).max(0.0);
        Ions {
            potassium,
            sodium: salt,
            ammonium,
            calcium: earths * self.calcium_share,
            magnesium: earths * (1.0 - self.calcium_share),
            chloride,
            nitrate,
            ..Ions::default()
        }
    }

    /// Conductivity of ions, eq per part of water, of which there are `water` parts; 0 without water.
    ///
    /// # Units
    /// eq/kg and kg/kg dry matter, or eq/L and 1, to dS/m. A kilogram of water is taken as a litre.
    ///
    /// # Source
    /// Sum of independent ions (Kohlrausch) with the factor and the fall of the head of this module.
    pub fn conductivity(&self, ions: &Ions, water: f64) -> f64 {
        let strength = ratio(ions.cations(), water);
        self.factor * hindered(strength) / hindered(FACTOR_AT) * ratio(ions.times(&self.conductances), water)
    }

    /// Conductivity of an extract of a material in `water` kg/kg dry matter, dS/m; 0 without water or dry matter.
    pub fn of_extract(&self, m: &Material, water: f64) -> f64 {
        if m.dry() > 0.0 { self.conductivity(&self.ions(m, water), water) } else { 0.0 }
    }
}

/// Conductance over its limiting value at a strength, eq/L.
fn hindered(strength: f64) -> f64 {
    let (a, b) = HINDRANCE;
    let root = strength.sqrt();
    1.0 - a * root / (1.0 + b * root)
}

/// Water of an extract of 1 volume of product as sold with 5 volumes of water, (5000/rho + w)/(1 - w), kg/kg dry matter.
///
/// # Units
/// wet bulk density kg/m3, moisture kg/kg wet below 1
///
/// # Source
/// EN 13038: 1 volume and 5 volumes of water.
pub fn volume_extract_water(bulk_density: f64, moisture: f64) -> f64 {
    ratio(ratio(5000.0, bulk_density) + moisture, 1.0 - moisture)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::literature;

    fn rates() -> ConductivityRates {
        ConductivityRates::from_values(&|key| {
            literature::central(key).unwrap_or_else(|| panic!("no value for {key}"))
        })
    }

    /// 100 kg dry: 10 g K, 20 g salt, 2 g nitrate-N and 0.3 g ammonium-N per kg, 40 % humus; 120 kg of water.
    fn castings() -> Material {
        let mut m = Material::of(Component::Water, 120.0);
        m[Component::Potassium] = 1.0;
        m[Component::Salt] = 2.0;
        m[Component::Nitrate] = 0.2 * 63.012 / 14.007;
        m[Component::Ammonia] = 0.03 * 17.031 / 14.007;
        m[Component::Humus] = 40.0;
        m[Component::Minerals] = 100.0 - m.dry();
        m
    }

    #[test]
    fn the_fall_with_strength_is_that_of_potassium_chloride() {
        // textbook, 25 °C (memory): S cm2/eq at eq/L, of 149.9 at infinite dilution
        for (strength, conductance) in
            [(0.01, 141.3), (0.02, 138.3), (0.05, 133.4), (0.1, 129.0), (0.5, 117.3), (1.0, 111.9)]
        {
            let ours = 149.9 * hindered(strength);
            assert!((ours / conductance - 1.0).abs() < 0.003, "{strength}: {ours}");
        }
    }

    #[test]
    fn ions_of_castings_equal_sums_by_hand() {
        let rates = ConductivityRates {
            soluble_potassium: 0.6,
            chloride_of_potassium: 0.2,
            other_anions: 0.17,
            calcium_share: 0.75,
            ammonium: AmmoniumPartition { humus: 6.0, rest: 0.5 },
            ..rates()
        };
        let ions = rates.ions(&castings(), 5.0);
        let close = |have: f64, by_hand: f64| assert!((have - by_hand).abs() < 5e-6, "{have} {by_hand}");
        // 0.010 x 0.6/0.039098; 0.020/0.05844; 0.002/0.014007
        close(ions.potassium, 0.153_461);
        close(ions.sodium, 0.342_231);
        close(ions.chloride, 0.342_231 + 0.2 * 0.153_461);
        close(ions.nitrate, 0.142_786);
        // K = 6 x 0.4 + 0.5 x 0.6 = 2.7 L/kg, 5/7.7 dissolved of 0.0003/0.014007
        close(ions.ammonium, 0.013_908);
        // 0.2 x 0.153461 + 0.142786 + 0.17 - 0.153461 - 0.013908 = 0.176109, three quarters calcium
        close(ions.calcium, 0.132_082);
        close(ions.magnesium, 0.044_027);
        // g: 6.000 K, 7.868 Na, 0.251 NH4, 2.647 Ca, 0.535 Mg, 13.220 Cl, 8.853 NO3
        close(ions.mass(), 0.039_374);
    }

    #[test]
    fn conductivity_equals_the_sum_by_hand() {
        let ions = Ions { potassium: 0.05, calcium: 0.05, chloride: 0.06, nitrate: 0.04, ..Ions::default() };
        let rates = ConductivityRates {
            factor: 0.75,
            conductances: Ions {
                potassium: 73.5,
                calcium: 59.5,
                chloride: 76.3,
                nitrate: 71.4,
                ..Ions::default()
            },
            ..rates()
        };
        // 3.675 + 2.975 + 4.578 + 2.856 = 14.084 at 0.1 eq/L, where the fall is 1
        assert!((rates.conductivity(&ions, 1.0) - 10.563).abs() < 1e-9);
        // in four parts of water 0.025 eq/L: r 0.91598 (1 - 0.105936/1.260888) over r 0.86077 (1 - 0.211872/1.521777)
        assert!((rates.conductivity(&ions, 4.0) - 10.563 / 4.0 * 1.064_141).abs() < 2e-5);
        assert!(rates.conductivity(&ions, 0.0) == 0.0, "no water conducts nothing");
    }

    #[test]
    fn calcium_and_magnesium_are_never_negative() {
        // 60 g K per kg: 0.92 eq dissolve against 0.31 eq of nitrate and other anions
        let mut m = castings();
        m[Component::Potassium] = 6.0;
        m[Component::Minerals] -= 5.0;
        let ions = rates().ions(&m, 5.0);
        assert!(ions.calcium == 0.0 && ions.magnesium == 0.0);
        assert!(ions.cations() > ions.chloride + ions.nitrate, "bicarbonate makes up the rest");
    }

    #[test]
    fn an_extract_by_volume_holds_the_water_of_the_product_too() {
        // 0.29 kg/L dry with 1.2 kg of water per kg: 638 kg/m3 at 54.545 %; 5/0.29 + 1.2 = 18.441
        assert!((volume_extract_water(638.0, 1.2 / 2.2) - 18.441_379).abs() < 1e-5);
    }

    #[test]
    fn matter_without_water_or_without_dry_matter_conducts_nothing() {
        let rates = rates();
        assert!(rates.of_extract(&castings(), 0.0) == 0.0);
        assert!(rates.of_extract(&Material::of(Component::Water, 1.0), 5.0) == 0.0);
        assert!(rates.of_extract(&Material::zero(), 5.0) == 0.0);
    }
}
