//! pH by one charge balance, for drums, paste, beds and products alike.
//!
//! ```text
//! b + n_NH4(pH) + W 10^-pH = sum_i n_i f_i(pH) + n_NO3 + B (pH - 7) + W ([HCO3-] + 10^(pH-14))
//! ```
//!
//! n in mol, W water in kg taken as litres, i = lactic, acetic, butyric acid, f_i = 1/(1 + 10^(pKa_i - pH)). The charge
//! entries b (*base*) and B (*buffer*) are conserved, so acids form, blend and burn off, ammonia appears, nitrate forms,
//! and pH follows. Bicarbonate stands in equilibrium with the carbon dioxide of the pores; it is negligible below pH 5 and
//! keeps an aerated bed from drifting above about pH 8.5. Its carbon is not booked (below 1 g per kg dry matter).

use crate::component::Component;
use crate::material::Material;
use crate::material::ratio;

/// Acid constants. # Units: pKa; mol/(L atm) # Source: fermentation and bed tables.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidConstants {
    /// Lactic acid.
    pub lactic: f64,
    /// Acetic acid.
    pub acetic: f64,
    /// Butyric acid.
    pub butyric: f64,
    /// pKa of ammonium = constant + slope / T(K).
    pub ammonium_constant: f64,
    /// See `ammonium_constant`. # Units: K
    pub ammonium_slope: f64,
    /// First constant of carbonic acid.
    pub carbonic: f64,
    /// Dissolved CO2 per pressure at 20 °C. # Units: mol/(L atm)
    pub carbon_dioxide_solubility: f64,
}

impl AcidConstants {
    /// Reads the constants by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            lactic: get("fermentation.lactic_acid_dissociation_constant"),
            acetic: get("fermentation.acetic_acid_dissociation_constant"),
            butyric: get("fermentation.butyric_acid_dissociation_constant"),
            ammonium_constant: get("bed.ammonium_pka_constant"),
            ammonium_slope: get("bed.ammonium_pka_slope"),
            carbonic: get("bed.carbonic_acid_pka"),
            carbon_dioxide_solubility: get("bed.carbon_dioxide_solubility"),
        }
    }

    /// pKa of ammonium, constant + slope / (T + 273.15). # Units: °C to pKa # Source: emerson_1975
    pub fn ammonium(&self, temperature: f64) -> f64 {
        self.ammonium_constant + self.ammonium_slope / (temperature + 273.15)
    }
}

/// What besides the material sets its pH.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surrounds {
    /// Temperature. # Units: °C
    pub temperature: f64,
    /// Carbon dioxide pressure in the pores; 0 leaves bicarbonate out. # Units: atm
    pub carbon_dioxide: f64,
}

impl Surrounds {
    /// A closed, acid store, where bicarbonate is negligible. # Units: °C
    pub fn acid_store(temperature: f64) -> Self {
        Self { temperature, carbon_dioxide: 0.0 }
    }
}

/// The constants at one temperature, ready for use: worked out once and shared by all that stands at it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidPowers {
    /// One over the dissociation constants of lactic, acetic and butyric acid. # Units: L/mol
    acids: [f64; 3],
    /// Dissociation constant of ammonium. # Units: mol/L
    ammonium: f64,
    /// Bicarbonate at pH 0. # Units: mol/L
    carbonate: f64,
}

impl AcidPowers {
    /// The constants for matter in such surrounds.
    pub fn at(k: &AcidConstants, at: &Surrounds) -> Self {
        Self {
            acids: [exp10(k.lactic), exp10(k.acetic), exp10(k.butyric)],
            ammonium: exp10(-k.ammonium(at.temperature)),
            carbonate: k.carbon_dioxide_solubility * at.carbon_dioxide * exp10(-k.carbonic),
        }
    }

    /// The same surrounds at another temperature; only ammonium moves with it. # Units: °C
    #[must_use]
    pub fn moved_to(self, temperature: f64, k: &AcidConstants) -> Self {
        Self { ammonium: exp10(-k.ammonium(temperature)), ..self }
    }

    /// Undissociated lactic acid in the water of a material, n (1 - f)/W. # Units: mol/L
    pub fn undissociated_lactic(&self, m: &Material, ph: f64) -> f64 {
        self.undissociated(ratio(m.moles(Component::Lactic), m.water()), Acidity::of(ph))
    }

    /// The undissociated part of lactic acid, both in mol/L.
    pub(super) fn undissociated(&self, lactic: f64, at: Acidity) -> f64 {
        let bound = self.acids[0] * at.hydrogen;
        lactic * bound / (1.0 + bound)
    }

