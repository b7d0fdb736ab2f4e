//! The ledger: every movement is booked once, and every holder must hold what was booked.

use super::holder::FIXED;
use super::{Account, Flow, Holder};
use crate::matter::lane;
use crate::matter::{ELEMENTS, Element, Elements, Gases, Material};
use std::ops::Range;
use std::{array, fmt};

/// Relative gap above which the balance of a holder does not close: sums of some 10^5 bookings lose about 10^-11.
pub const CLOSURE_TOLERANCE: f64 = 1e-9;

/// Neighbouring beds in one state, which share the account of the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EqualBeds {
    /// The first, from 0.
    pub first: usize,
    /// How many.
    pub count: usize,
}

impl EqualBeds {
    /// Their numbers, from 0.
    pub fn numbers(self) -> Range<usize> {
        self.first..self.first + self.count
    }
}

/// A holder whose contents are not the sum of its bookings: a fault of the program, not of the site.
#[derive(Debug, Clone, PartialEq)]
pub struct NotClosed {
    /// Day of the run on which it was found, from 0.
    pub day: usize,
    /// Account.
    pub account: Account,
    /// Element.
    pub element: Element,
    /// Held less booked, kg.
    pub gap: f64,
    /// The gap over what ever came to the holder.
    pub relative: f64,
}

impl fmt::Display for NotClosed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "the balance does not close on day {}: {} of {} is off by {:e} kg ({:e} relative)",
            self.day,
            self.element.name(),
            self.account,
            self.gap,
            self.relative
        )
    }
}

impl std::error::Error for NotClosed {}

/// What a holder must hold by its bookings, and what has come in.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    held: Elements,
    passed: Elements,
}

impl Sums {
    #[inline(always)]
    fn enter(&mut self, elements: Elements) {
        self.held += elements;
        self.passed += elements.map(|e| if e > 0.0 { e } else { 0.0 });
    }

    /// An amount below zero comes back: worms that starve give to their bed, oxygen comes from the air.
    #[inline(always)]
    fn leave(&mut self, elements: Elements) {
        self.enter(-elements);
    }
}

/// An end of a movement: the account in which it is entered, and how often.
type End = Option<(usize, f64)>;

/// The end of a movement at a holder: beds in one state share an account, other holders give or take for all.
#[inline(always)]
fn end(holder: Holder, beds: EqualBeds) -> End {
    let times = if holder.is_by_bed() { 1.0 } else { beds.count as f64 };
    holder.of_bed(beds.first).place().map(|place| (place, times))
}

/// Sums of bookings by holder and by flow.
#[derive(Debug, Clone)]
pub struct Ledger {
    accounts: Vec<Sums>,
    matter: [Material; Flow::ALL.len()],
    gases: [Gases; Flow::ALL.len()],
    largest: f64,
}

impl Ledger {
    /// An empty ledger for a number of beds.
    pub fn new(beds: usize) -> Self {
        Self {
            accounts: vec![Sums::default(); FIXED + 2 * beds],
            matter: [Material::zero(); Flow::ALL.len()],
            gases: [Gases::zero(); Flow::ALL.len()],
            largest: 0.0,
        }
    }

    /// Enters what a holder starts with, kg.
    pub fn open(&mut self, account: impl Into<Account>, matter: &Material) {
        if let Some(place) = account.into().place() {
            self.accounts[place].enter(matter.elements());
        }
    }

    /// Enters gas that a holder starts with, kg.
    pub fn open_gases(&mut self, account: impl Into<Account>, gases: &Gases) {
        if let Some(place) = account.into().place() {
            self.accounts[place].enter(gases.elements());
        }
    }

    /// Gives a bed the account of another, in whose state it was until now.
    pub fn copy_account(&mut self, from: Account, to: Account) {
        if let (Some(from), Some(to)) = (from.place(), to.place()) {
            self.accounts[to] = self.accounts[from];
        }
    }

    /// Books a movement between holders that have one account each, kg.
    #[inline]
    pub fn book(&mut self, flow: Flow, matter: &Material) {
        debug_assert!(!flow.from().is_by_bed() && !flow.to().is_by_bed(), "{flow} needs its beds");
        self.book_beds(flow, EqualBeds { first: 0, count: 1 }, matter);
    }

    /// Books a movement from or to each of some beds in one state, kg of one bed.
    // inlined, so that what follows from a flow is known when this is compiled
    #[inline]
    pub fn book_beds(&mut self, flow: Flow, beds: EqualBeds, matter: &Material) {
        debug_assert!(!flow.is_gas(), "{flow} is gas");
        self.move_matter(flow, beds.count as f64, matter, [end(flow.from(), beds), end(flow.to(), beds)]);
    }

