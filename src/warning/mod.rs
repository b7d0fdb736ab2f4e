//! Warnings as typed values, for the whole program.
//!
//! A warning carries its figures in the unit its field names, already converted: nothing is converted here. All of it is declared
//! once, in the table of `table.rs`; the rule that raises it is in `study::warn`.

mod declare;
mod group;
mod table;

use crate::quantity::{Kind, Units, format_quantity};
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use crate::unit::drum_store::SpoilReason;
pub use group::{Group, grouped};
pub use table::Warning;

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

impl Severity {
    /// Name in files and tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Caution => "caution",
            Self::Serious => "serious",
        }
    }
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

    /// "on 3 days from 2031-07-05".
    fn to_text(self) -> String {
        match self.days {
            1 => format!("on {}", self.first),
            n => format!("on {n} days from {}", self.first),
        }
    }
}

/// Dates as `2031-04-27`.
mod iso_date {
    use jiff::civil::Date;
    use serde::{Deserialize, Deserializer, Serializer};

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "the signature serde requires")]
    pub(super) fn serialize<S: Serializer>(date: &Date, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(date)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Date, D::Error> {
        String::deserialize(from)?.parse().map_err(serde::de::Error::custom)
    }
}

impl SpoilReason {
    /// In words.
    pub const fn text(self) -> &'static str {
        match self {
            Self::Cold => "too cold to sour in time",
            Self::LowSugar => "too little sugar to sour",
            Self::TooWet => "too wet for the acid reached",
            Self::ProteinRich => "protein takes up the acid",
            Self::Lime => "lime or ash takes up the acid",
            Self::Air => "air got in",
        }
    }

    const fn hint(self) -> &'static str {
        match self {
            Self::Cold => "Keep drums warmer for the first two weeks, or keep them longer before opening.",
            Self::LowSugar => "Mix in sweet or starchy scraps, or add molasses with the bran.",
            Self::TooWet => "Drain liquor, or fill with drier scraps or absorbent bulking.",
            Self::ProteinRich => "Spread meat, fish and beans over more drums, or add sugar with the bran.",
            Self::Lime => {
                "Keep lime, ash and eggshell out of drums; if you need them, add them to the paste."
            }
            Self::Air => "Press the contents down, fill drums in one go and check the lid seal.",
        }
    }
}

/// Which limit of carbon dioxide in room air is exceeded.
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

impl RoomLimit {
    const fn text(self) -> &'static str {
        match self {
            Self::EightHours => "eight-hour limit",
            Self::ShortStay => "short-stay limit",
            Self::ImmediateDanger => "level of immediate danger to life",
        }
    }
}

/// Which value of several days or beds is the worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Worst {
    Highest,
    Lowest,
}

/// What a message adds to the figures of its warning: its days, its worst value and the reader's units.
struct Said<'a> {
    /// "on 3 days from 2031-07-05".
    when: &'a str,
    worst: f64,
    units: Units,
}

impl Said<'_> {
    /// A figure in the documented unit of its kind with so many decimals, or in the reader's units.
    fn figure(&self, kind: Kind, value: f64, decimals: usize) -> String {
        match self.units {
            Units::Si if kind == Kind::Temperature => format!("{value:.decimals$} °C"),
            Units::Si => format!("{value:.decimals$} {}", kind.unit()),
            Units::Us => format_quantity(kind, value, self.units).replace('\u{2009}', " "),
        }
    }

    fn mass(&self, value: f64) -> String {
        self.figure(Kind::Mass, value, 0)
    }

    fn areal_mass(&self, value: f64) -> String {
        format_quantity(Kind::ArealMass, value, self.units)
    }

    fn temperature(&self, value: f64, decimals: usize) -> String {
        self.figure(Kind::Temperature, value, decimals)
    }

    /// A thickness given in cm.
    fn thickness(&self, value: f64) -> String {
        match self.units {
            Units::Si => format!("{value:.1} cm"),
            Units::Us => self.figure(Kind::Length, value / 100.0, 3),
        }
    }
}