    /// Free ammonia as a share of all ammoniacal nitrogen, K/(K + [H+]). # Units: mol/mol # Source: emerson_1975
    pub fn free_ammonia_share(&self, at: &Acidity) -> f64 {
        self.ammonium / (self.ammonium + at.hydrogen)
    }

    /// pH of a material, as [`ph`] finds it, with its hydrogen ions; the guess is best what it was at the last look.
    pub fn acidity(&self, m: &Material, guess: Acidity) -> Acidity {
        let [one] = self.acidities([(m, guess)]);
        one
    }

    /// The same of several materials with their guesses, which takes less time than one after the other.
    pub fn acidities<const N: usize>(&self, each: [(&Material, Acidity); N]) -> [Acidity; N] {
        Search::run(each.map(|(m, guess)| Search::new(Charges::of(m, self), guess)))
    }

    /// pH of a material, as [`ph`] finds it.
    pub fn ph(&self, m: &Material, guess: f64) -> f64 {
        self.acidity(m, Acidity::of(guess)).ph
    }

    /// The base entry that gives a material a stated pH: the balance solved for b. # Units: eq
    pub fn base_for(&self, m: &Material, ph: f64) -> f64 {
        self.base_at(m, Acidity::of(ph))
    }

    /// The base entry that makes a material as acid as stated. # Units: eq
    pub fn base_at(&self, m: &Material, at: Acidity) -> f64 {
        let charges = Charges::of(m, self);
        charges.base + charges.missing(at)
    }
}

/// How acid a material is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acidity {
    /// pH.
    pub ph: f64,
    /// Hydrogen ions, 10^-pH. # Units: mol/L
    pub hydrogen: f64,
}

impl Acidity {
    /// The acidity at a pH.
    pub fn of(ph: f64) -> Self {
        Self { ph, hydrogen: exp10(-ph) }
    }
}

/// The amounts that enter the balance; they are as linear as the material is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Charges<'a> {
    k: &'a AcidPowers,
    water: f64,
    acids: [f64; 3],
    ammonia: f64,
    nitrate: f64,
    base: f64,
    buffer: f64,
}

impl<'a> Charges<'a> {
    pub(super) fn of(m: &Material, k: &'a AcidPowers) -> Self {
        Self {
            k,
            water: m.water(),
            acids: [m.moles(Component::Lactic), m.moles(Component::Acetic), m.moles(Component::Butyric)],
            ammonia: m.moles(Component::Ammonia),
            nitrate: m.moles(Component::Nitrate),
            base: m.base(),
            buffer: m.buffer(),
        }
    }

    /// The base entry that is missing for the balance at an acidity. # Units: eq
    #[inline]
    pub(super) fn missing(&self, at: Acidity) -> f64 {
        self.excess(at.ph, at.hydrogen).value
    }

    /// Anions less cations at a hydrogen ion concentration of `h` mol/L, which is pH `ph`; they rise with pH.
    #[inline]
    fn excess(&self, ph: f64, h: f64) -> Excess {
        let ln10 = std::f64::consts::LN_10;
        // an acid of dissociated share f adds n f; its slopes over ln 10 are n f (1 - f), that times 1 - 2 f, and so on
        let [mut held, mut slope, mut bend, mut twist] = [0.0; 4];
        let mut add = |n: f64, f: f64| {
            let both = f * (1.0 - f);
            let bent = n * both;
            held += n * f;
            slope += bent;
            bend += bent * (1.0 - 2.0 * f);
            twist += bent * (1.0 - 6.0 * both);
        };
        for (n, inverse) in self.acids.iter().zip(self.k.acids) {
            add(*n, 1.0 / (1.0 + inverse * h));
        }
        // what ammonia does not bind it leaves as a charge: minus all of it, plus its free share
        add(self.ammonia, self.k.ammonium / (h + self.k.ammonium));
        let acid = self.water * h;
        let alkaline = self.water * (self.k.carbonate + 1e-14) / h;
        let (both, less) = (alkaline + acid, alkaline - acid);
        Excess {
            value: (self.nitrate - self.base - self.ammonia + self.buffer * (ph - 7.0)) + held + less,
            slope: self.buffer + (slope + both) * ln10,
            bend: (bend + less) * (ln10 * ln10),
            twist: (twist + both) * (ln10 * ln10 * ln10),
        }
    }
}

/// The search for the pH at which charges balance.
struct Search<'a> {
    charges: Charges<'a>,
    /// The balance lies between these.
    low: f64,
    high: f64,
    at: Acidity,
    /// Lengths of the last step and of the one before: steps that do not shrink run in a circle around a bend of the balance.
    last: f64,
    before: f64,
    found: bool,
}

