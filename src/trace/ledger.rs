//! The ledger: every movement is booked once, from one holder to another, and every holder must hold what was booked.

use crate::matter::{ELEMENTS, Element, Elements, Gases, Material};
use std::{array, fmt};

/// Relative gap above which the balance of a holder does not close: sums of some 10^5 bookings lose about 10^-11.
pub const CLOSURE_TOLERANCE: f64 = 1e-9;

/// Who holds matter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holder {
    /// The world beyond the gate.
    Outside,
    /// The air.
    Air,
    /// Starter and bran, brewing and stored.
    Bran,
    /// The drums.
    Drums,
    /// The grinder and the paste it made.
    Grinder,
    /// Castings drying and being screened.
    Screen,
    /// Castings curing, stored and blended.
    Cure,
    /// A bed without its worms; of beds in one state the first has the account of each.
    Bed(usize),
    /// The live worms of a bed, kept in the same way.
    Stock(usize),
}

/// Holders before the beds that have an account.
const FIXED: usize = 5;

impl Holder {
    /// Place of its account; outside and air have none, for nobody knows what they hold.
    fn account(self) -> Option<usize> {
        match self {
            Self::Outside | Self::Air => None,
            Self::Bran => Some(0),
            Self::Drums => Some(1),
            Self::Grinder => Some(2),
            Self::Screen => Some(3),
            Self::Cure => Some(4),
            Self::Bed(n) => Some(FIXED + 2 * n),
            Self::Stock(n) => Some(FIXED + 2 * n + 1),
        }
    }

    /// How often a booking for `count` beds in one state enters its account.
    fn times(self, count: usize) -> f64 {
        match self {
            Self::Bed(_) | Self::Stock(_) => 1.0,
            _ => count as f64,
        }
    }
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Outside => write!(f, "outside"),
            Self::Air => write!(f, "air"),
            Self::Bran => write!(f, "bran"),
            Self::Drums => write!(f, "drums"),
            Self::Grinder => write!(f, "grinder"),
            Self::Screen => write!(f, "screen"),
            Self::Cure => write!(f, "cure"),
            Self::Bed(n) => write!(f, "bed {}", n + 1),
            Self::Stock(n) => write!(f, "stock of bed {}", n + 1),
        }
    }
}

macro_rules! flows {
    ($($variant:ident $stage:literal $name:literal $doc:literal;)*) => {
        /// A named movement of matter.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        #[repr(usize)]
        pub enum Flow {
            $(#[doc = $doc] $variant,)*
        }

        impl Flow {
            /// Every flow, in the order of the chain.
            pub const ALL: [Self; [$(Self::$variant),*].len()] = [$(Self::$variant),*];

            /// Stage it belongs to in the balance.
            pub const fn stage(self) -> &'static str {
                match self { $(Self::$variant => $stage,)* }
            }

            /// Name in files and reports.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name,)* }
            }
        }
    };
}

flows! {
    Intake "intake" "intake_to_drums" "Scraps taken into drums.";
    BranSupplies "bran" "bran_supplies" "Carrier, molasses, culture and water for starter and bran.";
    BranGas "bran" "bran_gas" "Gas and water vapour of brewing and drying.";
    BranOut "bran" "bran_discarded" "Starter and bran past their shelf life.";
    BranToDrums "bran" "bran_to_drums" "Bran strewn into drums.";
    DrumGas "drums" "drum_gas" "Gas of the drums.";
    LiquorOut "drums" "liquor_drained" "Liquor drained and sent away.";
    LiquorToPaste "drums" "liquor_returned" "Liquor returned to the paste.";
    DrumsToGrinder "drums" "drums_to_grinder" "Fermented scraps tipped into the grinder.";
    Rinse "grinder" "rinse_water" "Water that rinses the grinder.";
    RinseOut "grinder" "rinse_drained" "Rinse water sent to a drain with what it washed out.";
    Bulking "grinder" "bulking" "Bulking mixed into the paste.";
    Feed "grinder" "feed_to_beds" "Paste with bulking laid on the beds.";
    Irrigation "beds" "irrigation" "Water the operator adds.";
    BedGas "beds" "bed_gas" "Gas and water vapour of the beds.";
    Drainage "beds" "bed_drainage" "Water drained from the beds with its solutes.";
    Growth "beds" "worm_growth" "Tissue made by worms, less tissue returned by the dead and the starving.";
    StockBought "stock" "stock_bought" "Worms bought in.";
    StockSold "stock" "stock_sold" "Worms taken out for sale.";
    Harvest "harvest" "castings_harvested" "Castings taken from the beds.";
    StockLost "harvest" "worms_lost_in_castings" "Worms that did not come back from the screen.";
    ScreenGas "screen" "drying_vapour" "Water dried off before screening.";
    OversToBeds "screen" "overs_to_beds" "Overs returned to the beds.";
    OversOut "screen" "overs_out" "Overs sent away.";
    Screened "screen" "castings_screened" "Castings through the screen.";
    CureGas "cure" "cure_gas" "Gas of curing.";
    Compost "blend" "compost_bought" "Compost bought for the blend.";
    CastingsSold "product" "castings_sold" "Castings sold alone.";
    BlendSold "product" "blend_sold" "Blend sold.";
}

