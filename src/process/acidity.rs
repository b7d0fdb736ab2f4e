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

use crate::matter::lane::{Lane, Mask, exp10};
use crate::matter::{Component, Material, ratio};

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
    #[inline(always)]
    pub fn ammonium<L: Lane>(&self, temperature: L) -> L {
        L::of(self.ammonium_slope) / (temperature + 273.15) + self.ammonium_constant
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
pub struct AcidPowers<L = f64> {
    /// One over the dissociation constants of lactic, acetic and butyric acid. # Units: L/mol
    acids: [f64; 3],
    /// Dissociation constant of ammonium. # Units: mol/L
    ammonium: L,
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

    /// The same surrounds at another temperature, or at one in each lane; only ammonium moves with it. # Units: °C
    #[inline(always)]
    #[must_use]
    pub fn moved_to<L: Lane>(self, temperature: L, k: &AcidConstants) -> AcidPowers<L> {
        AcidPowers { acids: self.acids, ammonium: exp10(-k.ammonium(temperature)), carbonate: self.carbonate }
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

    /// pH of a material, as [`ph`] finds it.
    pub fn ph(&self, m: &Material, guess: f64) -> f64 {
        self.acidity(m, Acidity::of(guess)).ph
    }

    /// The base entry that gives a material a stated pH: the balance solved for b. # Units: eq
    pub fn base_for(&self, m: &Material, ph: f64) -> f64 {
        self.base_at(m, Acidity::of(ph))
    }
}

impl<L: Lane> AcidPowers<L> {
    /// Free ammonia as a share of all ammoniacal nitrogen, K/(K + [H+]). # Units: mol/mol # Source: emerson_1975
    #[inline(always)]
    pub fn free_ammonia_share(&self, at: &Acidity<L>) -> L {
        self.ammonium / (self.ammonium + at.hydrogen)
    }

    /// pH of a material, as [`ph`] finds it, with its hydrogen ions; the guess is best what it was at the last look.
    #[inline(always)]
    pub fn acidity(&self, m: &Material<L>, guess: Acidity<L>) -> Acidity<L> {
        let mut search = [Search::new(Charges::of(m, self), guess)];
        Search::run(&mut search);
        search[0].at
    }

    /// The same of three materials with their guesses, which takes less time than one after the other.
    #[inline(always)]
    pub fn acidities(&self, [a, b, c]: [(&Material<L>, Acidity<L>); 3]) -> [Acidity<L>; 3] {
        let mut searches = [
            Search::new(Charges::of(a.0, self), a.1),
            Search::new(Charges::of(b.0, self), b.1),
            Search::new(Charges::of(c.0, self), c.1),
        ];
        Search::run(&mut searches);
        [searches[0].at, searches[1].at, searches[2].at]
    }

    /// The base entry that makes a material as acid as stated. # Units: eq
    #[inline(always)]
    pub fn base_at(&self, m: &Material<L>, at: Acidity<L>) -> L {
        let charges = Charges::of(m, self);
        charges.base + charges.missing(at)
    }
}

/// How acid a material is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acidity<L = f64> {
    /// pH.
    pub ph: L,
    /// Hydrogen ions, 10^-pH. # Units: mol/L
    pub hydrogen: L,
}

impl<L: Lane> Acidity<L> {
    /// The acidity at a pH.
    #[inline(always)]
    pub fn of(ph: L) -> Self {
        Self { ph, hydrogen: exp10(-ph) }
    }

    /// An acidity for each lane, by its place.
    #[inline(always)]
    pub fn gather(each: impl Fn(usize) -> Acidity) -> Self {
        Self { ph: L::gather(|place| each(place).ph), hydrogen: L::gather(|place| each(place).hydrogen) }
    }

    /// The acidity of a lane.
    #[inline(always)]
    pub fn lane(&self, place: usize) -> Acidity {
        Acidity { ph: self.ph.lane(place), hydrogen: self.hydrogen.lane(place) }
    }

    /// One or the other, lane by lane.
    #[inline(always)]
    fn select(mask: L::Mask, yes: Self, no: Self) -> Self {
        Self { ph: L::select(mask, yes.ph, no.ph), hydrogen: L::select(mask, yes.hydrogen, no.hydrogen) }
    }
}

/// The amounts that enter the balance; they are as linear as the material is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Charges<'a, L = f64> {
    k: &'a AcidPowers<L>,
    water: L,
    acids: [L; 3],
    ammonia: L,
    nitrate: L,
    base: L,
    buffer: L,
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
            buffer: m.buffer(),
        }
    }

    /// The base entry that is missing for the balance at an acidity. # Units: eq
    #[inline(always)]
    pub(super) fn missing(&self, at: Acidity<L>) -> L {
        self.excess(at.ph, at.hydrogen).value
    }

    /// Anions less cations at a hydrogen ion concentration of `h` mol/L, which is pH `ph`; they rise with pH.
    #[inline(always)]
    fn excess(&self, ph: L, h: L) -> Excess<L> {
        let ln10 = std::f64::consts::LN_10;
        let mut sums = Shares { held: L::of(0.0), slope: L::of(0.0), bend: L::of(0.0), twist: L::of(0.0) };
        // one division serves all shares: the product of what they are divided by, and the others multiplied out of it
        let [a, b, c] = self.k.acids.map(
            #[inline(always)]
            |inverse| h * inverse + 1.0,
        );
        let ammonium = self.k.ammonium;
        let d = ammonium + h;
        let (first, second) = (a * b, c * d);
        let four = first * second;
        let inverse = L::of(1.0) / (four * h);
        let over = inverse * h;
        let (over_first, over_second) = (over * second, over * first);
        for (n, f) in self.acids.iter().zip([over_first * b, over_first * a, over_second * d]) {
            sums.add(*n, f);
        }
        // what ammonia does not bind it leaves as a charge: minus all of it, plus its free share
        sums.add(self.ammonia, ammonium * over_second * c);
        let acid = self.water * h;
        let alkaline = self.water * (self.k.carbonate + 1e-14) * inverse * four;
        let (both, less) = (alkaline + acid, alkaline - acid);
        Excess {
            value: (self.nitrate - self.base - self.ammonia + self.buffer * (ph - 7.0)) + sums.held + less,
            slope: self.buffer + (sums.slope + both) * ln10,
            bend: (sums.bend + less) * (ln10 * ln10),
            twist: (sums.twist + both) * (ln10 * ln10 * ln10),
        }
    }
}

