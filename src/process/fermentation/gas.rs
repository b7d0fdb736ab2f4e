//! Carbon dioxide of drums: pressure under a closed lid, gas through a valve, and the air of the store room.

use crate::matter::lane::Lane;
use crate::quantity::constant::{ATMOSPHERE, GAS_CONSTANT, ZERO_CELSIUS};

/// Constants of gas in drums and rooms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GasRates {
    /// Solubility of carbon dioxide at 25 °C, mol/(m3 Pa).
    pub henry: f64,
    /// Temperature constant of the solubility, K.
    pub henry_temperature: f64,
    /// Density of the filled mass without its pores, kg/m3.
    pub filled_density: f64,
    /// Carbon dioxide outdoors, m3/m3.
    pub outdoors: f64,
    /// Gauge pressure of the first warning, Pa.
    pub amber_pressure: f64,
    /// Gauge pressure of danger, Pa.
    pub red_pressure: f64,
    /// Exposure limit of carbon dioxide over a working day, m3/m3.
    pub limit_average: f64,
    /// Exposure limit over a short time, m3/m3.
    pub limit_short: f64,
    /// Immediately dangerous to life or health, m3/m3.
    pub limit_danger: f64,
}

impl GasRates {
    /// Reads the constants by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        let share = |key| 1e-6 * get(key);
        Self {
            henry: get("fermentation.henry_constant_carbon_dioxide"),
            henry_temperature: get("fermentation.henry_temperature_constant_carbon_dioxide"),
            filled_density: 1000.0 * get("fermentation.paste_density_with_pores"),
            outdoors: share("fermentation.outdoor_carbon_dioxide"),
            amber_pressure: 1000.0 * get("fermentation.amber_gauge_pressure"),
            red_pressure: 1000.0 * get("fermentation.red_gauge_pressure"),
            limit_average: share("fermentation.carbon_dioxide_exposure_limit_average"),
            limit_short: share("fermentation.carbon_dioxide_exposure_limit_short_term"),
            limit_danger: share("fermentation.carbon_dioxide_immediately_dangerous"),
        }
    }

    /// Solubility of carbon dioxide: H(T) = H25 exp(c (1/T - 1/298.15)).
    ///
    /// # Units
    /// mol/(m3 Pa); temperature in °C
    ///
    /// # Source
    /// sander_2023.
    pub fn solubility(&self, temperature: f64) -> f64 {
        let inverse = 1.0 / (temperature + ZERO_CELSIUS) - 1.0 / 298.15;
        self.henry * (self.henry_temperature * inverse).exp()
    }

    /// Carbon dioxide held by a headspace and the water below it, per pascal.
    ///
    /// # Units
    /// mol/Pa; headspace and water in m3
    pub fn held_per_pressure(&self, headspace: f64, water: f64, temperature: f64) -> f64 {
        headspace / (GAS_CONSTANT * (temperature + ZERO_CELSIUS)) + self.solubility(temperature) * water
    }

    /// Gauge pressure of a sealed vessel: P = n / (Vg/(R T) + H Vl), plus n R T/Vg of insoluble gas.
    ///
    /// Air and water vapour keep the pressure of the surroundings and are left out. Bicarbonate is negligible below pH 5.
    ///
    /// # Units
    /// Pa; moles, m3, °C
    ///
    /// # Source
    /// Ideal gas law and Henry's law (sander_2023).
    pub fn sealed_gauge_pressure(
        &self,
        carbon_dioxide: f64,
        insoluble: f64,
        headspace: f64,
        water: f64,
        temperature: f64,
    ) -> f64 {
        let gas_only = headspace / (GAS_CONSTANT * (temperature + ZERO_CELSIUS));
        carbon_dioxide / self.held_per_pressure(headspace, water, temperature) + insoluble / gas_only
    }

    /// Carbon dioxide that has left through a valve: n - (P_atm + p_v)(H Vl + Vg/(R T)), at least 0.
    ///
    /// # Units
    /// mol; Pa, m3, °C
    ///
    /// # Source
    /// Ideal gas law and Henry's law (sander_2023).
    pub fn vented(&self, made: f64, valve: f64, headspace: f64, water: f64, temperature: f64) -> f64 {
        (made - (ATMOSPHERE + valve) * self.held_per_pressure(headspace, water, temperature)).max(0.0)
    }

    /// Gas space of a filled drum: volume less mass over density, at least a hundredth of the drum.
    ///
    /// # Units
    /// m3, kg
    #[inline(always)]
    pub fn headspace<L: Lane>(&self, volume: f64, mass: L) -> L {
        (L::from(volume) - mass / self.filled_density).max(L::from(0.01 * volume))
    }
}

/// Volume of a mole of gas at one atmosphere and a temperature in °C, m3/mol.
pub fn molar_volume(temperature: f64) -> f64 {
    GAS_CONSTANT * (temperature + ZERO_CELSIUS) / ATMOSPHERE
}