/// A holder whose contents are not the sum of its bookings: a fault of the program, not of the site.
#[derive(Debug, Clone, PartialEq)]
pub struct NotClosed {
    /// Day of the run on which it was found, from 0.
    pub day: usize,
    /// Holder.
    pub holder: Holder,
    /// Element.
    pub element: Element,
    /// Held less booked. # Units: kg
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
            self.holder,
            self.gap,
            self.relative
        )
    }
}

impl std::error::Error for NotClosed {}

/// What a holder must hold by its bookings, and what has come in.
#[derive(Debug, Clone, Copy, Default)]
struct Account {
    held: Elements,
    passed: Elements,
}

impl Account {
    fn enter(&mut self, elements: Elements) {
        self.held += elements;
        self.passed += elements.map(|e| if e > 0.0 { e } else { 0.0 });
    }

    /// An amount below zero comes back: worms that starve give to their bed, oxygen comes from the air.
    fn leave(&mut self, elements: Elements) {
        self.enter(-elements);
    }
}

/// Sums of bookings by holder and by flow.
#[derive(Debug, Clone)]
pub struct Ledger {
    accounts: Vec<Account>,
    matter: [Material; Flow::ALL.len()],
    gases: [Gases; Flow::ALL.len()],
    largest: f64,
}

impl Ledger {
    /// An empty ledger for a number of beds.
    pub fn new(beds: usize) -> Self {
        Self {
            accounts: vec![Account::default(); FIXED + 2 * beds],
            matter: [Material::zero(); Flow::ALL.len()],
            gases: [Gases::zero(); Flow::ALL.len()],
            largest: 0.0,
        }
    }

    /// Enters what a holder starts with. # Units: kg
    pub fn open(&mut self, holder: Holder, matter: &Material) {
        if let Some(place) = holder.account() {
            self.accounts[place].enter(matter.elements());
        }
    }

    /// Gives a bed the account of another, in whose state it was until now.
    pub fn copy_account(&mut self, from: Holder, to: Holder) {
        if let (Some(from), Some(to)) = (from.account(), to.account()) {
            self.accounts[to] = self.accounts[from];
        }
    }

    /// Books matter from one holder to another. # Units: kg
    pub fn book(&mut self, flow: Flow, from: Holder, to: Holder, matter: &Material) {
        self.book_each(flow, from, to, matter, 1);
    }

    /// Books the same matter for each of `count` beds in one state. # Units: kg, of one bed
    pub fn book_each(&mut self, flow: Flow, from: Holder, to: Holder, matter: &Material, count: usize) {
        // most bookings of nothing are told by their water alone
        if matter.water() == 0.0 && matter.wet() == 0.0 {
            return;
        }
        self.matter[flow as usize] += *matter * (count as f64);
        let elements = matter.elements();
        if let Some(place) = from.account() {
            self.accounts[place].leave(elements * from.times(count));
        }
        if let Some(place) = to.account() {
            self.accounts[place].enter(elements * to.times(count));
        }
    }

    /// Books gases to the air from a holder, or from each of `count` beds in one state (oxygen, negative, comes from it).
    pub fn book_gases(&mut self, flow: Flow, from: Holder, gases: &Gases, count: usize) {
        self.gases[flow as usize] += *gases * (count as f64);
        if let Some(place) = from.account() {
            self.accounts[place].leave(gases.elements() * from.times(count));
        }
    }

