//! Choices that are one of a few words.

use schemars::JsonSchema;
use serde::Deserialize;

/// Lid of a drum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Vent {
    /// One-way valve or airlock.
    Valve,
    /// No way out: pressure builds.
    Sealed,
}

/// What becomes of the liquor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Liquor {
    /// Drained and taken off the site.
    Drained,
    /// Poured back into the paste.
    Returned,
}

/// Day of the week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Weekday {
    /// Monday.
    Monday,
    /// Tuesday.
    Tuesday,
    /// Wednesday.
    Wednesday,
    /// Thursday.
    Thursday,
    /// Friday.
    Friday,
    /// Saturday.
    Saturday,
    /// Sunday.
    Sunday,
}

/// Ages of bought worms.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Structure {
    /// Adults only.
    Adults,
    /// Stable structure of a growing stock, cocoons included.
    Stable,
    /// Bed-run mix of ages without cocoons.
    Mixed,
}

/// How worms and castings are parted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// One rotating screen.
    Trommel,
    /// Coarse and fine deck; fine castings held and re-baited for hatchlings.
    TwoDecks,
    /// Worms leave by themselves, to light or bait.
    Migration,
    /// Castings cut from below; worms stay above.
    BottomCut,
}

/// Where the overs go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Overs {
    /// Back to the beds.
    ToBeds,
    /// Off the site.
    Out,
}
