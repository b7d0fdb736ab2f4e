//! Values of the rates and of the figures of ingredients that a check runs at.

use super::trial::Shelf;
use crate::scenario::AssembleError;
use crate::unit::bed::BedModel;

/// Values by key, the best estimates or those of a draw, with the model of beds and the ingredients that follow from them.
pub(super) struct Values<'a> {
    /// Value of a key, in the unit of the literature.
    pub(super) get: &'a dyn Fn(&str) -> f64,
    /// The model of beds.
    pub(super) model: BedModel,
    /// The ingredients of the library.
    pub(super) shelf: Shelf,
}

impl<'a> Values<'a> {
    /// Model and ingredients at the values that `get` gives.
    ///
    /// # Errors
    /// When a process table does not balance (a fault of the program), or the figures of an ingredient contradict each other.
    pub(super) fn at(get: &'a dyn Fn(&str) -> f64) -> Result<Self, AssembleError> {
        Ok(Self { get, model: BedModel::from_values(get)?, shelf: Shelf::at(get)? })
    }
}
