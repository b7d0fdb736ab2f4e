//! Liquor of a drum: amount, time and composition.
//!
//! Amount: every wet ingredient gives what grass of its dry matter gives in a silo, times a scale; dry ingredients take up a part of
//! it. The mean dry matter of a mix says little: bread and fruit together may be drier than any material that drains, and still the
//! fruit drains.

use crate::matter::lane::{Lane, Mask};
use crate::matter::{Component, Material, ratio};
use crate::process::acidity::{AcidPowers, Acidity};
use crate::process::fermentation::load::Load;

/// A larger balanced moisture counts as this one, so that dry matter does not hold water without end. Source: our choice.
const MOST_BALANCED: f64 = 0.99;

/// Constants of liquor volume and composition.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LiquorRates {
    /// Constant term of the effluent equation, L per tonne wet.
    pub constant: f64,
    /// Linear term, L per tonne wet and kg/kg.
    pub linear: f64,
    /// Quadratic term, L per tonne wet and (kg/kg)^2.
    pub quadratic: f64,
    /// No liquor from this dry-matter share on, kg/kg.
    pub cut: f64,
    /// Scale for food scraps against grass.
    pub scale: f64,
    /// Water share of a material that neither drains nor takes up water, kg/kg wet.
    pub balanced_moisture: f64,
    /// Part of the dry ingredients that the liquor meets.
    pub met: f64,
    /// Dry matter of liquor, kg per kg (a litre taken as a kilogram).
    pub dry_matter: f64,
    /// Share of phosphorus that is dissolved in an acid drum.
    pub soluble_phosphorus: f64,
}

impl LiquorRates {
    /// Reads the constants by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            constant: get("fermentation.effluent_constant_term"),
            linear: get("fermentation.effluent_linear_term"),
            quadratic: get("fermentation.effluent_quadratic_term"),
            cut: get("fermentation.effluent_dry_matter_cut"),
            scale: get("fermentation.effluent_scale_food_waste"),
            balanced_moisture: get("fermentation.liquor_balanced_moisture"),
            met: get("fermentation.liquor_met_share"),
            dry_matter: get("fermentation.leachate_dry_matter"),
            soluble_phosphorus: get("fermentation.soluble_phosphorus_in_drum"),
        }
    }

    /// Liquor of grass in a silo by dry-matter share: V = 767 - 5340 x + 9360 x^2, 0 from the cut on.
    ///
    /// # Units
    /// m3 per kg wet mass sealed
    ///
    /// # Source
    /// bastiman_1976, as printed in rotz_1993.
    pub fn grass_volume(&self, dry_share: f64) -> f64 {
        if dry_share >= self.cut {
            return 0.0;
        }
        let litres_per_tonne =
            self.constant + self.linear * dry_share + self.quadratic * dry_share * dry_share;
        litres_per_tonne.max(0.0) * 1e-6
    }

    /// Liquor that an ingredient would give as grass in a silo, kg; a litre is taken as a kilogram.
    pub fn drains(&self, ingredient: &Material) -> f64 {
        1000.0 * self.grass_volume(1.0 - ingredient.moisture()) * ingredient.wet()
    }

    /// Liquor that an ingredient could take up, kg: water to its balanced moisture, less what it has.
    ///
    /// # Source
    /// razak_2012: mixes at 69.1 % moisture drain nothing.
    pub fn soaks_up(&self, ingredient: &Material) -> f64 {
        let moisture = self.balanced_moisture.min(MOST_BALANCED);
        let per_dry = moisture / (1.0 - moisture);
        (per_dry * ingredient.dry() - ingredient.water()).max(0.0)
    }

    /// All liquor of a load, kg: `k_L x drains - q x soaks_up`, not below 0, at most all of it.
    pub fn total(&self, load: &Load) -> f64 {
        (self.scale * load.drains - self.met * load.soaks_up).clamp(0.0, load.wet().max(0.0))
    }
}

/// Share of all liquor that has run after t days: `0.0148 t^2` up to day 3, then
/// `0.133 + 0.017 (t - 3) - 0.000107 (t^2 - 9) + 0.241 (1 - exp(-0.298 (t - 3)))`.
///
/// # Units
/// `age` in days since sealing; the result is constant from day 79 on.
///
/// # Source
/// rotz_1993.
pub fn time_share(age: f64) -> f64 {
    let t = age.clamp(0.0, 79.0);
    if t <= 3.0 {
        return 0.0148 * t * t;
    }
    let late = 0.241 * (1.0 - (-0.298 * (t - 3.0)).exp());
    0.133 + 0.017 * (t - 3.0) - 0.000_107 * (t * t - 9.0) + late
}

