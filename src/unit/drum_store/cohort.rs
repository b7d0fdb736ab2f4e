//! Drums sealed on one day: they are identical, so they share one set of numbers and a count.
//!
//! A cohort keeps the matter it was loaded with, at sealing or at the last tapping, and the extent of each pathway since. The
//! matter of today is computed only when needed.

mod fermenting;

pub(super) use fermenting::advance;

use super::{DrumStoreSetup, SpoilReason};
use crate::matter::lane::Lane;
use crate::matter::{Component, Gas, Gases, Material};
use crate::process::acidity::{AcidPowers, Acidity};
use crate::process::fermentation::course::Course;
use crate::process::fermentation::liquor::{self, Drained};
use crate::process::fermentation::load::Load;
use crate::process::fermentation::pathway::{self, Daily, PATHWAYS, Pathway, SUGAR_PATHWAYS};
use crate::process::fermentation::{FermentationRates, closure};
use crate::process::reaction::Reaction;
use crate::quantity::constant::{GAS_CONSTANT, WATER_DENSITY, ZERO_CELSIUS};
use serde::{Deserialize, Serialize};

/// Number of pathways that run beside or after the fermentation of sugar.
const LATER: usize = PATHWAYS - SUGAR_PATHWAYS;
/// Position of water in the daily amounts.
const WATER: usize = 0;
/// Days in a week: the leak is stated by the week.
const WEEK: f64 = 7.0;
/// Progress below which a spoiled batch was too cold. Source: our choice.
const COLD_PROGRESS: f64 = 0.5;

/// How a batch is inoculated, and its luck.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Start {
    /// Live bran per wet scraps, kg/kg.
    pub(super) dose: f64,
    /// The batch spoils if its chance of spoiling is above this number between 0 and 1.
    pub(super) luck: f64,
}

/// Numbers of one day that all cohorts share.
#[derive(Debug, Clone, Copy)]
pub(super) struct Today<'a> {
    pub(super) rows: &'a [Reaction; PATHWAYS],
    daily: &'a [Daily; PATHWAYS],
    pub(super) setup: &'a DrumStoreSetup,
    pub(super) rates: &'a FermentationRates,
    pub(super) powers: &'a AcidPowers,
    pub(super) day: u32,
    /// Fermentation clock of today, d at 25 °C.
    pub(super) clock: f64,
    /// Share of the slow sugars that is not released today.
    pub(super) slow_kept: f64,
    /// Share of lactic acid that late bacteria use today.
    pub(super) late_share: f64,
    /// Share of lactic acid that clostridia use today in a spoiled drum.
    pub(super) spoil_share: f64,
    /// Solubility of carbon dioxide today, mol/(m3 Pa).
    pub(super) solubility: f64,
    /// Gas constant times temperature, J/mol.
    pub(super) gas_energy: f64,
}

impl<'a> Today<'a> {
    pub(super) fn new(
        setup: &'a DrumStoreSetup,
        rates: &'a FermentationRates,
        powers: &'a AcidPowers,
        day: u32,
        temperature: f64,
    ) -> Self {
        let clock = rates.cardinal.clock(temperature);
        Self {
            rows: pathway::TABLE.rows(),
            daily: &pathway::DAILY,
            setup,
            rates,
            powers,
            day,
            clock,
            slow_kept: (-rates.hydrolysis_rate * clock).exp(),
            late_share: -(-rates.late_rate * clock).exp_m1(),
            spoil_share: -(-rates.stability.spoilage_rate * clock).exp_m1(),
            solubility: rates.gas.solubility(temperature),
            gas_energy: GAS_CONSTANT * (temperature + ZERO_CELSIUS),
        }
    }

    /// Gas that the headspace of a drum holds, and carbon dioxide that headspace and water hold, bicarbonate left out, mol/Pa; wet mass
    /// and water in kg.
    #[inline(always)]
    pub(super) fn capacity<L: Lane>(&self, wet: L, water: L) -> [L; 2] {
        let headspace = self.rates.gas.headspace(self.setup.volume, wet);
        let dissolving = water.max(L::ZERO) / WATER_DENSITY;
        let gas_only = headspace / self.gas_energy;
        [gas_only, gas_only + dissolving * self.solubility]
    }
}

