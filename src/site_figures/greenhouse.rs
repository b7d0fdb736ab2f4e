//! Greenhouse gas of the process against a named landfill baseline.
//!
//! Warming potentials of two assessments cannot be added: an amount carries its set in its type. The published landfill factors
//! were made with the sixth, so they exist in the sixth alone; landfill decay gives methane and may be weighed by either. Each
//! statement has one baseline and one set.
//!
//! ```compile_fail
//! use loamledger::site_figures::greenhouse::{Fifth, Potentials, Sixth};
//! let methane = Potentials::<Sixth>::published().of(4.0, 0.0);
//! let nitrous_oxide = Potentials::<Fifth>::published().of(0.0, 0.24);
//! let mixed = methane + nitrous_oxide; // does not compile
//! ```

use super::Yearly;
use super::energy::EnergyFigures;
use crate::literature;
use crate::process::landfill::{LandfillClimate, LandfillDecay};
use crate::scenario::Plan;
use schemars::JsonSchema;
use serde::Serialize;
use std::fmt;
use std::marker::PhantomData;
use std::ops::{Add, Mul, Sub};

/// An assessment whose warming potentials belong together.
pub trait Assessment: Copy + fmt::Debug {
    /// Name of the set as printed.
    const NAME: &'static str;
    /// Literature key of the potential of methane.
    const METHANE: &'static str;
    /// Literature key of the potential of nitrous oxide.
    const NITROUS_OXIDE: &'static str;
}

/// Fifth assessment report, 100 years.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fifth {}

/// Sixth assessment report, 100 years, methane not fossil.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sixth {}

impl Assessment for Fifth {
    const NAME: &'static str = "AR5";
    const METHANE: &'static str = "site.warming_potential_methane_ar5";
    const NITROUS_OXIDE: &'static str = "site.warming_potential_nitrous_oxide_ar5";
}

impl Assessment for Sixth {
    const NAME: &'static str = "AR6";
    const METHANE: &'static str = "site.warming_potential_methane_ar6";
    const NITROUS_OXIDE: &'static str = "site.warming_potential_nitrous_oxide_ar6";
}

/// An amount of warming of one assessment. # Units: kg CO2e
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Equivalent<S> {
    kilograms: f64,
    set: PhantomData<S>,
}

impl<S: Assessment> Equivalent<S> {
    const fn new(kilograms: f64) -> Self {
        Self { kilograms, set: PhantomData }
    }

    /// The greater of two.
    fn greater(self, other: Self) -> Self {
        Self::new(self.kilograms.max(other.kilograms))
    }

    /// An amount that is printed as CO2e already. That of electricity and gas is nearly all carbon dioxide, which weighs the same in
    /// every assessment.
    const fn printed(kilograms: f64) -> Self {
        Self::new(kilograms)
    }

    /// The amount as a plain number. # Units: kg CO2e
    pub fn kilograms(self) -> f64 {
        self.kilograms
    }
}

impl<S: Assessment> Add for Equivalent<S> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.kilograms + other.kilograms)
    }
}

impl<S: Assessment> Sub for Equivalent<S> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.kilograms - other.kilograms)
    }
}

impl<S: Assessment> Mul<f64> for Equivalent<S> {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self::new(self.kilograms * by)
    }
}

/// The warming potentials of one assessment. They are read from the tables as printed: a plan may not replace one of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Potentials<S> {
    methane: f64,
    nitrous_oxide: f64,
    set: PhantomData<S>,
}

impl<S: Assessment> Potentials<S> {
    /// Those of the assessment. # Units: kg CO2e per kg of gas
    ///
    /// # Panics
    /// When the tables lack one (a fault of ours).
    pub fn published() -> Self {
        let read = |key| literature::central(key).expect("warming potentials stand in the tables");
        Self { methane: read(S::METHANE), nitrous_oxide: read(S::NITROUS_OXIDE), set: PhantomData }
    }

