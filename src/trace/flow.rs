//! The movements of matter, one row each: everything the program knows of a movement is in its row.

use super::Holder;
use schemars::JsonSchema;
use serde::Serialize;
use std::fmt;

/// Groups in which tables list the movements.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "each name says what it is")]
pub enum FlowGroup {
    Intake,
    Bran,
    Drums,
    Grinder,
    Beds,
    Stock,
    Harvest,
    Screen,
    Cure,
    Blend,
    Product,
}

impl FlowGroup {
    /// Name in files and tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Intake => "intake",
            Self::Bran => "bran",
            Self::Drums => "drums",
            Self::Grinder => "grinder",
            Self::Beds => "beds",
            Self::Stock => "stock",
            Self::Harvest => "harvest",
            Self::Screen => "screen",
            Self::Cure => "cure",
            Self::Blend => "blend",
            Self::Product => "product",
        }
    }
}

macro_rules! flows {
    ($($variant:ident: $from:ident > $to:ident, $group:ident, $name:literal, $words:literal, $doc:literal;)*) => {
        /// A movement of matter. What moves to the air is gas.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, JsonSchema)]
        #[repr(usize)]
        pub enum Flow {
            $(#[doc = $doc] #[serde(rename = $name)] $variant,)*
        }

        impl Flow {
            /// Every movement, in the order of the chain.
            pub const ALL: [Self; [$(Self::$variant),*].len()] = [$(Self::$variant),*];

            /// Holder that gives.
            pub const fn from(self) -> Holder {
                match self { $(Self::$variant => Holder::$from,)* }
            }

            /// Holder that receives.
            pub const fn to(self) -> Holder {
                match self { $(Self::$variant => Holder::$to,)* }
            }

            /// Group in which tables list it.
            pub const fn group(self) -> FlowGroup {
                match self { $(Self::$variant => FlowGroup::$group,)* }
            }

            /// Name in files.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name,)* }
            }

            /// What moves, in words for people.
            pub const fn words(self) -> &'static str {
                match self { $(Self::$variant => $words,)* }
            }
        }
    };
}

flows! {
    Intake: Outside > Drums, Intake, "intake_to_drums", "scraps", "Scraps taken into drums.";
    FreshScraps: Outside > Paste, Intake, "intake_to_paste", "fresh scraps", "Scraps fed without drums.";
    BranSupplies: Outside > Bran, Bran, "bran_supplies", "bran supplies", "Carrier, molasses, culture and water for starter and bran.";
    BranGas: Bran > Air, Bran, "bran_gas", "gas of the bran", "Gas and water vapour of brewing and drying.";
    BranOut: Bran > Outside, Bran, "bran_discarded", "bran discarded", "Starter and bran past their shelf life.";
    BranToDrums: Bran > Drums, Bran, "bran_to_drums", "bran used", "Bran spread in drums.";
    DrumGas: Drums > Air, Drums, "drum_gas", "gas of the drums", "Gas of the drums.";
    LiquorOut: Drums > Outside, Drums, "liquor_drained", "liquor", "Liquor drained and sent away.";
    LiquorToPaste: Drums > Paste, Drums, "liquor_returned", "liquor returned", "Liquor returned to the paste.";
    DrumsToGrinder: Drums > Paste, Drums, "drums_to_grinder", "fermented scraps", "Fermented scraps tipped out at the grinder.";
    Rinse: Outside > Paste, Grinder, "rinse_water", "rinse water", "Water that rinses the grinder.";
    RinseOut: Paste > Outside, Grinder, "rinse_drained", "rinse water drained", "Rinse water sent to a drain with what it washed out.";
    Bulking: Outside > Paste, Grinder, "bulking", "bulking", "Bulking mixed into the paste.";
    Grit: Outside > Paste, Grinder, "grit", "grit", "Grit, soil or lime mixed into the feed.";
    Feed: Paste > Beds, Grinder, "feed_to_beds", "feed", "Paste with bulking laid on the beds.";
    Irrigation: Outside > Beds, Beds, "irrigation", "water added", "Water the operator adds.";
    BedGas: Beds > Air, Beds, "bed_gas", "gas of the beds", "Gas and water vapour of the beds.";
    Drainage: Beds > Outside, Beds, "bed_drainage", "drainage", "Water drained from the beds with its solutes.";
    Growth: Beds > Stock, Beds, "worm_growth", "worm growth", "Tissue made by worms, less tissue returned by the dead and the starving.";
    StockBought: Outside > Stock, Stock, "stock_bought", "worms bought", "Worms bought in.";
    StockSold: Stock > Outside, Stock, "stock_sold", "worms sold", "Worms taken out for sale.";
    Harvest: Beds > Screen, Harvest, "castings_harvested", "castings harvested", "Castings taken from the beds.";
    StockLost: Stock > Screen, Harvest, "worms_lost_in_castings", "worms lost in castings", "Worms that did not come back from the screen.";
    ScreenGas: Screen > Air, Screen, "drying_vapour", "drying vapour", "Water dried off before screening.";
    OversToBeds: Screen > Beds, Screen, "overs_to_beds", "oversize returned", "Oversize returned to the beds.";
    OversOut: Screen > Outside, Screen, "overs_out", "oversize sent away", "Oversize sent away.";
    Screened: Screen > Castings, Screen, "castings_screened", "castings screened", "Castings through the screen.";
    CureGas: Castings > Air, Cure, "cure_gas", "gas of curing", "Gas of curing.";
    Compost: Outside > Castings, Blend, "compost_bought", "compost bought", "Compost bought for the blend.";
    CastingsSold: Castings > Outside, Product, "castings_sold", "castings sold", "Castings sold alone.";
    BlendSold: Castings > Outside, Product, "blend_sold", "blend sold", "Blend sold.";
}

impl Flow {
    /// Whether it moves gas.
    pub fn is_gas(self) -> bool {
        self.to() == Holder::Air
    }
}

impl fmt::Display for Flow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_in_files_and_in_code_agree() {
        for flow in Flow::ALL {
            assert_eq!(serde_json::to_value(flow).unwrap(), flow.name());
            assert_eq!(serde_json::to_value(flow.group()).unwrap(), flow.group().name());
            for holder in [flow.from(), flow.to()] {
                assert_eq!(serde_json::to_value(holder).unwrap(), holder.name());
            }
        }
    }
}