impl Warning {
    /// Whether people may come to harm. Of the same severity, these come first.
    pub const fn harms_people(&self) -> bool {
        matches!(
            self,
            Self::RoomCarbonDioxide { .. }
                | Self::DrumPressure { .. }
                | Self::ValveMissing { .. }
                | Self::FloorOverloaded { .. }
                | Self::DrumTooHeavy { .. }
                | Self::NoHygieneStep { .. }
        )
    }

    /// What orders warnings, the largest first: severity, then whether people may come to harm.
    pub const fn rank(&self) -> (Severity, bool) {
        (self.severity(), self.harms_people())
    }

    /// Counts another day of the same warning. Nothing if it has no days.
    pub fn add_day(&mut self, value: f64) {
        let worst = self.worst();
        if let Some(spell) = self.spell_mut() {
            spell.days += 1;
            spell.worst = worst.of(spell.worst, value);
        }
    }

    /// What is wrong, with figures and SI units.
    pub fn message(&self) -> String {
        self.message_in(Units::Si)
    }

    /// What is wrong, with figures in the reader's units.
    pub fn message_in(&self, units: Units) -> String {
        let when = self.spell().map_or_else(String::new, |spell| spell.to_text());
        let text = self.text_on(&when, units);
        self.bed().map_or_else(|| text.clone(), |bed| format!("bed {bed}: {text}"))
    }

    /// The message without its bed, with its days in words.
    fn text_on(&self, when: &str, units: Units) -> String {
        let worst = self.spell().map_or(0.0, |spell| spell.worst);
        self.text(&Said { when, worst, units })
    }
}

impl Worst {
    const fn of(self, one: f64, other: f64) -> f64 {
        match self {
            Self::Highest => one.max(other),
            Self::Lowest => one.min(other),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn spell(worst: f64) -> Spell {
        Spell { first: date(2031, 7, 5), days: 3, worst }
    }

    #[test]
    fn messages_carry_figures_and_units() {
        let hot = Warning::BedTooHot { bed: 2, limit_celsius: 33.0, spell: spell(36.25) };
        assert_eq!(hot.message(), "bed 2: above 33 °C on 3 days from 2031-07-05; highest 36.2 °C");
        let heavy = Warning::DrumTooHeavy { drum_kg: 187.0, one_person_kg: 23.0 };
        // niosh_94_110: a 187 kg drum is 8 load constants.
        assert_eq!(heavy.message(), "a full drum weighs 187 kg, 8.1 times what one person may lift (23 kg)");
    }

    #[test]
    fn a_code_is_the_name_in_snake_case_as_in_files() {
        let all = [
            Warning::NoIntake,
            Warning::DryingShort { spell: spell(3.0) },
            Warning::BedTooHot { bed: 2, limit_celsius: 33.0, spell: spell(36.25) },
        ];
        for (warning, code) in all.iter().zip(["no_intake", "drying_short", "bed_too_hot"]) {
            assert_eq!(warning.code(), code);
            assert!(Warning::CODES.contains(&code));
            let file = serde_json::to_value(warning).unwrap();
            assert_eq!(file["code"], code);
            assert_eq!(serde_json::from_value::<Warning>(file).unwrap(), *warning);
        }
    }

    #[test]
    fn later_days_keep_the_first_date_and_the_worst_value() {
        for (values, worst) in [([8.0, 5.0, 9.0], 5.0), ([3.0, 7.0, 9.0], 3.0)] {
            let first = Spell::day(date(2031, 1, 1), values[0]);
            let mut cold = Warning::BedTooCold { bed: 1, limit_celsius: 10.0, spell: first };
            values[1..].iter().for_each(|value| cold.add_day(*value));
            assert_eq!(cold.spell(), Some(&Spell { first: date(2031, 1, 1), days: 3, worst }));
        }
    }
}
