//! pH by one charge balance, for drums, paste, beds and products alike.
//!
//! ```text
//! b + C f_C(pH) + n_NH4(pH) + W 10^-pH = sum_i n_i f_i(pH) + n_NO3 + (B + h m_humus) (pH - 7) + W ([HCO3-] + 10^(pH-14))
//! ```
//!
//! n in mol, W water in kg taken as litres, i = lactic, acetic, butyric acid, f_i = 1/(1 + 10^(pKa_i - pH)). The charge
//! entries b (*base*), C (*calcium*) and B (*buffer*) are conserved, so acids form, blend and burn off, ammonia appears, nitrate
//! forms, and pH follows. Humus adds a buffer of its own, h per kilogram: its acid groups spread over so many constants that its
//! charge is nearly a straight line between pH 5 and 9. Bicarbonate is in equilibrium with the carbon dioxide of the pores; it is
//! negligible below pH 5. Its carbon is not booked (below 1 g per kg dry matter).
//!
//! # Calcium
//!
//! Calcium (and magnesium, counted as calcium of equal charge) is dissolved as far as calcite lets it:
//!
//! ```text
//! [CO3 2-]  = K1 K2 K_H p / [H+]^2                   carbon dioxide at pressure p, atm
//! [Ca 2+]   = K_sp / (g [CO3 2-]) = k [H+]^2 / p,    k = K_sp / (K1 K2 K_H g),   k = 1.3e10 L atm/mol at 20 °C
//! most      = 2 W k [H+]^2 / p                       eq
//! f_C       = most / (C + most) = 1 / (1 + C p / (2 W k [H+]^2))
//! ```
//!
//! g is the activity coefficient of Ca 2+ in the water of a bed. The smooth form stands for min(C, most). At 0.01 atm calcite
//! keeps 0.27 eq/L in solution at pH 6.5, 0.027 at pH 7, 0.003 at pH 7.5: so lime stays solid in a neutral bed, pays for acid
//! below about pH 7.5, and takes cations out of an alkaline one. With p = 0 all of it is dissolved; at 1 atm, as in a closed drum, at pH 5.
//! The pressure of the pores is taken as given: what carbonate gives off does not raise it. The carbon of carbonate is not
//! booked as carbon: it lies in the minerals (6 g per eq), and leaves them at no time, so a bed that dissolves 0.1 eq per kg dry
//! matter gives off 2.2 g carbon dioxide less than it would. Temperature is left out: 10 K move k by a fifth.

use crate::matter::lane::{Lane, Mask, exp10};
use crate::matter::{Component, Material, ratio};
use crate::quantity::constant::ZERO_CELSIUS;
use serde::{Deserialize, Serialize};

/// Acid constants: pKa, and mol/(L atm) for the solubility.
///
/// # Source
/// `fermentation` and `bed` tables.
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
    /// Slope of that formula, K.
    pub ammonium_slope: f64,
    /// First constant of carbonic acid.
    pub carbonic: f64,
    /// Second constant of carbonic acid.
    pub carbonic_second: f64,
    /// Solubility product of calcite, as pK.
    pub calcite: f64,
    /// Activity coefficient of dissolved calcium.
    pub calcium_activity: f64,
    /// Dissolved CO2 per pressure at 20 °C, mol/(L atm).
    pub carbon_dioxide_solubility: f64,
    /// Buffer of humus, eq/(kg pH).
    pub humus_buffer: f64,
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
            carbonic_second: get("bed.carbonic_acid_second_pka"),
            calcite: get("bed.calcite_solubility_product"),
            calcium_activity: get("bed.calcium_activity"),
            carbon_dioxide_solubility: get("bed.carbon_dioxide_solubility"),
            humus_buffer: get("bed.humus_buffer"),
        }
    }

    /// pKa of ammonium at a temperature in °C, `constant + slope/(T + 273.15)`.
    ///
    /// # Source
    /// emerson_1975
    #[inline(always)]
    pub fn ammonium<L: Lane>(&self, temperature: L) -> L {
        L::from(self.ammonium_slope) / (temperature + ZERO_CELSIUS) + self.ammonium_constant
    }

    /// Dissolved calcium at pH 0 and 1 atm of carbon dioxide, `k` in the head of this module, mol/L.
    fn calcite_solubility(&self) -> f64 {
        exp10(self.carbonic + self.carbonic_second - self.calcite)
            / (self.carbon_dioxide_solubility * self.calcium_activity)
    }
}

/// Carbon dioxide in a closed fermenting store, atm. Source: our choice; the gas of a drum is hardly anything else.
const CLOSED_STORE: f64 = 1.0;

