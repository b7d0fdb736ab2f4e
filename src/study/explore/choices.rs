//! The choices of a scenario that the live page has a control for: unit, range, default and text from the declarations of the keys.

use crate::quantity::Kind;
use crate::scenario::Plan;
use crate::scenario::field::{Fallback, Field, fields};
use crate::scenario::plan::{HarvestRule, Room};
use crate::study::what_if::{DENSEST, DENSITY};

/// Most streams, and most groups of beds, that have controls; a page with more could not be overlooked. Our choice.
const MOST_OF_A_KIND: usize = 4;
/// Steps of a slider from end to end, at least. Our choice.
const STEPS: f64 = 100.0;
/// Largest end of a slider over the value of the file, where the rule of its key names no ends. Our choice.
const REACH: f64 = 2.0;

/// What a choice is about; the page shows choices of a part together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// What arrives.
    Scraps,
    /// Fermenting drums.
    Drums,
    /// Beds and worms.
    Beds,
    /// Feed and bulking.
    Feed,
    /// Temperatures.
    Rooms,
    /// Harvest and curing.
    Castings,
}

impl Part {
    /// Every part, in the order of the page.
    pub const ALL: [Self; 6] =
        [Self::Scraps, Self::Drums, Self::Beds, Self::Feed, Self::Rooms, Self::Castings];

    /// Its heading.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Scraps => "Scraps",
            Self::Drums => "Drums",
            Self::Beds => "Beds and worms",
            Self::Feed => "Feed",
            Self::Rooms => "Temperatures",
            Self::Castings => "Castings",
        }
    }
}

/// A choice with a control. Numbers are in the documented unit of the kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Key path in the scenario, such as `drums.count` or `streams[0].amount`, or [`DENSITY`].
    pub key: String,
    /// What it is about.
    pub part: Part,
    /// Its name for people.
    pub label: String,
    /// What it is, from the declaration of the key.
    pub about: String,
    /// What it measures.
    pub kind: Kind,
    /// Its value. `None` if it is left out.
    pub value: Option<f64>,
    /// Whether it may be left out.
    pub optional: bool,
    /// Ends of the slider.
    pub reach: (f64, f64),
    /// Step of the slider.
    pub step: f64,
    /// Range that the file allows.
    pub allowed: (f64, f64),
    /// What holds if it is left out of the file. `None` if that is nothing or another rule fills it in.
    pub default: Option<f64>,
    /// Where the default comes from: a key of the literature tables or `choice`; empty without a default.
    pub basis: &'static str,
}

/// The choices of a plan that have a control, in the order of the page.
pub fn choices(plan: &Plan) -> Vec<Choice> {
    let mut all = Vec::new();
    scraps(plan, &mut all);
    drums(plan, &mut all);
    beds(plan, &mut all);
    worms(plan, &mut all);
    feed(plan, &mut all);
    rooms(plan, &mut all);
    castings(plan, &mut all);
    all
}

/// How far a slider reaches.
#[derive(Clone, Copy)]
enum Reach {
    /// From the least that is allowed to a multiple of the value.
    Twice,
    /// Between these ends, and to the value if that lies beyond.
    Between(f64, f64),
}

fn scraps(plan: &Plan, all: &mut Vec<Choice>) {
    let several = plan.streams.len() > 1;
    let of = |name: &str| if several { format!(", {name}") } else { String::new() };
    for (n, stream) in plan.streams.iter().enumerate().take(MOST_OF_A_KIND) {
        if let Some(amount) = stream.amount {
            let label = format!("Scraps on an open day{}", of(&stream.name));
            all.extend(choice(Part::Scraps, &format!("streams[{n}].amount"), label, amount, Reach::Twice));
        }
        if let Some(generation) = &stream.generation {
            let label = format!("People, meals or staff{}", of(&stream.name));
            let key = format!("streams[{n}].generation.count");
            all.extend(choice(Part::Scraps, &key, label, f64::from(generation.count), Reach::Twice));
        }
    }
}

fn drums(plan: &Plan, all: &mut Vec<Choice>) {
    if !plan.ferments() {
        return;
    }
    let drums = &plan.drums;
    let rows = [
        ("drums.count", "Drums", f64::from(drums.count), Reach::Twice),
        ("drums.volume", "Volume of a drum", drums.volume, Reach::Twice),
        ("drums.minimum_days", "Days sealed at least", f64::from(drums.minimum_days), Reach::Twice),
    ];
    all.extend(
        rows.into_iter().filter_map(|(key, label, value, reach)| {
            choice(Part::Drums, key, label.to_owned(), value, reach)
        }),
    );
}