/// Liquor taken from a drum, or from one in each lane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drained<L = f64> {
    /// The liquor.
    pub liquor: Material<L>,
    /// Share of the pore water, and all that is dissolved in it, that left.
    pub pore_share: L,
    /// Share of the solids that left as fines.
    pub fines_share: L,
}

/// Removes up to `mass` kilograms of liquor from `matter`.
///
/// Pore water leaves with its share of acids, ethanol, ammonia, nitrate, potassium, salt, the dissolved part of phosphorus, calcium
/// (its charge; the mass stays in the minerals), and `soluble_sugars` (kg). Fine solids, of the composition of all solids, bring the
/// liquor to its dry matter; pore water richer than that leaves without fines. The base entry of the liquor gives it the acidity of the
/// drum, so the rest keeps it too; the buffer leaves with the solids.
///
/// # Units
/// kg
///
/// # Panics
/// If more of what is dissolved has left before than there was: a fault of ours, or rates beyond all bounds.
#[inline(always)]
pub fn drain<L: Lane>(
    matter: &mut Material<L>,
    mass: L,
    soluble_sugars: L,
    rates: &LiquorRates,
    powers: &AcidPowers<L>,
    at: Acidity<L>,
) -> Drained<L> {
    const DISSOLVED: [Component; 8] = [
        Component::Lactic,
        Component::Acetic,
        Component::Butyric,
        Component::Ethanol,
        Component::Ammonia,
        Component::Nitrate,
        Component::Potassium,
        Component::Salt,
    ];
    let mut pore = Material::none();
    for c in DISSOLVED {
        pore[c] = matter[c];
    }
    pore[Component::Phosphorus] = matter[Component::Phosphorus] * rates.soluble_phosphorus;
    pore[Component::Sugars] = soluble_sugars.max(L::ZERO).min(matter[Component::Sugars].max(L::ZERO));
    *pore.calcium_mut() = matter.calcium();
    let solubles = pore.wet();
    pore[Component::Water] = matter.water();
    let mut solids = *matter - pore;
    *solids.base_mut() = L::ZERO;
    assert!(!pore.wet().lt(L::ZERO).any(), "a drum cannot give more than it holds");
    let mass = mass.max(L::ZERO).min(pore.wet());
    let poor = ratio(solubles, pore.wet()).lt(L::from(rates.dry_matter));
    let water_share = ratio(mass * (1.0 - rates.dry_matter), matter.water()).min(L::ONE);
    let pore_share = L::select(poor, water_share, ratio(mass, pore.wet()));
    let fines = L::select(poor, (mass - pore_share * pore.wet()).max(L::ZERO), L::ZERO);
    let fines_share = ratio(fines, solids.wet()).min(L::ONE);
    let mut liquor = pore * pore_share + solids * fines_share;
    *liquor.base_mut() = powers.base_at(&liquor, at);
    *matter -= liquor;
    Drained { liquor, pore_share, fines_share }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dry_ingredients_take_up_a_part_of_what_wet_ones_give() {
        let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
        let rates = LiquorRates { met: 0.5, scale: 1.2, ..LiquorRates::from_values(&get) };
        let of_dry_matter =
            |share: f64| Material::of(Component::Fibre, share) + Material::of(Component::Water, 1.0 - share);
        // by hand: 327 L/t at 10 % dry matter; water of 2.236 per dry matter at 69.1 % moisture
        let [fruit, bread] = [0.10, 0.65].map(of_dry_matter);
        assert!((rates.drains(&fruit) - 0.3266).abs() < 1e-4 && rates.soaks_up(&fruit) == 0.0);
        let held = 0.65 * 0.691 / 0.309 - 0.35;
        assert!((rates.soaks_up(&bread) - held).abs() < 1e-12 && (held - 1.10).abs() < 0.005);
        assert!(rates.drains(&bread) == 0.0);
        let load = |fruit_kg: f64, bread_kg: f64| Load {
            matter: fruit * fruit_kg + bread * bread_kg,
            drains: rates.drains(&fruit) * fruit_kg,
            soaks_up: rates.soaks_up(&bread) * bread_kg,
            ..Load::default()
        };
        let by_hand = 1.2 * 0.3266 * 8.0 - 0.5 * held * 2.0;
        assert!((rates.total(&load(8.0, 2.0)) - by_hand).abs() < 1e-3 && by_hand > 2.0);
        // the mean of this mix is 21 % dry matter, at which grass gives a fortieth of that
        assert!(rates.total(&load(8.0, 2.0)) > 25.0 * rates.drains(&of_dry_matter(0.21)));
        assert!(rates.total(&load(1.0, 9.0)) == 0.0);
        let soup = Load { drains: 90.0, ..load(1.0, 0.0) };
        assert!((rates.total(&soup) - 1.0).abs() < 1e-12, "not more than there is");
    }
}