/// The surroundings that, with the material, set its pH.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surrounds {
    /// Temperature, °C.
    pub temperature: f64,
    /// Carbon dioxide pressure in the pores, atm; 0 leaves bicarbonate out and dissolves all calcium.
    pub carbon_dioxide: f64,
}

impl Surrounds {
    /// A closed store at a temperature in °C, full of the carbon dioxide of its fermentation. Bicarbonate is negligible in its acid,
    /// and lime dissolves as soon as it is acid.
    pub fn acid_store(temperature: f64) -> Self {
        Self { temperature, carbon_dioxide: CLOSED_STORE }
    }
}

/// The constants at one temperature, computed once and shared by all matter at that temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidPowers<L = f64> {
    /// One over the dissociation constants of lactic, acetic and butyric acid, L/mol.
    acids: [f64; 3],
    /// Dissociation constant of ammonium, mol/L.
    ammonium: L,
    /// Bicarbonate at pH 0, mol/L.
    carbonate: L,
    /// Buffer of humus, eq/(kg pH).
    humus_buffer: f64,
    /// One over the calcium that is dissolved at pH 0, L/eq.
    calcite: L,
}

impl AcidPowers {
    /// The constants in given surroundings.
    pub fn at(k: &AcidConstants, at: &Surrounds) -> Self {
        Self {
            acids: [exp10(k.lactic), exp10(k.acetic), exp10(k.butyric)],
            ammonium: exp10(-k.ammonium(at.temperature)),
            carbonate: k.carbon_dioxide_solubility * at.carbon_dioxide * exp10(-k.carbonic),
            humus_buffer: k.humus_buffer,
            calcite: at.carbon_dioxide / (2.0 * k.calcite_solubility()),
        }
    }

    /// The same surroundings at another temperature, °C, or at one in each lane; only ammonium depends on it.
    #[inline(always)]
    #[must_use]
    pub fn moved_to<L: Lane>(self, temperature: L, k: &AcidConstants) -> AcidPowers<L> {
        AcidPowers {
            acids: self.acids,
            ammonium: exp10(-k.ammonium(temperature)),
            carbonate: L::from(self.carbonate),
            humus_buffer: self.humus_buffer,
            calcite: L::from(self.calcite),
        }
    }

    /// The same constants at so many times the carbon dioxide pressure they were made for, or at as many in each lane.
    #[inline(always)]
    #[must_use]
    pub fn at_pressure<L: Lane>(&self, times: L) -> AcidPowers<L> {
        AcidPowers {
            acids: self.acids,
            ammonium: L::from(self.ammonium),
            carbonate: times * self.carbonate,
            humus_buffer: self.humus_buffer,
            calcite: times * self.calcite,
        }
    }

    /// Bicarbonate in so much water (kg), mol.
    #[inline(always)]
    pub fn bicarbonate<L: Lane>(&self, water: L, at: Acidity<L>) -> L {
        water * self.carbonate / at.hydrogen
    }

    /// Undissociated lactic acid in the water of a material, n (1 - f)/W, mol/L.
    pub fn undissociated_lactic(&self, m: &Material, ph: f64) -> f64 {
        self.undissociated(ratio(m.moles(Component::Lactic), m.water()), Acidity::of(ph))
    }

    /// The undissociated part of lactic acid, both in mol/L.
    pub(super) fn undissociated(&self, lactic: f64, at: Acidity) -> f64 {
        let bound = self.acids[0] * at.hydrogen;
        lactic * bound / (1.0 + bound)
    }

    /// pH of a material, as by [`ph`].
    pub fn ph(&self, m: &Material, guess: f64) -> f64 {
        self.acidity(m, Acidity::of(guess)).ph
    }

    /// Calcium that calcite lets into so much water (kg), eq; infinite without carbon dioxide.
    pub fn most_calcium(&self, water: f64, at: &Acidity) -> f64 {
        let most = water * at.hydrogen * at.hydrogen;
        if self.calcite > 0.0 { most / self.calcite } else { f64::INFINITY }
    }

    /// The base entry that gives a material a stated pH, eq: the balance solved for b.
    pub fn base_for(&self, m: &Material, ph: f64) -> f64 {
        self.base_at(m, Acidity::of(ph))
    }
}

impl<L: Lane> AcidPowers<L> {
    /// Free share of all ammoniacal nitrogen, `K/(K + [H+])`, mol/mol.
    ///
    /// # Source
    /// emerson_1975
    #[inline(always)]
    pub fn free_ammonia_share(&self, at: &Acidity<L>) -> L {
        self.ammonium / (self.ammonium + at.hydrogen)
    }

