//! The site as it stands on the evening before the first day.

use super::Choices;
use crate::quantity::Kind::{Area, Count, Days, Length, Mass, Share, Temperature};
use crate::quantity::{did_you_mean, format_input, nearest};
use crate::scenario::calendar::days_between;
use crate::scenario::check::Checker;
use crate::scenario::locate::Part;
use crate::scenario::path::KeyPath;
use crate::scenario::rule::{date, list, list_if_given, may, name, need, section};
use crate::scenario::section::section;
use jiff::civil::Date;

section! {
    /// The site on the evening before the first day, where it runs already. What is left out is filled by running the plan up to that
    /// evening, and said.
    pub struct Standing {
        /// Days that the site has run: so long the plan is run beforehand to fill what is left out, and harvests keep their turns.
        days_run: u32 = need(Days, 1.0, 3660.0),
        /// Bran in store. Left out: filled.
        bran: Option<f64> = may(Mass, 0.0, 1e6),
        /// Sealed drums, by day of filling or age; an empty list where none is sealed. Left out: filled.
        drums: Option<Vec<StandingDrums>> = list_if_given(),
        /// Scraps in the drum that is being filled. Left out: filled.
        filling: Option<f64> = may(Mass, 0.0, 1e6),
        /// Paste, with opened scraps that wait for the grinder. Left out: filled.
        paste: Option<f64> = may(Mass, 0.0, 1e6),
        /// Harvested castings that dry or wait for the screen. Left out: filled.
        drying: Option<f64> = may(Mass, 0.0, 1e7),
        /// Screened castings that cure or wait for sale. Left out: filled.
        curing: Option<f64> = may(Mass, 0.0, 1e7),
        /// Beds, by their name or that of their group. Left out: filled.
        beds: Vec<StandingBeds> = list(),
    }
}

section! {
    /// Sealed drums of one age.
    pub struct StandingDrums checked by day_or_age {
        /// Number of drums.
        count: u32 = need(Count, 0.0, 20_000.0),
        /// Day on which they were filled and sealed. Give this or `age`.
        filled: Option<Date> = date(),
        /// Days since they were sealed, on that evening. Give this or `filled`.
        age: Option<u32> = may(Days, 0.0, 730.0),
    }
}

fn day_or_age(check: &mut Checker<'_>, path: &KeyPath, drums: &StandingDrums) {
    if drums.filled.is_some() == drums.age.is_some() && !check.is_faulty(path) {
        let problem =
            if drums.age.is_some() { "has both filled and age" } else { "has neither filled nor age" };
        let fault = check.at(path, Part::Value, problem);
        check.faults.push(fault.allowed("either `filled` or `age`").nothing_given());
    }
}

section! {
    /// A bed, or each bed of a group.
    pub struct StandingBeds checked by one_mass_and_one_count {
        /// Name of a group of beds, or of one bed of it such as "hall beds 3".
        name: String = name(),
        /// Wet mass of castings and bedding in each bed. Give this or `depth`. Left out: filled.
        castings: Option<f64> = may(Mass, 0.1, 1e7),
        /// Depth of all layers in each bed. Give this or `castings`. Left out: filled.
        depth: Option<f64> = may(Length, 0.01, 3.0),
        /// Moisture of castings and bedding. Left out: filled.
        moisture: Option<f64> = may(Share, 0.3, 0.95),
        /// Wet mass of feed in each bed that worms eat. Left out: filled.
        ready: Option<f64> = may(Mass, 0.0, 1e6),
        /// Wet mass of fresh acid feed on each bed. Left out: filled.
        fresh: Option<f64> = may(Mass, 0.0, 1e6),
        /// Temperature of each bed. Left out: filled.
        temperature: Option<f64> = may(Temperature, -10.0, 60.0),
        /// Live mass of worms in each bed. Give this or `sampled`. Left out: filled.
        worms: Option<f64> = may(Mass, 0.0, 1e5),
        /// Worms counted in samples of the bed. Give this or `worms`.
        sampled: Option<Sampled> = section(),
        /// Day of the last harvest. Left out: filled.
        harvested: Option<Date> = date(),
    }
}

section! {
    /// Worms counted in samples that reach through the bed.
    pub struct Sampled {
        /// Area of all samples together.
        area: f64 = need(Area, 0.0001, 1000.0),
        /// Worms in them, young ones included, cocoons not.
        worms: u32 = need(Count, 0.0, 1e7),
    }
}

fn one_mass_and_one_count(check: &mut Checker<'_>, path: &KeyPath, bed: &StandingBeds) {
    for (both, first, second) in [
        (bed.castings.is_some() && bed.depth.is_some(), "castings", "depth"),
        (bed.worms.is_some() && bed.sampled.is_some(), "worms", "sampled"),
    ] {
        if both {
            let fault = check.at(path, Part::Value, format!("has both {first} and {second}"));
            check.faults.push(fault.allowed(format!("either `{first}` or `{second}`")).nothing_given());
        }
    }
}

