//! What a log may tell: one row each.

use crate::quantity::Kind;
use schemars::JsonSchema;
use serde::Serialize;

/// What the `where` of a line may name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whereabouts {
    /// Nothing: it is of the whole site.
    Site,
    /// A stream; may be left out where there is one.
    Stream,
    /// A bed or a group of beds; left out, all beds.
    Beds,
    /// A bed or a group of beds; left out, the bed whose last harvest is longest ago.
    BedInTurn,
}

/// How lines are compared with the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Compared {
    /// Amounts of a day: their sums from the first to the last line.
    Sum,
    /// A state of the evening: day by day.
    State,
    /// A figure of castings as they were harvested last.
    Harvest,
}

/// A row of the table.
pub struct LogRow {
    /// Word in the log.
    pub word: &'static str,
    /// What it is, for readers.
    pub about: &'static str,
    /// Kind of its quantity.
    pub quantity: Kind,
    /// Smallest and largest value that can be, in the documented unit.
    pub range: (f64, f64),
    /// What `where` names.
    pub place: Whereabouts,
    /// How it is compared.
    pub compared: Compared,
    /// Whether the model takes it as known, in place of the plan's.
    pub known: bool,
}

macro_rules! kinds {
    ($($Kind:ident: $word:literal, $quantity:ident, $low:literal to $high:literal, $place:ident, $compared:ident, $known:ident, $about:literal;)*) => {
        /// What a line of a log tells.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
        #[serde(rename_all = "snake_case")]
        pub enum LogKind {
            $(#[doc = $about] $Kind,)*
        }

        impl LogKind {
            /// Every kind, in the order of the chain.
            pub const ALL: [Self; [$($word),*].len()] = [$(Self::$Kind),*];

            /// Its row.
            pub const fn row(self) -> &'static LogRow {
                match self {
                    $(Self::$Kind => &LogRow {
                        word: $word,
                        about: $about,
                        quantity: Kind::$quantity,
                        range: ($low, $high),
                        place: Whereabouts::$place,
                        compared: Compared::$compared,
                        known: $known,
                    },)*
                }
            }
        }
    };
}

kinds! {
    ScrapsIn: "scraps in", Mass, 0.0 to 1e6, Stream, Sum, true, "Scraps that arrived, as weighed at the gate.";
    WormsIn: "worms in", Mass, 0.0 to 1e5, Site, Sum, true, "Live worms bought.";
    DrumRoom: "drum room", Temperature, -30.0 to 60.0, Site, State, true, "Temperature of the drum room.";
    BedRoom: "bed room", Temperature, -30.0 to 60.0, Site, State, true, "Temperature of the bed room.";
    CastingsTaken: "castings taken", Mass, 0.0 to 1e6, BedInTurn, Sum, true, "Castings harvested, wet: the day and bed are known, the mass is measured.";
    DrumsInUse: "drums in use", Count, 0.0 to 20_000.0, Site, State, false, "Drums in use in the evening, the one being filled included.";
    DrumsOpened: "drums opened", Count, 0.0 to 20_000.0, Site, Sum, false, "Drums opened.";
    OpenedPh: "pH at opening", Acidity, 2.0 to 10.0, Site, State, false, "pH of the drums opened.";
    Liquor: "liquor", Mass, 0.0 to 1e6, Site, Sum, false, "Liquor drained.";
    Bulking: "bulking", Mass, 0.0 to 1e6, Site, Sum, false, "Bulking mixed in.";
    FeedLaid: "feed laid", Mass, 0.0 to 1e6, Beds, Sum, false, "Paste with bulking laid on beds.";
    WaterAdded: "water added", Volume, 0.0 to 1e4, Site, Sum, false, "Water added to the beds.";
    BedTemperature: "bed temperature", Temperature, -20.0 to 80.0, Beds, State, false, "Temperature of beds.";
    BedMoisture: "bed moisture", Share, 0.05 to 1.0, Beds, State, false, "Moisture where worms live.";
    BedPh: "bed pH", Acidity, 2.0 to 12.0, Beds, State, false, "pH where worms live.";
    BedDepth: "bed depth", Length, 0.0 to 3.0, Beds, State, false, "Depth of all layers.";
    WormMass: "worm mass", Mass, 0.0 to 1e6, Beds, State, false, "Live worms in the beds named, by weight.";
    WormDensity: "worms sampled", ArealMass, 0.0 to 100.0, Beds, State, false, "Live worms per area, from samples.";
    YoungShare: "young worms", Share, 0.0 to 1.0, Site, State, false, "Juveniles and sub-adults in the live mass of worms.";
    CastingsMoisture: "castings moisture", Share, 0.0 to 1.0, Beds, Harvest, false, "Moisture of castings as harvested.";
    CastingsCarbon: "castings carbon", Share, 0.0 to 0.7, Beds, Harvest, false, "Carbon of castings in dry matter.";
    CastingsNitrogen: "castings nitrogen", Share, 0.0 to 0.2, Beds, Harvest, false, "Nitrogen of castings in dry matter.";
    CastingsRatio: "castings C:N", Factor, 1.0 to 200.0, Beds, Harvest, false, "Carbon to nitrogen ratio of castings.";
    CastingsPhosphorus: "castings phosphorus", Share, 0.0 to 0.2, Beds, Harvest, false, "Phosphorus of castings in dry matter.";
    CastingsPotassium: "castings potassium", Share, 0.0 to 0.2, Beds, Harvest, false, "Potassium of castings in dry matter.";
    CastingsAsh: "castings ash", Share, 0.0 to 1.0, Beds, Harvest, false, "Ash of castings in dry matter.";
    CastingsPh: "castings pH", Acidity, 2.0 to 12.0, Beds, Harvest, false, "pH of castings.";
}

impl LogKind {
    /// The kind of a word; case, and blanks, dashes or underscores between its parts, do not matter.
    pub fn of_word(word: &str) -> Option<Self> {
        let plain = |text: &str| {
            text.to_lowercase().replace(['_', '-'], " ").split_whitespace().collect::<Vec<_>>().join(" ")
        };
        let wanted = plain(word);
        Self::ALL.into_iter().find(|kind| plain(kind.row().word) == wanted)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_differ_and_are_found_however_they_are_spaced() {
        for kind in LogKind::ALL {
            let row = kind.row();
            assert_eq!(LogKind::of_word(row.word), Some(kind));
            assert_eq!(LogKind::of_word(&row.word.to_uppercase().replace(' ', "_")), Some(kind));
            assert!(row.range.0 < row.range.1 && row.about.ends_with('.'));
        }
        assert_eq!(LogKind::of_word("scrap"), None);
    }
}