    /// Free share at an uneven surface, where the share f at the mean pH counts as `f m/(1 + f (m - 1)) = K m/(K m + [H+])`.
    #[inline(always)]
    pub fn uneven_ammonia_share(&self, at: &Acidity<L>, uneven: f64) -> L {
        let constant = self.ammonium * uneven;
        constant / (constant + at.hydrogen)
    }

    /// Dissolved part of the calcium of a material, `C f_C`, eq.
    #[inline(always)]
    pub fn dissolved_calcium(&self, m: &Material<L>, at: &Acidity<L>) -> L {
        let most = m.water() * at.hydrogen * at.hydrogen;
        m.calcium() * ratio(most, most + m.calcium() * self.calcite)
    }

    /// pH of a material, as by [`ph`], with its hydrogen ions; the best guess is the acidity last computed.
    #[inline(always)]
    pub fn acidity(&self, m: &Material<L>, guess: Acidity<L>) -> Acidity<L> {
        let mut search = Search::new(Charges::of(m, self), guess);
        // from yesterday's acidity most arrive at once
        search.step();
        if search.found.all() {
            return search.at;
        }
        let mut searches = [search];
        Search::run(&mut searches);
        searches[0].at
    }

    /// The same for three materials with their guesses, which is faster than one after the other.
    #[inline(always)]
    pub fn acidities(&self, [a, b, c]: [(&Material<L>, Acidity<L>); 3]) -> [Acidity<L>; 3] {
        let mut first = Search::new(Charges::of(a.0, self), a.1);
        let mut second = Search::new(Charges::of(b.0, self), b.1);
        let mut third = Search::new(Charges::of(c.0, self), c.1);
        first.step();
        second.step();
        third.step();
        if (first.found & second.found & third.found).all() {
            return [first.at, second.at, third.at];
        }
        let mut searches = [first, second, third];
        Search::run(&mut searches);
        [searches[0].at, searches[1].at, searches[2].at]
    }

    /// The base entry that gives a material a stated acidity, eq.
    #[inline(always)]
    pub fn base_at(&self, m: &Material<L>, at: Acidity<L>) -> L {
        let charges = Charges::of(m, self);
        charges.base + charges.missing(at)
    }
}

/// Acidity of a material.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Acidity<L = f64> {
    /// pH.
    pub ph: L,
    /// Hydrogen ions, 10^-pH, mol/L.
    pub hydrogen: L,
}

impl<L: Lane> Acidity<L> {
    /// The acidity at a pH.
    #[inline(always)]
    pub fn of(ph: L) -> Self {
        Self { ph, hydrogen: exp10(-ph) }
    }

    /// Reads the acidity of each lane.
    #[inline(always)]
    pub fn gather(each: impl Fn(usize) -> Acidity) -> Self {
        Self { ph: L::gather(|place| each(place).ph), hydrogen: L::gather(|place| each(place).hydrogen) }
    }

    /// The acidity of a lane.
    #[inline(always)]
    pub fn lane(&self, place: usize) -> Acidity {
        Acidity { ph: self.ph.lane(place), hydrogen: self.hydrogen.lane(place) }
    }

    /// `yes` where the mask is true and `no` elsewhere.
    #[inline(always)]
    fn select(mask: L::Mask, yes: Self, no: Self) -> Self {
        Self { ph: L::select(mask, yes.ph, no.ph), hydrogen: L::select(mask, yes.hydrogen, no.hydrogen) }
    }
}

/// The amounts that enter the balance, all linear in the material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Charges<'a, L = f64> {
    k: &'a AcidPowers<L>,
    water: L,
    acids: [L; 3],
    ammonia: L,
    nitrate: L,
    base: L,
    buffer: L,
    calcium: L,
    /// Calcium over what is dissolved at pH 0 in a litre, L. A trifle is added, so that no calcium in no water is a number.
    solid: L,
}

impl<'a, L: Lane> Charges<'a, L> {
    #[inline(always)]
    pub(super) fn of(m: &Material<L>, k: &'a AcidPowers<L>) -> Self {
        Self {
            k,
            water: m.water(),
            acids: [m.moles(Component::Lactic), m.moles(Component::Acetic), m.moles(Component::Butyric)],
            ammonia: m.moles(Component::Ammonia),
            nitrate: m.moles(Component::Nitrate),
            base: m.base(),
            buffer: m.buffer() + m[Component::Humus] * k.humus_buffer,
            calcium: m.calcium(),
            solid: m.calcium() * k.calcite + TRIFLE,
        }
    }

