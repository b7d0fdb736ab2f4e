//! The pathways of a drum on the booked components, and how fermented sugar splits over them.
//!
//! Sugars are booked as anhydro-hexose, C6H10O5, so every sugar pathway binds the water its balance asks for: 1 kg of
//! hexose is 0.9 kg of sugars and 0.1 kg of water. If printed products are not booked, the nearest booked ones
//! carry their carbon, hydrogen and oxygen:
//!
//! - P3: 3 hexose -> lactic + acetic + 2 mannitol + CO2 becomes 4/3 hexose -> lactic + acetic + ethanol + CO2, with 5/3
//!   hexose left in place. The two mannitol are carried by sugars and ethanol; lactic, acetic and CO2 are as printed.
//! - P7 and P8 (acetic and butanediol) are both the hydrogen-forming acetic pathway.
//! - P9: 2 lactic -> acetic + 4/3 ethanol + 4/3 CO2; propanediol is carried by ethanol.
//! - Deamination: protein -> ammonia + sugars + ethanol. The charge balance counts released ammonia as plain base, so the
//!   carbon skeleton must be neutral; the two carriers are the pair that balances without a gas.
//! - P4, P10, P11 and P12 start from or end in matter that is not booked and are left out.

use crate::matter::{Component, Element, Gas, Material};
use crate::process::reaction::{ProcessTable, Reaction, ReactionError, Species};
use std::sync::LazyLock;

/// Number of [`Pathway`]s.
pub const PATHWAYS: usize = 11;
/// Number of pathways that ferment sugar; they come first.
pub const SUGAR_PATHWAYS: usize = 6;

/// A pathway of a drum, in the order of [`TABLE`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(usize)]
pub enum Pathway {
    /// P1: sugars to lactic acid.
    Homolactic,
    /// P2: sugars to lactic acid, ethanol and CO2.
    HeterolacticGlucose,
    /// P3: sugars to lactic and acetic acid, ethanol and CO2.
    HeterolacticFructose,
    /// P5: sugars to ethanol and CO2.
    Yeast,
    /// P7 and P8: sugars to acetic acid, CO2 and hydrogen.
    Acetic,
    /// P1 then P6: sugars to butyric acid, CO2 and hydrogen.
    ButyricFromSugars,
    /// P9: lactic acid to acetic acid, ethanol and CO2.
    LateHeterolactic,
    /// P6: lactic acid to butyric acid, CO2 and hydrogen.
    ButyricFromLactic,
    /// Protein to ammonia and a neutral rest.
    Deamination,
    /// P13: sugars burned by leaked air.
    AirOnSugars,
    /// Lactic acid burned by leaked air, once the sugars are gone.
    AirOnLactic,
}

impl Pathway {
    /// Row in [`TABLE`].
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// The pathways as balanced reactions per kilogram of key reactant.
pub static TABLE: LazyLock<ProcessTable<PATHWAYS>> =
    LazyLock::new(|| table().expect("every row is balanced by hand in the tests"));

/// One pathway's reaction.
pub fn reaction(pathway: Pathway) -> &'static Reaction {
    &TABLE.rows()[pathway.index()]
}

/// Amounts followed every day, per kilogram of a key reactant, kg/kg: water, sugars and lactic acid made; carbon dioxide,
/// hydrogen and oxygen given off.
pub type Daily = [f64; 6];

/// [`Daily`] amounts of each pathway, so that a day is a few short sums.
pub static DAILY: LazyLock<[Daily; PATHWAYS]> = LazyLock::new(|| {
    TABLE.rows().map(|row| {
        [
            row.change[Component::Water],
            row.change[Component::Sugars],
            row.change[Component::Lactic],
            row.gases[Gas::CarbonDioxide],
            row.gases[Gas::Hydrogen],
            row.gases[Gas::Oxygen],
        ]
    })
});

