//! The store of sealed drums: fill, seal, ferment, tap, and open the oldest ready drums first.

mod beside;
mod cohort;
mod state;

pub use state::{DrumsState, FillingState};

use crate::matter::{Gas, Gases, Material, ratio};
use crate::process::acidity::{AcidConstants, AcidPowers, Acidity, Surrounds};
use crate::process::fermentation::load::Load;
use crate::process::fermentation::pathway::{self, PATHWAYS};
use crate::process::fermentation::{FermentationRates, gas};
use crate::quantity::whole;
use cohort::{DrumCohort, Start, Today};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::VecDeque;

/// A drum short of full by no more than this share counts as full. Source: our choice.
const FULL_TOLERANCE: f64 = 1e-6;
/// Hours of a shift, over which limits of carbon dioxide are means. # Units: h # Source: niosh_idlh_1994
const SHIFT: f64 = 8.0;

/// How a drum lets gas out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DrumVent {
    /// A one-way valve.
    Valve {
        /// Gauge pressure at which it opens, Pa.
        set_pressure: f64,
    },
    /// Closed, or a blocked valve: pressure builds up.
    Sealed,
}

/// Why a drum spoiled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[repr(usize)]
pub enum SpoilReason {
    /// Too cold to sour in time.
    Cold,
    /// Too little sugar to sour.
    LowSugar,
    /// Too wet for the acid reached.
    TooWet,
    /// Protein buffers the acid.
    ProteinRich,
    /// Lime or ash buffers the acid.
    Lime,
    /// Air got in.
    Air,
}

impl SpoilReason {
    /// Number of reasons.
    pub const COUNT: usize = 6;
    /// Every reason, in the order of counts by reason.
    pub const ALL: [Self; Self::COUNT] =
        [Self::Cold, Self::LowSugar, Self::TooWet, Self::ProteinRich, Self::Lime, Self::Air];
}

/// How a drum store is built and worked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrumStoreSetup {
    /// Number of drums.
    pub drums: usize,
    /// Volume of a drum, m3.
    pub volume: f64,
    /// Share of the volume that is filled.
    pub fill_share: f64,
    /// Density of the settled filling, kg wet/m3.
    pub settled_density: f64,
    /// Age below which no drum is opened, d.
    pub minimum_days: u32,
    /// Age from which a drum is opened even if it is not ready, d; older drums are reported.
    pub maximum_days: u32,
    /// Age at which a part-filled drum is sealed, d.
    pub most_filling_days: u32,
    /// Share of the end point from which a drum is ready.
    pub ready_progress: f64,
    /// Valve or closed lid.
    pub vent: DrumVent,
    /// Whether liquor is tapped; if not, it stays in the paste.
    pub drain_liquor: bool,
    /// Days between tappings of a drum.
    pub tap_days: u32,
    /// Whether scraps are ground before they are sealed.
    pub scraps_ground_before: bool,
    /// Volume of the room, m3.
    pub room_volume: f64,
    /// Air exchange of the room, m3/h.
    pub room_air: f64,
    /// Oxygen that leaks into a drum in a week, kg per kg dry matter.
    pub leak: f64,
}

impl DrumStoreSetup {
    /// Wet mass of a full drum, kg.
    pub fn drum_mass(&self) -> f64 {
        drum_mass(self.volume, self.fill_share, self.settled_density)
    }
}

/// Wet mass of a full drum, bran included, kg: `volume x share filled x density of the settled filling`.
pub fn drum_mass(volume: f64, fill_share: f64, settled_density: f64) -> f64 {
    volume * fill_share * settled_density
}

/// Where a day's intake went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Received {
    /// Filled into drums.
    pub accepted: Material,
    /// Turned away for lack of a drum.
    pub turned_away: Material,
    /// Drums sealed.
    pub sealed: usize,
}