    /// The base entry missing from the balance at an acidity, eq.
    #[inline(always)]
    pub(super) fn missing(&self, at: Acidity<L>) -> L {
        self.excess(at.ph, at.hydrogen).value
    }

    /// Anions less cations at pH `ph`, which is `h` mol/L of hydrogen ions; the difference rises with pH.
    #[inline(always)]
    fn excess(&self, ph: L, h: L) -> Excess<L> {
        let ln10 = std::f64::consts::LN_10;
        let mut sums = Shares { held: L::ZERO, slope: L::ZERO, bend: L::ZERO, twist: L::ZERO };
        // one division gives all shares: divide by the product of their denominators, then multiply by the others
        // a map of the array would not be compiled for the wide registers
        let [a, b, c] = self.k.acids;
        let [a, b, c] = [h * a + 1.0, h * b + 1.0, h * c + 1.0];
        let ammonium = self.k.ammonium;
        let d = ammonium + h;
        let (first, second) = (a * b, c * d);
        let four = first * second;
        let (most, four_h) = (self.water * (h * h), four * h);
        let e = most + self.solid;
        let all = L::ONE / (four_h * e);
        let inverse = all * e;
        let over = inverse * h;
        let (over_first, over_second) = (over * second, over * first);
        for (n, f) in self.acids.iter().zip([over_first * b, over_first * a, over_second * d]) {
            sums.add(*n, f);
        }
        // ammonium is all ammonia less its free share
        sums.add(self.ammonia, ammonium * over_second * c);
        // dissolved calcium is all calcium less its solid share
        sums.add_divalent(self.calcium, self.solid * (all * four_h));
        let acid = self.water * h;
        let alkaline = self.water * (self.k.carbonate + 1e-14) * inverse * four;
        let (both, less) = (alkaline + acid, alkaline - acid);
        Excess {
            value: (self.nitrate - self.base - self.calcium - self.ammonia + self.buffer * (ph - 7.0))
                + sums.held
                + less,
            slope: self.buffer + (sums.slope + both) * ln10,
            bend: (sums.bend + less) * (ln10 * ln10),
            twist: (sums.twist + both) * (ln10 * ln10 * ln10),
        }
    }
}

/// Sums over the acids of their charge and of its derivatives by pH; the derivatives are divided by powers of ln 10.
struct Shares<L> {
    held: L,
    slope: L,
    bend: L,
    twist: L,
}

impl<L: Lane> Shares<L> {
    /// Adds an acid of dissociated share f: charge n f, first derivative n f (1 - f), second that times 1 - 2 f, and so on.
    #[inline(always)]
    fn add(&mut self, n: L, f: L) {
        let both = f * (L::ONE - f);
        let bent = n * both;
        self.held += n * f;
        self.slope += bent;
        self.bend += bent * (L::ONE - f * 2.0);
        self.twist += bent * (L::ONE - both * 6.0);
    }

    /// The same for a share that turns with the square of the hydrogen ions: each derivative gains a factor 2.
    #[inline(always)]
    fn add_divalent(&mut self, n: L, f: L) {
        let both = f * (L::ONE - f);
        let bent = n * both * 2.0;
        self.held += n * f;
        self.slope += bent;
        self.bend += bent * (L::ONE * 2.0 - f * 4.0);
        self.twist += bent * (L::ONE * 4.0 - both * 24.0);
    }
}

/// The search for the pH at which charges balance.
struct Search<'a, L: Lane> {
    charges: Charges<'a, L>,
    /// The balance lies between these.
    low: L,
    high: L,
    at: Acidity<L>,
    /// Lengths of the last step and of the one before. Steps that do not shrink circle around a bend of the balance.
    last: L,
    before: L,
    found: L::Mask,
}

impl<'a, L: Lane> Search<'a, L> {
    #[inline(always)]
    fn new(charges: Charges<'a, L>, guess: Acidity<L>) -> Self {
        let (low, high) = (0.0, 14.0);
        let held = guess.ph.clamp(low, high);
        let outside = held.lt(guess.ph) | guess.ph.lt(held);
        let at = if outside.any() { Acidity::select(outside, Acidity::of(held), guess) } else { guess };
        let length = L::from(high - low);
        let found = L::Mask::splat(false);
        Self { charges, low: L::from(low), high: L::from(high), at, last: length, before: length, found }
    }

