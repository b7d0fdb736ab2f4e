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

use crate::matter::{Analysis, Component, Element, Material, Property, SolidKind};
use crate::process::acidity::{AcidConstants, AcidPowers, Acidity, Surrounds};
use crate::process::ingredient::analysis::{Stated, StatedAnalysis};
use crate::process::ingredient::charge::NativeCharge;
use crate::process::ingredient::fill::CompleteAnalysis;
use crate::process::ingredient::split::{FRACTIONS, HUMUS, OrganicSplit, SplitProblem};
use std::fmt;

/// Temperature at which the stated pH of an ingredient holds, °C.
pub const REFERENCE_TEMPERATURE: f64 = 20.0;

/// Mass of calcium per equivalent, kg/eq. Source: half of the atomic weight, textbook.
const CALCIUM_PER_CHARGE: f64 = 0.020_039;

/// Rules by which an analysis is split.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SplitRules {
    /// Acid constants.
    pub acids: AcidConstants,
    /// Share of the buffering capacity carried by native acids that burn off later, eq/eq.
    pub native_acid_share: f64,
    /// Most native acid booked, as a share of organic matter, kg/kg.
    pub most_native_acid: f64,
    /// Share of protein that is bound where an ingredient does not state it.
    pub bound_protein: f64,
    /// Alkalinity of calcium carbonate, eq/kg.
    pub lime_alkalinity: f64,
    /// Anions of strong acids beside which calcium of an acid ingredient is dissolved, eq/kg dry mass.
    pub calcium_anions: f64,
    /// Carbon dioxide of the air, atm; the stated pH of an ingredient holds in it.
    pub air_carbon_dioxide: f64,
    /// Smallest half range given to a stated fraction, kg/kg dry mass.
    pub smallest_spread: f64,
    /// How far stated fractions may sum above 1 before they are refused, kg/kg dry mass.
    pub closure_tolerance: f64,
    /// Usual make-up of humified organic matter if no fractions are stated, in the order of [`FRACTIONS`], kg/kg organic
    /// matter.
    pub humified: [f64; FRACTIONS.len()],
    /// Half range of each share in `humified`, as a share of it.
    pub humified_spread: f64,
}

impl SplitRules {
    /// Reads the rules by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            acids: AcidConstants::from_values(get),
            native_acid_share: get("feedstocks.native_acid_share"),
            most_native_acid: get("feedstocks.most_native_acid"),
            bound_protein: get("feedstocks.bound_protein_share"),
            lime_alkalinity: get("fermentation.calcium_carbonate_neutralising_power"),
            calcium_anions: get("feedstocks.calcium_anions"),
            air_carbon_dioxide: 1e-6 * get("fermentation.outdoor_carbon_dioxide"),
            smallest_spread: get("feedstocks.smallest_fraction_spread"),
            closure_tolerance: get("feedstocks.closure_tolerance"),
            humified: FRACTIONS
                .map(|(property, _)| get(&format!("feedstocks.humified_{}_share", property.name()))),
            humified_spread: get("feedstocks.humified_spread"),
        }
    }

    /// The plain rule: the whole buffering capacity in the linear buffer, no native acid.
    #[must_use]
    pub fn without_native_acid(self) -> Self {
        Self { native_acid_share: 0.0, ..self }
    }

    /// Surroundings in which the stated pH of an ingredient holds: air at [`REFERENCE_TEMPERATURE`].
    pub fn surroundings(&self) -> Surrounds {
        Surrounds { temperature: REFERENCE_TEMPERATURE, carbon_dioxide: self.air_carbon_dioxide }
    }
}

/// What was filled in or adjusted when an ingredient was made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Note {
    /// A property was taken from the like ingredient, times `factor` (organic ones follow the organic share).
    Filled {
        /// Which property.
        property: Property,
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
        property: Property,
    },
    /// No split met the stated carbon; the nearest inside its range, or inside any bounds, was taken.
    CarbonMissed {
        /// Stated, kg/kg dry mass.
        stated: f64,
        /// Reached, kg/kg dry mass.
        reached: f64,
    },
    /// A fraction had to leave its stated range for the sum, nitrogen or carbon to come out.
    OutsideRange {
        /// Which fraction.
        property: Property,
        /// Stated.
        stated: Stated,
        /// Used, kg/kg dry mass.
        used: f64,
    },
    /// The native acid was capped; the rest of the buffering capacity went to the linear buffer.
    NativeAcidCapped {
        /// Wanted, kg/kg dry mass.
        wanted: f64,
        /// Booked, kg/kg dry mass.
        booked: f64,
    },
}

