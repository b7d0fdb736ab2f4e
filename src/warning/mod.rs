//! Warnings as typed values, for the whole program.
//!
//! A warning carries its figures in the unit its field names, already converted: nothing is converted here. What is seen on
//! many days is one warning with its first date, the number of days and the worst value; [`Warnings`] merges by code and place.

mod group;
mod merge;
mod text;
mod text_beds;

use jiff::civil::Date;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use crate::unit::drum_store::SpoilReason;
pub use group::{Group, grouped};
pub use merge::{Place, Warnings};

/// How much a warning matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Good to know.
    Note,
    /// The plan still works, worse than it could.
    Caution,
    /// Matter is lost, animals suffer or people are at risk.
    Serious,
}

/// Days on which something was seen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Spell {
    /// First day.
    #[serde(with = "iso_date")]
    #[schemars(with = "String")]
    pub first: Date,
    /// Number of days, not always one after the other.
    pub days: u32,
    /// Worst value seen, in the unit the warning says.
    pub worst: f64,
}

impl Spell {
    /// One day.
    pub fn day(date: Date, value: f64) -> Self {
        Self { first: date, days: 1, worst: value }
    }
}

/// Dates as `2031-04-27`.
mod iso_date {
    use jiff::civil::Date;
    use serde::{Deserialize, Deserializer, Serializer};

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "the form serde asks for")]
    pub(super) fn serialize<S: Serializer>(date: &Date, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(date)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Date, D::Error> {
        String::deserialize(from)?.parse().map_err(serde::de::Error::custom)
    }
}

/// Which limit of carbon dioxide in room air is passed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RoomLimit {
    /// Eight hours of work.
    EightHours,
    /// Short stay.
    ShortStay,
    /// Immediate danger.
    ImmediateDanger,
}

/// A warning with its figures. Beds are counted from 1. In each [`Spell`] the unit of the worst value is named here.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "code", rename_all = "snake_case")]
#[expect(missing_docs, reason = "each field's name says what it is and in which unit")]
pub enum Warning {
    /// No stream brings anything.
    NoIntake,
    /// No drum to fill.
    NoDrums,
    /// No bed to feed.
    NoBeds,
    /// No worms to start with.
    NoWorms,
    /// No step reaches sanitising temperature. Shown with the hottest temperature, °C, and the one needed.
    NoHygieneStep { hottest_celsius: f64, needed_celsius: f64 },
    /// Intake found no free drum. Worst: kg turned away on a day.
    IntakeTurnedAway { turned_away_kg: f64, offered_kg: f64, spell: Spell },
    /// Bran ran out. Worst: kg missing on a day.
    BranShort { missing_kg: f64, spell: Spell },
    /// Drums spoiled. Days: counted on; worst: highest pH.
    DrumSpoiled { reason: SpoilReason, drums: u32, spell: Spell },
    /// Drums kept longer than planned. Worst: days of the oldest.
    DrumsPastMaximum { maximum_days: f64, spell: Spell },
    /// The store is too cold to sour. Worst: lowest °C.
    DrumStoreCold { limit_celsius: f64, spell: Spell },
    /// Gas pressure in sealed drums. Worst: kPa over air.
    DrumPressure { limit_kpa: f64, spell: Spell },
    /// Drums without a valve or vented lid.
    ValveMissing { drums: u32 },
    /// Carbon dioxide in the store room. Worst: ppm.
    RoomCarbonDioxide { limit: RoomLimit, limit_ppm: f64, spell: Spell },
    /// A full drum is more than one person may lift.
    DrumTooHeavy { drum_kg: f64, one_person_kg: f64 },
    /// Ready batches waited for the grinder. Worst: kg waiting.
    GrinderBottleneck { capacity_kg_per_day: f64, spell: Spell },
    /// The paste did not reach its air space. Worst: lowest air-filled porosity, 0-1.
    BulkingShort { target: f64, spell: Spell },
    /// A layer thicker than oxygen reaches. Worst: cm.
    LayerTooThick { bed: u32, reach_cm: f64, spell: Spell },
    /// More feed than a bed load that has been published. Worst: kg/m2/d.
    BedOverloaded { bed: u32, limit_kg_per_m2_day: f64, spell: Spell },
    /// A bed too hot for worms. Worst: peak °C.
    BedTooHot { bed: u32, limit_celsius: f64, spell: Spell },
    /// A bed too cold to work. Worst: lowest °C.
    BedTooCold { bed: u32, limit_celsius: f64, spell: Spell },
    /// A bed too dry. Worst: lowest moisture, 0-1.
    BedTooDry { bed: u32, limit: f64, spell: Spell },
    /// A bed too wet. Worst: highest moisture, 0-1.
    BedTooWet { bed: u32, limit: f64, spell: Spell },
    /// A bed turned sour. Worst: lowest pH.
    BedSoured { bed: u32, limit_ph: f64, spell: Spell },
    /// Ammonia harms worms. Worst: g N per kg wet.
    AmmoniaStress { bed: u32, limit_g_per_kg: f64, spell: Spell },
    /// Salt harms worms. Worst: g salt per litre of pore water.
    SaltStress { bed: u32, limit_g_per_l: f64, spell: Spell },
    /// Worms eat less than keeps them. Worst: lowest share of upkeep, 0-1.
    WormsStarving { bed: u32, spell: Spell },
    /// More worms than the bed carries well. Worst: kg/m2.
    Crowded { bed: u32, limit_kg_per_m2: f64, spell: Spell },
    /// The stock of a bed is about gone. Worst: lowest share of the starting stock, 0-1.
    StockDyingOut { bed: u32, spell: Spell },
    /// Fewer worms than the intake needs.
    StockBelowNeed { have_kg: f64, need_kg: f64 },
    /// Screening loses cocoons with the castings.
    CocoonsLost { share: f64, method: String },
    /// Castings waited wet for room or weather. Worst: kg on the floor.
    DryingShort { spell: Spell },
    /// Dry castings waited for the screen. Worst: kg waiting.
    ScreenBottleneck { capacity_kg_per_day: f64, spell: Spell },
    /// More nitrogen in castings than is published: losses or bedding are missing from the plan. Shares 0-1 of dry matter.
    CastingsNitrogenHigh { share: f64, limit: f64 },
    /// A product outside a limit of a standard.
    ProductOffStandard {
        product: String,
        standard: String,
        limit: String,
        value: f64,
        minimum: Option<f64>,
        maximum: Option<f64>,
        unit: String,
    },
    /// A figure outside its published range.
    OutsidePublishedRange { key: String, value: f64, low: f64, high: f64, unit: String },
    /// A size at which a permit may be asked for.
    PermitThreshold { rule: String, value: f64, threshold: f64, unit: String },
    /// Not enough floor.
    FloorShort { need_m2: f64, have_m2: f64 },
    /// More load than the floor is built for.
    FloorOverloaded { load_kpa: f64, limit_kpa: f64 },
}

