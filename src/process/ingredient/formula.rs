//! Empirical formulas from an ultimate analysis, and what oxidising them takes.

use crate::matter::{Formula, Gas, atomic_weight};

/// Formula with one nitrogen atom from mass shares of carbon, hydrogen, oxygen and nitrogen (on any common basis).
///
/// None if a share is negative or nitrogen is 0.
pub fn per_nitrogen(carbon: f64, hydrogen: f64, oxygen: f64, nitrogen: f64) -> Option<Formula> {
    if !(carbon >= 0.0 && hydrogen >= 0.0 && oxygen >= 0.0 && nitrogen > 0.0) {
        return None;
    }
    let moles = nitrogen / atomic_weight::NITROGEN;
    Some(Formula::new(
        carbon / atomic_weight::CARBON / moles,
        hydrogen / atomic_weight::HYDROGEN / moles,
        oxygen / atomic_weight::OXYGEN / moles,
        1.0,
    ))
}

/// Moles per mole of feed of an oxidation that leaves `product_moles` of an organic product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Oxidation {
    /// O2 taken in, mol/mol.
    pub oxygen: f64,
    /// CO2 given off, mol/mol.
    pub carbon_dioxide: f64,
    /// Water formed, mol/mol.
    pub water: f64,
    /// Ammonia formed, mol/mol.
    pub ammonia: f64,
    /// O2 per mass of feed, kg/kg.
    pub oxygen_mass: f64,
}

/// Oxidises a feed CaHbOcNd, leaving n moles of a product CwHxOyNz per mole of feed and the rest of the nitrogen as ammonia:
///
/// ```text
/// s = a - n w;  NH3 = d - n z;  r = (b - n x - 3 NH3)/2;  O2 = (n y + 2 s + r - c)/2
/// ```
///
/// # Source
/// Haug 1980, as printed by Polprasert; full oxidation is n = 0.
pub fn oxidise(feed: &Formula, product: &Formula, product_moles: f64) -> Oxidation {
    let n = product_moles;
    let carbon_dioxide = feed.carbon - n * product.carbon;
    let ammonia = feed.nitrogen - n * product.nitrogen;
    let water = 0.5 * (feed.hydrogen - n * product.hydrogen - 3.0 * ammonia);
    let oxygen = 0.5 * (n * product.oxygen + 2.0 * carbon_dioxide + water - feed.oxygen);
    let oxygen_mass = oxygen * Gas::Oxygen.molar_mass() * 1000.0 / feed.molar_mass();
    Oxidation { oxygen, carbon_dioxide, water, ammonia, oxygen_mass }
}

/// Full oxidation to CO2, water and ammonia.
pub fn oxidise_fully(feed: &Formula) -> Oxidation {
    oxidise(feed, &Gas::WaterVapour.formula(), 0.0)
}