impl<'a> Search<'a> {
    fn new(charges: Charges<'a>, guess: Acidity) -> Self {
        let (low, high) = (0.0, 14.0);
        let inside = (low..=high).contains(&guess.ph);
        let at = if inside { guess } else { Acidity::of(guess.ph.clamp(low, high)) };
        Self { charges, low, high, at, last: high - low, before: high - low, found: false }
    }

    #[inline]
    fn step(&mut self) {
        let Acidity { ph, hydrogen } = self.at;
        let excess = self.charges.excess(ph, hydrogen);
        if excess.value > 0.0 {
            self.high = ph;
        } else if excess.value < 0.0 {
            self.low = ph;
        } else {
            self.found = true;
            return;
        }
        let step = excess.step();
        let next = ph + step;
        let shrinks = step.abs() <= 0.5 * self.before;
        let inside = excess.slope > 0.0 && next > self.low && next < self.high && shrinks;
        if inside && step.abs() < CLOSE {
            self.at = Acidity { ph: next, hydrogen: hydrogen * exp10_near_zero(-step) };
            self.found = true;
            return;
        }
        let next = if inside { next } else { 0.5 * (self.low + self.high) };
        (self.before, self.last) = (self.last, (next - ph).abs());
        self.at = Acidity::of(next);
    }

    /// Runs searches in step with one another: each waits long for its own numbers, and the processor fills that time with
    /// those of the others.
    #[inline]
    fn run<const N: usize>(mut searches: [Self; N]) -> [Acidity; N] {
        for _ in 0..80 {
            for search in &mut searches {
                if !search.found {
                    search.step();
                }
            }
            if searches.iter().all(|search| search.found) {
                break;
            }
        }
        searches.map(|search| search.at)
    }
}

/// A step of the solver after which it is done: the error left is about its fourth power, 1e-8 pH.
const CLOSE: f64 = 1e-2;

/// The balance of charge and its slopes by pH.
struct Excess {
    value: f64,
    slope: f64,
    bend: f64,
    twist: f64,
}

impl Excess {
    /// Householder's step of fourth order to where the value is zero.
    fn step(&self) -> f64 {
        let inverse = 1.0 / self.slope;
        let newton = self.value * inverse;
        let bend = newton * self.bend * inverse;
        let twist = newton * newton * self.twist * inverse;
        -newton * (1.0 - 0.5 * bend) / (1.0 - bend + twist * (1.0 / 6.0))
    }
}

/// 10 to the power x.
fn exp10(x: f64) -> f64 {
    (x * std::f64::consts::LN_10).exp()
}

/// 10 to the power x for x between -[`CLOSE`] and [`CLOSE`]: a series, whose rest is below 1e-15.
fn exp10_near_zero(x: f64) -> f64 {
    let z = x * std::f64::consts::LN_10;
    let [third, sixth] = [1.0 / 3.0, 1.0 / 6.0];
    1.0 + z * (1.0 + z * 0.5 * (1.0 + z * third * (1.0 + z * 0.25 * (1.0 + z * 0.2 * (1.0 + z * sixth)))))
}

/// Share of an acid with constant `pka` that is dissociated, 1/(1 + 10^(pka - pH)). # Units: mol/mol
pub fn dissociated(pka: f64, ph: f64) -> f64 {
    1.0 / (1.0 + exp10(pka - ph))
}

/// pH of a material, between 0 and 14: Householder steps kept inside a shrinking bracket, started from `guess`.
///
/// Assumes a buffer of 0 or more, so that the balance rises with pH. Accurate to about 1e-8 pH, or to where the balance cannot
/// be told from rounding; without water, buffer and ions it returns the guess.
///
/// # Source
/// The balance in the head of this module; steps after Householder (1970), recalled.
pub fn ph(m: &Material, k: &AcidConstants, at: &Surrounds, guess: f64) -> f64 {
    AcidPowers::at(k, at).ph(m, guess)
}

/// The base entry that gives a material a stated pH: the balance solved for b. # Units: eq
pub fn base_for(m: &Material, k: &AcidConstants, at: &Surrounds, ph: f64) -> f64 {
    AcidPowers::at(k, at).base_for(m, ph)
}

