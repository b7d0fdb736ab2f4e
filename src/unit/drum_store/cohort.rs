//! Drums sealed on one day: identical, so one set of numbers and a count.
//!
//! A cohort keeps the matter it was sealed with (or had after the last tapping) and how far each pathway has run since; the
//! matter of today is made up only when it is asked for.

use super::{DrumStoreSetup, DrumVent};
use crate::matter::{Component, Gas, Gases, Material};
use crate::process::acidity::{AcidPowers, Acidity};
use crate::process::fermentation::course::Course;
use crate::process::fermentation::gas::{ATMOSPHERE, GAS_CONSTANT, ZERO_CELSIUS};
use crate::process::fermentation::pathway::{self, Daily, PATHWAYS, Pathway, SUGAR_PATHWAYS};
use crate::process::fermentation::{FermentationRates, closure, liquor};
use crate::process::reaction::Reaction;
use crate::warning::SpoilReason;

/// Number of pathways that run beside or after the fermentation of sugar.
const LATER: usize = PATHWAYS - SUGAR_PATHWAYS;
/// Place of water among the daily amounts.
const WATER: usize = 0;

/// What every cohort shares on one day.
#[derive(Debug, Clone, Copy)]
pub(super) struct Today<'a> {
    pub(super) rows: &'a [Reaction; PATHWAYS],
    daily: &'a [Daily; PATHWAYS],
    pub(super) setup: &'a DrumStoreSetup,
    pub(super) rates: &'a FermentationRates,
    pub(super) powers: &'a AcidPowers,
    pub(super) day: u32,
    /// Clock run today. # Units: d at 25 °C
    pub(super) clock: f64,
    /// Share of slow sugars that stay slow today.
    pub(super) slow_kept: f64,
    /// Share of lactic acid that late bacteria take today.
    pub(super) late_share: f64,
    /// Share of lactic acid that clostridia take today in a spoiling drum.
    pub(super) spoil_share: f64,
    /// Carbon dioxide solubility today. # Units: mol/(m3 Pa)
    pub(super) solubility: f64,
    /// Gas constant times temperature. # Units: J/mol
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
}

/// Identical drums. Amounts are per drum.
#[derive(Debug, Clone, Copy)]
pub(super) struct DrumCohort {
    pub(super) sealed_on: u32,
    pub(super) count: usize,
    /// Matter at sealing or after the last tapping.
    loaded: Material,
    loaded_wet: f64,
    /// Sugar fermented since then, and the extent of each pathway that comes after the fermentation.
    soured: f64,
    later: [f64; LATER],
    /// Water, sugars and lactic acid there are; carbon dioxide, hydrogen and oxygen given off since loading.
    amounts: Daily,
    split: [f64; SUGAR_PATHWAYS],
    /// What a kilogram of fermented sugar does to the amounts.
    per_sugar: Daily,
    /// Sugars used per kilogram of sugar fermented.
    sugar_use: f64,
    course: Course,
    /// Progress of the course at clock 0.
    start: f64,
    clock: f64,
    /// Share of the end point reached.
    pub(super) reached: f64,
    /// Sugar fermented when acid stops the bacteria.
    acid_extent: f64,
    /// Fermentable sugar there was at sealing and has been released since.
    fermentable: f64,
    /// Sugars and starch not yet released.
    slow: f64,
    fermented: f64,
    ammonia_good: f64,
    ammonia_spoiled: f64,
    deaminated: f64,
    /// Liquor of the drum's life and the share of it tapped so far.
    liquor_total: f64,
    tapped: f64,
    /// Oxygen that leaks in. # Units: kg/d
    leak: f64,
    held_carbon_dioxide: f64,
    held_hydrogen: f64,
    luck: f64,
    pub(super) spoiled: bool,
    pub(super) margin: f64,
    pub(super) acidity: Acidity,
    /// Age at which it is checked next. # Units: d
    next_check: f64,
}

