//! What a warning says, and what may be done about it.

use super::{Place, RoomLimit, Spell, SpoilReason, Warning};
use crate::quantity::{Kind, Units, percent, show, spaced};

pub(super) type Text = Option<(String, &'static str)>;

/// When and how often: "on 3 days from 2031-07-05".
pub(super) fn when(spell: &Spell) -> String {
    match spell.days {
        1 => format!("on {}", spell.first),
        n => format!("on {n} days from {}", spell.first),
    }
}

/// Where and when a warning was seen, and in whose units it is told.
pub(super) struct Seen<'a> {
    /// "bed 3" or "beds 1-12"; empty for the site.
    pub(super) place: &'a str,
    /// "on 3 days from 2031-07-05".
    pub(super) when: &'a str,
    pub(super) units: Units,
}

impl Seen<'_> {
    /// A figure in the documented unit of its kind: with so many decimals, or in the reader's units.
    pub(super) fn tell(&self, kind: Kind, value: f64, decimals: usize) -> String {
        match self.units {
            Units::Si if kind == Kind::Temperature => format!("{value:.decimals$} °C"),
            Units::Si => format!("{value:.decimals$} {}", kind.unit()),
            Units::Us => show(kind, value, self.units).replace('\u{2009}', " "),
        }
    }

    pub(super) fn mass(&self, value: f64) -> String {
        self.tell(Kind::Mass, value, 0)
    }

    pub(super) fn warmth(&self, value: f64, decimals: usize) -> String {
        self.tell(Kind::Temperature, value, decimals)
    }
}

/// "1 drum", "3 drums".
fn drums_text(n: u32) -> String {
    if n == 1 { "1 drum".to_owned() } else { format!("{n} drums") }
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
            Self::Lime => "Keep lime, ash and eggshell out of drums; add them to the paste if at all.",
            Self::Air => "Press the contents down, fill drums in one go and check the lid seal.",
        }
    }
}

impl Warning {
    /// What is wrong, with figures and SI units.
    pub fn message(&self) -> String {
        self.message_in(Units::Si)
    }

    /// What is wrong, with figures in the reader's units.
    pub fn message_in(&self, units: Units) -> String {
        let place = match self.place() {
            Place::Bed(bed) => format!("bed {bed}"),
            _ => String::new(),
        };
        let when = self.spell().map_or_else(String::new, when);
        self.text(&Seen { place: &place, when: &when, units }).0
    }

