//! Analyses of an ingredient split into components.
//!
//! The only place where printed or laboratory figures become a [`Material`]. Nitrogen, ash, phosphorus and potassium are
//! kept exactly; the organic rest is split close to the stated fractions so that carbon comes out as stated; charge
//! entries are set so that the stated pH comes out.

pub mod analysis;
pub mod charge;
mod fill;
pub mod formula;
pub mod split;

use crate::matter::{Component, Element, Material};
use crate::process::acidity::{AcidConstants, Surrounds, base_for};
use crate::process::ingredient::analysis::{Analysis, Field, Figure};
use crate::process::ingredient::charge::NativeCharge;
use crate::process::ingredient::split::{FRACTIONS, HUMUS, SplitProblem};
use std::fmt;

/// Temperature at which the stated pH of an ingredient holds. # Units: °C
pub const REFERENCE_TEMPERATURE: f64 = 20.0;

/// What kind of solid an ingredient is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SolidKind {
    /// Food scraps, by-products, starter carriers, manures: no humus unless stated.
    Food,
    /// Structure material such as cardboard, leaves, wood: no humus unless stated.
    Bulking,
    /// Stabilised matter such as compost: nitrogen sits in humus and protein, no native acid.
    Humified,
}

/// Rules by which an analysis is split.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SplitRules {
    /// Acid constants.
    pub acids: AcidConstants,
    /// Share of the buffering capacity carried by native acids that burn off later. # Units: eq/eq
    pub native_acid_share: f64,
    /// Most native acid booked, as a share of organic matter. # Units: kg/kg
    pub most_native_acid: f64,
    /// Alkalinity of calcium carbonate. # Units: eq/kg
    pub lime_alkalinity: f64,
    /// Smallest half range a stated fraction is given. # Units: kg/kg dry mass
    pub smallest_spread: f64,
    /// How far stated fractions may sum above 1 before they are refused. # Units: kg/kg dry mass
    pub closure_tolerance: f64,
    /// Usual make-up of humified organic matter where no fractions are stated, in the order of
    /// [`FRACTIONS`]. # Units: kg/kg organic matter
    pub humified: [f64; 6],
    /// Half range of each share in `humified`, as a share of it. # Units: 1
    pub humified_spread: f64,
}

impl SplitRules {
    /// Reads the rules by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            acids: AcidConstants::from_values(get),
            native_acid_share: get("feedstocks.native_acid_share"),
            most_native_acid: get("feedstocks.most_native_acid"),
            lime_alkalinity: get("fermentation.calcium_carbonate_neutralising_power"),
            smallest_spread: get("feedstocks.smallest_fraction_spread"),
            closure_tolerance: get("feedstocks.closure_tolerance"),
            humified: [
                get("feedstocks.humified_sugars_share"),
                get("feedstocks.humified_fibre_share"),
                get("feedstocks.humified_lignin_share"),
                get("feedstocks.humified_protein_share"),
                get("feedstocks.humified_fat_share"),
                get("feedstocks.humified_humus_share"),
            ],
            humified_spread: get("feedstocks.humified_spread"),
        }
    }

    /// The plain rule: the whole buffering capacity in the linear buffer, no native acid.
    #[must_use]
    pub fn without_native_acid(self) -> Self {
        Self { native_acid_share: 0.0, ..self }
    }
}