/// Identical drums. Amounts are per drum.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DrumCohort {
    /// Day of sealing; in a saved state the days since then.
    #[serde(rename = "age")]
    pub(super) sealed_on: u32,
    pub(super) count: usize,
    /// Matter at sealing or after the last tapping.
    loaded: Material,
    loaded_wet: f64,
    /// Sugar fermented since loading, kg, and the extent of each later pathway.
    soured: f64,
    later: [f64; LATER],
    /// Water, sugars and lactic acid held; carbon dioxide, hydrogen and oxygen given off since loading.
    amounts: Daily,
    split: [f64; SUGAR_PATHWAYS],
    /// Change of the amounts per kilogram of sugar fermented.
    per_sugar: Daily,
    /// Sugars used per kilogram of sugar fermented.
    sugar_use: f64,
    course: Course,
    /// Progress of the course at sealing.
    start: f64,
    clock: f64,
    /// Share of the end point reached.
    pub(super) reached: f64,
    /// Sugar fermented by the time acid stops the bacteria, kg.
    acid_extent: f64,
    /// Fermentable sugar at sealing and released since, kg.
    fermentable: f64,
    /// Cooked starch not yet released, kg.
    slow: f64,
    fermented: f64,
    ammonia_good: f64,
    ammonia_spoiled: f64,
    deaminated: f64,
    /// All liquor of the drum, kg, and the share of it tapped so far.
    liquor_total: f64,
    tapped: f64,
    /// Oxygen that leaks in, kg/d.
    leak: f64,
    held_carbon_dioxide: f64,
    held_hydrogen: f64,
    /// Dry matter sealed, kg.
    pub(super) sealed_dry: f64,
    /// Carbon dioxide, hydrogen and oxygen given off between sealing and loading, kg.
    made: [f64; 3],
    luck: f64,
    pub(super) spoiled: bool,
    /// `None` until it is judged.
    #[serde(with = "unjudged")]
    pub(super) margin: f64,
    pub(super) acidity: Acidity,
    /// Age at the next check, d.
    next_check: f64,
}

impl DrumCohort {
    /// Seals `count` identical drums; `guess` is an acidity near theirs. The part of the fibre that ferments, pectin and
    /// hemicellulose, is booked as sugars from now on; its formula is the same.
    pub(super) fn seal(
        load: Load,
        count: usize,
        Start { dose, luck }: Start,
        guess: Acidity,
        today: &Today<'_>,
    ) -> Self {
        let rates = today.rates;
        let mut drum = load.matter;
        let pectin = rates.fermentable.fibre * drum[Component::Fibre];
        drum[Component::Fibre] -= pectin;
        drum[Component::Sugars] += pectin;
        // air is closed in with the scraps
        let acidity = today.powers.at_pressure(rates.gas.outdoors).acidity(&drum, guess);
        let starter = &rates.starter;
        let plain = if today.setup.scraps_ground_before { rates.course.slurry } else { rates.course.scraps };
        let split = rates.split.shifted(starter.split_factor(dose));
        let extents = split.extents();
        let change: Material = today.rows.iter().zip(extents).map(|(row, x)| row.change * x).sum();
        let ammonia_share = rates.ammonia.good_share(1.0 - drum.moisture());
        let ammonia_good = pathway::protein_to_deaminate(&drum, ammonia_share);
        let ammonia_spoiled = pathway::protein_to_deaminate(&drum, rates.stability.spoiled_ammonia);
        let with_ammonia = drum + today.rows[Pathway::Deamination.index()].change * ammonia_good;
        let acid_extent = closure::acid_extent(&with_ammonia, &change, &rates.limits, today.powers, acidity);
        let course = starter.course(plain, &rates.cardinal, acidity.ph, dose);
        let wet = drum.wet();
        let liquor_total = if today.setup.drain_liquor { rates.liquor.total(&load) } else { 0.0 };
        Self {
            sealed_on: today.day,
            count,
            loaded: drum,
            loaded_wet: wet,
            soured: 0.0,
            later: [0.0; LATER],
            amounts: at_loading(&drum),
            split: extents,
            per_sugar: sum_of(&today.daily[..SUGAR_PATHWAYS], &extents),
            sugar_use: extents.iter().sum(),
            course,
            start: course.progress(0.0),
            clock: 0.0,
            reached: 0.0,
            acid_extent,
            fermentable: load.fermentable + pectin,
            slow: load.slow,
            fermented: 0.0,
            ammonia_good,
            ammonia_spoiled: ammonia_spoiled.max(ammonia_good),
            deaminated: 0.0,
            liquor_total,
            tapped: 0.0,
            leak: today.setup.leak / WEEK * drum.dry(),
            held_carbon_dioxide: 0.0,
            held_hydrogen: 0.0,
            sealed_dry: drum.dry(),
            made: [0.0; 3],
            luck,
            spoiled: false,
            margin: f64::NAN,
            acidity,
            next_check: rates.stability.check_age,
        }
    }

