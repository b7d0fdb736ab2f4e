//! One warning for many days: merging by code and place.

use super::{RoomLimit, Severity, SpoilReason, Warning};
use serde::{Deserialize, Serialize};

/// What tells two warnings of one code apart.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Place {
    /// The whole site.
    Site,
    /// A bed, counted from 1.
    Bed(u32),
    /// A reason of spoiling.
    Reason(SpoilReason),
    /// A limit of room air.
    Room(RoomLimit),
    /// A key, a limit of a product or a rule.
    Named(String),
}

/// Which values of a spell are worse.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Worse {
    Higher,
    Lower,
}

/// The spell of a warning, borrowed as the warning is.
macro_rules! spell_in {
    ($warning:expr) => {
        match $warning {
            Warning::IntakeTurnedAway { spell, .. }
            | Warning::BranShort { spell, .. }
            | Warning::DrumSpoiled { spell, .. }
            | Warning::DrumsPastMaximum { spell, .. }
            | Warning::DrumStoreCold { spell, .. }
            | Warning::DrumPressure { spell, .. }
            | Warning::RoomCarbonDioxide { spell, .. }
            | Warning::GrinderBottleneck { spell, .. }
            | Warning::BulkingShort { spell, .. }
            | Warning::LayerTooThick { spell, .. }
            | Warning::BedOverloaded { spell, .. }
            | Warning::BedTooHot { spell, .. }
            | Warning::BedTooCold { spell, .. }
            | Warning::BedTooDry { spell, .. }
            | Warning::BedTooWet { spell, .. }
            | Warning::BedSoured { spell, .. }
            | Warning::AmmoniaStress { spell, .. }
            | Warning::SaltStress { spell, .. }
            | Warning::WormsStarving { spell, .. }
            | Warning::Crowded { spell, .. }
            | Warning::StockDyingOut { spell, .. }
            | Warning::DryingShort { spell }
            | Warning::ScreenBottleneck { spell, .. } => Some(spell),
            _ => None,
        }
    };
}

impl Warning {
    /// What tells it apart from others of its code.
    pub fn place(&self) -> Place {
        match self {
            Self::LayerTooThick { bed, .. }
            | Self::BedOverloaded { bed, .. }
            | Self::BedTooHot { bed, .. }
            | Self::BedTooCold { bed, .. }
            | Self::BedTooDry { bed, .. }
            | Self::BedTooWet { bed, .. }
            | Self::BedSoured { bed, .. }
            | Self::AmmoniaStress { bed, .. }
            | Self::SaltStress { bed, .. }
            | Self::WormsStarving { bed, .. }
            | Self::Crowded { bed, .. }
            | Self::StockDyingOut { bed, .. } => Place::Bed(*bed),
            Self::DrumSpoiled { reason, .. } => Place::Reason(*reason),
            Self::RoomCarbonDioxide { limit, .. } => Place::Room(*limit),
            Self::CocoonsLost { method, .. } => Place::Named(method.clone()),
            Self::ProductOffStandard { product, standard, limit, .. } => {
                Place::Named(format!("{product}: {standard}: {limit}"))
            }
            Self::OutsidePublishedRange { key, .. } => Place::Named(key.clone()),
            Self::PermitThreshold { rule, .. } => Place::Named(rule.clone()),
            _ => Place::Site,
        }
    }

    /// Its days and worst value, where it has them.
    pub fn spell(&self) -> Option<&super::Spell> {
        spell_in!(self)
    }

    pub(super) fn spell_mut(&mut self) -> Option<&mut super::Spell> {
        spell_in!(self)
    }

    pub(super) const fn worse(&self) -> Worse {
        match self {
            Self::DrumStoreCold { .. }
            | Self::BulkingShort { .. }
            | Self::BedTooCold { .. }
            | Self::BedTooDry { .. }
            | Self::BedSoured { .. }
            | Self::WormsStarving { .. }
            | Self::StockDyingOut { .. } => Worse::Lower,
            _ => Worse::Higher,
        }
    }

    /// Whether another warning is the same thing seen again. Nothing is allocated for warnings of a bed or of the site.
    pub fn is_same(&self, other: &Self) -> bool {
        self.code() == other.code() && self.place() == other.place()
    }

    /// Takes a later sighting of the same thing in: first date, days added, worst value, amounts added. A warning without
    /// days takes the later figures.
    fn take_in(&mut self, later: Self) {
        let worse = self.worse();
        let Some(seen) = later.spell().copied() else {
            *self = later;
            return;
        };
        if let Some(spell) = self.spell_mut() {
            spell.first = spell.first.min(seen.first);
            spell.days += seen.days;
            spell.worst = match worse {
                Worse::Higher => spell.worst.max(seen.worst),
                Worse::Lower => spell.worst.min(seen.worst),
            };
        }
        match (self, later) {
            (
                Self::IntakeTurnedAway { turned_away_kg, offered_kg, .. },
                Self::IntakeTurnedAway { turned_away_kg: more, offered_kg: offered, .. },
            ) => {
                *turned_away_kg += more;
                *offered_kg = offered_kg.max(offered);
            }
            (Self::BranShort { missing_kg, .. }, Self::BranShort { missing_kg: more, .. }) => {
                *missing_kg += more;
            }
            (Self::DrumSpoiled { drums, .. }, Self::DrumSpoiled { drums: more, .. }) => *drums += more,
            _ => {}
        }
    }
}

