//! Moisture, C:N, porosity and pH of mixes, and amounts for targets.
//!
//! Masses add; moisture and C:N follow from the sums and are never averaged. Bulk volumes add after each part has lost
//! the loose volume it does not keep when wetted.

pub mod amounts;

use crate::matter::{Component, Element, Material, SolidKind, ratio};
use crate::process::acidity::{AcidConstants, Surrounds, ph};
use crate::quantity::constant::WATER_DENSITY;
use serde::{Deserialize, Serialize};

/// Particle densities of the solids.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolidDensities {
    /// Organic matter, kg/m3.
    pub organic: f64,
    /// Ash, kg/m3.
    pub ash: f64,
}

impl SolidDensities {
    /// Reads the densities by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self { organic: get("feedstocks.organic_solid_density"), ash: get("feedstocks.ash_solid_density") }
    }

    /// Volume of solids in a material, m3.
    pub fn solid_volume(&self, m: &Material) -> f64 {
        (m.dry() - m.ash()) / self.organic + m.ash() / self.ash
    }
}

/// Share of its loose volume that a part keeps in a mix, wetted or pressed into pores, m3/m3.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeptVolumes {
    /// Ground paste, which flows into the pores of bulking.
    pub paste: f64,
    /// Shredded cardboard, newsprint, leaves, straw.
    pub fibrous: f64,
    /// Wood chips, sawdust, coir, compost.
    pub granular: f64,
}

impl KeptVolumes {
    /// Reads the shares by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            paste: get("feedstocks.kept_volume_paste"),
            fibrous: get("feedstocks.kept_volume_fibrous"),
            granular: get("feedstocks.kept_volume_granular"),
        }
    }

    /// Share that an ingredient keeps as bulking.
    pub const fn of_bulking(&self, kind: SolidKind) -> f64 {
        match kind {
            SolidKind::Fibrous => self.fibrous,
            SolidKind::Granular | SolidKind::Humified | SolidKind::Food => self.granular,
        }
    }
}

/// Air-filled porosity of a bulk by Haug's form.
///
/// ```text
/// f = 1 - rho_dry (1/rho_solid + w/rho_water)
/// ```
///
/// Densities are in kg/m3, `water` in kg per kg dry mass, the result in m3/m3.
/// # Source
/// Haug 1993, from memory.
pub fn air_filled_porosity(dry_bulk_density: f64, solid_density: f64, water: f64) -> f64 {
    1.0 - dry_bulk_density * (1.0 / solid_density + water / WATER_DENSITY)
}

/// A part of a mix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecipePart {
    /// Composition of one kilogram, wet.
    pub per_kilogram: Material,
    /// Bulk density before mixing, kg/m3.
    pub bulk_density: f64,
    /// Share of its loose volume kept in a mix, m3/m3; 0 for a part that only fills pores.
    pub kept_volume: f64,
}

impl RecipePart {
    /// Water, which fills pores and adds no volume until they are full.
    pub fn water() -> Self {
        let per_kilogram = Material::of(Component::Water, 1.0);
        Self { per_kilogram, bulk_density: WATER_DENSITY, kept_volume: 0.0 }
    }

    /// A material whose volume does not matter.
    pub(super) fn of_mass(per_kilogram: &Material) -> Self {
        Self { per_kilogram: *per_kilogram, bulk_density: WATER_DENSITY, kept_volume: 1.0 }
    }

    /// Volume a kilogram takes in a mix, m3/kg.
    pub fn volume(&self) -> f64 {
        self.kept_volume / self.bulk_density
    }

    /// Volume of solids and water in a kilogram, m3/kg.
    pub fn full_volume(&self, densities: &SolidDensities) -> f64 {
        densities.solid_volume(&self.per_kilogram) + self.per_kilogram.water() / WATER_DENSITY
    }
}

/// A mix of parts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mixture {
    /// Its material, kg.
    pub material: Material,
    /// Bulk volume, m3, at least that of solids and water.
    pub volume: f64,
    /// Volume of solids and water, m3.
    pub full_volume: f64,
}

