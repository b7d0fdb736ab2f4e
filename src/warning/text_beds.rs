//! What warnings of beds and of the stock say.

use super::Warning;
use super::text::{Seen, Text};
use crate::quantity::{Kind, Units, percent};

impl Warning {
    pub(super) fn layer_text(&self, seen: &Seen<'_>) -> Text {
        let Seen { place, when, .. } = seen;
        let depth = |cm: f64| match seen.units {
            Units::Si => format!("{cm:.1} cm"),
            Units::Us => seen.tell(Kind::Length, cm / 100.0, 3),
        };
        Some(match self {
            Self::LayerTooThick { reach_cm, spell, .. } => (
                format!(
                    "{place}: a fresh layer of {} is thicker than oxygen reaches ({}) {when}",
                    depth(spell.worst),
                    depth(*reach_cm)
                ),
                "Feed thinner layers more often, or mix in bulking for air space.",
            ),
            Self::BedOverloaded { limit_kg_per_m2_day, spell, .. } => (
                format!(
                    "{place}: {} of feed a day, above {}, {when}",
                    seen.tell(Kind::ArealMass, spell.worst, 2),
                    seen.tell(Kind::ArealMass, *limit_kg_per_m2_day, 2)
                ),
                "Add bed area or feed less.",
            ),
            _ => return None,
        })
    }

    pub(super) fn bed_text(&self, seen: &Seen<'_>) -> Text {
        let Seen { place, when, .. } = seen;
        Some(match self {
            Self::BedTooHot { limit_celsius, spell, .. } => (
                format!(
                    "{place}: above {} {when}; peak {}",
                    seen.warmth(*limit_celsius, 0),
                    seen.warmth(spell.worst, 1)
                ),
                "Feed less or thinner, shade and ventilate, leave a cool refuge.",
            ),
            Self::BedTooCold { limit_celsius, spell, .. } => (
                format!(
                    "{place}: below {} {when}; lowest {}",
                    seen.warmth(*limit_celsius, 0),
                    seen.warmth(spell.worst, 1)
                ),
                "Insulate or heat the room, feed thicker in winter, or plan more drums for the cold months.",
            ),
            Self::BedTooDry { limit, spell, .. } => (
                format!(
                    "{place}: moisture below {} {when}; lowest {}",
                    percent(*limit),
                    percent(spell.worst)
                ),
                "Water or cover the bed.",
            ),
            Self::BedTooWet { limit, spell, .. } => (
                format!(
                    "{place}: moisture above {} {when}; highest {}",
                    percent(*limit),
                    percent(spell.worst)
                ),
                "Drain liquor from drums, add dry bulking, uncover the bed.",
            ),
            Self::BedSoured { limit_ph, spell, .. } => (
                format!("{place}: pH below {limit_ph:.1} {when}; lowest pH {:.1}", spell.worst),
                "Feed less paste at a time, let layers mellow, add a little lime or old castings.",
            ),
            _ => return None,
        })
    }

    pub(super) fn worm_text(&self, seen: &Seen<'_>) -> Text {
        let Seen { place, when, .. } = seen;
        Some(match self {
            Self::AmmoniaStress { limit_g_per_kg, spell, .. } => (
                format!(
                    "{place}: {:.2} g ammoniacal N per kg harms worms (from {limit_g_per_kg:.2} g/kg) {when}",
                    spell.worst
                ),
                "Feed less protein or more bulking with carbon; air the layer before worms meet it.",
            ),
            Self::SaltStress { limit_g_per_l, spell, .. } => (
                format!(
                    "{place}: {:.1} g salt per litre of pore water harms worms (from {limit_g_per_l:.1} g/L) {when}",
                    spell.worst
                ),
                "Drain liquor, water the bed so that it drains, or mix in scraps with less salt.",
            ),
            Self::WormsStarving { spell, .. } => (
                format!(
                    "{place}: worms ate less than their upkeep {when}; lowest {} of it",
                    percent(spell.worst)
                ),
                "Feed more, or move worms to another bed.",
            ),
            Self::Crowded { limit_kg_per_m2, spell, .. } => (
                format!(
                    "{place}: {} of worms, above {}, {when}",
                    seen.tell(Kind::ArealMass, spell.worst, 1),
                    seen.tell(Kind::ArealMass, *limit_kg_per_m2, 1)
                ),
                "Move or sell worms, or add bed area.",
            ),
            _ => return None,
        })
    }

    pub(super) fn stock_text(&self, seen: &Seen<'_>) -> Text {
        Some(match self {
            Self::StockDyingOut { spell, .. } => (
                format!(
                    "{}: the stock is down to {} of its start, first on {}",
                    seen.place,
                    percent(spell.worst),
                    spell.first
                ),
                "Look for heat, acid, drought or cocoons lost at screening in the other warnings.",
            ),
            Self::StockBelowNeed { have_kg, need_kg } => (
                format!(
                    "{} of worms for an intake that needs {} ({:.1} times as many)",
                    seen.mass(*have_kg),
                    seen.mass(*need_kg),
                    need_kg / have_kg.max(f64::MIN_POSITIVE)
                ),
                "Buy more, or take in less until the stock has grown; months, not weeks.",
            ),
            Self::CocoonsLost { share, method } => (
                format!("screening by {method} loses {} of cocoons with the castings", percent(*share)),
                "Hold castings for hatching and bait again, use a finer second deck, or screen less often.",
            ),
            _ => return None,
        })
    }
}