fn table() -> Result<ProcessTable<PATHWAYS>, ReactionError> {
    use Species::{Air, In};
    let sugars = In(Component::Sugars);
    let lactic = In(Component::Lactic);
    let acetic = In(Component::Acetic);
    let ethanol = In(Component::Ethanol);
    let butyric = In(Component::Butyric);
    let water = In(Component::Water);
    let carbon_dioxide = Air(Gas::CarbonDioxide);
    let hydrogen = Air(Gas::Hydrogen);
    let oxygen = Air(Gas::Oxygen);
    let ferment = |name, moles: f64, products: &[(Species, f64)], free: &[Species]| {
        let mut known = vec![(sugars, -moles)];
        known.extend_from_slice(products);
        Reaction::balance(name, &known, free)
    };
    ProcessTable::new([
        ferment("homolactic", 1.0, &[(lactic, 2.0)], &[water])?,
        ferment("heterolactic on glucose", 1.0, &[(lactic, 1.0), (ethanol, 1.0)], &[carbon_dioxide, water])?,
        ferment(
            "heterolactic on fructose",
            4.0 / 3.0,
            &[(lactic, 1.0), (acetic, 1.0), (ethanol, 1.0)],
            &[carbon_dioxide, water],
        )?,
        ferment("yeast", 1.0, &[(ethanol, 2.0)], &[carbon_dioxide, water])?,
        ferment("acetic", 1.0, &[(acetic, 2.0)], &[carbon_dioxide, hydrogen, water])?,
        ferment("butyric from sugars", 1.0, &[(butyric, 1.0), (hydrogen, 2.0)], &[carbon_dioxide, water])?,
        Reaction::balance("late heterolactic", &[(lactic, -2.0), (acetic, 1.0)], &[ethanol, carbon_dioxide])?,
        Reaction::balance(
            "butyric from lactic",
            &[(lactic, -2.0), (butyric, 1.0)],
            &[carbon_dioxide, hydrogen],
        )?,
        Reaction::balance(
            "deamination",
            &[(In(Component::Protein), -1.0)],
            &[In(Component::Ammonia), sugars, ethanol, water],
        )?,
        Reaction::balance("air on sugars", &[(sugars, -1.0)], &[oxygen, carbon_dioxide, water])?,
        Reaction::balance("air on lactic", &[(lactic, -1.0)], &[oxygen, carbon_dioxide, water])?,
    ])
}

/// How fermented sugar splits over the sugar pathways; the shares sum to 1.
///
/// # Units
/// kg per kg of sugar fermented.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathwaySplit {
    /// P1.
    pub homolactic: f64,
    /// P2.
    pub heterolactic_glucose: f64,
    /// P3.
    pub heterolactic_fructose: f64,
    /// P5.
    pub yeast: f64,
    /// P7 and P8.
    pub acetic: f64,
    /// P6, in a good batch.
    pub butyric: f64,
}

