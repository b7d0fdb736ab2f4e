//! Components, gases, and the elements they are made of: the entries of the balance.
//!
//! One composition matrix holds the element content of every component and gas, computed from formulas and the
//! 2021 abridged atomic weights. Phosphorus, potassium, salt and other minerals are conserved groups of their own.

/// Atomic weights, g/mol. Source: prohaska_2022 (abridged 2021 standard atomic weights).
pub mod atomic_weight {
    /// Hydrogen.
    pub const HYDROGEN: f64 = 1.008;
    /// Carbon.
    pub const CARBON: f64 = 12.011;
    /// Nitrogen.
    pub const NITROGEN: f64 = 14.007;
    /// Oxygen.
    pub const OXYGEN: f64 = 15.999;
}

/// Number of [`Component`]s.
pub const COMPONENTS: usize = 18;
/// Number of [`Gas`]es.
pub const GASES: usize = 8;
/// Number of [`Element`]s (four elements by formula, two nutrients, two conserved groups).
pub const ELEMENTS: usize = 8;

/// A component of wet matter, in the order of the booked vector.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(usize)]
pub enum Component {
    /// H2O.
    Water,
    /// Sugars and starch as anhydro-hexose, C6H10O5.
    Sugars,
    /// Cellulose and hemicellulose, C6H10O5.
    Fibre,
    /// Lignin, C10H12O4 (61 % C, inside the 60-64 % that fits wood analyses).
    Lignin,
    /// Protein, C16H24O5N4 (15.9 % N, keeps crude protein = 6.25 N).
    Protein,
    /// Protein bound in cell walls or browned, which decays no faster than fibre; formula of protein.
    BoundProtein,
    /// Fat as triolein, C57H104O6.
    Fat,
    /// Lactic acid, C3H6O3.
    Lactic,
    /// Acetic acid, C2H4O2; also stands for the burnable native acids of an ingredient.
    Acetic,
    /// Butyric acid, C4H8O2.
    Butyric,
    /// Ethanol, C2H6O.
    Ethanol,
    /// Stabilised organic matter, C11H14O5N1.1 (C:N 8.6, in the range of `bed.humified_pool_carbon_to_nitrogen`).
    Humus,
    /// All ammoniacal nitrogen, NH3.
    Ammonia,
    /// All nitrate, HNO3.
    Nitrate,
    /// Phosphorus, P.
    Phosphorus,
    /// Potassium, K.
    Potassium,
    /// Soluble salts as NaCl equivalent, conserved.
    Salt,
    /// Other ash, conserved.
    Minerals,
}

/// A gas exchanged with the air.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(usize)]
pub enum Gas {
    /// O2, negative when taken in.
    Oxygen,
    /// CO2.
    CarbonDioxide,
    /// CH4.
    Methane,
    /// NH3 as a gas.
    AmmoniaGas,
    /// N2O.
    NitrousOxide,
    /// N2.
    Dinitrogen,
    /// H2.
    Hydrogen,
    /// Water vapour, H2O.
    WaterVapour,
}

/// An element or group that is conserved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(usize)]
pub enum Element {
    /// C.
    Carbon,
    /// H.
    Hydrogen,
    /// O.
    Oxygen,
    /// N.
    Nitrogen,
    /// P.
    Phosphorus,
    /// K.
    Potassium,
    /// Soluble salts.
    Salt,
    /// Other minerals.
    Minerals,
}

/// C, H, O and N atoms of a formula.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Formula {
    /// Carbon atoms.
    pub carbon: f64,
    /// Hydrogen atoms.
    pub hydrogen: f64,
    /// Oxygen atoms.
    pub oxygen: f64,
    /// Nitrogen atoms.
    pub nitrogen: f64,
}

impl Formula {
    /// A formula from its atom counts.
    pub const fn new(carbon: f64, hydrogen: f64, oxygen: f64, nitrogen: f64) -> Self {
        Self { carbon, hydrogen, oxygen, nitrogen }
    }

    /// Molar mass, g/mol.
    pub const fn molar_mass(&self) -> f64 {
        self.carbon * atomic_weight::CARBON
            + self.hydrogen * atomic_weight::HYDROGEN
            + self.oxygen * atomic_weight::OXYGEN
            + self.nitrogen * atomic_weight::NITROGEN
    }

    /// Mass share of C, H, O, N, kg/kg.
    pub const fn mass_shares(&self) -> [f64; 4] {
        let m = self.molar_mass();
        [
            self.carbon * atomic_weight::CARBON / m,
            self.hydrogen * atomic_weight::HYDROGEN / m,
            self.oxygen * atomic_weight::OXYGEN / m,
            self.nitrogen * atomic_weight::NITROGEN / m,
        ]
    }
}