fn beds(plan: &Plan, all: &mut Vec<Choice>) {
    let several = plan.beds.len() > 1;
    let of = |name: &str| if several { format!(", {name}") } else { String::new() };
    for (n, group) in plan.beds.iter().enumerate().take(MOST_OF_A_KIND) {
        let count = choice(
            Part::Beds,
            &format!("beds[{n}].count"),
            format!("Beds{}", of(&group.name)),
            f64::from(group.count),
            Reach::Twice,
        );
        let area = choice(
            Part::Beds,
            &format!("beds[{n}].area"),
            format!("Area of a bed{}", of(&group.name)),
            group.area,
            Reach::Twice,
        );
        all.extend(count.into_iter().chain(area));
    }
}

/// Worms bought at first, as a mass and per area of the beds: two controls for one key.
fn worms(plan: &Plan, all: &mut Vec<Choice>) {
    let Some(stock) = plan.stock.as_ref().filter(|_| plan.is_new()) else { return };
    all.extend(choice(
        Part::Beds,
        "stock.mass",
        "Worms bought at first".to_owned(),
        stock.mass,
        Reach::Twice,
    ));
    let area = plan.bed_area();
    if area > 0.0 {
        let density = stock.mass / area;
        let top = (REACH * density).clamp(1.0, DENSEST);
        all.push(Choice {
            key: DENSITY.to_owned(),
            part: Part::Beds,
            label: "Worms bought per area of the beds".to_owned(),
            about: "Live worms bought at first, over the area of all beds. Sets the worms bought.".to_owned(),
            kind: Kind::ArealMass,
            value: Some(density),
            optional: false,
            reach: (0.0, top),
            step: step(0.0, top, false),
            allowed: (0.0, DENSEST),
            default: None,
            basis: "",
        });
    }
}

fn feed(plan: &Plan, all: &mut Vec<Choice>) {
    let ration = plan.feeding.ration;
    all.extend(choice(
        Part::Feed,
        "feeding.ration",
        "Most paste per worm".to_owned(),
        ration,
        Reach::Between(0.0, 0.6),
    ));
    let Some(bulking) = &plan.bulking else { return };
    let rows = [
        (
            "bulking.air_filled_porosity",
            "Air-filled porosity aimed at by bulking",
            bulking.air_filled_porosity,
            Reach::Between(0.0, 0.5),
        ),
        (
            "bulking.carbon_to_nitrogen",
            "C:N aimed at by bulking",
            bulking.carbon_to_nitrogen,
            Reach::Between(10.0, 60.0),
        ),
        (
            "bulking.most_per_paste",
            "Most bulking per paste",
            bulking.most_per_paste,
            Reach::Between(0.0, 1.0),
        ),
    ];
    all.extend(
        rows.into_iter()
            .filter_map(|(key, label, value, reach)| choice(Part::Feed, key, label.to_owned(), value, reach)),
    );
}

fn rooms(plan: &Plan, all: &mut Vec<Choice>) {
    let climate = &plan.climate;
    all.extend(choice(
        Part::Rooms,
        "climate.mean_temperature",
        "Mean outdoors over the year".to_owned(),
        climate.mean_temperature,
        Reach::Between(-5.0, 30.0),
    ));
    let heated = |room: &Room, key: &str, label: &str, top: f64| {
        let held = room.heated_to;
        let made =
            choice(Part::Rooms, key, label.to_owned(), held.unwrap_or(15.0), Reach::Between(0.0, top))?;
        Some(Choice { value: held, optional: true, ..made })
    };
    all.extend(heated(&climate.drum_room, "climate.drum_room.heated_to", "Drum room heated to", 40.0));
    all.extend(heated(&climate.bed_room, "climate.bed_room.heated_to", "Bed room heated to", 30.0));
}

fn castings(plan: &Plan, all: &mut Vec<Choice>) {
    if let HarvestRule::EveryDays(days) = plan.harvest.rule() {
        let label = "Days between harvests of a bed".to_owned();
        all.extend(choice(
            Part::Castings,
            "harvest.every_days",
            label,
            f64::from(days),
            Reach::Between(14.0, 365.0),
        ));
    }
    all.extend(choice(
        Part::Castings,
        "castings.cure_days",
        "Days of curing".to_owned(),
        f64::from(plan.castings.cure_days),
        Reach::Between(0.0, 120.0),
    ));
}

