//! Choices that are one of a few words.

use super::section::Shape;

/// Days of the week as scenarios call them, Monday to Sunday.
pub fn weekday_names() -> [&'static str; 7] {
    std::array::from_fn(|day| Weekday::ALL[day].name())
}

/// A choice that is one of a few words.
pub(super) trait Word: Copy + PartialEq + 'static {
    /// Every choice.
    const ALL: &'static [Self];

    /// The word in the file.
    fn name(self) -> &'static str;

    /// The words with their texts.
    fn shape() -> Shape;
}

/// Declares a choice; the doc comment of a variant is the text of its word in the schema.
macro_rules! words {
    ($(
        #[doc = $about:literal]
        $vis:vis enum $Name:ident { $( #[doc = $text:literal] $Variant:ident = $word:literal, )+ }
    )+) => { $(
        #[doc = $about]
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        $vis enum $Name { $( #[doc = $text] $Variant, )+ }

        impl Word for $Name {
            const ALL: &'static [Self] = &[$( Self::$Variant ),+];

            fn name(self) -> &'static str {
                match self { $( Self::$Variant => $word, )+ }
            }

            fn shape() -> Shape {
                Shape::Words($about, &[$( ($word, $text) ),+])
            }
        }
    )+ };
}

words! {
    /// Lid of a drum.
    pub enum Vent {
        /// One-way valve or airlock.
        Valve = "valve",
        /// No way out: pressure builds.
        Sealed = "sealed",
    }

    /// A place or trade whose published limits and thresholds are applied.
    pub enum Rules {
        /// Austria: volume of compost a year of small producers.
        Austria = "austria",
        /// California: area and volume of small composting.
        California = "california",
        /// European Union: organic soil improver, EU 2019/1009.
        EuropeanUnion = "european_union",
        /// India: Fertiliser Control Order, vermicompost.
        India = "india",
        /// Iowa: scraps from elsewhere without a permit.
        Iowa = "iowa",
        /// Trade practice: live castings, greenhouse mixes.
        Trade = "trade",
        /// United States: limits of germs of Class A.
        UnitedStates = "united_states",
        /// Wisconsin: volume of source-separated compostables.
        Wisconsin = "wisconsin",
    }

    /// Which ranges draws have where published trials narrowed them.
    pub enum Ranges {
        /// Those that published trials left.
        AfterPrints = "after_prints",
        /// Those of the tables, before any trial was looked at.
        AsPrinted = "as_printed",
    }

    /// How scraps reach the beds.
    pub enum Scraps {
        /// Fermented in drums, then ground.
        Fermented = "fermented",
        /// Fresh: ground as they come, without drums and bran.
        Ground = "ground",
        /// Fresh and whole: laid as they come, without drums, bran and grinder.
        Whole = "whole",
    }

    /// What becomes of the liquor.
    pub enum Liquor {
        /// Drained and taken off the site.
        Drained = "drained",
        /// Drained and poured back into the paste.
        Returned = "returned",
        /// Not drained: it stays in the drum and is ground with the rest.
        Kept = "kept",
    }

    /// Walls and roof of a heated room.
    pub enum Building {
        /// Insulated panels of 60 to 100 mm.
        Insulated = "insulated",
        /// Brick or concrete without insulation.
        Brick = "brick",
        /// Single sheet metal.
        SheetMetal = "sheet_metal",
        /// Double film, as of a greenhouse.
        DoubleFilm = "double_film",
        /// Single film.
        SingleFilm = "single_film",
    }

    /// What heats a room.
    pub enum HeatedBy {
        /// Electric heaters.
        Electricity = "electricity",
        /// Heat pump.
        HeatPump = "heat_pump",
        /// Gas boiler; its fuel has a price of its own.
        Gas = "gas",
        /// Waste heat of neighbours, which costs nothing.
        WasteHeat = "waste_heat",
    }

    /// Where what runs off a site goes.
    pub enum DrainsTo {
        /// Not decided yet.
        Undecided = "undecided",
        /// Public sewer; its operator must consent.
        Sewer = "sewer",
        /// Collected from the tank by a tanker.
        Tanker = "tanker",
        /// Spread on land; salt, nitrogen and the authority limit how much.
        Land = "land",
    }

    /// Where the rinse water of the grinder goes.
    pub enum Rinse {
        /// Into the paste, and with it to the beds.
        Beds = "beds",
        /// Down the drain, with the paste that it washes out.
        Drain = "drain",
    }

    /// Day of the week.
    pub(super) enum Weekday {
        /// Monday.
        Monday = "monday",
        /// Tuesday.
        Tuesday = "tuesday",
        /// Wednesday.
        Wednesday = "wednesday",
        /// Thursday.
        Thursday = "thursday",
        /// Friday.
        Friday = "friday",
        /// Saturday.
        Saturday = "saturday",
        /// Sunday.
        Sunday = "sunday",
    }

    /// Ages of bought worms.
    pub enum Structure {
        /// Adults only.
        Adults = "adults",
        /// Stable structure of a growing stock, cocoons included.
        Stable = "stable",
        /// Bed-run mix of ages without cocoons.
        Mixed = "mixed",
    }

    /// How worms and castings are separated.
    pub enum Method {
        /// One rotating screen.
        Trommel = "trommel",
        /// Coarse and fine deck; fine castings held and re-baited for hatchlings.
        TwoDecks = "two_decks",
        /// Worms leave by themselves, to light or bait.
        Migration = "migration",
        /// Castings cut from below; worms stay above.
        BottomCut = "bottom_cut",
    }

    /// What dries harvested castings.
    pub enum DriedBy {
        /// The weather alone, on a floor.
        Air = "air",
        /// A fan that moves outdoor air, over a floor or through racks; damp air takes up little.
        Fan = "fan",
        /// A heat-pump dryer.
        HeatPump = "heat_pump",
        /// Electric warm air.
        Heat = "heat",
    }

    /// Where the oversize of the screen goes.
    pub enum Overs {
        /// Back to the beds.
        ToBeds = "to_beds",
        /// Off the site.
        Out = "out",
    }
}
