//! pH under a closed lid, where carbon dioxide and bicarbonate are one stock.
//!
//! ```text
//! n = p (Vg/(R T) + H Vl) + W [HCO3-](p, pH)          pH from the charge balance at the carbon dioxide pressure p
//! ```
//!
//! In an acid drum bicarbonate is nothing, and p follows from the gas alone. In a spoiled one ammonia and bicarbonate hold each
//! other: the pressure falls as bicarbonate takes carbon dioxide up, and the bicarbonate keeps the pH down. Both are found together.
//! The pressure counts as one atmosphere at least: what decays under a lid fills it with carbon dioxide, and that of decaying protein
//! is not booked.

use crate::matter::Material;
use crate::matter::lane::{Lane, Mask};
use crate::process::acidity::{AcidPowers, Acidity};
use crate::quantity::constant::ATMOSPHERE;

/// Carbon dioxide that is nothing beside all that is held, mol/mol. Source: our choice; it moves no pH by 0.001.
const NOTHING: f64 = 1e-3;
/// Gap of the carbon dioxide at which the search ends, mol/mol. Source: our choice.
const CLOSE: f64 = 1e-6;

/// Least pressure of carbon dioxide under the lid, atm. Source: our choice; the gas of a fermenting drum is hardly anything else.
const LEAST: f64 = 1.0;

/// A closed drum, or one in each lane.
#[derive(Debug, Clone, Copy)]
pub struct ClosedDrum<'a, L = f64> {
    /// Acids at its temperature and 1 atm of carbon dioxide.
    pub powers: &'a AcidPowers,
    /// Carbon dioxide held as gas, dissolved and as bicarbonate, mol.
    pub carbon_dioxide: L,
    /// Of that as gas and dissolved, mol/Pa.
    pub per_pressure: L,
}

impl<L: Lane> ClosedDrum<'_, L> {
    /// Acidity of its matter; `guess` is one near it.
    ///
    /// The pressure is first that of the bicarbonate at the guess, which in a drum that has hardly changed is right.
    #[inline(always)]
    pub fn acidity(&self, matter: &Material<L>, guess: Acidity<L>) -> Acidity<L> {
        let least = L::from(LEAST);
        let pressure = (self.carbon_dioxide / self.per_atmosphere(matter, guess)).max(least);
        let acidity = self.powers.at_pressure(pressure).acidity(matter, guess);
        let gap = pressure * self.per_atmosphere(matter, acidity) - self.carbon_dioxide;
        let at_least = !least.lt(pressure) & !gap.lt(L::ZERO);
        let found = at_least | gap.abs().lt(self.carbon_dioxide * NOTHING);
        if found.all() {
            return acidity;
        }
        // copies, so that the originals need not lie in memory
        Self { ..*self }.searched_where(!found, *matter, acidity)
    }

    /// The acidity in the lanes of a mask by search, in the others as guessed.
    #[inline(never)]
    fn searched_where(self, mask: L::Mask, matter: Material<L>, guess: Acidity<L>) -> Acidity<L> {
        Acidity::gather(|place| {
            if !mask.lane(place) {
                return guess.lane(place);
            }
            let mut own = Material::zero();
            matter.put(place, &mut own);
            let drum = ClosedDrum {
                powers: self.powers,
                carbon_dioxide: self.carbon_dioxide.lane(place),
                per_pressure: self.per_pressure.lane(place),
            };
            drum.searched(&own, guess.lane(place))
        })
    }

    /// Carbon dioxide that an atmosphere of pressure asks for at an acidity, mol.
    #[inline(always)]
    fn per_atmosphere(&self, matter: &Material<L>, at: Acidity<L>) -> L {
        self.per_pressure * ATMOSPHERE + self.powers.bicarbonate(matter.water(), at)
    }
}

