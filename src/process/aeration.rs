//! Air in a layer: air-filled porosity, the reach of oxygen, and rate factors.

use crate::matter::lane::{Lane, cbrt, exp};
use crate::quantity::constant::WATER_DENSITY;

/// Rate factors of aerobic decay and the constants of oxygen transport.
///
/// # Source
/// `bed` table; forms of Haug 1993.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AerationRates {
    /// Logarithm of the base of the rise with temperature, 1/K.
    pub temperature_rise: f64,
    /// Logarithm of the base of the fall at high temperature, 1/K.
    pub temperature_fall: f64,
    /// Slope of the moisture factor.
    pub moisture_slope: f64,
    /// Offset of the moisture factor.
    pub moisture_offset: f64,
    /// Slope of the air-space factor.
    pub air_space_slope: f64,
    /// Offset of the air-space factor.
    pub air_space_offset: f64,
    /// Oxygen half-saturation, percent by volume.
    pub oxygen_half_saturation: f64,
    /// Mean oxygen in the reached part of a layer, percent by volume.
    pub oxygen_in_reach: f64,
    /// Diffusivity of oxygen in free air, m2/s.
    pub oxygen_diffusivity: f64,
    /// Oxygen in outside air, kg/m3.
    pub oxygen_in_air: f64,
    /// Total porosity in the pore model, m3/m3.
    pub total_porosity: f64,
    /// Density of dry solids, kg/m3.
    pub solid_density: f64,
}

impl AerationRates {
    /// Reads the rates by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            temperature_rise: get("bed.decay_temperature_base_rise").ln(),
            temperature_fall: get("bed.decay_temperature_base_fall").ln(),
            moisture_slope: get("bed.decay_moisture_slope"),
            moisture_offset: get("bed.decay_moisture_offset"),
            air_space_slope: get("bed.decay_air_space_slope"),
            air_space_offset: get("bed.decay_air_space_offset"),
            oxygen_half_saturation: get("bed.decay_oxygen_half_saturation"),
            oxygen_in_reach: get("bed.oxygen_in_reached_layer"),
            oxygen_diffusivity: get("bed.oxygen_diffusivity_in_air"),
            oxygen_in_air: get("bed.oxygen_in_air"),
            total_porosity: get("bed.layer_total_porosity"),
            solid_density: get("bed.solid_density"),
        }
    }

    /// Temperature factor, about 1 at 20 °C: `exp(rise (T - 20)) - exp(fall (T - 60))`, never below 0; T in °C.
    #[inline(always)]
    pub fn temperature_factor<L: Lane>(&self, temperature: L) -> L {
        let t = temperature - 20.0;
        (exp(t * self.temperature_rise) - exp((t - 40.0) * self.temperature_fall)).max(L::ZERO)
    }

    /// Temperature at which decay ends, °C: that where the temperature factor falls to 0. Infinite if it never does.
    pub fn hottest_decay(&self) -> f64 {
        let faster = self.temperature_fall - self.temperature_rise;
        let heat = 60.0 * self.temperature_fall - 20.0 * self.temperature_rise;
        if faster > 0.0 { heat / faster } else { f64::INFINITY }
    }

    /// Moisture factor, `1/(1 + exp(offset - slope w))`, of a moisture in kg water/kg wet.
    #[inline(always)]
    pub fn moisture_factor<L: Lane>(&self, moisture: L) -> L {
        logistic(moisture * self.moisture_slope - self.moisture_offset)
    }

    /// Air-space factor, `1/(1 + exp(offset - slope a))`, of an air-filled porosity in m3/m3.
    #[inline(always)]
    pub fn air_space_factor<L: Lane>(&self, porosity: L) -> L {
        logistic(porosity * self.air_space_slope - self.air_space_offset)
    }

    /// Oxygen factor of the reached part of a layer, `O2/(O2 + half-saturation)`.
    pub fn oxygen_factor(&self) -> f64 {
        self.oxygen_in_reach / (self.oxygen_in_reach + self.oxygen_half_saturation)
    }

    /// Both factors at once.
    #[inline(always)]
    pub fn moisture_and_air_factor<L: Lane>(&self, moisture: L, porosity: L) -> L {
        let dry = exp(-(moisture * self.moisture_slope) + self.moisture_offset);
        let full = exp(-(porosity * self.air_space_slope) + self.air_space_offset);
        L::ONE / ((dry + 1.0) * (full + 1.0))
    }

    /// Air-filled porosity of a layer: `1 - (dry/solid density + water/1000)/volume`, within 0 and 1.
    ///
    /// # Units
    /// kg, kg, m3 to m3/m3
    #[inline(always)]
    pub fn air_filled_porosity<L: Lane>(&self, dry: L, water: L, volume: L) -> L {
        let filled = (dry * (1.0 / self.solid_density) + water * (1.0 / WATER_DENSITY)) / volume;
        L::select(volume.is_positive(), (L::ONE - filled).clamp(0.0, 1.0), L::ZERO)
    }

    /// Depth to which oxygen reaches into a layer that uses `uptake` kg O2/s in `volume` m3: `sqrt(2 D C0 / r)` with the uptake r by
    /// volume and the Millington-Quirk diffusivity `D = D0 a^(10/3) / porosity^2`; infinite without uptake.
    ///
    /// # Units
    /// m3 air/m3, kg O2/s, m3 to m
    ///
    /// # Source
    /// Steady diffusion with uptake of zero order; Millington and Quirk 1961 (memory).
    #[inline(always)]
    pub fn oxygen_reach<L: Lane>(&self, porosity: L, uptake: L, volume: L) -> L {
        let open = porosity * porosity * porosity * cbrt(porosity);
        let free = self.oxygen_diffusivity / (self.total_porosity * self.total_porosity);
        let squared = open * volume * (2.0 * free * self.oxygen_in_air) / uptake;
        L::select(uptake.is_positive(), squared.sqrt(), L::from(f64::INFINITY))
    }
}

