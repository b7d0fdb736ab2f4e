//! The thirteen printed fermentation pathways by formula, as data to check against.
//!
//! The booked components have no mannitol, butanediol, propanediol, pentose, malic, citric or propionic acid; this table
//! has. The simulation does not use it; it runs [`super::pathway`].

use crate::matter::{Formula, atomic_weight};

/// How a species counts in the loss of dry matter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChemicalKind {
    /// Dry matter.
    Dry,
    /// A gas.
    Gas,
    /// Water.
    Water,
}

/// A species of a printed pathway.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chemical {
    /// Formula.
    pub formula: Formula,
    /// Dry matter, gas or water.
    pub kind: ChemicalKind,
}

const fn dry(carbon: f64, hydrogen: f64, oxygen: f64) -> Chemical {
    Chemical { formula: Formula::new(carbon, hydrogen, oxygen, 0.0), kind: ChemicalKind::Dry }
}

const fn gas(carbon: f64, hydrogen: f64, oxygen: f64) -> Chemical {
    Chemical { formula: Formula::new(carbon, hydrogen, oxygen, 0.0), kind: ChemicalKind::Gas }
}

const HEXOSE: Chemical = dry(6.0, 12.0, 6.0);
const PENTOSE: Chemical = dry(5.0, 10.0, 5.0);
const LACTIC: Chemical = dry(3.0, 6.0, 3.0);
const ACETIC: Chemical = dry(2.0, 4.0, 2.0);
const PROPIONIC: Chemical = dry(3.0, 6.0, 2.0);
const BUTYRIC: Chemical = dry(4.0, 8.0, 2.0);
const ETHANOL: Chemical = dry(2.0, 6.0, 1.0);
const MANNITOL: Chemical = dry(6.0, 14.0, 6.0);
const BUTANEDIOL: Chemical = dry(4.0, 10.0, 2.0);
const PROPANEDIOL: Chemical = dry(3.0, 8.0, 2.0);
const MALIC: Chemical = dry(4.0, 6.0, 5.0);
const CITRIC: Chemical = dry(6.0, 8.0, 7.0);
const CARBON_DIOXIDE: Chemical = gas(1.0, 0.0, 2.0);
const HYDROGEN: Chemical = gas(0.0, 2.0, 0.0);
const OXYGEN: Chemical = gas(0.0, 0.0, 2.0);
const WATER: Chemical = Chemical { formula: Formula::new(0.0, 2.0, 1.0, 0.0), kind: ChemicalKind::Water };

/// A printed pathway: the substrate first, moles negative if used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormulaReaction {
    /// Number in the table of pathways, P1 to P13.
    pub number: &'static str,
    /// Name.
    pub name: &'static str,
    /// Species and moles.
    pub terms: &'static [(Chemical, f64)],
}

