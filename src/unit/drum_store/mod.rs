//! The store of sealed drums: fill, seal, ferment, tap, open oldest-ready first.

mod cohort;

use crate::matter::{Gas, Gases, Material, ratio};
use crate::process::acidity::{AcidConstants, AcidPowers, Acidity, Surrounds};
use crate::process::fermentation::pathway::{self, PATHWAYS};
use crate::process::fermentation::{FermentationRates, gas};
use cohort::{DrumCohort, Today};
use std::collections::VecDeque;

/// How a drum lets gas out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DrumVent {
    /// A one-way valve.
    Valve {
        /// Gauge pressure at which it opens. # Units: Pa
        set_pressure: f64,
    },
    /// No way out, or a blocked valve: pressure builds.
    Sealed,
}

/// Choices of a drum store.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrumStoreSetup {
    /// Number of drums.
    pub drums: usize,
    /// Volume of a drum. # Units: m3
    pub volume: f64,
    /// Share of the volume that is filled.
    pub fill_share: f64,
    /// Density of the settled filling. # Units: kg/m3 wet
    pub settled_density: f64,
    /// Age below which no drum is opened. # Units: d
    pub minimum_days: u32,
    /// Age from which a drum is opened even when it is not ready; older drums are reported. # Units: d
    pub maximum_days: u32,
    /// A part-filled drum is sealed after this long. # Units: d
    pub most_filling_days: u32,
    /// Share of the end point that makes a drum ready.
    pub ready_progress: f64,
    /// Valve or closed lid.
    pub vent: DrumVent,
    /// Whether liquor is tapped; if not it stays with the paste.
    pub drain_liquor: bool,
    /// Days between tappings of a drum.
    pub tap_days: u32,
    /// Whether scraps are ground before they are sealed.
    pub scraps_ground_before: bool,
    /// Volume of the room. # Units: m3
    pub room_volume: f64,
    /// Air exchange of the room. # Units: m3/h
    pub room_air: f64,
    /// Oxygen that leaks into a drum. # Units: kg per kg dry matter per week
    pub leak: f64,
}

impl DrumStoreSetup {
    /// Wet mass of a full drum. # Units: kg
    pub fn drum_mass(&self) -> f64 {
        self.volume * self.fill_share * self.settled_density
    }
}

/// What a day's intake became.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Received {
    /// Filled into drums.
    pub accepted: Material,
    /// Turned away: no free drum.
    pub turned_away: Material,
    /// Drums sealed.
    pub sealed: usize,
}

/// What the drums gave off in a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fermented {
    /// Gas that left the drums; leaked oxygen is negative.
    pub gases: Gases,
    /// Liquor tapped.
    pub liquor: Material,
    /// Drums that were found spoiled today.
    pub spoiled: usize,
    /// The same by cause, in the order of [`crate::warning::SpoilReason`].
    pub spoiled_by: [usize; 6],
    /// Drums judged today that are below the critical pH by less than the stable margin, or above it, and not spoiled.
    pub watch: usize,
    /// Highest gauge pressure in a drum. # Units: Pa
    pub gauge_pressure: f64,
    /// Highest carbon dioxide of the room today. # Units: m3/m3
    pub room_carbon_dioxide: f64,
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
    /// Mean age by drum. # Units: d
    pub age: f64,
    /// Mean pH by drum; 0 when none was opened.
    pub ph: f64,
    /// Gas that was held and goes to the room.
    pub gases: Gases,
    /// Carbon dioxide of the room just after. # Units: m3/m3
    pub room_carbon_dioxide: f64,
}

/// Drums being filled: the last one open, its contents mixed with the day's intake.
#[derive(Debug, Clone, Copy, Default)]
struct Filling {
    matter: Material,
    /// Wet mass times dose.
    starter: f64,
    since: u32,
}

/// The drum store. Nothing is allocated after construction.
///
/// A drum being filled does not ferment yet. Drums sealed on one day share one mixed composition.
#[derive(Debug, Clone)]
pub struct DrumStore {
    setup: DrumStoreSetup,
    rates: FermentationRates,
    constants: AcidConstants,
    /// The constants at the temperature of the room.
    powers: AcidPowers,
    filling: Filling,
    /// At most one cohort per drum, so the ring never grows.
    cohorts: VecDeque<DrumCohort>,
    sealed: usize,
    /// Acidity of the scraps that were sealed last.
    scraps_acidity: Acidity,
    room_carbon_dioxide: f64,
    temperature: f64,
}

impl DrumStore {
    /// An empty store at a temperature. # Units: °C
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