    /// What may be done about it.
    pub fn hint(&self) -> &'static str {
        self.text(&Seen { place: "", when: "", units: Units::Si }).1
    }

    pub(super) fn text(&self, seen: &Seen<'_>) -> (String, &'static str) {
        self.start_text(seen)
            .or_else(|| self.drum_text(seen))
            .or_else(|| self.safety_text(seen))
            .or_else(|| self.paste_text(seen))
            .or_else(|| self.layer_text(seen))
            .or_else(|| self.bed_text(seen))
            .or_else(|| self.worm_text(seen))
            .or_else(|| self.stock_text(seen))
            .or_else(|| self.product_text(seen))
            .or_else(|| self.site_text(seen))
            .expect("a test builds every warning and finds its text")
    }

    fn start_text(&self, seen: &Seen<'_>) -> Text {
        Some(match self {
            Self::NoIntake => {
                ("no stream brings any scraps".into(), "Add a stream with a mass above 0 to the scenario.")
            }
            Self::NoDrums => (
                "there are no drums: the whole intake is turned away".into(),
                "Set the number of drums, or let sizing find it.",
            ),
            Self::NoBeds => (
                "there are no beds: paste has nowhere to go".into(),
                "Set the number and area of beds, or let sizing find them.",
            ),
            Self::NoWorms => {
                ("there are no worms: beds only compost".into(), "Set a starting stock; it grows from there.")
            }
            Self::NoHygieneStep { hottest_celsius, needed_celsius } => (
                format!(
                    "no step reaches {} (hottest {}): neither acid fermentation nor worms sanitise",
                    seen.warmth(*needed_celsius, 0),
                    seen.warmth(*hottest_celsius, 1)
                ),
                "Make no hygiene claim without a separate heat step and laboratory tests; ask the local authority.",
            ),
            Self::IntakeTurnedAway { turned_away_kg, offered_kg, spell } => (
                format!(
                    "{} of intake ({}) found no free drum {}; worst day {}",
                    seen.mass(*turned_away_kg),
                    percent(crate::matter::ratio(*turned_away_kg, *offered_kg)),
                    seen.when,
                    seen.mass(spell.worst)
                ),
                "Add drums, open them sooner, or grind and feed faster; sizing finds the number.",
            ),
            Self::BranShort { missing_kg, spell } => (
                format!(
                    "{} of bran was missing {}; worst day {}",
                    seen.tell(Kind::Mass, *missing_kg, 1),
                    seen.when,
                    seen.tell(Kind::Mass, spell.worst, 1)
                ),
                "Start bran batches earlier or larger; they take weeks.",
            ),
            _ => return None,
        })
    }

    fn drum_text(&self, seen: &Seen<'_>) -> Text {
        Some(match self {
            Self::DrumSpoiled { reason, drums, spell } => (
                format!(
                    "{} spoiled ({}) {}; highest pH {:.1}",
                    drums_text(*drums),
                    reason.text(),
                    seen.when,
                    spell.worst
                ),
                reason.hint(),
            ),
            Self::DrumsPastMaximum { maximum_days, spell } => (
                format!(
                    "drums stood longer than {maximum_days:.0} days {}; the oldest {:.0} days",
                    seen.when, spell.worst
                ),
                "Grind and feed more per day, or take less in.",
            ),
            Self::DrumStoreCold { limit_celsius, spell } => (
                format!(
                    "the drum store is below {} {}; lowest {}",
                    seen.warmth(*limit_celsius, 0),
                    seen.when,
                    seen.warmth(spell.worst, 1)
                ),
                "Move drums to a warmer room or plan longer fermentation in winter.",
            ),
            Self::DrumPressure { limit_kpa, spell } => (
                format!(
                    "gas in sealed drums reaches {}, above {}, {}",
                    seen.tell(Kind::Pressure, spell.worst, 0),
                    seen.tell(Kind::Pressure, *limit_kpa, 0),
                    seen.when
                ),
                "Use vented lids or airlocks; never a closed steel drum.",
            ),
            Self::ValveMissing { drums } => (
                format!("{} without valve or vented lid", drums_text(*drums)),
                "Fit vented lids or airlocks: fermenting drums build pressure.",
            ),
            _ => return None,
        })
    }

    fn safety_text(&self, seen: &Seen<'_>) -> Text {
        Some(match self {
            Self::RoomCarbonDioxide { limit, limit_ppm, spell } => {
                let name = match limit {
                    RoomLimit::EightHours => "eight-hour limit",
                    RoomLimit::ShortStay => "short-stay limit",
                    RoomLimit::ImmediateDanger => "level of immediate danger to life",
                };
                (
                    format!(
                        "carbon dioxide in the store reaches {:.0} ppm, above the {name} of {limit_ppm:.0} ppm, {}",
                        spell.worst, seen.when
                    ),
                    "Ventilate the store and fit a carbon dioxide meter; an oxygen meter does not protect.",
                )
            }
            Self::DrumTooHeavy { drum_kg, one_person_kg } => (
                format!(
                    "a full drum weighs {}, {:.1} times what one person may lift ({})",
                    seen.mass(*drum_kg),
                    drum_kg / one_person_kg,
                    seen.mass(*one_person_kg)
                ),
                "Tip or use a drum truck; do not lift. Smaller drums help.",
            ),
            _ => return None,
        })
    }

    fn paste_text(&self, seen: &Seen<'_>) -> Text {
        Some(match self {
            Self::GrinderBottleneck { capacity_kg_per_day, spell } => (
                format!(
                    "ready batches waited for the grinder ({} a day) {}; most {}",
                    seen.mass(*capacity_kg_per_day),
                    seen.when,
                    seen.mass(spell.worst)
                ),
                "Give the grinder more hours or days, or a larger one.",
            ),
            Self::BulkingShort { target, spell } => (
                format!(
                    "paste missed its air-filled porosity of {target:.2} {}; lowest {:.2}",
                    seen.when, spell.worst
                ),
                "Have more or drier bulking at hand, or spread thinner layers.",
            ),
            _ => return None,
        })
    }

    fn product_text(&self, seen: &Seen<'_>) -> Text {
        Some(match self {
            Self::DryingShort { spell } => (
                format!("castings waited wet on the floor {}; most {}", seen.when, seen.mass(spell.worst)),
                "Give more drying floor, spread thinner, warm the air, or screen wetter.",
            ),
            Self::ScreenBottleneck { capacity_kg_per_day, spell } => (
                format!(
                    "dry castings waited for the screen ({} a day) {}; most {}",
                    seen.mass(*capacity_kg_per_day),
                    seen.when,
                    seen.mass(spell.worst)
                ),
                "Give the screen more hours, or a larger one.",
            ),
            Self::CastingsNitrogenHigh { share, limit } => (
                format!(
                    "castings come out at {} N in dry matter, above the {} that is published",
                    percent(*share),
                    percent(*limit)
                ),
                "Real castings lose more N or hold bedding and grit: add bulking to the plan or claim less.",
            ),
            Self::ProductOffStandard { product, standard, limit, value, minimum, maximum, unit } => (
                format!(
                    "{product}: {limit} {} {unit} is outside {} of {standard}",
                    plain(*value),
                    bounds(*minimum, *maximum)
                ),
                "Change drying, blend or mix, or do not claim this standard.",
            ),
            Self::OutsidePublishedRange { key, value, low, high, unit } => (
                format!("{key} is {value} {unit}, outside the published {low} to {high}"),
                "Results beyond published figures are guesses; measure this one first.",
            ),
            _ => return None,
        })
    }

    fn site_text(&self, seen: &Seen<'_>) -> Text {
        Some(match self {
            Self::PermitThreshold { rule, value, threshold, unit } => {
                // thresholds are of these kinds; their unit is the one of the kind
                let kinds = [Kind::MassRate, Kind::Area, Kind::Volume];
                let kind = kinds.into_iter().find(|kind| kind.unit() == unit);
                let tell = |value: f64| {
                    kind.map_or_else(|| format!("{value:.1} {unit}"), |kind| seen.tell(kind, value, 1))
                };
                (
                    format!(
                        "{rule}: {} here, a permit may be asked for above {}",
                        tell(*value),
                        tell(*threshold)
                    ),
                    "Thresholds hold in one place only; your local authority decides. `loamledger facts KEY` tells whose it is.",
                )
            }
            Self::FloorShort { need_m2, have_m2 } => (
                format!(
                    "the plan needs {} of floor and has {}",
                    seen.tell(Kind::Area, *need_m2, 0),
                    seen.tell(Kind::Area, *have_m2, 0)
                ),
                "Stack drums where the floor allows, shorten storage, or find more floor.",
            ),
            Self::FloorOverloaded { load_kpa, limit_kpa } => (
                format!(
                    "drums or beds load the floor with {}, above {}",
                    seen.tell(Kind::Pressure, *load_kpa, 1),
                    seen.tell(Kind::Pressure, *limit_kpa, 1)
                ),
                "Store in one layer, spread the load, or ask a structural engineer.",
            ),
            _ => return None,
        })
    }
}

