//! How much of the ammonium of a bed is dissolved in its water.

use crate::matter::lane::Lane;

/// Share of ammoniacal nitrogen that is dissolved in the water of a material, `W/(W + K_humus H + K_rest R)`, with water W, humus H
/// and the rest of the dry matter R in kg and the partition coefficients in L/kg.
///
/// # Source
/// `bed.ammonium_partition_humus`, `bed.ammonium_partition_rest` (derived from soils, assumed).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AmmoniumPartition {
    /// Per kilogram of humus, L/kg.
    pub humus: f64,
    /// Per kilogram of other dry matter, L/kg.
    pub rest: f64,
}

impl AmmoniumPartition {
    /// Reads the coefficients by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self { humus: get("bed.ammonium_partition_humus"), rest: get("bed.ammonium_partition_rest") }
    }

    /// Dissolved share in `water` kg beside `humus` kg in `dry` kg of dry matter; 0 without water.
    #[inline(always)]
    pub fn dissolved<L: Lane>(&self, water: L, humus: L, dry: L) -> L {
        water * self.dissolved_per_water(water, humus, dry)
    }

    /// The same over the water, `1/(W + K_humus H + K_rest R)`, 1/kg; 0 without water.
    #[inline(always)]
    pub fn dissolved_per_water<L: Lane>(&self, water: L, humus: L, dry: L) -> L {
        let held = humus * (self.humus - self.rest) + dry * self.rest;
        L::select(water.is_positive(), L::ONE / (water + held), L::ZERO)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_dissolved_share_follows_from_water_and_humus() {
        // by hand: 3 kg of water beside 0.5 kg of humus and 0.5 kg of other dry matter: 3/(3 + 3 + 0.25)
        let partition = AmmoniumPartition { humus: 6.0, rest: 0.5 };
        assert!((partition.dissolved(3.0, 0.5, 1.0) - 0.48).abs() < 1e-12);
        assert!(partition.dissolved(0.0, 0.5, 1.0).abs() < 1e-15);
    }
}
