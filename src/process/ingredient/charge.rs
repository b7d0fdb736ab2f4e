//! Native acids, the linear buffer and the calcium of an ingredient.
//!
//! Food is acid because of organic acids, which burn off later in a bed. Anions of organic acids make 68 to 80 % of the
//! buffering capacity of forages, plant protein 10 to 20 % (Playne and McDonald 1966, from memory), so a share of the
//! buffering capacity is booked as acid that can burn off, and only the rest as a permanent buffer. Calcium takes no part in the
//! buffering capacity: it is in solution above pH 6.

use crate::matter::Component;
use crate::process::acidity::{AcidConstants, dissociated};

/// Ends of the titration that defines the buffering capacity.
const TITRATION: (f64, f64) = (4.0, 6.0);
/// Milliequivalents per equivalent.
const MILLI: f64 = 1000.0;

/// Native acid and linear buffer per kilogram of dry mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NativeCharge {
    /// Native acid, booked as acetic acid, kg/kg dry mass.
    pub acid: f64,
    /// Acid by the share alone, before the cap, kg/kg dry mass.
    pub wanted_acid: f64,
    /// Slope of the linear buffer, humus included, eq per pH unit and kg dry mass.
    pub buffer: f64,
}

impl NativeCharge {
    /// Splits a buffering capacity (mEq/kg dry mass between pH 6 and 4) so that acid and buffer together titrate to it:
    ///
    /// ```text
    /// BC/1000 = n_acid (f(6) - f(4)) + 2 B,   n_acid (f(6) - f(4)) = share BC/1000 unless capped at most_acid
    /// ```
    pub fn of(buffering_capacity: f64, share: f64, most_acid: f64, acids: &AcidConstants) -> Self {
        let per_kilogram = charge_per_acid(acids);
        let whole = buffering_capacity / MILLI;
        let wanted_acid = share * whole / per_kilogram;
        let acid = wanted_acid.min(most_acid.max(0.0));
        let span = TITRATION.1 - TITRATION.0;
        Self { acid, wanted_acid, buffer: (whole - acid * per_kilogram) / span }
    }

    /// Slope of the linear buffer beside so much humus (kg/kg dry mass), whose own buffer the charge balance adds; at least 0.
    pub fn buffer_beside(&self, humus: f64, acids: &AcidConstants) -> f64 {
        (self.buffer - humus * acids.humus_buffer).max(0.0)
    }
}

/// Calcium that takes part in the charge balance, eq.
///
/// The stated pH already counts what is dissolved, and that cannot be more than the net cations at this pH, beside some `anions`
/// of strong acids. What goes beyond lies in bone, shell and oxalate and takes no part. In a dry or neutral material carbonate
/// stays solid, and all of it counts:
///
/// ```text
/// C most/(C + most) <= max(net, 0) + anions      most: what calcite lets into the water of the material
/// ```
pub(super) fn calcium_taking_part(stated: f64, most: f64, net: f64, anions: f64) -> f64 {
    let room = net.max(0.0) + anions;
    if most <= room { stated } else { stated.min(room * most / (most - room)) }
}

/// Charge that a kilogram of acetic acid takes up between pH 6 and 4, eq/kg.
fn charge_per_acid(acids: &AcidConstants) -> f64 {
    let (low, high) = TITRATION;
    (dissociated(acids.acetic, high) - dissociated(acids.acetic, low)) / Component::Acetic.molar_mass()
}
