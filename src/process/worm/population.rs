//! The stock of one bed: numbers by sub-stage, condition and body mass.

use super::rates::WormRates;
use super::response::REFERENCE_TEMPERATURE;
use super::{COCOON_STAGES, JUVENILE_STAGES, SUBADULT_STAGES};
use crate::matter::lane::Lane;
use crate::matter::{dot, sum};
use serde::{Deserialize, Serialize};

/// Worms and cocoons of one bed, or of one in each lane.
///
/// # Units
/// numbers (not whole); condition and body are shares of the well-fed state
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Population<L = f64> {
    /// Cocoons by sub-stage.
    pub cocoons: [L; COCOON_STAGES],
    /// Juveniles by sub-stage.
    pub juveniles: [L; JUVENILE_STAGES],
    /// Sub-adults by sub-stage.
    pub subadults: [L; SUBADULT_STAGES],
    /// Adults.
    pub adults: L,
    /// Condition q: memory of feeding, 0 to 1; laying follows it.
    pub condition: L,
    /// Body-mass factor g: mass of a worm over its mass when it is not thin.
    pub body: L,
    /// Size s of adults: mass of one that is not thin over that of a bought adult.
    pub adult_size: L,
}

/// A figure for each stage.
///
/// # Units
/// numbers or kg live, as the method says
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stages<L = f64> {
    /// Cocoons.
    pub cocoons: L,
    /// Juveniles.
    pub juveniles: L,
    /// Sub-adults.
    pub subadults: L,
    /// Adults.
    pub adults: L,
}

impl Stages {
    /// Sum without cocoons.
    ///
    /// # Units
    /// those of the stages
    pub fn worms(&self) -> f64 {
        self.juveniles + self.subadults + self.adults
    }
}

/// Share of each stage that returns from the screen to the bed.
///
/// # Units
/// 0 to 1
/// # Source
/// `worms.screening_recovery`
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WormRecovery {
    /// Cocoons.
    pub cocoon: f64,
    /// Juveniles.
    pub juvenile: f64,
    /// Sub-adults.
    pub subadult: f64,
    /// Adults.
    pub adult: f64,
}

/// Worms and cocoons lost with screened castings.
///
/// # Units
/// numbers; kg live
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Lost {
    /// Cocoons, number.
    pub cocoons: f64,
    /// Juveniles, sub-adults and adults, number.
    pub worms: f64,
    /// Live mass of those worms, kg.
    pub biomass: f64,
}

impl Default for Population {
    fn default() -> Self {
        Self::empty()
    }
}

impl Population {
    /// A bed without worms or cocoons.
    pub fn empty() -> Self {
        Self {
            cocoons: [0.0; COCOON_STAGES],
            juveniles: [0.0; JUVENILE_STAGES],
            subadults: [0.0; SUBADULT_STAGES],
            adults: 0.0,
            condition: 1.0,
            body: 1.0,
            adult_size: 1.0,
        }
    }

    /// Well-fed adults only.
    ///
    /// # Units
    /// kg live
    pub fn from_adults(mass: f64, rates: &WormRates) -> Self {
        Self::from_adult_count(mass / rates.given.adult_mass)
    }

    /// A number of well-fed adults only.
    pub fn from_adult_count(count: f64) -> Self {
        Self { adults: count, ..Self::empty() }
    }

    /// Well-fed stock with the stable structure of unlimited growth at 25 °C; cocoons are in addition to the mass.
    ///
    /// # Units
    /// kg live
    pub fn at_stable_structure(mass: f64, rates: &WormRates) -> Self {
        Self::at_stable_structure_of(mass, rates, REFERENCE_TEMPERATURE)
    }

    /// Well-fed stock with the stable structure of unlimited growth at a temperature; cocoons are in addition to the mass.
    ///
    /// # Units
    /// kg live, °C
    pub fn at_stable_structure_of(mass: f64, rates: &WormRates, temperature: f64) -> Self {
        let (cocoons, juveniles, subadults, adults) = rates.stable_numbers(temperature);
        let adult_size = rates.stable_adult_size(temperature);
        let one = Self { cocoons, juveniles, subadults, adults, adult_size, ..Self::empty() };
        one.scaled(mass / one.biomass(rates))
    }

    /// Live mass by stage; the body-mass factor does not apply to cocoons.
    ///
    /// # Units
    /// kg live
    pub fn masses(&self, rates: &WormRates) -> Stages {
        let [juveniles, subadults, adults] = self.frames(rates);
        Stages {
            cocoons: sum(&self.cocoons) * rates.given.cocoon_mass,
            juveniles: self.body * juveniles,
            subadults: self.body * subadults,
            adults: self.body * adults,
        }
    }

