//! Water vapour over a wet surface, and the natural drying of castings spread on a floor.
//!
//! Evaporation follows the mass-transfer form E = h_m (rho_vs(T_surface) - RH rho_vs(T_air)) with h_m = h_c/(rho cp Le^(2/3)).
//! An unheated wet surface cools until the heat it takes from its surroundings equals the heat of evaporation; without that,
//! natural drying would be overstated about twofold. Above a critical moisture the surface is wet throughout and the rate is
//! constant; below it the rate falls in proportion to the water left per dry matter. Both periods are solved exactly.
//! Ammonia and acids lost with the water are not booked: cured castings hold grams of them per kilogram.

use crate::matter::Component;
use crate::matter::lane::{Lane, exp};
use crate::quantity::constant::{GAS_CONSTANT, SECONDS_PER_DAY, ZERO_CELSIUS};

/// Constants of the Magnus form over water: Pa, 1, °C. Source: sonntag_1990, recommended by WMO 2008.
const MAGNUS: (f64, f64, f64) = (611.2, 17.62, 243.12);

/// Saturation pressure of water vapour over water, e = 611.2 exp(17.62 T/(243.12 + T)).
///
/// # Units
/// °C to Pa
///
/// # Source
/// sonntag_1990; valid for -45 to 60 °C.
#[inline(always)]
pub fn saturation_vapour_pressure<L: Lane>(temperature: L) -> L {
    let (a, b, c) = MAGNUS;
    exp(temperature * b / (temperature + c)) * a
}

/// Density of saturated water vapour, e M/(R T).
///
/// # Units
/// °C to kg/m3
///
/// # Source
/// sonntag_1990 and the ideal gas law; within 0.6 % of the printed table of the Handbook of Chemistry and Physics, 0-34 °C.
#[inline(always)]
pub fn saturation_vapour_density<L: Lane>(temperature: L) -> L {
    let per_kelvin = Component::Water.molar_mass() / GAS_CONSTANT;
    saturation_vapour_pressure(temperature) * per_kelvin / (temperature + ZERO_CELSIUS)
}

/// Mass-transfer coefficient from the heat-transfer coefficient of air, h_m = h_c/(rho cp Le^(2/3)).
///
/// # Units
/// W/(m2 K), J/(m3 K) to m/s
///
/// # Source
/// Analogy of heat and mass transfer (textbook form).
pub fn vapour_mass_transfer(heat_transfer: f64, divisor: f64) -> f64 {
    heat_transfer / divisor
}

/// Evaporation from a wet surface of known temperature; negative if vapour condenses on it.
///
/// # Units
/// m/s, °C, °C, relative humidity 0-1 to kg/(m2 d)
///
/// # Source
/// Mass transfer as in haug_1993, with a surface that is wet throughout.
pub fn evaporation(transfer: f64, surface: f64, air: f64, humidity: f64) -> f64 {
    let drive = saturation_vapour_density(surface) - humidity * saturation_vapour_density(air);
    transfer * drive * SECONDS_PER_DAY
}

/// Parameters of natural drying on a floor.
///
/// # Source
/// `bed` table; critical moisture assumed in `own_site.json`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DryingRates {
    /// Heat transfer from moving air, W/(m2 K).
    pub heat_transfer: f64,
    /// rho cp Le^(2/3), J/(m3 K).
    pub mass_transfer_divisor: f64,
    /// Latent heat of evaporation, J/kg.
    pub latent_heat: f64,
    /// Heat transfer to the layer from air, walls and floor together, W/(m2 K).
    pub warming: f64,
    /// Moisture below which the rate falls, kg water/kg wet.
    pub critical_moisture: f64,
}