impl PathwaySplit {
    /// Reads the six shares by key and normalises them.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            homolactic: get("fermentation.split_homolactic"),
            heterolactic_glucose: get("fermentation.split_heterolactic_glucose"),
            heterolactic_fructose: get("fermentation.split_heterolactic_fructose"),
            yeast: get("fermentation.split_yeast"),
            acetic: get("fermentation.split_acetic_and_enterobacterial"),
            butyric: get("fermentation.split_butyric"),
        }
        .normalised()
    }

    /// Shares in the order of the sugar pathways, kg/kg sugar fermented.
    pub fn shares(&self) -> [f64; SUGAR_PATHWAYS] {
        [
            self.homolactic,
            self.heterolactic_glucose,
            self.heterolactic_fructose,
            self.yeast,
            self.acetic,
            self.butyric,
        ]
    }

    /// The same proportions, summing to 1; all zero becomes wholly homolactic.
    #[must_use]
    pub fn normalised(&self) -> Self {
        let sum: f64 = self.shares().iter().sum();
        if sum <= 0.0 {
            return Self {
                homolactic: 1.0,
                heterolactic_glucose: 0.0,
                heterolactic_fructose: 0.0,
                yeast: 0.0,
                acetic: 0.0,
                butyric: 0.0,
            };
        }
        Self {
            homolactic: self.homolactic / sum,
            heterolactic_glucose: self.heterolactic_glucose / sum,
            heterolactic_fructose: self.heterolactic_fructose / sum,
            yeast: self.yeast / sum,
            acetic: self.acetic / sum,
            butyric: self.butyric / sum,
        }
    }

    /// The split when P2, P5 and P7+P8 are `factor` times as large and P1 makes up the difference (not below 0).
    #[must_use]
    pub fn shifted(&self, factor: f64) -> Self {
        let side = self.heterolactic_glucose + self.yeast + self.acetic;
        let largest = if side > 0.0 { (self.homolactic + side) / side } else { 1.0 };
        let f = factor.clamp(0.0, largest);
        Self {
            homolactic: self.homolactic + side * (1.0 - f),
            heterolactic_glucose: self.heterolactic_glucose * f,
            yeast: self.yeast * f,
            acetic: self.acetic * f,
            ..*self
        }
    }

    /// Sugars used by each sugar pathway per kilogram of sugar fermented, kg/kg.
    ///
    /// Only 4/9 of the sugar on P3 is used; 5/9 stays in sugars and stands for mannitol.
    pub fn extents(&self) -> [f64; SUGAR_PATHWAYS] {
        let mut extents = self.shares();
        extents[Pathway::HeterolacticFructose.index()] *= 4.0 / 9.0;
        extents
    }

    /// Change of the material per kilogram of sugar fermented, kg/kg.
    pub fn change(&self) -> Material {
        TABLE.rows().iter().zip(self.extents()).map(|(row, extent)| row.change * extent).sum()
    }
}

