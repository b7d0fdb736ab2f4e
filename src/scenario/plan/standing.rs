//! The site as it stands on the evening before the first day.

use crate::quantity::Kind::{Area, Count, Days, Length, Mass, Share, Temperature};
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
        let problem = if drums.age.is_some() { "has both filled and age" } else { "has neither filled nor age" };
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

impl Standing {
    /// What is left out, for some of the beds of these names at least.
    pub fn filled(&self, beds: &[(String, String)]) -> Vec<FilledPart> {
        let of = |bed: &(String, String)| self.bed(bed);
        let lacks = |given: &dyn Fn(&StandingBeds) -> bool| beds.iter().any(|bed| !of(bed).is_some_and(given));
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
    pub fn bed(&self, (group, own): &(String, String)) -> Option<&StandingBeds> {
        let named = |name: &str| self.beds.iter().find(|bed| bed.name == name);
        named(own).or_else(|| named(group))
    }
}
