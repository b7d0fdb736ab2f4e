//! Gas and vapour: solubility, limits in air, saturated vapour, wet surfaces.

use super::{Case, central};
use crate::matter::Gas;
use crate::process::drying::{self, DryingRates};
use crate::process::fermentation::gas::{GasRates, molar_volume};
use crate::quantity::constant::ATMOSPHERE;

pub(super) fn cases() -> Vec<Case> {
    [carbon_dioxide(), vapour_pressure(), vapour_density(), wet_bulb()].concat()
}

fn carbon_dioxide() -> Vec<Case> {
    let rates = GasRates::from_values(&central);
    let limit = rates.limit_average * Gas::CarbonDioxide.molar_mass() * 1e6 / molar_volume(25.0);
    vec![
        Case::of(
            "gas.carbon_dioxide_solubility",
            "sander_2023",
            "water at 25 °C; published as 3.3e-4 to 3.4e-4 mol/(m3 Pa)",
        )
        .printed(0.0340, 4, "mol/(L atm)")
        .within(0.0006, "scatter of the published determinations")
        .ours(rates.solubility(25.0) * ATMOSPHERE / 1000.0),
        Case::of("gas.carbon_dioxide_limit", "niosh_idlh_1994", "5,000 ppm at 25 °C and one atmosphere")
            .printed(9000.0, -3, "mg/m3")
            .within(10.0, "published with a molar volume of 24.45 L; 24.465 L gives 8,994")
            .ours(limit),
    ]
}

/// °C, keys, g/m3 and mbar.
type Vapour = (f64, &'static str, &'static str, f64, f64);

/// Saturated vapour over water, 62nd edition (1981), as reprinted by a university.
const VAPOUR: [Vapour; 9] = [
    (34.0, "gas.vapour_density_34_celsius", "gas.vapour_pressure_34_celsius", 37.66, 53.26),
    (30.0, "gas.vapour_density_30_celsius", "gas.vapour_pressure_30_celsius", 30.43, 42.48),
    (26.0, "gas.vapour_density_26_celsius", "gas.vapour_pressure_26_celsius", 24.43, 33.65),
    (22.0, "gas.vapour_density_22_celsius", "gas.vapour_pressure_22_celsius", 19.46, 26.45),
    (20.0, "gas.vapour_density_20_celsius", "gas.vapour_pressure_20_celsius", 17.33, 23.40),
    (16.0, "gas.vapour_density_16_celsius", "gas.vapour_pressure_16_celsius", 13.66, 18.19),
    (10.0, "gas.vapour_density_10_celsius", "gas.vapour_pressure_10_celsius", 9.42, 12.28),
    (4.0, "gas.vapour_density_4_celsius", "gas.vapour_pressure_4_celsius", 6.37, 8.13),
    (0.0, "gas.vapour_density_0_celsius", "gas.vapour_pressure_0_celsius", 4.86, 6.11),
];

fn vapour_pressure() -> Vec<Case> {
    VAPOUR
        .map(|(celsius, _, key, _, printed)| {
            Case::of(key, "crc_handbook_1981", "air saturated over water")
                .printed(printed, 2, "mbar")
                .within(0.0035 * printed, "the Magnus formula is accurate to a third of a per cent")
                .ours(drying::saturation_vapour_pressure(celsius) / 100.0)
        })
        .into()
}

fn vapour_density() -> Vec<Case> {
    VAPOUR
        .map(|(celsius, key, _, printed, _)| {
            Case::of(key, "crc_handbook_1981", "air saturated over water")
                .printed(printed, 2, "g/m3")
                .within(0.006 * printed, "the ideal gas law is 0.25 % off at 34 °C, in addition to the error of the Magnus formula")
                .ours(1000.0 * drying::saturation_vapour_density(celsius))
        })
        .into()
}

fn wet_bulb() -> Vec<Case> {
    // heat from the air only, as in a psychrometer
    let rates = DryingRates::from_values(&central);
    let alone = DryingRates { warming: rates.heat_transfer, ..rates };
    let of = |key, inputs, humidity, printed| {
        Case::of(key, "recalled", inputs)
            .printed(printed, 1, "°C")
            .within(0.5, "the analogy of heat and vapour transfer is accurate to half a degree")
            .ours(alone.surface_temperature(20.0, humidity))
    };
    vec![
        of("gas.wet_bulb_60_percent", "air of 20 °C and 60 %; psychrometric tables", 0.6, 15.2),
        of("gas.wet_bulb_50_percent", "air of 20 °C and 50 %; psychrometric tables", 0.5, 13.8),
    ]
}