    fn move_matter(&mut self, flow: Flow, count: f64, matter: &Material, [from, to]: [End; 2]) {
        if matter.is_nothing() {
            return;
        }
        lane::in_wide_registers(
            #[inline(always)]
            || {
                self.matter[flow as usize] += *matter * count;
                let elements = matter.elements();
                if let Some((place, times)) = from {
                    self.accounts[place].leave(elements * times);
                }
                if let Some((place, times)) = to {
                    self.accounts[place].enter(elements * times);
                }
            },
        );
    }

    /// Books gas to the air, kg (oxygen, negative, comes from it).
    #[inline]
    pub fn book_gases(&mut self, flow: Flow, gases: &Gases) {
        debug_assert!(!flow.from().is_by_bed(), "{flow} needs its beds");
        self.book_bed_gases(flow, EqualBeds { first: 0, count: 1 }, gases);
    }

    /// Books gas to the air from each of some beds in one state, kg of one bed.
    #[inline]
    pub fn book_bed_gases(&mut self, flow: Flow, beds: EqualBeds, gases: &Gases) {
        debug_assert!(flow.is_gas(), "{flow} is not gas");
        self.move_gases(flow, beds.count as f64, gases, end(flow.from(), beds));
    }

    fn move_gases(&mut self, flow: Flow, count: f64, gases: &Gases, from: End) {
        lane::in_wide_registers(
            #[inline(always)]
            || {
                self.gases[flow as usize] += *gases * count;
                if let Some((place, times)) = from {
                    self.accounts[place].leave(gases.elements() * times);
                }
            },
        );
    }

    /// What was booked since an earlier state of the same ledger; accounts and gaps stay those of the whole.
    #[must_use]
    pub fn since(&self, earlier: &Self) -> Self {
        Self {
            accounts: self.accounts.clone(),
            matter: array::from_fn(|flow| self.matter[flow] - earlier.matter[flow]),
            gases: array::from_fn(|flow| self.gases[flow] - earlier.gases[flow]),
            largest: self.largest,
        }
    }

    /// Compares what a holder holds with its bookings.
    ///
    /// # Errors
    /// [`NotClosed`] when an element is off by more than [`CLOSURE_TOLERANCE`] of what passed through the holder.
    pub fn check(
        &mut self,
        day: usize,
        account: impl Into<Account>,
        elements: &Elements,
    ) -> Result<(), NotClosed> {
        let account = account.into();
        let Some(place) = account.place() else { return Ok(()) };
        let Sums { held, passed } = &self.accounts[place];
        // an element of which little passed is known to the last bits of the whole: reactions move it with the others
        let scale = passed.sum() * 1e-6 + f64::MIN_POSITIVE;
        let gaps = elements - held;
        // most checks end here, without a division: no gap is larger than one that was seen before
        let seen = self.largest.min(CLOSURE_TOLERANCE);
        if (0..ELEMENTS).all(|e| gaps[e].abs() <= seen * (passed[e] + scale)) {
            return Ok(());
        }
        let relative: [f64; ELEMENTS] = array::from_fn(|e| gaps[e].abs() / (passed[e] + scale));
        self.largest = relative.iter().copied().fold(self.largest, f64::max);
        match relative.iter().position(|r| r.is_nan() || *r > CLOSURE_TOLERANCE) {
            None => Ok(()),
            Some(e) => {
                Err(NotClosed { day, account, element: Element::ALL[e], gap: gaps[e], relative: relative[e] })
            }
        }
    }

    /// Largest relative gap seen so far: held less booked, over what ever came to the holder.
    pub fn largest_relative_residual(&self) -> f64 {
        self.largest
    }

    /// Gases of all movements so far, kg.
    pub fn all_gases(&self) -> Gases {
        self.gases.iter().fold(Gases::zero(), |sum, gases| sum + *gases)
    }

    /// Matter booked under a movement so far, kg.
    pub fn matter(&self, flow: Flow) -> &Material {
        &self.matter[flow as usize]
    }