    /// Warming of methane and nitrous oxide: mass x potential, summed. Carbon dioxide from food is not counted: plants took it up the season before.
    ///
    /// # Units
    /// kg, kg to kg CO2e
    pub fn of(&self, methane: f64, nitrous_oxide: f64) -> Equivalent<S> {
        Equivalent::new(self.methane * methane + self.nitrous_oxide * nitrous_oxide)
    }
}

/// Row of the published factors for an ingredient of the library; `None` for what is no food: no landfill is claimed for it.
///
/// Spent grain and bran take the row without meat, not that of grains, three times higher; coffee takes the lowest.
fn row(ingredient: &str) -> Option<(&'static str, &'static str)> {
    Some(match ingredient {
        "food_waste_household" | "food_waste_restaurant" => ("mixed food", "site.landfill_factor_food_waste"),
        "fruit_and_vegetable_market" | "apple_pomace" | "coffee_grounds" => {
            ("fruit and vegetables", "site.landfill_factor_fruit_and_vegetables")
        }
        "bread" => ("bread", "site.landfill_factor_bread"),
        "brewers_grain_wet" | "wheat_bran" | "rice_bran" => {
            ("food, no meat", "site.landfill_factor_non_meat")
        }
        _ => return None,
    })
}

/// Scraps that fall under one published factor.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct FactorRow {
    /// Name of the row.
    pub name: &'static str,
    /// Literature key of the factor.
    pub key: &'static str,
    /// Scraps of the row. # Units: kg wet/a
    pub mass: f64,
    /// Factor of the sixth assessment. # Units: kg CO2e/kg wet
    pub factor: f64,
}

/// Warming of scraps under the published factors, which are of the sixth assessment: the sum of mass x factor.
fn by_factors(rows: &[FactorRow]) -> Equivalent<Sixth> {
    rows.iter().fold(Equivalent::new(0.0), |sum, r| sum + Equivalent::new(r.factor) * r.mass)
}

/// Sorts scraps into rows: ingredient of the library (or the one an own ingredient is like) and mass, to rows and the mass
/// without a row. # Units: kg wet
pub fn rows(scraps: &[(&str, f64)], get: &dyn Fn(&str) -> f64) -> (Vec<FactorRow>, f64) {
    let mut out: Vec<FactorRow> = Vec::new();
    let mut without = 0.0;
    for (ingredient, mass) in scraps {
        let Some((name, key)) = row(ingredient) else {
            without += mass;
            continue;
        };
        match out.iter_mut().find(|r| r.key == key) {
            Some(r) => r.mass += mass,
            None => out.push(FactorRow { name, key, mass: *mass, factor: get(key) }),
        }
    }
    (out, without)
}

/// One claim: one baseline, one set of warming potentials.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Statement {
    /// Name of the set of warming potentials.
    pub potentials: &'static str,
    /// What it is compared with, in words.
    pub baseline: &'static str,
    /// Literature keys it rests on.
    pub keys: Vec<&'static str>,
    /// The same food in a landfill. # Units: kg CO2e/a
    pub landfill: f64,
    /// Methane and nitrous oxide as the model gives them. # Units: kg CO2e/a
    pub process: f64,
    /// The same food at the default of the guidelines for composting: the careful line. # Units: kg CO2e/a
    pub process_default: f64,
    /// Electricity and fuel used. # Units: kg CO2e/a
    pub energy: f64,
    /// Landfill less process and energy. # Units: kg CO2e/a
    pub avoided: f64,
    /// Landfill less energy and the greater of the two of the process: what may be claimed without measurement. # Units: kg CO2e/a
    pub avoided_careful: f64,
}

impl Statement {
    fn new<S: Assessment>(
        baseline: &'static str,
        keys: Vec<&'static str>,
        landfill: Equivalent<S>,
        (process, process_default): (Equivalent<S>, Equivalent<S>),
        energy: f64,
    ) -> Self {
        let used = Equivalent::printed(energy);
        Self {
            potentials: S::NAME,
            baseline,
            keys,
            landfill: landfill.kilograms(),
            process: process.kilograms(),
            process_default: process_default.kilograms(),
            energy,
            avoided: (landfill - process - used).kilograms(),
            avoided_careful: (landfill - process.greater(process_default) - used).kilograms(),
        }
    }
}

