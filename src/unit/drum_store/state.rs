//! The state of the drum store on an evening.

use super::cohort::DrumCohort;
use super::{DrumStore, Filling};
use crate::matter::Material;
use crate::process::acidity::{AcidPowers, Acidity, Surrounds};
use crate::process::fermentation::load::Load;
use serde::{Deserialize, Serialize};

/// State of the drum being filled.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FillingState {
    /// What it holds.
    pub load: Load,
    /// Wet mass times dose of bran.
    pub starter: f64,
    /// Days since filling began.
    pub age: u32,
}

/// State of the drum store. Ages are days on that evening.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DrumsState {
    /// The drum being filled.
    pub filling: FillingState,
    /// Sealed drums, those that are opened first in front; their `age` is in days.
    sealed: Vec<DrumCohort>,
    /// Acidity of the scraps sealed last.
    pub scraps_acidity: Acidity,
    /// Carbon dioxide of the room, m3/m3.
    pub room_carbon_dioxide: f64,
    /// Temperature of the room, °C.
    pub temperature: f64,
}

impl DrumsState {
    /// Number of sealed drums.
    pub fn sealed(&self) -> usize {
        self.sealed.iter().map(|cohort| cohort.count).sum()
    }

    /// Drums sealed or being filled.
    pub fn in_use(&self) -> usize {
        self.sealed() + usize::from(self.filling.load.wet() > 0.0)
    }

    /// Age of the oldest drum, d; 0 if all are empty.
    pub fn oldest(&self) -> u32 {
        self.sealed.iter().map(|cohort| cohort.sealed_on).chain([self.filling.age]).max().unwrap_or(0)
    }

    /// Ages and numbers of the sealed drums, in the order in which they are opened.
    pub fn ages(&self) -> impl Iterator<Item = (u32, usize)> {
        self.sealed.iter().map(|cohort| (cohort.sealed_on, cohort.count))
    }

    /// Matter in the sealed drums, kg.
    pub fn contents(&self) -> Material {
        self.sealed.iter().map(|cohort| cohort.matter() * cohort.count as f64).sum()
    }

    /// Puts the sealed drums of other stores, oldest first, in the place of those sealed.
    pub fn set_sealed(&mut self, stores: &[Self]) {
        self.sealed = stores.iter().flat_map(|store| store.sealed.iter().copied()).collect();
    }

    /// Sets what the drum being filled holds, with so much bran per wet scraps, kg/kg.
    pub fn set_filling(&mut self, load: Load, dose: f64) {
        self.filling.starter = dose * load.wet();
        self.filling.load = load;
    }
}

impl DrumStore {
    /// Its state on the evening of a day.
    pub fn state(&self, evening: u32) -> DrumsState {
        let Self {
            setup: _,
            rates: _,
            constants: _,
            powers: _,
            filling,
            cohorts,
            sealed: _,
            scraps_acidity,
            room_carbon_dioxide,
            temperature,
        } = self;
        DrumsState {
            filling: FillingState {
                load: filling.load,
                starter: filling.starter,
                age: evening.saturating_sub(filling.since),
            },
            sealed: cohorts.iter().map(|cohort| cohort.with_sealed_on(cohort.age(evening))).collect(),
            scraps_acidity: *scraps_acidity,
            room_carbon_dioxide: *room_carbon_dioxide,
            temperature: *temperature,
        }
    }

    /// Puts the store, as built, into the state of the evening of a day, which is no earlier than its oldest drum is old.
    pub fn restore(&mut self, state: &DrumsState, evening: u32) {
        self.filling = Filling {
            load: state.filling.load,
            starter: state.filling.starter,
            since: evening.saturating_sub(state.filling.age),
        };
        self.cohorts.clear();
        let back = |cohort: &DrumCohort| cohort.with_sealed_on(evening.saturating_sub(cohort.sealed_on));
        self.cohorts.extend(state.sealed.iter().map(back));
        self.sealed = state.sealed();
        self.scraps_acidity = state.scraps_acidity;
        self.room_carbon_dioxide = state.room_carbon_dioxide;
        self.temperature = state.temperature;
        self.powers = AcidPowers::at(&self.constants, &Surrounds::acid_store(state.temperature));
    }
}