    /// Gases booked under a movement so far, kg.
    pub fn gases(&self, flow: Flow) -> &Gases {
        &self.gases[flow as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matter::{Component, Gas};

    fn beds(first: usize, count: usize) -> EqualBeds {
        EqualBeds { first, count }
    }

    #[test]
    fn a_milligram_that_was_not_booked_is_found() {
        let mut ledger = Ledger::new(1);
        let mut bed = Material::of(Component::Fibre, 10.0);
        ledger.open(Holder::Beds.of_bed(0), &bed);
        ledger.book_beds(Flow::Irrigation, beds(0, 1), &Material::of(Component::Water, 5.0));
        bed += Material::of(Component::Water, 5.0);
        assert!(ledger.check(0, Holder::Beds.of_bed(0), &bed.elements()).is_ok());
        bed[Component::Fibre] -= 1e-6;
        let fault = ledger.check(1, Holder::Beds.of_bed(0), &bed.elements()).unwrap_err();
        assert_eq!((fault.day, fault.account), (1, Holder::Beds.of_bed(0)));
    }

    #[test]
    fn beds_in_one_state_share_an_account_until_they_part() {
        let mut ledger = Ledger::new(3);
        let each = Material::of(Component::Fibre, 2.0);
        ledger.open(Holder::Paste, &Material::of(Component::Fibre, 6.0));
        ledger.book_beds(Flow::Feed, beds(0, 3), &each);
        assert_eq!(ledger.matter(Flow::Feed)[Component::Fibre].to_bits(), 6f64.to_bits());
        assert!(ledger.check(0, Holder::Paste, &Elements::zeros()).is_ok());
        ledger.copy_account(Holder::Beds.of_bed(0), Holder::Beds.of_bed(1));
        ledger.book_beds(Flow::Harvest, beds(0, 1), &each);
        assert!(ledger.check(0, Holder::Beds.of_bed(0), &Elements::zeros()).is_ok());
        assert!(ledger.check(0, Holder::Beds.of_bed(1), &each.elements()).is_ok());
        assert!(ledger.check(0, Holder::Screen, &each.elements()).is_ok());
        assert!(ledger.check(0, Holder::Beds.of_bed(2), &each.elements()).is_err());
    }

    #[test]
    fn other_holders_get_what_all_beds_of_a_group_give() {
        // three beds of 5 kg give 2 kg and 1 kg of gas each
        let mut ledger = Ledger::new(3);
        let fibre = |kg: f64| Material::of(Component::Fibre, kg);
        ledger.open(Holder::Beds.of_bed(0), &fibre(5.0));
        ledger.book_beds(Flow::Harvest, beds(0, 3), &fibre(2.0));
        assert!(ledger.check(0, Holder::Beds.of_bed(0), &fibre(3.0).elements()).is_ok());
        assert!(ledger.check(0, Holder::Screen, &fibre(6.0).elements()).is_ok());
        let gas = Gases::of(Gas::CarbonDioxide, 1.0);
        ledger.book_bed_gases(Flow::BedGas, beds(0, 3), &gas);
        let left = fibre(3.0).elements() - gas.elements();
        assert!(ledger.check(0, Holder::Beds.of_bed(0), &left).is_ok());
        assert!(ledger.check(0, Holder::Beds.of_bed(0), &(left - gas.elements())).is_err());
        assert_eq!(ledger.gases(Flow::BedGas)[Gas::CarbonDioxide].to_bits(), 3f64.to_bits());
        assert_eq!(ledger.all_gases()[Gas::CarbonDioxide].to_bits(), 3f64.to_bits());
    }

    #[test]
    fn a_bed_takes_back_what_its_worms_lose() {
        let mut ledger = Ledger::new(1);
        let tissue = Material::of(Component::Protein, 0.1);
        ledger.open(Holder::Stock.of_bed(0), &tissue);
        ledger.book_beds(Flow::Growth, beds(0, 1), &-tissue);
        // the last bit of a sum is not a gap
        let bed = tissue * (1.0 + 4.0 * f64::EPSILON);
        assert!(ledger.check(0, Holder::Beds.of_bed(0), &bed.elements()).is_ok());
        assert!(ledger.check(0, Holder::Beds.of_bed(0), &(bed * 1.001).elements()).is_err());
    }

    #[test]
    fn the_largest_gap_is_remembered() {
        // by hand: 10 kg of salt came, 1e-10 of it is not there; later all is
        let mut ledger = Ledger::new(1);
        let salt = Material::of(Component::Salt, 10.0);
        ledger.open(Holder::Beds.of_bed(0), &salt);
        assert!(ledger.check(0, Holder::Beds.of_bed(0), &(salt * (1.0 - 1e-10)).elements()).is_ok());
        assert!(ledger.check(1, Holder::Beds.of_bed(0), &salt.elements()).is_ok());
        assert!((ledger.largest_relative_residual() / 1e-10 - 1.0).abs() < 1e-5);
        // a millionth of a gram is no smaller gap for that
        let gram = Material::of(Component::Salt, 0.001);
        ledger.open(Holder::Stock.of_bed(0), &gram);
        assert!(ledger.check(2, Holder::Stock.of_bed(0), &(gram * (1.0 - 1e-6)).elements()).is_err());
    }

    #[test]
    fn unbooked_matter_of_every_element_is_found() {
        let mut all = Material::zero();
        for component in Component::ALL {
            all[component] = 1.0;
        }
        assert!(all.elements().iter().all(|kg| *kg > 0.0), "every element is in it");
        let mut ledger = Ledger::new(1);
        ledger.open(Holder::Beds.of_bed(0), &all);
        assert!(ledger.check(0, Holder::Beds.of_bed(0), &(all * 2.0).elements()).is_err());
        assert!(ledger.check(0, Holder::Beds.of_bed(0), &Elements::zeros()).is_err());
    }
}