/// Greenhouse gas of one use of energy.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct EnergyGas {
    /// What the energy is used for, in words.
    pub name: &'static str,
    /// Electricity or fuel. # Units: kWh/a
    pub energy: f64,
    /// Its greenhouse gas. # Units: kg CO2e/a
    pub gas: f64,
}

/// Greenhouse gas of the energy of a year; uses without energy are left out.
///
/// # Source
/// Electricity: `site.power_carbon` of the plan; gas burnt: `site.gas_carbon`.
pub fn energy_gas(energy: &EnergyFigures, power_carbon: f64, get: &dyn Fn(&str) -> f64) -> Vec<EnergyGas> {
    let of = |name, energy: f64, carbon: f64| EnergyGas { name, energy, gas: energy * carbon };
    let mut all = vec![
        of("grinding", energy.grinder, power_carbon),
        of("drying", energy.drying, power_carbon),
        of("electricity to heat rooms", energy.heating(), power_carbon),
        of("electricity to cool rooms", energy.cooling(), power_carbon),
        of("fuel to heat rooms", energy.fuel, get("site.gas_carbon")),
    ];
    all.retain(|one| one.energy > 0.0);
    all
}

/// Greenhouse gas of a year.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct GreenhouseFigures {
    /// Methane given off. # Units: kg/a
    pub methane: f64,
    /// Nitrous oxide given off. # Units: kg/a
    pub nitrous_oxide: f64,
    /// Greenhouse gas of the energy used.
    pub energy: Vec<EnergyGas>,
    /// Greenhouse gas of a unit of electricity, as the plan gives it. # Units: kg CO2e/kWh
    pub power_carbon: f64,
    /// Scraps by row of the published factors; rows without scraps are left out.
    pub rows: Vec<FactorRow>,
    /// Scraps without a row: no landfill is claimed for them. # Units: kg wet/a
    pub without_row: f64,
    /// Methane the same food would give off in a landfill for ever, by decay. # Units: kg/a
    pub landfill_methane: f64,
    /// Share of it that is given off within twenty years.
    pub within_twenty_years: f64,
    /// One statement for each baseline and set; they are alternatives and must not be added or averaged.
    pub statements: Vec<Statement>,
    /// What no statement counts, in words.
    pub not_counted: [&'static str; 6],
}

/// What no statement counts.
const NOT_COUNTED: [&str; 6] = [
    "carbon dioxide from food and bedding (biogenic)",
    "ventilation, light, pumps, buildings and machines",
    "collection and transport",
    "bran, bulking, grit, bedding and compost before they arrive",
    "carbon kept in soil",
    "fertiliser and peat replaced",
];

/// Keys of landfill decay.
const DECAY_KEYS: [&str; 6] = [
    "site.degradable_carbon_food",
    "site.degradable_carbon_decomposed",
    "site.methane_correction_factor",
    "site.methane_share_of_gas",
    "site.oxidation_factor",
    LandfillClimate::TemperateWet.key(),
];

/// Statement of one set against landfill decay without gas collection.
fn against_decay<S: Assessment>(
    food: f64,
    gas: (f64, f64),
    default: (f64, f64),
    energy: f64,
    decay: &LandfillDecay,
) -> Statement {
    let weigh = Potentials::<S>::published();
    let mut keys = DECAY_KEYS.to_vec();
    keys.extend([S::METHANE, S::NITROUS_OXIDE]);
    Statement::new(
        "landfill by first-order decay (no gas collected, for ever)",
        keys,
        weigh.of(decay.emitted_for_ever(food), 0.0),
        (weigh.of(gas.0, gas.1), weigh.of(default.0, default.1)),
        energy,
    )
}