/// Organic components that decay, except humus, in the order of the decay rows.
pub const POOLS: [Component; 10] = [
    Component::Sugars,
    Component::Fibre,
    Component::Lignin,
    Component::Protein,
    Component::BoundProtein,
    Component::Fat,
    Component::Lactic,
    Component::Acetic,
    Component::Butyric,
    Component::Ethanol,
];

impl Component {
    /// Every component, in booking order.
    pub const ALL: [Self; COMPONENTS] = [
        Self::Water,
        Self::Sugars,
        Self::Fibre,
        Self::Lignin,
        Self::Protein,
        Self::BoundProtein,
        Self::Fat,
        Self::Lactic,
        Self::Acetic,
        Self::Butyric,
        Self::Ethanol,
        Self::Humus,
        Self::Ammonia,
        Self::Nitrate,
        Self::Phosphorus,
        Self::Potassium,
        Self::Salt,
        Self::Minerals,
    ];

    /// Position in the booked vector.
    pub const fn index(self) -> usize {
        self as usize
    }

    /// Name in files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Water => "water",
            Self::Sugars => "sugars",
            Self::Fibre => "fibre",
            Self::Lignin => "lignin",
            Self::Protein => "protein",
            Self::BoundProtein => "bound_protein",
            Self::Fat => "fat",
            Self::Lactic => "lactic_acid",
            Self::Acetic => "acetic_acid",
            Self::Butyric => "butyric_acid",
            Self::Ethanol => "ethanol",
            Self::Humus => "humus",
            Self::Ammonia => "ammonia",
            Self::Nitrate => "nitrate",
            Self::Phosphorus => "phosphorus",
            Self::Potassium => "potassium",
            Self::Salt => "salt",
            Self::Minerals => "minerals",
        }
    }

    /// Formula; None for the elements and conserved groups (P, K, salt, minerals).
    pub const fn formula(self) -> Option<Formula> {
        Some(match self {
            Self::Water => Formula::new(0.0, 2.0, 1.0, 0.0),
            Self::Sugars | Self::Fibre => Formula::new(6.0, 10.0, 5.0, 0.0),
            Self::Lignin => Formula::new(10.0, 12.0, 4.0, 0.0),
            Self::Protein | Self::BoundProtein => Formula::new(16.0, 24.0, 5.0, 4.0),
            Self::Fat => Formula::new(57.0, 104.0, 6.0, 0.0),
            Self::Lactic => Formula::new(3.0, 6.0, 3.0, 0.0),
            Self::Acetic => Formula::new(2.0, 4.0, 2.0, 0.0),
            Self::Butyric => Formula::new(4.0, 8.0, 2.0, 0.0),
            Self::Ethanol => Formula::new(2.0, 6.0, 1.0, 0.0),
            Self::Humus => Formula::new(11.0, 14.0, 5.0, 1.1),
            Self::Ammonia => Formula::new(0.0, 3.0, 0.0, 1.0),
            Self::Nitrate => Formula::new(0.0, 1.0, 3.0, 1.0),
            Self::Phosphorus | Self::Potassium | Self::Salt | Self::Minerals => return None,
        })
    }

    /// Molar mass, kg/mol; 0 for a component without a formula.
    pub const fn molar_mass(self) -> f64 {
        match self.formula() {
            Some(f) => f.molar_mass() / 1000.0,
            None => 0.0,
        }
    }

    /// Element content of one kilogram, kg/kg.
    pub const fn elements(self) -> [f64; ELEMENTS] {
        let mut out = [0.0; ELEMENTS];
        match self {
            Self::Phosphorus => out[Element::Phosphorus as usize] = 1.0,
            Self::Potassium => out[Element::Potassium as usize] = 1.0,
            Self::Salt => out[Element::Salt as usize] = 1.0,
            Self::Minerals => out[Element::Minerals as usize] = 1.0,
            _ => {
                if let Some(f) = self.formula() {
                    let s = f.mass_shares();
                    out[0] = s[0];
                    out[1] = s[1];
                    out[2] = s[2];
                    out[3] = s[3];
                }
            }
        }
        out
    }
}

impl Gas {
    /// Every gas, in booking order.
    pub const ALL: [Self; GASES] = [
        Self::Oxygen,
        Self::CarbonDioxide,
        Self::Methane,
        Self::AmmoniaGas,
        Self::NitrousOxide,
        Self::Dinitrogen,
        Self::Hydrogen,
        Self::WaterVapour,
    ];