/// What was filled in or adjusted when an ingredient was made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Note {
    /// A figure was taken from the like ingredient, times `factor` (organic figures follow the organic share).
    Filled {
        /// Which figure.
        field: Field,
        /// Factor applied.
        factor: f64,
    },
    /// Nitrogen was computed from the stated crude protein.
    NitrogenFromProtein,
    /// No carbon was stated; it follows from the fractions.
    CarbonFromFractions,
    /// Fractions of a humified material were taken from the usual make-up.
    UsualMakeUp {
        /// Which fraction.
        field: Field,
    },
    /// No split met the stated carbon; the nearest inside its range, or inside any bounds, was taken.
    CarbonMissed {
        /// Stated. # Units: kg/kg dry mass
        stated: f64,
        /// Reached. # Units: kg/kg dry mass
        reached: f64,
    },
    /// A fraction had to leave its stated range for the sum, nitrogen or carbon to come out.
    OutsideRange {
        /// Which fraction.
        field: Field,
        /// Stated.
        stated: Figure,
        /// Used. # Units: kg/kg dry mass
        used: f64,
    },
    /// The native acid was capped; the rest of the buffering capacity went to the linear buffer.
    NativeAcidCapped {
        /// Wanted. # Units: kg/kg dry mass
        wanted: f64,
        /// Booked. # Units: kg/kg dry mass
        booked: f64,
    },
}

/// Why an analysis cannot be made into an ingredient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum IngredientError {
    /// A figure is missing and there is no like ingredient that has it.
    Missing(Field),
    /// A figure lies outside what is possible.
    OutOfRange {
        /// Which figure.
        field: Field,
        /// Given.
        value: f64,
        /// Smallest possible.
        low: f64,
        /// Largest possible.
        high: f64,
    },
    /// Low, central and high are not in this order.
    Unordered(Field),
    /// Ash and the low ends of the stated fractions sum well above 1.
    FractionsAboveOne {
        /// Their sum. # Units: kg/kg dry mass
        sum: f64,
    },
    /// Phosphorus, potassium, salt and lime exceed the ash they are part of.
    AshTooSmall {
        /// Stated ash. # Units: kg/kg dry mass
        ash: f64,
        /// Sum of its stated parts. # Units: kg/kg dry mass
        parts: f64,
    },
    /// More nitrogen than the organic matter holds if it is all protein.
    ImpossibleNitrogen {
        /// Stated. # Units: kg/kg dry mass
        nitrogen: f64,
        /// Most possible. # Units: kg/kg dry mass
        most: f64,
    },
}

impl fmt::Display for IngredientError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(field) => {
                write!(f, "{} is not given and no like ingredient has it", field.name())
            }
            Self::OutOfRange { field, value, low, high } => {
                write!(f, "{} is {value}, possible is {low} to {high}", field.name())
            }
            Self::Unordered(field) => write!(f, "{}: low, central and high are not in order", field.name()),
            Self::FractionsAboveOne { sum } => {
                write!(f, "ash and stated fractions make {sum:.3} kg per kg dry mass, more than 1")
            }
            Self::AshTooSmall { ash, parts } => {
                write!(
                    f,
                    "ash is {ash:.4} kg per kg dry mass, its phosphorus, potassium, salt and lime {parts:.4}"
                )
            }
            Self::ImpossibleNitrogen { nitrogen, most } => {
                write!(f, "nitrogen is {nitrogen:.4} kg per kg dry mass, pure protein would hold {most:.4}")
            }
        }
    }
}

impl std::error::Error for IngredientError {}

/// A kind of material with a known composition.
#[derive(Debug, Clone, PartialEq)]
pub struct Ingredient {
    /// Name.
    pub name: String,
    /// Kind of solid.
    pub kind: SolidKind,
    /// One kilogram, wet. # Units: kg
    pub per_kilogram: Material,
    /// Bulk density as is. # Units: kg/m3
    pub bulk_density: f64,
    /// What was filled in or adjusted.
    pub notes: Vec<Note>,
}