/// Steady carbon dioxide of a room with an even release G and fresh air Q, of which G + Q leaves: (Q outdoors + G) / (Q + G); that
/// outdoors without either.
///
/// # Units
/// m3/m3; G and Q in m3/h
pub fn room_steady(outdoors: f64, made: f64, air: f64) -> f64 {
    if air + made > 0.0 { (air * outdoors + made) / (air + made) } else { outdoors }
}

/// Carbon dioxide of a room after some hours of an even release G, of which air makes way: dC/dt = (Q C_out + G - (Q + G) C) / V.
///
/// # Units
/// m3/m3; hours, m3/h, m3
///
/// # Source
/// Mass balance of a mixed room, solved exactly.
pub fn room_after(start: f64, outdoors: f64, made: f64, air: f64, volume: f64, hours: f64) -> f64 {
    let leaving = air + made;
    if leaving <= 0.0 {
        return start;
    }
    let steady = room_steady(outdoors, made, air);
    steady + (start - steady) * (-leaving * hours / volume).exp()
}

/// Carbon dioxide of a room after a puff of it that mixes in while air of the room makes way.
///
/// # Units
/// m3/m3; m3
///
/// # Source
/// Mass balance of a mixed room, solved exactly.
pub fn room_after_puff(start: f64, puff: f64, volume: f64) -> f64 {
    start + (1.0 - start) * -(-puff / volume).exp_m1()
}

/// Mean carbon dioxide of a room over some hours of an even release: the mean of [`room_after`].
///
/// # Units
/// m3/m3; hours, m3/h, m3
///
/// # Source
/// Mass balance of a mixed room, solved exactly.
pub fn room_mean(start: f64, outdoors: f64, made: f64, air: f64, volume: f64, hours: f64) -> f64 {
    let leaving = air + made;
    if leaving <= 0.0 {
        return start;
    }
    let (steady, changes) = (room_steady(outdoors, made, air), leaving * hours / volume);
    steady + (start - steady) * -(-changes).exp_m1() / changes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_solubility_of_the_beds_is_that_of_the_drums_at_20_celsius() {
        let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
        let here = GasRates::from_values(&get).solubility(20.0) * ATMOSPHERE / 1000.0;
        let beds = get("bed.carbon_dioxide_solubility");
        // both are printed with three digits
        assert!((here / beds - 1.0).abs() < 0.002, "{here} and {beds} mol/(L atm)");
    }

    #[test]
    fn pressures_headspace_and_room_equal_values_by_hand() {
        let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
        let rates = GasRates::from_values(&get);
        // the tables give 5 and 20 kPa
        assert!((rates.amber_pressure - 5000.0).abs() < 1e-9 && (rates.red_pressure - 20_000.0).abs() < 1e-9);
        // an almost full drum keeps a hundredth
        assert!((rates.headspace(0.2, 1e6) - 0.002).abs() < 1e-15);
        // 10 mol less what a valve of 2 kPa keeps in 50 L of headspace at 25 °C, p V / (R T), and in 100 L of water
        let kept = 103_325.0 * (0.05 / (8.314_462_618 * 298.15) + 0.1 * rates.henry);
        assert!((rates.vented(10.0, 2000.0, 0.05, 0.1, 25.0) - (10.0 - kept)).abs() < 1e-12 && kept < 9.0);
        // a room of 60 m3 into which come 59.4 m3/h of air and 0.6 of gas, so that 60 leave: (59.4 x 0.0004 + 0.6) / 60 in the
        // long run, of which 1 - 1/e in the first hour
        let (e, steady) = ((-1.0_f64).exp(), 0.010_396);
        let after = room_after(0.02, 0.0004, 0.6, 59.4, 60.0, 1.0);
        assert!((after - (steady + (0.02 - steady) * e)).abs() < 1e-15);
        // its mean over that hour: of what it starts above the steady value the part (1 - 1/e)
        let mean = room_mean(0.02, 0.0004, 0.6, 59.4, 60.0, 1.0);
        assert!((mean - (steady + (0.02 - steady) * (1.0 - e))).abs() < 1e-15);
        // without air the gas pushes out what was there: 60 m3 of it leave 1/e, and no release changes nothing
        assert!((room_after(0.0, 0.0004, 30.0, 0.0, 60.0, 2.0) - (1.0 - e)).abs() < 1e-15);
        assert!((room_after_puff(0.02, 60.0, 60.0) - (1.0 - 0.98 * e)).abs() < 1e-15);
        assert_eq!(room_after(0.02, 0.0004, 0.0, 0.0, 60.0, 2.0).to_bits(), 0.02_f64.to_bits());
        assert_eq!(room_mean(0.02, 0.0004, 0.0, 0.0, 60.0, 2.0).to_bits(), 0.02_f64.to_bits());
    }
}