impl Mixture {
    /// Mixes parts by mass, kg. Masses add; the volumes kept add, and are at least the volume of solids and water.
    pub fn of(parts: &[(RecipePart, f64)], densities: &SolidDensities) -> Self {
        let material: Material = parts.iter().map(|(p, kg)| p.per_kilogram * *kg).sum();
        let full_volume = parts.iter().map(|(p, kg)| p.full_volume(densities) * kg).sum::<f64>();
        let loose = parts.iter().map(|(p, kg)| p.volume() * kg).sum::<f64>();
        Self { material, volume: loose.max(full_volume), full_volume }
    }

    /// Water share of wet mass, kg/kg.
    pub fn moisture(&self) -> f64 {
        self.material.moisture()
    }

    /// Carbon to nitrogen ratio, kg/kg; 0 without nitrogen.
    pub fn carbon_to_nitrogen(&self) -> f64 {
        self.material.carbon_to_nitrogen()
    }

    /// Bulk density, kg/m3.
    pub fn bulk_density(&self) -> f64 {
        ratio(self.material.wet(), self.volume)
    }

    /// Share of the bulk volume filled with air, m3/m3.
    pub fn air_filled_porosity(&self) -> f64 {
        if self.volume > 0.0 { 1.0 - self.full_volume / self.volume } else { 0.0 }
    }

    /// pH by charge balance.
    pub fn ph(&self, acids: &AcidConstants, at: &Surrounds) -> f64 {
        ph(&self.material, acids, at, 7.0)
    }
}

/// Mean of a property that mixes by bulk volume, such as the conductivity of an extract; 0 without volume.
pub fn mean_by_volume(parts: &[(RecipePart, f64)], values: &[f64]) -> f64 {
    let volume = parts.iter().map(|(p, kg)| p.volume() * kg).sum::<f64>();
    ratio(parts.iter().zip(values).map(|((p, kg), v)| p.volume() * kg * v).sum(), volume)
}

/// The property that a target concerns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RecipeMeasure {
    /// Water share of wet mass, kg/kg.
    Moisture,
    /// Carbon to nitrogen ratio, kg/kg.
    CarbonToNitrogen,
    /// Air-filled porosity, m3/m3.
    AirFilledPorosity,
}

impl RecipeMeasure {
    /// Name in files and messages.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Moisture => "moisture",
            Self::CarbonToNitrogen => "carbon_to_nitrogen",
            Self::AirFilledPorosity => "air_filled_porosity",
        }
    }

    /// Amount and reference of the measure in one kilogram: its value is amount / reference, and both add.
    pub(super) fn terms(self, part: &RecipePart, densities: &SolidDensities) -> (f64, f64) {
        let m = &part.per_kilogram;
        match self {
            Self::Moisture => (m.water(), m.wet()),
            Self::CarbonToNitrogen => (m.element(Element::Carbon), m.element(Element::Nitrogen)),
            Self::AirFilledPorosity => (part.volume() - part.full_volume(densities), part.volume()),
        }
    }

    /// Value of a mix, in the unit of the measure.
    pub fn of(self, mixture: &Mixture) -> f64 {
        match self {
            Self::Moisture => mixture.moisture(),
            Self::CarbonToNitrogen => mixture.carbon_to_nitrogen(),
            Self::AirFilledPorosity => mixture.air_filled_porosity(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn water_fills_pores_before_it_adds_volume() {
        // 10 kg at 50 kg/m3, half kept: 0.1 m3; solids 10/1550 m3. 93 kg of water fit into the pores, 100 kg do not.
        let densities = SolidDensities { organic: 1550.0, ash: 2500.0 };
        let fluff = RecipePart {
            per_kilogram: Material::of(Component::Fibre, 1.0),
            bulk_density: 50.0,
            kept_volume: 0.5,
        };
        let wetted = |kg: f64| Mixture::of(&[(fluff, 10.0), (RecipePart::water(), kg)], &densities);
        assert!((wetted(0.0).air_filled_porosity() - (1.0 - 500.0 / 0.5 / 10.0 / 1550.0)).abs() < 1e-12);
        assert!((wetted(93.0).volume - 0.1).abs() < 1e-12);
        assert!((wetted(100.0).volume - (0.1 + 10.0 / 1550.0)).abs() < 1e-12);
        assert!(wetted(100.0).air_filled_porosity().abs() < 1e-12);
    }
}