    /// Compares what a holder holds with its bookings.
    ///
    /// # Errors
    /// [`NotClosed`] when an element is off by more than [`CLOSURE_TOLERANCE`] of what passed through the holder.
    pub fn check(&mut self, day: usize, holder: Holder, elements: &Elements) -> Result<(), NotClosed> {
        let Some(place) = holder.account() else { return Ok(()) };
        let Account { held, passed } = &self.accounts[place];
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
                Err(NotClosed { day, holder, element: Element::ALL[e], gap: gaps[e], relative: relative[e] })
            }
        }
    }

    /// Largest relative gap seen so far: held less booked, over what ever came to the holder. # Units: 1
    pub fn largest_relative_residual(&self) -> f64 {
        self.largest
    }

    /// Matter booked under a flow so far. # Units: kg
    pub fn matter(&self, flow: Flow) -> &Material {
        &self.matter[flow as usize]
    }

    /// Gases booked under a flow so far. # Units: kg
    pub fn gases(&self, flow: Flow) -> &Gases {
        &self.gases[flow as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matter::{Component, Gas};

    #[test]
    fn a_kilogram_that_was_not_booked_is_found() {
        let mut ledger = Ledger::new(1);
        let mut bed = Material::of(Component::Fibre, 10.0);
        ledger.open(Holder::Bed(0), &bed);
        ledger.book(Flow::Irrigation, Holder::Outside, Holder::Bed(0), &Material::of(Component::Water, 5.0));
        bed += Material::of(Component::Water, 5.0);
        assert!(ledger.check(0, Holder::Bed(0), &bed.elements()).is_ok());
        bed[Component::Fibre] -= 1e-6;
        let fault = ledger.check(1, Holder::Bed(0), &bed.elements()).unwrap_err();
        assert_eq!((fault.day, fault.holder), (1, Holder::Bed(0)));
    }

    #[test]
    fn beds_in_one_state_share_an_account_until_they_part() {
        let mut ledger = Ledger::new(3);
        let each = Material::of(Component::Fibre, 2.0);
        ledger.open(Holder::Grinder, &Material::of(Component::Fibre, 6.0));
        ledger.book_each(Flow::Feed, Holder::Grinder, Holder::Bed(0), &each, 3);
        assert_eq!(ledger.matter(Flow::Feed)[Component::Fibre].to_bits(), 6f64.to_bits());
        assert!(ledger.check(0, Holder::Grinder, &Elements::zeros()).is_ok());
        ledger.copy_account(Holder::Bed(0), Holder::Bed(1));
        ledger.book_each(Flow::Harvest, Holder::Bed(0), Holder::Screen, &each, 1);
        assert!(ledger.check(0, Holder::Bed(0), &Elements::zeros()).is_ok());
        assert!(ledger.check(0, Holder::Bed(1), &each.elements()).is_ok());
        assert!(ledger.check(0, Holder::Screen, &each.elements()).is_ok());
        assert!(ledger.check(0, Holder::Bed(2), &each.elements()).is_err());
    }

    #[test]
    fn what_several_beds_give_is_booked_for_all_where_it_goes() {
        // three beds of 5 kg give 2 kg each to the screen; three times a kilogram of gas leaves the drums
        let mut ledger = Ledger::new(3);
        let fibre = |kg: f64| Material::of(Component::Fibre, kg);
        ledger.open(Holder::Bed(0), &fibre(5.0));
        ledger.book_each(Flow::Harvest, Holder::Bed(0), Holder::Screen, &fibre(2.0), 3);
        assert!(ledger.check(0, Holder::Bed(0), &fibre(3.0).elements()).is_ok());
        assert!(ledger.check(0, Holder::Screen, &fibre(6.0).elements()).is_ok());
        let gas = Gases::of(Gas::CarbonDioxide, 1.0);
        ledger.book_gases(Flow::DrumGas, Holder::Drums, &gas, 3);
        assert!(ledger.check(0, Holder::Drums, &(gas * -3.0).elements()).is_ok());
        assert!(ledger.check(0, Holder::Drums, &(gas * -2.0).elements()).is_err());
        assert_eq!(ledger.gases(Flow::DrumGas)[Gas::CarbonDioxide].to_bits(), 3f64.to_bits());
    }

    #[test]
    fn an_empty_bed_may_take_back_what_its_worms_lose() {
        let mut ledger = Ledger::new(1);
        let tissue = Material::of(Component::Protein, 0.1);
        ledger.open(Holder::Stock(0), &tissue);
        ledger.book(Flow::Growth, Holder::Bed(0), Holder::Stock(0), &-tissue);
        // the last bit of a sum is not a gap
        let bed = tissue * (1.0 + 4.0 * f64::EPSILON);
        assert!(ledger.check(0, Holder::Bed(0), &bed.elements()).is_ok());
        assert!(ledger.check(0, Holder::Bed(0), &(bed * 1.001).elements()).is_err());
    }

    #[test]
    fn the_largest_gap_is_kept() {
        // by hand: 10 kg of salt came, 1e-10 of it is not there; later all is
        let mut ledger = Ledger::new(1);
        let salt = Material::of(Component::Salt, 10.0);
        ledger.open(Holder::Bed(0), &salt);
        assert!(ledger.check(0, Holder::Bed(0), &(salt * (1.0 - 1e-10)).elements()).is_ok());
        assert!(ledger.check(1, Holder::Bed(0), &salt.elements()).is_ok());
        assert!((ledger.largest_relative_residual() / 1e-10 - 1.0).abs() < 1e-5);
        // a millionth of a gram is no smaller gap for that
        let gram = Material::of(Component::Salt, 0.001);
        ledger.open(Holder::Stock(0), &gram);
        assert!(ledger.check(2, Holder::Stock(0), &(gram * (1.0 - 1e-6)).elements()).is_err());
    }

    #[test]
    fn matter_that_was_not_booked_at_all_is_found_whatever_it_is() {
        let mut all = Material::zero();
        for component in Component::ALL {
            all[component] = 1.0;
        }
        assert!(all.elements().iter().all(|kg| *kg > 0.0), "every element is in it");
        let mut ledger = Ledger::new(1);
        ledger.open(Holder::Bed(0), &all);
        assert!(ledger.check(0, Holder::Bed(0), &(all * 2.0).elements()).is_err());
        assert!(ledger.check(0, Holder::Bed(0), &Elements::zeros()).is_err());
    }
}
