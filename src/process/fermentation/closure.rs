//! End point of a fermentation: sugar used up, too much undissociated lactic acid, or the lowest pH.

use crate::matter::lane::{self, Four, Lane};
use crate::matter::{Component, Material};
use crate::process::acidity::{AcidPowers, Acidity, Charges};

/// Limits of lactic bacteria.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndPointLimits {
    /// Undissociated lactic acid, mol per litre of the water in the mass.
    pub undissociated_lactic: f64,
    /// Lowest pH.
    pub minimum_ph: f64,
}

impl EndPointLimits {
    /// Reads the limits by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            undissociated_lactic: get("fermentation.undissociated_lactic_stopping_production"),
            minimum_ph: get("fermentation.minimum_ph"),
        }
    }
}

/// The limit met first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StoppedBy {
    /// No fermentable sugar left.
    Sugar,
    /// Undissociated lactic acid.
    UndissociatedLactic,
    /// Lowest pH.
    MinimumPh,
}

/// End point of a fermentation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndPoint {
    /// Extent reached, in the unit of the reaction (kilograms of sugar fermented).
    pub extent: f64,
    /// The limit that stopped it.
    pub limit: StoppedBy,
    /// pH at the end.
    pub ph: f64,
}

/// Extent at which a reaction brings matter to a stated pH; infinity if it cannot.
///
/// The charge balance is linear in the matter, so at a fixed pH the extent needs no iteration; only the dissolved part of calcium is
/// not, and it is taken as that of the matter before.
///
/// # Units
/// that of the reaction `per_extent` (change per unit of extent)
pub fn extent_to_ph(matter: &Material, per_extent: &Material, powers: &AcidPowers, ph: f64) -> f64 {
    let at = Acidity::of(ph);
    extent_to(-Charges::of(matter, powers).missing(at), Charges::of(per_extent, powers).missing(at))
}

/// The same from the charges missing in the matter and those its change makes, eq.
fn extent_to(missing: f64, made: f64) -> f64 {
    if missing <= 0.0 {
        0.0
    } else if made <= 0.0 {
        f64::INFINITY
    } else {
        missing / made
    }
}

/// Extent at which acid stops the bacteria, with unlimited sugar; infinity if the reaction makes no acid.
fn acid_limit(
    matter: &Material,
    per_extent: &Material,
    limits: &EndPointLimits,
    powers: &AcidPowers,
    guess: Acidity,
) -> (f64, StoppedBy) {
    let high = powers.acidity(matter, guess);
    if high.ph <= limits.minimum_ph {
        return (0.0, StoppedBy::MinimumPh);
    }
    lane::in_wide_registers(
        #[inline(always)]
        || {
            let both = Material::<Four>::gather(|place| [matter, per_extent][place % 2]);
            let powers_beside = powers.at_pressure(Four::ONE);
            let charges = Charges::of(&both, &powers_beside);
            Stop { matter, per_extent, limits, powers, charges }.search(high.ph)
        },
    )
}

/// Undissociated acid once acid has brought the matter to a pH.
struct Stop<'a> {
    matter: &'a Material,
    per_extent: &'a Material,
    limits: &'a EndPointLimits,
    powers: &'a AcidPowers,
    /// Of the matter and its change, twice side by side.
    charges: Charges<'a, Four>,
}