impl DryingRates {
    /// Reads the rates by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            heat_transfer: get("bed.air_heat_transfer_coefficient"),
            mass_transfer_divisor: get("bed.mass_transfer_divisor"),
            latent_heat: get("bed.latent_heat_of_evaporation"),
            warming: get("bed.bed_heat_transfer_coefficient"),
            critical_moisture: get("site.drying_critical_moisture"),
        }
    }

    /// Temperature of an unheated wet surface: U (T_air - T) = L E(T). Newton from the air temperature; the balance is
    /// convex and rising in T, so the steps approach from above.
    ///
    /// # Units
    /// °C, relative humidity 0-1 to °C
    ///
    /// # Source
    /// Heat balance of a bed without heat of decay.
    pub fn surface_temperature(&self, air: f64, humidity: f64) -> f64 {
        let (_, b, c) = MAGNUS;
        let transfer = vapour_mass_transfer(self.heat_transfer, self.mass_transfer_divisor);
        let gain = self.latent_heat * transfer / self.warming;
        let outside = humidity.clamp(0.0, 1.0) * saturation_vapour_density(air);
        let mut t = air;
        for _ in 0..8 {
            let inside = saturation_vapour_density(t);
            let slope = inside * (b * c / ((c + t) * (c + t)) - 1.0 / (t + ZERO_CELSIUS));
            let step = (t - air + gain * (inside - outside)) / (1.0 + gain * slope);
            t -= step;
            if step.abs() < 1e-9 {
                break;
            }
        }
        t
    }

    /// Natural drying of a wet, unheated layer, kg/(m2 d); 0 in saturated air.
    pub fn constant_rate(&self, air: f64, humidity: f64) -> f64 {
        let transfer = vapour_mass_transfer(self.heat_transfer, self.mass_transfer_divisor);
        let humidity = humidity.clamp(0.0, 1.0);
        evaporation(transfer, self.surface_temperature(air, humidity), air, humidity).max(0.0)
    }

    /// Water at which the rate of a layer starts to fall, kg.
    fn critical_water(&self, dry: f64) -> f64 {
        dry * water_per_dry(self.critical_moisture)
    }

    /// Water left in a layer after some days at a constant rate of the whole layer (kg/d), then falling.
    ///
    /// # Units
    /// kg, kg, kg/d, d to kg
    ///
    /// # Source
    /// Constant-rate and linear falling-rate periods of drying, solved exactly.
    pub fn water_after(&self, water: f64, dry: f64, rate: f64, days: f64) -> f64 {
        let critical = self.critical_water(dry);
        if rate <= 0.0 || days <= 0.0 || water <= 0.0 {
            return water;
        }
        let constant = ((water - critical) / rate).max(0.0);
        if days <= constant {
            return water - rate * days;
        }
        if critical <= 0.0 {
            return 0.0;
        }
        water.min(critical) * (-rate * (days - constant) / critical).exp()
    }

    /// Days for a layer of mass `wet` to dry from one moisture to another on an area; infinite if it never does.
    ///
    /// # Units
    /// kg wet, kg/kg, kg/kg, kg/(m2 d), m2 to d
    ///
    /// # Source
    /// Inverse of [`DryingRates::water_after`].
    pub fn days_to_dry(&self, wet: f64, from: f64, to: f64, constant_rate: f64, area: f64) -> f64 {
        if from <= to || wet <= 0.0 {
            return 0.0;
        }
        let rate = constant_rate * area;
        if rate <= 0.0 || to <= 0.0 {
            return f64::INFINITY;
        }
        let dry = wet * (1.0 - from);
        let (start, end) = (wet * from, dry * water_per_dry(to));
        let critical = self.critical_water(dry);
        let steady = (start - critical.max(end)).max(0.0) / rate;
        let falling = if end < critical { critical / rate * (start.min(critical) / end).ln() } else { 0.0 };
        steady + falling
    }

    /// Floor area, m2, that dries a layer (kg wet) from one moisture to another in a number of days.
    pub fn area_to_dry(&self, wet: f64, from: f64, to: f64, constant_rate: f64, days: f64) -> f64 {
        self.days_to_dry(wet, from, to, constant_rate, 1.0) / days
    }
}

/// Water per dry matter at a moisture w (kg/kg wet), `w/(1 - w)`, kg/kg dry.
pub fn water_per_dry(moisture: f64) -> f64 {
    moisture / (1.0 - moisture)
}

