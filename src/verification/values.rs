//! Values of the rates and of the figures of ingredients that a check runs at.

use super::trial::Shelf;
use crate::process::ingredient::SplitRules;
use crate::scenario::{self, AssembleError};
use crate::unit::bed::BedModel;

/// Values by key: the best estimates, or those of a draw.
#[derive(Clone, Copy)]
pub(super) struct Values<'a> {
    /// Value of a key, in the unit of the literature.
    pub(super) get: &'a dyn Fn(&str) -> f64,
}

impl<'a> Values<'a> {
    pub(super) const fn of(get: &'a dyn Fn(&str) -> f64) -> Self {
        Self { get }
    }

    /// The model of beds.
    ///
    /// # Errors
    /// When a process table does not balance: a fault of the program.
    pub(super) fn model(&self) -> Result<BedModel, AssembleError> {
        Ok(BedModel::from_values(self.get)?)
    }

    /// The ingredients of the library.
    ///
    /// # Errors
    /// When the figures of one contradict each other.
    pub(super) fn shelf(&self) -> Result<Shelf, AssembleError> {
        Ok(Shelf(scenario::library(&SplitRules::from_values(self.get), self.get)?))
    }
}