impl ClosedDrum<'_> {
    /// Acidity and pressure found together.
    fn searched(&self, matter: &Material, guess: Acidity) -> Acidity {
        let at = |pressure: f64, guess| self.powers.at_pressure(pressure).acidity(matter, guess);
        // carbon dioxide that a pressure asks for, beyond what there is
        let excess =
            |pressure: f64, acidity| pressure * self.per_atmosphere(matter, acidity) - self.carbon_dioxide;
        let mut acidity = at(LEAST, guess);
        let (mut low, mut at_low) = (LEAST, excess(LEAST, acidity));
        if at_low >= 0.0 {
            return acidity;
        }
        // all of it as gas and dissolved
        let mut high = self.carbon_dioxide / (self.per_pressure * ATMOSPHERE);
        acidity = at(high, acidity);
        let mut at_high = excess(high, acidity);
        // false position; the value at an end that stays is halved (Illinois)
        let mut rose = None;
        for _ in 0..80 {
            let pressure = (low * at_high - high * at_low) / (at_high - at_low);
            acidity = at(pressure, acidity);
            let gap = excess(pressure, acidity);
            if gap.abs() <= CLOSE * self.carbon_dioxide {
                break;
            }
            if gap > 0.0 {
                (high, at_high) = (pressure, gap);
                at_low *= if rose == Some(false) { 0.5 } else { 1.0 };
                rose = Some(false);
            } else {
                (low, at_low) = (pressure, gap);
                at_high *= if rose == Some(true) { 0.5 } else { 1.0 };
                rose = Some(true);
            }
        }
        acidity
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matter::Component;
    use crate::process::acidity::{AcidConstants, Surrounds};

    /// A litre of water with ammonia (mol) and a buffer, closed with carbon dioxide (mol) and a litre of gas at 20 °C.
    fn closed(ammonia: f64, carbon_dioxide: f64) -> (f64, f64) {
        let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
        let k = AcidConstants::from_values(&get);
        let powers = AcidPowers::at(&k, &Surrounds::acid_store(20.0));
        let mut m = Material::of(Component::Water, 1.0)
            + Material::of(Component::Ammonia, ammonia * Component::Ammonia.molar_mass());
        *m.buffer_mut() = 0.01;
        // 1 L of gas and 1 L of water: 0.0416 + 0.0382 mol/atm
        let per_atmosphere = 0.001 / (8.314_462_618 * 293.15) * ATMOSPHERE + 0.0382;
        let drum = ClosedDrum { powers: &powers, carbon_dioxide, per_pressure: per_atmosphere / ATMOSPHERE };
        let acidity = drum.acidity(&m, Acidity::of(7.0));
        // the pressure that belongs to this pH, and the charges at it
        let pressure = (carbon_dioxide / (per_atmosphere + powers.bicarbonate(1.0, acidity))).max(1.0);
        let gap = powers.at_pressure(pressure).base_for(&m, acidity.ph);
        (acidity.ph, gap)
    }

    #[test]
    fn ammonia_and_bicarbonate_hold_each_other() {
        // by hand: nearly all of a tenth of a mole of ammonia becomes bicarbonate of ammonium. At 1 atm, the least, the pH is
        // 6.35 + log(0.1/0.038); a mole of carbon dioxide leaves 0.9 of it in 0.08 mol/atm, 11 atm: 6.35 + log(0.1/(0.038 x 11))
        let (least, gap) = closed(0.1, 0.0);
        assert!((least - 6.77).abs() < 0.1 && gap.abs() < 1e-6, "{least} {gap}");
        assert_eq!(closed(0.1, 0.15).0.to_bits(), least.to_bits());
        let (filled, gap) = closed(0.1, 1.0);
        assert!((filled - 5.75).abs() < 0.1 && gap.abs() < 1e-5, "{filled} {gap}");
        let mut last = least;
        for carbon_dioxide in [0.2, 0.3, 0.5, 1.0] {
            let (ph, gap) = closed(0.1, carbon_dioxide);
            assert!(ph < last && gap.abs() < 1e-5, "{carbon_dioxide}: {ph} {last} {gap}");
            last = ph;
        }
    }
}