/// Warnings in the order first seen, each thing once.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Warnings(Vec<Warning>);

impl Warnings {
    /// None yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a warning, or merges it with the one of its code and place.
    pub fn add(&mut self, warning: Warning) {
        match self.0.iter_mut().find(|w| w.is_same(&warning)) {
            Some(same) => same.take_in(warning),
            None => self.0.push(warning),
        }
    }

    /// Every warning, in the order first seen.
    pub fn iter(&self) -> std::slice::Iter<'_, Warning> {
        self.0.iter()
    }

    /// Every warning, the most severe first and otherwise in the order first seen.
    pub fn by_severity(&self) -> Vec<&Warning> {
        let mut sorted: Vec<&Warning> = self.0.iter().collect();
        sorted.sort_by_key(|w| std::cmp::Reverse(w.severity()));
        sorted
    }

    /// The most severe, or none.
    pub fn worst(&self) -> Option<Severity> {
        self.0.iter().map(Warning::severity).max()
    }

    /// Number of warnings.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl<'a> IntoIterator for &'a Warnings {
    type Item = &'a Warning;
    type IntoIter = std::slice::Iter<'a, Warning>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl Extend<Warning> for Warnings {
    fn extend<I: IntoIterator<Item = Warning>>(&mut self, more: I) {
        for warning in more {
            self.add(warning);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::warning::Spell;
    use jiff::civil::date;

    fn hot(bed: u32, day: i8, peak: f64) -> Warning {
        Warning::BedTooHot { bed, limit_celsius: 33.0, spell: Spell::day(date(2031, 7, day), peak) }
    }

    #[test]
    fn many_days_in_one_bed_are_one_warning() {
        let mut all = Warnings::new();
        all.extend([hot(1, 3, 33.5), hot(2, 3, 34.0), hot(1, 4, 36.0), hot(1, 9, 34.0)]);
        assert_eq!(all.len(), 2);
        let first = all.iter().next().unwrap().spell().unwrap();
        assert_eq!((first.first, first.days), (date(2031, 7, 3), 3));
        assert!((first.worst - 36.0).abs() < 1e-12);
    }

    #[test]
    fn cold_keeps_the_lowest_and_turned_away_mass_adds_up() {
        let mut all = Warnings::new();
        for (day, t) in [(1, 8.0), (2, 5.0), (3, 9.0)] {
            let spell = Spell::day(date(2031, 1, day), t);
            all.add(Warning::BedTooCold { bed: 1, limit_celsius: 10.0, spell });
            let spell = Spell::day(date(2031, 1, day), 20.0);
            let offered_kg = 100.0 * f64::from(day);
            all.add(Warning::IntakeTurnedAway { turned_away_kg: 20.0, offered_kg, spell });
        }
        assert_eq!(all.len(), 2);
        let lowest = all.iter().next().unwrap().spell().unwrap().worst;
        assert!((lowest - 5.0).abs() < 1e-12);
        let Warning::IntakeTurnedAway { turned_away_kg, offered_kg, .. } = all.iter().nth(1).unwrap() else {
            panic!("the second warning is the intake")
        };
        assert!((turned_away_kg - 60.0).abs() < 1e-12 && (offered_kg - 300.0).abs() < 1e-12);
    }

    #[test]
    fn a_warning_survives_json_and_sorts_by_severity() {
        let mut all = Warnings::new();
        all.extend([Warning::StockBelowNeed { have_kg: 10.0, need_kg: 40.0 }, hot(3, 5, 35.25)]);
        let text = serde_json::to_string(&all).unwrap();
        assert!(text.contains(r#""code":"bed_too_hot""#) && text.contains(r#""first":"2031-07-05""#));
        assert_eq!(serde_json::from_str::<Warnings>(&text).unwrap(), all);
        assert_eq!(all.by_severity()[0].code(), "bed_too_hot");
        assert_eq!(all.worst(), Some(Severity::Serious));
    }

    #[test]
    fn limits_of_one_product_stay_apart() {
        let off = |limit: &str, value| Warning::ProductOffStandard {
            product: "castings".into(),
            standard: "rule".into(),
            limit: limit.into(),
            value,
            minimum: None,
            maximum: Some(1.0),
            unit: "dS/m".into(),
        };
        let mut all = Warnings::new();
        all.extend([off("a", 2.0), off("b", 2.0), off("a", 3.0)]);
        assert_eq!(all.len(), 2);
        assert_eq!(all.iter().next().unwrap(), &off("a", 3.0));
    }
}
