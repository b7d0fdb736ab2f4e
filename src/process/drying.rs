//! Water vapour: saturation, mass transfer from a wet surface.

/// Saturation vapour density of air. # Units: °C -> kg/m3
pub fn saturation_vapour_density(temperature: f64) -> f64 {
    611.2 * (17.62 * temperature / (243.12 + temperature)).exp() / (461.5 * (temperature + 273.15))
}