impl Ingredient {
    /// Splits an analysis into components.
    ///
    /// Missing figures come from `like`. Nitrogen governs protein (15.90 % N), so nitrogen is exact; ash is split into
    /// phosphorus, potassium, salt and minerals; native acid is taken out of the organic matter; the rest is split over
    /// sugars, fibre, lignin, protein, fat (and humus) by weighted least squares close to the stated fractions, with the
    /// sum and nitrogen exact and carbon as stated. Lime counts as part of the ash (carbonate outlasts an ash furnace at
    /// 550 °C): its whole mass is booked as minerals, its alkalinity on top of the base that gives the stated pH, and
    /// the carbon dioxide that acid would free from it (0.44 kg/kg) stays in the minerals.
    ///
    /// # Errors
    /// [`IngredientError`] when a figure is impossible, contradicts others, or is missing everywhere.
    pub fn from_analysis(
        name: &str,
        analysis: &Analysis,
        like: Option<&Analysis>,
        kind: SolidKind,
        rules: &SplitRules,
    ) -> Result<Self, IngredientError> {
        let mut notes = Vec::new();
        let filled = fill::fill(analysis, like, kind, rules, &mut notes)?;
        let organic = 1.0 - filled.ash;
        let ash_parts = filled.phosphorus + filled.potassium + filled.salt + filled.lime;
        if ash_parts > filled.ash + 1e-12 {
            return Err(IngredientError::AshTooSmall { ash: filled.ash, parts: ash_parts });
        }
        let as_protein = filled.nitrogen / content(Component::Protein, Element::Nitrogen);
        if as_protein > organic {
            let most = organic * content(Component::Protein, Element::Nitrogen);
            return Err(IngredientError::ImpossibleNitrogen { nitrogen: filled.nitrogen, most });
        }
        let share = if kind == SolidKind::Humified { 0.0 } else { rules.native_acid_share };
        let most_acid = (rules.most_native_acid * organic).min(organic - as_protein);
        let charge = NativeCharge::of(filled.buffering_capacity, share, most_acid, &rules.acids);
        if charge.wanted_acid > charge.acid {
            notes.push(Note::NativeAcidCapped { wanted: charge.wanted_acid, booked: charge.acid });
        }
        let acid_carbon = charge.acid * content(Component::Acetic, Element::Carbon);
        let split = SplitProblem {
            organic: organic - charge.acid,
            nitrogen: filled.nitrogen,
            carbon: filled.carbon.map(|c| c.plus(-acid_carbon)),
            targets: filled.fractions,
            humus_allowed: kind == SolidKind::Humified || filled.fractions[HUMUS].high > 0.0,
            smallest_spread: rules.smallest_spread,
        }
        .solve();
        if let Some(carbon) = filled.carbon {
            let reached = split.carbon + acid_carbon;
            if (reached - carbon.central).abs() > 1e-9 {
                notes.push(Note::CarbonMissed { stated: carbon.central, reached });
            }
        }
        fill::note_outside(&split.masses, analysis, &mut notes);

        let mut dry = Material::zero();
        for (c, mass) in FRACTIONS.into_iter().zip(split.masses) {
            dry[c] = mass;
        }
        dry[Component::Acetic] = charge.acid;
        dry[Component::Phosphorus] = filled.phosphorus;
        dry[Component::Potassium] = filled.potassium;
        dry[Component::Salt] = filled.salt;
        dry[Component::Minerals] = (filled.ash - filled.phosphorus - filled.potassium - filled.salt).max(0.0);
        *dry.buffer_mut() = charge.buffer;
        let mut per_kilogram = dry * (1.0 - filled.moisture);
        per_kilogram[Component::Water] = filled.moisture;
        let at = Surrounds::acid_store(REFERENCE_TEMPERATURE);
        *per_kilogram.base_mut() = base_for(&per_kilogram, &rules.acids, &at, filled.initial_ph)
            + rules.lime_alkalinity * filled.lime * (1.0 - filled.moisture);
        Ok(Self { name: name.to_owned(), kind, per_kilogram, bulk_density: filled.bulk_density, notes })
    }
}

/// Content of an element in a component. # Units: kg/kg
pub(crate) fn content(component: Component, element: Element) -> f64 {
    component.elements()[element.index()]
}

/// The mix of so many kilograms of each part, parts given per kilogram wet. # Units: kg
pub fn mix(parts: &[(Material, f64)]) -> Material {
    parts.iter().map(|(per_kilogram, kilograms)| *per_kilogram * *kilograms).sum()
}