/// Why an analysis cannot be made into an ingredient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum IngredientError {
    /// A property is missing and no like ingredient states it.
    Missing(Property),
    /// A figure lies outside what is possible.
    OutOfRange {
        /// Which property.
        property: Property,
        /// Given.
        value: f64,
        /// Smallest possible.
        low: f64,
        /// Largest possible.
        high: f64,
    },
    /// Low, central and high are not in this order.
    Unordered(Property),
    /// Ash and the low ends of the stated fractions sum well above 1.
    FractionsAboveOne {
        /// Their sum, kg/kg dry mass.
        sum: f64,
    },
    /// The stated parts of the ash exceed it.
    AshTooSmall {
        /// Stated ash, kg/kg dry mass.
        ash: f64,
        /// Sum of its stated parts, kg/kg dry mass.
        parts: f64,
    },
    /// More nitrogen than the organic matter holds if it is all protein.
    ImpossibleNitrogen {
        /// Stated, kg/kg dry mass.
        nitrogen: f64,
        /// Most possible, kg/kg dry mass.
        most: f64,
    },
}

impl fmt::Display for IngredientError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(property) => {
                write!(f, "{} is not given and no like ingredient states it", property.name())
            }
            Self::OutOfRange { property, value, low, high } => {
                write!(f, "{} is {value}; it can be {low} to {high}", property.name())
            }
            Self::Unordered(property) => {
                write!(f, "{}: low, central and high are not in order", property.name())
            }
            Self::FractionsAboveOne { sum } => {
                write!(f, "ash and stated fractions make {sum:.3} kg per kg dry mass, more than 1")
            }
            Self::AshTooSmall { ash, parts } => {
                let names = analysis::names(Property::of_ash().map(|(property, _)| property));
                write!(f, "ash is {ash:.4} kg per kg dry mass, its {names} {parts:.4}")
            }
            Self::ImpossibleNitrogen { nitrogen, most } => {
                write!(f, "nitrogen is {nitrogen:.4} kg per kg dry mass, pure protein would hold {most:.4}")
            }
        }
    }
}

impl std::error::Error for IngredientError {}

/// Classes of the sugars and starch of an ingredient, which ferment to different degrees.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Carbohydrates {
    /// Part of them that is sugar; the rest is starch.
    pub free_sugar: f64,
    /// Part of the starch that is cooked.
    pub cooked_starch: f64,
}

/// A kind of material with a known composition.
#[derive(Debug, Clone, PartialEq)]
pub struct Ingredient {
    /// Name.
    pub name: String,
    /// Kind of solid.
    pub kind: SolidKind,
    /// One kilogram, wet.
    pub per_kilogram: Material,
    /// Classes of its sugars and starch.
    pub carbohydrates: Carbohydrates,
    /// Bulk density as it arrives, kg/m3.
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
    /// sum and nitrogen exact and carbon as stated. The base entry is what gives the stated pH in air, beside the dissolved part
    /// of the calcium. Calcium is part of the ash: its mass is booked as minerals. So is lime (carbonate outlasts an ash furnace
    /// at 550 °C), whose calcium comes on top of what gives the stated pH; the carbon dioxide that acid would free from it
    /// (0.44 kg/kg) stays in the minerals.
    ///
    /// # Errors
    /// [`IngredientError`] when a figure is impossible, contradicts others, or is missing everywhere.
    pub fn from_analysis(
        name: &str,
        analysis: &StatedAnalysis,
        like: Option<&StatedAnalysis>,
        kind: SolidKind,
        rules: &SplitRules,
    ) -> Result<Self, IngredientError> {
        let mut notes = Vec::new();
        let filled = fill::fill(analysis, like, kind, rules, &mut notes)?;
        let charge = native_charge(&filled, kind, rules)?;
        if charge.wanted_acid > charge.acid {
            notes.push(Note::NativeAcidCapped { wanted: charge.wanted_acid, booked: charge.acid });
        }
        let split = organic_split(&filled, charge.acid, kind, rules, &mut notes);
        fill::note_outside(&split.masses, analysis, &mut notes);

        let of = |property: Property| filled.central[property];
        let mut dry = Material::zero();
        for ((_, component), mass) in FRACTIONS.into_iter().zip(split.masses) {
            dry[component] = mass;
        }
        dry[Component::BoundProtein] = dry[Component::Protein] * of(Property::BoundProtein);
        dry[Component::Protein] -= dry[Component::BoundProtein];
        dry[Component::Acetic] = charge.acid;
        let mut minerals = of(Property::Ash);
        for (property, component) in Property::of_ash().filter(|(_, c)| *c != Component::Minerals) {
            dry[component] = of(property);
            minerals -= of(property);
        }
        dry[Component::Minerals] = minerals.max(0.0);
        *dry.buffer_mut() = charge.buffer_beside(dry[Component::Humus], &rules.acids);
        let mut per_kilogram = dry * (1.0 - of(Property::Moisture));
        per_kilogram[Component::Water] = of(Property::Moisture);
        set_charges(&mut per_kilogram, &filled.central, rules);
        let carbohydrates =
            Carbohydrates { free_sugar: of(Property::FreeSugar), cooked_starch: of(Property::CookedStarch) };
        let bulk_density = of(Property::BulkDensity);
        Ok(Self { name: name.to_owned(), kind, per_kilogram, carbohydrates, bulk_density, notes })
    }
}