    /// Position in the booked vector.
    pub const fn index(self) -> usize {
        self as usize
    }

    /// Name in files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Oxygen => "oxygen",
            Self::CarbonDioxide => "carbon_dioxide",
            Self::Methane => "methane",
            Self::AmmoniaGas => "ammonia_gas",
            Self::NitrousOxide => "nitrous_oxide",
            Self::Dinitrogen => "dinitrogen",
            Self::Hydrogen => "hydrogen",
            Self::WaterVapour => "water_vapour",
        }
    }

    /// Formula.
    pub const fn formula(self) -> Formula {
        match self {
            Self::Oxygen => Formula::new(0.0, 0.0, 2.0, 0.0),
            Self::CarbonDioxide => Formula::new(1.0, 0.0, 2.0, 0.0),
            Self::Methane => Formula::new(1.0, 4.0, 0.0, 0.0),
            Self::AmmoniaGas => Formula::new(0.0, 3.0, 0.0, 1.0),
            Self::NitrousOxide => Formula::new(0.0, 0.0, 1.0, 2.0),
            Self::Dinitrogen => Formula::new(0.0, 0.0, 0.0, 2.0),
            Self::Hydrogen => Formula::new(0.0, 2.0, 0.0, 0.0),
            Self::WaterVapour => Formula::new(0.0, 2.0, 1.0, 0.0),
        }
    }

    /// Molar mass, kg/mol.
    pub const fn molar_mass(self) -> f64 {
        self.formula().molar_mass() / 1000.0
    }

    /// Element content of one kilogram, kg/kg.
    pub const fn elements(self) -> [f64; ELEMENTS] {
        let s = self.formula().mass_shares();
        [s[0], s[1], s[2], s[3], 0.0, 0.0, 0.0, 0.0]
    }
}

impl Element {
    /// Every element and conserved group, in order.
    pub const ALL: [Self; ELEMENTS] = [
        Self::Carbon,
        Self::Hydrogen,
        Self::Oxygen,
        Self::Nitrogen,
        Self::Phosphorus,
        Self::Potassium,
        Self::Salt,
        Self::Minerals,
    ];

    /// Position in an element vector.
    pub const fn index(self) -> usize {
        self as usize
    }

    /// Name in messages and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Carbon => "carbon",
            Self::Hydrogen => "hydrogen",
            Self::Oxygen => "oxygen",
            Self::Nitrogen => "nitrogen",
            Self::Phosphorus => "phosphorus",
            Self::Potassium => "potassium",
            Self::Salt => "salt",
            Self::Minerals => "minerals",
        }
    }
}

/// Number of components with a formula, which come first; the others are elements and conserved groups.
pub const WITH_FORMULA: usize = 14;

/// Element content of each component, row per component, kg/kg.
pub static COMPONENT_ELEMENTS: [[f64; ELEMENTS]; COMPONENTS] = {
    let mut rows = [[0.0; ELEMENTS]; COMPONENTS];
    let mut c = 0;
    while c < COMPONENTS {
        rows[c] = Component::ALL[c].elements();
        c += 1;
    }
    rows
};

/// Element content of each gas, row per gas, kg/kg.
pub static GAS_ELEMENTS: [[f64; ELEMENTS]; GASES] = {
    let mut rows = [[0.0; ELEMENTS]; GASES];
    let mut g = 0;
    while g < GASES {
        rows[g] = Gas::ALL[g].elements();
        g += 1;
    }
    rows
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn elements_of_every_component_and_gas_sum_to_its_mass() {
        for row in COMPONENT_ELEMENTS.iter().chain(GAS_ELEMENTS.iter()) {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-14);
        }
    }

    #[test]
    fn printed_contents_of_the_formula_table() {
        // Haug 1980 protein 15.90 % N; carbohydrate 44.45 % C; triolein 77.32 % C (formula table, two decimals).
        let percent = |c: Component, e: Element| 100.0 * c.elements()[e.index()];
        assert!((percent(Component::Protein, Element::Nitrogen) - 15.90).abs() < 0.005);
        assert!((percent(Component::Fibre, Element::Carbon) - 44.45).abs() < 0.005);
        assert!((percent(Component::Fat, Element::Carbon) - 77.32).abs() < 0.005);
        assert!((percent(Component::Lactic, Element::Carbon) - 40.00).abs() < 0.005);
    }
}