/// The scraps of a year by ingredient of the library.
fn scraps<'a>(plan: &'a Plan, yearly: &Yearly) -> Vec<(&'a str, f64)> {
    let known = |id: &'a str| plan.ingredients.iter().find(|own| own.id == id).map_or(id, |own| &own.like);
    plan.streams
        .iter()
        .zip(&yearly.by_stream)
        .flat_map(|(stream, mass)| stream.parts().map(move |(id, share)| (known(id), share * mass)))
        .collect()
}

/// Greenhouse figures of a plan.
///
/// # Source
/// Factors: epa_hub_2026, ipcc_ar5, ipcc_ar6; decay: ipcc_2006. The default of composting stands for a process that has none of
/// its own.
pub fn greenhouse(
    plan: &Plan,
    yearly: &Yearly,
    energy: &EnergyFigures,
    get: &dyn Fn(&str) -> f64,
) -> GreenhouseFigures {
    let power_carbon = plan.site.power_carbon;
    let energy = energy_gas(energy, power_carbon, get);
    let used: f64 = energy.iter().map(|one| one.gas).sum();
    let (rows, without_row) = rows(&scraps(plan, yearly), get);
    let food: f64 = rows.iter().map(|r| r.mass).sum();
    let decay = LandfillDecay::from_values(LandfillClimate::TemperateWet, get);
    let gas = (yearly.methane, yearly.nitrous_oxide);
    let default = (
        yearly.accepted * get("site.compost_methane_wet"),
        yearly.accepted * get("site.compost_nitrous_oxide_wet"),
    );
    let sixth = Potentials::<Sixth>::published();
    let mut keys: Vec<&'static str> = rows.iter().map(|r| r.key).collect();
    keys.extend([Sixth::METHANE, Sixth::NITROUS_OXIDE]);
    let factors = Statement::new(
        "landfill by the published factors of 2026 (gas capture, carbon storage and energy credits inside)",
        keys,
        by_factors(&rows),
        (sixth.of(gas.0, gas.1), sixth.of(default.0, default.1)),
        used,
    );
    GreenhouseFigures {
        methane: gas.0,
        nitrous_oxide: gas.1,
        energy,
        power_carbon,
        rows,
        without_row,
        landfill_methane: decay.emitted_for_ever(food),
        within_twenty_years: decay.share_decomposed(20.0),
        statements: vec![
            factors,
            against_decay::<Sixth>(food, gas, default, used, &decay),
            against_decay::<Fifth>(food, gas, default, used, &decay),
        ],
        not_counted: NOT_COUNTED,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// site.json, food and fruit rows.
    fn get(key: &str) -> f64 {
        match key {
            "site.landfill_factor_food_waste" => 0.75,
            "site.landfill_factor_fruit_and_vegetables" => 0.309,
            _ => panic!("{key}"),
        }
    }

    #[test]
    fn the_row_follows_what_the_stream_is_made_of() {
        let scraps = [
            ("food_waste_restaurant", 600.0),
            ("food_waste_household", 100.0),
            ("apple_pomace", 200.0),
            ("leaves_autumn", 50.0),
        ];
        let (rows, without) = rows(&scraps, &get);
        assert_eq!((rows.len(), rows[0].mass, rows[1].mass, without), (2, 700.0, 200.0, 50.0));
        // Straw must earn no landfill credit: 700 x 0.75 + 200 x 0.309.
        assert!((by_factors(&rows).kilograms() - 586.8).abs() < 1e-9);
    }

    #[test]
    fn every_food_of_the_library_has_a_row_and_nothing_else_has() {
        for facts in literature::ingredients() {
            let food =
                ["food_", "fruit_", "apple_", "coffee_", "bread", "brewers_", "wheat_bran", "rice_bran"];
            assert_eq!(
                row(&facts.id).is_some(),
                food.iter().any(|f| facts.id.starts_with(f)),
                "{}",
                facts.id
            );
        }
    }
}