/// Sets calcium, and the base with which the stated pH comes out.
fn set_charges(per_kilogram: &mut Material, stated: &Analysis<f64>, rules: &SplitRules) {
    let powers = AcidPowers::at(&rules.acids, &rules.surroundings());
    let at = Acidity::of(stated[Property::Ph]);
    let dry = 1.0 - stated[Property::Moisture];
    let net = powers.base_at(per_kilogram, at);
    let calcium = dry * stated[Property::Calcium] / CALCIUM_PER_CHARGE;
    let most = powers.most_calcium(per_kilogram.water(), &at);
    *per_kilogram.calcium_mut() = charge::calcium_taking_part(calcium, most, net, dry * rules.calcium_anions);
    *per_kilogram.base_mut() = powers.base_at(per_kilogram, at);
    *per_kilogram.calcium_mut() += dry * rules.lime_alkalinity * stated[Property::Lime];
}

/// Native acid and buffer of an analysis whose nitrogen fits into its organic matter and whose parts of ash fit into its ash.
fn native_charge(
    filled: &CompleteAnalysis,
    kind: SolidKind,
    rules: &SplitRules,
) -> Result<NativeCharge, IngredientError> {
    let (ash, nitrogen) = (filled.central[Property::Ash], filled.central[Property::Nitrogen]);
    let organic = 1.0 - ash;
    let parts = Property::of_ash().map(|(property, _)| filled.central[property]).sum::<f64>();
    if parts > ash + 1e-12 {
        return Err(IngredientError::AshTooSmall { ash, parts });
    }
    let per_protein = content(Component::Protein, Element::Nitrogen);
    let as_protein = nitrogen / per_protein;
    if as_protein > organic {
        return Err(IngredientError::ImpossibleNitrogen { nitrogen, most: organic * per_protein });
    }
    let share = if kind == SolidKind::Humified { 0.0 } else { rules.native_acid_share };
    let most_acid = (rules.most_native_acid * organic).min(organic - as_protein);
    Ok(NativeCharge::of(filled.central[Property::BufferingCapacity], share, most_acid, &rules.acids))
}

/// Splits what the native acid leaves of the organic matter.
fn organic_split(
    filled: &CompleteAnalysis,
    acid: f64,
    kind: SolidKind,
    rules: &SplitRules,
    notes: &mut Vec<Note>,
) -> OrganicSplit {
    let acid_carbon = acid * content(Component::Acetic, Element::Carbon);
    let split = SplitProblem {
        organic: 1.0 - filled.central[Property::Ash] - acid,
        nitrogen: filled.central[Property::Nitrogen],
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
    split
}

/// Content of an element in a component, kg/kg.
pub(crate) fn content(component: Component, element: Element) -> f64 {
    component.elements()[element.index()]
}

/// The mix of so many kilograms of each part, parts given per kilogram wet.
pub fn mix(parts: &[(Material, f64)]) -> Material {
    parts.iter().map(|(per_kilogram, kilograms)| *per_kilogram * *kilograms).sum()
}
