//! Conductivity of printed extracts from their ions, and of one material in four forms.

use super::{Case, central};
use crate::matter::{Component, Material};
use crate::process::ammonium::AmmoniumPartition;
use crate::process::quality::conductivity::{ConductivityRates, Ions, volume_extract_water};

pub(super) fn cases() -> Vec<Case> {
    [extracts(), survey(), booked(), Case::arithmetic(forms())].concat()
}

/// A printed saturated extract: conductivity in dS/m, the rest in mg/L, nitrate and ammonium as nitrogen.
struct Extract {
    keys: [&'static str; 2],
    inputs: &'static str,
    conductivity: f64,
    nitrate: f64,
    ammonium: f64,
    phosphorus: f64,
    potassium: f64,
    calcium: f64,
    magnesium: f64,
    sodium: f64,
    chloride: f64,
}

/// Mass of nitrogen and phosphorus per equivalent of their ions, g/eq. Source: prohaska_2022.
const NITROGEN: f64 = 14.007;
const PHOSPHORUS: f64 = 30.974;

/// Saturated extracts of worm composts, biernbaum_2013.
const EXTRACTS: [Extract; 3] = [
    Extract {
        keys: ["products.conductivity_of_kitchen_residue", "products.booked_ions_of_kitchen_residue"],
        inputs: "saturated extract, worm compost of kitchen residue",
        conductivity: 6.99,
        nitrate: 450.0,
        ammonium: 5.3,
        phosphorus: 124.0,
        potassium: 1326.0,
        calcium: 750.0,
        magnesium: 176.0,
        sodium: 138.0,
        chloride: 467.0,
    },
    Extract {
        keys: ["products.conductivity_of_pulped_food", "products.booked_ions_of_pulped_food"],
        inputs: "saturated extract, worm compost of pulped food",
        conductivity: 11.69,
        nitrate: 748.0,
        ammonium: 5.3,
        phosphorus: 124.0,
        potassium: 1971.0,
        calcium: 1200.0,
        magnesium: 194.0,
        sodium: 333.0,
        chloride: 1088.0,
    },
    Extract {
        keys: ["products.conductivity_of_worm_composts", "products.booked_ions_of_worm_composts"],
        inputs: "saturated extract, mean of 11 worm composts",
        conductivity: 8.07,
        nitrate: 555.0,
        ammonium: 3.6,
        phosphorus: 116.0,
        potassium: 1825.0,
        calcium: 837.0,
        magnesium: 145.0,
        sodium: 188.0,
        chloride: 604.0,
    },
];

impl Extract {
    /// Ions, eq/L.
    fn ions(&self) -> Ions {
        let of = |mg: f64, mass: f64| mg * 1e-6 / mass;
        Ions {
            potassium: of(self.potassium, Ions::MASSES.potassium),
            sodium: of(self.sodium, Ions::MASSES.sodium),
            ammonium: self.ammonium / NITROGEN / 1000.0,
            calcium: of(self.calcium, Ions::MASSES.calcium),
            magnesium: of(self.magnesium, Ions::MASSES.magnesium),
            chloride: of(self.chloride, Ions::MASSES.chloride),
            nitrate: self.nitrate / NITROGEN / 1000.0,
            phosphate: self.phosphorus / PHOSPHORUS / 1000.0,
            ..Ions::default()
        }
    }
}

/// A tenth: the factor of the rule is one number for all extracts.
const FACTOR: &str = "a tenth; one factor for all extracts, from these rows and the survey";

fn extracts() -> Vec<Case> {
    let rates = ConductivityRates::from_values(&central);
    let case = |e: &Extract| {
        Case::of(e.keys[0], "biernbaum_2013", e.inputs)
            .printed(e.conductivity, 2, "dS/m")
            .within(0.1 * e.conductivity, FACTOR)
            .ours(rates.conductivity(&e.ions(), 1.0))
    };
    EXTRACTS.iter().map(case).collect()
}

/// A survey of composts by dry matter, mg/kg; what it prints is taken to dissolve in full.
fn survey() -> Vec<Case> {
    let rates = ConductivityRates::from_values(&central);
    let of = |share: f64, mass: f64| share / mass;
    let ions = Ions {
        potassium: of(central("ingredients.compost_finished.potassium"), Ions::MASSES.potassium),
        sodium: of(0.0028, Ions::MASSES.sodium),
        ammonium: 0.742 / NITROGEN,
        chloride: of(0.003_137, Ions::MASSES.chloride),
        nitrate: 0.291 / NITROGEN,
        sulphate: of(0.004_384, Ions::MASSES.sulphate),
        ..Ions::default()
    };
    let inputs = "1 kg of dry matter in 5 L, means of over 1600 composts, without calcium and magnesium";
    vec![
        Case::of("products.conductivity_of_composts", "calrecycle_2013", inputs)
            .printed(7.0, 0, "dS/m")
            .within(0.7, FACTOR)
            .ours(rates.conductivity(&ions, 5.0)),
    ]
}

/// The same extracts from what the model books of them: calcium, magnesium and half of the chloride follow from the rest.
fn booked() -> Vec<Case> {
    // what a printed extract holds has dissolved
    let rates = ConductivityRates {
        soluble_potassium: 1.0,
        ammonium: AmmoniumPartition { humus: 0.0, rest: 0.0 },
        ..ConductivityRates::from_values(&central)
    };
    let case = |e: &Extract| {
        // a kilogram of dry matter; masses in kg
        let dissolved = |eq: f64, mass: f64| eq * rates.saturation_water * mass;
        let ions = e.ions();
        let mut m = Material::of(Component::Potassium, dissolved(ions.potassium, Ions::MASSES.potassium));
        m[Component::Salt] = dissolved(ions.sodium, Ions::MASSES.sodium + Ions::MASSES.chloride);
        m[Component::Nitrate] = dissolved(ions.nitrate, Component::Nitrate.molar_mass());
        m[Component::Ammonia] = dissolved(ions.ammonium, Component::Ammonia.molar_mass());
        // seven tenths organic, as castings: the water of a saturated extract follows from it
        m[Component::Humus] = 0.7;
        m[Component::Minerals] = 1.0 - m.dry();
        Case::of(e.keys[1], "biernbaum_2013", e.inputs)
            .printed(e.conductivity, 2, "dS/m")
            .within(0.15 * e.conductivity, "15 %; other anions and chloride of plants are one number each")
            .ours(rates.of_extract(&m, rates.saturation_water))
    };
    EXTRACTS.iter().map(case).collect()
}

/// One material in the forms of laboratories, over its conductivity in 1:5 by dry mass.
fn forms() -> Vec<Case> {
    let rates = ConductivityRates::from_values(&central);
    let inputs =
        "castings of 1 % K, 1 % salt, 2 g nitrate-N and 0.3 g ammonium-N per kg, 40 % humus; factor by hand";
    let mut m = Material::of(Component::Potassium, 0.010);
    m[Component::Salt] = 0.010;
    m[Component::Nitrate] = 0.002 / NITROGEN * 63.012;
    m[Component::Ammonia] = 0.0003 / NITROGEN * 17.031;
    m[Component::Humus] = 0.4;
    m[Component::Minerals] = 1.0 - m.dry();
    let over = |water: f64| rates.of_extract(&m, water) / rates.of_extract(&m, 5.0);
    let case = |key, printed, tolerance, ours| {
        Case::of(key, "derived_here", inputs)
            .printed(printed, 2, "of 1:5")
            .within(tolerance, "nearer end of the derived range")
            .ours(ours)
    };
    // 0.29 kg of dry matter and 0.348 kg of water in a litre
    let by_volume = volume_extract_water(638.0, 0.348 / 0.638);
    vec![
        case("products.extract_1_to_10", 0.52, 0.04, over(10.0)),
        case("products.extract_saturated", 1.45, 0.3, over(rates.saturation_water)),
        case("products.extract_1_to_5_by_volume", 0.27, 0.06, over(by_volume)),
    ]
}
