//! Reactions that balance themselves, and tables of them.
//!
//! A reaction is declared by the moles that are known; the unknown products are solved from the C, H, O, N balance when
//! it is built, so a table of reactions cannot create or lose an element.

use crate::matter::lane::Lane;
use crate::matter::{Component, ELEMENTS, Elements, Formula, Gas, Gases, Material, dot};
use nalgebra::{DMatrix, DVector};
use std::fmt;

/// Largest element residual allowed per kilogram of key reactant. Source: our choice, rounding of sums of a few terms of order one.
pub const CONTINUITY_TOLERANCE: f64 = 1e-12;

/// A product or reactant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Species {
    /// A component of the material.
    In(Component),
    /// A gas given off, or oxygen taken in.
    Air(Gas),
}

impl Species {
    fn formula(self) -> Option<Formula> {
        match self {
            Self::In(c) => c.formula(),
            Self::Air(g) => Some(g.formula()),
        }
    }
}

/// Why a reaction cannot be built.
#[derive(Debug, Clone, PartialEq)]
pub enum ReactionError {
    /// A component without a formula cannot react.
    NoFormula(Species),
    /// No amounts of the unknown species balance C, H, O and N.
    Unbalanced {
        /// Name of the reaction.
        reaction: &'static str,
        /// Largest element residual left, mol per mol of key reactant.
        residual: f64,
    },
}

impl fmt::Display for ReactionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoFormula(s) => write!(f, "{s:?} has no formula and cannot react"),
            Self::Unbalanced { reaction, residual } => {
                write!(f, "reaction {reaction} cannot be balanced: {residual:e} mol of an element is left")
            }
        }
    }
}

impl std::error::Error for ReactionError {}

/// A balanced reaction: the products of one kilogram of its key reactant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reaction {
    /// Name in its table.
    pub name: &'static str,
    /// Change of the material per kilogram of key reactant (the key reactant itself is -1), kg/kg.
    pub change: Material,
    /// Gases given off per kilogram of key reactant, kg/kg.
    pub gases: Gases,
}

impl Reaction {
    /// Builds a reaction from the known moles (negative = used up; the first is the key reactant) and the species whose
    /// amounts are solved.
    ///
    /// # Errors
    /// [`ReactionError`] if a species has no formula or the unknown species cannot balance the known ones.
    ///
    /// # Panics
    /// If no moles are given: a reaction without a key reactant is a fault of ours.
    pub fn balance(
        name: &'static str,
        known: &[(Species, f64)],
        unknown: &[Species],
    ) -> Result<Self, ReactionError> {
        let atoms = |s: Species| -> Result<[f64; 4], ReactionError> {
            let f = s.formula().ok_or(ReactionError::NoFormula(s))?;
            Ok([f.carbon, f.hydrogen, f.oxygen, f.nitrogen])
        };
        let mut right = DVector::<f64>::zeros(4);
        for &(s, moles) in known {
            for (e, n) in atoms(s)?.iter().enumerate() {
                right[e] -= n * moles;
            }
        }
        let mut matrix = DMatrix::<f64>::zeros(4, unknown.len());
        for (column, &s) in unknown.iter().enumerate() {
            for (e, n) in atoms(s)?.iter().enumerate() {
                matrix[(e, column)] = *n;
            }
        }
        let solved = if unknown.is_empty() {
            DVector::zeros(0)
        } else {
            matrix.clone().svd(true, true).solve(&right, 1e-12).expect("both factors were asked for")
        };
        let residual = (&matrix * &solved - &right).amax();
        if residual > 1e-9 {
            return Err(ReactionError::Unbalanced { reaction: name, residual });
        }
        let mut reaction = Self { name, change: Material::zero(), gases: Gases::zero() };
        for (s, moles) in known.iter().copied().chain(unknown.iter().copied().zip(solved.iter().copied())) {
            match s {
                Species::In(c) => reaction.change[c] += moles * c.molar_mass(),
                Species::Air(g) => reaction.gases[g] += moles * g.molar_mass(),
            }
        }
        let key = match known[0].0 {
            Species::In(c) => -reaction.change[c],
            Species::Air(g) => -reaction.gases[g],
        };
        reaction.change = reaction.change * (1.0 / key);
        reaction.gases = reaction.gases * (1.0 / key);
        Ok(reaction)
    }

    /// Element residual per kilogram of key reactant, kg/kg.
    pub fn residual(&self) -> Elements {
        self.change.elements() + self.gases.elements()
    }

    /// Lets `extent` of the key reactant, kg, react in `matter`; adds the gases to `gases`.
    pub fn apply(&self, extent: f64, matter: &mut Material, gases: &mut Gases) {
        *matter += self.change * extent;
        *gases += self.gases * extent;
    }

    /// Oxygen taken in per kilogram of key reactant, kg/kg.
    pub fn oxygen_demand(&self) -> f64 {
        -self.gases[Gas::Oxygen]
    }
}

/// A table of reactions, rows in a fixed order, checked for continuity when built.
#[derive(Debug, Clone)]
pub struct ProcessTable<const ROWS: usize> {
    rows: [Reaction; ROWS],
    components: Columns<ROWS>,
    gases: Columns<ROWS>,
}

/// Columns of a table: what each row changes of a component or gas. Those with many entries are kept dense, the others as single
/// entries, so that applying them costs a few dot products instead of the whole matrix.
#[derive(Debug, Clone)]
struct Columns<const ROWS: usize> {
    dense: Vec<(usize, [f64; ROWS])>,
    /// Column, row and entry.
    single: Vec<(usize, usize, f64)>,
}

/// A column with this many entries or more is kept dense. Source: our choice, for speed.
const DENSE_FROM: usize = 4;