/// Protein to deaminate for ammonia to reach a share of all nitrogen; ammonia already present counts.
///
/// # Units
/// kg protein, at most that present.
pub fn protein_to_deaminate(matter: &Material, share: f64) -> f64 {
    let in_ammonia = matter[Component::Ammonia] * Component::Ammonia.elements()[Element::Nitrogen.index()];
    let wanted = share * matter.element(Element::Nitrogen) - in_ammonia;
    let per_protein = Component::Protein.elements()[Element::Nitrogen.index()];
    (wanted / per_protein).clamp(0.0, matter[Component::Protein].max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Central split of the `fermentation` table.
    pub(crate) fn central() -> PathwaySplit {
        PathwaySplit {
            homolactic: 0.55,
            heterolactic_glucose: 0.20,
            heterolactic_fructose: 0.10,
            yeast: 0.10,
            acetic: 0.04,
            butyric: 0.01,
        }
    }

    #[test]
    fn side_pathways_grow_at_the_cost_of_homolactic_fermentation() {
        // side pathways take 0.34 at first; twice that leaves 0.21 of 0.55, and 0.89 / 0.34 times is the most
        let twice = central().shifted(2.0);
        for (ours, by_hand) in twice.shares().into_iter().zip([0.21, 0.40, 0.10, 0.20, 0.08, 0.01]) {
            assert!((ours - by_hand).abs() < 1e-12, "{twice:?}");
        }
        let most = central().shifted(9.0);
        assert!(most.homolactic.abs() < 1e-12 && (most.shares().iter().sum::<f64>() - 1.0).abs() < 1e-12);
        let none = PathwaySplit { heterolactic_glucose: 0.0, yeast: 0.0, acetic: 0.0, ..central() };
        assert_eq!(none.shifted(3.0), none);
    }

    #[test]
    fn every_pathway_is_in_its_row_and_conserves_every_element() {
        assert_eq!(reaction(Pathway::AirOnLactic).name, "air on lactic");
        assert_eq!(reaction(Pathway::ButyricFromSugars).name, "butyric from sugars");
        assert_eq!(reaction(Pathway::Deamination).name, "deamination");
        for row in TABLE.rows() {
            assert!(row.residual().amax() < 1e-13, "{}", row.name);
            // drums book three gases only
            let others: f64 = Gas::ALL
                .iter()
                .filter(|g| !matches!(g, Gas::CarbonDioxide | Gas::Hydrogen | Gas::Oxygen))
                .map(|&g| row.gases[g].abs())
                .sum();
            assert!(others < 1e-15, "{}", row.name);
        }
    }

    #[test]
    fn ethanol_carries_the_propanediol_of_the_late_pathway() {
        // 2 lactic -> acetic + 4/3 ethanol + 4/3 CO2, by hand.
        let r = reaction(Pathway::LateHeterolactic);
        let lactic = 2.0 * Component::Lactic.molar_mass();
        assert!(
            (r.change[Component::Ethanol] - 4.0 / 3.0 * Component::Ethanol.molar_mass() / lactic).abs()
                < 1e-12
        );
        assert!(
            (r.gases[Gas::CarbonDioxide] - 4.0 / 3.0 * Gas::CarbonDioxide.molar_mass() / lactic).abs()
                < 1e-12
        );
    }

    #[test]
    fn deamination_frees_all_nitrogen_and_makes_neither_gas_nor_acid() {
        // C16H24O5N4 + 8 H2O -> 4 NH3 + 2.5 C6H10O5 + 0.5 C2H6O, by hand.
        let r = reaction(Pathway::Deamination);
        let per = |c: Component, n: f64| n * c.molar_mass() / Component::Protein.molar_mass();
        assert!((r.change[Component::Ammonia] - per(Component::Ammonia, 4.0)).abs() < 1e-12);
        assert!((r.change[Component::Sugars] - per(Component::Sugars, 2.5)).abs() < 1e-12);
        assert!((r.change[Component::Ethanol] - per(Component::Ethanol, 0.5)).abs() < 1e-12);
        assert!((r.change[Component::Water] + per(Component::Water, 8.0)).abs() < 1e-12);
        assert!(r.gases.0.iter().all(|gas| gas.abs() < 1e-15));
    }

    #[test]
    fn a_shift_moves_weight_to_lactic_acid_and_keeps_the_sum() {
        for factor in [0.0, 0.8, 1.0, 1.4, 50.0] {
            let s = central().shifted(factor);
            assert!((s.shares().iter().sum::<f64>() - 1.0).abs() < 1e-14);
            assert!(s.shares().iter().all(|&x| x >= -1e-15));
        }
        assert!(central().shifted(0.8).homolactic > 0.55);
    }

    #[test]
    fn shares_of_any_sum_are_scaled_to_one() {
        let shares = PathwaySplit {
            homolactic: 4.0,
            heterolactic_glucose: 2.0,
            heterolactic_fructose: 1.0,
            yeast: 0.5,
            acetic: 0.4,
            butyric: 0.1,
        };
        let wanted = [0.5, 0.25, 0.125, 0.0625, 0.05, 0.0125];
        for (ours, wanted) in shares.normalised().shares().into_iter().zip(wanted) {
            assert!((ours - wanted).abs() < 1e-15, "{ours} {wanted}");
        }
    }

    #[test]
    fn ammonia_already_present_needs_no_protein() {
        // by hand: 1 kg N in all, half of it wanted as ammonia, 0.2 kg present: 0.3 kg more from protein
        let nitrogen = |c: Component| c.elements()[Element::Nitrogen.index()];
        let matter = Material::of(Component::Ammonia, 0.2 / nitrogen(Component::Ammonia))
            + Material::of(Component::Protein, 0.8 / nitrogen(Component::Protein));
        let protein = protein_to_deaminate(&matter, 0.5);
        assert!((protein * nitrogen(Component::Protein) - 0.3).abs() < 1e-12, "{protein}");
    }
}