impl Stop<'_> {
    /// Extents that bring the matter to two acidities.
    #[inline(always)]
    fn extents(&self, at: [Acidity; 2]) -> [f64; 2] {
        let missing = self.charges.missing(Acidity::gather(|place| at[place / 2]));
        [0, 2].map(|first| extent_to(-missing.lane(first), missing.lane(first + 1)))
    }

    /// Logarithm of undissociated acid over its limit at an acidity, reached at an extent; it falls with pH, nearly in a straight line.
    fn excess(&self, at: Acidity, extent: f64) -> f64 {
        let (least, most) = (-7.0, 7.0);
        let reached = |c: Component| self.matter[c] + self.per_extent[c] * extent;
        // without water the acid is as strong as possible
        if extent.is_infinite() || reached(Component::Water) <= 0.0 {
            return most;
        }
        let water = reached(Component::Water);
        let lactic = reached(Component::Lactic) / Component::Lactic.molar_mass();
        let share = self.powers.undissociated(lactic / water, at) / self.limits.undissociated_lactic;
        share.ln().max(least).min(most)
    }

    /// The limit met first on the way down from a pH to the lowest.
    #[inline(always)]
    fn search(&self, mut high: f64) -> (f64, StoppedBy) {
        let mut low = self.limits.minimum_ph;
        let ends = [Acidity::of(high), Acidity::of(low)];
        let [extent_high, extent_low] = self.extents(ends);
        let mut at_high = self.excess(ends[0], extent_high);
        if at_high >= 0.0 {
            return (0.0, StoppedBy::UndissociatedLactic);
        }
        let mut at_low = self.excess(ends[1], extent_low);
        if at_low <= 0.0 {
            return (extent_low, StoppedBy::MinimumPh);
        }
        // false position; if the same end moves twice, the value at the other is reduced (Anderson and Björck 1973, recalled)
        let stale = |value: f64, replaced: f64| {
            let kept = 1.0 - value / replaced;
            if kept > 0.0 { kept } else { 0.5 }
        };
        let (mut moved, mut extent) = (0.0, extent_low);
        for _ in 0..80 {
            let ph = (low * at_high - high * at_low) / (at_high - at_low);
            let at = Acidity::of(ph);
            [extent, _] = self.extents([at; 2]);
            let value = self.excess(at, extent);
            if value.abs() < 1e-10 || high - low < 1e-11 {
                break;
            }
            let again = value * moved > 0.0;
            if value > 0.0 {
                at_high *= if again { stale(value, at_low) } else { 1.0 };
                (low, at_low) = (ph, value);
            } else {
                at_low *= if again { stale(value, at_high) } else { 1.0 };
                (high, at_high) = (ph, value);
            }
            moved = value;
        }
        (extent, StoppedBy::UndissociatedLactic)
    }
}

/// Extent, in the unit of `per_extent`, at which acid ends the fermentation; `guess` is an acidity near that of the matter.
pub fn acid_extent(
    matter: &Material,
    per_extent: &Material,
    limits: &EndPointLimits,
    powers: &AcidPowers,
    guess: Acidity,
) -> f64 {
    acid_limit(matter, per_extent, limits, powers, guess).0
}

/// End point of a fermentation: the first of the sugar limit `most`, undissociated lactic acid and the lowest pH.
///
/// Works for any acid-forming reaction: `per_extent` is the change of the matter per unit of extent, and its acid must grow
/// with extent at every pH. `matter` must hold all ammonia that the batch will release.
///
/// # Units
/// extent as `per_extent`: kilograms of sugar fermented
///
/// # Source
/// Limits: passos_1993 (lowest pH), amrane_prigent_1999 (undissociated acid); that the first one met ends it is a
/// `modelling_choice`.
pub fn end_point(
    matter: &Material,
    per_extent: &Material,
    most: f64,
    limits: &EndPointLimits,
    powers: &AcidPowers,
) -> EndPoint {
    let (acid, limit) = acid_limit(matter, per_extent, limits, powers, Acidity::of(5.0));
    let (extent, limit) =
        if most.max(0.0) <= acid { (most.max(0.0), StoppedBy::Sugar) } else { (acid, limit) };
    let ph = powers.ph(&(*matter + *per_extent * extent), 4.0);
    EndPoint { extent, limit, ph }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::process::acidity::{AcidConstants, Surrounds};

    #[test]
    fn acid_stops_bacteria_before_water_runs_out() {
        // a kilogram of sugars turns into 1.11 kg of acid and binds 0.11 kg of water; there is 10 g of water, and the buffer is so strong
        // that the lowest pH would need more acid than that
        let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
        let powers = AcidPowers::at(&AcidConstants::from_values(&get), &Surrounds::acid_store(20.0));
        let mut dry = Material::of(Component::Water, 0.01) + Material::of(Component::Fibre, 1.0);
        *dry.buffer_mut() = 5.0;
        let mut change = Material::of(Component::Lactic, 1.11) - Material::of(Component::Water, 0.11);
        change[Component::Sugars] = -1.0;
        let limits = EndPointLimits { undissociated_lactic: 0.1, minimum_ph: 3.0 };
        assert!(extent_to_ph(&dry, &change, &powers, 3.0) > 0.01 / 0.11, "the lowest pH is out of reach");
        let (extent, limit) = acid_limit(&dry, &change, &limits, &powers, Acidity::of(5.0));
        assert_eq!(limit, StoppedBy::UndissociatedLactic);
        assert!((0.0..0.01 / 0.11).contains(&extent), "{extent}");
    }
}