/// What happened in the sealed drums in a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fermented {
    /// Gas that left the drums, kg; leaked oxygen is negative.
    pub gases: Gases,
    /// Liquor tapped.
    pub liquor: Material,
    /// Drums found spoiled today.
    pub spoiled: usize,
    /// These by reason, in the order of [`SpoilReason::ALL`].
    pub spoiled_by: [usize; SpoilReason::COUNT],
    /// Drums judged today that are not spoiled, but not below the critical pH by the stable margin.
    pub watch: usize,
    /// Highest gauge pressure in a drum, Pa.
    pub gauge_pressure: f64,
    /// Highest carbon dioxide of the room today, m3/m3.
    pub room_carbon_dioxide: f64,
    /// Highest mean of it over eight hours, a shift, in the room, m3/m3.
    pub room_carbon_dioxide_shift: f64,
    /// Age of the oldest sealed drum; 0 if none is sealed. # Units: d
    pub oldest: u32,
}

/// Drums opened for paste.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opened {
    /// Their contents.
    pub paste_in: Material,
    /// How many.
    pub drums: usize,
    /// How many of them were spoiled.
    pub spoiled: usize,
    /// Mean age, each drum counted once, d.
    pub age: f64,
    /// Mean pH, each drum counted once; 0 if none was opened.
    pub ph: f64,
    /// Gas that was held, released to the room, kg.
    pub gases: Gases,
    /// Carbon dioxide of the room just after, m3/m3.
    pub room_carbon_dioxide: f64,
    /// Dry matter that was sealed in them, kg.
    pub sealed_dry: f64,
    /// Gas that fermentation made in them, vented or held, kg; oxygen of leaked air is negative.
    pub made: Gases,
}

/// Scraps being filled into a drum, mixed with the day's intake.
#[derive(Debug, Clone, Copy, Default)]
struct Filling {
    load: Load,
    /// Wet mass times dose.
    starter: f64,
    since: u32,
}

/// The drum store. Nothing is allocated after construction.
///
/// A drum being filled does not ferment; it starts on the day it is sealed. Drums sealed on one day share one mixed
/// composition.
#[derive(Debug, Clone)]
pub struct DrumStore {
    setup: DrumStoreSetup,
    rates: FermentationRates,
    constants: AcidConstants,
    /// The constants at the temperature of the room.
    powers: AcidPowers,
    filling: Filling,
    /// At most one cohort per drum, so the queue never grows.
    cohorts: VecDeque<DrumCohort>,
    sealed: usize,
    /// Acidity of the scraps that were sealed last.
    scraps_acidity: Acidity,
    room_carbon_dioxide: f64,
    temperature: f64,
}

impl DrumStore {
    /// An empty store at a temperature in °C.
    pub fn new(
        setup: DrumStoreSetup,
        rates: FermentationRates,
        constants: AcidConstants,
        temperature: f64,
    ) -> Self {
        Self {
            setup,
            rates,
            constants,
            powers: AcidPowers::at(&constants, &Surrounds::acid_store(temperature)),
            filling: Filling::default(),
            cohorts: VecDeque::with_capacity(setup.drums),
            sealed: 0,
            scraps_acidity: Acidity::of(5.0),
            room_carbon_dioxide: rates.gas.outdoors,
            temperature,
        }
    }

    /// Wet mass that can still be taken in, kg.
    pub fn room(&self) -> f64 {
        let free = (self.setup.drums - self.sealed) as f64 * self.setup.drum_mass();
        (free - self.filling.load.wet()).max(0.0)
    }

    /// Takes in a day's scraps with their bran; fills and seals drums. Call it every day, with no matter on closed days.
    ///
    /// `dose` is live bran per wet scraps, kg/kg. `luck`, between 0 and 1, decides about the drums sealed today: they spoil if it
    /// is below their chance of spoiling (0.5 in a run without chance).
    pub fn receive(&mut self, day: u32, intake: Load, dose: f64, luck: f64) -> Received {
        let full = self.setup.drum_mass();
        let mut turned_away = intake;
        let accepted = turned_away.take_wet(self.room());
        if self.filling.load.wet() <= 0.0 {
            self.filling.since = day;
        }
        self.filling.load += accepted;
        self.filling.starter += dose * accepted.wet();
        // no more was taken than there is room for, so each of these has its drum
        let count = whole(ratio(self.filling.load.wet(), full) + FULL_TOLERANCE) as usize;
        let mut sealed = count;
        if count > 0 {
            self.seal(day, count, count as f64 * full, luck);
        }
        let waited = day.saturating_sub(self.filling.since);
        if self.filling.load.wet() > 0.0 && waited >= self.setup.most_filling_days {
            self.seal(day, 1, full, luck);
            sealed += 1;
        }
        Received { accepted: accepted.matter, turned_away: turned_away.matter, sealed }
    }