impl DrumCohort {
    /// Seals `count` drums of the same; `guess` is how acid they may be.
    pub(super) fn seal(
        drum: Material,
        count: usize,
        [dose, luck]: [f64; 2],
        guess: Acidity,
        today: &Today<'_>,
    ) -> Self {
        let rates = today.rates;
        let acidity = today.powers.acidity(&drum, guess);
        let starter = &rates.starter;
        let plain = if today.setup.scraps_ground_before { rates.course.slurry } else { rates.course.scraps };
        let split = rates.split.shifted(starter.split_factor(dose));
        let extents = split.extents();
        let change: Material = today.rows.iter().zip(extents).map(|(row, x)| row.change * x).sum();
        let ammonia_good = pathway::protein_to_deaminate(&drum, rates.ammonia_share);
        let ammonia_spoiled = pathway::protein_to_deaminate(&drum, rates.stability.spoiled_ammonia);
        let with_ammonia = drum + today.rows[Pathway::Deamination.index()].change * ammonia_good;
        let acid_extent = closure::acid_extent(&with_ammonia, &change, &rates.limits, today.powers, acidity);
        let course = starter.course(plain, &rates.cardinal, acidity.ph, dose);
        let sugars = drum[Component::Sugars];
        let wet = drum.wet();
        let liquor_share =
            if today.setup.drain_liquor { rates.liquor.share_drained(1.0 - drum.moisture()) } else { 0.0 };
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
            fermentable: rates.fermentable_share * sugars,
            slow: (1.0 - rates.fermentable_share) * sugars,
            fermented: 0.0,
            ammonia_good,
            ammonia_spoiled: ammonia_spoiled.max(ammonia_good),
            deaminated: 0.0,
            liquor_total: liquor_share * wet,
            tapped: 0.0,
            leak: today.setup.leak / 7.0 * drum.dry(),
            held_carbon_dioxide: 0.0,
            held_hydrogen: 0.0,
            luck,
            spoiled: false,
            margin: f64::NAN,
            acidity,
            next_check: rates.stability.check_age,
        }
    }

    pub(super) fn age(&self, day: u32) -> u32 {
        day.saturating_sub(self.sealed_on)
    }

    /// Wet mass. # Units: kg
    pub(super) fn wet(&self) -> f64 {
        let [.., carbon_dioxide, hydrogen, oxygen] = self.amounts;
        self.loaded_wet - (carbon_dioxide + hydrogen + oxygen)
    }

    /// Extent of each pathway since loading.
    fn extents(&self) -> [f64; PATHWAYS] {
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

    /// One day: reactions, gas, and what leaves through the valve. Returns the gas that left one drum and the gauge pressure.
    pub(super) fn advance(&mut self, today: &Today<'_>) -> (Gases, f64) {
        self.clock += today.clock;
        let fermented = self.sour(today);
        let later = self.later_extents(today, fermented);
        let mut change = sum_of(&today.daily[SUGAR_PATHWAYS..], &later);
        for (x, per_sugar) in change.iter_mut().zip(self.per_sugar) {
            *x += per_sugar * fermented;
        }
        self.soured += fermented;
        add(&mut self.later, &later);
        add(&mut self.amounts, &change);
        let [.., carbon_dioxide, hydrogen, oxygen] = change;
        self.held_carbon_dioxide += carbon_dioxide;
        self.held_hydrogen += hydrogen;
        let (mut out, pressure) = self.vent(today);
        out[Gas::Oxygen] = oxygen;
        (out, pressure)
    }

    /// Gas under the lid and dissolved, in one drum.
    pub(super) fn held(&self) -> Gases {
        let mut held = Gases::of(Gas::CarbonDioxide, self.held_carbon_dioxide);
        held[Gas::Hydrogen] = self.held_hydrogen;
        held
    }

    /// Sugar fermented today.
    fn sour(&mut self, today: &Today<'_>) -> f64 {
        let released = self.slow * (1.0 - today.slow_kept);
        self.slow -= released;
        self.fermentable += released;
        self.reached = self.course.made_since(self.start, self.clock);
        let [water, sugars, ..] = self.amounts;
        let wanted = self.reached * self.acid_extent.min(self.fermentable);
        // matter that is all but dry stops when its water is bound
        let most =
            (sugars.max(0.0) / self.sugar_use).min(water.max(0.0) / self.water_use().max(f64::MIN_POSITIVE));
        let fermented = (wanted - self.fermented).clamp(0.0, most);
        self.fermented += fermented;
        fermented
    }

    /// Water bound per kilogram of sugar fermented; negative when water forms.
    fn water_use(&self) -> f64 {
        -self.per_sugar[WATER]
    }

    /// Extents of what runs today beside the fermentation.
    fn later_extents(&mut self, today: &Today<'_>, fermented: f64) -> [f64; LATER] {
        let mut ran = [0.0; LATER];
        let mut run = |p: Pathway, x: f64| ran[p.index() - SUGAR_PATHWAYS] = x;
        let [water, sugars, lactic, ..] = self.amounts.map(|amount| amount.max(0.0));
        let late = lactic * today.late_share;
        run(Pathway::LateHeterolactic, late);
        let butyric = if self.spoiled { (lactic - late) * today.spoil_share } else { 0.0 };
        run(Pathway::ButyricFromLactic, butyric);

        let deaminate = if self.spoiled {
            (self.ammonia_spoiled - self.deaminated) * today.spoil_share
        } else {
            self.reached * self.ammonia_good - self.deaminated
        };
        let water_left = water - self.water_use() * fermented;
        let water_bound = -today.daily[Pathway::Deamination.index()][WATER];
        let deaminated = deaminate.min(water_left / water_bound).max(0.0);
        run(Pathway::Deamination, deaminated);
        self.deaminated += deaminated;

        if self.leak > 0.0 {
            let demand = |p: Pathway| today.rows[p.index()].oxygen_demand();
            let on_sugars = (self.leak / demand(Pathway::AirOnSugars))
                .min((sugars - self.sugar_use * fermented).max(0.0));
            let rest = self.leak - on_sugars * demand(Pathway::AirOnSugars);
            run(Pathway::AirOnSugars, on_sugars);
            run(Pathway::AirOnLactic, (rest / demand(Pathway::AirOnLactic)).min(lactic - late - butyric));
        }
        ran
    }

    /// Gas that leaves one drum today and the gauge pressure under the lid.
    fn vent(&mut self, today: &Today<'_>) -> (Gases, f64) {
        let headspace = today.rates.gas.headspace(today.setup.volume, self.wet());
        let water = self.amounts[WATER].max(0.0) / 1000.0;
        let gas_only = headspace / today.gas_energy;
        let per_pressure = gas_only + today.solubility * water;
        let moles = self.held_carbon_dioxide / Gas::CarbonDioxide.molar_mass();
        let hydrogen = self.held_hydrogen / Gas::Hydrogen.molar_mass();
        match today.setup.vent {
            DrumVent::Sealed => (Gases::zero(), moles / per_pressure + hydrogen / gas_only),
            DrumVent::Valve { set_pressure } => {
                let over = (moles - (ATMOSPHERE + set_pressure) * per_pressure).max(0.0);
                let mut out = Gases::of(Gas::CarbonDioxide, over * Gas::CarbonDioxide.molar_mass());
                self.held_carbon_dioxide -= out[Gas::CarbonDioxide];
                out[Gas::Hydrogen] = std::mem::take(&mut self.held_hydrogen);
                (out, if over > 0.0 { set_pressure } else { 0.0 })
            }
        }
    }

    /// Draws off the liquor that has run since the last tapping, from one drum.
    pub(super) fn tap(&mut self, today: &Today<'_>) -> Material {
        let run = liquor::time_share(f64::from(self.age(today.day)));
        let due = self.liquor_total * (run - self.tapped);
        self.tapped = run;
        if due <= 0.0 {
            return Material::zero();
        }
        let mut matter = self.matter();
        self.acidity = today.powers.acidity(&matter, self.acidity);
        let soluble = self.fermentable - self.sugar_use * self.fermented;
        let out =
            liquor::drain(&mut matter, due, soluble, &today.rates.liquor, today.powers, self.acidity.ph);
        self.loaded = matter;
        self.loaded_wet = matter.wet();
        self.soured = 0.0;
        self.later = [0.0; LATER];
        self.amounts = at_loading(&matter);
        // what is dissolved keeps its strength, so all that it can still do shrinks with it
        let pore = 1.0 - out.pore_share;
        let solid = 1.0 - out.fines_share;
        self.acid_extent *= pore;
        self.fermentable *= pore;
        self.fermented *= pore;
        self.slow *= solid;
        self.ammonia_good *= solid;
        self.ammonia_spoiled *= solid;
        self.deaminated *= solid;
        out.liquor
    }

    /// Whether the batch is to be judged today: on the first day of an age that is a multiple of the check age, which may be no
    /// whole number of days. Without a check age it never is.
    pub(super) fn is_check_due(&mut self, today: &Today<'_>) -> bool {
        let (age, every) = (f64::from(self.age(today.day)), today.rates.stability.check_age);
        let due = every > 0.0 && age >= self.next_check;
        if due {
            self.next_check = every * ((age / every).floor() + 1.0);
        }
        due
    }

    /// Judges the batch on its day; returns why, when it turns out spoiled.
    ///
    /// A batch keeps the luck it was sealed with, so a later check spoils it only when its margin has shrunk.
    pub(super) fn check(&mut self, today: &Today<'_>) -> Option<SpoilReason> {
        let stability = &today.rates.stability;
        let matter = self.matter();
        self.acidity = today.powers.acidity(&matter, self.acidity);
        self.margin = stability.margin(&matter, self.acidity.ph);
        if self.spoiled || self.luck >= stability.spoilage_chance(self.margin) {
            return None;
        }
        self.spoiled = true;
        Some(self.reason(&matter, today))
    }

    /// What kept the batch from souring enough: the first of these that holds.
    fn reason(&self, matter: &Material, today: &Today<'_>) -> SpoilReason {
        let stability = &today.rates.stability;
        if self.leak > 0.0 {
            SpoilReason::Air
        } else if self.reached < 0.5 {
            SpoilReason::Cold
        } else if self.acid_extent <= self.fermentable {
            // the bacteria stopped at their acid limit, so the critical pH was out of reach
            SpoilReason::TooWet
        } else if matter.base() > matter.dry() {
            SpoilReason::Lime
        } else if stability.is_protein_rich(matter) {
            SpoilReason::ProteinRich
        } else {
            SpoilReason::LowSugar
        }
    }
}

/// What a drum holds of the daily amounts when it is loaded.
fn at_loading(matter: &Material) -> Daily {
    [matter[Component::Water], matter[Component::Sugars], matter[Component::Lactic], 0.0, 0.0, 0.0]
}

/// What pathways of these extents do to the daily amounts.
fn sum_of(rows: &[Daily], extents: &[f64]) -> Daily {
    let mut sum = [0.0; 6];
    for (row, extent) in rows.iter().zip(extents) {
        for (sum, x) in sum.iter_mut().zip(row) {
            *sum += x * extent;
        }
    }
    sum
}

fn add<const N: usize>(sums: &mut [f64; N], more: &[f64; N]) {
    for (sum, x) in sums.iter_mut().zip(more) {
        *sum += x;
    }
}

#[cfg(test)]
mod tests;