    /// Number of juveniles, sub-adults and adults.
    pub fn worms(&self) -> f64 {
        self.counts().worms()
    }

    /// The same stock, `factor` times as large, with the same condition and body.
    #[must_use]
    pub fn scaled(mut self, factor: f64) -> Self {
        for number in self.numbers_mut() {
            *number *= factor;
        }
        self
    }

    /// Adds other stock to this one.
    ///
    /// Numbers add. Condition is weighted by biomass. The size of adults is weighted by their number and body by frame, so that the
    /// kilograms add up exactly.
    pub fn merge(&mut self, other: &Self, rates: &WormRates) {
        let (own_frame, other_frame) = (self.frame(rates), other.frame(rates));
        let (own_mass, other_mass) = (self.body * own_frame, other.body * other_frame);
        let adults = self.adults + other.adults;
        if adults > 0.0 {
            self.adult_size = (self.adults * self.adult_size + other.adults * other.adult_size) / adults;
        }
        if other_mass > 0.0 {
            self.condition =
                (self.condition * own_mass + other.condition * other_mass) / (own_mass + other_mass);
            self.body = (own_mass + other_mass) / (own_frame + other_frame);
        }
        for (own, their) in self.numbers_mut().zip(other.numbers()) {
            *own += their;
        }
    }

    /// Removes the worms and cocoons that do not return from a screen.
    ///
    /// A `share` of every stage is screened and the share r of it returns: n becomes `n (1 - share (1 - r))`.
    ///
    /// # Units
    /// share 0 to 1
    /// # Source
    /// `worms.screening_recovery`; the form is a balance of numbers
    pub fn recover(&mut self, recovery: &WormRecovery, share: f64, rates: &WormRates) -> Lost {
        let before = self.counts();
        let mass_before = self.biomass(rates);
        let left = |returned: f64| 1.0 - share * (1.0 - returned);
        self.cocoons.iter_mut().for_each(|number| *number *= left(recovery.cocoon));
        self.juveniles.iter_mut().for_each(|number| *number *= left(recovery.juvenile));
        self.subadults.iter_mut().for_each(|number| *number *= left(recovery.subadult));
        self.adults *= left(recovery.adult);
        let after = self.counts();
        Lost {
            cocoons: before.cocoons - after.cocoons,
            worms: before.worms() - after.worms(),
            biomass: mass_before - self.biomass(rates),
        }
    }

    /// Whether every figure is finite and none negative.
    pub fn is_finite(&self) -> bool {
        self.numbers()
            .chain([&self.condition, &self.body, &self.adult_size])
            .all(|figure| figure.is_finite() && *figure >= 0.0)
    }

    fn numbers(&self) -> impl Iterator<Item = &f64> {
        self.cocoons.iter().chain(&self.juveniles).chain(&self.subadults).chain(std::iter::once(&self.adults))
    }

    fn numbers_mut(&mut self) -> impl Iterator<Item = &mut f64> {
        self.cocoons
            .iter_mut()
            .chain(&mut self.juveniles)
            .chain(&mut self.subadults)
            .chain(std::iter::once(&mut self.adults))
    }
}

