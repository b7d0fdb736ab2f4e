//! Whether the model still gives what the shipped ranges were made of.

use super::outcome::{ModelError, Outcome, Print};
use super::{NarrowError, median, of_print};
use crate::literature::narrowed::Narrowed;
use crate::monte_carlo::Watch;
use crate::monte_carlo::design::BLOCK;
use crate::verification::drawn::{Drawn, FAMILIES, Family, cases};
use crate::verification::{Case, Values, central};

/// How far the model has moved at a print since ranges were made.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// Name of the check.
    pub key: String,
    /// What it is of. None if the check is gone.
    pub outcome: Option<Outcome>,
    /// Median of the model over the first block of draws now, less that of the file, in errors of the model; infinite if the check is
    /// gone.
    pub moved: f64,
}

/// The first block of the draws that the ranges were made of, run again.
///
/// # Errors
/// [`NarrowError`] when the checks or the draws cannot be made: a fault of the program.
pub fn drifts(shipped: &Narrowed, threads: usize) -> Result<Vec<Drift>, NarrowError> {
    let values = Values::at(&central).map_err(NarrowError::Assemble)?;
    let known = |case: &Case| shipped.prints.iter().any(|print| print.key == case.key);
    let families: Vec<Family> =
        FAMILIES.into_iter().filter(|family| cases(&[*family], &values).iter().any(known)).collect();
    let drawn = Drawn::new(shipped.seed, BLOCK as u64).ok_or(NarrowError::Undrawn)?;
    let outcomes: Vec<_> =
        drawn.outcomes(&families, &[], threads, &Watch::default()).into_iter().flatten().collect();
    let all = cases(&families, &values);
    let error = ModelError { losses: shipped.model_error_losses, worms: shipped.model_error_worms };
    let one = |key: &str, before: f64| {
        let place = all.iter().position(|case| case.key == key)?;
        let print = Print::of(&all[place], place);
        let now = median(of_print(&outcomes, place).into_iter());
        let moved = (print.on_scale(now) - print.on_scale(before)) / print.outcome.model(&error);
        Some(Drift { key: key.to_owned(), outcome: Some(print.outcome), moved })
    };
    let gone = |key: &str| Drift { key: key.to_owned(), outcome: None, moved: f64::INFINITY };
    Ok(shipped
        .prints
        .iter()
        .map(|print| one(&print.key, print.median).unwrap_or_else(|| gone(&print.key)))
        .collect())
}
