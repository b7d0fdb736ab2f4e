//! An analysis as printed or as a laboratory reports it, any figure of which may be missing.

use crate::process::ingredient::IngredientError;

/// A figure with its plausible bounds; a laboratory figure without bounds has all three equal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// Central value.
    pub central: f64,
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
}

impl Figure {
    /// A figure with bounds.
    pub const fn new(central: f64, low: f64, high: f64) -> Self {
        Self { central, low, high }
    }

    /// A figure without bounds.
    pub const fn exact(value: f64) -> Self {
        Self::new(value, value, value)
    }

    /// The figure times a factor.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self::new(self.central * factor, self.low * factor, self.high * factor)
    }

    /// The figure moved by an amount.
    #[must_use]
    pub fn plus(self, amount: f64) -> Self {
        Self::new(self.central + amount, self.low + amount, self.high + amount)
    }
}

/// Which figure of an analysis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Field {
    /// Water, kg/kg wet.
    Moisture,
    /// Organic carbon, kg/kg dry.
    Carbon,
    /// Nitrogen, kg/kg dry.
    Nitrogen,
    /// Ash, kg/kg dry.
    Ash,
    /// Phosphorus, kg/kg dry.
    Phosphorus,
    /// Potassium, kg/kg dry.
    Potassium,
    /// Bulk density as is, kg/m3.
    BulkDensity,
    /// Crude protein, kg/kg dry.
    Protein,
    /// Fat, kg/kg dry.
    Fat,
    /// Sugars and starch, kg/kg dry.
    Sugars,
    /// Cellulose and hemicellulose, kg/kg dry.
    Fibre,
    /// Lignin, kg/kg dry.
    Lignin,
    /// Humus, kg/kg dry.
    Humus,
    /// pH of the fresh ingredient.
    InitialPh,
    /// Buffering capacity between pH 6 and 4, mEq/kg dry.
    BufferingCapacity,
    /// Soluble salts as NaCl, kg/kg dry.
    Salt,
    /// Lime (eggshell, limestone) as CaCO3, kg/kg dry, part of the ash.
    Lime,
}

impl Field {
    /// Every field, in order.
    pub const ALL: [Self; 17] = [
        Self::Moisture,
        Self::Carbon,
        Self::Nitrogen,
        Self::Ash,
        Self::Phosphorus,
        Self::Potassium,
        Self::BulkDensity,
        Self::Protein,
        Self::Fat,
        Self::Sugars,
        Self::Fibre,
        Self::Lignin,
        Self::Humus,
        Self::InitialPh,
        Self::BufferingCapacity,
        Self::Salt,
        Self::Lime,
    ];

    /// Name in files and messages.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Moisture => "moisture",
            Self::Carbon => "carbon",
            Self::Nitrogen => "nitrogen",
            Self::Ash => "ash",
            Self::Phosphorus => "phosphorus",
            Self::Potassium => "potassium",
            Self::BulkDensity => "bulk_density",
            Self::Protein => "protein",
            Self::Fat => "fat",
            Self::Sugars => "sugars",
            Self::Fibre => "fibre",
            Self::Lignin => "lignin",
            Self::Humus => "humus",
            Self::InitialPh => "initial_ph",
            Self::BufferingCapacity => "buffering_capacity",
            Self::Salt => "salt",
            Self::Lime => "lime",
        }
    }

    /// What is possible: inclusive ends.
    pub const fn possible(self) -> (f64, f64) {
        match self {
            // a solid of which a fiftieth of a percent or less is dry has no analysis on dry mass
            Self::Moisture => (0.0, 0.9998),
            Self::BulkDensity => (1.0, 5000.0),
            Self::InitialPh => (1.0, 13.0),
            Self::BufferingCapacity => (0.0, 20_000.0),
            _ => (0.0, 1.0),
        }
    }
}

/// An analysis: kg/kg of dry mass unless the field says otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Analysis {
    /// Water. # Units: kg/kg wet mass
    pub moisture: Option<Figure>,
    /// Organic carbon.
    pub carbon: Option<Figure>,
    /// Nitrogen.
    pub nitrogen: Option<Figure>,
    /// Ash at 550 °C, lime included.
    pub ash: Option<Figure>,
    /// Phosphorus.
    pub phosphorus: Option<Figure>,
    /// Potassium.
    pub potassium: Option<Figure>,
    /// Bulk density as is. # Units: kg/m3
    pub bulk_density: Option<Figure>,
    /// Crude protein.
    pub protein: Option<Figure>,
    /// Fat.
    pub fat: Option<Figure>,
    /// Sugars and starch.
    pub sugars: Option<Figure>,
    /// Cellulose and hemicellulose.
    pub fibre: Option<Figure>,
    /// Lignin.
    pub lignin: Option<Figure>,
    /// Humus.
    pub humus: Option<Figure>,
    /// pH of the fresh ingredient, lime left out.
    pub initial_ph: Option<Figure>,
    /// Buffering capacity between pH 6 and 4. # Units: mEq/kg dry mass
    pub buffering_capacity: Option<Figure>,
    /// Soluble salts as NaCl, potassium left out.
    pub salt: Option<Figure>,
    /// Lime as CaCO3, part of the ash.
    pub lime: Option<Figure>,
}

impl Analysis {
    /// One figure.
    pub const fn get(&self, field: Field) -> Option<Figure> {
        match field {
            Field::Moisture => self.moisture,
            Field::Carbon => self.carbon,
            Field::Nitrogen => self.nitrogen,
            Field::Ash => self.ash,
            Field::Phosphorus => self.phosphorus,
            Field::Potassium => self.potassium,
            Field::BulkDensity => self.bulk_density,
            Field::Protein => self.protein,
            Field::Fat => self.fat,
            Field::Sugars => self.sugars,
            Field::Fibre => self.fibre,
            Field::Lignin => self.lignin,
            Field::Humus => self.humus,
            Field::InitialPh => self.initial_ph,
            Field::BufferingCapacity => self.buffering_capacity,
            Field::Salt => self.salt,
            Field::Lime => self.lime,
        }
    }

    /// Checks every figure by itself.
    ///
    /// # Errors
    /// [`IngredientError::OutOfRange`] or [`IngredientError::Unordered`] for the first figure that cannot be.
    pub fn check(&self) -> Result<(), IngredientError> {
        for field in Field::ALL {
            let Some(figure) = self.get(field) else { continue };
            let (low, high) = field.possible();
            for value in [figure.central, figure.low, figure.high] {
                if !(value >= low && value <= high) {
                    return Err(IngredientError::OutOfRange { field, value, low, high });
                }
            }
            if figure.low > figure.central || figure.central > figure.high {
                return Err(IngredientError::Unordered(field));
            }
        }
        Ok(())
    }
}