/// A choice from the declaration of its key. `None` if the key is no number, which a test excludes.
fn choice(part: Part, key: &str, label: String, value: f64, reach: Reach) -> Option<Choice> {
    let Field { text, number, .. } = fields().iter().find(|field| field.path == without_places(key))?;
    let whole = matches!(number.kind, Kind::Count | Kind::Days);
    let (low, high) = match reach {
        Reach::Twice => (number.low, nice(REACH * value.max(number.low))),
        Reach::Between(low, high) => (low.min(value), high.max(value)),
    };
    let (low, high) = (low.max(number.low), high.min(number.high));
    let step = step(low, high, whole);
    // from a multiple of the step on, so that round values can be reached
    let reach = (ten_decimals((low / step - 1e-9).ceil() * step).min(value), high);
    Some(Choice {
        key: key.to_owned(),
        part,
        label,
        about: text.clone(),
        kind: number.kind,
        value: Some(value),
        optional: false,
        reach,
        step,
        allowed: (number.low, number.high),
        default: if let Fallback::Value(value) = number.fallback { Some(value) } else { None },
        basis: number.basis,
    })
}

/// A key path as the table of numbers has it, without places in lists.
fn without_places(key: &str) -> String {
    let mut path = String::new();
    let mut inside = false;
    for letter in key.chars() {
        match letter {
            '[' => inside = true,
            ']' => inside = false,
            _ if !inside => path.push(letter),
            _ => {}
        }
    }
    path
}

/// The smallest of 1, 1.5, 2, 3, 4, 5, 6, 8 times a power of ten that is not below a number above 0; 1 for none.
fn nice(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 1.0;
    }
    let power = 10_f64.powf(value.log10().floor());
    let found =
        [1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0].into_iter().find(|n| n * power >= value * (1.0 - 1e-9));
    found.map_or(10.0 * power, |n| ten_decimals(n * power))
}

/// Ten decimals, without what a product or a division leaves beyond them.
pub(super) fn ten_decimals(value: f64) -> f64 {
    format!("{value:.10}").parse().unwrap_or(value)
}

/// The largest step of 1, 2 or 5 times a power of ten that gives [`STEPS`] steps; of whole numbers at least 1.
fn step(low: f64, high: f64, whole: bool) -> f64 {
    let largest = (high - low) / STEPS;
    if largest <= 0.0 || !largest.is_finite() {
        return 1.0;
    }
    let power = 10_f64.powf(largest.log10().floor());
    let found = [5.0, 2.0].into_iter().find(|n| n * power <= largest * (1.0 + 1e-9));
    let step = ten_decimals(found.unwrap_or(1.0) * power);
    if whole { step.max(1.0) } else { step }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{FileKind, parse, read_text};
    use std::path::Path;

    fn worked(name: &str) -> Plan {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name);
        parse(name, &read_text(&path, FileKind::Scenario).unwrap()).unwrap()
    }

    #[test]
    fn every_choice_of_a_worked_site_is_in_reach_and_has_a_text() {
        for name in ["harbour_hall.json", "mountain_school.json", "valley_packhouse.json"] {
            let all = choices(&worked(name));
            assert!(all.len() >= 14, "{name}: {}", all.len());
            for choice in &all {
                let (low, high) = choice.reach;
                assert!(low < high && choice.step > 0.0, "{name}: {choice:?}");
                assert!(choice.value.is_none_or(|v| (low..=high).contains(&v)), "{name}: {choice:?}");
                assert!(choice.allowed.0 <= low && high <= choice.allowed.1, "{name}: {choice:?}");
                assert!(!choice.about.is_empty() && !choice.label.is_empty(), "{name}: {choice:?}");
            }
            let mut keys: Vec<&str> = all.iter().map(|choice| choice.key.as_str()).collect();
            keys.sort_unstable();
            keys.dedup();
            assert_eq!(keys.len(), all.len(), "{name}");
        }
    }

    #[test]
    fn a_room_without_heating_can_be_given_one() {
        let all = choices(&worked("mountain_school.json"));
        let of = |key: &str| all.iter().find(|choice| choice.key == key).unwrap();
        assert_eq!(
            (of("climate.drum_room.heated_to").value, of("climate.bed_room.heated_to").value),
            (None, Some(15.0))
        );
        assert!(of("climate.drum_room.heated_to").optional && !of("drums.count").optional);
    }

    #[test]
    fn sliders_end_and_step_at_round_numbers() {
        for (ours, by_hand) in
            [(nice(0.0), 1.0), (nice(7.0), 8.0), (nice(61.0), 80.0), (nice(90.1), 100.0), (nice(0.24), 0.3)]
        {
            assert!((ours - by_hand).abs() < 1e-12, "{ours} {by_hand}");
        }
        for (ours, by_hand) in
            [(step(0.0, 100.0, true), 1.0), (step(0.0, 30.0, false), 0.2), (step(0.0, 30.0, true), 1.0)]
        {
            assert!((ours - by_hand).abs() < 1e-12, "{ours} {by_hand}");
        }
        assert_eq!(without_places("streams[12].amount"), "streams.amount");
    }
}