    /// Wet mass that can still be taken in. # Units: kg
    pub fn room(&self) -> f64 {
        let free = (self.setup.drums - self.sealed) as f64 * self.setup.drum_mass();
        (free - self.filling.matter.wet()).max(0.0)
    }

    /// Takes in a day's scraps with their bran, fills and seals drums. Call it every day, with nothing on closed days.
    ///
    /// `dose` is live bran per wet scraps (kg/kg); `luck`, between 0 and 1, decides the fate of the drums sealed today: they spoil
    /// when it is below their chance of spoiling (0.5 for a run without chance).
    pub fn receive(&mut self, day: u32, intake: Material, dose: f64, luck: f64) -> Received {
        let full = self.setup.drum_mass();
        let mut turned_away = intake;
        let accepted = turned_away.take_wet(self.room());
        if self.filling.matter.wet() <= 0.0 {
            self.filling.since = day;
        }
        self.filling.matter += accepted;
        self.filling.starter += dose * accepted.wet();
        // no more was taken than there is room for, so each of these has its drum; a millionth of a drum short counts as full
        let mut count = 0;
        while full > 0.0 && self.filling.matter.wet() >= (count as f64 + 1.0 - 1e-6) * full {
            count += 1;
        }
        let mut sealed = count;
        if count > 0 {
            self.seal(day, count, count as f64 * full, luck);
        }
        let waited = day.saturating_sub(self.filling.since);
        if self.filling.matter.wet() > 0.0 && waited >= self.setup.most_filling_days {
            self.seal(day, 1, full, luck);
            sealed += 1;
        }
        Received { accepted, turned_away, sealed }
    }

    fn seal(&mut self, day: u32, count: usize, mass: f64, luck: f64) {
        let dose = ratio(self.filling.starter, self.filling.matter.wet());
        let mut taken = self.filling.matter.take_wet(mass);
        if self.filling.matter.wet() < 1e-6 * mass {
            taken += std::mem::take(&mut self.filling.matter);
        }
        self.filling.starter = dose * self.filling.matter.wet();
        self.filling.since = day;
        let today = Today::new(&self.setup, &self.rates, &self.powers, day, self.temperature);
        let drum = taken * (1.0 / count as f64);
        let cohort = DrumCohort::seal(drum, count, [dose, luck], self.scraps_acidity, &today);
        self.scraps_acidity = cohort.acidity;
        self.cohorts.push_back(cohort);
        self.sealed += count;
    }

    /// One day of fermentation in all sealed drums at the room's temperature (°C): reactions, gas, tapping and checks.
    pub fn ferment(&mut self, day: u32, temperature: f64) -> Fermented {
        self.temperature = temperature;
        self.powers = self.powers.moved_to(temperature, &self.constants);
        let today = Today::new(&self.setup, &self.rates, &self.powers, day, temperature);
        let mut out = Fermented {
            gases: Gases::zero(),
            liquor: Material::zero(),
            spoiled: 0,
            spoiled_by: [0; 6],
            watch: 0,
            gauge_pressure: 0.0,
            room_carbon_dioxide: self.room_carbon_dioxide,
            oldest: 0,
        };
        for cohort in &mut self.cohorts {
            out.advance(cohort, &today);
        }
        let moles = out.gases[Gas::CarbonDioxide].max(0.0) / Gas::CarbonDioxide.molar_mass();
        let made = moles * gas::molar_volume(temperature) / 24.0;
        let DrumStoreSetup { room_air, room_volume, .. } = self.setup;
        let end = gas::room_after(
            self.room_carbon_dioxide,
            self.rates.gas.outdoors,
            made,
            room_air,
            room_volume,
            24.0,
        );
        out.room_carbon_dioxide = self.room_carbon_dioxide.max(end);
        self.room_carbon_dioxide = end;
        out
    }

