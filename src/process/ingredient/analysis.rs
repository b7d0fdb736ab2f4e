//! Stated figures of an analysis, and the check of each by itself.

use crate::matter::{Analysis, Property};
use crate::process::ingredient::IngredientError;

/// A figure with its plausible bounds; all three are equal for a laboratory figure without bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated {
    /// Central value.
    pub central: f64,
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
}

impl Stated {
    /// A figure with bounds.
    pub const fn new(central: f64, low: f64, high: f64) -> Self {
        Self { central, low, high }
    }

    /// A figure without bounds.
    pub const fn exact(value: f64) -> Self {
        Self::new(value, value, value)
    }

    /// Whether it has no bounds.
    pub fn is_exact(&self) -> bool {
        self.low >= self.high
    }

    /// The figure times a factor.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self::new(self.central * factor, self.low * factor, self.high * factor)
    }

    /// The figure plus an amount.
    #[must_use]
    pub fn plus(self, amount: f64) -> Self {
        Self::new(self.central + amount, self.low + amount, self.high + amount)
    }
}

/// An analysis as printed or as a laboratory reports it: kg/kg of dry mass unless the property says otherwise, None if a property
/// is not stated.
pub type StatedAnalysis = Analysis<Option<Stated>>;

/// Checks every figure by itself.
///
/// # Errors
/// [`IngredientError::OutOfRange`] or [`IngredientError::Unordered`] for the first figure that cannot be.
pub(super) fn check(analysis: &StatedAnalysis) -> Result<(), IngredientError> {
    for (property, figure) in analysis.stated() {
        let (low, high) = property.possible();
        for value in [figure.central, figure.low, figure.high] {
            if !(value >= low && value <= high) {
                return Err(IngredientError::OutOfRange { property, value, low, high });
            }
        }
        if figure.low > figure.central || figure.central > figure.high {
            return Err(IngredientError::Unordered(property));
        }
    }
    Ok(())
}

/// Names of properties as a list in words.
pub fn names(properties: impl Iterator<Item = Property>) -> String {
    let mut names: Vec<String> = properties.map(Property::heading).collect();
    match names.pop() {
        Some(last) if names.is_empty() => last,
        Some(last) => format!("{} and {last}", names.join(", ")),
        None => String::new(),
    }
}