/// A part of the site as it stands that the scenario leaves out and a run fills.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FilledPart {
    /// Bran in store.
    Bran,
    /// Sealed drums.
    Drums,
    /// The drum being filled.
    Filling,
    /// Paste.
    Paste,
    /// Castings that dry or wait for the screen.
    Drying,
    /// Castings that cure or wait for sale.
    Curing,
    /// Mass or depth of castings and bedding of some bed.
    Castings,
    /// Moisture of some bed.
    Moisture,
    /// Feed in and on some bed.
    Feed,
    /// Temperature of some bed.
    Temperature,
    /// Worms of some bed.
    Worms,
    /// Day of the last harvest of some bed.
    Harvested,
}

impl StandingDrums {
    /// Age on an evening, d. `None` if they are filled later, or no age is given.
    pub fn age_on(&self, evening: Date) -> Option<u32> {
        self.age.or_else(|| u32::try_from(days_between(self.filled?, evening)).ok())
    }
}

impl Standing {
    /// What the rest of the scenario must allow.
    pub(super) fn fits(&self, check: &mut Checker<'_>, path: &KeyPath, choices: &Choices) {
        let evening = choices.start.yesterday().unwrap_or(choices.start);
        let later = |check: &mut Checker<'_>, at: KeyPath| {
            check.wrong(
                &at,
                "is after the evening before the first day",
                &format!("at most {evening}"),
                None,
            );
        };
        for (i, drums) in self.drums.iter().flatten().enumerate() {
            if drums.filled.is_some_and(|day| day > evening) {
                later(check, path.key("drums").index(i).key("filled"));
            }
        }
        let sealed: u64 = self.drums.iter().flatten().map(|drums| u64::from(drums.count)).sum();
        let in_use = sealed + u64::from(self.filling.is_some_and(|mass| mass > 0.0));
        if in_use > u64::from(choices.drums.count) && !check.is_faulty(&KeyPath::top("drums")) {
            let allowed = format!("at most `drums.count`, {}", choices.drums.count);
            check.wrong(&path.key("drums"), &format!("{in_use} drums are in use"), &allowed, None);
        }
        let most = choices.drums.drum_mass();
        if let Some(filling) =
            self.filling.filter(|mass| *mass > most && !check.is_faulty(&KeyPath::top("drums")))
        {
            let problem = format!("{} kg do not fit into a drum", format_input(filling, 4));
            let allowed = format!("at most {} kg, a full drum", format_input(most, 4));
            check.wrong(&path.key("filling"), &problem, &allowed, None);
        }
        let mut names: Vec<String> = Vec::new();
        for group in &choices.beds {
            names.push(group.name.clone());
            if group.count > 1 {
                names.extend((1..=group.count).map(|n| format!("{} {n}", group.name)));
            }
        }
        for (i, bed) in self.beds.iter().enumerate() {
            let at = path.key("beds").index(i);
            if bed.harvested.is_some_and(|day| day > evening) {
                later(check, at.key("harvested"));
            }
            if self.beds[..i].iter().any(|earlier| earlier.name == bed.name) {
                check.wrong(&at.key("name"), "this bed is given already", "each bed once", None);
            } else if !names.contains(&bed.name) && !bed.name.is_empty() {
                let groups: Vec<&str> = choices.beds.iter().map(|group| group.name.as_str()).collect();
                let hint = nearest(&bed.name, names.iter().map(String::as_str)).map(did_you_mean);
                let allowed = format!("a group ({}) or a bed of it, numbered", groups.join(", "));
                check.wrong(&at.key("name"), "no bed has this name", &allowed, hint);
            }
        }
    }

    /// What is left out, for some of the beds of these names at least.
    pub fn filled(&self, beds: &[(&str, String)]) -> Vec<FilledPart> {
        let of = |bed: &(&str, String)| self.bed(bed);
        let lacks =
            |given: &dyn Fn(&StandingBeds) -> bool| beds.iter().any(|bed| !of(bed).is_some_and(given));
        [
            (self.bran.is_none(), FilledPart::Bran),
            (self.drums.is_none(), FilledPart::Drums),
            (self.filling.is_none(), FilledPart::Filling),
            (self.paste.is_none(), FilledPart::Paste),
            (self.drying.is_none(), FilledPart::Drying),
            (self.curing.is_none(), FilledPart::Curing),
            (lacks(&|bed| bed.castings.is_some() || bed.depth.is_some()), FilledPart::Castings),
            (lacks(&|bed| bed.moisture.is_some()), FilledPart::Moisture),
            (lacks(&|bed| bed.ready.is_some() && bed.fresh.is_some()), FilledPart::Feed),
            (lacks(&|bed| bed.temperature.is_some()), FilledPart::Temperature),
            (lacks(&|bed| bed.worms.is_some() || bed.sampled.is_some()), FilledPart::Worms),
            (lacks(&|bed| bed.harvested.is_some()), FilledPart::Harvested),
        ]
        .into_iter()
        .filter_map(|(left_out, part)| left_out.then_some(part))
        .collect()
    }

    /// What is given for a bed, by its own name or else by that of its group.
    pub fn bed(&self, (group, own): &(&str, String)) -> Option<&StandingBeds> {
        let named = |name: &str| self.beds.iter().find(|bed| bed.name == name);
        named(own).or_else(|| named(group))
    }
}