/// Free ammonia as a share of all ammoniacal nitrogen, 1/(1 + 10^(pKa - pH)). # Units: °C, pH to mol/mol # Source: emerson_1975
pub fn free_ammonia_share(k: &AcidConstants, temperature: f64, ph: f64) -> f64 {
    dissociated(k.ammonium(temperature), ph)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn constants() -> AcidConstants {
        // acid_tables, echa_lactic_acid, emerson_1975; carbonic acid 6.35 and 0.0338 mol/(L atm) at 25 °C from sander_2023.
        AcidConstants {
            lactic: 3.857,
            acetic: 4.76,
            butyric: 4.83,
            ammonium_constant: 0.09018,
            ammonium_slope: 2729.92,
            carbonic: 6.35,
            carbon_dioxide_solubility: 0.0384,
        }
    }

    #[test]
    fn pure_water_is_neutral_and_half_neutralised_acid_stands_at_its_constant() {
        let at = Surrounds::acid_store(20.0);
        let water = Material::of(Component::Water, 1.0);
        assert!((ph(&water, &constants(), &at, 5.0) - 7.0).abs() < 1e-9);
        let mut half = water + Material::of(Component::Lactic, 0.2 * Component::Lactic.molar_mass());
        *half.base_mut() = 0.1;
        assert!((ph(&half, &constants(), &at, 7.0) - 3.857).abs() < 2e-3);
    }

    #[test]
    fn a_solution_of_acetic_acid_has_the_textbook_ph() {
        // 0.1 mol/L acetic acid, pKa 4.76: pH = (4.76 + 1)/2 = 2.88 by the weak-acid formula.
        let m = Material::of(Component::Water, 1.0)
            + Material::of(Component::Acetic, 0.1 * Component::Acetic.molar_mass());
        assert!((ph(&m, &constants(), &Surrounds::acid_store(20.0), 7.0) - 2.88).abs() < 0.005);
    }

    #[test]
    fn base_for_a_ph_gives_that_ph_back() {
        let at = Surrounds { temperature: 22.0, carbon_dioxide: 0.01 };
        let mut m = Material::of(Component::Water, 3.0)
            + Material::of(Component::Lactic, 0.06)
            + Material::of(Component::Ammonia, 0.01);
        *m.buffer_mut() = 0.15;
        for wanted in [3.5, 5.1, 7.2, 9.0] {
            *m.base_mut() = base_for(&m, &constants(), &at, wanted);
            assert!((ph(&m, &constants(), &at, 7.0) - wanted).abs() < 1e-9);
        }
    }

    #[test]
    fn a_power_near_zero_is_the_power() {
        for x in [-CLOSE, -1e-3, -1e-6, 0.0, 1e-9, 2e-4, CLOSE] {
            assert!((exp10_near_zero(x) - 10f64.powf(x)).abs() < 1e-15, "{x}");
        }
    }

    #[test]
    fn slope_bend_and_twist_are_differences_of_the_balance() {
        let powers = AcidPowers::at(&constants(), &Surrounds { temperature: 22.0, carbon_dioxide: 0.01 });
        let mut m = Material::of(Component::Water, 3.0)
            + Material::of(Component::Lactic, 0.06)
            + Material::of(Component::Ammonia, 0.01);
        *m.buffer_mut() = 0.15;
        let charges = Charges::of(&m, &powers);
        let of = |ph: f64| charges.excess(ph, exp10(-ph));
        let close = |what: &str, ours: f64, difference: f64, scale: f64| {
            assert!((ours - difference).abs() < 1e-5 * scale, "{what}: {ours} {difference}");
        };
        for ph in [1.5, 3.3, 4.6, 6.8, 8.9, 11.0] {
            let (before, here, after) = (of(ph - 1e-4), of(ph), of(ph + 1e-4));
            let difference = |a: f64, b: f64| (b - a) / 2e-4;
            close("slope", here.slope, difference(before.value, after.value), here.slope);
            close("bend", here.bend, difference(before.slope, after.slope), here.slope + here.bend.abs());
            let scale = here.slope + here.bend.abs() + here.twist.abs();
            close("twist", here.twist, difference(before.bend, after.bend), scale);
        }
    }

    #[test]
    fn a_step_is_of_fourth_order() {
        // x + x^2 + x^3/2 + x^4/5 is zero at 0: half the distance leaves a sixteenth of the error
        let left = |x: f64| {
            let value = x * (1.0 + x * (1.0 + x * (0.5 + x * 0.2)));
            let slope = 1.0 + x * (2.0 + x * (1.5 + x * 0.8));
            let (bend, twist) = (2.0 + x * (3.0 + x * 2.4), 3.0 + x * 4.8);
            x + Excess { value, slope, bend, twist }.step()
        };
        for x in [0.02, -0.02] {
            let order = (left(x) / left(0.5 * x)).abs().log2();
            assert!((order - 4.0).abs() < 0.3, "{x}: {order}");
        }
    }

    #[test]
    fn free_ammonia_follows_the_printed_constants() {
        // emerson_1975: pKa 9.73 at 10 °C, 9.40 at 20 °C, 9.25 at 25 °C, 9.10 at 30 °C.
        for (t, printed) in [(10.0, 9.73), (20.0, 9.40), (25.0, 9.25), (30.0, 9.10)] {
            assert!((constants().ammonium(t) - printed).abs() < 0.006);
        }
    }
}