    /// One step in every lane that has not found its pH.
    #[inline(always)]
    fn step(&mut self) {
        let Acidity { ph, hydrogen } = self.at;
        let excess = self.charges.excess(ph, hydrogen);
        let (above, below) = (excess.value.is_positive(), excess.value.lt(L::ZERO));
        self.high = L::select(above, ph, self.high);
        self.low = L::select(below, ph, self.low);
        // an exact balance needs no step
        self.found = self.found | !(above | below);
        let step = excess.step();
        let next = ph + step;
        let shrinks = step.abs().lt(self.before * 0.5);
        // a step so small that it rounds to the end of the bracket counts as inside
        let beyond = next.lt(self.low) | self.high.lt(next);
        let inside = excess.slope.is_positive() & shrinks & !beyond;
        // far from the balance a bend can make this step small; then the step of Newton, -value/slope, differs from it
        let apart = (step.abs() * excess.slope * 0.25).lt((step * excess.slope + excess.value).abs());
        let last = inside & step.abs().lt(L::from(CLOSE)) & !apart;
        let moved = Acidity { ph: next, hydrogen: hydrogen * exp10_near_zero(-step) };
        let arrived = Acidity::select(self.found, self.at, moved);
        if (last | self.found).all() {
            (self.at, self.found) = (arrived, L::Mask::splat(true));
            return;
        }
        let next = L::select(inside, next, (self.low + self.high) * 0.5);
        (self.before, self.last) = (self.last, (next - ph).abs());
        self.at = Acidity::select(last | self.found, arrived, Acidity::of(next));
        self.found = self.found | last;
    }

    /// Runs searches in step with one another: while one waits for its own results, the processor works on the others.
    #[inline(always)]
    fn run(searches: &mut [Self]) {
        for _ in 0..STEPS {
            let mut done = true;
            for search in &mut *searches {
                if !search.found.all() {
                    search.step();
                    done &= search.found.all();
                }
            }
            if done {
                break;
            }
        }
    }
}

/// The search ends after a step shorter than this; the error left is about its fourth power, 1e-8 pH. Source: our choice.
const CLOSE: f64 = 1e-2;

/// Most steps of a search. Source: our choice, more than halvings need.
const STEPS: usize = 80;

/// See [`Charges`]. Its size does not matter as long as it is far below that of real matter and a product of all is a number.
const TRIFLE: f64 = 1e-200;

/// The balance of charge and its derivatives by pH.
struct Excess<L> {
    value: L,
    slope: L,
    bend: L,
    twist: L,
}

impl<L: Lane> Excess<L> {
    /// Householder's step of fourth order towards the balance: `-v (s^2 - v b/2) / (s^3 - v b s + v^2 t/6)` with value v, slope s, bend
    /// b and twist t.
    #[inline(always)]
    fn step(&self) -> L {
        let (square, bend) = (self.slope * self.slope, self.value * self.bend);
        let below = (square - bend) * self.slope + self.value * self.value * self.twist * (1.0 / 6.0);
        -self.value * (square - bend * 0.5) / below
    }
}

/// 10 to the power x for x between -[`CLOSE`] and [`CLOSE`]: a series, whose rest is below 1e-15.
#[inline(always)]
fn exp10_near_zero<L: Lane>(x: L) -> L {
    let z = x * std::f64::consts::LN_10;
    let mut sum = L::ONE;
    for n in [6.0, 5.0, 4.0, 3.0, 2.0, 1.0] {
        sum = z * sum * (1.0 / n) + 1.0;
    }
    sum
}

/// Dissociated share of an acid with constant `pka`, `1/(1 + 10^(pka - pH))`, mol/mol.
pub fn dissociated(pka: f64, ph: f64) -> f64 {
    1.0 / (1.0 + exp10(pka - ph))
}

/// pH of a material, between 0 and 14: Householder steps kept inside a shrinking bracket, started from `guess`.
///
/// Assumes a buffer of 0 or more, so that the balance rises with pH. Accurate to about 1e-8 pH, or to the rounding of the
/// balance. Without water, buffer and ions it returns the guess.
///
/// # Source
/// The balance in the head of this module; steps after Householder (1970), recalled.
pub fn ph(m: &Material, k: &AcidConstants, at: &Surrounds, guess: f64) -> f64 {
    AcidPowers::at(k, at).ph(m, guess)
}

/// The base entry that gives a material a stated pH, eq: the balance solved for b.
pub fn base_for(m: &Material, k: &AcidConstants, at: &Surrounds, ph: f64) -> f64 {
    AcidPowers::at(k, at).base_for(m, ph)
}

/// Free share of all ammoniacal nitrogen, `1/(1 + 10^(pKa - pH))`, mol/mol, at a temperature in °C.
///
/// # Source
/// emerson_1975
pub fn free_ammonia_share(k: &AcidConstants, temperature: f64, ph: f64) -> f64 {
    dissociated(k.ammonium(temperature), ph)
}

#[cfg(test)]
mod tests;