    /// The same drums, sealed on another day; in a saved state the days since then.
    pub(super) fn with_sealed_on(self, sealed_on: u32) -> Self {
        Self { sealed_on, ..self }
    }

    pub(super) fn age(&self, day: u32) -> u32 {
        day.saturating_sub(self.sealed_on)
    }

    /// Wet mass, kg.
    pub(super) fn wet(&self) -> f64 {
        let [.., carbon_dioxide, hydrogen, oxygen] = self.amounts;
        self.loaded_wet - (carbon_dioxide + hydrogen + oxygen)
    }

    /// Extent of each pathway since loading.
    #[inline]
    pub(super) fn extents(&self) -> [f64; PATHWAYS] {
        let mut extents = [0.0; PATHWAYS];
        let (sugar, later) = extents.split_at_mut(SUGAR_PATHWAYS);
        for (x, share) in sugar.iter_mut().zip(self.split) {
            *x = share * self.soured;
        }
        later.copy_from_slice(&self.later);
        extents
    }

    /// Adds the matter of all drums to a sum of loads and one of extents.
    pub(super) fn add_to(&self, loads: &mut Material, extents: &mut [f64; PATHWAYS]) {
        let count = self.count as f64;
        *loads += self.loaded * count;
        for (sum, x) in extents.iter_mut().zip(self.extents()) {
            *sum += x * count;
        }
    }

    /// The matter of one drum today.
    pub(super) fn matter(&self) -> Material {
        let mut matter = self.loaded;
        pathway::TABLE.apply(&self.extents(), &mut matter);
        matter
    }

    /// Carbon dioxide, hydrogen and oxygen given off since sealing, kg; leaked oxygen is negative.
    pub(super) fn made(&self) -> [f64; 3] {
        let [before, since] = [self.made, [self.amounts[3], self.amounts[4], self.amounts[5]]];
        [before[0] + since[0], before[1] + since[1], before[2] + since[2]]
    }

    /// Gas under the lid and dissolved in one drum, kg.
    pub(super) fn held(&self) -> Gases {
        let mut held = Gases::of(Gas::CarbonDioxide, self.held_carbon_dioxide);
        held[Gas::Hydrogen] = self.held_hydrogen;
        held
    }

    /// [`Today::capacity`] of one drum.
    pub(super) fn capacity(&self, today: &Today<'_>) -> [f64; 2] {
        today.capacity(self.wet(), self.amounts[WATER])
    }

    /// Liquor that has run in one drum since the last tapping, kg; None if there is none. It counts as tapped from now on.
    pub(super) fn liquor_due(&mut self, today: &Today<'_>) -> Option<f64> {
        let run = liquor::time_share(f64::from(self.age(today.day)));
        let due = self.liquor_total * (run - self.tapped);
        self.tapped = run;
        (due > 0.0).then_some(due)
    }

    /// Matter at sealing or after the last tapping.
    pub(super) fn loaded(&self) -> &Material {
        &self.loaded
    }