/// The thirteen pathways. Source: mcdonald_1991 (memory).
pub const PRINTED: [FormulaReaction; 13] = [
    FormulaReaction { number: "P1", name: "homolactic", terms: &[(HEXOSE, -1.0), (LACTIC, 2.0)] },
    FormulaReaction {
        number: "P2",
        name: "heterolactic on glucose",
        terms: &[(HEXOSE, -1.0), (LACTIC, 1.0), (ETHANOL, 1.0), (CARBON_DIOXIDE, 1.0)],
    },
    FormulaReaction {
        number: "P3",
        name: "heterolactic on fructose",
        terms: &[
            (HEXOSE, -3.0),
            (WATER, -1.0),
            (LACTIC, 1.0),
            (ACETIC, 1.0),
            (MANNITOL, 2.0),
            (CARBON_DIOXIDE, 1.0),
        ],
    },
    FormulaReaction {
        number: "P4",
        name: "heterolactic on pentose",
        terms: &[(PENTOSE, -1.0), (LACTIC, 1.0), (ACETIC, 1.0)],
    },
    FormulaReaction {
        number: "P5",
        name: "yeast",
        terms: &[(HEXOSE, -1.0), (ETHANOL, 2.0), (CARBON_DIOXIDE, 2.0)],
    },
    FormulaReaction {
        number: "P6",
        name: "clostridial on lactic acid",
        terms: &[(LACTIC, -2.0), (BUTYRIC, 1.0), (CARBON_DIOXIDE, 2.0), (HYDROGEN, 2.0)],
    },
    FormulaReaction {
        number: "P7",
        name: "acetic, hydrogen-forming",
        terms: &[(HEXOSE, -1.0), (WATER, -2.0), (ACETIC, 2.0), (CARBON_DIOXIDE, 2.0), (HYDROGEN, 4.0)],
    },
    FormulaReaction {
        number: "P8",
        name: "enterobacterial",
        terms: &[(HEXOSE, -1.0), (BUTANEDIOL, 1.0), (CARBON_DIOXIDE, 2.0), (HYDROGEN, 1.0)],
    },
    FormulaReaction {
        number: "P9",
        name: "late heterolactic",
        terms: &[(LACTIC, -2.0), (ACETIC, 1.0), (PROPANEDIOL, 1.0), (CARBON_DIOXIDE, 1.0)],
    },
    FormulaReaction {
        number: "P10",
        name: "malic to lactic",
        terms: &[(MALIC, -1.0), (LACTIC, 1.0), (CARBON_DIOXIDE, 1.0)],
    },
    FormulaReaction {
        number: "P11",
        name: "citric",
        terms: &[(CITRIC, -2.0), (WATER, -1.0), (ACETIC, 3.0), (LACTIC, 1.0), (CARBON_DIOXIDE, 3.0)],
    },
    FormulaReaction {
        number: "P12",
        name: "propionic from lactic acid",
        terms: &[(LACTIC, -3.0), (PROPIONIC, 2.0), (ACETIC, 1.0), (CARBON_DIOXIDE, 1.0), (WATER, 1.0)],
    },
    FormulaReaction {
        number: "P13",
        name: "air leak",
        terms: &[(HEXOSE, -1.0), (OXYGEN, -6.0), (CARBON_DIOXIDE, 6.0), (WATER, 6.0)],
    },
];

impl FormulaReaction {
    fn substrate(&self) -> f64 {
        -self.terms[0].1 * self.terms[0].0.formula.molar_mass()
    }

    /// Carbon, hydrogen and oxygen atoms made less used, mol/mol substrate.
    pub fn residual(&self) -> [f64; 3] {
        self.terms.iter().fold([0.0; 3], |sum, (c, n)| {
            [sum[0] + n * c.formula.carbon, sum[1] + n * c.formula.hydrogen, sum[2] + n * c.formula.oxygen]
        })
    }

    /// Dry matter lost per kilogram of substrate, kg/kg.
    pub fn dry_matter_loss(&self) -> f64 {
        let change: f64 = self
            .terms
            .iter()
            .filter(|(c, _)| c.kind == ChemicalKind::Dry)
            .map(|(c, n)| n * c.formula.molar_mass())
            .sum();
        -change / self.substrate()
    }

    /// Carbon dioxide made per kilogram of substrate, kg/kg.
    pub fn carbon_dioxide(&self) -> f64 {
        let moles: f64 = self.terms.iter().filter(|(c, _)| *c == CARBON_DIOXIDE).map(|(_, n)| n).sum();
        moles * CARBON_DIOXIDE.formula.molar_mass() / self.substrate()
    }

    /// Carbon lost as gas per kilogram of substrate carbon, kg/kg.
    pub fn carbon_loss(&self) -> f64 {
        let (substrate, moles) = self.terms[0];
        self.carbon_dioxide() * self.substrate() / CARBON_DIOXIDE.formula.molar_mass() * atomic_weight::CARBON
            / (-moles * substrate.formula.carbon * atomic_weight::CARBON)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_residual_of_a_reaction_names_the_element_missing() {
        // one of the two lactic acids of P1 left out; hydrogen without a source
        let short = FormulaReaction {
            number: "",
            name: "",
            terms: &[(HEXOSE, -1.0), (LACTIC, 1.0), (HYDROGEN, 2.0)],
        };
        assert_eq!(short.residual().map(f64::to_bits), [-3.0_f64, -2.0, -3.0].map(f64::to_bits));
    }
}