/// 1/(1 + exp(-x)).
#[inline(always)]
fn logistic<L: Lane>(x: L) -> L {
    L::ONE / (L::ONE + exp(-x))
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// Central values of the bed table (Haug 1993 forms) and of its oxygen-reach figures.
    pub(crate) fn central() -> AerationRates {
        AerationRates {
            temperature_rise: 1.066_f64.ln(),
            temperature_fall: 1.21_f64.ln(),
            moisture_slope: 17.684,
            moisture_offset: 7.0622,
            air_space_slope: 23.675,
            air_space_offset: 3.4945,
            oxygen_half_saturation: 2.0,
            oxygen_in_reach: 14.0,
            oxygen_diffusivity: 2.0e-5,
            oxygen_in_air: 0.28,
            total_porosity: 0.8,
            solid_density: 1600.0,
        }
    }

    #[test]
    fn factors_match_the_printed_check_values() {
        let r = central();
        for (t, printed) in
            [(5.0, 0.38), (10.0, 0.53), (15.0, 0.73), (20.0, 1.00), (25.0, 1.38), (30.0, 1.89)]
        {
            assert!((r.temperature_factor(t) - printed).abs() < 0.006, "{t} {}", r.temperature_factor(t));
        }
        for (m, printed) in [(0.3, 0.15), (0.4, 0.50), (0.5, 0.86), (0.6, 0.97), (0.8, 1.00)] {
            assert!((r.moisture_factor(m) - printed).abs() < 0.006);
        }
        for (a, printed) in [(0.05, 0.09), (0.10, 0.24), (0.15, 0.51), (0.20, 0.78), (0.30, 0.97)] {
            assert!((r.air_space_factor(a) - printed).abs() < 0.006);
        }
    }

    #[test]
    fn decay_ends_where_its_factor_falls_to_nothing() {
        // 1.066^60.2 = 1.21^20.2
        let r = central();
        let end = r.hottest_decay();
        assert!((end - 80.2).abs() < 0.05, "{end}");
        assert!(r.temperature_factor(end - 0.1) > 0.0 && r.temperature_factor(end + 0.1) == 0.0);
        assert!(AerationRates { temperature_fall: r.temperature_rise, ..r }.hottest_decay().is_infinite());
    }

    #[test]
    fn oxygen_reach_matches_the_printed_depths() {
        // r = 160 kg VS/m3 x 3 g/kg/h = 0.133 g/m3/s; printed 0.25, 0.8, 2.5, 4.9, 7.9 cm at 0.05 to 0.40 air-filled.
        let uptake = 160.0 * 0.003 / 3600.0;
        for (a, cm) in [(0.05, 0.25), (0.10, 0.8), (0.20, 2.5), (0.30, 4.9), (0.40, 7.9)] {
            let ours = 100.0 * central().oxygen_reach(a, uptake, 1.0);
            assert!((ours - cm).abs() < 0.06 * cm.max(0.5), "{a}: {ours} against {cm}");
        }
    }
}