    /// Sugars that are dissolved, kg.
    pub(super) fn soluble_sugars(&self) -> f64 {
        self.fermentable - self.sugar_use * self.fermented
    }

    /// Goes on with the matter that tapping left in each drum.
    pub(super) fn load_again(&mut self, matter: Material, acidity: Acidity, tapped: &Drained) {
        self.acidity = acidity;
        self.loaded = matter;
        self.loaded_wet = matter.wet();
        self.soured = 0.0;
        self.later = [0.0; LATER];
        self.made = self.made();
        self.amounts = at_loading(&matter);
        // dissolved matter keeps its concentration, so what it can still do shrinks with its amount
        let pore = 1.0 - tapped.pore_share;
        let solid = 1.0 - tapped.fines_share;
        self.acid_extent *= pore;
        self.fermentable *= pore;
        self.fermented *= pore;
        self.slow *= solid;
        self.ammonia_good *= solid;
        self.ammonia_spoiled *= solid;
        self.deaminated *= solid;
    }

    /// Whether the batch is judged today: on the first day at or past each multiple of the check age, which may be fractional.
    /// Never if the check age is 0.
    pub(super) fn is_check_due(&mut self, today: &Today<'_>) -> bool {
        let (age, every) = (f64::from(self.age(today.day)), today.rates.stability.check_age);
        let due = every > 0.0 && age >= self.next_check;
        if due {
            self.next_check = every * ((age / every).floor() + 1.0);
        }
        due
    }

    /// Judges the batch by the matter and the acidity of a drum; returns the reason if it is found spoiled.
    ///
    /// A batch keeps the luck of its sealing, so a later check finds it spoiled only if its margin has shrunk.
    pub(super) fn check(
        &mut self,
        matter: &Material,
        acidity: Acidity,
        today: &Today<'_>,
    ) -> Option<SpoilReason> {
        let stability = &today.rates.stability;
        self.acidity = acidity;
        self.margin = stability.margin(matter, acidity.ph);
        if self.spoiled || self.luck >= stability.spoilage_chance(self.margin) {
            return None;
        }
        self.spoiled = true;
        Some(self.reason(matter, today))
    }

    /// Why the batch did not become acid enough: the first of these reasons that holds.
    fn reason(&self, matter: &Material, today: &Today<'_>) -> SpoilReason {
        let stability = &today.rates.stability;
        if self.leak > 0.0 {
            SpoilReason::Air
        } else if self.reached < COLD_PROGRESS {
            SpoilReason::Cold
        } else if self.acid_extent <= self.fermentable {
            // the bacteria stopped at their acid limit before the critical pH
            SpoilReason::TooWet
        } else if matter.base() + matter.calcium() > matter.dry() {
            SpoilReason::Lime
        } else if stability.is_protein_rich(matter) {
            SpoilReason::ProteinRich
        } else {
            SpoilReason::LowSugar
        }
    }
}

/// The daily amounts of a drum when it is loaded.
fn at_loading(matter: &Material) -> Daily {
    [matter[Component::Water], matter[Component::Sugars], matter[Component::Lactic], 0.0, 0.0, 0.0]
}

/// Change of the daily amounts by pathways of these extents.
fn sum_of(rows: &[Daily], extents: &[f64]) -> Daily {
    let mut sum = [0.0; 6];
    for (row, extent) in rows.iter().zip(extents) {
        for (sum, x) in sum.iter_mut().zip(row) {
            *sum += x * extent;
        }
    }
    sum
}

/// The margin of a batch that has not been judged is not a number, which JSON does not have.
mod unjudged {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    // the signature is serde's
    #[allow(clippy::trivially_copy_pass_by_ref, reason = "serde passes fields by reference")]
    pub(super) fn serialize<S: Serializer>(margin: &f64, to: S) -> Result<S::Ok, S::Error> {
        (!margin.is_nan()).then_some(*margin).serialize(to)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<f64, D::Error> {
        Ok(Option::deserialize(from)?.unwrap_or(f64::NAN))
    }
}

#[cfg(test)]
mod tests;