/// Water to remove from a mass to bring its moisture down, m (w1 - w2)/(1 - w2); 0 if it is dry enough.
///
/// # Units
/// kg wet, kg/kg, kg/kg to kg
///
/// # Source
/// Mass balance on dry matter.
pub fn water_to_remove(wet: f64, from: f64, to: f64) -> f64 {
    (wet * (from - to) / (1.0 - to)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn central() -> DryingRates {
        // `bed` table; critical moisture own_site.json.
        DryingRates {
            heat_transfer: 3.0,
            mass_transfer_divisor: 1110.0,
            latent_heat: 2.45e6,
            warming: 8.0,
            critical_moisture: 0.5,
        }
    }

    #[test]
    fn the_surface_cools_until_heat_balances_evaporation() {
        let r = central();
        let t = r.surface_temperature(20.0, 0.6);
        let heat = r.warming * (20.0 - t);
        let spent = r.latent_heat * r.constant_rate(20.0, 0.6) / 86_400.0;
        assert!((heat - spent).abs() < 1e-6 * heat);
        assert!(r.constant_rate(20.0, 1.0).abs() < 1e-12);
    }

    #[test]
    fn eight_newton_steps_give_the_surface_temperature_to_rounding() {
        // a slope that is a tenth wrong leaves 1e-8 here
        let r = DryingRates { warming: 1.0, ..central() };
        let t = r.surface_temperature(45.0, 0.1);
        let heat = r.warming * (45.0 - t);
        let spent = r.latent_heat * r.constant_rate(45.0, 0.1) / 86_400.0;
        assert!((heat - spent).abs() < 1e-11 * heat, "{:e}", heat / spent - 1.0);
    }

    #[test]
    fn drying_time_and_water_left_are_inverse() {
        let r = central();
        for (from, to) in [(0.70, 0.55), (0.70, 0.45), (0.45, 0.20)] {
            let days = r.days_to_dry(100.0, from, to, 0.9, 4.0);
            let dry = 100.0 * (1.0 - from);
            let left = r.water_after(100.0 * from, dry, 0.9 * 4.0, days);
            assert!((left / (left + dry) - to).abs() < 1e-12);
            assert!((r.area_to_dry(100.0, from, to, 0.9, days) - 4.0).abs() < 1e-12);
        }
    }

    #[test]
    fn drying_times_by_hand() {
        // 100 kg on 4 m2 at 0.9 kg/(m2 d), 3.6 kg/d; critical at 50 %. 70 to 55 %: 70 to 36.67 kg water, 9.259 d. 45 to 20 %:
        // 55/3.6 ln(45/13.75) = 18.114 d. 70 to 45 %: 40/3.6 + 30/3.6 ln(30/24.545) = 12.783 d. Half of 55 % takes no time.
        let r = central();
        for (from, to, printed) in
            [(0.70, 0.55, 9.259), (0.45, 0.20, 18.114), (0.70, 0.45, 12.783), (0.5, 0.55, 0.0)]
        {
            let days = r.days_to_dry(100.0, from, to, 0.9, 4.0);
            assert!((days - printed).abs() < 5e-4, "{from} to {to}: {days}");
        }
        assert!((r.area_to_dry(100.0, 0.70, 0.55, 0.9, 9.259) - 4.0).abs() < 1e-3);
        assert!(r.days_to_dry(100.0, 0.7, 0.5, 0.0, 4.0).is_infinite(), "nothing dries in saturated air");
        assert!(r.days_to_dry(100.0, 0.7, 0.0, 0.9, 4.0).is_infinite(), "the last water never leaves");
    }

    #[test]
    fn the_rate_falls_below_the_critical_moisture_and_is_never_negative() {
        // critical at 60 %: 30 kg dry hold 45 kg; 60 kg at 5 kg/d reach that in 3 d, then 45 exp(-5 t / 45)
        let r = DryingRates { critical_moisture: 0.6, ..central() };
        assert!((r.water_after(60.0, 30.0, 5.0, 3.0) - 45.0).abs() < 1e-12);
        assert!((r.water_after(60.0, 30.0, 5.0, 12.0) - 45.0 * (-1.0_f64).exp()).abs() < 1e-12);
        for (rate, days) in [(-1.0, 5.0), (5.0, -1.0), (0.0, 5.0)] {
            for water in [60.0, 40.0, 0.0] {
                assert_eq!(r.water_after(water, 30.0, rate, days).to_bits(), f64::to_bits(water));
            }
        }
        assert!(r.days_to_dry(100.0, 0.45, 0.2, 0.0, 4.0).is_infinite(), "from below the critical moisture");
        assert!(
            r.days_to_dry(0.0, 0.7, 0.5, 0.0, 4.0) == 0.0,
            "where there is nothing there is nothing to dry"
        );
    }

    #[test]
    fn splitting_a_drying_time_changes_nothing() {
        let r = central();
        let whole = r.water_after(70.0, 30.0, 5.0, 12.0);
        let half = r.water_after(r.water_after(70.0, 30.0, 5.0, 5.0), 30.0, 5.0, 7.0);
        assert!((whole - half).abs() < 1e-12);
    }
}