/// A number of four figures.
fn plain(value: f64) -> String {
    spaced(value, 4)
}

/// "at least 0.01", "0.15 to 0.25", "at most 4".
fn bounds(minimum: Option<f64>, maximum: Option<f64>) -> String {
    match (minimum, maximum) {
        (Some(low), Some(high)) => format!("{} to {}", plain(low), plain(high)),
        (Some(low), None) => format!("at least {}", plain(low)),
        (None, Some(high)) => format!("at most {}", plain(high)),
        (None, None) => "no bound".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn of_the_site(spell: Spell) -> Vec<Warning> {
        use Warning as W;
        vec![
            W::NoIntake,
            W::NoDrums,
            W::NoBeds,
            W::NoWorms,
            W::NoHygieneStep { hottest_celsius: 31.0, needed_celsius: 50.0 },
            W::IntakeTurnedAway { turned_away_kg: 30.0, offered_kg: 200.0, spell },
            W::BranShort { missing_kg: 2.0, spell },
            W::DrumSpoiled { reason: SpoilReason::LowSugar, drums: 2, spell },
            W::DrumsPastMaximum { maximum_days: 60.0, spell },
            W::DrumStoreCold { limit_celsius: 15.0, spell },
            W::DrumPressure { limit_kpa: 20.0, spell },
            W::ValveMissing { drums: 1 },
            W::RoomCarbonDioxide { limit: RoomLimit::ShortStay, limit_ppm: 30_000.0, spell },
            W::DrumTooHeavy { drum_kg: 187.0, one_person_kg: 23.0 },
            W::GrinderBottleneck { capacity_kg_per_day: 300.0, spell },
            W::BulkingShort { target: 0.3, spell },
            W::StockBelowNeed { have_kg: 10.0, need_kg: 40.0 },
            W::CocoonsLost { share: 0.95, method: "trommel".into() },
            W::DryingShort { spell },
            W::ScreenBottleneck { capacity_kg_per_day: 300.0, spell },
            W::CastingsNitrogenHigh { share: 0.041, limit: 0.035 },
            W::ProductOffStandard {
                product: "castings".into(),
                standard: "rule".into(),
                limit: "nitrogen".into(),
                value: 0.009,
                minimum: Some(0.01),
                maximum: None,
                unit: "kg/kg dry matter".into(),
            },
            W::OutsidePublishedRange {
                key: "worms.x".into(),
                value: 9.0,
                low: 1.0,
                high: 2.0,
                unit: "1/d".into(),
            },
            W::PermitThreshold { rule: "rule".into(), value: 80.0, threshold: 76.5, unit: "m3".into() },
            W::FloorShort { need_m2: 100.0, have_m2: 60.0 },
            W::FloorOverloaded { load_kpa: 9.3, limit_kpa: 6.0 },
        ]
    }

    fn of_a_bed(bed: u32, spell: Spell) -> [Warning; 12] {
        use Warning as W;
        [
            W::LayerTooThick { bed, reach_cm: 2.5, spell },
            W::BedOverloaded { bed, limit_kg_per_m2_day: 3.5, spell },
            W::BedTooHot { bed, limit_celsius: 33.0, spell },
            W::BedTooCold { bed, limit_celsius: 10.0, spell },
            W::BedTooDry { bed, limit: 0.6, spell },
            W::BedTooWet { bed, limit: 0.85, spell },
            W::BedSoured { bed, limit_ph: 5.5, spell },
            W::AmmoniaStress { bed, limit_g_per_kg: 0.1, spell },
            W::SaltStress { bed, limit_g_per_l: 3.0, spell },
            W::WormsStarving { bed, spell },
            W::Crowded { bed, limit_kg_per_m2: 4.0, spell },
            W::StockDyingOut { bed, spell },
        ]
    }

    #[test]
    fn every_warning_has_a_text_a_hint_and_its_code_in_files() {
        let spell = Spell { first: date(2031, 7, 5), days: 3, worst: 0.5 };
        let all: Vec<Warning> = of_the_site(spell).into_iter().chain(of_a_bed(4, spell)).collect();
        // One of each variant: the codes are all different and as many as the enum has.
        let codes: std::collections::BTreeSet<_> = all.iter().map(Warning::code).collect();
        assert_eq!((codes.len(), all.len()), (38, 38));
        for w in &all {
            assert!(w.message().len() > 15 && w.hint().ends_with('.'), "{}", w.code());
            let value = serde_json::to_value(w).unwrap();
            assert_eq!(value["code"], w.code());
            assert_eq!(w.spell().is_some(), value.get("spell").is_some());
            if w.spell().is_some() {
                assert!(w.message().contains("2031-07-05"), "{}", w.message());
            }
        }
    }

    #[test]
    fn figures_and_units_stand_in_the_message() {
        let spell = Spell { first: date(2031, 7, 5), days: 3, worst: 36.25 };
        let hot = Warning::BedTooHot { bed: 2, limit_celsius: 33.0, spell };
        assert_eq!(hot.message(), "bed 2: above 33 °C on 3 days from 2031-07-05; peak 36.2 °C");
        let heavy = Warning::DrumTooHeavy { drum_kg: 187.0, one_person_kg: 23.0 };
        // niosh_94_110: a 187 kg drum is 8 load constants.
        assert_eq!(heavy.message(), "a full drum weighs 187 kg, 8.1 times what one person may lift (23 kg)");
    }
}