    fn seal(&mut self, day: u32, count: usize, mass: f64, luck: f64) {
        let dose = ratio(self.filling.starter, self.filling.load.wet());
        let mut taken = self.filling.load.take_wet(mass);
        if self.filling.load.wet() < FULL_TOLERANCE * mass {
            taken += std::mem::take(&mut self.filling.load);
        }
        self.filling.starter = dose * self.filling.load.wet();
        self.filling.since = day;
        let today = Today::new(&self.setup, &self.rates, &self.powers, day, self.temperature);
        let drum = taken * (1.0 / count as f64);
        let cohort = DrumCohort::seal(drum, count, Start { dose, luck }, self.scraps_acidity, &today);
        self.scraps_acidity = cohort.acidity;
        self.cohorts.push_back(cohort);
        self.sealed += count;
    }

    /// One day of fermentation in all sealed drums at the temperature of the room, °C: reactions, gas, tapping and checks.
    pub fn ferment(&mut self, day: u32, temperature: f64) -> Fermented {
        self.temperature = temperature;
        self.powers = self.powers.moved_to(temperature, &self.constants);
        let today = Today::new(&self.setup, &self.rates, &self.powers, day, temperature);
        let mut out = Fermented::nothing(self.room_carbon_dioxide);
        cohort::advance(&mut self.cohorts, &today, &mut out);
        out.liquor = beside::tap(self.cohorts.iter_mut(), &today);
        beside::judge(self.cohorts.iter_mut(), &today, &mut out);
        let moles = out.gases[Gas::CarbonDioxide].max(0.0) / Gas::CarbonDioxide.molar_mass();
        let made = moles * gas::molar_volume(temperature) / 24.0;
        let DrumStoreSetup { room_air, room_volume, .. } = self.setup;
        let outdoors = self.rates.gas.outdoors;
        let after =
            |start: f64, hours: f64| gas::room_after(start, outdoors, made, room_air, room_volume, hours);
        let shift = |start: f64| gas::room_mean(start, outdoors, made, room_air, room_volume, SHIFT);
        let (start, end) = (self.room_carbon_dioxide, after(self.room_carbon_dioxide, 24.0));
        out.room_carbon_dioxide = start.max(end);
        // it rises or falls all day, so the highest shift is the first or the last
        out.room_carbon_dioxide_shift = shift(start).max(shift(after(start, 24.0 - SHIFT)));
        self.room_carbon_dioxide = end;
        out
    }

    /// Opens the oldest ready drums until their contents reach `wanted` kilograms; drums are opened whole.
    ///
    /// A drum of the minimum age is ready if it has reached `ready_progress`, is known to be spoiled, or has the maximum age.
    pub fn open(&mut self, day: u32, wanted: f64) -> Opened {
        let mut out = Opened {
            paste_in: Material::zero(),
            drums: 0,
            spoiled: 0,
            age: 0.0,
            ph: 0.0,
            gases: Gases::zero(),
            room_carbon_dioxide: self.room_carbon_dioxide,
            sealed_dry: 0.0,
            made: Gases::zero(),
        };
        let today = Today::new(&self.setup, &self.rates, &self.powers, day, self.temperature);
        let mut missing = wanted;
        let mut i = 0;
        while i < self.cohorts.len() && missing > 0.0 {
            let cohort = &mut self.cohorts[i];
            if !is_ready(cohort, day, &self.setup) {
                i += 1;
                continue;
            }
            let (matter, acidity) = beside::contents_of(cohort, &today);
            cohort.acidity = acidity;
            let mut opened = 0;
            while opened < cohort.count && missing > 0.0 {
                opened += 1;
                missing -= matter.wet();
            }
            let count = opened as f64;
            out.paste_in += matter * count;
            out.gases += cohort.held() * count;
            out.sealed_dry += cohort.sealed_dry * count;
            let made = [Gas::CarbonDioxide, Gas::Hydrogen, Gas::Oxygen];
            for (gas, kilograms) in made.into_iter().zip(cohort.made()) {
                out.made[gas] += kilograms * count;
            }
            out.drums += opened;
            out.age += count * f64::from(cohort.age(day));
            out.ph += count * cohort.acidity.ph;
            out.spoiled += if cohort.spoiled { opened } else { 0 };
            cohort.count -= opened;
            self.sealed -= opened;
            // drums of a cohort remain only if enough is open, and then the loop ends
            if cohort.count == 0 {
                self.cohorts.remove(i);
            }
        }
        out.age = ratio(out.age, out.drums as f64);
        out.ph = ratio(out.ph, out.drums as f64);
        let moles = out.gases[Gas::CarbonDioxide] / Gas::CarbonDioxide.molar_mass();
        if moles > 0.0 {
            let puff = moles * gas::molar_volume(self.temperature);
            self.room_carbon_dioxide =
                gas::room_after_puff(self.room_carbon_dioxide, puff, self.setup.room_volume);
        }
        out.room_carbon_dioxide = self.room_carbon_dioxide;
        out
    }