impl<const ROWS: usize> Columns<ROWS> {
    fn new(columns: impl Iterator<Item = (usize, [f64; ROWS])>) -> Self {
        let (mut dense, mut single) = (Vec::new(), Vec::new());
        for (place, entries) in columns {
            if entries.iter().filter(|x| **x != 0.0).count() >= DENSE_FROM {
                dense.push((place, entries));
            } else {
                let entries = entries.into_iter().enumerate().filter(|(_, x)| *x != 0.0);
                single.extend(entries.map(|(row, x)| (place, row, x)));
            }
        }
        Self { dense, single }
    }

    /// Adds what rows of these extents change.
    #[inline(always)]
    fn add<L: Lane>(&self, extents: &[L; ROWS], to: &mut [L]) {
        for (place, column) in &self.dense {
            to[*place] += dot(column, extents);
        }
        for (place, row, x) in &self.single {
            to[*place] += extents[*row] * *x;
        }
    }
}

impl<const ROWS: usize> ProcessTable<ROWS> {
    /// Checks that every row conserves every element.
    ///
    /// # Errors
    /// [`ReactionError::Unbalanced`] for the first row whose residual exceeds [`CONTINUITY_TOLERANCE`].
    pub fn new(rows: [Reaction; ROWS]) -> Result<Self, ReactionError> {
        for row in &rows {
            let residual = row.residual().amax();
            if residual > CONTINUITY_TOLERANCE {
                return Err(ReactionError::Unbalanced { reaction: row.name, residual });
            }
        }
        let component = |c: Component| (c.index(), rows.map(|row| row.change[c]));
        let gas = |g: Gas| (g.index(), rows.map(|row| row.gases[g]));
        let components = Columns::new(Component::ALL.into_iter().map(component));
        let gases = Columns::new(Gas::ALL.into_iter().map(gas));
        Ok(Self { rows, components, gases })
    }

    /// The rows.
    pub fn rows(&self) -> &[Reaction; ROWS] {
        &self.rows
    }

    /// Lets every row react to its extent, the mass of its key reactant, kg; returns the gases, kg.
    #[inline(always)]
    pub fn apply<L: Lane>(&self, extents: &[L; ROWS], matter: &mut Material<L>) -> Gases<L> {
        self.components.add(extents, &mut matter.0);
        let mut gases = Gases::none();
        self.gases.add(extents, &mut gases.0);
        gases
    }
}

/// Full oxidation of one organic component to CO2, water and ammonia.
///
/// # Errors
/// [`ReactionError::NoFormula`] for a component without a formula.
pub fn oxidation(name: &'static str, of: Component) -> Result<Reaction, ReactionError> {
    Reaction::balance(
        name,
        &[(Species::In(of), -1.0)],
        &[
            Species::Air(Gas::Oxygen),
            Species::Air(Gas::CarbonDioxide),
            Species::In(Component::Water),
            Species::In(Component::Ammonia),
        ],
    )
}

const _: () = assert!(ELEMENTS == 8);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn oxidising_anhydro_hexose_matches_the_worked_check() {
        // 1 kg C6H10O5 + 1.184 kg O2 -> 1.629 kg CO2 + 0.556 kg water, by hand from molar masses 162.141, 31.998, 44.009.
        let r = oxidation("sugars", Component::Sugars).unwrap();
        assert!((r.oxygen_demand() - 6.0 * 31.998 / 162.141).abs() < 1e-6);
        assert!((r.gases[Gas::CarbonDioxide] - 1.629).abs() < 5e-4);
        assert!((r.change[Component::Water] - 0.556).abs() < 5e-4);
    }

    #[test]
    fn theoretical_oxygen_demand_of_the_formula_table() {
        // Printed ThOD, kg O2 per kg with N left as NH3: protein 1.498 (Haug 1980 formula), triolein 2.891, ethanol 2.084.
        for (c, printed) in [
            (Component::Protein, 1.498),
            (Component::Fat, 2.891),
            (Component::Ethanol, 2.084),
            (Component::Acetic, 1.066),
        ] {
            let r = oxidation("check", c).unwrap();
            assert!((r.oxygen_demand() - printed).abs() < 5e-4, "{c:?} {}", r.oxygen_demand());
        }
    }

    #[test]
    fn a_reaction_that_cannot_balance_is_refused() {
        let wrong = Reaction::balance(
            "sugars to ammonia",
            &[(Species::In(Component::Sugars), -1.0)],
            &[Species::In(Component::Ammonia)],
        );
        assert!(matches!(wrong, Err(ReactionError::Unbalanced { .. })));
    }

    #[test]
    fn a_table_with_a_broken_row_is_refused() {
        let mut row = oxidation("sugars", Component::Sugars).unwrap();
        row.gases[Gas::CarbonDioxide] += 1e-9;
        assert!(ProcessTable::new([row]).is_err());
    }

    #[test]
    fn a_gas_can_be_the_key_reactant() {
        // 2 H2 + O2 -> 2 H2O, by hand: 15.999 / 2.016 kg of oxygen and 18.015 / 2.016 kg of water for a kilogram of hydrogen
        let (hydrogen, oxygen) = (Species::Air(Gas::Hydrogen), Species::Air(Gas::Oxygen));
        let water = Species::In(Component::Water);
        let r = Reaction::balance("detonating gas", &[(hydrogen, -1.0)], &[oxygen, water]).unwrap();
        assert!((r.gases[Gas::Hydrogen] + 1.0).abs() < 1e-12);
        assert!((r.oxygen_demand() - 15.999 / 2.016).abs() < 1e-3 && (r.change.water() - 8.936).abs() < 1e-3);
    }
}
