//! The ledger: every movement is booked once, from one holder to another, and every holder must hold what was booked.

use crate::component::ELEMENTS;
use crate::component::Element;
use crate::material::Elements;
use crate::material::Gases;
use crate::material::Material;
use std::fmt;

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
    /// A bed without its worms.
    Bed(usize),
    /// The live worms of a bed.
    Stock(usize),
}

/// Holders before the beds.
const FIXED: usize = 7;

impl Holder {
    fn index(self) -> usize {
        match self {
            Self::Outside => 0,
            Self::Air => 1,
            Self::Bran => 2,
            Self::Drums => 3,
            Self::Grinder => 4,
            Self::Screen => 5,
            Self::Cure => 6,
            Self::Bed(n) => FIXED + 2 * n,
            Self::Stock(n) => FIXED + 2 * n + 1,
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
    /// Day of the run, from 0.
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

/// Sums of bookings by holder and by flow.
#[derive(Debug, Clone)]
pub struct Ledger {
    held: Vec<Elements>,
    passed: Vec<Elements>,
    matter: [Material; Flow::ALL.len()],
    gases: [Gases; Flow::ALL.len()],
    largest: f64,
}

impl Ledger {
    /// An empty ledger for a number of beds.
    pub fn new(beds: usize) -> Self {
        let holders = FIXED + 2 * beds;
        Self {
            held: vec![Elements::zeros(); holders],
            passed: vec![Elements::zeros(); holders],
            matter: [Material::zero(); Flow::ALL.len()],
            gases: [Gases::zero(); Flow::ALL.len()],
            largest: 0.0,
        }
    }

    /// Enters what a holder starts with.
    pub fn open(&mut self, holder: Holder, matter: &Material) {
        let elements = matter.elements();
        self.held[holder.index()] += elements;
        self.passed[holder.index()] += elements.abs();
    }

    /// Books matter from one holder to another.
    pub fn book(&mut self, flow: Flow, from: Holder, to: Holder, matter: &Material) {
        // most bookings of nothing are told by their water alone
        if matter.water() == 0.0 && matter.wet() == 0.0 {
            return;
        }
        self.matter[flow as usize] += *matter;
        self.shift(from, to, &matter.elements());
    }

    /// Books gases from a holder to the air (oxygen, negative, comes from it).
    pub fn book_gases(&mut self, flow: Flow, from: Holder, gases: &Gases) {
        self.gases[flow as usize] += *gases;
        self.shift(from, Holder::Air, &gases.elements());
    }

    fn shift(&mut self, from: Holder, to: Holder, elements: &Elements) {
        self.held[from.index()] -= elements;
        self.held[to.index()] += elements;
        // an amount below zero comes back: worms that starve give to their bed, oxygen comes from the air
        for e in 0..ELEMENTS {
            let into = if elements[e] < 0.0 { from } else { to };
            self.passed[into.index()][e] += elements[e].abs();
        }
    }

    /// Compares what a holder holds with its bookings.
    ///
    /// # Errors
    /// [`NotClosed`] when an element is off by more than [`CLOSURE_TOLERANCE`] of what passed through the holder.
    pub fn check(&mut self, day: usize, holder: Holder, elements: &Elements) -> Result<(), NotClosed> {
        let (held, passed) = (&self.held[holder.index()], &self.passed[holder.index()]);
        // an element of which little passed is known to the last bits of the whole: reactions move it with the others
        let scale = passed.sum() * 1e-6 + f64::MIN_POSITIVE;
        for e in 0..ELEMENTS {
            let gap = elements[e] - held[e];
            let relative = gap.abs() / (passed[e] + scale);
            self.largest = self.largest.max(relative);
            if relative.is_nan() || relative > CLOSURE_TOLERANCE {
                return Err(NotClosed { day, holder, element: Element::ALL[e], gap, relative });
            }
        }
        Ok(())
    }

    /// Largest relative gap seen so far.
    pub fn largest_relative_residual(&self) -> f64 {
        self.largest
    }

    /// Matter booked under a flow so far.
    pub fn matter(&self, flow: Flow) -> &Material {
        &self.matter[flow as usize]
    }

    /// Gases booked under a flow so far.
    pub fn gases(&self, flow: Flow) -> &Gases {
        &self.gases[flow as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::component::Component;

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
}