    /// Opens the oldest ready drums until their contents reach `wanted` kilograms; a drum is opened whole.
    ///
    /// Ready is a drum of the minimum age that has reached the progress asked for, is known to be spoiled, or has the maximum
    /// age.
    pub fn open(&mut self, day: u32, wanted: f64) -> Opened {
        let mut out = Opened {
            paste_in: Material::zero(),
            drums: 0,
            spoiled: 0,
            age: 0.0,
            ph: 0.0,
            gases: Gases::zero(),
            room_carbon_dioxide: self.room_carbon_dioxide,
        };
        let mut missing = wanted;
        let mut i = 0;
        while i < self.cohorts.len() && missing > 0.0 {
            let cohort = &mut self.cohorts[i];
            if !is_ready(cohort, day, &self.setup) {
                i += 1;
                continue;
            }
            let matter = cohort.matter();
            cohort.acidity = self.powers.acidity(&matter, cohort.acidity);
            let mut opened = 0;
            while opened < cohort.count && missing > 0.0 {
                opened += 1;
                missing -= matter.wet();
            }
            let count = opened as f64;
            out.paste_in += matter * count;
            out.gases += cohort.held() * count;
            out.drums += opened;
            out.age += count * f64::from(cohort.age(day));
            out.ph += count * cohort.acidity.ph;
            out.spoiled += if cohort.spoiled { opened } else { 0 };
            cohort.count -= opened;
            self.sealed -= opened;
            // a cohort is left when enough is open, and then it is the last one looked at
            if cohort.count == 0 {
                self.cohorts.remove(i);
            }
        }
        out.age = ratio(out.age, out.drums as f64);
        out.ph = ratio(out.ph, out.drums as f64);
        let moles = out.gases[Gas::CarbonDioxide] / Gas::CarbonDioxide.molar_mass();
        if moles > 0.0 {
            self.room_carbon_dioxide += moles * gas::molar_volume(self.temperature) / self.setup.room_volume;
        }
        out.room_carbon_dioxide = self.room_carbon_dioxide;
        out
    }

    /// Matter in all drums, with the one being filled; gas is in [`DrumStore::held_gases`].
    pub fn contents(&self) -> Material {
        let mut loads = self.filling.matter;
        let mut extents = [0.0; PATHWAYS];
        for cohort in &self.cohorts {
            cohort.add_to(&mut loads, &mut extents);
        }
        pathway::TABLE.apply(&extents, &mut loads);
        loads
    }

    /// Gas under the lids and dissolved in all drums. # Units: kg
    pub fn held_gases(&self) -> Gases {
        self.cohorts.iter().map(|c| c.held() * c.count as f64).sum()
    }

    /// Drums sealed or being filled.
    pub fn drums_in_use(&self) -> usize {
        self.sealed + usize::from(self.filling.matter.wet() > 0.0)
    }

    /// Drums sealed.
    pub fn drums_sealed(&self) -> usize {
        self.sealed
    }

    /// Sealed drums known to be spoiled.
    pub fn drums_spoiled(&self) -> usize {
        self.cohorts.iter().filter(|c| c.spoiled).map(|c| c.count).sum()
    }

    /// Wet mass in drums that may be opened. # Units: kg
    pub fn ready(&self, day: u32) -> f64 {
        self.cohorts.iter().filter(|c| is_ready(c, day, &self.setup)).map(|c| c.wet() * c.count as f64).sum()
    }

    /// Mean pH of the sealed drums today, worked out anew; `None` without sealed drums.
    pub fn mean_ph(&self) -> Option<f64> {
        let ph = |c: &DrumCohort| self.powers.acidity(&c.matter(), c.acidity).ph;
        let sum: f64 = self.cohorts.iter().map(|c| c.count as f64 * ph(c)).sum();
        (self.sealed > 0).then(|| sum / self.sealed as f64)
    }

    /// Carbon dioxide of the room. # Units: m3/m3
    pub fn room_carbon_dioxide(&self) -> f64 {
        self.room_carbon_dioxide
    }
}

impl Fermented {
    fn advance(&mut self, cohort: &mut DrumCohort, today: &Today<'_>) {
        let count = cohort.count as f64;
        let (gases, pressure) = cohort.advance(today);
        self.gases += gases * count;
        self.gauge_pressure = self.gauge_pressure.max(pressure);
        let age = cohort.age(today.day);
        // nothing runs on the first day, nor ever where liquor is not drained
        if age.is_multiple_of(today.setup.tap_days.max(1)) {
            self.liquor += cohort.tap(today) * count;
        }
        if cohort.is_check_due(today) {
            if let Some(reason) = cohort.check(today) {
                self.spoiled += cohort.count;
                self.spoiled_by[reason as usize] += cohort.count;
            } else if !cohort.spoiled && cohort.margin < today.rates.stability.stable_margin {
                self.watch += cohort.count;
            }
        }
        self.oldest = self.oldest.max(age);
    }
}

fn is_ready(cohort: &DrumCohort, day: u32, setup: &DrumStoreSetup) -> bool {
    let age = cohort.age(day);
    age >= setup.minimum_days
        && (cohort.spoiled || age >= setup.maximum_days || cohort.reached >= setup.ready_progress)
}

#[cfg(test)]
mod tests;
