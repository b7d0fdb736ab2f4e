//! Physical constants, each written once.

/// Gas constant, J/(mol K). Source: CODATA 2018, exact.
pub const GAS_CONSTANT: f64 = 8.314_462_618;

/// Pressure of the standard atmosphere, Pa. Source: definition.
pub const ATMOSPHERE: f64 = 101_325.0;

/// 0 °C in kelvin. Source: definition.
pub const ZERO_CELSIUS: f64 = 273.15;

/// Density of water, kg/m3. Source: convention, as in the porosity of Haug 1993.
pub const WATER_DENSITY: f64 = 1000.0;

/// Seconds in a day.
pub const SECONDS_PER_DAY: f64 = 86_400.0;