impl Warning {
    /// Its code, as in files.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NoIntake => "no_intake",
            Self::NoDrums => "no_drums",
            Self::NoBeds => "no_beds",
            Self::NoWorms => "no_worms",
            Self::NoHygieneStep { .. } => "no_hygiene_step",
            Self::IntakeTurnedAway { .. } => "intake_turned_away",
            Self::BranShort { .. } => "bran_short",
            Self::DrumSpoiled { .. } => "drum_spoiled",
            Self::DrumsPastMaximum { .. } => "drums_past_maximum",
            Self::DrumStoreCold { .. } => "drum_store_cold",
            Self::DrumPressure { .. } => "drum_pressure",
            Self::ValveMissing { .. } => "valve_missing",
            Self::RoomCarbonDioxide { .. } => "room_carbon_dioxide",
            Self::DrumTooHeavy { .. } => "drum_too_heavy",
            Self::GrinderBottleneck { .. } => "grinder_bottleneck",
            Self::BulkingShort { .. } => "bulking_short",
            Self::LayerTooThick { .. } => "layer_too_thick",
            Self::BedOverloaded { .. } => "bed_overloaded",
            Self::BedTooHot { .. } => "bed_too_hot",
            Self::BedTooCold { .. } => "bed_too_cold",
            Self::BedTooDry { .. } => "bed_too_dry",
            Self::BedTooWet { .. } => "bed_too_wet",
            Self::BedSoured { .. } => "bed_soured",
            Self::AmmoniaStress { .. } => "ammonia_stress",
            Self::SaltStress { .. } => "salt_stress",
            Self::WormsStarving { .. } => "worms_starving",
            Self::Crowded { .. } => "crowded",
            Self::StockDyingOut { .. } => "stock_dying_out",
            Self::StockBelowNeed { .. } => "stock_below_need",
            Self::CocoonsLost { .. } => "cocoons_lost",
            Self::DryingShort { .. } => "drying_short",
            Self::ScreenBottleneck { .. } => "screen_bottleneck",
            Self::CastingsNitrogenHigh { .. } => "castings_nitrogen_high",
            Self::ProductOffStandard { .. } => "product_off_standard",
            Self::OutsidePublishedRange { .. } => "outside_published_range",
            Self::PermitThreshold { .. } => "permit_threshold",
            Self::FloorShort { .. } => "floor_short",
            Self::FloorOverloaded { .. } => "floor_overloaded",
        }
    }

    /// How much it matters.
    pub fn severity(&self) -> Severity {
        match self {
            Self::PermitThreshold { .. }
            | Self::OutsidePublishedRange { .. }
            | Self::CastingsNitrogenHigh { .. }
            | Self::ProductOffStandard { .. } => Severity::Note,
            Self::RoomCarbonDioxide { limit: RoomLimit::EightHours, .. }
            | Self::BranShort { .. }
            | Self::DrumsPastMaximum { .. }
            | Self::DrumStoreCold { .. }
            | Self::GrinderBottleneck { .. }
            | Self::BulkingShort { .. }
            | Self::LayerTooThick { .. }
            | Self::BedOverloaded { .. }
            | Self::BedTooCold { .. }
            | Self::BedTooDry { .. }
            | Self::BedTooWet { .. }
            | Self::SaltStress { .. }
            | Self::WormsStarving { .. }
            | Self::Crowded { .. }
            | Self::StockBelowNeed { .. }
            | Self::CocoonsLost { .. }
            | Self::DryingShort { .. }
            | Self::ScreenBottleneck { .. }
            | Self::NoHygieneStep { .. }
            | Self::FloorShort { .. } => Severity::Caution,
            Self::NoIntake
            | Self::NoDrums
            | Self::NoBeds
            | Self::NoWorms
            | Self::IntakeTurnedAway { .. }
            | Self::DrumSpoiled { .. }
            | Self::DrumPressure { .. }
            | Self::ValveMissing { .. }
            | Self::RoomCarbonDioxide { .. }
            | Self::DrumTooHeavy { .. }
            | Self::BedTooHot { .. }
            | Self::BedSoured { .. }
            | Self::AmmoniaStress { .. }
            | Self::StockDyingOut { .. }
            | Self::FloorOverloaded { .. } => Severity::Serious,
        }
    }
}