/// Sums over the acids of what they hold and of its slopes by pH, these over powers of ln 10.
struct Shares<L> {
    held: L,
    slope: L,
    bend: L,
    twist: L,
}

impl<L: Lane> Shares<L> {
    /// An acid of dissociated share f adds n f; its slopes over ln 10 are n f (1 - f), that times 1 - 2 f, and so on.
    #[inline(always)]
    fn add(&mut self, n: L, f: L) {
        let both = f * (-f + 1.0);
        let bent = n * both;
        self.held += n * f;
        self.slope += bent;
        self.bend += bent * (f * -2.0 + 1.0);
        self.twist += bent * (both * -6.0 + 1.0);
    }
}

/// The search for the pH at which charges balance.
struct Search<'a, L: Lane> {
    charges: Charges<'a, L>,
    /// The balance lies between these.
    low: L,
    high: L,
    at: Acidity<L>,
    /// Lengths of the last step and of the one before: steps that do not shrink run in a circle around a bend of the balance.
    last: L,
    before: L,
    found: L::Mask,
}

impl<'a, L: Lane> Search<'a, L> {
    #[inline(always)]
    fn new(charges: Charges<'a, L>, guess: Acidity<L>) -> Self {
        let (low, high) = (0.0, 14.0);
        let held = guess.ph.within(low, high);
        let outside = held.less(guess.ph).or(guess.ph.less(held));
        let at = if outside.any() { Acidity::select(outside, Acidity::of(held), guess) } else { guess };
        let length = L::of(high - low);
        let found = L::Mask::of(false);
        Self { charges, low: L::of(low), high: L::of(high), at, last: length, before: length, found }
    }

    /// One step of every lane that has not found its pH.
    #[inline(always)]
    fn step(&mut self) {
        let Acidity { ph, hydrogen } = self.at;
        let (zero, excess) = (L::of(0.0), self.charges.excess(ph, hydrogen));
        let (above, below) = (zero.less(excess.value), excess.value.less(zero));
        self.high = L::select(above, ph, self.high);
        self.low = L::select(below, ph, self.low);
        // where nothing is left it stays
        self.found = self.found.or(above.or(below).not());
        let (step, newton) = excess.step();
        let next = ph + step;
        let shrinks = step.size().less(self.before * 0.5);
        // a step too small to leave the end of the bracket it starts from is inside
        let beyond = next.less(self.low).or(self.high.less(next));
        let inside = zero.less(excess.slope).and(shrinks).and(beyond.not());
        // far off the balance a bend can make the step small, but then that of Newton is another
        let apart = (step.size() * 0.25).less((step - newton).size());
        let last = inside.and(step.size().less(L::of(CLOSE))).and(apart.not());
        let moved = Acidity { ph: next, hydrogen: hydrogen * exp10_near_zero(-step) };
        let arrived = Acidity::select(self.found, self.at, moved);
        if last.or(self.found).all() {
            (self.at, self.found) = (arrived, L::Mask::of(true));
            return;
        }
        let next = L::select(inside, next, (self.low + self.high) * 0.5);
        (self.before, self.last) = (self.last, (next - ph).size());
        self.at = Acidity::select(last.or(self.found), arrived, Acidity::of(next));
        self.found = self.found.or(last);
    }

    /// Runs searches in step with one another: each waits long for its own numbers, and the processor fills that time with
    /// those of the others.
    #[inline(always)]
    fn run(searches: &mut [Self]) {
        for _ in 0..80 {
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

/// A step of the solver after which it is done: the error left is about its fourth power, 1e-8 pH.
const CLOSE: f64 = 1e-2;

/// The balance of charge and its slopes by pH.
struct Excess<L> {
    value: L,
    slope: L,
    bend: L,
    twist: L,
}

impl<L: Lane> Excess<L> {
    /// Householder's step of fourth order to where the value is zero, and that of Newton.
    #[inline(always)]
    fn step(&self) -> (L, L) {
        let inverse = L::of(1.0) / self.slope;
        let newton = self.value * inverse;
        let bend = newton * self.bend * inverse;
        let twist = newton * newton * self.twist * inverse;
        (-newton * (bend * -0.5 + 1.0) / (-bend + 1.0 + twist * (1.0 / 6.0)), -newton)
    }
}

/// 10 to the power x for x between -[`CLOSE`] and [`CLOSE`]: a series, whose rest is below 1e-15.
#[inline(always)]
fn exp10_near_zero<L: Lane>(x: L) -> L {
    let z = x * std::f64::consts::LN_10;
    let mut sum = L::of(1.0);
    for n in [6.0, 5.0, 4.0, 3.0, 2.0, 1.0] {
        sum = z * sum * (1.0 / n) + 1.0;
    }
    sum
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
mod tests;