impl<L: Lane> Population<L> {
    /// Reads the stock of each lane.
    #[inline(always)]
    pub fn gather<'a>(each: impl Fn(usize) -> &'a Population) -> Self {
        let mut all = Self {
            cocoons: [L::ZERO; COCOON_STAGES],
            juveniles: [L::ZERO; JUVENILE_STAGES],
            subadults: [L::ZERO; SUBADULT_STAGES],
            adults: L::gather(|place| each(place).adults),
            condition: L::gather(|place| each(place).condition),
            body: L::gather(|place| each(place).body),
            adult_size: L::gather(|place| each(place).adult_size),
        };
        for (stage, lanes) in all.cocoons.iter_mut().enumerate() {
            *lanes = L::gather(|place| each(place).cocoons[stage]);
        }
        for (stage, lanes) in all.juveniles.iter_mut().enumerate() {
            *lanes = L::gather(|place| each(place).juveniles[stage]);
        }
        for (stage, lanes) in all.subadults.iter_mut().enumerate() {
            *lanes = L::gather(|place| each(place).subadults[stage]);
        }
        all
    }

    /// Writes the stock of a lane to `there`.
    #[inline(always)]
    pub fn put(&self, place: usize, there: &mut Population) {
        for (number, lanes) in there.cocoons.iter_mut().zip(&self.cocoons) {
            *number = lanes.lane(place);
        }
        for (number, lanes) in there.juveniles.iter_mut().zip(&self.juveniles) {
            *number = lanes.lane(place);
        }
        for (number, lanes) in there.subadults.iter_mut().zip(&self.subadults) {
            *number = lanes.lane(place);
        }
        there.adults = self.adults.lane(place);
        there.condition = self.condition.lane(place);
        there.body = self.body.lane(place);
        there.adult_size = self.adult_size.lane(place);
    }

    /// Live mass of worms without cocoons: B = g sum n w.
    ///
    /// # Units
    /// kg live
    #[inline(always)]
    pub fn biomass(&self, rates: &WormRates) -> L {
        self.body * self.frame(rates)
    }

    /// Live mass of worms and cocoons, kg.
    #[inline(always)]
    pub fn live_mass(&self, rates: &WormRates) -> L {
        self.biomass(rates) + sum(&self.cocoons) * rates.given.cocoon_mass
    }

    /// Mass the same worms would have if none were thin, sum n w.
    ///
    /// # Units
    /// kg live
    #[inline(always)]
    pub fn frame(&self, rates: &WormRates) -> L {
        let full = self.frames(rates);
        full[0] + full[1] + full[2]
    }

    /// Frame of juveniles, sub-adults and adults.
    #[inline(always)]
    pub(super) fn frames(&self, rates: &WormRates) -> [L; 3] {
        [
            dot(&rates.juvenile_mass, &self.juveniles),
            dot(&rates.subadult_mass, &self.subadults),
            self.adults * self.adult_size * rates.given.adult_mass,
        ]
    }

    /// Numbers by stage.
    #[inline(always)]
    pub fn counts(&self) -> Stages<L> {
        Stages {
            cocoons: sum(&self.cocoons),
            juveniles: sum(&self.juveniles),
            subadults: sum(&self.subadults),
            adults: self.adults,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::rates::tests::central;
    use super::*;

    fn rates() -> WormRates {
        WormRates::new(central())
    }

    #[test]
    fn stable_stock_has_the_given_mass_and_mixed_stages() {
        let stock = Population::at_stable_structure(3.0, &rates());
        assert!((stock.biomass(&rates()) - 3.0).abs() < 1e-12);
        let stages = stock.masses(&rates());
        assert!((stages.worms() - 3.0).abs() < 1e-12);
        assert!(stages.cocoons > 0.0 && stages.juveniles > 0.0 && stages.subadults > 0.0);
    }

    #[test]
    fn merging_conserves_mass_and_numbers() {
        let rates = rates();
        let mut thin =
            Population { body: 0.6, condition: 0.1, ..Population::at_stable_structure(2.0, &rates) };
        let bought = Population::from_adults(1.5, &rates);
        let (mass, worms) = (thin.biomass(&rates), thin.worms());
        thin.merge(&bought, &rates);
        assert!((thin.biomass(&rates) - mass - 1.5).abs() < 1e-12);
        assert!((thin.worms() - worms - 3000.0).abs() < 1e-9);
        let expected = (0.1 * mass + 1.5) / (mass + 1.5);
        assert!((thin.condition - expected).abs() < 1e-12);
        // adding no stock changes nothing
        let before = thin;
        thin.merge(&Population::empty(), &rates);
        assert_eq!(thin, before);
    }

    #[test]
    fn screening_loses_only_the_unrecovered_part_of_the_share() {
        let rates = rates();
        // worms section 1.8: one trommel, 4-6 mm
        let trommel = WormRecovery { cocoon: 0.05, juvenile: 0.35, subadult: 0.85, adult: 0.95 };
        let before = Population::at_stable_structure(4.0, &rates);
        let mut bed = before;
        let lost = bed.recover(&trommel, 0.5, &rates);
        assert!((bed.adults / before.adults - 0.975).abs() < 1e-12);
        assert!((lost.cocoons / before.counts().cocoons - 0.475).abs() < 1e-12);
        assert!((lost.biomass + bed.biomass(&rates) - 4.0).abs() < 1e-12);
        assert!((lost.worms + bed.worms() - before.worms()).abs() < 1e-9);
        let untouched = bed.recover(&trommel, 0.0, &rates);
        assert_eq!(untouched, Lost::default());
    }

    #[test]
    fn a_negative_or_infinite_figure_is_detected() {
        assert!(Population::empty().is_finite());
        assert!(!Population { body: f64::NAN, ..Population::empty() }.is_finite());
        assert!(!Population::from_adult_count(-1.0).is_finite());
    }

    #[test]
    fn cocoons_weigh_their_number_times_their_mass() {
        let rates = rates();
        let stock = Population { cocoons: [2.0; COCOON_STAGES], body: 0.5, ..Population::empty() };
        let mass = stock.masses(&rates).cocoons;
        assert!((mass - 18.0 * rates.parameters().cocoon_mass).abs() < 1e-15, "{mass}");
    }
}