    /// Matter in all drums, the one being filled included, kg; [`DrumStore::held_gases`] gives the gas.
    pub fn contents(&self) -> Material {
        let mut loads = self.filling.load.matter;
        let mut extents = [0.0; PATHWAYS];
        for cohort in &self.cohorts {
            cohort.add_to(&mut loads, &mut extents);
        }
        pathway::TABLE.apply(&extents, &mut loads);
        loads
    }

    /// Gas under the lids and dissolved in all drums, kg.
    pub fn held_gases(&self) -> Gases {
        self.cohorts.iter().map(|c| c.held() * c.count as f64).sum()
    }

    /// Drums sealed or being filled.
    pub fn drums_in_use(&self) -> usize {
        self.sealed + usize::from(self.filling.load.wet() > 0.0)
    }

    /// Drums sealed.
    pub fn drums_sealed(&self) -> usize {
        self.sealed
    }

    /// Sealed drums known to be spoiled.
    pub fn drums_spoiled(&self) -> usize {
        self.cohorts.iter().filter(|c| c.spoiled).map(|c| c.count).sum()
    }

    /// Wet mass in ready drums, kg.
    pub fn ready(&self, day: u32) -> f64 {
        self.cohorts.iter().filter(|c| is_ready(c, day, &self.setup)).map(|c| c.wet() * c.count as f64).sum()
    }

    /// Wet mass of the drum that is opened next, kg; 0 if none is ready.
    pub fn next_drum(&self, day: u32) -> f64 {
        self.cohorts.iter().find(|c| is_ready(c, day, &self.setup)).map_or(0.0, DrumCohort::wet)
    }

    /// Mean pH of the sealed drums, computed anew; None without sealed drums.
    pub fn mean_ph(&self) -> Option<f64> {
        let today = Today::new(&self.setup, &self.rates, &self.powers, 0, self.temperature);
        let ph = |c: &DrumCohort| beside::contents_of(c, &today).1.ph;
        let sum: f64 = self.cohorts.iter().map(|c| c.count as f64 * ph(c)).sum();
        (self.sealed > 0).then(|| sum / self.sealed as f64)
    }

    /// Carbon dioxide of the room, m3/m3.
    pub fn room_carbon_dioxide(&self) -> f64 {
        self.room_carbon_dioxide
    }
}

impl Fermented {
    /// Nothing happened yet, in air of so much carbon dioxide, m3/m3.
    fn nothing(room_carbon_dioxide: f64) -> Self {
        Self {
            gases: Gases::zero(),
            liquor: Material::zero(),
            spoiled: 0,
            spoiled_by: [0; SpoilReason::COUNT],
            watch: 0,
            gauge_pressure: 0.0,
            room_carbon_dioxide,
            room_carbon_dioxide_shift: room_carbon_dioxide,
            oldest: 0,
        }
    }
}

fn is_ready(cohort: &DrumCohort, day: u32, setup: &DrumStoreSetup) -> bool {
    let age = cohort.age(day);
    age >= setup.minimum_days
        && (cohort.spoiled || age >= setup.maximum_days || cohort.reached >= setup.ready_progress)
}

#[cfg(test)]
mod tests;
