//! Draws of a variant that arrive bit by bit.

use super::{Variant, VariantError};
use crate::monte_carlo::shard::Head;
use crate::monte_carlo::{Draws, Study, Watch, ensemble};
use crate::scenario::Plan;
use crate::study::drivers::{DriversError, FigureDrivers, chosen_figures, drivers};
use crate::study::uncertainty::{Shard, UncertaintyAnswer, UncertaintyError, answer, head};
use crate::trace::figures::RunFigures;

/// Draws after which no more are made: the ends of most figures no longer move to the eye, and the unknowns can be ranked. Our choice.
pub const MOST_DRAWS: u64 = 400;
/// Draws after which bands are shown, and those after each further turn. Our choice.
pub const TURNS: [u64; 4] = [50, 100, 200, MOST_DRAWS];
/// Seed of the draws, the usual one of `run --draws`.
pub const SEED: u64 = 1;

/// The draws of a variant so far: the first ones of [`SEED`]. They are those of `run --draws` of the same scenario; the settled year is
/// not simulated in them.
#[derive(Debug, Clone)]
pub struct DrawsSoFar {
    plan: Plan,
    study: Study,
    shard: Option<Shard>,
    head: Head,
}

impl DrawsSoFar {
    /// None yet, with the figures of the best-estimate run.
    ///
    /// # Errors
    /// If the unknowns of the plan cannot be drawn.
    pub fn none(variant: &Variant, central: &RunFigures) -> Result<Self, VariantError> {
        let plan = variant.plan.without_later_years();
        let study = Study::of(&plan).map_err(|error| VariantError::Model(error.to_string()))?;
        let head = head(&plan, &study, &variant.id, (SEED, MOST_DRAWS), central);
        Ok(Self { plan, study, shard: None, head })
    }

    /// Number of draws made, those that failed among them.
    pub fn made(&self) -> u64 {
        self.shard.as_ref().map_or(0, |shard| shard.ensemble.to)
    }

    /// Makes draws up to so many, [`MOST_DRAWS`] at most. If `watch` is stopped before they are all made, it leaves those before as they
    /// are and returns false.
    pub fn extend(&mut self, to: u64, threads: usize, watch: &Watch) -> bool {
        let (from, to) = (self.made(), to.min(MOST_DRAWS));
        if from >= to {
            return true;
        }
        let draws = Draws { seed: SEED, from, to, threads };
        let more = ensemble::run(&self.plan, &self.study, &draws, watch);
        if more.is_partial() {
            return false;
        }
        match &mut self.shard {
            Some(Shard { ensemble, .. }) => ensemble.append(more),
            none => *none = Some(Shard { head: self.head.clone(), ensemble: more }),
        }
        true
    }

    /// What the draws say.
    ///
    /// # Errors
    /// If there is none that gave figures.
    pub fn answer(&self) -> Result<UncertaintyAnswer, UncertaintyError> {
        self.shard.as_ref().map_or(Err(UncertaintyError::NothingMade), answer)
    }

    /// The unknowns that move a figure in these draws.
    ///
    /// # Errors
    /// [`DriversError`]: no such figure, too few draws, or nothing that is drawn.
    pub fn drivers(&self, figure: &str) -> Result<FigureDrivers, DriversError> {
        let places = chosen_figures(&[figure.to_owned()])?;
        let shard = self.shard.as_ref().ok_or(DriversError::Draws(UncertaintyError::NothingMade))?;
        let found = drivers(&self.plan, &self.head.scenario, shard, &places, None, &Watch::default())?;
        let one = found.figures.into_iter().next();
        one.ok_or_else(|| DriversError::UnknownFigure { given: figure.to_owned() })
    }
}
